//! Magnetic laws and the grade library.
//!
//! In: what a section says its parts and strings are made of. Out: for each a [`Law`] that answers
//! a flux density B with the field strength H, its slope dH/dB and the energy density.
//!
//! | law | file word | curve |
//! |---|---|---|
//! | straight | `linear` | B = mu_0 mu_r H |
//! | through points | `curve` | monotone cubic H(B), then a tail to saturation |
//! | analytic | `saturating` | Froehlich, Langevin or arctangent J(H) |
//! | straight magnet | `straight magnet` | B = B_r + mu_0 mu_rec H, for comparison only |
//! | four data | `magnet` | hyperbola through B_r, H_cB, (BH)max and the recoil slope: alnico |
//! | knee | `knee magnet` | straight to a knee at H_cJ: ferrite and rare earth |
//! | measured magnet | `magnet curve` | monotone cubic H(B) through points |
//!
//! A wrap across its string is a layer of turns, whose law follows from that of the wire ([`turns`]).
//!
//! Every curve rises, has a continuous slope dB/dH of at least mu_0, and an energy density that is
//! the exact integral of H dB. Hysteresis of soft materials is left out. How a magnet remembers the
//! lowest field it has seen is told in [`magnet`].
//!
//! # How sure
//!
//! Every grade says where its data come from and how sure they are ([`Sure`]); reports repeat it.
//!
//! | word | meaning | trust a result that hangs on it |
//! |---|---|---|
//! | `exact` | known far better than any use here needs | fully |
//! | `data sheet` | a published table, or the union of several makers' sheets | to the spread of the makers: 2 to 5 % in remanence; coercivities of rare earth are minima |
//! | `nominal` | a standard's nominal value typed from memory, not yet checked against it | 5 % in remanence, 10 % in coercivity |
//! | `estimate` | middle of a textbook range; depends on cold work and heat treatment | the permeability within a factor of 1.5, saturation within 3 % |
//! | `user` | stated in the section or in the user's own grade file | as its author does |
//!
//! The field over an alnico pole goes with the coercivity, over ferrite and rare earth with the
//! remanence; pull goes with the square of the field. A maker's data sheet always comes first.
//!
//! # Grade files
//!
//! The shipped grades are files of the crate ([`SHIPPED_FILES`]); a file of one's own adds grades
//! or replaces those of the same name. A grade is a name, the keys of a `[[material]]` in a section
//! file, and what is worth knowing besides:
//!
//! ```
//! # use lodestring::material::Library;
//! let library = Library::built_in().with_user_file(
//!     r#"
//!     format = 1
//!
//!     [[grade]]
//!     name = "alnico 5 batch 7"
//!     also = ["batch 7"]                 # other names
//!     family = "alnico"                  # what `family` lists it under
//!     law = "magnet"
//!     remanence_T = 1.25
//!     coercivity_kA_per_m = 49.5
//!     energy_product_kJ_per_m3 = 40
//!     recoil_permeability = 4.1
//!     remanence_percent_per_K = -0.02
//!     temperature_limit_C = 450
//!     density_kg_per_m3 = 7300
//!     source = "test sheet of the maker"
//!     sure = "data sheet"
//!     note = "measured on three rods"
//!     "#,
//! );
//! let library = library.expect("no mistakes");
//! assert_eq!(library.find("Batch-7").map(|grade| grade.name.as_str()), Ok("alnico 5 batch 7"));
//! ```

mod assign;
pub mod error;
mod fit;
mod four_data;
mod hyperbola;
mod knee;
mod law;
mod library;
pub mod magnet;
mod magnet_points;
mod model;
mod monotone;
mod points;
mod saturating;
mod select;
pub mod soft;
pub mod turns;

pub use assign::{Assigned, Provenance, StringMaterial, assign};
pub use error::LawError;
pub use fit::{Fit, REFERENCE_TEMPERATURE};
pub use library::{Library, NotFound, SHIPPED_FILES, is_magnet};
pub use magnet::DemagnetisationCurve;
pub use model::{Law, Material, Response};
pub use soft::SoftLaw;

pub use crate::section::{Grade, Sure};

#[cfg(test)]
mod assign_tests;
#[cfg(test)]
mod law_tests;
#[cfg(test)]
mod library_tests;
#[cfg(test)]
mod magnet_tests;
#[cfg(test)]
mod soft_tests;
