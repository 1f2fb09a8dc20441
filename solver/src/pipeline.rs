//! The sentence: a section file describes geometry; we mesh it, give it materials, solve the
//! field, couple the string, and take quantities.

use std::sync::Arc;

use crate::field::history::{bodies_in, remembered};
use crate::field::{Begin, Field, FieldError, Setup, Space, Transfer};
use crate::geometry::{ArrangeOptions, Arranged, Clearance, Regions, Source, arrange_with};
use crate::material::{Assigned, Library, assign};
use crate::mesh::{Mesh, MeshError, SizeMap, mesh_with};
use crate::problem::Problem;
use crate::quantity::{Quantities, TakeError, Workings, take_bare, take_with};
use crate::section::{Parsed, Section, parse};

/// A section that is free of mistakes, ready to be meshed.
#[derive(Clone, Debug)]
pub struct Prepared {
    /// What the file says.
    pub section: Section,
    /// Where everything is.
    pub regions: Regions,
    /// Distances worth knowing.
    pub clearances: Vec<Clearance>,
    /// What everything is made of.
    pub materials: Assigned,
}

/// The fields of a section, before any number is taken from them.
#[derive(Clone, Debug)]
pub struct Fields {
    /// The mesh.
    pub mesh: Arc<Mesh>,
    /// The field with all strings taken out.
    pub without: Field,
    /// The field with the meshed strings in place; `None` where none is meshed.
    pub with: Option<Field>,
}

impl Fields {
    /// The field with everything meshed in place.
    pub fn field(&self) -> &Field {
        self.with.as_ref().unwrap_or(&self.without)
    }

    /// Where to begin on the same unknowns.
    pub fn start(&self) -> Start {
        start(&self.without, self.with.as_ref(), |field| field.nodal.clone())
    }

    /// Where to begin on another mesh of the same section.
    pub fn start_on(&self, mesh: &Mesh) -> Start {
        let transfer = Transfer::new(&self.mesh, mesh);
        start(&self.without, self.with.as_ref(), |field| transfer.nodal(field))
    }
}

/// Where the solves of a section begin: unknowns that are near those of its fields. It does not change
/// what comes out by more than the residual left, only how long it takes.
#[derive(Clone, Debug)]
pub struct Start {
    /// Of the field with all strings taken out, `[n_nodes]`.
    without: Vec<f64>,
    /// What the meshed strings change in it, `[n_nodes]`.
    strings: Option<Vec<f64>>,
}

fn start(without: &Field, with: Option<&Field>, nodal: impl Fn(&Field) -> Vec<f64>) -> Start {
    let before = nodal(without);
    let strings = with.map(|with| nodal(with).iter().zip(&before).map(|(a, b)| a - b).collect());
    Start { without: before, strings }
}

/// A solved section.
#[derive(Clone, Debug)]
pub struct Solved {
    /// Its fields.
    pub fields: Fields,
    /// What it all means.
    pub quantities: Quantities,
}

impl Solved {
    /// The field with everything meshed in place.
    pub fn field(&self) -> &Field {
        self.fields.field()
    }
}

