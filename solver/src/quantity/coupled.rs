//! Strings that are coupled in three dimensions: what they tell, and what they add to the rest.
//!
//! In: a section solved without strings and [`Above`] it. Out: a reading for every string that is
//! not meshed but runs in the plane or over a round pole. The field is not solved again, so that a
//! string can be put anywhere within the [`StringRange`] for the price of its own coupling.

use crate::field::Field;
use crate::field::linear_solve::LinearSolveError;
use crate::geometry::{Region, Regions, Source};
use crate::material::Assigned;
use crate::quantity::model::{BodyPull, Quantities, StringModel, StringReading};
use crate::quantity::take::TakeError;
use crate::section::{Section, StringSpec, Symmetry};
use crate::strings::Above;
use crate::units::MU_0;

/// Where coupled strings will be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StringRange {
    /// Lowest height of a string's underside, m: that of its gauge, which a gap is measured to, down to which
    /// a magnetic wrap is magnetised and below which the field must be sampled. Where the wrap is not magnetic
    /// the metal that answers ends higher, at the core; the range then goes farther down than it needs to.
    pub lowest: f64,
    /// Farthest that one stands sideways, bends included, m.
    pub reach: f64,
}

impl StringRange {
    /// Where the coupled strings of `section` are; `None` where it has none.
    pub fn of(section: &Section, regions: &Regions) -> Option<Self> {
        let mut range: Option<Self> = None;
        for (_, spec) in specs(section, regions) {
            let own = Self::of_string(spec);
            range = Some(range.map_or(own, |r| r.and(own)));
        }
        range.filter(|_| regions.sampling_height.is_some())
    }

    /// Where one string is.
    pub fn of_string(spec: &StringSpec) -> Self {
        let reach = spec.bends.iter().fold(spec.offset.abs(), |reach, bend| reach.max(bend.abs()));
        Self { lowest: spec.axis.y - 0.5 * spec.gauge, reach }
    }

    /// Both.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self { lowest: self.lowest.min(other.lowest), reach: self.reach.max(other.reach) }
    }

    /// Whether `other` lies within this one.
    pub fn holds(self, other: Self) -> bool {
        other.lowest >= self.lowest && other.reach <= self.reach
    }
}

/// The strings that are to be coupled, with their index in the section.
fn specs<'a>(
    section: &'a Section,
    regions: &'a Regions,
) -> impl Iterator<Item = (usize, &'a StringSpec)> {
    let meshed = |s: usize| regions.regions.iter().any(|r| r.source == Source::String(s));
    section.strings.iter().enumerate().filter(move |&(s, _)| !meshed(s))
}

/// What strings within `range` meet; `coils` are nodal unknowns per ampere, `[n_coils][n_nodes]`.
/// `None` where the section has no line on which to sample the field for them.
///
/// # Errors
/// A matrix of the poles' reaction could not be factored.
pub fn above(
    regions: &Regions,
    without: &Field,
    coils: &[&[f64]],
    range: StringRange,
) -> Result<Option<Above>, LinearSolveError> {
    let Some(z0) = regions.sampling_height else { return Ok(None) };
    Above::new(regions, without, coils, z0, range.lowest, range.reach).map(Some)
}

/// A reading for every coupled string.
///
/// # Errors
/// [`TakeError::Coupling`] with the string's name.
pub fn readings(
    section: &Section,
    regions: &Regions,
    materials: &Assigned,
    above: &Above,
    without: &Field,
) -> Result<Vec<StringReading>, TakeError> {
    let symmetry = without.mesh().symmetry;
    specs(section, regions)
        .map(|(index, spec)| {
            // About an axis a string to one side of it stands at that radius; in a planar section the
            // field is the same wherever it stands out of the plane.
            let across = match symmetry {
                Symmetry::Planar => spec.axis.x,
                Symmetry::Axisymmetric => spec.axis.x.max(spec.offset.abs()),
            };
            let h = above.upper.eval([across, 0.0, spec.axis.y]).h;
            let coupled = above
                .string(spec, &materials.strings[index])
                .map_err(|source| TakeError::Coupling { name: spec.name.clone(), source })?;
            let middle = coupled.x.len() / 2;
            let [bx, _, bz] = coupled.flux_density[middle];
            Ok(StringReading {
                name: spec.name.clone(),
                model: StringModel::Coupled,
                axis: spec.axis,
                gauge: spec.gauge,
                gap: spec.gap,
                flux_density_without: [MU_0 * h[0], MU_0 * h[2]],
                wrap_is_meshed: false,
                flux_density: [bx, bz],
                largest: coupled.greatest_flux_density,
                pull: [coupled.pull[1], coupled.pull[2]],
                pull_gradient: coupled.pull_gradient,
                linkage_change: coupled.coils.iter().map(|coil| coil.change).collect(),
                coupled: Some(coupled),
            })
        })
        .collect()
}

