//! How good numbers are to be, as typed.

/// A share between 0.001 % and 10 %, typed with a per cent sign or as a plain number.
pub fn accuracy(typed: &str) -> Result<f64, String> {
    let (number, unit) = match typed.trim().strip_suffix('%') {
        Some(number) => (number.trim_end(), 0.01),
        None => (typed.trim(), 1.0),
    };
    match number.parse::<f64>() {
        Ok(n) if (1e-5..=0.1).contains(&(n * unit)) => Ok(n * unit),
        Ok(_) => Err("it must lie between 0.001 % and 10 %".to_owned()),
        Err(_) => Err("it is written as a share, e.g. 0.1 %".to_owned()),
    }
}

/// A number of unknowns: a thousand to two million.
pub fn unknowns(typed: &str) -> Result<usize, String> {
    match typed.parse() {
        Ok(n) if (1_000..=2_000_000).contains(&n) => Ok(n),
        _ => Err("a whole number between 1000 and 2000000".to_owned()),
    }
}
