//! Constrained Delaunay triangulation with a size field: the only file that names spade.
//!
//! Refinement after Ruppert: pieces of edges that are too long or whose diametral circle holds a
//! vertex are split (arcs on the true arc), then triangles that are too large or too thin get a
//! vertex at their circumcentre, unless that vertex would come too near a piece, which is split
//! instead. Where two edges meet at a sharp input angle, pieces are split on common circles about
//! the corner (powers of two), so that they stop provoking each other.
//!
//! Deterministic: queues are first in, first out, and start in the order of the input.

use std::collections::{BTreeMap, VecDeque};

use spade::handles::{FixedFaceHandle, FixedVertexHandle, InnerTag};
use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation as _};

use crate::geometry::RegionId;
use crate::mesh::curve::Curve;
use crate::mesh::error::MeshError;
use crate::mesh::size::SizeField;
use crate::point::Point;

/// A piece of an edge between two vertices.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Piece {
    /// First and second vertex, in the direction of the edge.
    pub ends: [u32; 2],
    /// Which edge.
    pub edge: u32,
    /// Parameters of the ends on the edge.
    pub t: [f64; 2],
}

/// Triangles over the whole domain.
#[derive(Clone, Debug)]
pub struct Triangulation {
    /// Vertices, m.
    pub points: Vec<Point>,
    /// Vertex ids, counter-clockwise.
    pub triangles: Vec<[u32; 3]>,
    /// Region of each triangle.
    pub region_of: Vec<RegionId>,
    /// The pieces of all edges.
    pub pieces: Vec<Piece>,
}

/// Smallest angle aimed at, degrees.
const ANGLE: f64 = 26.5;
/// A triangle is too large when its circumradius squared is above this times h squared.
const LARGE: f64 = 0.5;
/// A piece is too long above this times h.
const LONG: f64 = 1.3;

type Cdt = ConstrainedDelaunayTriangulation<Point2<f64>>;
type Vertex = FixedVertexHandle;
type Face = FixedFaceHandle<InnerTag>;

/// Triangulates and refines.
///
/// `points` are distinct; `pieces` meet only at points; `sides[edge]` gives the region left and
/// right of an edge, a value outside the list of regions beyond the outer boundary.
///
/// # Errors
/// More than `limit` vertices, or pieces that cross.
pub fn triangulate(
    points: &[Point],
    pieces: &[Piece],
    curves: &[Curve],
    sides: &[[RegionId; 2]],
    size: &SizeField,
    limit: usize,
) -> Result<Triangulation, MeshError> {
    let vertices: Vec<Point2<f64>> = points.iter().map(|p| Point2::new(p.x, p.y)).collect();
    let edges = pieces.iter().map(|p| p.ends.map(|v| v as usize)).collect();
    let mut conflict = None;
    let cdt = Cdt::try_bulk_load_cdt(vertices, edges, |e| conflict = conflict.or(Some(e)))
        .map_err(|_| MeshError::Unsound("a corner is not a finite number".into()))?;
    if let Some([a, _]) = conflict {
        return Err(MeshError::tangled(points.get(a).copied().unwrap_or_default()));
    }
    if cdt.num_vertices() != points.len() || cdt.num_constraints() != pieces.len() {
        let at = pieces.first().map_or(Point::default(), |p| points[p.ends[0] as usize]);
        return Err(MeshError::tangled(at));
    }
    let mut refiner = Refiner::new(cdt, pieces, curves, size, limit);
    refiner.run()?;
    refiner.finish(sides)
}

struct Refiner<'a> {
    cdt: Cdt,
    /// Every piece by its ends in ascending order.
    pieces: BTreeMap<[u32; 2], Piece>,
    /// The edge a vertex lies on; `None` inside or at a corner of the input.
    edge_of: Vec<Option<u32>>,
    /// Edges that meet at each of them.
    corner_edges: BTreeMap<u32, Vec<u32>>,
    curves: &'a [Curve],
    size: &'a SizeField,
    limit: usize,
    split: VecDeque<[u32; 2]>,
    check: VecDeque<[u32; 3]>,
    hints: VecDeque<Face>,
}

fn of(p: Point2<f64>) -> Point {
    Point::new(p.x, p.y)
}

/// Orientation: twice the signed area.
fn cross(a: Point, b: Point, c: Point) -> f64 {
    (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)
}

/// True where `p` lies inside the circle with diameter a b.
fn in_diametral_circle(a: Point, b: Point, p: Point) -> bool {
    let (u, v) = (a - p, b - p);
    u.x * v.x + u.y * v.y < -1e-12 * a.distance(b) * a.distance(b)
}

