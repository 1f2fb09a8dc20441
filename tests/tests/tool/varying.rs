//! `vary`: rows in order, whatever happens on the way.

use std::fs;
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::thread::sleep;
use std::time::Duration;

use super::{Run, tool};

/// A section that is solved in a moment.
const SECTION: &str = include_str!("../../sections/rod-through.toml");

struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("rod.toml"), SECTION).unwrap();
        Self { folder }
    }

    fn file(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// `vary rod.toml` with these arguments.
    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = tool();
        command.current_dir(self.folder.path()).args(["vary", "rod.toml"]).args(arguments);
        command
    }

    fn vary(&self, arguments: &[&str]) -> Run {
        Run::of(&mut self.command(arguments))
    }

    /// Pulls at these gaps to a file that may hold one block of the shell's, 512 or 1024 bytes: a limit
    /// on the size of files stands for a full disk.
    #[cfg(unix)]
    fn vary_on_a_full_disk(&self, gaps: &str, out: &str) {
        let limited = format!(
            "trap '' XFSZ; ulimit -f 1; \
             exec '{}' vary rod.toml '{gaps}' --take 'strings.*.pull_up_*' --out {out}",
            env!("CARGO_BIN_EXE_lodestring-tool")
        );
        let mut shell = Command::new("sh");
        shell.current_dir(self.folder.path()).args(["-c", &limited]);
        let Run { err, code, .. } = Run::of(&mut shell);
        assert_eq!(code, 6, "{err}");
        assert!(err.contains(&format!("cannot write `{out}`")), "{err}");
    }

    fn read(&self, name: &str) -> String {
        fs::read_to_string(self.file(name)).unwrap()
    }
}

const GAPS: &str = "string.G3.gap = 1 mm to 3 mm in 5";
const TAKE: [&str; 2] = ["--take", "strings.*.pull_up_*"];

/// The same arguments with more of them.
fn with<'a>(more: &[&'a str]) -> Vec<&'a str> {
    [&[GAPS][..], &TAKE, more].concat()
}

#[test]
fn rows_are_as_expected() {
    let bench = Bench::new();
    let axes = ["string.G3.gap = 1 mm, 2 mm, -1 mm", "part.rod.material = ferrite 8, feritte 8"];
    let Run { out, err, code } = bench.vary(&[&axes[..], &TAKE].concat());
    assert_eq!(code, 0);
    assert_eq!(err, "6 cases; 4 could not be solved, their rows say why\n");
    // The figures of the mesh are pinned elsewhere.
    let figure = |text: &str| {
        let mark = text.split(',').nth(1).unwrap_or_default();
        let text = text.replace(mark, "MARK");
        match text.split_once(" mesh,,") {
            Some((head, figures)) => {
                let all = figures.split(',').all(|f| f.parse::<f64>().is_ok());
                format!("{head} mesh,,{}", if all { "FIGURES" } else { figures })
            }
            None => text,
        }
    };
    let lines: Vec<String> =
        out.lines().enumerate().map(|(i, l)| if i == 0 { l.into() } else { figure(l) }).collect();
    insta::assert_snapshot!("vary", lines.join("\n"));
}

/// One run, two threads and one, pieces put together, and either form of the same numbers.
#[test]
fn the_same_bytes_however_it_is_run() {
    let bench = Bench::new();
    let whole = bench.vary(&with(&[])).out;
    assert_eq!(whole.lines().count(), 6);
    assert_eq!(bench.vary(&with(&["--threads", "1"])).out, whole);
    assert_eq!(bench.vary(&with(&["--threads", "3"])).out, whole);
    let pieces: String =
        (1..=3).map(|k| bench.vary(&with(&["--shard", &format!("{k}/3")])).out).collect();
    assert_eq!(pieces, whole);
    let json = bench.vary(&with(&["--format", "jsonl"])).out;
    for (row, line) in whole.lines().skip(1).zip(json.lines()) {
        let line: serde_json::Value = serde_json::from_str(line).unwrap();
        assert_eq!(line["string.G3.gap"], row.split(',').nth(2).unwrap());
        let pull: f64 = row.split(',').nth(6).unwrap().parse().unwrap();
        assert!(line.as_object().unwrap().values().any(|v| v.as_f64() == Some(pull)), "{line}");
    }
}

