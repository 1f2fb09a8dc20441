//! Gives every region of the mesh its material.

use crate::field::setup::Body;
use crate::geometry::{Region, Source};
use crate::material::Assigned;
use crate::section::{Charge, Section};

/// A body for every region; strings, wraps and all, are left out (air) unless `strings_in`.
/// `[n_regions]`.
pub fn bodies(
    section: &Section,
    regions: &[Region],
    assigned: &Assigned,
    strings_in: bool,
) -> Vec<Body> {
    regions
        .iter()
        .map(|region| match region.source {
            Source::Air | Source::Window(..) => Body::air(),
            Source::Part(index) => {
                let part = &section.parts[index];
                Body {
                    law: assigned.parts[index].law.clone(),
                    axis: axis(part.charge),
                    current_density: part.current / region.area,
                }
            }
            Source::String(index) if strings_in => {
                Body { law: assigned.strings[index].core.law.clone(), ..Body::air() }
            }
            Source::Wrap(index) if strings_in => {
                let ring = assigned.strings[index].ring(&section.strings[index]);
                ring.map_or_else(Body::air, |law| Body { law, ..Body::air() })
            }
            Source::String(_) | Source::Wrap(_) => Body::air(),
        })
        .collect()
}

fn axis(charge: Option<Charge>) -> [f64; 2] {
    match charge {
        Some(Charge::Angle(angle)) => [angle.cos(), angle.sin()],
        Some(Charge::Radial(sense)) => [sense, 0.0],
        None => [0.0, 1.0],
    }
}
