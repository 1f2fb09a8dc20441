//! A solved section seen from above: what a string over it meets.
//!
//! In: the field without strings, the coils' own fields per ampere (small-change answers, poles on
//! their working point), the height of the sampling line. Out: an [`Above`] that couples any
//! number of strings without another solve of the section.

use crate::field::Field;
use crate::field::element;
use crate::field::linear_solve::LinearSolveError;
use crate::geometry::{Regions, Source};
use crate::material::StringMaterial;
use crate::mesh::{Locator, Mesh};
use crate::point::Point;
use crate::section::{StringSpec, Symmetry};
use crate::strings::{
    CoupledString, CouplingError, MagneticSection, PlaneSampling, Reaction, Segments, StringBody,
    UpperField, couple, linkage_rises, reaction,
};
use crate::units::MM;

/// Half of the length of string that is coupled, m: beyond it a string no longer feels the pickup.
const HALF_LENGTH: f64 = 40.0 * MM;

/// Distance up to which the far field is sampled, m.
const EXTENT: f64 = 0.3;

/// What strings above a section meet.
#[derive(Clone, Debug)]
pub struct Above {
    /// Field of the magnets and poles.
    pub upper: UpperField,
    /// Fields of the coils, per ampere.
    pub coils: Vec<UpperField>,
    /// Answer of the poles to a string's own field.
    pub reaction: Reaction,
    /// Where the fields were sampled.
    pub sampling: PlaneSampling,
    /// Highest metal, m.
    pub top: f64,
    /// Half width of the metal that comes within 3 mm of that height, m.
    pub half_width: f64,
}

impl Above {
    /// Samples the fields. `coils` are nodal unknowns per ampere, `[n_coils][n_nodes]`; `lowest` is
    /// the lowest height at which a string's metal will be, m.
    ///
    /// # Errors
    /// A matrix of the poles' reaction could not be factored.
    pub fn new(
        regions: &Regions,
        field: &Field,
        coils: &[&[f64]],
        z0: f64,
        lowest: f64,
        reach: f64,
    ) -> Result<Self, LinearSolveError> {
        let mesh = field.mesh();
        let locator = Locator::new(mesh);
        let extent = solid_extent(mesh);
        let sampling = PlaneSampling {
            z0,
            lowest,
            reach: HALF_LENGTH.hypot(reach) + 2.0 * MM,
            rough: extent.half_width + 0.5 * MM,
            extent: EXTENT.min(0.1 * regions.outer_radius),
            depth: z0 - 0.5 * (extent.top + extent.bottom),
        };
        let all: Vec<&[f64]> =
            std::iter::once(field.nodal.as_slice()).chain(coils.iter().copied()).collect();
        let potentials = |x: f64, values: &mut [f64]| {
            potentials_at(mesh, &locator, &all, Point::new(x, z0), values);
        };
        let mut fields = match mesh.symmetry {
            Symmetry::Planar => UpperField::all_planar(&potentials, all.len(), &sampling),
            Symmetry::Axisymmetric => {
                UpperField::all_axisymmetric(&potentials, all.len(), &sampling)
            }
        };
        let coils = fields.split_off(1);
        Ok(Self {
            upper: fields.pop().unwrap_or_default(),
            coils,
            sampling,
            reaction: reaction(field, extent.top, lowest)?,
            top: extent.top,
            half_width: extent.half_width,
        })
    }

    /// Couples the string `spec`, made of `material`.
    ///
    /// # Errors
    /// As [`couple`].
    pub fn string(
        &self,
        spec: &StringSpec,
        material: &StringMaterial,
    ) -> Result<CoupledString, CouplingError> {
        let (body, at) = self.placed(spec, material)?;
        couple(&self.upper, &self.coils, Some(&self.reaction), &body, at)
    }

    /// Rise of each coil's linkage when the string `spec` is brought in, Wb-turns.
    ///
    /// # Errors
    /// As [`linkage_rises`].
    pub fn linkage_rises(
        &self,
        spec: &StringSpec,
        material: &StringMaterial,
    ) -> Result<Vec<f64>, CouplingError> {
        let (body, at) = self.placed(spec, material)?;
        linkage_rises(&self.upper, &self.coils, Some(&self.reaction), &body, at)
    }

    /// The string as a body, and where its middle is, m.
    pub(crate) fn placed(
        &self,
        spec: &StringSpec,
        material: &StringMaterial,
    ) -> Result<(StringBody, [f64; 3]), CouplingError> {
        let height = spec.axis.y - self.top;
        let core = self.half_width + 2.0 * height + spec.offset.abs();
        let segments = Segments::graded(HALF_LENGTH, core, height);
        let section = MagneticSection::of(spec, material);
        let body = StringBody::new(section.radius, segments, section.law)?;
        Ok((body, [spec.axis.x, spec.offset, spec.axis.y]))
    }
}

/// A_z or A_phi of each of several nodal unknowns at a place, Wb/m; 0 outside the mesh.
fn potentials_at(
    mesh: &Mesh,
    locator: &Locator,
    nodal: &[&[f64]],
    place: Point,
    values: &mut [f64],
) {
    let Some((t, [xi, eta])) = locator.locate(place) else { return values.fill(0.0) };
    let at = element::evaluate(&element::corners(mesh, t), xi, eta);
    let basis = at.potential_basis(mesh.symmetry);
    for (value, nodal) in values.iter_mut().zip(nodal) {
        *value =
            mesh.triangles[t].iter().zip(basis).map(|(&node, a)| a * nodal[node as usize]).sum();
    }
}

struct Extent {
    top: f64,
    bottom: f64,
    half_width: f64,
}

/// How far the solid parts reach.
fn solid_extent(mesh: &Mesh) -> Extent {
    let mut boxes = vec![[f64::INFINITY, f64::NEG_INFINITY, 0.0]; mesh.regions.len()];
    for (nodes, &region) in mesh.triangles.iter().zip(&mesh.region_of) {
        let own = &mut boxes[region as usize];
        for &node in nodes {
            let p = mesh.nodes[node as usize];
            *own = [own[0].min(p.y), own[1].max(p.y), own[2].max(p.x.abs())];
        }
    }
    let solid: Vec<[f64; 3]> = mesh
        .regions
        .iter()
        .zip(boxes)
        .filter(|(region, _)| matches!(region.source, Source::Part(_)))
        .map(|(_, own)| own)
        .collect();
    let top = solid.iter().map(|b| b[1]).fold(f64::NEG_INFINITY, f64::max);
    let bottom = solid.iter().map(|b| b[0]).fold(f64::INFINITY, f64::min);
    let half_width =
        solid.iter().filter(|b| b[1] > top - 3.0 * MM).map(|b| b[2]).fold(0.0, f64::max);
    Extent { top, bottom, half_width }
}
