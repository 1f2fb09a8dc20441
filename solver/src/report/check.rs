//! What `check` reports: the parts, coils and strings of a section, how far they stand from each
//! other, and the mesh.

use crate::geometry::{Clearance, Region, RegionId, Regions, Source};
use crate::mesh::Mesh;
use crate::section::{Row, Section, StringRun, Symmetry};

use super::columns::BOX;
use super::layout::{Column, Layout, write_head, write_numbers, write_tables};
use super::record::{Group, Item, Report};
use super::unit::{DEGREE, MM, MM2, ONE};

/// The tables of the text form.
const TABLES: [Layout; 4] = [
    Layout {
        title: "Parts",
        group: "parts",
        columns: &[
            Column::Word("name", "part"),
            Column::Word("role", "role"),
            Column::Word("material", "material"),
            Column::Several(&BOX),
        ],
    },
    Layout {
        title: "Coil windows",
        group: "coil_windows",
        columns: &[
            Column::Word("name", "window"),
            Column::Word("sense", "wire"),
            Column::Number("turns", "turns", 4),
            Column::Several(&BOX),
        ],
    },
    Layout {
        title: "Strings",
        group: "strings",
        columns: &[
            Column::Word("name", "string"),
            Column::Word("core", "core"),
            Column::Word("wrap", "wrap"),
            Column::Number("gauge", "gauge", 3),
            Column::Number("core_diameter", "core\ndiameter", 3),
            Column::Word("over", "over"),
            Column::Number("pole", "pole", 2),
            Column::Number("gap", "gap", 3),
            Column::Number("x", "axis\nacross", 4),
            Column::Number("y", "axis\nup", 4),
            Column::Number("offset", "offset", 3),
        ],
    },
    Layout {
        title: "Clearances",
        group: "clearances",
        columns: &[
            Column::Word("name", "between"),
            Column::Word("and", "and"),
            Column::Number("clearance", "clearance", 3),
        ],
    },
];

/// The report on a section that is free of mistakes.
pub fn report(
    section: &Section,
    regions: &Regions,
    clearances: &[Clearance],
    mesh: &Mesh,
) -> Report {
    let quality = mesh.quality();
    let head = Item::default()
        .number("depth", MM, section.depth)
        .number("outer_radius", MM, mesh.outer_radius)
        .number("mesh_nodes", ONE, quality.nodes as f64)
        .number("mesh_triangles", ONE, quality.triangles as f64)
        .number("smallest_angle", DEGREE, quality.least_angle.to_radians())
        .number("triangles_sharper_than_25_degrees", ONE, quality.sharp_triangles as f64)
        .number("shortest_side", MM, quality.shortest_side)
        .number("longest_side", MM, quality.longest_side)
        .number("steepest_grading", ONE, quality.steepest_grading);
    Report {
        words: vec![("title", section.title.clone()), ("model", model(section))],
        numbers: head.numbers,
        groups: vec![
            Group { key: "parts", items: parts(section, regions) },
            Group { key: "coil_windows", items: windows(section, regions) },
            Group { key: "strings", items: strings(section) },
            Group {
                key: "clearances",
                items: clearances
                    .iter()
                    .map(|c| {
                        Item::new(&c.first).word("and", &c.second).number(
                            "clearance",
                            MM,
                            c.distance,
                        )
                    })
                    .collect(),
            },
        ],
        limits: Vec::new(),
    }
}

/// The report as a person reads it.
pub fn text(report: &Report) -> String {
    let mut out = String::new();
    write_head(report, &mut out);
    write_tables(report, &TABLES, &mut out);
    out.push_str("\nMesh\n");
    let mesh = [
        ("mesh_nodes", "nodes", 9),
        ("mesh_triangles", "triangles", 9),
        ("smallest_angle", "smallest angle", 3),
        ("triangles_sharper_than_25_degrees", "triangles sharper than 25 degrees", 9),
    ];
    let sizes = [
        ("shortest_side", "sides from", 3),
        ("longest_side", "to", 3),
        ("steepest_grading", "at one point at most 1 to", 2),
        ("outer_radius", "outer boundary at", 4),
        ("depth", "depth", 4),
    ];
    write_numbers(report, &mesh, &mut out);
    write_numbers(report, &sizes, &mut out);
    out
}

