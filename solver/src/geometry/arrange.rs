//! A section becomes regions: outlines, checks, one planar graph, and who is where.

use super::Clearance;
use super::arrangement::{Entangled, Graph, planar_graph};
use super::clearance;
use super::cover::{Cover, areas, covers, on_top, overlaps};
use super::crowd::{MOST_CROSSINGS, crowd, report_crowding};
use super::items::{Item, items};
use super::model::{
    AIR, Edge, FEWEST_SIDES, OUTSIDE, Outline, Region, RegionId, Regions, Side, Source,
};
use super::overlap::{displaced_by, report_overlaps};
use super::piece::Bounds;
use super::probes::probe_lines;
use super::strings::{REACH, lie_in_plane, sampling};
use super::thin::{report_short_edges, report_thin_items};
use super::words::length;
use crate::point::Point;
use crate::problem::Problem;
use crate::section::{Role, Section, Symmetry};

/// What [`arrange`] found.
#[derive(Clone, Debug)]
pub struct Arranged {
    /// The arrangement; `None` when there are problems.
    pub regions: Option<Regions>,
    /// Clearances between strings, metal and coils.
    pub clearances: Vec<Clearance>,
    /// Every mistake found.
    pub problems: Vec<Problem>,
}

/// Choices in how a section is arranged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ArrangeOptions {
    /// Whether strings that run in a planar section are meshed, as strips 40 mm to each side and
    /// as high as their core is thick.
    pub mesh_in_plane_strings: bool,
    /// Strings, as indices into [`Section::strings`], whose wraps are meshed where they run through the
    /// plane of a planar section: as the ring from core to gauge. Wraps that are not magnetic
    /// ([`crate::material::StringMaterial::has_magnetic_wrap`]) are best left out.
    pub wraps: Vec<usize>,
}

impl Default for ArrangeOptions {
    fn default() -> Self {
        Self { mesh_in_plane_strings: true, wraps: Vec::new() }
    }
}

/// The lengths by which a section is judged, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Scale {
    /// Points closer than this are one.
    pub tolerance: f64,
    /// What is thinner than this is not meshed.
    pub thin: f64,
}

impl Scale {
    /// For a section of this size (diagonal of its box), m.
    pub fn of_size(size: f64) -> Self {
        // The ratio of the two is at least 20, so that nothing that is meshed is snapped away.
        Self { tolerance: 5e-7 * size, thin: (1e-5 * size).max(1e-6) }
    }
}

/// Outer radius over the radius that holds everything solid, where the file does not say.
///
/// Forcing A to zero at R changes a dipole's field near the middle by (a/R)^2, here 6e-6 of the
/// field at the rim of the section and less inside. The mesh grows geometrically outward, so the
/// distance costs a few hundred triangles.
const OUTER_RATIO: f64 = 400.0;

/// Problems beyond these are not told: the first hundred are enough to go on with.
const MOST_PROBLEMS: usize = 1_000;

/// Arranges a section with the default options: strings by their cores alone.
pub fn arrange(section: &Section) -> Arranged {
    arrange_with(section, &ArrangeOptions::default())
}

/// Arranges a section: draws every part, coil window and string, checks them against each other,
/// and cuts the plane into regions.
pub fn arrange_with(section: &Section, options: &ArrangeOptions) -> Arranged {
    let mut problems = Vec::new();
    let mut clearances = Vec::new();
    let mut regions = None;
    let (items, scale) = items(section, options, &mut problems);
    let crowded = |scale: &Scale, problems: &mut Vec<Problem>| {
        report_crowding(&items, 0.5 * scale.thin, problems)
    };
    if let Some(scale) = scale.filter(|s| !items.is_empty() && !crowded(s, &mut problems)) {
        let any_thin = report_thin_items(&items, &scale, &mut problems);
        clearances = clearance::strings(section, &items, &scale, &mut problems);
        clearances.extend(clearance::coils_and_gaps(&items, &scale, &mut problems));
        regions = regions_of(section, &items, &scale, any_thin, &mut problems);
    }
    problems.sort_by_key(|p| p.span.as_ref().map(|s| (s.start, s.end)));
    problems.truncate(MOST_PROBLEMS);
    if !problems.is_empty() {
        regions = None;
    }
    Arranged { regions, clearances, problems }
}

