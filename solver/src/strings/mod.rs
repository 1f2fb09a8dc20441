//! Strings coupled in three dimensions.

mod above;
mod aperture;
mod bessel;
mod body;
pub mod chebyshev;
mod coupled;
#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "tests")]
mod coupled_check;
mod demagnetising;
mod fade;
mod finer_waves;
mod fourier;
mod gauss;
mod jet;
pub mod kernel;
mod laid_field;
mod law;
mod newton;
mod placed_reaction;
mod plane;
mod racetrack;
mod reaction;
#[cfg(test)]
mod reaction_check;
mod reaction_fe;
mod row;
#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "tests")]
mod section_check;
mod section_mean;
mod segments;
pub mod signal;
mod spectral;
#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "tests")]
pub(crate) mod test_fields;
#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "tests")]
mod third_law_check;
pub mod tuning;
mod upper_field;
mod wound;

pub use above::Above;
pub use body::StringBody;
pub use coupled::{
    CoilCoupling, CoupledString, CouplingError, FieldWeights, couple, linkage_rises,
};
pub use jet::FieldJet;
pub use law::StringLaw;
pub use plane::PlaneSampling;
pub use racetrack::Racetrack;
pub use reaction::Reaction;
pub use reaction_fe::reaction;
pub use row::{RowAbove, RowCoil};
pub use segments::Segments;
pub use upper_field::UpperField;
pub use wound::MagneticSection;
