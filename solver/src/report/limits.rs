//! What the numbers of a solve cannot tell, in plain words, for the section at hand.

use crate::quantity::{Quantities, StringModel};
use crate::section::{Section, Symmetry};

/// The limits that touch this section's numbers, the gravest first.
pub fn limits(section: &Section, q: &Quantities) -> Vec<String> {
    let mut found: Vec<&str> = Vec::new();
    let any = |model| q.strings.iter().any(|s| s.model == model);
    if any(StringModel::MeshedThrough) {
        found.push(
            "The strings are seen end-on. A real string is magnetised mostly along its own length, \
             by the field that spreads out above a pole, and that makes most of its pull and of \
             its flux change. A plane across the strings has no such part: pull and flux change \
             are those of a metre of an endless string over an endless pole. Compare them between \
             like sections; no effective length turns them into those of a real string.",
        );
    }
    if any(StringModel::MeshedSheet) {
        found.push(
            "The string in the plane is solved as a sheet as deep as the pickup, not as a round \
             wire: pull and flux change are those of a metre of depth of that sheet.",
        );
    }
    if section.symmetry == Symmetry::Planar {
        found.push(if section.depth.is_some() {
            "Totals take every part as equally long through the plane and leave out the flux that \
             leaks at the ends: a blade loses several per cent of its field to it."
        } else {
            "The section has no depth: totals are per metre, of parts that are endless through \
             the plane. Round poles are walls here; solve one as a section turned about its axis."
        });
    }
    if q.strings.len() < section.strings.len() {
        found.push(
            "Strings that cross the axis are left out of the field, and nothing is said of them: \
             the figures are those of the pickup alone.",
        );
    }
    found.push(
        "Material data are nominal: the maker's data sheet comes first, and a measurement before \
         anything is relied on.",
    );
    found.into_iter().map(str::to_owned).collect()
}
