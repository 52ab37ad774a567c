//! Liquid shells: a drop that holds a concentric gas bubble, with two families of shape modes.
//!
//! The [`body`]; frequencies without viscosity ([`inviscid`]); exact [`viscous`] roots and the [`irrotational`] estimate of the
//! decay; [`breathing`] of the gas; what moves the bubble to and from the middle ([`centring`]).

pub mod body;
pub mod breathing;
pub mod centring;
pub mod inviscid;
pub mod irrotational;
pub mod viscous;
