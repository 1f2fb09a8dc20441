//! Magnetics of string-instrument pickups: flux at the string, pull on it, and flux change per
//! millimetre of string travel, from a cross-section.
//!
//! A **section** file describes **geometry**; we **mesh** it, give it **materials**, solve the
//! **field**, couple the **string**, take **quantities**, and write a **report**. Each stage is
//! built from the one before it and imports only upstream.
//!
//! Inside, every number is SI and `f64`. Units live at the edges: in the section file and in the
//! names of the report's keys.

pub mod accuracy;
pub mod field;
pub mod geometry;
pub mod material;
pub mod mesh;
pub mod pipeline;
pub mod point;
pub mod problem;
pub mod quantity;
pub mod report;
pub mod section;
pub mod strings;
pub mod study;
pub mod units;
