//! What the numbers of parts and the forces on bodies would be in the cubic space.
//!
//! In: the numbers of a field, and what the cubic space ([`crate::field::enriched`]) would change in it. Out:
//! the numbers with the means, working points and peaks of B + curl e, and with the pulls of its stress
//! ([`crate::quantity::shape_change`]). None of these is a number that the mesh is made for, so that the
//! last refinement may have left their places alone; by how much they differ says what it left there.

use rayon::prelude::*;

use crate::field::Field;
use crate::field::element::{self, Evaluated, QUADRATURE};
use crate::field::enriched::{Cubic, N_SHAPES, Shapes, quadrature};
use crate::geometry::RegionId;
use crate::quantity::model::{PartReading, Quantities};
use crate::quantity::movement::Movement;
use crate::quantity::shape_change::{REFERENCE, differences, directions, gradient, pull_density};
use crate::quantity::working_point::{Sample, WorkingPoint, working_point_of};

/// `quantities` of `field` as they would be with `e` added to it; `without` is the field without strings.
pub fn seen_readings(
    quantities: &Quantities,
    field: &Field,
    without: &Field,
    e: &Cubic,
    movement: &Movement,
) -> Quantities {
    let mesh = field.mesh();
    let mut seen = quantities.clone();
    for part in &mut seen.parts {
        if let Some(region) = mesh.regions.iter().position(|of| of.name == part.name) {
            read_part(part, field, without, e, region as RegionId);
        }
    }
    for (body, change) in movement.bodies.iter().zip(pull_changes(field, e, movement)) {
        let members = body.members(mesh);
        if let Some(pull) = seen.pulls.iter_mut().find(|pull| pull.members == members) {
            pull.pull = [pull.pull[0] + change[0], pull.pull[1] + change[1]];
        }
    }
    seen
}

/// Measure and flux density at the quadrature points of a triangle, without and with `e`.
fn samples(field: &Field, e: &Cubic, t: usize) -> [[Sample; QUADRATURE.len()]; 2] {
    let mesh = field.mesh();
    let (u, e) = (field.of_triangle(t), e.of_triangle(mesh, t));
    let mut both = [[(0.0, [0.0; 2]); QUADRATURE.len()]; 2];
    for (q, (at, shapes, w)) in quadrature(mesh, t).enumerate() {
        let m = w * at.measure(mesh.symmetry);
        let b = element::flux_density(&at.flux_density_basis(mesh.symmetry), &u);
        both[0][q] = (m, b);
        let basis = shapes.flux_density_basis(mesh, &at);
        both[1][q] =
            (m, [0, 1].map(|k| b[k] + (0..N_SHAPES).map(|i| basis[i][k] * e[i]).sum::<f64>()));
    }
    both
}

fn read_part(part: &mut PartReading, field: &Field, without: &Field, e: &Cubic, region: RegionId) {
    let mesh = field.mesh();
    let own: Vec<usize> =
        (0..mesh.triangles.len()).filter(|&t| mesh.region_of[t] == region).collect();
    let sampled: Vec<[[Sample; QUADRATURE.len()]; 2]> =
        own.par_iter().map(|&t| samples(field, e, t)).collect();
    let (mut measure, mut change, mut largest) = (0.0, [0.0; 2], [0.0_f64; 2]);
    for ((m, old), (_, new)) in sampled.iter().flat_map(|[old, new]| old.iter().zip(new)) {
        measure += m;
        for k in 0..2 {
            change[k] += m * (new[k] - old[k]);
        }
        largest = [largest[0].max(old[0].hypot(old[1])), largest[1].max(new[0].hypot(new[1]))];
    }
    let before = part.flux_density[1];
    part.flux_density = [0, 1].map(|k| part.flux_density[k] + change[k] / measure);
    if before != 0.0 {
        part.upward_flux *= part.flux_density[1] / before;
    }
    part.largest += largest[1] - largest[0];
    // What is remembered of the field without strings is as wrong as the field itself.
    let memory = without.setup().memory.as_deref();
    let [old, new] = [0, 1].map(|i| {
        let samples = own.iter().zip(&sampled).map(|(&t, both)| (t, both[i].as_slice()));
        working_point_of(field, region, memory, samples)
    });
    if let (Some(point), Some(old), Some(new)) = (&mut part.working_point, old, new) {
        let moved = |to: &mut f64, of: fn(&WorkingPoint) -> f64| *to += of(&new) - of(&old);
        moved(&mut point.field_strength, |p| p.field_strength);
        moved(&mut point.flux_density, |p| p.flux_density);
        moved(&mut point.lowest_field_strength, |p| p.lowest_field_strength);
        moved(&mut point.permeance, |p| p.permeance);
        moved(&mut point.share_below_knee, |p| p.share_below_knee);
        moved(&mut point.charge_kept, |p| p.charge_kept);
    }
}

