//! Whether magnets hold their charge where they work, in words.
//!
//! In: the working points. Out: a verdict for each magnet, and a sentence for those that do not hold
//! all of theirs. A point below the knee has lost more than a tenth of the remanence for good
//! ([`crate::quantity::working_point`]); at the edges of a magnet the field is singular and a trifle of
//! its volume always lies low, so that the share decides and not the lowest point.

use crate::quantity::Quantities;
use crate::quantity::working_point::WorkingPoint;
use crate::section::{PickupState, Section};

use super::record::Item;
use super::text::number;

/// A share of a magnet below the knee that is more than its edges.
const MORE_THAN_EDGES: f64 = 0.05;
/// A margin to the knee that is little, as a share of the field strength at the knee.
const LITTLE: f64 = 0.1;

/// How a magnet stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// All of it works above the knee, with room.
    Holds,
    /// All of it works above the knee, but not far.
    Barely,
    /// Its edges work below the knee.
    LosesAtEdges,
    /// More of it than its edges works below the knee.
    Loses,
    /// A straight line has no knee.
    Unknown,
}

impl Verdict {
    /// The verdict on a magnet that works there.
    pub fn of(point: &WorkingPoint) -> Self {
        match (point.knee, point.margin()) {
            (Some(_), _) if point.share_below_knee > MORE_THAN_EDGES => Self::Loses,
            (Some(_), _) if point.share_below_knee > 0.0 => Self::LosesAtEdges,
            (Some((knee, _)), Some(margin)) if margin < LITTLE * knee.abs() => Self::Barely,
            (Some(_), _) => Self::Holds,
            (None, _) => Self::Unknown,
        }
    }

    /// The verdict in a few words.
    pub fn word(self) -> &'static str {
        match self {
            Self::Holds => "held",
            Self::Barely => "held, little to spare",
            Self::LosesAtEdges => "lost at its edges",
            Self::Loses => "not held",
            Self::Unknown => "no knee known",
        }
    }
}

/// A sentence for each kind of verdict that calls for one, with the magnets it is about.
pub(super) fn warnings(section: &Section, q: &Quantities) -> Vec<Item> {
    let of = |verdict: Verdict| -> Vec<(&str, &WorkingPoint)> {
        let parts = q.parts.iter().filter_map(|part| {
            let point = part.working_point.as_ref()?;
            (Verdict::of(point) == verdict).then_some((part.name.as_str(), point))
        });
        parts.collect()
    };
    let mut found = Vec::new();
    let lost = of(Verdict::Loses);
    if !lost.is_empty() {
        let (one, it) = (lost.len() == 1, if lost.len() == 1 { "it" } else { "them" });
        let below = range(lost.iter().map(|(_, point)| point.share_below_knee));
        let kept = range(lost.iter().map(|(_, point)| point.charge_kept));
        let so_far = match section.history.first() {
            Some(PickupState::Alone) => "What was lost before assembly is counted.",
            _ if section.history.len() > 1 => "What was lost on the way is counted.",
            _ => "The figures are those of magnets that are charged in the finished pickup.",
        };
        found.push(warning(
            &lost,
            &format!(
                "{} not hold all of {} charge here: {below} % of {it} works below the knee, and \
                 with the load taken away {kept} % of the remanence would come back. {so_far} \
                 Taken out, opened, or brought near a like pole or a steel tool, {} more. Longer \
                 magnets, steel that closes their path, or a grade of higher coercivity help.",
                if one { "does" } else { "do" },
                if one { "its" } else { "their" },
                if one { "it loses" } else { "they lose" },
            ),
        ));
    }
    let edges = of(Verdict::LosesAtEdges);
    if !edges.is_empty() {
        let below = range(edges.iter().map(|(_, point)| point.share_below_knee));
        let text = format!(
            "{} some charge at the edges, where {below} % of the volume works below the knee; the \
             rest holds.",
            if edges.len() == 1 { "loses" } else { "lose" }
        );
        found.push(warning(&edges, &text));
    }
    let barely = of(Verdict::Barely);
    if !barely.is_empty() {
        let margin = barely.iter().filter_map(|(_, point)| point.margin());
        let least = margin.fold(f64::INFINITY, f64::min) * 1e-3;
        let text = format!(
            "{} all charge with little to spare: the most weakened point is {} kA/m from \
             the knee. Makers' coercivities spread more than that; {} take it below.",
            if barely.len() == 1 { "holds" } else { "hold" },
            number(least, 2),
            "heat (with ferrite cold) or a like pole may"
        );
        found.push(warning(&barely, &text));
    }
    found
}

fn warning(magnets: &[(&str, &WorkingPoint)], text: &str) -> Item {
    let names: Vec<&str> = magnets.iter().map(|(name, _)| *name).collect();
    let who = if names.len() == 1 { "Magnet" } else { "Magnets" };
    let names = names.join(", ");
    Item::new(&names).word("text", format!("{who} {names}: {text}"))
}

/// Shares as per cent, from the least to the greatest.
fn range(shares: impl Iterator<Item = f64>) -> String {
    let (low, high) = shares.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), share| {
        (low.min(share), high.max(share))
    });
    let shown = |share: f64| {
        let percent = 100.0 * share;
        if percent < 1.0 { format!("{percent:.1}") } else { format!("{percent:.0}") }
    };
    let (low, high) = (shown(low), shown(high));
    if low == high { low } else { format!("{low} to {high}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point(lowest: f64, share: f64) -> WorkingPoint {
        WorkingPoint {
            field_strength: -20e3,
            flux_density: 0.5,
            lowest_field_strength: lowest,
            permeance: 2.0,
            knee: Some((-50e3, 0.3)),
            share_below_knee: share,
            charge_kept: 1.0,
        }
    }

    #[test]
    fn the_share_decides_and_then_the_margin() {
        for (lowest, share, verdict) in [
            (-20e3, 0.0, Verdict::Holds),
            (-44.9e3, 0.0, Verdict::Holds),
            (-45.1e3, 0.0, Verdict::Barely),
            (-60e3, 0.001, Verdict::LosesAtEdges),
            (-60e3, 0.3, Verdict::Loses),
        ] {
            assert_eq!(Verdict::of(&point(lowest, share)), verdict, "{lowest} {share}");
        }
        let straight = WorkingPoint { knee: None, ..point(-60e3, 0.0) };
        assert_eq!(Verdict::of(&straight), Verdict::Unknown);
    }

    #[test]
    fn shares_are_told_as_a_range() {
        assert_eq!(range([0.866, 0.872, 0.85].into_iter()), "85 to 87");
        assert_eq!(range([0.004].into_iter()), "0.4");
    }
}
