//! Exact solutions of magnetostatic problems, one file each.
//!
//! SI throughout: metre, tesla, ampere per metre, newton, henry. Planar solutions are per metre
//! of depth. None of them uses anything of the solver but [`lodestring::point::Point`] and the
//! magnetic constant.

pub mod circular_loop;
pub mod coil;
pub mod cylinder_magnet;
pub mod cylindrical_shell;
pub mod demagnetisation;
pub mod halbach_cylinder;
pub mod iron_half_space;
pub mod line_current;
pub mod load_line;
pub mod magnetised_cylinder;
pub mod magnetised_sphere;
pub mod permeable_cylinder;
pub mod racetrack;
pub mod rectangular_bar;
pub mod solenoid;
pub mod spherical_shell;
pub mod steel;
pub mod wire_beside_cylinder;

#[cfg(test)]
mod closeness;
