//! Gas that is set free in a drop: how much, what bubbles it makes, how they grow, meet and become few.
//!
//! In the order of events: [`reagents`] and [`solubility`]; [`birth`]; [`growth`] and [`scriven`], and [`depletion`] where many share; [`migration`]; [`film`] between two
//! bubbles; the [`population`] of many, and the [`last`] few; [`ringing`] of a bubble; [`escape`] of the gas, the [`cloud`] round the drop and
//! the closed [`container`].

pub mod birth;
pub mod cloud;
pub mod container;
pub mod depletion;
pub mod escape;
pub mod film;
pub mod growth;
pub mod last;
pub mod merging;
pub mod migration;
pub mod population;
pub mod reagents;
pub mod ringing;
pub mod scriven;
pub mod solubility;
