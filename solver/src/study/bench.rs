//! A section solved once, over which strings are put wherever they are asked for.
//!
//! A string that is coupled in three dimensions changes nothing in the field it is coupled to, so a
//! section whose strings alone move is solved once. The field is sampled below the lowest place at
//! which a string will be; the rest is the price of the coupling itself.

use crate::geometry::Regions;
use crate::material::{Assigned, Library};
use crate::pipeline::{Fields, Prepared, SolveError, fields, prepare_parsed};
use crate::quantity::coupled::{StringRange, add, readings};
use crate::quantity::{Bare, Quantities, TakeError, take_bare};
use crate::section::{Parsed, Section, StringRun, StringSpec, Symmetry};
use crate::strings::{Above, CoupledString, CouplingError};

/// A solved section without strings.
#[derive(Clone, Debug)]
pub struct StringBench {
    prepared: Prepared,
    fields: Fields,
    bare: Quantities,
    above: Above,
    range: StringRange,
}

/// Why strings cannot be put over a section.
#[derive(Clone, Debug, thiserror::Error)]
pub enum BenchError {
    /// The section cannot be solved.
    #[error(transparent)]
    Section(#[from] SolveError),
    /// Its strings are not coupled in three dimensions.
    #[error(
        "the strings pass through the plane of this section, which shows their pull and flux per \
         metre only: use a section turned about the axis of a pole, or one with the strings in its \
         plane"
    )]
    NotCoupled,
    /// They are over a row of poles.
    #[error(
        "the strings are over a row of poles, which `solve`, `vary` and `compare` take whole: for this, \
         leave out [row] and take one pole by itself"
    )]
    Row,
    /// It has no strings.
    #[error("the section has no strings")]
    NoStrings,
}

impl StringBench {
    /// Solves `section`, whose strings will be within `range`.
    ///
    /// # Errors
    /// The section cannot be solved or its strings are not coupled.
    pub fn new(
        section: &Section,
        range: StringRange,
        library: &Library,
    ) -> Result<Self, BenchError> {
        if section.strings.is_empty() {
            return Err(BenchError::NoStrings);
        }
        if section.row.is_some() {
            return Err(BenchError::Row);
        }
        if section.symmetry == Symmetry::Planar && section.string_run == StringRun::Through {
            return Err(BenchError::NotCoupled);
        }
        let lowered = Parsed { section: lowered(section, range), problems: Vec::new() };
        let prepared = prepare_parsed(lowered, library)?;
        let own = StringRange::of(&prepared.section, &prepared.regions);
        let Some(range) = own.map(|own| own.and(range)) else {
            return Err(BenchError::NotCoupled);
        };
        let fields = fields(&prepared)?;
        let Bare { quantities: bare, above } = take_bare(
            &prepared.section,
            &prepared.regions,
            &fields.without,
            fields.with.as_ref(),
            Some(range),
        )
        .map_err(SolveError::from)?;
        match above {
            Some(above) => Ok(Self { prepared, fields, bare, above, range }),
            None => Err(BenchError::NotCoupled),
        }
    }

    /// The section as it was prepared; its strings may stand lower than in the file.
    pub fn prepared(&self) -> &Prepared {
        &self.prepared
    }

    /// Its fields.
    pub fn fields(&self) -> &Fields {
        &self.fields
    }

    /// Where strings may be put.
    pub fn range(&self) -> StringRange {
        self.range
    }

    /// The section as it was solved; its strings may stand lower than in the file.
    pub fn section(&self) -> &Section {
        &self.prepared.section
    }

    /// Its regions.
    pub fn regions(&self) -> &Regions {
        &self.prepared.regions
    }

    /// Inductance of coil number `coil` with the poles in place, H; `None` where the section gives it
    /// per metre only.
    pub fn inductance(&self, coil: usize) -> Option<f64> {
        let own = self.bare.coils.get(coil)?.inductance;
        match self.bare.symmetry {
            Symmetry::Axisymmetric => Some(own),
            Symmetry::Planar => self.bare.depth.map(|depth| own * depth),
        }
    }

    /// Couples the string `spec`, the section's string number `index`, wherever `spec` puts it.
    ///
    /// # Errors
    /// As [`crate::strings::couple`].
    pub fn couple(&self, index: usize, spec: &StringSpec) -> Result<CoupledString, CouplingError> {
        self.above.string(spec, &self.prepared.materials.strings[index])
    }

    /// Every quantity of `section`, which differs from the bench's in its strings alone.
    ///
    /// # Errors
    /// A string could not be coupled.
    pub fn quantities(
        &self,
        section: &Section,
        materials: &Assigned,
    ) -> Result<Quantities, TakeError> {
        let regions = &self.prepared.regions;
        let strings = readings(section, regions, materials, &self.above, &self.fields.without)?;
        let mut quantities = self.bare.clone();
        add(section, regions, &mut quantities, strings);
        Ok(quantities)
    }
}

