//! The section on which studies are tested.

use crate::geometry::samples::rod_file;

/// Coarser than usual: a quarter of the unknowns.
const MESH_SCALE: f64 = 2.0;

/// The rod with strings over it.
pub fn under(strings: &[String]) -> String {
    rod_file(MESH_SCALE) + &strings.concat()
}

/// Such rods in a row, as `[row]` says with these keys, with strings over them.
pub fn row_under(keys: &str, strings: &[String]) -> String {
    format!("{}[row]\n{keys}\n{}", rod_file(MESH_SCALE), strings.concat())
}

/// A string over the rod.
pub fn string(name: &str, gauge: &str, gap: &str) -> String {
    format!("[[string]]\nname = \"{name}\"\ngauge = \"{gauge}\"\nover = \"rod\"\ngap = \"{gap}\"\n")
}

/// A string over pole number `pole` of the row, from 1.
pub fn string_over(pole: usize, name: &str, gauge: &str, gap: &str) -> String {
    format!("{}pole = {pole}\n", string(name, gauge, gap))
}
