//! A section solved once, over which strings are put wherever they are asked for.
//!
//! A string that is coupled in three dimensions changes nothing in the field it is coupled to, so a
//! section whose strings alone move is solved once. The field is sampled below the lowest place at
//! which a string will be; the rest is the price of the coupling itself. Over a row of poles that holds
//! for the row as it stands; it can be put together anew with its poles at other heights, from the same
//! solve of one pole.

use crate::geometry::Regions;
use crate::material::{Assigned, Library};
use crate::pipeline::{Fields, Prepared, SolveError, fields, prepare_parsed};
use crate::quantity::coupled::{StringRange, add, readings};
use crate::quantity::row::{add_over, over_its_pole};
use crate::quantity::{Bare, Quantities, TakeError, take_bare};
use crate::section::{Parsed, Row, Section, StringRun, StringSpec, Symmetry};
use crate::strings::{Above, CoupledString, CouplingError, RowAbove};

/// A solved section without strings.
#[derive(Clone, Debug)]
pub struct StringBench {
    prepared: Prepared,
    fields: Fields,
    bare: Quantities,
    over: Over,
    range: StringRange,
}

/// What strings are over.
#[derive(Clone, Debug)]
enum Over {
    /// The section as it is drawn.
    Section(Box<Above>),
    /// Its pole in a row.
    Row(Row, RowAbove),
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
    /// It has no strings.
    #[error("the section has no strings")]
    NoStrings,
}

impl StringBench {
    /// Solves `section`, whose strings will be within `range` as their own poles see them ([`range_of`]).
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
        if section.symmetry == Symmetry::Planar && section.string_run == StringRun::Through {
            return Err(BenchError::NotCoupled);
        }
        let lowered = Parsed { section: lowered(section, range), problems: Vec::new() };
        let prepared = prepare_parsed(lowered, library)?;
        let Prepared { section, regions, .. } = &prepared;
        let own = StringRange::of(section, regions);
        let Some(range) = own.map(|own| own.and(range)) else {
            return Err(BenchError::NotCoupled);
        };
        let fields = fields(&prepared)?;
        let (without, with) = (&fields.without, fields.with.as_ref());
        let lone = section.row.is_none().then_some(range);
        let Bare { quantities: bare, above } =
            take_bare(section, regions, without, with, lone).map_err(SolveError::from)?;
        let over = match &section.row {
            None => above.map(|above| Over::Section(Box::new(above))),
            Some(row) => {
                let above = RowAbove::new(section, regions, without, range.lowest, range.reach);
                above.map_err(SolveError::from)?.map(|above| Over::Row(row.clone(), above))
            }
        };
        match over {
            Some(over) => Ok(Self { prepared, fields, bare, over, range }),
            None => Err(BenchError::NotCoupled),
        }
    }

    /// The same bench with the poles of its row at `heights` (m, `[count]`) instead, their answers to each
    /// other and to the coils worked out anew. `None` where there is no row.
    ///
    /// # Errors
    /// A pole in the field of its neighbours could not be solved.
    pub fn with_heights(&self, heights: &[f64]) -> Result<Option<Self>, BenchError> {
        let Over::Row(row, _) = &self.over else { return Ok(None) };
        let row = Row { heights: heights.to_vec(), ..row.clone() };
        let mut other = self.clone();
        other.prepared.section.row = Some(row.clone());
        let Prepared { section, regions, .. } = &other.prepared;
        let StringRange { lowest, reach } = self.range;
        let above = RowAbove::new(section, regions, &self.fields.without, lowest, reach);
        let Some(above) = above.map_err(SolveError::from)? else { return Ok(None) };
        other.over = Over::Row(row, above);
        Ok(Some(other))
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
        if let Over::Row(_, above) = &self.over {
            let own = above.coils.get(coil)?;
            return Some(own.air_inductance + own.added_inductance).filter(|l| l.is_finite());
        }
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
        match &self.over {
            Over::Section(_) => self.couple_as_seen(index, spec),
            Over::Row(row, _) => self.couple_as_seen(index, &over_its_pole(row, spec)),
        }
    }

    /// Rise of each coil's linkage when the string `spec`, number `index`, is brought in, Wb-turns.
    ///
    /// # Errors
    /// As [`crate::strings::linkage_rises`].
    pub fn linkage_rises(
        &self,
        index: usize,
        spec: &StringSpec,
    ) -> Result<Vec<f64>, CouplingError> {
        let material = &self.prepared.materials.strings[index];
        match &self.over {
            Over::Section(above) => above.linkage_rises(spec, material),
            Over::Row(row, above) => above.poles[spec.pole.unwrap_or(0)]
                .linkage_rises(&over_its_pole(row, spec), material),
        }
    }

    /// As [`Self::couple`], where `spec` is the string as its own pole sees it.
    ///
    /// # Errors
    /// As [`Self::couple`].
    pub fn couple_as_seen(
        &self,
        index: usize,
        spec: &StringSpec,
    ) -> Result<CoupledString, CouplingError> {
        let material = &self.prepared.materials.strings[index];
        match &self.over {
            Over::Section(above) => above.string(spec, material),
            Over::Row(_, above) => above.poles[spec.pole.unwrap_or(0)].string(spec, material),
        }
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
        let mut quantities = self.bare.clone();
        match &self.over {
            Over::Section(above) => {
                let without = &self.fields.without;
                let strings = readings(section, regions, materials, above, without)?;
                add(section, regions, &mut quantities, strings);
            }
            Over::Row(row, above) => add_over(section, row, materials, above, &mut quantities)?,
        }
        Ok(quantities)
    }
}

