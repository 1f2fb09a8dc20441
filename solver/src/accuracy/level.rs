//! A section on one mesh.

use std::sync::Arc;

use crate::accuracy::Round;
use crate::field::enriched::Cubic;
use crate::field::{FieldError, Space};
use crate::mesh::SizeMap;
use crate::pipeline::{
    Fields, Prepared, SolveError, Start, fields_beside, fields_on, read_bare, read_with, unknowns,
};
use crate::quantity::weighted::error_without;
use crate::quantity::{Quantities, Workings};
use crate::report::record::Report;
use crate::report::solve::report;

/// A section meshed.
pub struct Level {
    prepared: Prepared,
    /// Its unknowns, and where to begin on them.
    space: Result<(Arc<Space>, Option<Start>), SolveError>,
}

/// What a level tells.
pub struct Reading {
    /// The numbers.
    pub quantities: Quantities,
    /// The same as a report.
    pub report: Report,
    /// What was worked out on the way.
    pub workings: Workings,
}

/// Groups of the report that a field tells before strings are coupled to it.
const BARE: [&str; 2] = ["parts", "probes"];

impl Level {
    /// Meshes the section with sizes `scale` times those it asks for.
    pub fn new(prepared: &Prepared, scale: f64) -> Self {
        Self::of(prepared, scale, None, None)
    }

    /// Meshes the section with `sizes`, `scale` times over, that the fields `before` asked for, near which it
    /// is then solved.
    pub fn after(prepared: &Prepared, scale: f64, sizes: &SizeMap, before: &Fields) -> Self {
        Self::of(prepared, scale, Some(sizes), Some(before))
    }

    fn of(
        prepared: &Prepared,
        scale: f64,
        sizes: Option<&SizeMap>,
        before: Option<&Fields>,
    ) -> Self {
        let mut prepared = prepared.clone();
        prepared.regions.mesh_scale *= scale;
        let space = unknowns(&prepared, sizes, before);
        Self { prepared, space }
    }

    /// Unknowns of its field; `None` where there is no mesh.
    pub fn unknowns(&self) -> Option<usize> {
        self.space.as_ref().ok().map(|(space, _)| space.n_unknowns())
    }

    /// As a round whose errors are not told.
    pub fn round(&self) -> Option<Round> {
        self.unknowns().map(|unknowns| Round { unknowns, error: None })
    }

    /// Solves it.
    pub fn fields(&self) -> Result<Fields, SolveError> {
        let (space, start) = self.space.as_ref().map_err(SolveError::clone)?;
        fields_on(&self.prepared, Arc::clone(space), start.as_ref())
    }

    /// As [`Level::fields`], with what the cubic space would change in the field without strings, where strings
    /// are meshed.
    pub fn fields_and_lack(&self) -> Result<(Fields, Option<Cubic>), SolveError> {
        let (space, start) = self.space.as_ref().map_err(SolveError::clone)?;
        let (fields, lacks) =
            fields_beside(&self.prepared, Arc::clone(space), start.as_ref(), error_without)?;
        Ok((fields, lacks.transpose().map_err(FieldError::from)?))
    }

    /// Solves it, starting from the fields on another mesh.
    pub fn fields_near(&self, before: &Fields) -> Result<Fields, SolveError> {
        let (space, _) = self.space.as_ref().map_err(SolveError::clone)?;
        fields_on(&self.prepared, Arc::clone(space), Some(&before.start_on(&space.mesh)))
    }

    /// What its fields tell.
    pub fn read(&self, fields: &Fields) -> Result<Reading, SolveError> {
        let (quantities, workings) = read_with(&self.prepared, fields)?;
        let report = report(&self.prepared.section, &quantities);
        Ok(Reading { quantities, report, workings })
    }

    /// What its fields tell without the time that it takes to couple strings to them.
    pub fn read_bare(&self, fields: &Fields) -> Result<Report, SolveError> {
        let section = &self.prepared.section;
        let mut report = report(section, &read_bare(&self.prepared, fields)?);
        if self.prepared.regions.sampling_height.is_some() {
            report.groups.retain(|group| BARE.contains(&group.key));
        }
        Ok(report)
    }
}
