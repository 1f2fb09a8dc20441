//! A solved field as a VTK grid: what [`super::vtk`] writes, evaluated from a [`Field`].
//!
//! Flux density and field strength are taken at the middle of each triangle. In magnets field
//! strength is the mean over the quadrature points, as what a magnet remembers is known there.
//! Relative permeability is |B| / (mu_0 |H|) of soft parts and that of the recoil line of magnets.

use std::io::Write;

use crate::field::element::QUADRATURE;
use crate::field::{Body, Field};
use crate::material::Law;
use crate::quantity::Quantities;
use crate::section::{Section, Symmetry};
use crate::units::MU_0;

use super::vtk::{Packing, StringLine, VtuError, VtuFields, write_strings_vtu, write_vtu};

/// Below this flux density (T) the permeability of a soft part is that at its origin.
const NO_FLUX: f64 = 1e-12;

/// Writes `field` as a VTK unstructured grid.
///
/// # Errors
/// `out` failed, or the field holds a value that is not finite.
pub fn write_field(field: &Field, packing: Packing, out: &mut impl Write) -> Result<(), VtuError> {
    let (mesh, setup) = (field.mesh(), field.setup());
    let body_of = |t: usize| &setup.bodies[mesh.region_of[t] as usize];
    let n = mesh.triangles.len();
    let flux_density: Vec<[f64; 2]> =
        (0..n).map(|t| field.flux_density(t, 1.0 / 3.0, 1.0 / 3.0)).collect();
    let field_strength: Vec<[f64; 2]> =
        (0..n).map(|t| field_strength(field, t, body_of(t), flux_density[t])).collect();
    let relative_permeability: Vec<f64> =
        (0..n).map(|t| permeability(body_of(t), flux_density[t])).collect();
    let vector_potential: Vec<f64> = match mesh.symmetry {
        Symmetry::Planar => field.nodal.clone(),
        // The unknown is A_phi / r.
        Symmetry::Axisymmetric => {
            mesh.nodes.iter().zip(&field.nodal).map(|(p, v)| p.x * v).collect()
        }
    };
    let fields = VtuFields {
        vector_potential: &vector_potential,
        flux_density: &flux_density,
        field_strength: &field_strength,
        relative_permeability: &relative_permeability,
    };
    write_vtu(mesh, &fields, packing, out)
}

/// Writes the strings that are coupled in three dimensions, one poly-line each; `None`, and
/// nothing written, where there are none.
///
/// The section's x and y stay as they are and z points out of it; a string that stands sideways by
/// a positive offset lies at negative z.
///
/// # Errors
/// As [`write_field`].
pub fn write_strings(
    section: &Section,
    quantities: &Quantities,
    packing: Packing,
    out: &mut impl Write,
) -> Option<Result<(), VtuError>> {
    // (along the string, sideways, up) to (x, y, z).
    let turned = |vectors: &[[f64; 3]]| -> Vec<[f64; 3]> {
        vectors.iter().map(|[along, sideways, up]| [*along, *up, -sideways]).collect()
    };
    let coupled: Vec<_> = quantities
        .strings
        .iter()
        .zip(&section.strings)
        .filter_map(|(reading, spec)| Some((spec, reading.coupled.as_ref()?)))
        .map(|(spec, string)| {
            let places: Vec<[f64; 3]> =
                string.x.iter().map(|x| [*x, spec.axis.y, -spec.offset]).collect();
            let vectors = [&string.magnetisation, &string.flux_density, &string.field_strength]
                .map(|v| turned(v));
            (spec, places, vectors)
        })
        .collect();
    if coupled.is_empty() {
        return None;
    }
    let lines: Vec<StringLine<'_>> = coupled
        .iter()
        .map(|(spec, places, [magnetisation, flux_density, field_strength])| StringLine {
            name: &spec.name,
            diameter: spec.core_diameter,
            places,
            magnetisation,
            flux_density,
            field_strength,
        })
        .collect();
    Some(write_strings_vtu(&lines, packing, out))
}

fn field_strength(field: &Field, t: usize, body: &Body, b: [f64; 2]) -> [f64; 2] {
    if !body.law.is_magnet() {
        return body.law.respond(b, body.axis, None).h;
    }
    let memory = field.setup().memory.as_ref();
    let mut sum = [0.0; 2];
    let mut weights = 0.0;
    for (q, &[xi, eta, weight]) in QUADRATURE.iter().enumerate() {
        let seen = memory.and_then(|m| m.at(t, q));
        let h = body.law.respond(field.flux_density(t, xi, eta), body.axis, seen).h;
        sum = [sum[0] + weight * h[0], sum[1] + weight * h[1]];
        weights += weight;
    }
    sum.map(|s| s / weights)
}

fn permeability(body: &Body, b: [f64; 2]) -> f64 {
    match &body.law {
        Law::Linear { mu_r } => *mu_r,
        Law::Magnet(curve) => curve.recoil(),
        Law::Soft(_) => {
            let answer = body.law.respond(b, body.axis, None);
            let size = b[0].hypot(b[1]);
            if size < NO_FLUX {
                1.0 / (MU_0 * answer.tangent[0])
            } else {
                size / (MU_0 * answer.h[0].hypot(answer.h[1]))
            }
        }
    }
}
