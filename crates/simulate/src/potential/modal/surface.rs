//! The surface of a star-shaped body from the series of its volume, with its centre of mass at the origin.
//!
//! ```text
//! r^3/3 = sum e_n P_n(mu)       e_0 = 1/3 keeps the volume       e_1 from   int r^4 mu dmu = 0,   by Newton
//! area of the surface  A = 2 pi int r Q dmu,    Q = sqrt(r^2 + (1 - mu^2) r_mu^2)
//! curvature, by the variation of A with e_n:
//!   int 2H P_n dmu = int [ (Q + r^2/Q) d + r (1 - mu^2) r_mu / Q d_mu ] dmu,   d = P_n / r^2
//! ```
//! In these variables volume is linear, and the pull of surface tension is the derivative of the discrete area, so that what it does is
//! exactly what the area loses; no second derivative of the shape is taken.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | r, H | radius at mu = cos(theta), mean curvature (1 for the unit sphere) | R, 1/R |
//! | e_n | coefficients of r^3/3 | R^3 |
//!
//! Source: first variation of area \[DoCarmo1976\] section 3-5; series by Gauss-Legendre quadrature \[DLMF\] 3.5(v).

use std::f64::consts::PI;

use super::basis::Basis;

/// Coefficient of degree 0 of the unit drop.
pub const WHOLE: f64 = 1.0 / 3.0;

/// A surface at the nodes.
#[derive(Debug, Clone)]
pub struct Surface {
    /// Coefficients of r^3/3.
    pub series: Vec<f64>,
    /// `r`.
    pub radius: Vec<f64>,
    /// `dr/dmu`.
    pub slope: Vec<f64>,
    /// `Q`.
    pub stretch: Vec<f64>,
    /// `r^3` without the part of degree 1.
    cubes: Vec<f64>,
}

impl Surface {
    /// The unit sphere.
    #[must_use]
    pub fn sphere(basis: &Basis) -> Self {
        let mut series = vec![0.0; basis.degrees()];
        series[0] = WHOLE;
        let points = basis.points();
        Self {
            series,
            radius: vec![1.0; points],
            slope: vec![0.0; points],
            stretch: vec![1.0; points],
            cubes: vec![1.0; points],
        }
    }

    /// Takes up the coefficients of degree 2 and above, sets those of 0 and 1. False when the body is turned inside out.
    pub fn shape(&mut self, basis: &Basis, from_two: &[f64]) -> bool {
        self.series[0] = WHOLE;
        // Always from nil, so that a state gives the same bits whatever came before.
        self.series[1] = 0.0;
        self.series[2..].copy_from_slice(from_two);
        for (i, cube) in self.cubes.iter_mut().enumerate() {
            *cube = 3.0 * dot(basis.values(i), &self.series);
        }
        // Each round doubles the digits.
        for _ in 0..20 {
            let Some((moment, slope)) = self.moment(basis) else {
                return false;
            };
            let step = moment / slope;
            self.series[1] -= step;
            if step.abs() < 1e-9 {
                let nodes = self.radius.iter_mut().zip(&basis.rule.nodes);
                nodes.for_each(|(r, mu)| *r -= step * mu / (*r * *r));
                return self.slopes(basis);
            }
        }
        false
    }

    /// `int r^4 mu dmu` and its derivative with `e_1`; none when r^3 is not positive somewhere.
    fn moment(&mut self, basis: &Basis) -> Option<(f64, f64)> {
        let (mut moment, mut slope) = (0.0, 0.0);
        for (i, rest) in self.cubes.iter().enumerate() {
            let mu = basis.rule.nodes[i];
            let cube = rest + 3.0 * self.series[1] * mu;
            if cube.is_nan() || cube <= 0.0 {
                return None;
            }
            let r = cube.cbrt();
            self.radius[i] = r;
            moment += basis.rule.weights[i] * cube * r * mu;
            slope += 4.0 * basis.rule.weights[i] * r * mu * mu;
        }
        Some((moment, slope))
    }

    fn slopes(&mut self, basis: &Basis) -> bool {
        for i in 0..basis.points() {
            let r = self.radius[i];
            self.slope[i] = dot(basis.slopes(i), &self.series) / (r * r);
            self.stretch[i] = (r * r + basis.across[i] * self.slope[i].powi(2)).sqrt();
        }
        self.stretch.iter().all(|q| q.is_finite())
    }

    /// `int 2H P_n dmu` for every degree.
    pub fn pull(&self, basis: &Basis, pull: &mut [f64]) {
        pull.fill(0.0);
        for i in 0..basis.points() {
            let (r, slope, q) = (self.radius[i], self.slope[i], self.stretch[i]);
            let weight = basis.rule.weights[i] / (r * r);
            let along = r * basis.across[i] * slope / q;
            let of_slope = weight * along;
            let of_value = weight * (q + r * r / q - 2.0 * along * slope / r);
            let both = basis.values(i).iter().zip(basis.slopes(i));
            for (sum, (p, dp)) in pull.iter_mut().zip(both) {
                *sum += of_value * p + of_slope * dp;
            }
        }
    }

    /// Area of the surface, R^2.
    #[must_use]
    pub fn area(&self, basis: &Basis) -> f64 {
        2.0 * PI * self.integral(basis, |i| self.radius[i] * self.stretch[i])
    }

