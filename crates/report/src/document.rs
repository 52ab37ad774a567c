//! The report: one HTML file that needs nothing else, from what was recorded.

pub mod embed;
pub mod facts;
pub mod formula;
pub mod page;
pub mod results;
pub mod section;
pub mod sentence;
pub mod simulation;
pub mod style;
