//! An apparent size that swings with the shape, and what that says of the view.
//!
//! ```text
//! R(t)/R = b0 + b1 u + b2 u^2 + sum_n e^{-g_n t} (C_n cos w_n t + S_n sin w_n t),     q_n = (C_n - i S_n) / (A_n e^{i phi_n})
//! axis tilted out of the picture:  q_2 = -tan^2(tilt) / 2;     near lens:  q_2 = -s^2 / (2 (1 - s^2)),  s = R/D
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `R` | volume-equivalent radius as seen | any |
//! | `A_n`, `phi_n`, `w_n`, `g_n` | amplitude, phase, angular frequency, decay rate of a mode | 1, rad, rad/s, 1/s |
//! | `q_n` | swing of the size over that of the shape | 1 |
//! | `u` | time from -1 to 1 over the record | 1 |
//! | `D` | distance of the lens | m |
//!
//! The volume of a free liquid body does not swing. Seen from one side a body of revolution whose axis points out of the picture seems to lose volume as it seems to
//! lengthen (`theory::tilt`), always against the shape, q < 0; a mode of another order about an axis in the picture can do the same or the opposite, for its sides towards the lens
//! and away are not seen. Depth changes the size too, but the centre of mass of a free body does not swing, so depth is named only where nothing else fits: a size that swings
//! neither with nor against the shape. Source: first order in the amplitudes, own derivation.

use tremolet_numerics::dense::{Matrix, dot};

use crate::caution::Caution;
use crate::ringdown::{Mode, Ringdown};

/// Least swing of the size over that of the shape that is told.
const LEAST: f64 = 0.01;
/// Standard uncertainties at which a swing is taken as one.
const SURE: f64 = 5.0;
/// Fewest samples beyond the unknowns.
const FEWEST: f64 = 16.0;

/// How the size swings with one mode: with the shape, and a quarter of a period off, both over the amplitude of the mode, and their standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Swing {
    along: f64,
    aside: f64,
    u: f64,
}

/// A caution for each mode with which the apparent size swings. `sizes` (any unit) at `times` (s, the clock of the series); `ratio` is
/// radius over distance of the lens, 0 where it is far away or not known; a swing of less than `least` (over R) is not told.
pub fn of_size(times: &[f64], sizes: &[f64], ringdown: &Ringdown, ratio: f64, least: f64) -> Vec<Caution> {
    let inside: Vec<usize> = (0..times.len().min(sizes.len()))
        .filter(|&i| (ringdown.interval.0..=ringdown.interval.1).contains(&times[i]) && sizes[i].is_finite())
        .collect();
    let times: Vec<f64> = inside.iter().map(|&i| times[i] - ringdown.interval.0).collect();
    let sizes: Vec<f64> = inside.iter().map(|&i| sizes[i]).collect();
    let span = ringdown.interval.1 - ringdown.interval.0;
    let Some(swings) = swings(&times, &sizes, &ringdown.modes, span) else {
        return Vec::new();
    };
    let pairs = ringdown.modes.iter().zip(swings);
    pairs
        .filter_map(|(mode, swing)| told(mode, &swing, ratio, least))
        .collect()
}

fn swings(times: &[f64], sizes: &[f64], modes: &[Mode], span: f64) -> Option<Vec<Swing>> {
    let freedom = times.len() as f64 - 3.0 - 2.0 * modes.len() as f64;
    if modes.is_empty() || freedom < FEWEST {
        return None;
    }
    let mean = sizes.iter().sum::<f64>() / sizes.len() as f64;
    let course = |mode: &Mode, t: f64, turn: f64| {
        (-mode.decay_rate * t).exp() * (mode.angular_frequency * t + mode.phase + turn).cos()
    };
    let columns = |i: usize, j: usize| match j {
        0..3 => (2.0 * times[i] / span - 1.0).powi(j as i32),
        _ => course(
            &modes[(j - 3) / 2],
            times[i],
            if j % 2 == 1 {
                0.0
            } else {
                std::f64::consts::FRAC_PI_2
            },
        ),
    };
    let model = Matrix::from_fn(times.len(), 3 + 2 * modes.len(), columns);
    let values: Vec<f64> = sizes.iter().map(|size| size / mean).collect();
    let found = model.least_squares(&values).ok()?;
    let covariance = model.gram().inverse_positive().ok()?;
    let left: f64 = (0..values.len())
        .map(|i| (values[i] - dot(model.row(i), &found)).powi(2))
        .sum();
    let swing = |(k, mode): (usize, &Mode)| {
        let place = 3 + 2 * k;
        let variance = 0.5 * (covariance[(place, place)] + covariance[(place + 1, place + 1)]);
        Swing {
            along: found[place] / mode.amplitude,
            aside: found[place + 1] / mode.amplitude,
            u: (left / freedom * variance).sqrt() / mode.amplitude,
        }
    };
    Some(modes.iter().enumerate().map(swing).collect())
}

