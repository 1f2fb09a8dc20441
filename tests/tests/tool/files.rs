//! Files: what is read is checked, what is written is whole or not there.

use std::fs;
use std::path::Path;

use super::{Run, repository, section, tool};

/// Runs `check` on a shipped section with its report going to `out`.
fn check_to(out: &Path) -> Run {
    let section = repository().join("meshes/rod.toml");
    Run::of(tool().arg("check").arg(section).arg("--out").arg(out))
}

/// Runs `check` on a file of `bytes`.
fn check_bytes(bytes: &[u8]) -> Run {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("section.toml"), bytes).unwrap();
    Run::of(tool().current_dir(folder.path()).args(["check", "section.toml"]))
}

#[test]
fn a_report_goes_to_a_file_and_takes_the_place_of_the_old_one() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("report.txt");
    let printed = Run::of(tool().arg("check").arg(repository().join("meshes/rod.toml")));
    for _ in 0..2 {
        let Run { out, err, code } = check_to(&file);
        assert_eq!((out.as_str(), err.as_str(), code), ("", "", 0));
        assert_eq!(fs::read_to_string(&file).unwrap(), printed.out);
        fs::write(&file, "old").unwrap();
    }
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "something else was left");
}

/// New files are like any other program's; an old one's permissions and a link to it stay.
#[cfg(unix)]
#[test]
fn permissions_and_links_stay() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let folder = tempfile::tempdir().unwrap();
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;

    let (new, plain) = (folder.path().join("new"), folder.path().join("plain"));
    fs::write(&plain, "").unwrap();
    assert_eq!(check_to(&new).code, 0);
    assert_eq!(mode(&new), mode(&plain));

    let link = folder.path().join("link");
    fs::set_permissions(&plain, fs::Permissions::from_mode(0o640)).unwrap();
    symlink(&plain, &link).unwrap();
    assert_eq!(check_to(&link).code, 0);
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    assert_eq!(mode(&plain), 0o640);
    assert_eq!(fs::read(&plain).unwrap(), fs::read(&new).unwrap());
}

#[test]
fn places_that_cannot_be_written_are_told_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    fs::write(at("file"), "old").unwrap();
    fs::create_dir(at("folder")).unwrap();
    fs::write(at("read-only"), "old").unwrap();
    let mut permissions = fs::metadata(at("read-only")).unwrap().permissions();
    permissions.set_readonly(true);
    fs::set_permissions(at("read-only"), permissions).unwrap();

    for (name, reason) in [
        ("missing/report", "there is no such file or folder"),
        ("file/report", "part of the path is not a folder"),
        ("folder", "it is a folder"),
        ("read-only", "the file is read-only"),
    ] {
        let Run { out, err, code } = check_to(&at(name));
        assert_eq!((out.as_str(), code), ("", 6), "{name}");
        let expected = format!("error: cannot write `{}`: {reason}\n", at(name).display());
        assert_eq!(err, expected);
    }
    assert_eq!(fs::read_to_string(at("file")).unwrap(), "old");
    assert_eq!(fs::read_to_string(at("read-only")).unwrap(), "old");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 3, "something was left");
}

#[test]
fn the_section_itself_is_never_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("rod.toml");
    fs::write(&file, section("rod.toml")).unwrap();
    let Run { err, code, .. } =
        Run::of(tool().current_dir(folder.path()).args(["check", "rod.toml", "--out"]).arg(&file));
    assert_eq!(code, 6);
    assert!(err.contains("it is the section file itself"), "{err}");
    assert_eq!(fs::read_to_string(&file).unwrap(), section("rod.toml"));
}

#[test]
fn two_things_do_not_go_to_one_place() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("rod.toml"), section("rod.toml")).unwrap();
    for arguments in [
        &["--probes", "-"][..],
        &["--probes", "both", "--out", "both"],
        &["--probes", "./both", "--out", "../x/both"],
    ] {
        let inside = folder.path().join("x");
        fs::create_dir_all(&inside).unwrap();
        let Run { out, err, code } =
            Run::of(tool().current_dir(&inside).args(["solve", "../rod.toml"]).args(arguments));
        assert_eq!((out.as_str(), code), ("", 2), "{arguments:?}");
        assert!(err.contains("two things would be written to"), "{err}");
        assert_eq!(fs::read_dir(&inside).unwrap().count(), 0, "{arguments:?}");
    }
}

/// A device is written to, not replaced by a file.
#[cfg(target_os = "linux")]
#[test]
fn devices_stay_devices() {
    let null = Path::new("/dev/null");
    assert_eq!(check_to(null).code, 0);
    assert!(!fs::metadata(null).unwrap().is_file());
    let full = check_to(Path::new("/dev/full"));
    assert_eq!(
        (full.code, full.err.as_str()),
        (6, "error: cannot write `/dev/full`: no space left\n")
    );
}

#[test]
fn files_that_are_not_section_text_are_refused() {
    let Run { err, code, .. } = check_bytes(b"format = 1\ntitle = \"caf\xe9\"\n");
    assert_eq!(
        (code, err.as_str()),
        (6, "error: `section.toml` is not UTF-8 text (line 2, column 13)\n")
    );

    let Run { err, code, .. } = check_bytes(&vec![b'#'; 1_000_001]);
    let expected = "error: `section.toml` is larger than 1000 kB, which no section file is\n";
    assert_eq!((code, err.as_str()), (6, expected));

    let Run { err, code, .. } = Run::of(tool().arg("check").arg(repository()));
    assert_eq!(code, 6);
    assert!(err.ends_with(": it is a folder\n"), "{err}");
}

/// An endless source ends at the limit.
#[cfg(unix)]
#[test]
fn an_endless_file_is_refused() {
    let Run { err, code, .. } = Run::of(tool().args(["check", "/dev/zero"]));
    assert_eq!(code, 6);
    assert!(err.contains("larger than 1000 kB"), "{err}");
}

#[test]
fn a_place_with_control_characters_does_not_steer_the_terminal() {
    let Run { err, .. } = Run::of(tool().args(["check", "no\u{1b}[31m\nsuch"]));
    assert!(!err.contains('\u{1b}') && err.lines().count() == 1, "{err:?}");
}
