//! Numbers to records and files.

pub mod charge;
pub mod check;
#[cfg(feature = "parquet")]
pub mod columnar;
pub mod columns;
pub mod csv;
pub mod error;
pub mod grades;
pub mod grid;
pub mod html;
pub mod layout;
pub(crate) mod limits;
pub mod picture;
#[cfg(feature = "png")]
pub mod png;
pub mod pvd;
pub mod record;
pub mod sheet;
pub mod solve;
pub mod text;
pub mod unit;
pub mod vtk;
pub mod wav;