fn regions_of(
    section: &Section,
    items: &[Item],
    scale: &Scale,
    any_thin: bool,
    problems: &mut Vec<Problem>,
) -> Option<Regions> {
    let displaced = displaced_by(section, items, problems);
    let (centre, inner_radius) = surroundings(section, items);
    let outer_radius = section.outer_radius.unwrap_or(OUTER_RATIO * inner_radius);
    report_beyond(section, items, centre, outer_radius, problems);
    let domain = domain_outline(section.symmetry, centre, outer_radius);
    let mut outlines: Vec<&Outline> = items.iter().map(|i| &i.outline).collect();
    outlines.push(&domain);
    let graph = match planar_graph(&outlines, scale.tolerance) {
        Ok(graph) => graph,
        Err(Entangled::Crossings) => {
            problems
                .push(crowd(format!("its outlines cross at more than {MOST_CROSSINGS} places")));
            return None;
        }
        Err(Entangled::Unsettled) => {
            problems.push(
                Problem::general("the outlines of the parts are too entangled to be told apart")
                    .help("move parts that nearly coincide until they touch or clear each other"),
            );
            return None;
        }
    };
    if !any_thin {
        report_short_edges(&graph, items, scale, problems);
    }
    let Some(covers) = covers(&graph, &outlines) else {
        problems.push(crowd("too many of its parts lie over each other".to_owned()));
        return None;
    };
    let n = items.len() as u32;
    let least = scale.tolerance * scale.tolerance;
    let found = overlaps(&graph, &covers, centre, n);
    report_overlaps(items, &found, &displaced, least, problems);
    let edges = labelled(&graph, &covers, n, &displaced);
    let regions = named_regions(&graph, &edges, items, &displaced, centre, least, problems);
    let (sampling_height, mut fine_lines) = sampling(section, items);
    fine_lines.extend(probe_lines(section, items));
    Some(Regions {
        symmetry: section.symmetry,
        vertices: graph.vertices,
        edges,
        regions,
        displaced_by: displaced,
        centre,
        outer_radius,
        inner_radius,
        fine_lines,
        sampling_height,
        mesh_scale: section.mesh_scale,
        fewest_sides: FEWEST_SIDES,
    })
}

/// Centre of the outer boundary and the radius about it that holds everything solid.
fn surroundings(section: &Section, items: &[Item]) -> (Point, f64) {
    let all = items.iter().fold(Bounds::EMPTY, |b, i| b.union(i.bounds));
    let centre = match section.symmetry {
        Symmetry::Planar => all.centre(),
        Symmetry::Axisymmetric => Point::new(0.0, all.centre().y),
    };
    (centre, items.iter().map(|i| reach(i, centre)).fold(0.0, f64::max))
}

/// Largest distance from `centre` to the item's box.
fn reach(item: &Item, centre: Point) -> f64 {
    let (low, high) = (item.bounds.low - centre, item.bounds.high - centre);
    low.x.abs().max(high.x.abs()).hypot(low.y.abs().max(high.y.abs()))
}