/// What `e` changes in the pull on every body.
fn pull_changes(field: &Field, e: &Cubic, movement: &Movement) -> Vec<[f64; 2]> {
    let mesh = field.mesh();
    let air: Vec<usize> = (0..mesh.triangles.len()).filter(|&t| mesh.region_of[t] == 0).collect();
    let parts: Vec<[[f64; 2]; 2]> = air.par_iter().map(|&t| pull_change(field, e, t)).collect();
    let of = |weights: &Vec<f64>| {
        let mut pull = [0.0; 2];
        for (&t, part) in air.iter().zip(&parts) {
            let delta = differences(mesh, t, weights);
            for k in directions(mesh.symmetry) {
                pull[k] += delta[0] * part[0][k] + delta[1] * part[1][k];
            }
        }
        pull
    };
    movement.weights.iter().map(of).collect()
}

/// Of one air triangle, `[reference direction][component of the move]`.
fn pull_change(field: &Field, e: &Cubic, t: usize) -> [[f64; 2]; 2] {
    let mesh = field.mesh();
    let (u, e) = (field.of_triangle(t), e.of_triangle(mesh, t));
    let mut change = [[0.0; 2]; 2];
    for (at, shapes, w) in quadrature(mesh, t) {
        let old = pull_density(mesh.symmetry, &at, field_at(mesh.symmetry, &at, &u));
        let (b, g) = field_at(mesh.symmetry, &at, &u);
        let (more_b, more_g) = change_at(mesh, &at, &shapes, &e);
        let both = ([b[0] + more_b[0], b[1] + more_b[1]], [g[0] + more_g[0], g[1] + more_g[1]]);
        let new = pull_density(mesh.symmetry, &at, both);
        for d in 0..REFERENCE.len() {
            for k in 0..2 {
                change[d][k] += w * at.measure(mesh.symmetry) * (new[d][k] - old[d][k]);
            }
        }
    }
    change
}

/// Flux density and gradient of the unknown.
fn field_at(
    symmetry: crate::section::Symmetry,
    at: &Evaluated,
    u: &[f64; 6],
) -> ([f64; 2], [f64; 2]) {
    (element::flux_density(&at.flux_density_basis(symmetry), u), gradient(at, u))
}

fn change_at(
    mesh: &crate::mesh::Mesh,
    at: &Evaluated,
    shapes: &Shapes,
    e: &[f64; N_SHAPES],
) -> ([f64; 2], [f64; 2]) {
    let basis = shapes.flux_density_basis(mesh, at);
    let sum = |of: &[[f64; 2]; N_SHAPES]| {
        [0, 1].map(|k| of.iter().zip(e).map(|(v, e)| v[k] * e).sum::<f64>())
    };
    (sum(&basis), sum(&shapes.grad))
}

#[cfg(test)]
#[expect(clippy::expect_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::material::Library;
    use crate::pipeline::{fields, prepare, read_with};
    use crate::quantity::region_mean::region_means;
    use crate::quantity::shape_change::shape_change;
    use crate::quantity::working_point::working_point;

    /// With a change that the quadratic space knows itself, the numbers are those of the changed field.
    #[test]
    fn a_change_of_the_unknowns_reads_as_the_changed_field() {
        for text in [
            include_str!("../../../meshes/rod.toml"),
            include_str!("../../../meshes/steel-poles.toml"),
        ] {
            let text = format!("mesh_scale = 4\n{text}");
            let prepared = prepare(&text, &Library::built_in()).expect("no mistakes");
            let fields = fields(&prepared).expect("solves");
            let (quantities, workings) = read_with(&prepared, &fields).expect("numbers");
            let field = fields.field();
            let mesh = field.mesh();
            let mut e = Cubic::zeros(mesh);
            let mut changed = field.clone();
            for (node, (e, u)) in e.nodal.iter_mut().zip(&mut changed.nodal).enumerate() {
                *e = 0.01 * *u * (1.0 + mesh.nodes[node].y / 0.02);
                *u += *e;
            }
            let seen = seen_readings(&quantities, field, &fields.without, &e, &workings.movement);
            let close = |a: f64, b: f64, size: f64| {
                // Rounding of sums over some thousand triangles.
                assert!((a - b).abs() <= 1e-9 * size, "{a:e} {b:e}");
            };
            let means = region_means(&changed);
            for (part, before) in seen.parts.iter().zip(&quantities.parts) {
                let region = mesh.regions.iter().position(|r| r.name == part.name).expect("there");
                for k in 0..2 {
                    close(part.flux_density[k], means[region].flux_density[k], 1.0);
                }
                close(part.largest, means[region].largest, 1.0);
                close(part.upward_flux, means[region].upward_flux(), before.upward_flux.abs());
                let Some(point) = &part.working_point else { continue };
                let of = working_point(&changed, region as RegionId).expect("a magnet");
                close(point.field_strength, of.field_strength, 1e5);
                close(point.lowest_field_strength, of.lowest_field_strength, 1e5);
                close(point.charge_kept, of.charge_kept, 1.0);
            }
            let [old, new] =
                [field, &changed].map(|f| shape_change(f, &workings.movement, &[]).pulls);
            for (k, told) in pull_changes(field, &e, &workings.movement).iter().enumerate() {
                for axis in 0..2 {
                    let pull = new[k][axis] - old[k][axis];
                    close(told[axis], pull, 1.0_f64.max(new[k][axis].abs()));
                }
            }
        }
    }
}
