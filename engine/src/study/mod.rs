//! Studies: one plan carried out at many points. What a point is, in numbers;
//! the script says what is done with them, [`crate::sweep`] gets the rows made.

mod axis;
mod design;
mod frame;
mod report;
mod summary;

pub use axis::{Axis, Coordinate, Values};
pub use design::{Design, DesignError, Points};
pub use frame::{Frame, Heading, Merit, Role, Skipped};
pub use report::{Column, Ranking, Report, heading};
pub use summary::Summary;
