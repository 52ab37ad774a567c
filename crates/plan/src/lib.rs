//! What to expect of a run before it is flown, from the experiment file that will measure its clip.
//!
//! [`given`] reads the file into numbers, [`row`] writes an expectation with its uncertainty, formula and validity; a room for each kind of run,
//! for what all have in common and for what the camera will see; [`sheet()`](sheet::sheet) puts them together.

pub mod camera;
pub mod column;
pub mod common;
pub mod error;
pub mod fizz;
pub mod given;
pub mod limits;
pub mod place;
pub mod procedure;
pub mod prospect;
pub mod puff;
pub mod release;
pub mod row;
pub mod safety;
pub mod sheet;
pub mod shell;
pub mod wanted;
