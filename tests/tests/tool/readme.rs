//! Every command in the README is run and must print what stands below it.

use super::{repository, run};

/// Commands of the tool in the README with the output shown; `None` where none is.
fn shown() -> Vec<(String, Option<String>)> {
    let readme = std::fs::read_to_string(repository().join("README.md")).unwrap();
    let mut commands = Vec::new();
    for block in readme.split("```console\n").skip(1) {
        let block = block.split("```").next().unwrap();
        for piece in format!("\n{block}").split("\n$ ").skip(1) {
            let (command, output) = piece.split_once('\n').unwrap_or((piece, ""));
            let tool = ["lodestring ", "cargo run --release -- "];
            if let Some(rest) = tool.iter().find_map(|prefix| command.strip_prefix(prefix)) {
                let output =
                    (!output.trim().is_empty()).then(|| format!("{}\n", output.trim_end()));
                commands.push((rest.to_owned(), output));
            }
        }
    }
    commands
}

/// With `UPDATE_README` set, what the README shows becomes what is printed.
#[test]
#[ignore = "slow: solves the README's sections"]
fn every_command_prints_what_is_shown() {
    let commands = shown();
    assert!(commands.iter().any(|(_, output)| output.is_some()), "the README shows no output");
    for (command, output) in commands {
        let got = run(&command.split_whitespace().collect::<Vec<_>>());
        assert_eq!((got.err.as_str(), got.code), ("", 0), "{command}");
        match output {
            Some(output) if std::env::var_os("UPDATE_README").is_some() => {
                let path = repository().join("README.md");
                let readme = std::fs::read_to_string(&path).unwrap();
                std::fs::write(&path, readme.replace(&output, &got.out)).unwrap();
            }
            Some(output) => assert_eq!(got.out, output, "{command}"),
            None => {}
        }
    }
}

#[test]
fn the_first_two_commands_are_the_main_job_and_the_tests() {
    let readme = std::fs::read_to_string(repository().join("README.md")).unwrap();
    let commands: Vec<&str> =
        readme.lines().filter_map(|line| line.strip_prefix("$ ")).take(2).collect();
    assert!(commands[0].starts_with("cargo run --release -- solve meshes/"), "{commands:?}");
    assert!(commands[1].starts_with("cargo test --workspace"), "{commands:?}");
}

#[test]
fn every_section_has_its_row_and_every_row_its_section() {
    let readme = std::fs::read_to_string(repository().join("README.md")).unwrap();
    let mut rows = 0;
    for folder in ["meshes", "meshes/instruments"] {
        let entries = std::fs::read_dir(repository().join(folder)).unwrap();
        let mut files: Vec<String> = entries
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .filter(|name| name.ends_with(".toml"))
            .collect();
        files.sort();
        for name in &files {
            let row = format!("| [{name}]({folder}/{name}) |");
            assert!(readme.contains(&row), "{folder}/{name} has no row");
        }
        rows += files.len();
    }
    assert_eq!(readme.matches("](meshes/").count(), rows);
}

#[test]
fn every_exit_code_is_in_the_table() {
    let readme = std::fs::read_to_string(repository().join("README.md")).unwrap();
    for (code, meaning) in lodestring_cli::exit::CODES {
        assert!(readme.contains(&format!("| {code} | {meaning} |")), "{code}");
    }
}

/// The pictures of the README are what the commands below them draw; with `UPDATE_README` set they
/// become that.
#[test]
fn pictures_are_what_their_commands_draw() {
    let readme = std::fs::read_to_string(repository().join("README.md")).unwrap();
    let mut pictures = 0;
    for line in readme.lines().filter_map(|line| line.strip_prefix("lodestring draw ")) {
        let (arguments, out) = line.split_once(" --out ").unwrap();
        assert!(readme.contains(&format!("]({out})")), "{out} is not shown");
        let mut all = vec!["draw"];
        all.extend(arguments.split_whitespace());
        let got = run(&[&all[..], &["--out", "-"]].concat());
        assert_eq!((got.err.as_str(), got.code), ("", 0), "{line}");
        let path = repository().join(out);
        if std::env::var_os("UPDATE_README").is_some() {
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(&path, &got.out).unwrap();
        }
        let kept = std::fs::read_to_string(&path).unwrap_or_default();
        assert!(kept == got.out, "{out} is not what `lodestring draw {line}` draws");
        // A README is read over slow lines too.
        assert!(kept.len() < 80_000, "{out}: {} bytes", kept.len());
        pictures += 1;
    }
    assert!(pictures >= 2, "{pictures}");
}