/// `section` with one string as low as the lowest place of `range`, so that the field is sampled
/// below that: the one with the thinnest wrap, which comes no closer to the pole than whichever string
/// the lowest place is that of.
fn lowered(section: &Section, range: StringRange) -> Section {
    let mut section = section.clone();
    let own = section.strings.iter().map(StringRange::of_string).reduce(StringRange::and);
    let wrap = |s: &StringSpec| s.gauge - s.core_diameter;
    let thinnest = section.strings.iter_mut().min_by(|a, b| wrap(a).total_cmp(&wrap(b)));
    if let (Some(own), Some(string)) = (own, thinnest)
        && range.lowest < own.lowest
    {
        let down = StringRange::of_string(string).lowest - range.lowest;
        string.axis.y -= down;
        string.gap = string.gap.map(|gap| gap - down);
    }
    section
}

/// Whether two sections differ in nothing but their strings (and where in the file things stand).
pub fn same_but_for_strings(one: &Section, other: &Section) -> bool {
    without_strings(one) == without_strings(other)
}

/// Everything about a section but its strings, as text: new fields take part by themselves.
fn without_strings(section: &Section) -> String {
    let mut section = section.clone();
    section.strings.clear();
    for part in &mut section.parts {
        part.span = 0..0;
        part.material.span = 0..0;
        part.passes_through.iter_mut().for_each(|name| name.span = 0..0);
    }
    for coil in &mut section.coils {
        coil.span = 0..0;
        coil.windows.iter_mut().for_each(|window| window.span = 0..0);
    }
    section.probes.iter_mut().for_each(|probe| probe.span = 0..0);
    section.materials.iter_mut().for_each(|material| material.span = 0..0);
    format!("{section:?}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pipeline::{prepare, solve};
    use crate::section::parse;

    /// A rod with a coarse mesh.
    const TEXT: &str = "format = 1
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
[[string]]
name = \"G3\"
gauge = \"0.43 mm\"
over = \"rod\"
gap = \"2 mm\"
";

    /// Strings put over the bench are what a solve of their own gives, but for the meshes, which
    /// differ along the sampled line: both are good to some 1e-3 at this mesh scale.
    #[test]
    fn a_string_on_the_bench_is_as_in_a_section_of_its_own() {
        let library = Library::built_in();
        let section = parse(TEXT).section;
        let low = StringRange { lowest: 1e-3, reach: 1e-3 };
        let bench = StringBench::new(&section, low, &library).expect("solves");
        assert!(bench.range().holds(low));
        for gap in ["1.2 mm", "2 mm", "4 mm"] {
            let text = TEXT.replace("\"2 mm\"", &format!("\"{gap}\""));
            let own = prepare(&text, &library).expect("no mistakes");
            assert!(same_but_for_strings(&own.section, bench.section()));
            let moved = bench.quantities(&own.section, &own.materials).expect("couples");
            let own = solve(&own).expect("solves").quantities;
            let off = |a: f64, b: f64| (a / b - 1.0).abs();
            let (a, b) = (&moved.strings[0], &own.strings[0]);
            assert!(off(a.pull[1], b.pull[1]) < 3e-3, "{gap}: {:?} {:?}", a.pull, b.pull);
            assert!(off(a.linkage_change[0][1], b.linkage_change[0][1]) < 3e-3, "{gap}");
            assert!(off(moved.coils[0].linkage, own.coils[0].linkage) < 1e-3, "{gap}");
            assert_eq!(moved.pulls.len(), own.pulls.len());
        }
    }

    #[test]
    fn sections_that_differ_elsewhere_are_told_apart() {
        let section = |from: &str, to: &str| parse(&TEXT.replace(from, to)).section;
        let base = section("", "");
        let pushed = section("gap = \"2 mm\"", "gap = \"3 mm\"\noffset = \"1 mm\"");
        assert!(same_but_for_strings(&base, &pushed));
        assert!(same_but_for_strings(&base, &section("format = 1", "# why\nformat = 1")));
        for (from, to) in [
            ("4.8 mm", "4.9 mm"),
            ("alnico 5", "alnico 2"),
            ("7000", "7001"),
            ("format = 1", "format = 1\ntemperature_C = 30"),
        ] {
            assert!(!same_but_for_strings(&base, &section(from, to)), "{to}");
        }
    }

    #[test]
    fn strings_through_the_plane_are_refused() {
        let text = TEXT
            .replace(
                "symmetry = \"axisymmetric\"",
                "symmetry = \"planar\"\nstrings_run = \"through\"",
            )
            .replace("window = {", "window = { mirror = \"0 mm\", ");
        let section = parse(&text).section;
        let range = StringRange { lowest: 1e-3, reach: 0.0 };
        let refused = StringBench::new(&section, range, &Library::built_in());
        assert!(matches!(refused, Err(BenchError::NotCoupled)), "{:?}", refused.err());
    }
}
