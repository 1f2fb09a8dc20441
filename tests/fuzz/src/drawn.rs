//! A section drawn by a fuzzer's choices: a few parts of every shape that touch, nearly touch, pierce
//! and repeat each other, with coils, strings and probes among them.

use std::fmt::Write as _;

use arbitrary::{Result, Unstructured};

use crate::lengths::{angle, place, size};

/// Roles with a material that suits them.
const PARTS: [(&str, &str); 6] = [
    ("magnet", "alnico 5"),
    ("pole piece", "steel 1010"),
    ("base plate", "mild steel"),
    ("cover", "brass"),
    ("keeper", "mild steel"),
    ("body", "brass"),
];

/// Triangles as wanted, and much coarser ones, which cost less and show the shapes' own limits.
const SCALES: [&str; 4] = ["10", "10", "5", "1"];

/// The text of a section file that `bytes` choose. Every choice beyond their end is the first.
pub fn drawn(bytes: &[u8]) -> String {
    let mut text = String::new();
    // The only error is that the bytes have run out: what is drawn by then counts.
    let _ = section(&mut Unstructured::new(bytes), &mut text);
    text
}

fn section(u: &mut Unstructured, text: &mut String) -> Result<()> {
    let axisymmetric = u.ratio(1, 3)?;
    let through = u.arbitrary()?;
    let symmetry = if axisymmetric { "axisymmetric" } else { "planar" };
    *text += &format!("format = 1\nsymmetry = \"{symmetry}\"\n");
    if !axisymmetric {
        let run = if through { "through" } else { "in plane" };
        *text += &format!("strings_run = \"{run}\"\n");
    }
    *text += &format!("mesh_scale = {}\n", u.choose(&SCALES)?);
    if u.ratio(1, 8)? {
        *text += &format!("outer_radius = {}\n", size(u)?);
    }
    for i in 0..u.int_in_range(1..=8_usize)? {
        part(u, text, i, axisymmetric)?;
    }
    for i in 0..u.int_in_range(0..=2_u8)? {
        coil(u, text, i, axisymmetric)?;
    }
    for i in 0..u.int_in_range(0..=2_u8)? {
        let mut table = format!("[[string]]\nname = \"s{i}\"\ngauge = {}\n", gauge(u)?);
        if u.arbitrary()? {
            let _ = writeln!(table, "height = {}", place(u)?);
        } else {
            let _ = writeln!(table, "over = \"p0\"\ngap = {}", size(u)?);
        }
        if u.arbitrary()? {
            let _ = writeln!(table, "offset = {}", place(u)?);
        }
        *text += &table;
    }
    if u.ratio(1, 4)? {
        let [x0, y0, x1, y1] = [place(u)?, place(u)?, place(u)?, place(u)?];
        let samples = u.int_in_range(2..=400_u16)?;
        *text += &format!(
            "[[probe]]\nname = \"l\"\nfrom = [{x0}, {y0}]\nto = [{x1}, {y1}]\nsamples = {samples}\n"
        );
    }
    Ok(())
}

fn gauge(u: &mut Unstructured) -> Result<String> {
    if u.ratio(1, 6)? { size(u) } else { Ok(format!("\"{} mil\"", u.int_in_range(7..=80_u8)?)) }
}

fn part(u: &mut Unstructured, text: &mut String, i: usize, axisymmetric: bool) -> Result<()> {
    let (role, material) = *u.choose(&PARTS)?;
    let mut table =
        format!("[[part]]\nname = \"p{i}\"\nrole = \"{role}\"\nmaterial = \"{material}\"\n");
    let placed = shape(u, &mut table)?;
    if placed {
        let x = if axisymmetric && u.ratio(2, 3)? { "0".to_owned() } else { place(u)? };
        let _ = writeln!(table, "at = [{x}, {}]", place(u)?);
    }
    if u.ratio(1, 5)? {
        let _ = writeln!(table, "turn = {}", angle(u)?);
    }
    if role == "magnet" {
        let directions: &[&str] =
            if axisymmetric { &["up", "outward"] } else { &["up", "down", "left"] };
        let _ = writeln!(table, "charge = \"{}\"", u.choose(directions)?);
    }
    let others: Vec<String> = (0..i)
        .filter_map(|k| u.ratio(2, 5).ok().filter(|yes| *yes).map(|_| format!("\"p{k}\"")))
        .collect();
    if !others.is_empty() {
        let _ = writeln!(table, "passes_through = [{}]", others.join(", "));
    }
    if u.ratio(1, 5)? {
        let count = if u.ratio(1, 12)? {
            u.int_in_range(1..=1000_u16)?
        } else {
            u.int_in_range(1..=9_u16)?
        };
        let along = if axisymmetric { "y" } else { *u.choose(&["x", "y"])? };
        let _ = writeln!(
            table,
            "repeat = {{ count = {count}, pitch = {}, along = \"{along}\" }}",
            size(u)?
        );
    }
    *text += &table;
    Ok(())
}

/// Writes a shape; says whether it needs a place.
fn shape(u: &mut Unstructured, table: &mut String) -> Result<bool> {
    match u.int_in_range(0..=5_u8)? {
        0 | 1 => {
            let _ = write!(table, "rectangle = {{ width = {}, height = {}", size(u)?, size(u)?);
            for key in ["round", "bevel", "round_top", "bevel_bottom"] {
                if u.ratio(1, 6)? {
                    let _ = write!(table, ", {key} = {}", size(u)?);
                }
            }
            *table += " }\n";
            Ok(true)
        }
        2 => {
            let [x0, x1, y0, y1] = [place(u)?, place(u)?, place(u)?, place(u)?];
            let _ = writeln!(table, "rectangle = {{ x = [{x0}, {x1}], y = [{y0}, {y1}] }}");
            Ok(false)
        }
        3 | 4 => {
            let _ = writeln!(table, "circle = {{ diameter = {} }}", size(u)?);
            Ok(true)
        }
        _ => {
            let mut corners = Vec::new();
            for _ in 0..u.int_in_range(2..=7_u8)? {
                corners.push(format!("[{}, {}]", place(u)?, place(u)?));
                if u.ratio(1, 3)? {
                    corners.push(format!("{{ through = [{}, {}] }}", place(u)?, place(u)?));
                }
            }
            let _ = writeln!(table, "polygon = [{}]", corners.join(", "));
            u.arbitrary()
        }
    }
}

fn coil(u: &mut Unstructured, text: &mut String, i: u8, axisymmetric: bool) -> Result<()> {
    let mut table = format!("[[coil]]\nname = \"c{i}\"\nturns = 5000\n[[coil.window]]\n");
    let (x0, x1) = (place(u)?, place(u)?);
    let _ =
        writeln!(table, "rectangle = {{ x = [{x0}, {x1}], y = [{}, {}] }}", place(u)?, place(u)?);
    if !axisymmetric {
        let _ = writeln!(table, "sense = \"out\"\nmirror = {}", place(u)?);
    }
    *text += &table;
    Ok(())
}