/// Problems for everything that does not fit inside the outer radius the file asks for.
fn report_beyond(
    section: &Section,
    items: &[Item],
    centre: Point,
    outer_radius: f64,
    problems: &mut Vec<Problem>,
) {
    if !(outer_radius > 0.0 && outer_radius.is_finite()) {
        problems.push(
            Problem::general("the outer radius is not positive")
                .help("leave it out to have it chosen"),
        );
        return;
    }
    // A margin, so that there is air to mesh between the last part and the boundary.
    let room = 0.95 * outer_radius;
    let help = "make the outer radius larger, or leave it out to have it chosen";
    for item in items.iter().filter(|i| reach(i, centre) > room) {
        let message = format!(
            "`{}` reaches {} from the middle, too close to or beyond the outer radius of {}",
            item.name,
            length(reach(item, centre)),
            length(outer_radius)
        );
        problems.push(Problem::at(item.span.clone(), message).help(help));
    }
    if lie_in_plane(section) {
        for s in &section.strings {
            let end = Point::new(s.axis.x.abs() + REACH, s.axis.y);
            if end.distance(centre) > room {
                let message = format!(
                    "string `{}` is needed to {} on either side, beyond the outer radius of {}",
                    s.name,
                    length(REACH),
                    length(outer_radius)
                );
                problems.push(Problem::at(s.span.clone(), message).help(help));
            }
        }
    }
    for probe in &section.probes {
        if probe.points.iter().any(|p| p.distance(centre) > outer_radius) {
            let message = format!("probe `{}` lies beyond the outer radius", probe.name);
            problems.push(Problem::at(probe.span.clone(), message).help(help));
        }
    }
}

/// The outer boundary: a circle, or a half circle closed along the axis.
fn domain_outline(symmetry: Symmetry, centre: Point, radius: f64) -> Outline {
    let arc = Side::Arc { centre, counter_clockwise: true };
    let place = |x: f64, y: f64| centre + Point::new(x * radius, y * radius);
    match symmetry {
        Symmetry::Planar => Outline {
            corners: vec![place(1.0, 0.0), place(0.0, 1.0), place(-1.0, 0.0), place(0.0, -1.0)],
            sides: vec![arc; 4],
        },
        Symmetry::Axisymmetric => Outline {
            corners: vec![place(0.0, -1.0), place(1.0, 0.0), place(0.0, 1.0)],
            sides: vec![arc, arc, Side::Straight],
        },
    }
}

/// The graph's edges with the region on either side. Outline k is region k + 1; outline `domain`
/// is the outer boundary.
fn labelled(
    graph: &Graph,
    covers: &[Cover],
    domain: u32,
    displaced: &[Vec<RegionId>],
) -> Vec<Edge> {
    let region = |cover: &[u32]| {
        let set: Vec<RegionId> = cover.iter().filter(|k| **k != domain).map(|k| k + 1).collect();
        match on_top(&set, displaced) {
            Some(r) => r,
            None if cover.contains(&domain) => AIR,
            None => OUTSIDE,
        }
    };
    graph
        .edges
        .iter()
        .zip(covers)
        .map(|(e, cover)| Edge {
            ends: e.ends,
            side: e.side,
            left: region(&cover.left),
            right: region(&cover.right),
        })
        .collect()
}

/// Air and the items with the area that is left of each.
fn named_regions(
    graph: &Graph,
    edges: &[Edge],
    items: &[Item],
    displaced: &[Vec<RegionId>],
    origin: Point,
    least: f64,
    problems: &mut Vec<Problem>,
) -> Vec<Region> {
    let sides: Vec<Cover> =
        edges.iter().map(|e| Cover { left: vec![e.left], right: vec![e.right] }).collect();
    let left = areas(graph, &sides, origin, |set, add| set.iter().for_each(|r| add(*r)));
    let air = Region {
        name: "air".to_owned(),
        role: Role::Body,
        source: Source::Air,
        outline: None,
        area: f64::INFINITY,
    };
    let mut regions = vec![air];
    for (k, item) in items.iter().enumerate() {
        let area = left.get(&(k as RegionId + 1)).copied().unwrap_or(0.0);
        // Unlicensed overlaps are reported as such.
        if area <= least && !displaced[k + 1].is_empty() {
            problems.push(
                Problem::at(
                    item.span.clone(),
                    format!("nothing is left of `{}`: others cover all of it", item.name),
                )
                .help("leave it out, or let less pass through it"),
            );
        }
        regions.push(Region {
            name: item.name.clone(),
            role: item.role,
            source: item.source,
            outline: Some(item.outline.clone()),
            area,
        });
    }
    regions
}