/// Why a section could not be solved.
#[derive(Clone, Debug, thiserror::Error)]
pub enum SolveError {
    /// The section file has mistakes: all of them.
    #[error("the section has {} problem{}", .0.len(), if .0.len() == 1 { "" } else { "s" })]
    Section(Vec<Problem>),
    /// The section could not be meshed.
    #[error(transparent)]
    Mesh(#[from] MeshError),
    /// The field could not be solved.
    #[error(transparent)]
    Field(#[from] FieldError),
    /// The quantities could not be taken.
    #[error(transparent)]
    Quantity(#[from] TakeError),
}

/// Reads a section, arranges its parts and looks up their materials.
///
/// # Errors
/// [`SolveError::Section`] with every mistake of all three.
pub fn prepare(text: &str, library: &Library) -> Result<Prepared, SolveError> {
    prepare_parsed(parse(text), library)
}

/// As [`prepare`], from a section that has been read already.
///
/// # Errors
/// As [`prepare`].
pub fn prepare_parsed(parsed: Parsed, library: &Library) -> Result<Prepared, SolveError> {
    let mut problems = parsed.problems;
    let (materials, assigning) = assign(&parsed.section, library);
    let strings = materials.strings.iter().enumerate();
    let wraps = strings.filter(|(_, of)| of.has_magnetic_wrap()).map(|(index, _)| index).collect();
    let Arranged { regions, clearances, problems: arranging } =
        arrange_with(&parsed.section, &ArrangeOptions { mesh_in_plane_strings: false, wraps });
    problems.extend(arranging);
    problems.extend(assigning);
    match regions {
        Some(regions) if problems.is_empty() => {
            Ok(Prepared { section: parsed.section, regions, clearances, materials })
        }
        _ => Err(SolveError::Section(problems)),
    }
}

/// Meshes a prepared section, solves its field without and with strings, takes every quantity.
///
/// # Errors
/// As [`fields`] and [`read`].
pub fn solve(prepared: &Prepared) -> Result<Solved, SolveError> {
    let fields = fields(prepared)?;
    let quantities = read(prepared, &fields)?;
    Ok(Solved { fields, quantities })
}

/// Meshes a prepared section and solves its field without and with strings.
///
/// The magnets are charged in the first state of the section's history and go through its other states
/// without strings ([`crate::field::history`]); the strings come after, so that the magnets answer them
/// along their recoil lines.
///
/// # Errors
/// The mesh or the field could not be made.
pub fn fields(prepared: &Prepared) -> Result<Fields, SolveError> {
    let (space, _) = unknowns(prepared, None, None)?;
    fields_on(prepared, space, None)
}

/// Meshes a prepared section, with sizes that an earlier solve asks for where there are any, and numbers
/// the unknowns of its field; and says where to begin on them, near the fields `before`.
///
/// # Errors
/// The mesh could not be made, or its unknowns do not fit into memory.
pub fn unknowns(
    prepared: &Prepared,
    sizes: Option<&SizeMap>,
    before: Option<&Fields>,
) -> Result<(Arc<Space>, Option<Start>), SolveError> {
    let mesh = Arc::new(mesh_with(&prepared.regions, sizes)?);
    let (space, start) = rayon::join(
        || Space::of_potential(Arc::clone(&mesh)),
        || before.map(|before| before.start_on(&mesh)),
    );
    Ok((Arc::new(space.map_err(FieldError::from)?), start))
}

/// Takes every quantity from the fields of a section.
///
/// # Errors
/// [`SolveError::Quantity`].
pub fn read(prepared: &Prepared, fields: &Fields) -> Result<Quantities, SolveError> {
    read_with(prepared, fields).map(|(quantities, _)| quantities)
}

/// As [`read`], with what was worked out on the way.
///
/// # Errors
/// As [`read`].
pub fn read_with(
    prepared: &Prepared,
    fields: &Fields,
) -> Result<(Quantities, Workings), SolveError> {
    let Prepared { section, regions, materials, .. } = prepared;
    Ok(take_with(section, regions, materials, &fields.without, fields.with.as_ref())?)
}

/// What the fields of a section tell before strings are coupled to them.
///
/// # Errors
/// As [`read`].
pub fn read_bare(prepared: &Prepared, fields: &Fields) -> Result<Quantities, SolveError> {
    let Prepared { section, regions, .. } = prepared;
    Ok(take_bare(section, regions, &fields.without, fields.with.as_ref(), None)?.quantities)
}

/// As [`fields`], on unknowns that are there already, starting near the fields where those of another
/// section with the same unknowns, or of the same section on another mesh, are there.
///
/// # Errors
/// As [`fields`].
pub fn fields_on(
    prepared: &Prepared,
    space: Arc<Space>,
    start: Option<&Start>,
) -> Result<Fields, SolveError> {
    let (fields, _) = fields_beside(prepared, space, start, |_| ())?;
    Ok(fields)
}

/// As [`fields_on`]; what only needs the field without strings is done beside the solve of that with meshed
/// strings, where there are any.
///
/// # Errors
/// As [`fields`].
pub fn fields_beside<T: Send>(
    prepared: &Prepared,
    space: Arc<Space>,
    start: Option<&Start>,
    beside: impl FnOnce(&Field) -> T + Send,
) -> Result<(Fields, Option<T>), SolveError> {
    let Prepared { section, materials, .. } = prepared;
    let mesh = Arc::clone(&space.mesh);
    let history = remembered(section, materials, &space)?;
    let setup = |strings_in| Setup {
        applied_field: section.applied_field,
        memory: history.clone(),
        ..Setup::new(bodies_in(
            section,
            &mesh.regions,
            materials,
            strings_in,
            section.state(),
            None,
        ))
    };
    let begin = start.map_or(Begin::Nowhere, |start| Begin::Near(&start.without));
    let without = Field::solve_from(Arc::clone(&space), setup(false), begin)?;
    if !mesh.regions.iter().any(|region| matches!(region.source, Source::String(_))) {
        return Ok((Fields { mesh, without, with: None }, None));
    }
    let with = || {
        let memory = Some(Arc::new(without.memory()));
        let setup = Setup { memory, ..setup(true) };
        let before = &without.nodal;
        let near: Option<Vec<f64>> = start.and_then(|start| {
            let strings = start.strings.as_ref()?;
            Some(before.iter().zip(strings).map(|(before, change)| before + change).collect())
        });
        let begin = near.as_deref().map_or(Begin::Before(before), Begin::Near);
        Field::solve_from(space, setup, begin)
    };
    let (with, done) = rayon::join(with, || beside(&without));
    let with = Some(with?);
    Ok((Fields { mesh, without, with }, Some(done)))
}
