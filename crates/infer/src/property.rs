//! From the lines of a ringing drop to its surface tension and viscosity, with a budget.
//!
//! | room | holds |
//! |---|---|
//! | `lines` | what is known of the lines: frequencies and decay rates with their joint covariance |
//! | `fit` | surface tension and viscosity of one drop from its lines, for given radius and densities |
//! | `film` | what a surface film may have done to the surface tension |
//! | `local` | roots near the best values as polynomials |
//! | `trials` | drops drawn from what is known, for intervals that are not linear |
//! | `routes` | radius route and mass route, joined; consistency of the modes; what is withheld |

pub mod film;
pub mod fit;
pub mod lines;
mod local;
pub mod routes;
mod trials;