fn circumcentre(p: [Point; 3]) -> Option<(Point, f64)> {
    let (b, c) = (p[1] - p[0], p[2] - p[0]);
    let d = 2.0 * (b.x * c.y - b.y * c.x);
    if d.abs() < 1e-300 {
        return None;
    }
    let (b2, c2) = (b.x * b.x + b.y * b.y, c.x * c.x + c.y * c.y);
    let o = Point::new((c.y * b2 - b.y * c2) / d, (b.x * c2 - c.x * b2) / d);
    Some((p[0] + o, o.x * o.x + o.y * o.y))
}

impl<'a> Refiner<'a> {
    fn new(
        cdt: Cdt,
        pieces: &[Piece],
        curves: &'a [Curve],
        size: &'a SizeField,
        limit: usize,
    ) -> Self {
        let key = |p: &Piece| [p.ends[0].min(p.ends[1]), p.ends[0].max(p.ends[1])];
        let mut edge_of = vec![None; cdt.num_vertices()];
        let mut corner_edges: BTreeMap<u32, Vec<u32>> = BTreeMap::new();
        for piece in pieces {
            for (end, t) in piece.ends.into_iter().zip(piece.t) {
                if t == 0.0 || t == 1.0 {
                    corner_edges.entry(end).or_default().push(piece.edge);
                } else {
                    edge_of[end as usize] = Some(piece.edge);
                }
            }
        }
        Self {
            cdt,
            pieces: pieces.iter().map(|p| (key(p), *p)).collect(),
            edge_of,
            corner_edges,
            curves,
            size,
            limit,
            split: pieces.iter().map(key).collect(),
            check: VecDeque::new(),
            hints: VecDeque::new(),
        }
    }

    fn place(&self, v: u32) -> Point {
        of(self.cdt.vertex(Vertex::from_index(v as usize)).position())
    }

    fn run(&mut self) -> Result<(), MeshError> {
        let mut seeded = false;
        loop {
            while let Some(key) = self.split.pop_front() {
                if self.pieces.contains_key(&key) && self.must_split(key) {
                    self.split_piece(key)?;
                }
            }
            if !seeded {
                seeded = true;
                let faces: Vec<Face> = self.cdt.fixed_inner_faces().collect();
                for face in faces {
                    self.enqueue(face);
                }
            }
            let (Some(corners), Some(face)) = (self.check.pop_front(), self.hints.pop_front())
            else {
                return Ok(());
            };
            if self.cdt.num_inner_faces() > face.index() && self.corners(face) == corners {
                self.improve(face, corners)?;
            }
        }
    }

    fn corners(&self, face: Face) -> [u32; 3] {
        self.cdt.face(face).vertices().map(|v| v.fix().index() as u32)
    }

    fn enqueue(&mut self, face: Face) {
        self.check.push_back(self.corners(face));
        self.hints.push_back(face);
    }

    fn must_split(&self, key: [u32; 2]) -> bool {
        let (a, b) = (self.place(key[0]), self.place(key[1]));
        if a.distance(b) > LONG * self.size.at((a + b) * 0.5) {
            return true;
        }
        let ends = key.map(|v| Vertex::from_index(v as usize));
        let Some(edge) = self.cdt.get_edge_from_neighbors(ends[0], ends[1]) else {
            return false;
        };
        [edge, edge.rev()]
            .iter()
            .filter_map(|side| side.opposite_position())
            .any(|p| in_diametral_circle(a, b, of(p)))
    }

    /// Where to split: the middle, or on a circle of power-of-two radius about an input corner.
    fn split_parameter(&self, piece: &Piece) -> f64 {
        let [t0, t1] = piece.t;
        let at_corner = piece.t.map(|t| t == 0.0 || t == 1.0);
        if at_corner[0] == at_corner[1] {
            return 0.5 * (t0 + t1);
        }
        let length = self.curves[piece.edge as usize].length() * (t1 - t0);
        // The power of two nearest to half the length on a logarithmic scale.
        let radius = (0.5 * length).log2().round().exp2();
        let part = (radius / length).clamp(0.25, 0.75);
        if at_corner[0] { t0 + part * (t1 - t0) } else { t1 - part * (t1 - t0) }
    }

