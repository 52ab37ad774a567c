//! Liquid columns and threads: how long one can stay whole, how it breaks, and into what.
//!
//! The [`thread`] and its exact growth by the stress [`balance`] at its surface; the [`fastest`] wave and the drops that it leaves; the time to
//! [`breakup`]; the [`retraction`] of free ends; the laws of the last [`neck`].

pub mod balance;
pub mod breakup;
pub mod fastest;
pub mod neck;
pub mod retraction;
pub mod thread;