/// Parquet is written when the rows are all there, from rows that can be taken up.
#[test]
fn parquet_comes_whole_at_the_end() {
    let bench = Bench::new();
    let arguments = with(&["--out", "rows.parquet"]);
    let Run { out, err, code } = bench.vary(&arguments);
    assert_eq!((out.as_str(), err.as_str(), code), ("", "5 cases\n", 0));
    let whole = fs::read(bench.file("rows.parquet")).unwrap();
    // A reader knows it by these.
    assert!(whole.starts_with(b"PAR1") && whole.ends_with(b"PAR1"));
    let rows = bench.read("rows.parquet.rows.csv");
    assert_eq!(rows, bench.vary(&with(&[])).out);
    let after_two = rows.match_indices('\n').nth(2).unwrap().0 + 1;
    fs::write(bench.file("rows.parquet.rows.csv"), &rows[..after_two + 9]).unwrap();
    fs::remove_file(bench.file("rows.parquet")).unwrap();
    assert_eq!(bench.vary(&arguments).err, "5 cases, 2 of them done before\n");
    assert_eq!(fs::read(bench.file("rows.parquet")).unwrap(), whole);
    // Printed, it would be of no use; in a folder that is not there, it is known beforehand.
    let printed = bench.vary(&with(&["--format", "parquet"]));
    assert_eq!((printed.code, printed.err.contains("--out")), (2, true), "{}", printed.err);
    let nowhere = bench.vary(&with(&["--out", "none/rows.parquet"]));
    assert_eq!((nowhere.code, nowhere.out.as_str()), (6, ""), "{}", nowhere.err);
    // Rows of another study, and a file whose rows are gone: left as it is, until told.
    let other = bench.vary(&[&arguments[..], &["--shard", "2/2"]].concat());
    assert_eq!((other.code, other.err.contains("not of this study")), (6, true), "{}", other.err);
    fs::remove_file(bench.file("rows.parquet.rows.csv")).unwrap();
    let bare = bench.vary(&arguments);
    assert_eq!((bare.code, bare.err.contains("--restart")), (6, true), "{}", bare.err);
    assert_eq!(fs::read(bench.file("rows.parquet")).unwrap(), whole);
    assert_eq!(bench.vary(&[&arguments[..], &["--restart"]].concat()).code, 0);
    assert_eq!(fs::read(bench.file("rows.parquet")).unwrap(), whole);
}

