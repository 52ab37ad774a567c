//! Complex numbers in double precision: the one door to the outside type.
//!
//! `Complex64` holds `re` and `im`; square roots and logarithms take the principal branch (cut along the
//! negative real axis). Rooms that need another sheet choose it themselves and say so.

pub use rustfft::num_complex::Complex64;

/// The imaginary unit.
pub const I: Complex64 = Complex64::new(0.0, 1.0);
