//! What `solve` reports: strings, coils, parts, forces and probes, and what they cannot tell.
//!
//! `across` is to the right in the section (away from the axis where it is turned about one) and
//! `up` from the magnets towards the strings; a pull that draws a string to a pole is negative.
//! Extensive figures are of the whole where the section gives them (turned about an axis, or a
//! planar one with a depth), else per metre of depth; the unit says which.

use std::io::{self, Write};

use crate::field::SolveInfo;
use crate::quantity::{
    BendReading, BodyPull, CoilReading, PartReading, Quantities, RowReading, StringModel,
    StringReading,
};
use crate::section::{Section, Symmetry};

use super::charge::{Verdict, warnings};
use super::check::model;
use super::columns::{OUTPUT, PULL, WORKING_POINT};
use super::layout::{
    Column, Layout, write_head, write_limits, write_numbers, write_table, write_warnings,
};
use super::limits::limits;
use super::record::{Group, Item, Report};
use super::unit::{
    DB, H, H_PER_M, J_PER_M, KA_PER_M, KOHM, MJ, MM, MN, MN_PER_MM, MT, MWB, MWB_PER_MM_PER_M,
    N_PER_M, N_PER_M_PER_MM, ONE, PERCENT, T, UWB, UWB_PER_MM, UWB_PER_MM_OF_TRAVEL, UWB_PER_MM2,
    Unit, WB_PER_M,
};

/// Most samples of one probe line in the text form.
const SAMPLES_SHOWN: usize = 5;

const STRINGS: Layout = Layout {
    title: "Strings",
    group: "strings",
    columns: &[
        Column::Word("name", "string"),
        Column::Number("pole", "pole", 2),
        Column::Number("gauge", "gauge", 3),
        Column::Number("gap", "gap", 3),
        Column::Number("flux_density_without_up", "field up,\nno string", 4),
        Column::Number("largest_flux_density", "largest\nin it", 3),
        Column::Several(&PULL),
        Column::Number("pull_up_change_up", "pull\nchange", 3),
        Column::Several(&OUTPUT),
    ],
};

const LINKAGE_CHANGES: Layout = Layout {
    title: "Flux change of each coil per millimetre of string travel",
    group: "linkage_changes",
    columns: &[
        Column::Word("name", "string"),
        Column::Word("coil", "coil"),
        Column::Number("linkage_change_up", "up", 4),
        Column::Number("linkage_change_across", "across", 4),
        Column::Number("linkage_second_change_up", "its change\nup", 3),
    ],
};

const BENDS: Layout = Layout {
    title: "Strings pushed sideways; their level against where they stand at rest",
    group: "bends",
    columns: &[
        Column::Word("name", "string"),
        Column::Number("offset", "offset", 3),
        Column::Several(&PULL),
        Column::Several(&OUTPUT),
    ],
};

const APERTURES: Layout = Layout {
    title: "Where along each string its signal comes from (width at half height), and how it bends",
    group: "apertures",
    columns: &[
        Column::Word("name", "string"),
        Column::Word("coil", "coil"),
        Column::Number("linkage_rise", "flux rise when\nstring comes in", 4),
        Column::Number("linkage_second_change_up_up", "second\nchange up", 3),
        Column::Number("linkage_second_change_across_across", "second change\nacross", 3),
        Column::Number("aperture_up", "width,\nup", 3),
        Column::Number("aperture_middle_up", "middle,\nup", 3),
        Column::Number("aperture_across", "width,\nacross", 3),
    ],
};

const COILS: Layout = Layout {
    title: "Coils",
    group: "coils",
    columns: &[
        Column::Word("name", "coil"),
        Column::Number("turns", "turns", 5),
        Column::Number("linkage", "linkage", 5),
        Column::Number("linkage_without", "linkage,\nno strings", 5),
        Column::Number("inductance", "inductance", 4),
        Column::Number("resistance", "resistance", 3),
    ],
};

const PARTS: Layout = Layout {
    title: "Parts",
    group: "parts",
    columns: &[
        Column::Word("name", "part"),
        Column::Word("role", "role"),
        Column::Number("flux_density_up", "mean field\nup", 4),
        Column::Number("flux_density_across", "across", 4),
        Column::Number("largest_flux_density", "largest", 4),
        Column::Number("flux_up", "flux\nup", 4),
    ],
};

