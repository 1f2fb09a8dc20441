//! `lodestring balance`: gaps or pole heights that give all strings the same level.

use lodestring::material::Library;
use lodestring::pipeline;
use lodestring::section::Section;
use lodestring::study::balance::{BalanceError, BalanceOptions, Moved, balance};
use lodestring::study::balance_report::{report, text};
use lodestring::study::three_meshes::with_errors;

use crate::args::Balance;
use crate::args::balance::MovedParts;
use crate::destination::Destination;
use crate::error::CliError;
use crate::typed::{length, pick, positive};
use crate::{form, section_file};

/// Balances the strings and reports.
pub fn run(args: &Balance, library: &Library) -> Result<(), CliError> {
    let gaps = [length("closest", &args.closest)?, length("farthest", &args.farthest)?];
    if gaps[0] >= gaps[1] {
        let message = "--closest must be less than --farthest";
        return Err(CliError::Usage(message.to_owned()));
    }
    let limit = args.pull_limit.map(|mn| positive("pull-limit", mn)).transpose()?;
    let report_to = Destination::prepare(args.output.out.as_deref(), &args.file)?;
    let file = section_file::read(&args.file)?;
    let section = pipeline::prepare(&file.text, library).map_err(|e| file.error(e))?.section;
    let coils: Vec<&str> = section.coils.iter().map(|c| c.name.as_str()).collect();
    let options = BalanceOptions {
        coil: pick("coil", args.coil.as_deref(), &coils)?,
        gaps,
        pull: limit.map_or(f64::INFINITY, |mn| mn * 1e-3),
        profile: profile(&args.profile, &section)?,
        moved: match (args.moved, &section.row) {
            (Some(MovedParts::Poles), _) | (None, Some(_)) => Moved::Poles,
            (Some(MovedParts::Strings), _) | (None, None) => Moved::Strings,
        },
    };
    let study = |section: &Section, _| {
        let balance = balance(section, library, &options)?;
        let report = report(section, &options, &balance);
        Ok::<_, BalanceError>((balance, report))
    };
    let (_, report) = with_errors(&section, study).map_err(|e| file.study_error(e.into()))?;
    report_to.write(form::written(&report, args.output.format, text))
}

/// dB of each string of the section, 0 where none is named.
fn profile(typed: &str, section: &Section) -> Result<Vec<f64>, CliError> {
    let usage = |text: String| CliError::Usage(format!("--profile: {text}"));
    let names: Vec<&str> = section.strings.iter().map(|s| s.name.as_str()).collect();
    let mut profile = vec![0.0; names.len()];
    for piece in typed.split(',').map(str::trim).filter(|p| !p.is_empty()) {
        let Some((name, db)) = piece.split_once('=') else {
            return Err(usage(format!("`{piece}` has no `=`; write e.g. \"E2 = -1, G3 = 0.5\"")));
        };
        let db = db.trim().trim_end_matches("dB").trim();
        let db: f64 = match db.parse() {
            Ok(db) if (-60.0..=60.0).contains(&db) => db,
            _ => return Err(usage(format!("`{db}` is no number of dB between -60 and 60"))),
        };
        let index = names.iter().position(|n| *n == name.trim()).ok_or_else(|| {
            usage(format!("no string is called `{}`: there is {}", name.trim(), names.join(", ")))
        })?;
        profile[index] = db;
    }
    Ok(profile)
}
