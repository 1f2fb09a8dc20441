//! Chapters on a solved section: what counts at a glance, pictures, tables, limits.

use crate::pipeline::{Prepared, Solved};
use crate::report::html::{Block, Chapter, Figure, Tile, sheet, shown, with_error};
use crate::report::picture::{Scene, draw_density, draw_flux, draw_saturation, draw_section};
use crate::report::record::{Item, Report};
use crate::report::solve::tables;
use crate::section::Role;

/// About how many flux lines where they are the picture, and where they lie over it.
const LINES: [usize; 2] = [24, 10];
/// From which share of saturation the picture warns.
const SHARE: f64 = 0.9;

/// The chapters; `report` is the report of the solve.
pub fn solved(prepared: &Prepared, solved: &Solved, report: &Report) -> Vec<Chapter> {
    vec![glance(report), pictures(prepared, solved), numbers(report)]
}

/// By how much the mesh may put numbers of studies wrong that have no brackets: the errors of the section as
/// it stands, as shares of the largest number of their kind. Studies take the mesh that the section asks for;
/// where the report is from another one (`own_mesh` is false) only that can be said. `None` where the report
/// has no errors.
pub fn mesh_errors(report: &Report, own_mesh: bool) -> Option<Block> {
    let kinds = [
        ("strings", "pull_up", "pulls"),
        ("linkage_changes", "linkage_change_up", "flux changes"),
        ("strings", "flux_density_without_up", "fields at the strings"),
        ("coils", "inductance", "inductances"),
    ];
    let said: Vec<String> = kinds
        .iter()
        .filter_map(|(group, name, words)| {
            let numbers = || report.items(group).iter().filter_map(|item| item.get(name));
            let error = numbers().filter_map(|n| n.error).fold(0.0, f64::max);
            let most = numbers().filter_map(|n| n.value).map(f64::abs).fold(0.0, f64::max);
            let share = 100.0 * error / most;
            (share > 0.0 && share.is_finite()).then(|| format!("{words} {} %", shown(share, 1)))
        })
        .collect();
    let words = if own_mesh {
        format!(
            "Numbers without brackets are from meshes as fine as that of the section as it stands, which \
             may be wrong by: {}.",
            said.join(", ")
        )
    } else {
        "Numbers without brackets are from meshes as fine as the section asks for, not from the one made for \
         the numbers above, whose errors are not theirs. With --accuracy mesh both are as fine, and the errors \
         are told."
            .to_owned()
    };
    (!said.is_empty()).then_some(Block::Text(words))
}

/// What none of the page's numbers can tell.
pub fn limits(report: &Report) -> Chapter {
    Chapter {
        title: "What these numbers cannot tell",
        blocks: vec![Block::List(report.limits.clone())],
    }
}

fn glance(report: &Report) -> Chapter {
    let (strings, coils, parts) =
        (report.items("strings"), report.items("coils"), report.items("parts"));
    let changes = report.items("linkage_changes");
    let tiles = [
        tile(strings, "flux_density_without_up", "Field up at the string, without strings"),
        tile(strings, "pull_up", "Pull on the string (negative: to the pole)"),
        tile(changes, "linkage_change_up", "Flux change as the string rises"),
        tile(coils, "inductance", "Inductance"),
        tile(parts, "margin_to_knee", "Margin of the magnet to its knee"),
        tile(parts, "charge_kept", "Charge that the magnet keeps"),
    ];
    let mut blocks = vec![Block::Tiles(tiles.into_iter().flatten().collect())];
    if strings.len() > 1 {
        blocks.push(Block::Text("Two values are the least and the greatest of all.".to_owned()));
    }
    let warnings: Vec<String> =
        report.items("warnings").iter().map(|w| w.get_word("text").to_owned()).collect();
    if !warnings.is_empty() {
        blocks.push(Block::Warnings(warnings));
    }
    Chapter { title: "At a glance", blocks }
}

