//! Meshes of known domains, each cut into four by halving every side.
//!
//! Sides that lie on a circle keep their new points on it, so that the sequence converges to the
//! true domain.

use std::collections::BTreeMap;

use lodestring::geometry::{Region, RegionId, Source};
use lodestring::mesh::Mesh;
use lodestring::point::Point;
use lodestring::section::{Role, Symmetry};

/// Straight-sided triangles, with the circles about the origin that some of their sides follow.
#[derive(Clone)]
pub struct Domain {
    /// Planar or axisymmetric.
    pub symmetry: Symmetry,
    /// Corners, m.
    pub vertices: Vec<Point>,
    /// Corner ids, counter-clockwise, and region.
    pub triangles: Vec<([u32; 3], RegionId)>,
    /// Radii of the circles about the origin, m: a side with both ends on one of them is an arc.
    pub circles: Vec<f64>,
    /// Whether a side of the rim with this middle carries prescribed values, its ends included.
    pub prescribed: fn(Point) -> bool,
    /// What each region is, air first.
    pub sources: Vec<Source>,
}

impl Domain {
    /// The unit square from (0, 0), cut into `n` x `n` cells of two triangles whose inner corners
    /// are displaced, so that no symmetry of the mesh flatters the order.
    pub fn square(symmetry: Symmetry, n: u32, prescribed: fn(Point) -> bool) -> Self {
        let at = |i: u32| f64::from(i) / f64::from(n);
        let mut vertices = Vec::new();
        for j in 0..=n {
            for i in 0..=n {
                let inner = i % n != 0 && j % n != 0;
                // A fixed, uneven pattern of up to a fifth of a cell.
                let shift = |k: u32| {
                    if inner {
                        0.2 * (f64::from(7 * i + 5 * j + k).sin()) / f64::from(n)
                    } else {
                        0.0
                    }
                };
                vertices.push(Point::new(at(i) + shift(0), at(j) + shift(3)));
            }
        }
        let mut triangles = Vec::new();
        for j in 0..n {
            for i in 0..n {
                let low = j * (n + 1) + i;
                let high = low + n + 1;
                triangles.push(([low, low + 1, high + 1], 0));
                triangles.push(([low, high + 1, high], 0));
            }
        }
        let sources = vec![Source::Air];
        Self { symmetry, vertices, triangles, circles: Vec::new(), prescribed, sources }
    }

    /// A disc about the origin of rings of triangles, `radii` outward; ring k between two radii is
    /// in `regions[k]` (the first ring is the inner disc). `half` keeps x >= 0 only. The last
    /// radius is the rim.
    pub fn disc(
        symmetry: Symmetry,
        radii: &[f64],
        regions: &[RegionId],
        half: bool,
        sources: Vec<Source>,
    ) -> Self {
        let sectors: u32 = if half { 4 } else { 8 };
        // Half a turn from the axis below to the axis above, or a full turn.
        let angle = |i: u32| {
            let span = if half { 1.0 } else { 2.0 } * std::f64::consts::PI;
            span * (f64::from(i) / f64::from(sectors) - if half { 0.5 } else { 0.0 })
        };
        let points = if half { sectors + 1 } else { sectors };
        let mut vertices = vec![Point::default()];
        for &radius in radii {
            for i in 0..points {
                let (sin, cos) = angle(i).sin_cos();
                let on_axis = half && (i == 0 || i == sectors);
                vertices.push(Point::new(if on_axis { 0.0 } else { radius * cos }, radius * sin));
            }
        }
        let id = |ring: u32, i: u32| 1 + ring * points + i % points;
        let mut triangles = Vec::new();
        for i in 0..sectors {
            triangles.push(([0, id(0, i), id(0, i + 1)], regions[0]));
            for ring in 1..radii.len() as u32 {
                let region = regions[ring as usize];
                triangles.push(([id(ring - 1, i), id(ring, i), id(ring, i + 1)], region));
                triangles.push(([id(ring - 1, i), id(ring, i + 1), id(ring - 1, i + 1)], region));
            }
        }
        let prescribed = if half { not_on_axis } else { everywhere };
        Self { symmetry, vertices, triangles, circles: radii.to_vec(), prescribed, sources }
    }

    /// The middle of a side: of the chord, or of the arc where both ends lie on one circle.
    fn middle(&self, a: u32, b: u32) -> Point {
        let (a, b) = (self.vertices[a as usize], self.vertices[b as usize]);
        let chord = (a + b) * 0.5;
        let origin = Point::default();
        for &radius in &self.circles {
            let on = |p: Point| (p.distance(origin) - radius).abs() < 1e-9 * radius;
            if on(a) && on(b) && chord.distance(origin) > 1e-9 * radius {
                return chord * (radius / chord.distance(origin));
            }
        }
        chord
    }

    /// Every triangle cut into four.
    pub fn refined(&self) -> Self {
        let mut fine = Self { triangles: Vec::new(), ..self.clone() };
        let mut middles = BTreeMap::new();
        for &([a, b, c], region) in &self.triangles {
            let [ab, bc, ca] = [(a, b), (b, c), (c, a)].map(|(from, to)| {
                *middles.entry((from.min(to), from.max(to))).or_insert_with(|| {
                    fine.vertices.push(self.middle(from, to));
                    fine.vertices.len() as u32 - 1
                })
            });
            for corners in [[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]] {
                fine.triangles.push((corners, region));
            }
        }
        fine
    }

    /// The six-node mesh on these triangles.
    pub fn mesh(&self) -> Mesh {
        let mut nodes = self.vertices.clone();
        let mut sides: BTreeMap<(u32, u32), (u32, u32)> = BTreeMap::new();
        let mut triangles = Vec::new();
        for &([a, b, c], _) in &self.triangles {
            let mid = [(a, b), (b, c), (c, a)].map(|(from, to)| {
                let side = sides.entry((from.min(to), from.max(to))).or_insert_with(|| {
                    nodes.push(self.middle(from, to));
                    (nodes.len() as u32 - 1, 0)
                });
                side.1 += 1;
                side.0
            });
            triangles.push([a, b, c, mid[0], mid[1], mid[2]]);
        }
        // A side of one triangle only is on the rim.
        let mut outer_nodes: Vec<u32> = sides
            .iter()
            .filter(|(_, (m, count))| *count == 1 && (self.prescribed)(nodes[*m as usize]))
            .flat_map(|(&(a, b), &(m, _))| [a, b, m])
            .collect();
        outer_nodes.sort_unstable();
        outer_nodes.dedup();
        let region = |&source: &Source| Region {
            name: format!("{source:?}"),
            role: Role::Body,
            source,
            outline: None,
            area: f64::NAN,
        };
        Mesh {
            symmetry: self.symmetry,
            nodes,
            n_vertices: self.vertices.len(),
            triangles,
            region_of: self.triangles.iter().map(|t| t.1).collect(),
            regions: self.sources.iter().map(region).collect(),
            outer_nodes,
            flattened_area: 0.0,
            outer_radius: self.circles.last().copied().unwrap_or(f64::NAN),
            centre: Point::default(),
        }
    }
}

/// All of the rim.
pub fn everywhere(_: Point) -> bool {
    true
}

/// The rim without the line x = 0, the axis of symmetry.
pub fn not_on_axis(p: Point) -> bool {
    p.x > 0.0
}