    /// Volume by quadrature, R^3.
    #[must_use]
    pub fn volume(&self, basis: &Basis) -> f64 {
        2.0 * PI / 3.0 * self.integral(basis, |i| self.radius[i].powi(3))
    }

    /// Place of the centre of mass on the axis, R.
    #[must_use]
    pub fn centroid(&self, basis: &Basis) -> f64 {
        let moment = self.integral(basis, |i| self.radius[i].powi(4) * basis.rule.nodes[i]);
        PI / 2.0 * moment / self.volume(basis)
    }

    /// Amplitudes a_n of r itself, by degree; a_0 without the 1 of the sphere.
    #[must_use]
    pub fn amplitudes(&self, basis: &Basis) -> Vec<f64> {
        let mut series = vec![0.0; basis.degrees()];
        basis.from_nodes(&self.radius, &mut series);
        series[0] -= 1.0;
        series
    }

    /// Integral over mu of what is given at the nodes.
    pub fn integral(&self, basis: &Basis, f: impl Fn(usize) -> f64) -> f64 {
        (0..basis.points()).map(|i| basis.rule.weights[i] * f(i)).sum()
    }
}

/// Sum of products, in four sums side by side: one alone waits for itself.
pub fn dot(a: &[f64], b: &[f64]) -> f64 {
    let (fours, fours_too) = (a.chunks_exact(4), b.chunks_exact(4));
    let rest: f64 = fours
        .remainder()
        .iter()
        .zip(fours_too.remainder())
        .map(|(x, y)| x * y)
        .sum();
    let mut sums = [0.0; 4];
    for (x, y) in fours.zip(fours_too) {
        for k in 0..4 {
            sums[k] += x[k] * y[k];
        }
    }
    rest + (sums[0] + sums[1]) + (sums[2] + sums[3])
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_shape::revolution;

    fn deformed(basis: &Basis, from_two: &[f64]) -> Surface {
        let mut surface = Surface::sphere(basis);
        let mut all = from_two.to_vec();
        all.resize(basis.degrees() - 2, 0.0);
        assert!(surface.shape(basis, &all));
        surface
    }

    #[test]
    fn volume_and_centre_stay_where_they_are() {
        let basis = Basis::new(12, 30);
        let surface = deformed(&basis, &[0.25, -0.12, 0.05]);
        assert!((surface.volume(&basis) / (4.0 / 3.0 * PI) - 1.0).abs() < 1e-14);
        assert!(surface.centroid(&basis).abs() < 1e-15);
        // Area by another room, from the series of r.
        let basis = Basis::new(24, 60);
        let surface = deformed(&basis, &[0.25, -0.12, 0.05]);
        let mut series = surface.amplitudes(&basis);
        series[0] += 1.0;
        let other = revolution::from_series(&series);
        assert!((other.surface / surface.area(&basis) - 1.0).abs() < 1e-7);
        assert!(other.centroid.abs() < 1e-7);
    }

    #[test]
    fn a_sphere_pulls_by_two_and_a_small_mode_by_the_curvature_of_its_degree() {
        let basis = Basis::new(8, 24);
        let mut pull = vec![0.0; 9];
        deformed(&basis, &[]).pull(&basis, &mut pull);
        assert!((pull[0] - 4.0).abs() < 1e-14 && pull[1..].iter().all(|x| x.abs() < 1e-13));
        // 2H = 2 + (n - 1)(n + 2) a P_n for r = 1 + a P_n [Rayleigh1879]; e_n = a to first order, int P_n^2 = 2/(2n + 1).
        for n in 2..=6_usize {
            let mut from_two = vec![0.0; 7];
            from_two[n - 2] = 1e-6;
            deformed(&basis, &from_two).pull(&basis, &mut pull);
            let known = ((n - 1) * (n + 2)) as f64 * 1e-6 * 2.0 / (2 * n + 1) as f64;
            assert!((pull[n] / known - 1.0).abs() < 1e-5, "{n} {}", pull[n] / known);
        }
    }

    #[test]
    fn the_pull_is_the_slope_of_the_area() {
        let basis = Basis::new(10, 30);
        let (mut pull, step) = (vec![0.0; 11], 1e-6);
        let from = [0.3, 0.1, -0.05, 0.02, 0.0, 0.0, 0.0, 0.0, 0.0];
        let base = deformed(&basis, &from);
        base.pull(&basis, &mut pull);
        let area = |place: usize, by: f64| {
            let mut moved = base.clone();
            moved.series[place] += by;
            for i in 0..basis.points() {
                moved.radius[i] = (3.0 * dot(basis.values(i), &moved.series)).cbrt();
            }
            assert!(moved.slopes(&basis));
            moved.area(&basis)
        };
        for (n, pull) in pull.iter().enumerate() {
            let slope = (area(n, step) - area(n, -step)) / (2.0 * step);
            assert!((2.0 * PI * pull - slope).abs() < 1e-7, "{n}");
        }
    }

    #[test]
    fn a_body_turned_inside_out_is_told() {
        let basis = Basis::new(4, 12);
        assert!(!Surface::sphere(&basis).shape(&basis, &[1.5, 0.0, 0.0]));
    }
}
