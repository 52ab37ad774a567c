//! From a start to the coefficients of surface and flow about the centre of mass.
//!
//! ```text
//! point of the start (z, rho)  ->  theta' = atan2(rho, z - z_c),  r' = |(z - z_c, rho)|
//! e_n = (n + 1/2) int r'^3/3 P_n dmu'          sum_l b_l int flux_l P_n dmu' = int P_n(mu'(mu)) r^2 r_t dmu
//! ```
//! A start must be star-shaped about its centre of mass too. Its velocity gives the volume that crosses the surface, whatever the
//! point that it is counted from.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | z_c | centre of mass | R |
//! | r', theta', mu' | about the centre of mass; without prime about the origin of the start | R, rad, - |
//!
//! Source: geometry; interpolation of a profile by cubics through four points \[AbramowitzStegun1972\] 25.2.

use std::f64::consts::PI;

use tremolet_numerics::legendre;
use tremolet_numerics::lu::Lu;
use tremolet_shape::revolution;

use super::basis::Basis;
use super::flow::Flow;
use super::surface::Surface;
use crate::liquid::InputError;
use crate::start::{Start, factors, volume};

/// Coefficients `e_n` and `b_n` from degree 2 on.
#[derive(Debug, Clone, PartialEq)]
pub struct Begun {
    /// Of the surface.
    pub surface: Vec<f64>,
    /// Of the flow.
    pub flow: Vec<f64>,
}

/// Of a start that was checked; refused when `shape_error` (share of R) is not held.
///
/// # Errors
/// [`InputError::Shape`] when it is not star-shaped about its centre of mass, [`InputError::Resolution`].
pub fn begin(start: &Start, basis: &Basis, shape_error: f64) -> Result<Begun, InputError> {
    let radii = match start {
        Start::Star { shape, .. } => of_star(&unit_series(shape), basis)?,
        Start::Profile { meridian } => of_profile(meridian, start.radius(), basis)?,
    };
    let cubes: Vec<f64> = radii.iter().map(|r| r.powi(3) / 3.0).collect();
    let mut series = vec![0.0; basis.degrees()];
    basis.from_nodes(&cubes, &mut series);
    let mut surface = Surface::sphere(basis);
    let sound = surface.shape(basis, &series[2..]);
    let off = surface.radius.iter().zip(&radii).map(|(a, b)| (a - b).abs());
    let found = if sound {
        off.fold(0.0, f64::max)
    } else {
        f64::INFINITY
    };
    if found > shape_error {
        return Err(InputError::Resolution {
            what: "error of the start shape, as a share of its radius,",
            found,
            expected: format!("at most {shape_error:e}"),
            advice: "raise the highest degree, or use a boundary method",
        });
    }
    let flow = match start {
        Start::Star { shape, velocity, .. } if velocity.iter().skip(2).any(|v| *v != 0.0) => {
            stir(&unit_series(shape), velocity, basis, &surface)?
        }
        _ => vec![0.0; basis.highest - 1],
    };
    Ok(Begun {
        surface: surface.series[2..].to_vec(),
        flow,
    })
}

/// `r(mu)` of a star with the volume of the unit sphere.
fn unit_series(shape: &[f64]) -> Vec<f64> {
    let series = factors(shape);
    let radius = revolution::equivalent_radius(revolution::from_series(&series).volume);
    series.iter().map(|c| c / radius).collect()
}

/// Of a star at the nodes, about its centre of mass.
fn of_star(series: &[f64], basis: &Basis) -> Result<Vec<f64>, InputError> {
    let centre = revolution::from_series(series).centroid;
    let of_node = |mu: &f64| {
        let theta = angle_about_origin(series, centre, mu.acos())?;
        let [z, rho] = place(series, theta);
        Ok((z - centre).hypot(rho))
    };
    basis.rule.nodes.iter().map(of_node).collect()
}

fn place(series: &[f64], theta: f64) -> [f64; 2] {
    let r = legendre::series(series, theta.cos());
    [r * theta.cos(), r * theta.sin()]
}

