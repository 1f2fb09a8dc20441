//! A shipped section file edited by a fuzzer's choices: other numbers and words in place of those
//! there, lines gone, doubled, swapped, put in.

use arbitrary::{Result, Unstructured};

use crate::lengths::{angle, place, size};

/// Files to begin with. The last uses every key of the format.
const FILES: [&str; 9] = [
    include_str!("../../../meshes/blade-six-strings.toml"),
    include_str!("../../../meshes/blade.toml"),
    include_str!("../../../meshes/rod.toml"),
    include_str!("../../../meshes/six-rods-row.toml"),
    include_str!("../../../meshes/six-rods.toml"),
    include_str!("../../../meshes/steel-pole-disc.toml"),
    include_str!("../../../meshes/steel-poles-plate.toml"),
    include_str!("../../../meshes/twin-blade.toml"),
    include_str!("../../../solver/src/section/tests/full.toml"),
];

/// Lines to put in.
const LINES: [&str; 14] = [
    "[[part]]",
    "[[coil]]",
    "[[coil.window]]",
    "[[string]]",
    "[[probe]]",
    "[row]",
    "mesh_scale = 10",
    "count = 24",
    "turn = 30",
    "anchor = \"top left\"",
    "charge = \"right\"",
    "repeat = { count = 7, pitch = \"1 mm\" }",
    "history = [\"alone\", \"in place\"]",
    "circle = { diameter = \"3 mm\" }",
];

/// Values to put in place of others.
const VALUES: [&str; 14] = [
    "nan",
    "-inf",
    "0",
    "-1",
    "1",
    "1000",
    "1e308",
    "\"1e308 mm\"",
    "\"\"",
    "[]",
    "{}",
    "true",
    "\"rod 2\"",
    "[[\"0 mm\", \"0 mm\"]]",
];

/// The text that `bytes` choose: a file and up to eight edits.
pub fn edited(bytes: &[u8]) -> String {
    let mut u = Unstructured::new(bytes);
    let file = u.choose(&FILES).copied().unwrap_or(FILES[0]);
    let mut lines: Vec<String> = file
        .lines()
        .filter(|line| !line.is_empty() && !line.starts_with('#'))
        .map(str::to_owned)
        .collect();
    // Coarse to begin with: an edit may ask for more.
    lines.insert(1, "mesh_scale = 10".to_owned());
    for _ in 0..8 {
        if u.is_empty() || edit(&mut u, &mut lines).is_err() || lines.is_empty() {
            break;
        }
    }
    lines.join("\n")
}

fn edit(u: &mut Unstructured, lines: &mut Vec<String>) -> Result<()> {
    let at = u.choose_index(lines.len())?;
    match u.int_in_range(0..=11_u8)? {
        0 => {
            lines.remove(at);
        }
        1 => {
            let line = lines[at].clone();
            lines.insert(at, line);
        }
        2 => {
            let other = u.choose_index(lines.len())?;
            lines.swap(at, other);
        }
        3 => lines.insert(at, (*u.choose(&LINES)?).to_owned()),
        4 => {
            // A table out, or in again elsewhere.
            let end = (at + 1..lines.len()).find(|i| lines[*i].starts_with('[')).unwrap_or(at + 1);
            let table: Vec<String> = lines.drain(at..end).collect();
            if u.arbitrary()? {
                let to = u.choose_index(lines.len() + 1)?;
                lines.splice(to..to, table);
            }
        }
        kind => {
            let value = match kind {
                5 | 6 => size(u)?,
                7 | 8 => place(u)?,
                9 => angle(u)?,
                10 => u.int_in_range(0..=2000_u16)?.to_string(),
                _ => (*u.choose(&VALUES)?).to_owned(),
            };
            let which = u.arbitrary::<u8>()?;
            replace_value(&mut lines[at], usize::from(which), &value);
        }
    }
    Ok(())
}

/// Puts `value` in place of one of the values of a line.
fn replace_value(line: &mut String, which: usize, value: &str) {
    let values = values(line);
    if !values.is_empty() {
        line.replace_range(values[which % values.len()].clone(), value);
    }
}

/// Where a line has quoted text or bare numbers and words, after its first `=`.
fn values(line: &str) -> Vec<std::ops::Range<usize>> {
    let mut found = Vec::new();
    let Some(mut at) = line.find('=').map(|i| i + 1) else { return found };
    let bytes = line.as_bytes();
    while at < bytes.len() {
        let end = match bytes[at] {
            b'"' => line[at + 1..].find('"').map_or(line.len(), |i| at + i + 2),
            b'-' | b'0'..=b'9' => {
                let more = |c: char| !(c.is_ascii_alphanumeric() || "+-._".contains(c));
                line[at..].find(more).map_or(line.len(), |i| at + i)
            }
            _ => {
                at += 1;
                continue;
            }
        };
        found.push(at..end);
        at = end;
    }
    found
}
