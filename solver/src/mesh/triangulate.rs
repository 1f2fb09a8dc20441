//! Cut edges to a graded triangulation without small angles. The only file that names `spade`.
//!
//! Constrained Delaunay triangulation of the cut sides, then refinement in Ruppert's manner
//! [Ruppert1995]: a side with a vertex inside its diametral circle, or much longer than wanted, is
//! split; a triangle that is too large or too thin gets its circumcentre, unless that would
//! encroach on a side, which is then split instead. Where two edges meet at a sharp angle, sides
//! are split at distances from the corner that are powers of two, and thin triangles spanned
//! between such points are left alone, so that the refinement ends [MillerPavWalkington2003].
//! Points put on an arc lie on the true arc.

use std::collections::VecDeque;

use spade::handles::{FixedFaceHandle, FixedUndirectedEdgeHandle, FixedVertexHandle, InnerTag};
use spade::{ConstrainedDelaunayTriangulation, HasPosition, Point2, Triangulation as _};

use super::cut::Cut;
use super::error::MeshError;
use super::plan::Plan;
use super::size::SizeField;
use crate::geometry::{Piece, Side};
use crate::point::Point;

/// Triangles with straight sides, in plan units.
#[derive(Clone, Debug, Default)]
pub(crate) struct Triangulation {
    /// Vertices.
    pub points: Vec<Point>,
    /// Vertex ids, counter-clockwise.
    pub triangles: Vec<[u32; 3]>,
    /// Side ids: side k of a triangle joins its vertices k and k + 1.
    pub sides_of: Vec<[u32; 3]>,
    /// Every side once.
    pub sides: Vec<SideOfMesh>,
}

/// A side of one or two triangles.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct SideOfMesh {
    /// Its ends.
    pub ends: [u32; 2],
    /// The triangles to its left and right; [`NO_TRIANGLE`] outside.
    pub triangles: [u32; 2],
    /// The edge of the plan it is part of, or [`NO_EDGE`].
    pub edge: u32,
}

/// Stands for the outside.
pub(crate) const NO_TRIANGLE: u32 = u32::MAX;

/// Marks a side that is not part of the plan.
pub(crate) const NO_EDGE: u32 = u32::MAX;

/// Smallest angle the refinement aims at: a few degrees above what the mesh promises, and below
/// the 30 degrees beyond which the number of vertices explodes.
const LEAST_ANGLE_DEGREES: f64 = 28.0;

/// A triangle is too large when its circumradius exceeds this many times the wanted size: the
/// sides of an equilateral one are then 1.22 times that size.
const LARGEST_RADIUS: f64 = 0.707;

/// A side is too long beyond this many times the wanted size.
const LONGEST_SIDE: f64 = 1.3;

#[derive(Clone, Copy)]
struct Vertex {
    place: Point2<f64>,
    /// Wanted size here.
    size: f64,
    /// Edge of the plan this vertex was put on; [`NO_EDGE`] for the plan's own vertices and for
    /// free ones.
    edge: u32,
    /// Whether it is one of the plan's vertices.
    original: bool,
}

impl HasPosition for Vertex {
    type Scalar = f64;
    fn position(&self) -> Point2<f64> {
        self.place
    }
}

/// Sides carry the edge of the plan plus one, zero for none.
type Cdt = ConstrainedDelaunayTriangulation<Vertex, (), u32, ()>;

/// Triangulates the cut plan and refines it to the sizes wanted.
///
/// # Errors
///
/// [`MeshError::Crossing`] when cut sides cross, [`MeshError::TooLarge`] beyond `most` vertices,
/// [`MeshError::Triangulation`] when a point is refused.
pub(crate) fn triangulate(
    plan: &Plan,
    cut: &Cut,
    sizes: &SizeField,
    most: usize,
) -> Result<Triangulation, MeshError> {
    let mut refinement = Refinement::new(plan, cut, sizes, most)?;
    refinement.run()?;
    Ok(extract(&refinement.cdt))
}

