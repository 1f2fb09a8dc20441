//! Limits on how much lies over how much, told before time and memory go into it.
//!
//! Telling outlines apart costs work in proportion to the pairs of sides whose boxes meet, to the
//! crossings, and to the square of how many outlines lie over one place. Sections that can be made
//! stay far below all three: each part meets a few others.

use super::items::Item;
use super::pairs::meeting_pairs_until;
use super::piece::Bounds;
use crate::problem::Problem;

/// Most pairs of items whose boxes meet.
const MOST_PAIRS: usize = 100_000;

/// Most pairs of sides, over all pairs of items whose boxes meet.
const MOST_SIDE_PAIRS: usize = 10_000_000;

/// Most vertices that crossings and touchings of outlines may add.
pub(crate) const MOST_CROSSINGS: usize = 20_000;

/// Most pairs of outlines over one side, summed over all sides of the arrangement.
pub(crate) const MOST_COVERED: usize = 2_000_000;

/// A problem where too many items lie over each other to be told apart. Says whether there is one.
pub(crate) fn report_crowding(items: &[Item], margin: f64, problems: &mut Vec<Problem>) -> bool {
    let boxes: Vec<Bounds> = items.iter().map(|i| i.bounds.grown(margin)).collect();
    let (mut pairs, mut side_pairs) = (0_usize, 0_usize);
    meeting_pairs_until(&boxes, |i, j| {
        pairs += 1;
        side_pairs += items[i].outline.sides.len() * items[j].outline.sides.len();
        pairs <= MOST_PAIRS && side_pairs <= MOST_SIDE_PAIRS
    });
    let crowded = pairs > MOST_PAIRS || side_pairs > MOST_SIDE_PAIRS;
    if crowded {
        let what = if pairs > MOST_PAIRS {
            format!("more than {MOST_PAIRS} pairs of its parts meet or overlap")
        } else {
            format!("more than {MOST_SIDE_PAIRS} pairs of sides of its parts may meet")
        };
        problems.push(crowd(what));
    }
    crowded
}

/// The problem that outlines cross too often, or lie over each other too deep.
pub(crate) fn crowd(what: String) -> Problem {
    Problem::general(format!("the section is too crowded: {what}"))
        .help("check the counts and pitches of repeats, and let fewer parts lie over each other")
}

#[cfg(test)]
mod tests {
    use crate::geometry::arrange;
    use crate::section::parse;

    /// What is said of a planar section of these parts.
    fn said_of(parts: &str) -> Vec<String> {
        let parsed = parse(&format!("format = 1\nsymmetry = \"planar\"\n{parts}"));
        assert!(parsed.problems.is_empty(), "{:?}", parsed.problems);
        let arranged = arrange(&parsed.section);
        assert!(arranged.regions.is_none());
        arranged.problems.into_iter().map(|p| p.message).collect()
    }

    fn disc(name: usize, diameter: f64) -> String {
        format!(
            "[[part]]\nname = \"p{name}\"\nrole = \"body\"\nmaterial = \"brass\"\nat = [0, 0]\n\
             circle = {{ diameter = \"{diameter} mm\" }}\n"
        )
    }

    /// `count` discs of 5 mm in a row.
    fn row(count: usize, pitch: &str) -> Vec<String> {
        let repeat = format!("repeat = {{ count = {count}, pitch = \"{pitch}\" }}\n");
        said_of(&(disc(0, 5.0) + &repeat))
    }

    #[test]
    fn piles_of_parts_are_refused_before_they_are_told_apart() {
        let told = |said: &[String], what: &str| {
            assert!(said.iter().any(|s| s.contains(what)), "{what}: {said:?}");
        };
        told(&row(1000, "0.001 mm"), "more than 100000 pairs of its parts");
        told(&row(300, "0.01 mm"), "more than 20000 places");
        // Nested discs cross nowhere.
        let nested: String = (0..300).map(|k| disc(k, 1.0 + k as f64)).collect();
        told(&said_of(&nested), "lie over each other");
        // Few enough to say which.
        let said = row(3, "1 mm");
        assert!(said.len() == 3 && said[0].contains("overlap"), "{said:?}");
    }
}