/// The rows fit where the Parquet file, with all it says of its columns, does not: they stay, and no
/// piece of the other is left.
#[cfg(unix)]
#[test]
fn parquet_on_a_full_disk_keeps_the_rows() {
    let bench = Bench::new();
    let gaps = "string.G3.gap = 1 mm, 2 mm";
    let arguments = [gaps, "--take", "strings.*.pull_up_*", "--out", "rows.parquet"];
    bench.vary_on_a_full_disk(gaps, "rows.parquet");
    let mut left: Vec<String> = fs::read_dir(bench.folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    left.sort();
    assert_eq!(left, ["rod.toml", "rows.parquet.rows.csv"]);
    assert_eq!(bench.vary(&arguments).err, "2 cases, 2 of them done before\n");
    // More than the limit, or it would not have been told.
    assert!(fs::metadata(bench.file("rows.parquet")).unwrap().len() > 1024);
}

#[test]
fn draws_repeat_with_their_seed() {
    let bench = Bench::new();
    let drawn = |seed: &str| {
        let axis = "string.G3.gap = +- 0.2 mm";
        bench.vary(&[&[axis, "--draws", "3", "--seed", seed][..], &TAKE].concat()).out
    };
    assert_eq!(drawn("1").lines().count(), 4);
    assert_eq!(drawn("1"), drawn("1"));
    assert_ne!(drawn("1"), drawn("2"));
}

#[test]
fn a_study_is_taken_up_where_it_stopped() {
    let bench = Bench::new();
    let go = |more: &[&str]| bench.vary(&with(&[&["--out", "rows.csv"][..], more].concat()));
    assert_eq!(go(&[]).code, 0);
    let whole = bench.read("rows.csv");
    let after_two = whole.match_indices('\n').nth(2).unwrap().0 + 1;
    for cut in [0, 3, after_two, after_two + 20, whole.len() - 1, whole.len()] {
        fs::write(bench.file("rows.csv"), &whole[..cut]).unwrap();
        let Run { out, err, code } = go(&[]);
        assert_eq!((out.as_str(), code), ("", 0), "{err}");
        assert_eq!(bench.read("rows.csv"), whole, "cut at {cut}");
        let kept = whole[..cut].matches('\n').count().saturating_sub(1);
        let said = if kept > 0 { format!(", {kept} of them done before") } else { String::new() };
        assert_eq!(err, format!("5 cases{said}\n"));
    }
    // Another study, another section, something else altogether: left as it is, until told.
    let others: [&[&str]; 2] = [&["--take", "parts.*"], &["--shard", "2/2"]];
    for more in others {
        let Run { err, code, .. } = go(more);
        assert_eq!(code, 6, "{err}");
        assert!(err.contains("not of this study") && err.contains("--restart"), "{err}");
        assert_eq!(bench.read("rows.csv"), whole);
    }
    fs::write(bench.file("rod.toml"), SECTION.replace("10 mm", "11 mm")).unwrap();
    assert_eq!(go(&[]).code, 6);
    assert_eq!(bench.read("rows.csv"), whole);
    assert_eq!(go(&["--restart"]).code, 0);
    assert_ne!(bench.read("rows.csv"), whole);
    fs::write(bench.file("rows.csv"), "my notes\n").unwrap();
    assert_eq!(go(&[]).code, 6);
    assert_eq!(bench.read("rows.csv"), "my notes\n");
}

/// Killed without warning at twenty points in time, the rest of the rows are as if nothing had
/// happened.
#[test]
#[ignore = "slow: twenty runs"]
fn a_study_survives_being_killed() {
    let bench = Bench::new();
    let arguments = ["string.G3.gap = 1 mm to 3 mm in 60", "--take", "strings.*.pull_up_*"];
    let whole = bench.vary(&arguments).out;
    let arguments = [&arguments[..], &["--out", "rows.csv"]].concat();
    let mut unfinished = 0;
    for round in 0..20_u64 {
        let mut child =
            bench.command(&arguments).stderr(Stdio::null()).spawn().expect("the tool starts");
        // From before the first row on, to no particular beat.
        sleep(Duration::from_millis(40 + round * 37 % 90));
        child.kill().unwrap();
        child.wait().unwrap();
        let so_far = fs::read_to_string(bench.file("rows.csv")).unwrap_or_default();
        let stands = so_far.rfind('\n').map_or(0, |i| i + 1);
        assert!(whole.starts_with(&so_far[..stands]), "round {round}");
        unfinished += u32::from(so_far.len() < whole.len());
    }
    assert!(unfinished > 3, "the study was over too soon to be disturbed: {unfinished}");
    assert_eq!(bench.vary(&arguments).code, 0);
    assert_eq!(bench.read("rows.csv"), whole);
}

#[cfg(unix)]
#[test]
fn a_full_disk_keeps_the_finished_rows() {
    let bench = Bench::new();
    let gaps = "string.G3.gap = 1 mm to 3 mm in 20";
    let arguments = [gaps, "--take", "strings.*.pull_up_*"];
    let whole = bench.vary(&arguments).out;
    // More than the block there is.
    assert!(whole.len() > 1500, "the study fits");
    bench.vary_on_a_full_disk(gaps, "rows.csv");
    let kept = bench.read("rows.csv");
    assert!(whole.starts_with(&kept) && kept.ends_with('\n') && kept.len() > 100, "{kept}");
    assert_eq!(bench.vary(&[&arguments[..], &["--out", "rows.csv"]].concat()).code, 0);
    assert_eq!(bench.read("rows.csv"), whole);
}

#[test]
fn mistakes_are_told_before_anything_is_written() {
    let bench = Bench::new();
    let cases: [(&[&str], i32, &str); 12] = [
        (&["string.G4.gap = 1 mm, 2 mm"], 2, "no `string` is called `G4`; did you mean `G3`?"),
        (&["string.G3.gap"], 2, "there is no `=`"),
        (&["string.G3.gap = 1 mm to 2 mm"], 2, "number of values or the step"),
        (&[GAPS, GAPS], 2, "`string.G3.gap` is varied twice"),
        (&["string.G3.gap = +- 1 mm"], 2, "say how many draws"),
        (&[GAPS, "--draws", "3"], 2, "nothing to draw"),
        (&[GAPS, "temperature_C = 20, 30", "--side-by-side"], 2, "has 5, `temperature_C` 2"),
        (&[GAPS, "--take", "strings.G3.pul"], 2, "did you mean `strings.G3.pull_"),
        (&[GAPS, "--shard", "3/2"], 2, "a piece is written K/N"),
        (&[GAPS, "--restart"], 2, "--out"),
        (&[GAPS, "--out", "rod.toml"], 6, "it is the section file itself"),
        (&[GAPS, "--out", "none/rows.csv"], 6, "there is no such file or folder"),
    ];
    for (arguments, code, part) in cases {
        let run = bench.vary(arguments);
        assert_eq!(run.code, code, "{arguments:?}: {}", run.err);
        assert!(run.err.contains(part), "{arguments:?}: {}", run.err);
        assert_eq!(run.out, "");
    }
    assert_eq!(bench.read("rod.toml"), SECTION);
    let bad = |text: &str, code: i32, part: &str| {
        fs::write(bench.file("rod.toml"), text).unwrap();
        let run = bench.vary(&with(&["--out", "new.csv"]));
        assert_eq!(run.code, code, "{}", run.err);
        assert!(run.err.contains(part), "{}", run.err);
        // No file is left of a study that did not begin.
        assert!(!bench.file("new.csv").exists());
    };
    bad(&SECTION.replace("ferrite 8", "feritte 8"), 3, "did you mean");
    bad("a = ", 3, "cannot read this");
    fs::remove_file(bench.file("rod.toml")).unwrap();
    let gone = bench.vary(&with(&["--out", "new.csv"]));
    assert_eq!((gone.code, gone.err.contains("there is no such file")), (6, true));
    assert!(!bench.file("new.csv").exists());
}

/// The section file goes away while its study is interrupted: the rows that are there stay, and the
/// study goes on once the file is back. While a study runs it does not matter, the file is read once.
#[test]
fn a_section_that_vanishes_leaves_the_rows() {
    let bench = Bench::new();
    let arguments = with(&["--out", "rows.csv"]);
    assert_eq!(bench.vary(&arguments).code, 0);
    let whole = bench.read("rows.csv");
    let part = &whole[..whole.match_indices('\n').nth(2).unwrap().0 + 1];
    fs::write(bench.file("rows.csv"), part).unwrap();
    fs::remove_file(bench.file("rod.toml")).unwrap();
    let gone = bench.vary(&arguments);
    assert_eq!((gone.code, gone.err.contains("there is no such file")), (6, true), "{}", gone.err);
    assert_eq!(bench.read("rows.csv"), part);
    fs::write(bench.file("rod.toml"), SECTION).unwrap();
    assert_eq!(bench.vary(&arguments).code, 0);
    assert_eq!(bench.read("rows.csv"), whole);
}

/// Neither a folder nor a file that may not be written to. Who may write everywhere is shown a place
/// where nobody may.
#[cfg(target_os = "linux")]
#[test]
fn a_read_only_place_is_an_error() {
    use std::os::unix::fs::PermissionsExt;
    let bench = Bench::new();
    let folder = bench.file("shut");
    fs::create_dir(&folder).unwrap();
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o555)).unwrap();
    let shut = match fs::File::create(folder.join("try")) {
        Err(_) => folder.join("rows.csv").to_str().unwrap().to_owned(),
        Ok(_) => "/sys/rows.csv".to_owned(),
    };
    let run = bench.vary(&with(&["--out", &shut]));
    assert_eq!((run.code, run.out.as_str()), (6, ""), "{}", run.err);
    assert!(
        run.err.contains("cannot write") && run.err.contains("permission denied"),
        "{}",
        run.err
    );
}

#[test]
fn two_runs_do_not_write_the_same_file() {
    let bench = Bench::new();
    let held = fs::File::create(bench.file("rows.csv")).unwrap();
    held.lock().unwrap();
    let Run { err, code, .. } = bench.vary(&with(&["--out", "rows.csv"]));
    assert_eq!(code, 6);
    assert!(err.contains("another run is writing it"), "{err}");
}

#[test]
fn a_reader_that_goes_away_ends_it_quietly() {
    let bench = Bench::new();
    let mut command = bench.command(&with(&[]));
    let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(0));
    assert!(output.stderr.is_empty());
}

#[test]
fn a_folder_is_no_place_for_rows() {
    let bench = Bench::new();
    fs::create_dir(bench.file("taken")).unwrap();
    let run = bench.vary(&with(&["--out", "taken"]));
    assert_eq!((run.code, run.err.contains("it is a folder")), (6, true), "{}", run.err);
}