/// The least and the greatest of a number of all items.
fn tile(items: &[Item], name: &str, label: &str) -> Option<Tile> {
    let of = |item: &Item| {
        let number = item.get(name)?;
        let name = item.get_word("name").to_owned();
        Some((number.shown()?, name, number.unit.symbol, number.shown_error()))
    };
    let values: Vec<_> = items.iter().filter_map(of).collect();
    let least = values.iter().min_by(|a, b| a.0.total_cmp(&b.0))?;
    let most = values.iter().max_by(|a, b| a.0.total_cmp(&b.0))?;
    let (low, high) = (with_error(least.0, least.3, 4), with_error(most.0, most.3, 4));
    let (value, note) = if low == high {
        let note = if values.len() == 1 { least.1.clone() } else { "all alike".to_owned() };
        (low, note)
    } else {
        (format!("{low} to {high}"), format!("{} to {}", least.1, most.1))
    };
    let note = match name {
        "margin_to_knee" if least.0 < 0.0 => format!("{note}; beyond the knee charge is lost"),
        _ => note,
    };
    Some(Tile { label: label.to_owned(), value: format!("{value} {}", least.2), note })
}

fn pictures(prepared: &Prepared, solved: &Solved) -> Chapter {
    let scene = Scene { section: &prepared.section, regions: &prepared.regions };
    let field = solved.field();
    let mut blocks = vec![
        Block::Figure(Figure::new("section", |look| draw_section(&scene, None, look))),
        Block::Figure(Figure::new("flux", |look| draw_flux(&scene, field, None, LINES[0], look))),
        Block::Figure(Figure::new("density", |look| {
            draw_density(&scene, field, None, LINES[1], look)
        })),
    ];
    let soft = |role| matches!(role, Role::PolePiece | Role::BasePlate | Role::Keeper);
    if prepared.section.parts.iter().any(|part| soft(part.role)) {
        blocks.push(Block::Figure(Figure::new("saturation", |look| {
            draw_saturation(&scene, field, None, SHARE, look)
        })));
    }
    Chapter { title: "Section and field", blocks }
}

fn numbers(report: &Report) -> Chapter {
    let (shown, layouts) = tables(report);
    let mut blocks = vec![Block::Text(model(report))];
    blocks.extend(layouts.iter().filter_map(|layout| sheet(&shown, layout)).map(Block::Sheet));
    Chapter { title: "Numbers", blocks }
}

/// Which model the numbers come from.
fn model(report: &Report) -> String {
    let word = report.words.iter().find(|(key, _)| *key == "model");
    let mut text = format!(
        "Field: finite elements of second order, {}",
        word.map_or("", |(_, word)| word.as_str())
    );
    let head = |name: &str| report.numbers.iter().find(|n| n.name == name).and_then(|n| n.shown());
    if let Some(unknowns) = head("unknowns") {
        text.push_str(&format!(", {unknowns} unknowns"));
    }
    if let Some(residual) = head("relative_residual") {
        text.push_str(&format!(", relative residual {residual:.1e}"));
    }
    text.push('.');
    if report.items("strings").iter().any(|item| item.numbers.iter().any(|n| n.error.is_some())) {
        text.push_str(
            " Brackets hold the error that the mesh may have made, in units of the last digit; (?) is a \
             number that does not settle as the mesh is refined.",
        );
    }
    let mut models: Vec<(&str, Vec<&str>)> = Vec::new();
    for string in report.items("strings") {
        let (model, name) = (string.get_word("model"), string.get_word("name"));
        match models.iter_mut().find(|(known, _)| *known == model) {
            Some((_, names)) => names.push(name),
            None => models.push((model, vec![name])),
        }
    }
    for (model, names) in models {
        let many = if names.len() == 1 { "String" } else { "Strings" };
        text.push_str(&format!(" {many} {}: {model}.", names.join(", ")));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::unit::MN;

    #[test]
    fn a_tile_shows_the_ends() {
        let items: Vec<Item> = [("E", -3.5e-3), ("A", -1.25e-3), ("D", -2e-3)]
            .into_iter()
            .map(|(name, pull)| Item::new(name).number("pull_up", MN, pull))
            .collect();
        let all = tile(&items, "pull_up", "Pull").expect("values");
        assert_eq!(all.value, "\u{2212}3.5 to \u{2212}1.25 mN");
        assert_eq!(all.note, "E to A");
        let one = tile(&items[..1], "pull_up", "Pull").expect("a value");
        assert_eq!((one.value.as_str(), one.note.as_str()), ("\u{2212}3.5 mN", "E"));
        assert!(tile(&items, "gap", "Gap").is_none());
    }
}
