//! Several runs beside each other as one HTML file, with its figures.

pub mod found;
pub mod page;
pub mod scaling;
pub mod values;