struct Refinement<'a> {
    plan: &'a Plan,
    sizes: &'a SizeField<'a>,
    cdt: Cdt,
    most: usize,
    /// (longest allowed circumradius / shortest side)^2.
    ratio2: f64,
    sides: VecDeque<[FixedVertexHandle; 2]>,
    faces: VecDeque<FixedFaceHandle<InnerTag>>,
    /// Whether a face waits in `faces`, by index.
    waiting: Vec<bool>,
    /// Reused between insertions.
    stack: Vec<spade::handles::FixedDirectedEdgeHandle>,
    encroached: Vec<[FixedVertexHandle; 2]>,
}

fn point(p: Point2<f64>) -> Point {
    Point::new(p.x, p.y)
}

impl<'a> Refinement<'a> {
    fn new(
        plan: &'a Plan,
        cut: &Cut,
        sizes: &'a SizeField<'a>,
        most: usize,
    ) -> Result<Self, MeshError> {
        let mut edge_of = vec![NO_EDGE; cut.points.len()];
        for (ends, edge) in &cut.sides {
            for v in ends {
                edge_of[*v as usize] = *edge;
            }
        }
        let originals = plan.vertices.len();
        let vertices: Vec<Vertex> = cut
            .points
            .iter()
            .zip(edge_of)
            .enumerate()
            .map(|(i, (p, edge))| Vertex {
                place: Point2::new(p.x, p.y),
                size: sizes.at(*p),
                edge: if i < originals { NO_EDGE } else { edge },
                original: i < originals,
            })
            .collect();
        let ends = cut.sides.iter().map(|(e, _)| e.map(|v| v as usize)).collect();
        let mut conflict = None;
        let cdt = Cdt::try_bulk_load_cdt(vertices, ends, |e| {
            conflict.get_or_insert(e);
        })
        .map_err(|_| refused(plan, cut.points.first().copied().unwrap_or_default()))?;
        if let Some([a, _]) = conflict {
            return Err(crossing(plan, cut.points.get(a).copied().unwrap_or_default()));
        }
        // Points that coincide are dropped, and the numbers of the rest would not fit any more.
        if cdt.num_vertices() != cut.points.len() {
            return Err(crossing(plan, cut.points.first().copied().unwrap_or_default()));
        }
        let sin = LEAST_ANGLE_DEGREES.to_radians().sin();
        let mut this = Self {
            plan,
            sizes,
            cdt,
            most,
            ratio2: 0.25 / (sin * sin),
            sides: VecDeque::new(),
            faces: VecDeque::new(),
            waiting: Vec::new(),
            stack: Vec::new(),
            encroached: Vec::new(),
        };
        for (ends, edge) in &cut.sides {
            let [a, b] = ends.map(|v| FixedVertexHandle::from_index(v as usize));
            // A side that runs exactly through another vertex is a crossing too.
            let Some(side) = this.cdt.get_edge_from_neighbors(a, b) else {
                return Err(crossing(plan, cut.points[ends[0] as usize]));
            };
            let side = side.fix().as_undirected();
            *this.cdt.undirected_edge_data_mut(side).data_mut() = edge + 1;
            this.sides.push_back([a, b]);
        }
        let all: Vec<_> = this.cdt.fixed_inner_faces().collect();
        all.into_iter().for_each(|f| this.push_face(f));
        Ok(this)
    }

    fn push_face(&mut self, face: FixedFaceHandle<InnerTag>) {
        let i = face.index();
        if i >= self.waiting.len() {
            self.waiting.resize(i + 1024, false);
        }
        if !self.waiting[i] {
            self.waiting[i] = true;
            self.faces.push_back(face);
        }
    }

    fn run(&mut self) -> Result<(), MeshError> {
        loop {
            while let Some(ends) = self.sides.pop_front() {
                self.tend_side(ends)?;
            }
            let Some(face) = self.faces.pop_front() else { return Ok(()) };
            self.waiting[face.index()] = false;
            self.tend_face(face)?;
            if self.cdt.num_vertices() > self.most {
                // Each vertex stands for about two triangles.
                return Err(MeshError::TooLarge {
                    triangles: 2 * self.cdt.num_vertices(),
                    limit: 2 * self.most,
                });
            }
        }
    }