/// `section` with its first string as low as the lowest place of `range`, so that the field is sampled below
/// that.
fn lowered(section: &Section, range: StringRange) -> Section {
    let mut section = section.clone();
    let own = section.strings.iter().map(StringRange::of_string).reduce(StringRange::and);
    if let (Some(own), Some(string)) = (own, section.strings.first_mut())
        && range.lowest < own.lowest
    {
        let down = StringRange::of_string(string).lowest - range.lowest;
        string.axis.y -= down;
        string.gap = string.gap.map(|gap| gap - down);
    }
    section
}

/// Where the string `spec` of `section` is, as its own pole sees it.
pub fn range_of(section: &Section, spec: &StringSpec) -> StringRange {
    match &section.row {
        Some(row) => StringRange::of_string(&over_its_pole(row, spec)),
        None => StringRange::of_string(spec),
    }
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
    use crate::strings::{StringBody, couple};
    use crate::study::sample::{row_under, string, string_over, under};

    fn text() -> String {
        under(&[string("G3", "0.43 mm", "2 mm")])
    }

    /// Segments a quarter as long change nothing by a thousandth, over a blade and over a row, be the string
    /// thick or thin.
    #[test]
    fn finer_segments_change_nothing() {
        for text in [
            include_str!("../../../meshes/blade-six-strings.toml"),
            include_str!("../../../meshes/six-rods-row.toml"),
        ] {
            let coarse = text.replacen("format = 1", "format = 1\nmesh_scale = 4", 1);
            let section = prepare(&coarse, &Library::built_in()).expect("no mistakes").section;
            let range = |spec: &StringSpec| range_of(&section, spec);
            let all = section.strings.iter().map(range).reduce(StringRange::and).expect("strings");
            let bench = StringBench::new(&section, all, &Library::built_in()).expect("solves");
            for index in [0, section.strings.len() - 1] {
                let spec = &section.strings[index];
                let (above, spec) = match &bench.over {
                    Over::Section(above) => (&**above, spec.clone()),
                    Over::Row(row, above) => {
                        (&above.poles[spec.pole.expect("a pole")], over_its_pole(row, spec))
                    }
                };
                let material = &bench.prepared.materials.strings[index];
                let (body, at) = above.placed(&spec, material).expect("a body");
                let finer = body.segments.refined().refined();
                let fine = StringBody::new(body.radius, finer, body.law.clone()).expect("a body");
                let [own, fine] = [&body, &fine].map(|body| {
                    couple(&above.upper, &above.coils, Some(&above.reaction), body, at)
                        .expect("couples")
                });
                let alike = |a: f64, b: f64| (a / b - 1.0).abs() < 1e-3;
                assert!(alike(own.pull[2], fine.pull[2]), "{:?} {:?}", own.pull, fine.pull);
                let [own, fine] = [own, fine].map(|coupled| coupled.coils[0].clone());
                assert!(alike(own.rise, fine.rise), "{} {}", own.rise, fine.rise);
                assert!(alike(own.change[1], fine.change[1]), "{:?} {:?}", own.change, fine.change);
            }
        }
    }

    /// Strings put over the bench are what a solve of their own gives, but for the meshes, which
    /// differ along the sampled line: both are good to some 1e-3 at this mesh scale.
    #[test]
    fn a_string_on_the_bench_is_as_in_a_section_of_its_own() {
        let library = Library::built_in();
        let section = parse(&text()).section;
        let low = StringRange { lowest: 1e-3, reach: 1e-3 };
        let bench = StringBench::new(&section, low, &library).expect("solves");
        assert!(bench.range().holds(low));
        for gap in ["1.2 mm", "2 mm", "4 mm"] {
            let text = text().replace("\"2 mm\"", &format!("\"{gap}\""));
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

    /// The field is sampled below the whole of a wound string, also where a plain one stands beside it that has
    /// its own underside higher.
    #[test]
    fn a_wound_string_stays_above_the_line_where_the_field_is_sampled() {
        let wound = |gap: &str| {
            let keys = "core_diameter = \"0.4 mm\"\nwrap = \"nickel wrap\"\n";
            string("E2", "1.2 mm", gap) + keys
        };
        let section = |gap| {
            let strings = [string("E4", "0.25 mm", "2 mm"), wound(gap)];
            prepare(&under(&strings), &Library::built_in()).expect("no mistakes").section
        };
        let low = section("0.15 mm");
        let range = range_of(&low, &low.strings[1]);
        let bench =
            StringBench::new(&section("2 mm"), range, &Library::built_in()).expect("solves");
        let Over::Section(above) = &bench.over else { panic!("no row") };
        let underside = low.strings[1].axis.y - 0.5 * low.strings[1].gauge;
        let metal = underside - 0.15e-3;
        // The line runs 0.35 of the way up to the lowest string; rounding.
        let line = above.sampling.z0 - metal;
        assert!((line / 0.35 / 0.15e-3 - 1.0).abs() < 1e-9, "the line is {line:e} over the metal");
    }

    const STAGGER: [f64; 3] = [0.6e-3, 0.0, 0.3e-3];

    /// Three rods and a string over the second.
    fn row_text(stagger: [f64; 3], gap: f64) -> String {
        let [a, b, c] = stagger.map(|h| h * 1e3);
        let keys =
            format!("count = 3\npitch = \"10 mm\"\nstagger = [\"{a} mm\", \"{b} mm\", \"{c} mm\"]");
        let string = string_over(2, "G3", "0.43 mm", &format!("{gap} mm"));
        row_under(&keys, &[string])
    }

    fn row(stagger: [f64; 3], gap: f64) -> Prepared {
        prepare(&row_text(stagger, gap), &Library::built_in()).expect("no mistakes")
    }

    /// Ready for gaps of `closest` (m) and more.
    fn bench_of(section: &Section, closest: f64) -> StringBench {
        let range = range_of(section, &moved(section, closest - 2e-3));
        StringBench::new(section, range, &Library::built_in()).expect("solves")
    }

    /// The string, with its gap larger by so much.
    fn moved(section: &Section, up: f64) -> StringSpec {
        let mut spec = section.strings[0].clone();
        spec.axis.y += up;
        spec
    }

    fn assert_alike(a: &Quantities, b: &Quantities) {
        let off = |a: f64, b: f64| (a / b - 1.0).abs();
        let [s, t] = [a, b].map(|q| &q.strings[0]);
        // Meshes that differ along the sampled line, each good to some 2e-3 at this mesh scale.
        assert!(off(s.pull[1], t.pull[1]) < 5e-3, "{:?} {:?}", s.pull, t.pull);
        assert!(off(s.linkage_change[0][1], t.linkage_change[0][1]) < 5e-3);
        let [c, d] = [a, b].map(|q| &q.coils[0]);
        assert!(off(c.linkage, d.linkage) < 5e-3, "{c:?} {d:?}");
        assert!(off(c.inductance, d.inductance) < 5e-3, "{c:?} {d:?}");
        assert_eq!(a.pulls.len(), b.pulls.len());
    }

    #[test]
    fn a_string_over_a_row_on_the_bench_is_as_in_a_section_of_its_own() {
        let bench = bench_of(&row(STAGGER, 2.0).section, 1e-3);
        for gap in [1.2, 4.0] {
            let own = row(STAGGER, gap);
            assert!(same_but_for_strings(&own.section, bench.section()));
            let moved = bench.quantities(&own.section, &own.materials).expect("couples");
            let own = solve(&own).expect("solves").quantities;
            assert_alike(&moved, &own);
            let inductance = bench.inductance(0).expect("one window");
            assert!((inductance / own.coils[0].inductance - 1.0).abs() < 5e-3);
        }
        // Poles at other heights.
        let other = [0.1e-3, 0.5e-3, 0.3e-3];
        let raised = bench.with_heights(&other).expect("works").expect("a row");
        let own = row(other, 1.5);
        let moved = raised.quantities(&own.section, &own.materials).expect("couples");
        assert_alike(&moved, &solve(&own).expect("solves").quantities);
        let text = under(&[string("G3", "0.43 mm", "2 mm")]);
        let alone = parse(&text).section;
        let range = range_of(&alone, &alone.strings[0]);
        let alone = StringBench::new(&alone, range, &Library::built_in()).expect("solves");
        assert!(alone.with_heights(&other).expect("works").is_none());
    }

    /// Below the height down to which the waves of the highest pole hold, 0.4 mm over it and 1 mm over the
    /// string's own, pull goes on as its gradient says, and nearly as if the poles were even.
    #[test]
    fn a_string_may_come_lower_than_the_highest_pole() {
        // On a mesh of its own: twice as coarse, that adds 3e-3 to what the segments do.
        let text = row_text(STAGGER, 2.0).replace("mesh_scale = 2", "mesh_scale = 1");
        let section = parse(&text).section;
        let bench = bench_of(&section, 0.4e-3);
        let even = bench.with_heights(&[0.0; 3]).expect("works").expect("a row");
        let at = |gap: f64| {
            let spec =
                over_its_pole(section.row.as_ref().expect("a row"), &moved(&section, gap - 2e-3));
            let [own, even] = [&bench, &even].map(|b| b.couple_as_seen(0, &spec).expect("couples"));
            // Neighbours 0.3 and 0.6 mm higher, 10 mm away: they lay a tenth of the field on the string,
            // which changes by a tenth.
            let off = own.pull[2] / even.pull[2] - 1.0;
            assert!(off.abs() < 0.03, "{gap}: {off}");
            (own.pull[2], own.pull_gradient[1][1])
        };
        // Simpson's rule: four steps of 0.15 mm.
        let [a, b, c, d, e] = [0.5e-3, 0.65e-3, 0.8e-3, 0.95e-3, 1.1e-3].map(at);
        let risen = 0.05e-3 * (a.1 + 4.0 * b.1 + 2.0 * c.1 + 4.0 * d.1 + e.1);
        // The segments of the string change with its gap, and pull with them by up to a thousandth: of a
        // difference of a third of it three times as much at either end.
        assert!((risen / (e.0 - a.0) - 1.0).abs() < 6e-3, "{risen} {a:?} {e:?}");
    }

    #[test]
    fn sections_that_differ_elsewhere_are_told_apart() {
        let section = |from: &str, to: &str| parse(&text().replace(from, to)).section;
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
        let text = text()
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
