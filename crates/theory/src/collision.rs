//! Drops that meet drops, and droplets that meet the wall of a gas bubble.
//!
//! In the order of events: [`flight`] through the gas; the [`encounter`] with its Weber number and offset; which side of each
//! [`boundary`] it lies on, and the [`spread`] of what was published; the [`neck`] and what [`merging`] sets free; or the
//! [`rebound`], and the way along the [`wall`].

pub mod boundary;
pub mod encounter;
pub mod flight;
pub mod merging;
pub mod neck;
pub mod rebound;
pub mod spread;
pub mod wall;
