//! The surface: help of each command, version, completions, manual. A change here is a change of
//! what people have learnt.

use lodestring_cli::exit;

use super::{Run, run, tool};

#[test]
fn help_of_each_command() {
    insta::assert_snapshot!("help", run(&["--help"]).out);
    for command in commands() {
        let Run { out, err, code } = run(&[&command, "--help"]);
        assert_eq!((err.as_str(), code), ("", 0));
        insta::assert_snapshot!(format!("help-{command}"), out);
    }
}

#[test]
fn short_help_fits_one_screen() {
    for command in std::iter::once(None).chain(commands().into_iter().map(Some)) {
        let arguments: Vec<&str> = command.iter().map(String::as_str).chain(["-h"]).collect();
        let lines = run(&arguments).out.lines().count();
        assert!(lines <= 24, "{command:?}: {lines} lines");
    }
}

#[test]
fn help_names_every_exit_code() {
    let help = run(&["--help"]).out;
    let manual = run(&["manual"]).out;
    for (code, meaning) in exit::CODES {
        assert!(help.contains(&format!("  {code}  {meaning}\n")), "{code}");
        assert!(manual.contains(&format!(".TP\n{code}\n{meaning}\n")), "{code}");
    }
}

#[test]
fn version_names_the_release_and_the_commit() {
    let Run { out, err, code } = run(&["--version"]);
    assert_eq!((err.as_str(), code), ("", 0));
    let rest = out.strip_prefix(&format!("lodestring {}", env!("CARGO_PKG_VERSION"))).unwrap();
    let hash = rest.trim().trim_start_matches('(').trim_end_matches(')');
    assert!(hash.chars().all(|c| c.is_ascii_hexdigit()), "{out}");
}

#[test]
fn completions_know_every_command() {
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let Run { out, err, code } = run(&["completions", shell]);
        assert_eq!((err.as_str(), code), ("", 0), "{shell}");
        for command in commands() {
            assert!(out.contains(&command), "{shell} does not know {command}");
        }
    }
}

#[test]
fn every_command_has_a_manual_page_and_all_go_to_a_folder() {
    let folder = tempfile::tempdir().unwrap();
    let written = Run::of(tool().args(["manual", "--folder"]).arg(folder.path()));
    assert_eq!((written.out.as_str(), written.err.as_str(), written.code), ("", "", 0));
    let page = |name: &str| std::fs::read_to_string(folder.path().join(name)).unwrap();
    assert_eq!(page("lodestring.1"), run(&["manual"]).out);
    for command in commands() {
        let printed = run(&["manual", &command]).out;
        assert!(printed.contains(".SH SYNOPSIS"), "{command}");
        assert_eq!(page(&format!("lodestring-{command}.1")), printed);
    }
    let count = std::fs::read_dir(folder.path()).unwrap().count();
    assert_eq!(count, commands().len() + 1, "something half-written was left");
}

#[test]
fn colour_only_where_it_is_wanted() {
    let forced = Run::of(tool().arg("nonsense").env("CLICOLOR_FORCE", "1"));
    assert!(forced.err.contains("\u{1b}["), "{forced:?}");
    let refused = Run::of(tool().arg("nonsense").env("CLICOLOR_FORCE", "1").env("NO_COLOR", "1"));
    assert!(!refused.err.contains('\u{1b}'), "{refused:?}");
    assert!(!run(&["nonsense"]).err.contains('\u{1b}'));
}

/// The commands the help lists.
fn commands() -> Vec<String> {
    let help = run(&["-h"]).out;
    let list = help.split("Commands:\n").nth(1).unwrap().split("\n\n").next().unwrap();
    let names: Vec<String> =
        list.lines().map(|line| line.split_whitespace().next().unwrap().to_owned()).collect();
    assert!(names.len() >= 3, "{names:?}");
    names
}
