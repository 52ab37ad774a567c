//! Mathematics without physics or units: the only door to linear algebra, Fourier transforms,
//! random numbers and special functions of the outside libraries.
//!
//! Each room holds one method; every approximate function takes its tolerance or states its accuracy,
//! every random one takes its generator.

pub mod bessel;
pub mod bounds;
pub mod complex;
pub mod cylinder;
pub mod dense;
pub mod elliptic;
pub mod faddeeva;
pub mod laplace;
pub mod least_squares;
pub mod legendre;
pub mod lu;
pub mod monte_carlo;
pub mod ode;
pub mod quadrature;
pub mod random;
pub mod root;
pub mod spectrum;
pub mod spline;
pub mod statistics;
pub mod summit;
