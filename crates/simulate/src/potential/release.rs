//! What a viscous drop let go at rest does, for the tests of both solvers: Oh = 0.01, degree 2, small.
//!
//! Source: \[Prosperetti1980\], the initial-value problem, inverted numerically and by collocation of the linear equations; recomputed independently.

/// Capillary times and amplitudes over that at the start.
pub const KNOWN: [[f64; 2]; 8] = [
    [0.0, 1.0],
    [0.25, 0.762_153_71],
    [0.5, 0.168_758_11],
    [1.0, -0.903_281_38],
    [2.0, 0.725_767_26],
    [3.0, -0.495_607_79],
    [4.0, 0.237_566_17],
    [5.0, 0.019_435_63],
];
