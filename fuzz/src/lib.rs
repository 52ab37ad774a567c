//! What is asked of each reader for any input: no panic, no endless work, no memory beyond the limit, and frames that
//! are what the clip says of them. Panics when the answer is wrong; the fuzzer catches that.

pub mod clip;
pub mod experiment;
pub mod quantity;
pub mod stills;
pub mod stream;