const MAGNETS: Layout = Layout {
    title: "Magnets: where on their demagnetisation curve they work, and whether they hold their charge",
    group: "magnets",
    columns: &[
        Column::Word("name", "magnet"),
        Column::Word("material", "grade"),
        Column::Several(&WORKING_POINT),
        Column::Word("charge", "charge is"),
    ],
};

const FORCES: Layout = Layout {
    title: "Forces on what moves as one",
    group: "forces",
    columns: &[
        Column::Word("name", "body"),
        Column::Number("pull_up", "up", 4),
        Column::Number("pull_across", "across", 4),
    ],
};

const PROBES: Layout = Layout {
    title: "Probes (of a line, some samples; the option --probes writes all)",
    group: "probes",
    columns: &[
        Column::Word("name", "probe"),
        Column::Number("sample", "sample", 9),
        Column::Number("x", "across", 4),
        Column::Number("y", "up", 4),
        Column::Number("flux_density_without_up", "field up,\nno strings", 4),
        Column::Number("flux_density_without_across", "across,\nno strings", 4),
        Column::Number("flux_density_up", "field up,\nstrings in", 4),
        Column::Number("flux_density_across", "across,\nstrings in", 4),
    ],
};

const MESHES: Layout = Layout {
    title: "Meshes on the way, coarsest first, and the largest error of a leading number on each",
    group: "meshes",
    columns: &[
        Column::Word("name", "mesh"),
        Column::Number("unknowns", "unknowns", 9),
        Column::Number("largest_error", "largest\nerror", 2),
    ],
};

/// The report on a solved section.
pub fn report(section: &Section, quantities: &Quantities) -> Report {
    let q = quantities;
    let per = Per::of(q);
    let steps = |info: &SolveInfo| info.iterations() as f64;
    let last = q.solve_with.as_ref().unwrap_or(&q.solve_without);
    let head = Item::default()
        .number("depth", MM, q.depth)
        .extensive("energy", per, MJ, J_PER_M, q.energy)
        .number("unknowns", ONE, last.unknowns as f64)
        .number("factorisations", ONE, steps(&q.solve_without))
        .number("factorisations_with_strings", ONE, q.solve_with.as_ref().map(steps))
        .number("relative_residual", ONE, last.residual());
    let mut report = Report {
        words: vec![("title", section.title.clone()), ("model", model(section))],
        numbers: head.numbers,
        groups: vec![
            Group { key: "strings", items: strings(section, q) },
            Group { key: "linkage_changes", items: linkage_changes(q) },
            Group { key: "apertures", items: apertures(q) },
            Group { key: "coils", items: coils(q, per) },
            Group { key: "parts", items: parts(section, q, per) },
            Group { key: "warnings", items: warnings(section, q) },
            Group { key: "forces", items: forces(section, q, per) },
            Group { key: "probes", items: probes(q) },
        ],
        limits: limits(section, q),
    };
    if let Some(row) = &q.row {
        report.groups.insert(2, Group { key: "bends", items: bends(row) });
        report.groups.insert(3, Group { key: "poles", items: poles(section, row) });
    }
    report
}

/// The report's tables, and the report as they show it.
pub fn tables(report: &Report) -> (Report, [Layout; 10]) {
    (
        shown(report),
        [STRINGS, LINKAGE_CHANGES, APERTURES, BENDS, COILS, PARTS, MAGNETS, FORCES, PROBES, MESHES],
    )
}

/// How many of the tables stand before the warnings.
const BEFORE_WARNINGS: usize = 7;

/// The report without what stands elsewhere or is too long for a table.
fn shown(report: &Report) -> Report {
    let mut shown = report.clone();
    let one_coil = report.items("coils").len() == 1;
    for group in &mut shown.groups {
        match group.key {
            // With one coil its flux change stands beside the pull.
            "strings" if one_coil => {
                for (item, change) in group.items.iter_mut().zip(report.items("linkage_changes")) {
                    item.numbers.extend_from_slice(&change.numbers);
                }
            }
            "linkage_changes" if one_coil => group.items.clear(),
            // The strings have a table of their own; on a coil without current acts nothing.
            "forces" => group.items.retain(|force| force.get_word("kind") == "parts"),
            "probes" => group.items = thinned(&group.items),
            _ => {}
        }
    }
    let magnets = |part: &&Item| part.get("working_field_strength").is_some();
    let magnets: Vec<Item> = report.items("parts").iter().filter(magnets).cloned().collect();
    shown.groups.push(Group { key: "magnets", items: magnets });
    shown
}

