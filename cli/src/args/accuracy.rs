//! How good numbers are to be, as typed.

use clap::Args;

/// Options of the mesh.
#[derive(Clone, Copy, Debug, Args)]
pub struct Fineness {
    /// Refine the mesh until pulls, flux changes, linkages and fields at the strings are this good
    ///
    /// As a share of the largest of their kind, e.g. "0.1 %". A coarse mesh comes first; the next is finer
    /// where the errors of these numbers come from. The report tells the meshes that it took. `mesh` takes
    /// the mesh that the section asks for, as the studies do. [default: 0.5 %; `mesh` for a `report` with an
    /// instrument, a study or grades, whose numbers are from such meshes]
    #[arg(long, value_name = "SHARE", value_parser = accuracy, allow_negative_numbers = true)]
    pub accuracy: Option<f64>,

    /// Never take a mesh of more unknowns than this
    #[arg(long, value_name = "N", default_value_t = Self::MOST_UNKNOWNS, value_parser = unknowns, allow_negative_numbers = true)]
    pub most_unknowns: usize,
}

impl Fineness {
    /// Unknowns of a mesh, at most, where nothing else is said.
    pub const MOST_UNKNOWNS: usize = 400_000;
}

/// A share between 0.001 % and 10 %, typed with a per cent sign or as a plain number; infinite for `mesh`,
/// as good as the mesh that the section asks for.
pub fn accuracy(typed: &str) -> Result<f64, String> {
    if typed.trim() == "mesh" {
        return Ok(f64::INFINITY);
    }
    let (number, unit) = match typed.trim().strip_suffix('%') {
        Some(number) => (number.trim_end(), 0.01),
        None => (typed.trim(), 1.0),
    };
    match number.parse::<f64>() {
        Ok(n) if (1e-5..=0.1).contains(&(n * unit)) => Ok(n * unit),
        Ok(_) => Err("it must lie between 0.001 % and 10 %".to_owned()),
        Err(_) => Err("it is written as a share, e.g. 0.1 %, or as `mesh`".to_owned()),
    }
}

/// A number of unknowns: a thousand to two million.
pub fn unknowns(typed: &str) -> Result<usize, String> {
    match typed.parse() {
        Ok(n) if (1_000..=2_000_000).contains(&n) => Ok(n),
        _ => Err("a whole number between 1000 and 2000000".to_owned()),
    }
}