    /// Splits a side that is encroached upon or too long.
    fn tend_side(&mut self, [a, b]: [FixedVertexHandle; 2]) -> Result<(), MeshError> {
        let Some(side) = self.cdt.get_edge_from_neighbors(a, b) else { return Ok(()) };
        if !side.is_constraint_edge() {
            return Ok(());
        }
        let [p, q] = side.positions();
        let wanted = 0.5 * (side.from().data().size + side.to().data().size);
        let long = side.length_2() > (LONGEST_SIDE * wanted).powi(2);
        let encroached = [side.opposite_position(), side.rev().opposite_position()]
            .into_iter()
            .flatten()
            .any(|x| encroaches(p, q, x));
        if long || encroached {
            let side = side.fix().as_undirected();
            self.split(side)?;
        }
        Ok(())
    }

    /// Puts a vertex on a side, on the true arc where it is part of one.
    fn split(&mut self, side: FixedUndirectedEdgeHandle) -> Result<(), MeshError> {
        let handle = self.cdt.undirected_edge(side);
        let [from, to] = handle.vertices();
        let (a, b) = (from.fix(), to.fix());
        let (p, q) = (point(from.position()), point(to.position()));
        let mark = *handle.data().data();
        let share = split_share(p.distance(q), from.data().original, to.data().original);
        let edge = mark - 1;
        let x = place_on(self.plan.edges[edge as usize].side, p, q, share);
        // Rounding leaves nothing to split in a side this short: the arrangement's tolerance is
        // four orders of magnitude above it.
        if p.distance(q) < 1e-11 {
            return Err(crossing(self.plan, p));
        }
        self.cdt.remove_constraint_edge(side);
        let vertex =
            Vertex { place: Point2::new(x.x, x.y), size: self.sizes.at(x), edge, original: false };
        let before = self.cdt.num_vertices();
        let new = self.cdt.insert_with_hint(vertex, a).map_err(|_| refused(self.plan, x))?;
        if self.cdt.num_vertices() == before {
            return Err(crossing(self.plan, x));
        }
        for (from, to) in [(a, new), (new, b)] {
            let added = self.cdt.try_add_constraint(from, to);
            if added.is_empty() {
                return Err(crossing(self.plan, x));
            }
            for part in added {
                let ends = self.cdt.directed_edge(part).vertices().map(|v| v.fix());
                *self.cdt.undirected_edge_data_mut(part.as_undirected()).data_mut() = mark;
                self.sides.push_back(ends);
            }
        }
        self.look_around(new);
        Ok(())
    }

    /// Queues what a new vertex has changed: the triangles at it, and the sides facing it.
    fn look_around(&mut self, new: FixedVertexHandle) {
        let mut faces: [Option<FixedFaceHandle<InnerTag>>; 64] = [None; 64];
        let mut n = 0;
        for out in self.cdt.vertex(new).out_edges() {
            if let Some(face) = out.face().as_inner()
                && n < faces.len()
            {
                faces[n] = Some(face.fix());
                n += 1;
            }
            let facing = out.next();
            if !out.is_outer_edge() && facing.is_constraint_edge() {
                self.sides.push_back(facing.vertices().map(|v| v.fix()));
            }
        }
        faces.into_iter().flatten().for_each(|f| self.push_face(f));
    }

    /// Refines a triangle that is too large or too thin.
    fn tend_face(&mut self, face: FixedFaceHandle<InnerTag>) -> Result<(), MeshError> {
        let handle = self.cdt.face(face);
        let vertices = handle.vertices();
        let [a, b, c] = vertices.map(|v| point(v.position()));
        let (ab, ac) = (b - a, c - a);
        let twice_area = ab.cross(ac);
        if twice_area <= 0.0 {
            return Ok(());
        }
        let l2 = [ab.dot(ab), (c - b).dot(c - b), ac.dot(ac)];
        let shortest = (0..3).min_by(|&i, &j| l2[i].total_cmp(&l2[j])).unwrap_or(0);
        let radius2 = l2[0] * l2[1] * l2[2] / (4.0 * twice_area * twice_area);
        let wanted = vertices.iter().map(|v| v.data().size).sum::<f64>() / 3.0;
        let large = radius2 > (LARGEST_RADIUS * wanted).powi(2);
        let thin = radius2 > self.ratio2 * l2[shortest];
        if !large && (!thin || self.thin_by_nature(face, shortest)) {
            return Ok(());
        }
        let to_centre = Point::new(ac.y * l2[0] - ab.y * l2[2], ab.x * l2[2] - ac.x * l2[0])
            * (0.5 / twice_area);
        let x = a + to_centre;
        let at = Point2::new(x.x, x.y);
        let hint = match self.walk(face, at) {
            Walk::Inside(hint) => hint,
            Walk::Blocked(side) => {
                self.push_face(face);
                return self.split(side);
            }
            Walk::Lost => return Ok(()),
        };
        self.find_encroached(hint, at);
        if self.encroached.is_empty() {
            let size = self.sizes.at(x);
            let vertex = Vertex { place: at, size, edge: NO_EDGE, original: false };
            let near = self.cdt.face(hint).vertices()[0].fix();
            let new = self.cdt.insert_with_hint(vertex, near).map_err(|_| refused(self.plan, x))?;
            self.look_around(new);
        } else {
            self.push_face(face);
            for [a, b] in std::mem::take(&mut self.encroached) {
                let side = self.cdt.get_edge_from_neighbors(a, b).map(|s| s.fix().as_undirected());
                if let Some(side) = side.filter(|s| self.cdt.is_constraint_edge(*s)) {
                    self.split(side)?;
                }
            }
        }
        Ok(())
    }