    fn split_piece(&mut self, key: [u32; 2]) -> Result<(), MeshError> {
        let Some(piece) = self.pieces.get(&key).copied() else { return Ok(()) };
        let [a, b] = piece.ends;
        let t = self.split_parameter(&piece);
        let at = self.curves[piece.edge as usize].at(t);
        let ends = [a, b].map(|v| Vertex::from_index(v as usize));
        let Some(edge) = self.cdt.get_edge_from_neighbors(ends[0], ends[1]) else {
            return Err(MeshError::tangled(at));
        };
        let edge = edge.as_undirected().fix();
        self.cdt.remove_constraint_edge(edge);
        let m = self.insert(at, ends[0])?;
        let middle = Vertex::from_index(m as usize);
        let added = [
            self.cdt.try_add_constraint(ends[0], middle),
            self.cdt.try_add_constraint(middle, ends[1]),
        ];
        if added.iter().any(|edges| edges.len() != 1) {
            return Err(MeshError::tangled(at));
        }
        self.pieces.remove(&key);
        self.edge_of[m as usize] = Some(piece.edge);
        for (ends, t) in [([a, m], [piece.t[0], t]), ([m, b], [t, piece.t[1]])] {
            let key = [ends[0].min(ends[1]), ends[0].max(ends[1])];
            self.pieces.insert(key, Piece { ends, edge: piece.edge, t });
            self.split.push_back(key);
        }
        self.after_insertion(m);
        Ok(())
    }

    fn insert(&mut self, at: Point, hint: Vertex) -> Result<u32, MeshError> {
        let before = self.cdt.num_vertices();
        if before >= self.limit {
            let (place, size) = self.size.finest();
            return Err(MeshError::TooFine {
                limit: self.limit,
                x_mm: place.x * 1e3,
                y_mm: place.y * 1e3,
                size_um: size * 1e6,
            });
        }
        let inserted = self
            .cdt
            .insert_with_hint(Point2::new(at.x, at.y), hint)
            .map_err(|_| MeshError::tangled(at))?;
        if self.cdt.num_vertices() == before {
            return Err(MeshError::tangled(at));
        }
        self.edge_of.push(None);
        Ok(inserted.index() as u32)
    }

    /// Looks again at the triangles about a new vertex and at the pieces that bound them.
    fn after_insertion(&mut self, v: u32) {
        let at = self.place(v);
        let (mut faces, mut pieces) = (Vec::new(), Vec::new());
        for edge in self.cdt.vertex(Vertex::from_index(v as usize)).out_edges() {
            if let Some(face) = edge.face().as_inner() {
                faces.push(face.fix());
                let opposite = edge.next();
                if opposite.is_constraint_edge() {
                    let [p, q] = opposite.vertices().map(|v| v.fix().index() as u32);
                    if in_diametral_circle(self.place(p), self.place(q), at) {
                        pieces.push([p.min(q), p.max(q)]);
                    }
                }
            }
        }
        for face in faces {
            self.enqueue(face);
        }
        self.split.extend(pieces);
    }

    fn improve(&mut self, face: Face, corners: [u32; 3]) -> Result<(), MeshError> {
        let p = corners.map(|v| self.place(v));
        let Some((centre, radius2)) = circumcentre(p) else { return Ok(()) };
        let h = self.size.at((p[0] + p[1] + p[2]) * (1.0 / 3.0));
        let lengths = [0, 1, 2].map(|i| p[i].distance(p[(i + 1) % 3]));
        let shortest = (0..3).min_by(|&i, &j| lengths[i].total_cmp(&lengths[j])).unwrap_or(0);
        let large = radius2 > LARGE * h * h;
        let ratio = 0.5 / ANGLE.to_radians().sin();
        let thin = radius2 > (ratio * lengths[shortest]).powi(2);
        if !large && (!thin || self.is_input_angle(corners, shortest)) {
            return Ok(());
        }
        let encroached = self.encroached(face, centre);
        if encroached.is_empty() {
            let v = self.insert(centre, Vertex::from_index(corners[0] as usize))?;
            self.after_insertion(v);
            return Ok(());
        }
        // Split what is in the way, then look at this triangle again. Pieces shorter than the
        // size asks for are only split for the sake of angles.
        for key in encroached {
            self.split_piece(key)?;
        }
        if self.cdt.num_inner_faces() > face.index() && self.corners(face) == corners {
            self.enqueue(face);
        }
        Ok(())
    }