/// The report as a person reads it.
pub fn text(report: &Report) -> String {
    let (shown, tables) = tables(report);
    let mut out = String::new();
    write_head(&shown, &mut out);
    let (before, after) = tables.split_at(BEFORE_WARNINGS);
    for table in before {
        write_table(&shown, table, &mut out);
    }
    write_warnings(report.items("warnings"), &mut out);
    for table in after {
        write_table(&shown, table, &mut out);
    }
    out.push_str("\nSolve\n");
    let numbers = [
        ("unknowns", "unknowns", 9),
        ("factorisations", "factorisations", 9),
        ("factorisations_with_strings", "with strings in", 9),
        ("relative_residual", "relative residual", 2),
        ("energy", "field energy", 4),
    ];
    write_numbers(report, &numbers, &mut out);
    write_limits(report, &mut out);
    out
}

/// Writes the field along every probe as CSV, one line per sample.
///
/// # Errors
/// `out` refused.
pub fn write_probes(report: &Report, out: &mut impl Write) -> io::Result<()> {
    let mut writer = csv::Writer::from_writer(out);
    let items = report.items("probes");
    if let Some(first) = items.first() {
        let keys = first.numbers.iter().map(|number| number.key());
        writer.write_record(std::iter::once("probe".to_owned()).chain(keys))?;
    }
    for item in items {
        let values =
            item.numbers.iter().map(|n| n.shown().map_or_else(String::new, |v| v.to_string()));
        writer.write_record(std::iter::once(item.get_word("name").to_owned()).chain(values))?;
    }
    writer.flush()
}

/// What extensive figures are of.
#[derive(Clone, Copy)]
enum Per {
    /// The whole, once the figure per metre is multiplied with the depth (1 where it is whole).
    Whole(f64),
    /// A metre of depth.
    Metre,
}

impl Per {
    fn of(q: &Quantities) -> Self {
        match (q.symmetry, q.depth) {
            (Symmetry::Axisymmetric, _) => Self::Whole(1.0),
            (_, Some(depth)) => Self::Whole(depth),
            (_, None) => Self::Metre,
        }
    }
}

impl Item {
    /// Adds an extensive number: in `whole` for the whole, in `metre` per metre of depth.
    fn extensive(
        self,
        name: &'static str,
        per: Per,
        whole: Unit,
        metre: Unit,
        value: impl Into<Option<f64>>,
    ) -> Self {
        let value: Option<f64> = value.into();
        match per {
            Per::Whole(depth) => self.number(name, whole, value.map(|v| v * depth)),
            Per::Metre => self.number(name, metre, value),
        }
    }
}

/// A string stands for itself in three dimensions, or for a metre of an endless one; the depth of
/// the pickup is no measure of it.
fn per_of(string: &StringReading) -> Per {
    if string.model.per_metre() { Per::Metre } else { Per::Whole(1.0) }
}

/// The strings; over a row also the pole and the level against the strongest.
fn strings(section: &Section, q: &Quantities) -> Vec<Item> {
    let items = q.strings.iter().map(string);
    if q.row.is_none() {
        return items.collect();
    }
    let upward = |s: &StringReading| s.linkage_change.iter().map(|c| c[1]).sum::<f64>().abs();
    let strongest = q.strings.iter().map(upward).fold(0.0, f64::max);
    items
        .zip(&q.strings)
        .map(|(item, s)| {
            let pole = section.strings.iter().find(|own| own.name == s.name).and_then(|s| s.pole);
            item.number("pole", ONE, pole.map(|k| (k + 1) as f64)).number(
                "level",
                DB,
                decibel(upward(s) / strongest),
            )
        })
        .collect()
}

fn decibel(ratio: f64) -> f64 {
    20.0 * ratio.abs().log10()
}

fn bends(row: &RowReading) -> Vec<Item> {
    let of = |bend: &BendReading| {
        let sum = |i: usize| bend.linkage_change.iter().map(|change| change[i]).sum::<f64>();
        Item::new(&bend.name)
            .number("offset", MM, bend.offset)
            .number("pull_up", MN, bend.pull[1])
            .number("pull_across", MN, bend.pull[0])
            .number("linkage_change_up", UWB_PER_MM_OF_TRAVEL, sum(1))
            .number("linkage_change_across", UWB_PER_MM_OF_TRAVEL, sum(0))
            .number("level", DB, decibel(bend.level))
    };
    row.bends.iter().map(of).collect()
}