/// The angle about the origin at which a star is seen at `wanted` from its centre, by halving.
fn angle_about_origin(series: &[f64], centre: f64, wanted: f64) -> Result<f64, InputError> {
    let seen = |theta: f64| {
        let [z, rho] = place(series, theta);
        rho.atan2(z - centre)
    };
    let (mut low, mut high) = (0.0, PI);
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if seen(middle) < wanted {
            low = middle
        } else {
            high = middle
        }
    }
    let (theta, step) = ((low + high) / 2.0, 1e-4);
    let slope = (seen(theta + step) - seen(theta - step)) / (2.0 * step);
    if slope > 0.05 {
        Ok(theta)
    } else {
        Err(not_star(slope))
    }
}

fn not_star(found: f64) -> InputError {
    InputError::Shape {
        why: "is not star-shaped about its centre of mass, turn of the ray along the surface",
        found,
        expected: "more than 0.05; use a boundary method",
    }
}

/// Of a meridian at the nodes, about its centre of mass, as a share of `radius`.
fn of_profile(meridian: &[[f64; 2]], radius: f64, basis: &Basis) -> Result<Vec<f64>, InputError> {
    let centre = centroid(meridian);
    let polar = |p: &[f64; 2]| [p[1].atan2(p[0] - centre), (p[0] - centre).hypot(p[1]) / radius];
    let curve: Vec<[f64; 2]> = meridian.iter().map(polar).collect();
    if let Some(pair) = curve.windows(2).find(|pair| pair[1][0] <= pair[0][0]) {
        return Err(not_star(pair[1][0] - pair[0][0]));
    }
    // One volume for the polygon and for the curve through its points.
    let radii: Vec<f64> = basis
        .rule
        .nodes
        .iter()
        .map(|mu| through_four(&curve, mu.acos()))
        .collect();
    let cubes = radii.iter().zip(&basis.rule.weights).map(|(r, w)| w * r.powi(3));
    let scale = (cubes.sum::<f64>() / 2.0).cbrt();
    Ok(radii.iter().map(|r| r / scale).collect())
}

fn centroid(meridian: &[[f64; 2]]) -> f64 {
    let moment = |pair: &[[f64; 2]]| {
        let ([z0, r0], [z1, r1]) = (pair[0], pair[1]);
        let (upper, both, lower) = (r0 * r0, r0 * r1, r1 * r1);
        PI / 12.0
            * (z0 - z1)
            * (z0 * (3.0 * upper + 2.0 * both + lower) + z1 * (upper + 2.0 * both + 3.0 * lower))
    };
    meridian.windows(2).map(moment).sum::<f64>() / volume(meridian)
}

/// Lagrange's cubic through the four points about `at`; mirrored beyond the ends.
fn through_four(curve: &[[f64; 2]], at: f64) -> f64 {
    let last = curve.len() - 1;
    let next = curve.partition_point(|p| p[0] < at).clamp(1, last);
    let point = |k: usize| {
        // k counts from one before the first.
        if k == 0 {
            [-curve[1][0], curve[1][1]]
        } else if k > last + 1 {
            [2.0 * PI - curve[last - 1][0], curve[last - 1][1]]
        } else {
            curve[k - 1]
        }
    };
    let four: Vec<[f64; 2]> = (next - 1..next + 3).map(point).collect();
    let term = |i: usize| {
        let others = (0..4).filter(|j| *j != i);
        others.fold(four[i][1], |product, j| {
            product * (at - four[j][0]) / (four[i][0] - four[j][0])
        })
    };
    (0..4).map(term).sum()
}

