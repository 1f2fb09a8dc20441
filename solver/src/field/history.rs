//! What the magnets remember when the state that is asked for begins.
//!
//! In: the states a pickup has been in before, on the unknowns of the last. Out: the lowest field
//! strength H_k that each quadrature point of a magnet has seen. In the first state a magnet is charged
//! to saturation and released: every point ends on the major curve. In each later one a point follows
//! its recoil line from the lowest point it has reached, or goes further down the major curve
//! ([`crate::material::magnet`]). Parts that a state does not have are air on the same mesh, so that
//! the points of one state are those of the next.

use std::sync::Arc;

use crate::field::fill::bodies;
use crate::field::newton::FieldError;
use crate::field::setup::{Body, MagnetMemory, Setup};
use crate::field::solution::Field;
use crate::field::space::Space;
use crate::geometry::{Region, Source};
use crate::material::Assigned;
use crate::section::{PickupState, Role, Section};

/// A body for every region in the state `state`, strings left out (air) unless `strings_in`; in the
/// state [`PickupState::Alone`] only the part `alone` is there. `[n_regions]`.
pub fn bodies_in(
    section: &Section,
    regions: &[Region],
    assigned: &Assigned,
    strings_in: bool,
    state: PickupState,
    alone: Option<usize>,
) -> Vec<Body> {
    let stays = |part: usize| match state {
        PickupState::InPlace => true,
        PickupState::KeepersOff => section.parts[part].role != Role::Keeper,
        PickupState::Alone => Some(part) == alone,
    };
    bodies(section, regions, assigned, strings_in)
        .into_iter()
        .zip(regions)
        .map(|(body, region)| match region.source {
            Source::Part(part) if !stays(part) => Body::air(),
            _ => body,
        })
        .collect()
}

/// What the magnets have seen in all states but the last; `None` where there is only one.
///
/// The field laid on from outside belongs to the last state alone.
///
/// # Errors
/// The field of a state could not be solved.
pub fn remembered(
    section: &Section,
    assigned: &Assigned,
    space: &Arc<Space>,
) -> Result<Option<Arc<MagnetMemory>>, FieldError> {
    let mut memory: Option<Arc<MagnetMemory>> = None;
    let before = section.history.len().saturating_sub(1);
    for &state in &section.history[..before] {
        let alone: Vec<Option<usize>> = match state {
            PickupState::Alone => magnets(section).map(Some).collect(),
            PickupState::InPlace | PickupState::KeepersOff => vec![None],
        };
        let mut seen = memory.as_deref().cloned();
        for part in alone {
            let bodies = bodies_in(section, &space.mesh.regions, assigned, false, state, part);
            let setup = Setup { memory: memory.clone(), ..Setup::new(bodies) };
            let own = Field::solve(Arc::clone(space), setup)?.memory();
            seen = Some(match seen {
                Some(seen) => seen.and(&own),
                None => own,
            });
        }
        memory = seen.map(Arc::new);
    }
    Ok(memory)
}

fn magnets(section: &Section) -> impl Iterator<Item = usize> + '_ {
    let parts = section.parts.iter().enumerate();
    parts.filter(|(_, part)| part.role == Role::Magnet).map(|(index, _)| index)
}
