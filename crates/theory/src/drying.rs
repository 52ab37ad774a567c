//! A drop that dries in still air: how fast it shrinks, how cold it gets and how soon, what that does to it, and what a lamp adds.
//!
//! The vapour over the liquid and its properties are given as functions of the temperature: this crate knows no liquids.

pub mod cooling;
pub mod lamp;
pub mod loss;
