//! The plan sheet as one HTML file that needs nothing else, made to be printed on two pages.
//!
//! In order: what breaks, what was taken in, what to expect with its figures, what the camera sees, then on a page of its own the procedure and the cautions.

pub mod page;
pub mod pictures;
pub mod sweep;
pub mod table;
