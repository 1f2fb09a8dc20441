//! Makes the shell completions and manual pages from the definitions of the command line, and
//! finds out which commit this is. Everything goes to `OUT_DIR` and is compiled into the tool.

use std::error::Error;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::{env, fs};

use clap::{CommandFactory, ValueEnum};

#[path = "src/args/mod.rs"]
mod args;
#[path = "src/exit.rs"]
mod exit;

/// The manual pages carry the plain version; the binary adds the commit.
const VERSION: &str = env!("CARGO_PKG_VERSION");

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo:rerun-if-changed=src/args");
    println!("cargo:rerun-if-changed=src/exit.rs");
    let out = PathBuf::from(env::var("OUT_DIR")?);
    let mut table = String::new();
    completions(&out.join("completions"), &mut table)?;
    manual(&out.join("manual"), &mut table)?;
    fs::write(out.join("pages.rs"), table)?;
    commit();
    Ok(())
}

fn completions(folder: &Path, table: &mut String) -> Result<(), Box<dyn Error>> {
    fs::create_dir_all(folder)?;
    table.push_str("/// Completion script of each shell.\n");
    table.push_str("pub const COMPLETIONS: &[(&str, &str)] = &[\n");
    for shell in clap_complete::Shell::value_variants() {
        let mut command = args::Args::command();
        let path = clap_complete::generate_to(*shell, &mut command, "lodestring", folder)?;
        writeln!(table, "    ({:?}, include_str!({path:?})),", shell.to_string())?;
    }
    table.push_str("];\n");
    Ok(())
}

fn manual(folder: &Path, table: &mut String) -> Result<(), Box<dyn Error>> {
    fs::create_dir_all(folder)?;
    table.push_str("/// Manual page of the tool and of each command.\n");
    table.push_str("pub const MANUAL: &[(&str, &str)] = &[\n");
    let mut tool = args::Args::command().term_width(usize::MAX);
    tool.build();
    for command in std::iter::once(&tool).chain(tool.get_subcommands()) {
        let name = command.get_display_name().unwrap_or(command.get_name()).to_owned();
        let path = folder.join(format!("{name}.1"));
        fs::write(&path, page(command, &name)?)?;
        writeln!(table, "    ({name:?}, include_str!({path:?})),")?;
    }
    table.push_str("];\n");
    Ok(())
}

/// One page, with what stands below the help as sections of their own.
fn page(command: &clap::Command, name: &str) -> Result<Vec<u8>, Box<dyn Error>> {
    let man = clap_mangen::Man::new(command.clone().version(VERSION)).title(name);
    let mut roff = Vec::new();
    man.render_title(&mut roff)?;
    man.render_name_section(&mut roff)?;
    man.render_synopsis_section(&mut roff)?;
    man.render_description_section(&mut roff)?;
    man.render_options_section(&mut roff)?;
    if command.has_subcommands() {
        man.render_subcommands_section(&mut roff)?;
    }
    roff.extend_from_slice(b".SH EXIT STATUS\n");
    for (code, meaning) in exit::CODES {
        roff.extend_from_slice(format!(".TP\n{code}\n{meaning}\n").as_bytes());
    }
    man.render_version_section(&mut roff)?;
    Ok(roff)
}

/// Passes the version on as `LODESTRING_VERSION`, with the abbreviated commit where it is known.
fn commit() {
    let git = |arguments: &[&str]| {
        let run = Command::new("git").args(arguments).output().ok()?;
        let text = String::from_utf8(run.stdout).ok()?;
        run.status.success().then(|| text.trim().to_owned())
    };
    // Only when this very file is under version control, not when a release was unpacked inside
    // some other checkout.
    let ours = git(&["ls-files", "--error-unmatch", "build.rs"]).is_some();
    let version = match ours.then(|| git(&["rev-parse", "--short=10", "HEAD"])).flatten() {
        Some(hash) => format!("{VERSION} ({hash})"),
        None => VERSION.to_owned(),
    };
    println!("cargo:rustc-env=LODESTRING_VERSION={version}");
    let branch = git(&["symbolic-ref", "-q", "HEAD"]);
    for name in ["HEAD", "logs/HEAD"].into_iter().chain(branch.as_deref()) {
        if let Some(path) = git(&["rev-parse", "--git-path", name])
            && Path::new(&path).exists()
        {
            println!("cargo:rerun-if-changed={path}");
        }
    }
}