/// What the poles of a row do to each other.
fn poles(section: &Section, row: &RowReading) -> Vec<Item> {
    let Some(own) = &section.row else { return Vec::new() };
    row.laid_on
        .iter()
        .enumerate()
        .map(|(k, laid)| {
            Item::new((k + 1).to_string())
                .number("x", MM, own.place(k))
                .number("height", MM, own.heights[k])
                .number("laid_on_by_others", MT, *laid)
        })
        .collect()
}

fn string(s: &StringReading) -> Item {
    let per = per_of(s);
    let model = match s.model {
        StringModel::MeshedThrough => "endless, through the plane",
        StringModel::MeshedSheet => "endless sheet in the plane",
        StringModel::Coupled => "coupled in three dimensions",
    };
    let [[across_across, across_up], [up_across, up_up]] = s.pull_gradient;
    Item::new(&s.name)
        .word("model", model)
        .number("gauge", MM, s.gauge)
        .number("gap", MM, s.gap)
        .number("x", MM, s.axis.x)
        .number("y", MM, s.axis.y)
        .number("flux_density_without_up", MT, s.flux_density_without[1])
        .number("flux_density_without_across", MT, s.flux_density_without[0])
        .number("flux_density_up", T, s.flux_density[1])
        .number("flux_density_across", T, s.flux_density[0])
        .number("largest_flux_density", T, s.largest)
        .extensive("pull_up", per, MN, N_PER_M, s.pull[1])
        .extensive("pull_across", per, MN, N_PER_M, s.pull[0])
        .extensive("pull_up_change_up", per, MN_PER_MM, N_PER_M_PER_MM, up_up)
        .extensive("pull_up_change_across", per, MN_PER_MM, N_PER_M_PER_MM, up_across)
        .extensive("pull_across_change_up", per, MN_PER_MM, N_PER_M_PER_MM, across_up)
        .extensive("pull_across_change_across", per, MN_PER_MM, N_PER_M_PER_MM, across_across)
}

fn linkage_changes(q: &Quantities) -> Vec<Item> {
    let of = |s: &StringReading| {
        let per = per_of(s);
        let second = |c: usize| Some(s.coupled.as_ref()?.coils.get(c)?.second[1][1]);
        q.coils
            .iter()
            .zip(&s.linkage_change)
            .enumerate()
            .map(|(c, (coil, change))| {
                let (whole, metre) = (UWB_PER_MM_OF_TRAVEL, MWB_PER_MM_PER_M);
                let item = Item::new(&s.name)
                    .word("coil", &coil.name)
                    .extensive("linkage_change_up", per, whole, metre, change[1])
                    .extensive("linkage_change_across", per, whole, metre, change[0]);
                match (&q.row, second(c)) {
                    (Some(_), Some(second)) => {
                        item.number("linkage_second_change_up", UWB_PER_MM2, second)
                    }
                    _ => item,
                }
            })
            .collect::<Vec<Item>>()
    };
    q.strings.iter().flat_map(of).collect()
}

/// Of coupled strings: the linkage with the string in, its second derivative (what makes even
/// harmonics), and the sensitivity along the string.
fn apertures(q: &Quantities) -> Vec<Item> {
    let mut items = Vec::new();
    for s in &q.strings {
        let Some(coupled) = &s.coupled else { continue };
        for (coil, own) in q.coils.iter().zip(&coupled.coils) {
            let [[across, mixed], [_, up]] = own.second;
            let [sensitivity_across, sensitivity_up] = &own.sensitivity;
            let item = Item::new(&s.name)
                .word("coil", &coil.name)
                .number("linkage_rise", UWB, own.rise)
                .number("linkage_second_change_up_up", UWB_PER_MM2, up)
                .number("linkage_second_change_up_across", UWB_PER_MM2, mixed)
                .number("linkage_second_change_across_across", UWB_PER_MM2, across)
                .number("aperture_up", MM, own.aperture[1])
                .number("aperture_middle_up", MM, own.aperture_middle[1])
                .number("aperture_across", MM, own.aperture[0])
                .number("aperture_middle_across", MM, own.aperture_middle[0])
                .curve("along", MM, coupled.x.clone())
                .curve("sensitivity_up", UWB_PER_MM2, sensitivity_up.clone())
                .curve("sensitivity_across", UWB_PER_MM2, sensitivity_across.clone());
            items.push(item);
        }
    }
    items
}

