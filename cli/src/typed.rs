//! What was typed at an option, read by the library.

use lodestring::section::read_length;
use lodestring::study::values::lengths;

use crate::error::CliError;

/// A length in m, more than 0.
pub fn length(option: &str, typed: &str) -> Result<f64, CliError> {
    let read = read_length(typed).and_then(|length| {
        if length > 0.0 { Ok(length) } else { Err("the length must be more than 0".to_owned()) }
    });
    read.map_err(|reason| wrong(option, typed, &reason))
}

/// Several lengths in m, each more than 0.
pub fn several_lengths(option: &str, typed: &str) -> Result<Vec<f64>, CliError> {
    let read = lengths(typed).and_then(|all| {
        let good = all.iter().all(|length| *length > 0.0);
        if good { Ok(all) } else { Err("every length must be more than 0".to_owned()) }
    });
    read.map_err(|reason| wrong(option, typed, &reason))
}

/// A finite number above 0.
pub fn positive(option: &str, number: f64) -> Result<f64, CliError> {
    if number > 0.0 && number.is_finite() {
        Ok(number)
    } else {
        Err(wrong(option, &number.to_string(), "it must be more than 0 and finite"))
    }
}

/// Index of the one that was named, or of the only one there is.
pub fn pick(what: &str, named: Option<&str>, names: &[&str]) -> Result<usize, CliError> {
    let all = || names.join(", ");
    match (named, names) {
        (_, []) => Err(CliError::Usage(format!("the section has no {what}"))),
        (None, [_]) => Ok(0),
        (None, _) => Err(CliError::Usage(format!("say which --{what}: there is {}", all()))),
        (Some(name), _) => names
            .iter()
            .position(|n| *n == name)
            .ok_or_else(|| CliError::Usage(format!("--{what} {name}: there is {}", all()))),
    }
}

fn wrong(option: &str, typed: &str, reason: &str) -> CliError {
    CliError::Usage(format!("--{option} {typed}: {reason}"))
}