    /// Whether a triangle is thin because the input is: its smallest angle, opposite the shortest
    /// side, lies between two edges of the plan, or that side joins two edges that meet at a sharp
    /// angle, at equal distances from their common vertex.
    fn thin_by_nature(&self, face: FixedFaceHandle<InnerTag>, shortest: usize) -> bool {
        let sides = self.cdt.face(face).adjacent_edges();
        // `adjacent_edges` and `vertices` run alike: side k leaves vertex k.
        let [next, last] = [sides[(shortest + 1) % 3], sides[(shortest + 2) % 3]];
        if next.is_constraint_edge() && last.is_constraint_edge() {
            return true;
        }
        let [u, v] = sides[shortest].vertices();
        let (e, f) = (u.data().edge, v.data().edge);
        if e == NO_EDGE || f == NO_EDGE || e == f {
            return false;
        }
        let ends = self.plan.edges[e as usize].ends;
        let others = self.plan.edges[f as usize].ends;
        let Some(&corner) = ends.iter().find(|z| others.contains(z)) else { return false };
        let z = self.plan.vertices[corner as usize];
        let (p, q) = (point(u.position()) - z, point(v.position()) - z);
        // Equal up to the rounding of points placed on arcs; the angle at z below 60 degrees.
        (p.norm() / q.norm() - 1.0).abs() < 1e-3 && p.dot(q) > 0.5 * p.norm() * q.norm()
    }

    /// Walks from a face towards `x`.
    fn walk(&self, face: FixedFaceHandle<InnerTag>, x: Point2<f64>) -> Walk {
        let mut here = face;
        let mut came_by = None;
        // Far more steps than a circumcentre is ever away; the walk cannot circle in a Delaunay
        // triangulation, but this one is constrained.
        for _ in 0..10_000 {
            let exit = self
                .cdt
                .face(here)
                .adjacent_edges()
                .into_iter()
                .find(|e| Some(e.fix()) != came_by && e.side_query(x).is_on_right_side());
            let Some(exit) = exit else { return Walk::Inside(here) };
            let beyond = exit.rev().face().as_inner();
            match beyond {
                Some(next) if !exit.is_constraint_edge() => {
                    came_by = Some(exit.rev().fix());
                    here = next.fix();
                }
                _ if exit.is_constraint_edge() => {
                    return Walk::Blocked(exit.fix().as_undirected());
                }
                _ => return Walk::Lost,
            }
        }
        Walk::Lost
    }

    /// Fills `encroached` with the sides a vertex at `x`, inside `face`, would encroach upon.
    fn find_encroached(&mut self, face: FixedFaceHandle<InnerTag>, x: Point2<f64>) {
        self.encroached.clear();
        self.stack.clear();
        self.stack.extend(self.cdt.face(face).adjacent_edges().map(|e| e.fix()));
        while let Some(edge) = self.stack.pop() {
            let edge = self.cdt.directed_edge(edge);
            let [p, q] = edge.positions();
            if edge.is_constraint_edge() {
                if encroaches(p, q, x) {
                    self.encroached.push(edge.vertices().map(|v| v.fix()));
                }
                continue;
            }
            let beyond = edge.rev();
            if let Some(r) = beyond.opposite_position()
                && in_circle(q, p, r, x)
            {
                self.stack.push(beyond.next().fix());
                self.stack.push(beyond.prev().fix());
            }
        }
    }
}

