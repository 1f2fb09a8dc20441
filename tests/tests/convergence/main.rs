//! Are the equations solved right? Manufactured solutions on a sequence of meshes, each with half
//! the element size of the one before.
//!
//! Second-order triangles must give the vector potential with an error that falls as h^3 and the
//! flux density as h^2, both in the mean square over the domain. Each case asks for the order
//! between the last two meshes, to 0.1, and for the last error to be below a bound: an order alone
//! would pass on a solution that converges to the wrong thing slowly.

mod curved;
mod domain;
mod error;
mod round;
mod straight;
