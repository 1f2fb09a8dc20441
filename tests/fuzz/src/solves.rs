//! What must hold for every section that can be meshed: it is solved, and its numbers are sound.
//!
//! Work is bounded by counts: a mesh of more than the triangles that are allowed is refused before it is
//! made, and Newton's method gives up after [`lodestring::field::MAX_STEPS`] factorisations.

use std::sync::Arc;

use lodestring::field::element;
use lodestring::field::{Field, MAX_STEPS, Space, TARGET};
use lodestring::material::Library;
use lodestring::mesh::{MeshError, mesh_within};
use lodestring::pipeline::{SolveError, fields_on, prepare, read};
use lodestring::quantity::Quantities;
use lodestring::units::MU_0;

use crate::holds::told_well;

/// How a section ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// Refused in words.
    Refused,
    /// Refused for the size of its mesh, before it was made.
    TooLarge,
    /// Solved, with everything as it must be.
    Solved,
}

/// Reads, meshes with at most about `most` triangles, and solves a section; panics where what comes out
/// cannot be right.
pub fn solve_holds(text: &str, most: usize) -> End {
    let prepared = match prepare(text, &Library::built_in()) {
        Ok(prepared) => prepared,
        Err(SolveError::Section(problems)) => {
            assert!(!problems.is_empty(), "refused in silence");
            told_well(&problems, text);
            return End::Refused;
        }
        Err(other) => panic!("{other}"),
    };
    let mesh = match mesh_within(&prepared.regions, most) {
        Ok(mesh) => mesh,
        Err(MeshError::TooLarge { triangles, limit }) => {
            assert!(triangles > limit / 2, "{triangles} of {limit}");
            return End::TooLarge;
        }
        Err(MeshError::Crossing { .. }) => return End::Refused,
        Err(other) => panic!("{other}"),
    };
    let space = Arc::new(Space::of_potential(Arc::new(mesh)).expect("memory for a small mesh"));
    let fields = fields_on(&prepared, space, None).unwrap_or_else(|error| panic!("{error}"));
    for field in [Some(&fields.without), fields.with.as_ref()].into_iter().flatten() {
        assert!(field.info.iterations() <= MAX_STEPS, "{:?}", field.info);
        assert!(field.info.residual() <= TARGET, "{:?}", field.info);
        energy_balances(field);
    }
    let quantities = read(&prepared, &fields).unwrap_or_else(|error| panic!("{error}"));
    finite(&quantities);
    forces_balance(&quantities);
    End::Solved
}

/// The field is where the energy is least, so going along itself changes nothing: the integral of B . H is
/// that of j A, for any law. The outer boundary has A = 0.
fn energy_balances(field: &Field) {
    let mesh = field.mesh();
    let (mut sum, mut size) = (0.0, 0.0_f64);
    for t in 0..mesh.triangles.len() {
        let body = &field.setup().bodies[mesh.region_of[t] as usize];
        let lowest = |q| field.setup().memory.as_ref().and_then(|memory| memory.at(t, q));
        for (q, (at, weight)) in element::quadrature(&element::corners(mesh, t)).enumerate() {
            let [xi, eta, _] = element::QUADRATURE[q];
            let b = field.flux_density(t, xi, eta);
            let h = body.law.respond(b, body.axis, lowest(q)).h;
            let w = weight * at.measure(mesh.symmetry);
            let source = body.current_density * field.vector_potential(t, xi, eta);
            sum += w * (b[0] * h[0] + b[1] * h[1] - source);
            size += w * ((b[0] * h[0] + b[1] * h[1]).abs() + source.abs());
        }
    }
    // u . R is at most |R| |u| in the norm of the diagonal: the residual of 1e-10 times the root of the
    // condition number of the scaled matrix, which grows with the unknowns and is some tens on meshes of this
    // size. Found: 1e-11.
    assert!(sum.abs() <= 1e-9 * size, "energy: {sum:e} of {size:e}");
}

/// Every number is one.
fn finite(q: &Quantities) {
    for pull in &q.pulls {
        assert!(pull.pull.iter().all(|p| p.is_finite()), "{pull:?}");
    }
    for coil in &q.coils {
        let numbers = [coil.linkage, coil.linkage_without, coil.inductance];
        assert!(numbers.iter().all(|x| x.is_finite()) && coil.inductance > 0.0, "{coil:?}");
    }
    for part in &q.parts {
        let [x, y] = part.flux_density;
        let numbers = [x, y, part.largest, part.upward_flux];
        assert!(numbers.iter().all(|x| x.is_finite()), "{part:?}");
        // A mean is no larger than the largest; rounding of a sum over some thousand points.
        assert!(x.hypot(y) <= part.largest * (1.0 + 1e-9), "{part:?}");
    }
    for string in &q.strings {
        let numbers = string.pull.iter().chain(&string.flux_density_without);
        let changes = string.linkage_change.iter().flatten();
        assert!(numbers.chain(changes).all(|x| x.is_finite()), "{string:?}");
    }
    for probe in &q.probes {
        let read = probe.with_strings.iter().chain(&probe.without_strings).flatten().flatten();
        assert!(read.copied().all(f64::is_finite), "{}", probe.name);
    }
}

/// The pulls on all bodies sum to nothing: only the outer boundary is left to push on.
fn forces_balance(q: &Quantities) {
    let mut sum = [0.0; 2];
    let mut largest: f64 = 0.0;
    for body in &q.pulls {
        for k in 0..2 {
            sum[k] += body.pull[k];
            largest = largest.max(body.pull[k].abs());
        }
    }
    // The tension that parts carry is the measure where bodies hardly pull, as in the test of the shipped sections.
    for part in &q.parts {
        largest = largest.max((part.flux_density[1] * part.upward_flux).abs() / (2.0 * MU_0));
    }
    // What is left is the force on the outer boundary. Found: 7e-10.
    assert!(sum[0].hypot(sum[1]) <= 1e-8 * largest, "{sum:?} of {largest}");
}