enum Walk {
    /// The point lies in this face.
    Inside(FixedFaceHandle<InnerTag>),
    /// This constraint lies between.
    Blocked(FixedUndirectedEdgeHandle),
    /// Not found.
    Lost,
}

/// Whether `x` lies inside the circle that has the side as its diameter.
fn encroaches(p: Point2<f64>, q: Point2<f64>, x: Point2<f64>) -> bool {
    (point(p) - point(x)).dot(point(q) - point(x)) < 0.0
}

/// Whether `x` lies inside the circle through a, b, c (counter-clockwise).
fn in_circle(a: Point2<f64>, b: Point2<f64>, c: Point2<f64>, x: Point2<f64>) -> bool {
    let [a, b, c] = [a, b, c].map(|p| point(p) - point(x));
    a.dot(a) * b.cross(c) + b.dot(b) * c.cross(a) + c.dot(c) * a.cross(b) > 0.0
}

/// Where along a side of this length to split it, as a share from its first end: in the middle,
/// or, where just one end is a vertex of the plan, at the power of two nearest to the middle as
/// seen from that end.
fn split_share(length: f64, first_is_original: bool, second_is_original: bool) -> f64 {
    let shell = (0.5 * length).log2().round().exp2() / length;
    match (first_is_original, second_is_original) {
        (true, false) => shell,
        (false, true) => 1.0 - shell,
        _ => 0.5,
    }
}

/// The point that stands `share` of the way from p to q, measured along the chord from p for
/// shares up to a half and from q above, on the true arc.
fn place_on(side: Side, p: Point, q: Point, share: f64) -> Point {
    if let Side::Arc { centre, .. } = side {
        // The side may run against its edge; edges turn by less than half a circle.
        let counter_clockwise = (p - centre).cross(q - centre) > 0.0;
        let piece = Piece { from: p, to: q, side: Side::Arc { centre, counter_clockwise } };
        if share == 0.5 {
            return piece.middle();
        }
        let chord = p.distance(q);
        let r = piece.radius();
        // A chord c of a circle subtends 2 asin(c / 2r): points on different edges at the same
        // chord from a common corner are equally far from it.
        let angle = |c: f64| 2.0 * (0.5 * c / r).min(1.0).asin();
        let whole = piece.sweep().abs();
        return if share < 0.5 {
            piece.at(angle(share * chord) / whole)
        } else {
            piece.at(1.0 - angle((1.0 - share) * chord) / whole)
        };
    }
    if share == 0.5 { (p + q) * 0.5 } else { p + (q - p) * share }
}

fn crossing(plan: &Plan, p: Point) -> MeshError {
    let p = plan.millimetres(p);
    MeshError::Crossing { x_mm: p.x, y_mm: p.y }
}

fn refused(plan: &Plan, p: Point) -> MeshError {
    let p = plan.millimetres(p);
    MeshError::Triangulation { x_mm: p.x, y_mm: p.y }
}

/// Vertices, triangles and sides out of spade's structure.
fn extract(cdt: &Cdt) -> Triangulation {
    let points = cdt.vertices().map(|v| point(v.position())).collect();
    // Face 0 is the outer one.
    let number = |face: usize| if face == 0 { NO_TRIANGLE } else { face as u32 - 1 };
    let mut triangles = Vec::with_capacity(cdt.num_inner_faces());
    let mut sides_of = Vec::with_capacity(cdt.num_inner_faces());
    for face in cdt.inner_faces() {
        let edges = face.adjacent_edges();
        triangles.push(edges.map(|e| e.from().index() as u32));
        sides_of.push(edges.map(|e| e.as_undirected().fix().index() as u32));
    }
    let sides = cdt
        .undirected_edges()
        .map(|e| {
            let edge = e.as_directed();
            let mark = *e.data().data();
            SideOfMesh {
                ends: edge.vertices().map(|v| v.index() as u32),
                triangles: [number(edge.face().index()), number(edge.rev().face().index())],
                edge: if e.is_constraint_edge() && mark > 0 { mark - 1 } else { NO_EDGE },
            }
        })
        .collect();
    Triangulation { points, triangles, sides_of, sides }
}
