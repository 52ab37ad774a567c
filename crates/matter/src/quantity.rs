//! Quantities with units, as they stand in files and on the command line: read, checked, printed.
//!
//! Inside the program a quantity is a plain `f64` in SI units; these rooms are the border. Units follow the
//! SI and the units accepted beside it, \[SIBrochure9\]; uncertainties follow \[JCGM100\] 4.3.3 and 4.3.7
//! (section numbers from memory).

pub mod dimension;
pub mod parse;
pub mod print;
pub mod unit;