/// What the section stands for, in words.
pub(super) fn model(section: &Section) -> String {
    if let Some(row) = &section.row {
        let alternating =
            if row.alternating { ", every second one charged the other way" } else { "" };
        return format!(
            "a row of {} poles {} mm apart, each turned about its axis{alternating}; strings across it",
            row.count,
            format_args!("{:.4}", row.pitch * 1e3)
                .to_string()
                .trim_end_matches('0')
                .trim_end_matches('.')
        );
    }
    let words = match (section.symmetry, section.string_run) {
        (Symmetry::Axisymmetric, _) => "turned about its axis, strings across it",
        (Symmetry::Planar, StringRun::InPlane) => "planar, strings in the plane",
        (Symmetry::Planar, StringRun::Through) => "planar, strings through the plane",
    };
    words.to_owned()
}

fn parts(section: &Section, regions: &Regions) -> Vec<Item> {
    let of = |region: &Region| match region.source {
        Source::Part(i) => section.parts.get(i),
        _ => None,
    };
    let names = |ids: &[RegionId]| {
        let found = ids.iter().filter_map(|&id| regions.regions.get(id as usize));
        found.map(|r| r.name.as_str()).collect::<Vec<_>>().join(", ")
    };
    regions
        .regions
        .iter()
        .zip(&regions.displaced_by)
        .filter_map(|(region, above)| Some((region, of(region)?, above)))
        .map(|(region, part, above)| {
            let item = Item::new(&region.name)
                .word("role", region.role.word())
                .word("material", &part.material.name)
                .word("holds", names(above));
            sized(item, region, section.symmetry)
        })
        .collect()
}

fn windows(section: &Section, regions: &Regions) -> Vec<Item> {
    regions
        .regions
        .iter()
        .filter_map(|region| match region.source {
            Source::Window(coil, window) => {
                Some((region, section.coils.get(coil)?.windows.get(window)?))
            }
            _ => None,
        })
        .map(|(region, window)| {
            let sense = match (section.symmetry, window.sense > 0.0) {
                (Symmetry::Planar, true) => "out of the page",
                (Symmetry::Planar, false) => "into the page",
                (Symmetry::Axisymmetric, true) => "counter-clockwise",
                (Symmetry::Axisymmetric, false) => "clockwise",
            };
            let item =
                Item::new(&region.name).word("sense", sense).number("turns", ONE, window.turns);
            sized(item, region, section.symmetry)
        })
        .collect()
}

/// The box around a region and its area.
fn sized(item: Item, region: &Region, symmetry: Symmetry) -> Item {
    let Some((low, high)) = region.outline.as_ref().map(|o| o.bounding_box()) else { return item };
    let item = match symmetry {
        Symmetry::Planar => item.number("width", MM, high.x - low.x).number("left", MM, low.x),
        Symmetry::Axisymmetric => {
            item.number("inner_radius", MM, low.x).number("outer_radius", MM, high.x)
        }
    };
    item.number("height", MM, high.y - low.y).number("bottom", MM, low.y).number(
        "area",
        MM2,
        region.area,
    )
}

fn strings(section: &Section) -> Vec<Item> {
    section
        .strings
        .iter()
        .map(|string| {
            let over = string.over.and_then(|i| section.parts.get(i));
            let wrap = string.wrap.as_ref().map_or("", |w| &w.name);
            let item = Item::new(&string.name)
                .word("core", &string.core.name)
                .word("wrap", wrap)
                .word("over", over.map_or("", |part| &part.name))
                .number("gauge", MM, string.gauge)
                .number("core_diameter", MM, string.core_diameter)
                .number("gap", MM, string.gap);
            let item = match string.pole {
                Some(pole) => item.number("pole", ONE, (pole + 1) as f64),
                None => item,
            };
            let item = match section.string_run {
                StringRun::Through => item.number("x", MM, string.axis.x),
                StringRun::InPlane => item.number("offset", MM, string.offset),
            };
            let raised = section.row.as_ref().map_or(0.0, Row::highest);
            item.number("y", MM, string.axis.y + raised)
        })
        .collect()
}