fn told(mode: &Mode, swing: &Swing, ratio: f64, least: f64) -> Option<Caution> {
    // Degree 2 alone is known to first order for a near lens.
    let near = if mode.degree == 2 {
        -0.5 * ratio * ratio / (1.0 - ratio * ratio)
    } else {
        0.0
    };
    let along = swing.along - near;
    let size = along.hypot(swing.aside);
    if size < LEAST.max(SURE * swing.u) || size * mode.amplitude < least {
        return None;
    }
    let in_step = along.abs() > 2.0 * swing.aside.abs();
    let cause = if in_step && along < 0.0 && mode.degree == 2 {
        let tilt = (-2.0 * along).sqrt().atan().to_degrees();
        format!(
            "against the shape, as for a body of revolution whose axis points {tilt:.0} degrees out of the picture, or for modes of another order m; one view \
             cannot tell these apart"
        )
    } else if in_step {
        "in step with the shape, as modes of another order m make it, or a tilted axis with several modes"
            .to_string()
    } else {
        "out of step with the shape, which neither a tilted axis nor one mode of another order makes: two modes of different order (a pattern that turns), \
         or a lens, focus or depth that swings"
            .to_string()
    };
    let text = format!(
        "the apparent size swings with degree {} by {:.1} % of its amplitude, {cause}; radius and volume are means over the swings, amplitudes are those of the \
         view",
        mode.degree,
        1e2 * size
    );
    Some(Caution::new("size_swings", text))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ringdown::{Options, analyse};
    use tremolet_numerics::legendre::value;
    use tremolet_numerics::quadrature::gauss_legendre;
    use tremolet_numerics::random::Generator;
    use tremolet_record::series::{ModeSample, ModeSeries};
    use tremolet_theory::tilt::volume_error;

    fn swing(t: f64) -> f64 {
        0.03 * (-0.8 * t).exp() * (21.0 * t + 0.7).cos()
    }

    /// Degree 2 as seen at this tilt (the part of P_2(c x) that is P_2(x)), rung down from `swing`.
    fn seen(tilt: f64) -> Ringdown {
        let part = gauss_legendre(4).integral(-1.0, 1.0, |x| 2.5 * value(2, tilt.cos() * x) * value(2, x));
        let mut g = Generator::new(7);
        let sample = |i: u32| {
            let t = 1.0 + 0.01 * f64::from(i);
            ModeSample {
                frame: u64::from(i),
                time: t,
                amplitude: vec![part * swing(t - 1.0) + 1e-4 * g.normal()],
                covariance: vec![1e-8],
                free: true,
            }
        };
        let series = ModeSeries {
            body: 1,
            degrees: vec![2],
            samples: (0..300).map(sample).collect(),
        };
        analyse(&series, &Options::default())
    }

    fn sizes(relative: impl Fn(f64) -> f64) -> (Vec<f64>, Vec<f64>) {
        let mut g = Generator::new(8);
        let times: Vec<f64> = (0..300).map(|i| 1.0 + 0.01 * f64::from(i)).collect();
        let sizes = times
            .iter()
            .map(|t| 50.0 * (1.0 + relative(t - 1.0) + 3e-5 * g.normal()));
        let sizes = sizes.collect();
        (times, sizes)
    }

    // A third of the volume's error is the radius's, `theory::tilt`.
    #[test]
    fn a_tilted_axis_is_named_with_its_angle() {
        for degrees in [20.0_f64, 45.0] {
            let tilt = degrees.to_radians();
            let ringdown = seen(tilt);
            let (times, sizes) = sizes(|t| volume_error(2, tilt) / 3.0 * swing(t));
            let told = of_size(&times, &sizes, &ringdown, 0.0, 0.0);
            assert_eq!(told.len(), 1, "{degrees}");
            let due = format!("axis points {degrees:.0} degrees");
            assert!(
                told[0].code == "size_swings" && told[0].text.contains(&due),
                "{}",
                told[0].text
            );
            assert!(told[0].text.contains("order m"));
        }
    }

    #[test]
    fn a_size_that_stands_still_or_drifts_is_not_told() {
        let ringdown = seen(0.0);
        let (times, sizes) = sizes(|t| 1e-3 * t);
        assert_eq!(of_size(&times, &sizes, &ringdown, 0.0, 0.0), Vec::new());
        assert_eq!(
            of_size(&times[..10], &sizes[..10], &ringdown, 0.0, 0.0),
            Vec::new()
        );
    }

    // At 3 radii, s = 1/3: the size swings by -s^2 / (2 (1 - s^2)) = -1/16 of the shape, by hand.
    #[test]
    fn a_near_lens_is_no_tilt() {
        let ringdown = seen(0.0);
        let (times, sizes) = sizes(|t| -swing(t) / 16.0);
        assert_eq!(of_size(&times, &sizes, &ringdown, 1.0 / 3.0, 0.0), Vec::new());
        assert_eq!(of_size(&times, &sizes, &ringdown, 0.0, 0.0).len(), 1);
        // 0.03 / 16 = 1.9e-3 of R.
        assert_eq!(of_size(&times, &sizes, &ringdown, 0.0, 2e-3), Vec::new());
    }

    #[test]
    fn what_swings_with_the_shape_or_aside_of_it_is_no_tilt() {
        let ringdown = seen(0.0);
        let aside = |t: f64| 0.002 * (-0.8 * t).exp() * (21.0 * t + 0.7 + std::f64::consts::FRAC_PI_2).cos();
        for (relative, due) in [
            (&(|t: f64| 0.2 * swing(t)) as &dyn Fn(f64) -> f64, "in step"),
            (&aside, "out of step"),
        ] {
            let (times, sizes) = sizes(relative);
            let told = of_size(&times, &sizes, &ringdown, 0.0, 0.0);
            assert!(
                told[0].text.contains(due) && !told[0].text.contains("degrees out"),
                "{}",
                told[0].text
            );
        }
    }
}
