//! Lengths and angles as the file writes them: on a lattice, so that parts touch; a hair off it, so
//! that they nearly touch; of any order of magnitude; and nonsense.

use arbitrary::{Result, Unstructured};

/// A length, from minus to plus 8 mm as a rule, with its unit and quotation marks.
pub(crate) fn place(u: &mut Unstructured) -> Result<String> {
    let lattice = 0.5e-3 * f64::from(u.int_in_range(-16..=16_i8)?);
    length(u, lattice)
}

/// A length that is above zero as a rule.
pub(crate) fn size(u: &mut Unstructured) -> Result<String> {
    let lattice = 0.5e-3 * f64::from(u.int_in_range(1..=16_u8)?);
    length(u, lattice)
}

fn length(u: &mut Unstructured, lattice: f64) -> Result<String> {
    Ok(match u.int_in_range(0..=15_u8)? {
        0..=9 => format!("\"{} mm\"", lattice * 1e3),
        10..=12 => {
            let off = magnitude(u, -9..=-4)?;
            let sign = if u.arbitrary()? { 1.0 } else { -1.0 };
            format!("\"{:.12} m\"", lattice + sign * off)
        }
        13 => format!("\"{:.12} m\"", magnitude(u, -9..=0)?),
        14 => format!("\"{}/{} in\"", u.arbitrary::<u8>()?, u.int_in_range(0..=64_u8)?),
        _ => match u.int_in_range(0..=5_u8)? {
            0 => "0".to_owned(),
            1 => "\"-0 mm\"".to_owned(),
            2 => "\"1 m\"".to_owned(),
            3 => "\"0.000001 m\"".to_owned(),
            4 => "\"\"".to_owned(),
            _ => format!("\"{:e} mm\"", u.arbitrary::<f64>()?),
        },
    })
}

/// A number of one to three digits times a power of ten.
fn magnitude(u: &mut Unstructured, powers: std::ops::RangeInclusive<i32>) -> Result<f64> {
    let digits = f64::from(u.int_in_range(1..=999_u16)?) / 100.0;
    Ok(digits * 10f64.powi(u.int_in_range(powers)?))
}

/// An angle in degrees.
pub(crate) fn angle(u: &mut Unstructured) -> Result<String> {
    Ok(match u.int_in_range(0..=3_u8)? {
        0 | 1 => format!("{}", 15 * i32::from(u.int_in_range(0..=24_u8)?)),
        2 => format!("{:.9}", 45.0 + magnitude(u, -9..=0)?),
        _ => format!("{:.6}", f64::from(u.arbitrary::<i16>()?) / 91.0),
    })
}