    /// True where the thin angle is one of the input: the shortest side joins two edges that meet
    /// at a corner.
    fn is_input_angle(&self, corners: [u32; 3], shortest: usize) -> bool {
        let (a, b) = (corners[shortest], corners[(shortest + 1) % 3]);
        let apex = corners[(shortest + 2) % 3];
        let is_piece = |u: u32, v: u32| self.pieces.contains_key(&[u.min(v), u.max(v)]);
        if is_piece(a, apex) && is_piece(b, apex) {
            return true;
        }
        let (Some(ea), Some(eb)) = (self.edge_of[a as usize], self.edge_of[b as usize]) else {
            return false;
        };
        if ea == eb {
            return false;
        }
        let meet = |edges: &Vec<u32>| edges.contains(&ea) && edges.contains(&eb);
        let (pa, pb) = (self.place(a), self.place(b));
        self.corner_edges.iter().any(|(&corner, edges)| {
            meet(edges) && {
                let c = self.place(corner);
                // On the same circle about the corner, and at a sharp angle seen from there.
                let (ra, rb) = (c.distance(pa), c.distance(pb));
                (ra - rb).abs() < 1e-3 * ra && pa.distance(pb) < ra
            }
        })
    }

    /// Pieces that a vertex at `centre` would encroach upon, or that lie between it and `face`.
    fn encroached(&self, face: Face, centre: Point) -> Vec<[u32; 2]> {
        let mut cavity = vec![face];
        let mut found = Vec::new();
        let mut next = 0;
        while next < cavity.len() {
            let current = cavity[next];
            next += 1;
            for edge in self.cdt.face(current).adjacent_edges() {
                let ends = edge.vertices().map(|v| v.fix().index() as u32);
                let [a, b] = edge.vertices().map(|v| of(v.position()));
                if edge.is_constraint_edge() {
                    if in_diametral_circle(a, b, centre) || cross(a, b, centre) <= 0.0 {
                        let key = [ends[0].min(ends[1]), ends[0].max(ends[1])];
                        if !found.contains(&key) {
                            found.push(key);
                        }
                    }
                    continue;
                }
                let Some(other) = edge.rev().face().as_inner() else { continue };
                let fixed = other.fix();
                if cavity.contains(&fixed) {
                    continue;
                }
                let p = other.vertices().map(|v| of(v.position()));
                if let Some((o, r2)) = circumcentre(p) {
                    let d = o - centre;
                    if d.x * d.x + d.y * d.y < r2 * (1.0 - 1e-12) {
                        cavity.push(fixed);
                    }
                }
            }
        }
        found
    }

    /// Floods the regions and hands out the triangles.
    fn finish(self, sides: &[[RegionId; 2]]) -> Result<Triangulation, MeshError> {
        let n_faces = self.cdt.num_inner_faces();
        let mut region: Vec<Option<RegionId>> = vec![None; n_faces + 1];
        let mut stack = Vec::new();
        for piece in self.pieces.values() {
            let ends = piece.ends.map(|v| Vertex::from_index(v as usize));
            let Some(edge) = self.cdt.get_edge_from_neighbors(ends[0], ends[1]) else { continue };
            let [left, right] = sides[piece.edge as usize];
            for (side, id) in [(edge, left), (edge.rev(), right)] {
                if let Some(face) = side.face().as_inner() {
                    let seen = &mut region[face.fix().index()];
                    if seen.is_some_and(|other| other != id) {
                        return Err(MeshError::tangled(self.place(piece.ends[0])));
                    }
                    if seen.is_none() {
                        *seen = Some(id);
                        stack.push(face.fix());
                    }
                }
            }
        }
        while let Some(face) = stack.pop() {
            let own = region[face.index()];
            for edge in self.cdt.face(face).adjacent_edges() {
                if edge.is_constraint_edge() {
                    continue;
                }
                if let Some(other) = edge.rev().face().as_inner() {
                    let seen = &mut region[other.fix().index()];
                    if seen.is_none() {
                        *seen = own;
                        stack.push(other.fix());
                    }
                }
            }
        }
        let n_regions = sides
            .iter()
            .flatten()
            .filter(|&&id| id != crate::geometry::OUTSIDE)
            .max()
            .map_or(0, |id| id + 1);
        let (mut triangles, mut region_of) = (Vec::new(), Vec::new());
        for face in self.cdt.fixed_inner_faces() {
            if let Some(id) = region[face.index()]
                && id < n_regions
            {
                triangles.push(self.corners(face));
                region_of.push(id);
            }
        }
        Ok(Triangulation {
            points: self.cdt.vertices().map(|v| of(v.position())).collect(),
            triangles,
            region_of,
            pieces: self.pieces.into_values().collect(),
        })
    }
}
