//! Numbers to records and files.

pub mod vtk;
pub mod wav;
