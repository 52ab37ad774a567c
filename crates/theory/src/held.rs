//! A drop before it is let go: its shape on a loop, needle or cup, and the modes in which it swings while it is held.
//!
//! [`shape`] by volume and size of the support; modes of a drop on a thin [`ring`] and in a [`bowl`] or on a needle. None of these modes gives a
//! property of the free drop.

pub mod bowl;
pub mod ring;
pub mod shape;