/// Coefficients of the flow whose flux through the surface is that of the radial velocity.
fn stir(series: &[f64], velocity: &[f64], basis: &Basis, surface: &Surface) -> Result<Vec<f64>, InputError> {
    let centre = revolution::from_series(series).centroid;
    let mut flow = Flow::new(basis);
    flow.harmonics(basis, surface);
    let degrees = basis.degrees();
    let mut rates = velocity.to_vec();
    rates.resize(velocity.len().max(2), 0.0);
    (rates[0], rates[1]) = (0.0, 0.0);
    let (mut wanted, mut p) = (vec![0.0; degrees], vec![0.0; degrees]);
    for (mu, weight) in basis.rule.nodes.iter().zip(&basis.rule.weights) {
        let r = legendre::series(series, *mu);
        let [z, rho] = place(series, mu.acos());
        legendre::values((z - centre) / (z - centre).hypot(rho), &mut p);
        let flux = weight * r * r * legendre::series(&rates, *mu);
        wanted.iter_mut().zip(&p).for_each(|(sum, p)| *sum += flux * p);
    }
    let mut matrix = vec![0.0; degrees * degrees];
    flow.flux_matrix(basis, &mut matrix);
    let inner: Vec<f64> = (1..degrees)
        .flat_map(|n| matrix[n * degrees + 1..(n + 1) * degrees].to_vec())
        .collect();
    let mut lu = Lu::default();
    if !lu.factor(degrees - 1, &inner) {
        return Err(not_star(0.0));
    }
    lu.solve(&mut wanted[1..]);
    Ok(wanted[2..].to_vec())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn star(shape: Vec<f64>, velocity: Vec<f64>) -> Start {
        Start::Star {
            radius: 0.01,
            shape,
            velocity,
        }
    }

    #[test]
    fn a_star_and_its_profile_begin_alike() {
        let basis = Basis::new(20, 52);
        let start = star(vec![0.0, 0.0, 0.2, 0.1, 0.03], Vec::new());
        let by_star = begin(&start, &basis, 1e-3).expect("begun");
        let profile = Start::Profile {
            meridian: start.meridian(800),
        };
        let by_profile = begin(&profile, &basis, 1e-3).expect("begun");
        let off = by_star
            .surface
            .iter()
            .zip(&by_profile.surface)
            .map(|(a, b)| (a - b).abs());
        assert!(off.fold(0.0, f64::max) < 1e-6);
    }

    #[test]
    fn an_ellipsoid_has_its_amplitudes() {
        // Prolate 1.2 by 1/sqrt(1.2): Legendre coefficients 0.993448146830, 0.177841159655, 0.024777971248, 0.003396140453, recomputed independently.
        let point = |k: i32| {
            let t = PI * f64::from(k) / 600.0;
            let across = if k % 600 == 0 {
                0.0
            } else {
                t.sin() / 1.2_f64.sqrt()
            };
            [1.2 * t.cos(), across]
        };
        let basis = Basis::new(20, 52);
        let start = Start::Profile {
            meridian: (0..=600).map(point).collect(),
        };
        let begun = begin(&start, &basis, 1e-5).expect("begun");
        let mut surface = Surface::sphere(&basis);
        assert!(surface.shape(&basis, &begun.surface));
        let found = surface.amplitudes(&basis);
        let known = [
            -0.006_551_853_170,
            0.0,
            0.177_841_159_655,
            0.0,
            0.024_777_971_248,
            0.0,
            0.003_396_140_453,
        ];
        found
            .iter()
            .zip(known)
            .for_each(|(a, b)| assert!((a - b).abs() < 1e-6, "{a} {b}"));
    }

    #[test]
    fn a_small_velocity_becomes_the_flow_of_its_degree() {
        let basis = Basis::new(8, 28);
        let begun = begin(&star(Vec::new(), vec![0.0, 0.0, 0.6, -0.3]), &basis, 1e-6).expect("begun");
        // r_t = n b_n P_n on the unit sphere.
        assert!((begun.flow[0] - 0.3).abs() < 1e-12 && (begun.flow[1] + 0.1).abs() < 1e-12);
    }

    #[test]
    fn what_cannot_be_held_is_refused() {
        let start = star(vec![0.0, 0.0, 0.4, 0.0, 0.1], Vec::new());
        let told = begin(&start, &Basis::new(4, 20), 1e-4)
            .expect_err("refused")
            .to_string();
        assert!(told.contains("raise the highest degree"), "{told}");
        // A cup, folded over itself as seen from its centre.
        let cup = [[0.0, 0.0], [1.0, 0.6], [1.2, 1.0], [0.0, 1.2], [-0.5, 0.0]];
        let told = begin(
            &Start::Profile {
                meridian: cup.to_vec(),
            },
            &Basis::new(8, 28),
            1.0,
        )
        .expect_err("refused");
        assert!(told.to_string().contains("star-shaped"), "{told}");
    }
}
