//! Noise of a path that is held against a record of acceleration: that of each place, and that of the record, integrated twice.
//!
//! ```text
//! e(t_k) = n_k + int int w,     cov = s^2 (I + l K),     K(s, t) = s^2 t / 2 - s^3 / 6   (s <= t, from the first sample)
//! d/dt (x, v) = (v, w),         z_k = (y_k - x_k|k-1) / sqrt(F_k),     ln det (I + l K) = sum ln F_k
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `n_k`, `s` | noise of a place, its standard deviation | m |
//! | `w` | white noise of the acceleration; its density is `l s^2` | m/s^2, m^2/s^3 |
//! | `l` | their ratio | 1/s^3 |
//! | `z_k`, `F_k` | whitened value, variance of its innovation over `s^2` | m, 1 |
//!
//! Source: one pass of the filter whitens what a Cholesky factor of the covariance would \[Harvey1989\] sections 3.2 and 3.4. The unknown
//! start (place and speed) is left to two columns of the fit.

/// One ratio of the two noises, ready to whiten.
#[derive(Debug, Clone)]
pub struct Noise {
    steps: Vec<f64>,
    gains: Vec<[f64; 2]>,
    roots: Vec<f64>,
    /// `ln det (I + l K)`.
    pub log_determinant: f64,
}

impl Noise {
    /// At `times` (s, ascending) with the ratio `l`, 1/s^3.
    pub fn new(times: &[f64], ratio: f64) -> Self {
        let mut found = Self {
            steps: Vec::with_capacity(times.len()),
            gains: Vec::with_capacity(times.len()),
            roots: Vec::with_capacity(times.len()),
            log_determinant: 0.0,
        };
        let (mut xx, mut xv, mut vv) = (0.0_f64, 0.0_f64, 0.0_f64);
        for (k, time) in times.iter().enumerate() {
            let h = if k == 0 { 0.0 } else { time - times[k - 1] };
            xx += h * (2.0 * xv + h * vv) + ratio * h.powi(3) / 3.0;
            xv += h * vv + ratio * h * h / 2.0;
            vv += ratio * h;
            let innovation = xx + 1.0;
            let gain = [xx / innovation, xv / innovation];
            vv -= gain[1] * xv;
            xv -= gain[0] * xv;
            xx -= gain[0] * xx;
            found.steps.push(h);
            found.gains.push(gain);
            found.roots.push(innovation.sqrt());
            found.log_determinant += innovation.ln();
        }
        found
    }

    /// The values whitened: their covariance is then `s^2 I`.
    pub fn whitened(&self, values: &[f64]) -> Vec<f64> {
        let (mut x, mut v) = (0.0, 0.0);
        let one = |(k, value): (usize, &f64)| {
            x += self.steps[k] * v;
            let new = value - x;
            x += self.gains[k][0] * new;
            v += self.gains[k][1] * new;
            new / self.roots[k]
        };
        values.iter().enumerate().map(one).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_numerics::dense::Matrix;

    // Against the covariance itself: y^T C^-1 y and ln det C by Cholesky, times that are not even.
    #[test]
    fn one_pass_is_the_cholesky_factor() {
        let times = [0.3, 0.4, 0.45, 0.7, 1.1, 1.2];
        let values = [1.0, -2.0, 0.5, 3.0, 0.25, -1.0];
        let ratio = 7.0;
        let cover = |a: f64, b: f64| {
            let (s, t) = (a.min(b) - 0.3, a.max(b) - 0.3);
            s * s * t / 2.0 - s.powi(3) / 6.0
        };
        let covariance = Matrix::from_fn(6, 6, |i, j| {
            ratio * cover(times[i], times[j]) + f64::from(u8::from(i == j))
        });
        let factor = covariance.cholesky().expect("positive");
        let log: f64 = (0..6).map(|i| 2.0 * factor[(i, i)].ln()).sum();
        let noise = Noise::new(&times, ratio);
        assert!((noise.log_determinant - log).abs() < 1e-12);
        for (ours, theirs) in noise.whitened(&values).iter().zip(factor.forward(&values)) {
            assert!((ours - theirs).abs() < 1e-12, "{ours} {theirs}");
        }
    }
}
