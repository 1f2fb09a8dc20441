//! What the numbers of a solve cannot tell, in plain words, for the section at hand.

use crate::quantity::{Quantities, StringModel};
use crate::section::{Corner, Section, Shape, Symmetry};

/// The limits that touch this section's numbers, the gravest first.
pub fn limits(section: &Section, q: &Quantities) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    let mut say = |text: &str| found.push(text.to_owned());
    let any = |model| q.strings.iter().any(|s| s.model == model);
    if any(StringModel::MeshedThrough) {
        say(
            "The strings are seen end-on. A real string is magnetised mostly along its own length, \
             by the field that spreads out above a pole, and that makes most of its pull and of \
             its flux change. A plane across the strings has no such part: pull and flux change \
             are those of a metre of an endless string over an endless pole. Compare them between \
             like sections; no effective length turns them into those of a real string.",
        );
    }
    let wraps: Vec<&str> =
        q.strings.iter().filter(|s| s.wrap_is_meshed).map(|s| s.name.as_str()).collect();
    if !wraps.is_empty() {
        say(&format!(
            "The wrap of {} is a smooth ring here, which a field across magnetises up to 3 % more than \
             turns one by one.",
            wraps.join(", ")
        ));
    }
    if any(StringModel::MeshedSheet) {
        say("The string in the plane is solved as a sheet as deep as the pickup, not as a round \
             wire: pull and flux change are those of a metre of depth of that sheet.");
    }
    match (section.symmetry, any(StringModel::Coupled)) {
        (_, true) if q.row.is_some() => say(
            "Every pole is solved turned about its own axis. The others act on it by their mean field \
             along its axis, and with the coil by what of their fields changes round it; that comes within \
             1.5 % of a full three-dimensional solve of three poles. What neighbouring strings do to each \
             other is left out. Parts are those of one pole by itself.",
        ),
        (Symmetry::Planar, true) => say(
            "The strings are coupled in three dimensions to the field of parts that are endless \
             through the plane, and the metal answers the strings' own field. Real parts leak at \
             their ends: expect flux and flux change to come out several per cent high over a blade \
             60 mm long, more near its ends and for poles with air between them.",
        ),
        (Symmetry::Axisymmetric, true) => say(
            "The strings are coupled in three dimensions to the field of this one pole, which answers \
             their own field; on single rods that comes within 1.5 % of a full three-dimensional \
             solve. What neighbouring poles and strings add is not in the figures.",
        ),
        _ => {}
    }
    if section.symmetry == Symmetry::Planar {
        say(if section.depth.is_some() {
            "Totals take every part as equally long through the plane, without leakage at the ends."
        } else if any(StringModel::Coupled) {
            "The section has no depth: what is not of a string is per metre, of parts that are \
             endless through the plane, and what the strings do to linkage and forces stands in their own \
             table only."
        } else {
            "The section has no depth: totals are per metre, of parts that are endless through \
             the plane. Round poles are walls here; solve one as a section turned about its axis."
        });
    }
    if q.strings.len() < section.strings.len() {
        say("Strings that cross the axis are left out of the field, and nothing is said of them: \
             the figures are those of the pickup alone.");
    }
    if q.parts.iter().any(|part| is_sharp(section, &part.name)) {
        say(
            "At the corner of a part that is drawn sharp the flux density has no limit: the largest \
             value in such a part is that of this mesh, and grows with every finer one. Mean \
             fields, fluxes and pulls settle; the largest value does not.",
        );
    }
    if !q.strings.is_empty() {
        found.push(format!(
            "How sharply the steel of a string saturates is hardly ever known, and changes the \
             pull by tens of per cent. Assumed here: {}.",
            cores(section)
        ));
    }
    found.push(
        "Material data are nominal: the maker's data sheet comes first, and a measurement before \
         anything is relied on."
            .to_owned(),
    );
    found
}

/// Whether the outline of a part has a corner.
pub(crate) fn is_sharp(section: &Section, name: &str) -> bool {
    let part = section.parts.iter().find(|part| part.name == name);
    part.is_some_and(|part| match &part.shape {
        Shape::Rectangle { corners, .. } => {
            corners.iter().any(|corner| !matches!(corner, Corner::Round(_)))
        }
        Shape::Circle { .. } => false,
        Shape::Polygon { .. } => true,
    })
}

/// The materials of the strings' cores, each once.
fn cores(section: &Section) -> String {
    let mut names: Vec<&str> = Vec::new();
    for string in &section.strings {
        if !names.contains(&string.core.name.as_str()) {
            names.push(&string.core.name);
        }
    }
    names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
}
