//! A report as one page of HTML that holds everything it shows: pictures, tables and curves.

mod chart;
mod figure;
mod number;
mod page;
mod table;
mod ticks;

pub use chart::{Axis, Chart, Mark, Rule, Series};
pub use figure::Figure;
pub use number::{shown, with_error};
pub use page::{Block, Chapter, File, Page, Tile};
pub use table::{Cells, Head, Sheet, Value, sheet};
