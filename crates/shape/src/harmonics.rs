//! Places on an outline from its amplitudes.
//!
//! ```text
//! r(theta) / R = 1 + sum a_n P_n(cos theta) - sum a_n^2 / (2 n + 1)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `theta` | angle from the axis | rad |
//! | `a_n` | amplitude of degree n | 1 |
//! | `R` | volume-equivalent radius | any |
//!
//! The last sum keeps the volume to second order. Source: \[Rayleigh1879\], which has both terms. Finds no amplitudes.

/// Distance of the outline from the centre, in units of R; degrees and amplitudes, degrees 2 and above.
pub fn reach(amplitudes: &[(u32, f64)], theta: f64) -> f64 {
    let x = theta.cos();
    let most = amplitudes.iter().map(|(n, _)| *n).max().unwrap_or(0);
    let value = |degree: u32| {
        let wanted = amplitudes.iter().filter(|(n, _)| *n == degree);
        wanted.map(|(_, a)| a).sum::<f64>()
    };
    let (mut before, mut now) = (1.0, x);
    let mut r = 1.0;
    for n in 2..=most {
        let k = f64::from(n);
        let next = ((2.0 * k - 1.0) * x * now - (k - 1.0) * before) / k;
        (before, now) = (now, next);
        let a = value(n);
        r += a * next - a * a / (2.0 * k + 1.0);
    }
    r
}

#[cfg(test)]
mod tests {
    use super::reach;
    use std::f64::consts::PI;

    #[test]
    fn poles_and_equator_stand_where_the_polynomials_say() {
        // P_2(1) = 1, P_2(0) = -1/2; P_3(1) = 1, P_3(-1) = -1.
        assert!((reach(&[(2, 0.1)], 0.0) - (1.1 - 0.002)).abs() < 1e-15);
        assert!((reach(&[(2, 0.1)], PI / 2.0) - (0.95 - 0.002)).abs() < 1e-15);
        let tilt = reach(&[(3, 0.1)], 0.0) - reach(&[(3, 0.1)], PI);
        assert!((tilt - 0.2).abs() < 1e-15);
        assert_eq!(reach(&[], 1.0), 1.0);
    }

    #[test]
    fn the_volume_is_kept_to_second_order() {
        let amplitudes = [(2, 0.01), (4, -0.006)];
        let count = 2000;
        let step = PI / f64::from(count);
        let ring = |k: i32| {
            let theta = (f64::from(k) + 0.5) * step;
            reach(&amplitudes, theta).powi(3) * theta.sin() * step
        };
        let volume: f64 = (0..count).map(ring).sum::<f64>() / 2.0;
        // What is left is of third order in the amplitudes.
        assert!((volume - 1.0).abs() < 5e-6, "{volume}");
    }
}