/// Adds coupled strings and what they do to the rest: they add to the linkages, and pull back on
/// the body whose face they stand over. Figures of a planar section are per metre: where the section has
/// a depth the strings' newtons and webers are spread over it, so that totals are those of the whole;
/// where it has none there is nothing to lay them on, and they are left to the strings' own table.
pub fn add(
    section: &Section,
    regions: &Regions,
    quantities: &mut Quantities,
    strings: Vec<StringReading>,
) {
    let length = match section.symmetry {
        Symmetry::Axisymmetric => Some(1.0),
        Symmetry::Planar => section.depth,
    };
    if let Some(length) = length {
        for string in &strings {
            let Some(coupled) = &string.coupled else { continue };
            for (coil, own) in quantities.coils.iter_mut().zip(&coupled.coils) {
                coil.linkage += own.rise / length;
            }
            // In the section's plane.
            let pull = match section.symmetry {
                Symmetry::Axisymmetric => string.pull,
                Symmetry::Planar => [coupled.pull[0] / length, coupled.pull[2] / length],
            };
            let below = below(section, regions, &string.name);
            let body = below.and_then(|name| {
                quantities.pulls.iter_mut().find(|pull| pull.members.contains(name))
            });
            if let Some(body) = body {
                if section.symmetry == Symmetry::Planar {
                    body.pull[0] -= pull[0];
                }
                body.pull[1] -= pull[1];
            }
            quantities.pulls.push(BodyPull { members: vec![string.name.clone()], pull });
        }
    }
    quantities.strings.extend(strings);
}

/// The part that the string so called is over; where it names none, the one that reaches highest.
fn below<'a>(section: &Section, regions: &'a Regions, string: &str) -> Option<&'a String> {
    let over = section.strings.iter().find(|s| s.name == string).and_then(|s| s.over);
    let mut parts = regions.regions.iter().filter_map(|region| match region.source {
        Source::Part(part) => Some((part, region)),
        _ => None,
    });
    let top = |region: &Region| {
        region.outline.as_ref().map_or(f64::NEG_INFINITY, |outline| outline.bounding_box().1.y)
    };
    let found = match over {
        Some(own) => parts.find(|(part, _)| *part == own),
        None => parts.max_by(|(_, a), (_, b)| top(a).total_cmp(&top(b))),
    };
    found.map(|(_, region)| &region.name)
}

#[cfg(test)]
#[expect(clippy::expect_used, reason = "tests")]
mod tests {
    use crate::material::Library;
    use crate::pipeline::{fields, prepare, read};

    /// Strings that stand out of the plane of a planar section have the field over the blade, which is that
    /// at the same height in the plane.
    #[test]
    fn the_field_at_a_string_out_of_the_plane_is_that_in_it() {
        let text = include_str!("../../../meshes/blade-six-strings.toml");
        let prepared = prepare(text, &Library::built_in()).expect("no mistakes");
        let fields = fields(&prepared).expect("solves");
        let quantities = read(&prepared, &fields).expect("numbers");
        for string in &quantities.strings {
            let (triangle, [xi, eta]) =
                crate::mesh::Locator::new(&fields.mesh).locate(string.axis).expect("in the mesh");
            let [_, up] = fields.without.flux_density(triangle, xi, eta);
            // A triangle of second order has its flux density to the first: some half per cent here.
            assert!((string.flux_density_without[1] / up - 1.0).abs() < 0.01, "{string:?}");
        }
    }
}
