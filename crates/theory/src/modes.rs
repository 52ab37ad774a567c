//! Shape modes of free drops and bubbles: how fast each Legendre amplitude swings and dies away.
//!
//! From the simplest to the fullest: [`inviscid`] frequencies and energies; [`viscous`] exact roots in vacuum;
//! [`host`] exact roots with a second fluid outside (by the stress [`balance`] at the surface); [`film`]-covered surfaces; [`response`] to a given
//! start; [`amplitude`] shifts of large swings; [`rotation`] and [`levitated`] splittings.

pub mod amplitude;
pub mod balance;
pub mod error;
pub mod film;
pub mod host;
pub mod inviscid;
pub mod levitated;
pub mod response;
pub mod rotation;
pub mod viscous;