fn coils(q: &Quantities, per: Per) -> Vec<Item> {
    let of = |coil: &CoilReading| {
        Item::new(&coil.name)
            .number("turns", ONE, coil.turns)
            .extensive("linkage", per, MWB, WB_PER_M, coil.linkage)
            .extensive("linkage_without", per, MWB, WB_PER_M, coil.linkage_without)
            .extensive("inductance", per, H, H_PER_M, coil.inductance)
            .number("resistance", KOHM, coil.resistance)
    };
    q.coils.iter().map(of).collect()
}

fn parts(section: &Section, q: &Quantities, per: Per) -> Vec<Item> {
    let of = |part: &PartReading| {
        let item = Item::new(&part.name)
            .word("role", part.role.word())
            .number("flux_density_up", T, part.flux_density[1])
            .number("flux_density_across", T, part.flux_density[0])
            .number("largest_flux_density", T, part.largest)
            .extensive("flux_up", per, UWB, UWB_PER_MM, part.upward_flux);
        let Some(point) = &part.working_point else { return item };
        let own = section.parts.iter().find(|p| p.name == part.name);
        let item = item
            .word("material", own.map_or("", |own| own.material.name.as_str()))
            .word("charge", Verdict::of(point).word());
        item.number("working_field_strength", KA_PER_M, point.field_strength)
            .number("working_flux_density", T, point.flux_density)
            .number("lowest_field_strength", KA_PER_M, point.lowest_field_strength)
            .number("permeance_coefficient", ONE, point.permeance)
            .number("margin_to_knee", KA_PER_M, point.margin())
            .number("share_below_knee", PERCENT, point.share_below_knee)
            .number("charge_kept", PERCENT, point.charge_kept)
    };
    q.parts.iter().map(of).collect()
}

fn forces(section: &Section, q: &Quantities, per: Per) -> Vec<Item> {
    let of = |body: &BodyPull| {
        let item = Item::new(body.members.join(" + "))
            .word("kind", kind(section, &body.members))
            .extensive("pull_up", per, MN, N_PER_M, body.pull[1]);
        // A body turned about the axis is pulled along it only; a row is pulled along itself too.
        if q.symmetry == Symmetry::Planar || q.row.is_some() {
            item.extensive("pull_across", per, MN, N_PER_M, body.pull[0])
        } else {
            item
        }
    };
    q.pulls.iter().map(of).collect()
}

/// What a body is made up of, in a word.
fn kind(section: &Section, members: &[String]) -> &'static str {
    let all = |is: &dyn Fn(&String) -> bool| members.iter().all(is);
    if all(&|name| section.strings.iter().any(|s| s.name == *name)) {
        "string"
    } else if all(&|name| !section.parts.iter().any(|p| p.name == *name)) {
        "coil window"
    } else {
        "parts"
    }
}

fn probes(q: &Quantities) -> Vec<Item> {
    let strings_in = q.solve_with.is_some();
    let mut items = Vec::new();
    for probe in &q.probes {
        for (i, place) in probe.points.iter().enumerate() {
            let without = probe.without_strings.get(i).copied().flatten();
            let item = Item::new(&probe.name)
                .number("sample", ONE, (i + 1) as f64)
                .number("x", MM, place.x)
                .number("y", MM, place.y)
                .number("flux_density_without_up", MT, without.map(|b| b[1]))
                .number("flux_density_without_across", MT, without.map(|b| b[0]))
                .in_room(probe.rooms.get(i).copied().flatten());
            items.push(if strings_in {
                let with = probe.with_strings.get(i).copied().flatten();
                item.number("flux_density_up", MT, with.map(|b| b[1])).number(
                    "flux_density_across",
                    MT,
                    with.map(|b| b[0]),
                )
            } else {
                item
            });
        }
    }
    items
}

/// Of each probe, at most [`SAMPLES_SHOWN`] samples, evenly chosen, both ends among them.
fn thinned(probes: &[Item]) -> Vec<Item> {
    let mut shown = Vec::new();
    for probe in probes.chunk_by(|a, b| a.get_word("name") == b.get_word("name")) {
        let n = probe.len().min(SAMPLES_SHOWN);
        let chosen = (0..n).map(|i| i * (probe.len() - 1) / (n - 1).max(1));
        shown.extend(chosen.map(|i| probe[i].clone()));
    }
    shown
}
