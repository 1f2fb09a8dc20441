//! The section on which studies are tested.

/// An alnico rod in its coil, on a coarse mesh, without strings.
pub const ROD: &str = "format = 1
symmetry = \"axisymmetric\"
mesh_scale = 2
[[part]]
name = \"rod\"
role = \"magnet\"
material = \"alnico 5\"
rectangle = { width = \"4.8 mm\", height = \"17 mm\" }
at = [\"0 mm\", \"0 mm\"]
anchor = \"top\"
charge = \"up\"
[[coil]]
name = \"coil\"
turns = 7000
window = { rectangle = { x = [\"3 mm\", \"7 mm\"], y = [\"-13 mm\", \"-2 mm\"] } }
";

/// The rod with strings over it.
pub fn under(strings: &[String]) -> String {
    format!("{ROD}{}", strings.concat())
}

/// Such rods in a row, as `[row]` says with these keys, with strings over them.
pub fn row_under(keys: &str, strings: &[String]) -> String {
    format!("{ROD}[row]\n{keys}\n{}", strings.concat())
}

/// A string over the rod.
pub fn string(name: &str, gauge: &str, gap: &str) -> String {
    format!("[[string]]\nname = \"{name}\"\ngauge = \"{gauge}\"\nover = \"rod\"\ngap = \"{gap}\"\n")
}

/// A string over pole number `pole` of the row, from 1.
pub fn string_over(pole: usize, name: &str, gauge: &str, gap: &str) -> String {
    format!("{}pole = {pole}\n", string(name, gauge, gap))
}
