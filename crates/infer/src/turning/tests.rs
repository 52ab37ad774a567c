use super::*;
use crate::ringdown::{Options, analyse};
use tremolet_numerics::random::Generator;
use tremolet_record::series::{ModeSample, ModeSeries};

const FRAMES: usize = 120;

/// Complex numbers as pairs.
type Complex = [f64; 2];

/// A symmetric tensor of no trace, `zz, xx, xy, xz, yz`: `r = R (1 + n Q n)`; the picture is the plane of x and z.
type Tensor = [Complex; 5];

/// The tensor of a swing of degree 2 about the z-axis (amplitude 0.02) with modes of order 1 and 2.
fn drawn(dice: &mut Generator, orders: f64) -> Tensor {
    let mut part = |size: f64| {
        let (sin, cos) = (TAU * dice.uniform()).sin_cos();
        [size * cos, size * sin]
    };
    let own = part(0.02);
    let others: [Complex; 4] = std::array::from_fn(|_| part(0.005 * orders));
    let half = own.map(|x| -0.5 * x);
    let [a, b, c, d] = others;
    [own, [half[0] + a[0], half[1] + a[1]], b, c, d]
}

/// The matrix of one part of the tensor.
fn matrix(q: &Tensor, part: usize) -> [[f64; 3]; 3] {
    let [zz, xx, xy, xz, yz] = q.map(|c| c[part]);
    [[xx, xy, xz], [xy, -zz - xx, yz], [xz, yz, zz]]
}

/// Rotation by `angle` about the unit vector `axis`.
fn rotation(axis: [f64; 3], angle: f64) -> [[f64; 3]; 3] {
    let (s, c) = angle.sin_cos();
    let [x, y, z] = axis;
    let cross = [[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]];
    std::array::from_fn(|i| {
        std::array::from_fn(|j| {
            let same = if i == j { c } else { 0.0 };
            same + s * cross[i][j] + (1.0 - c) * axis[i] * axis[j]
        })
    })
}

/// Along the direction `n` fixed in the picture: `n R Q R^T n`.
fn seen(q: &[[f64; 3]; 3], turned: &[[f64; 3]; 3], n: [f64; 3]) -> f64 {
    let back: [f64; 3] = std::array::from_fn(|j| (0..3).map(|i| turned[i][j] * n[i]).sum());
    (0..3)
        .flat_map(|i| (0..3).map(move |j| (i, j)))
        .map(|(i, j)| back[i] * q[i][j] * back[j])
        .sum()
}

const FREQUENCY: f64 = 30.0;
const DECAY: f64 = 0.6;

/// Limbs over one second of a drop whose pattern turns by `angle` about `axis`; harmonics scatter by `noise`.
fn limbs(q: &Tensor, axis: [f64; 3], angle: f64, noise: f64, dice: &mut Generator) -> Vec<Limb> {
    let parts = [0, 1].map(|part| matrix(q, part));
    let one = |i: usize| {
        let t = i as f64 / (FRAMES - 1) as f64;
        let turned = rotation(axis, angle * (t - 0.5));
        let (sin, cos) = (FREQUENCY * t).sin_cos();
        let factor = (-DECAY * t).exp();
        let radius = |theta: f64| {
            let n = [theta.sin(), 0.0, theta.cos()];
            factor * (cos * seen(&parts[0], &turned, n) - sin * seen(&parts[1], &turned, n))
        };
        let (pole, side) = (radius(0.0), radius(0.25 * TAU));
        let across = 0.5 * (radius(0.125 * TAU) - radius(-0.125 * TAU));
        let mut noisy = |x: f64, size: f64| x + size * noise * dice.normal();
        Limb {
            time: 3.0 + t,
            cosine: vec![
                noisy(0.5 * (pole + side), 0.5_f64.sqrt()),
                0.0,
                noisy(0.5 * (pole - side), 1.0),
            ],
            sine: vec![0.0, 0.0, noisy(across, 1.0)],
        }
    };
    (0..FRAMES).map(one).collect()
}

/// The ring-down of the amplitudes that such limbs show: `cos 2 theta` is 3/4 of `P_2`.
fn rung(limbs: &[Limb], noise: f64) -> Ringdown {
    let sample = |(frame, limb): (usize, &Limb)| ModeSample {
        frame: frame as u64,
        time: limb.time,
        amplitude: vec![limb.cosine[2] / 0.75],
        covariance: vec![(noise / 0.75).powi(2)],
        free: true,
    };
    let series = ModeSeries {
        body: 1,
        degrees: vec![2],
        samples: limbs.iter().enumerate().map(sample).collect(),
    };
    let still = Options {
        shifts: vec![crate::ringdown::Shift {
            degree: 2,
            mean: 0.0,
            deviation: 1e-6,
        }],
        ..Options::default()
    };
    analyse(&series, &still)
}

const NOISE: f64 = 3e-5;

/// Deviations of frequency and decay rate over their uncertainties before and after, and whether turning is told.
fn looked_at(seed: u64, orders: f64, axis: [f64; 3], angle: f64) -> ([f64; 2], [f64; 2], bool) {
    let mut dice = Generator::stream(61, seed);
    let q = drawn(&mut dice, orders);
    let limbs = limbs(&q, axis, angle, NOISE, &mut dice);
    let mut found = rung(&limbs, NOISE);
    let off = |m: &Mode| {
        [
            (m.angular_frequency - FREQUENCY) / m.u_angular_frequency,
            (m.decay_rate - DECAY) / m.u_decay_rate,
        ]
    };
    let before = off(&found.modes[0]);
    of_limbs(&limbs, &mut found, 0.0);
    let told = found.cautions.iter().any(|c| c.code == "pattern_turns");
    let mode = &found.modes[0];
    let diagonal = [found.covariance[0], found.covariance[3]].map(f64::sqrt);
    assert!((diagonal[0] / mode.u_angular_frequency - 1.0).abs() < 1e-9);
    assert!((diagonal[1] / mode.u_decay_rate - 1.0).abs() < 1e-9);
    (before, off(mode), told)
}

fn inside(all: &[[f64; 2]]) -> f64 {
    let within = all.iter().flatten().filter(|x| x.abs() < 2.0).count();
    within as f64 / (2 * all.len()) as f64
}

#[test]
fn orders_on_a_drop_at_rest_are_no_turn() {
    let all: Vec<_> = (0..60)
        .map(|seed| looked_at(seed, 1.0, [0.0, 0.0, 1.0], 0.0))
        .collect();
    assert!(all.iter().filter(|x| x.2).count() <= 1);
    assert!(inside(&all.iter().map(|x| x.1).collect::<Vec<_>>()) > 0.9);
}

#[test]
fn a_body_of_revolution_may_turn_about_its_axis() {
    for seed in 0..20 {
        let (before, after, told) = looked_at(seed, 0.0, [0.0, 0.0, 1.0], 0.5);
        assert!(!told && before == after);
    }
}

// Exact rotation of the tensor, about its axis and about directions drawn evenly.
#[test]
fn the_uncertainty_holds_what_a_turn_hides() {
    let mut dice = Generator::new(62);
    let mut any = || {
        let [x, y, z]: [f64; 3] = std::array::from_fn(|_| dice.normal());
        let length = (x * x + y * y + z * z).sqrt();
        [x / length, y / length, z / length]
    };
    for (angle, own) in [(0.1, true), (0.5, true), (0.1, false), (0.4, false)] {
        let all: Vec<_> = (0..60)
            .map(|seed| looked_at(seed, 1.0, if own { [0.0, 0.0, 1.0] } else { any() }, angle))
            .collect();
        let before = inside(&all.iter().map(|x| x.0).collect::<Vec<_>>());
        let after = inside(&all.iter().map(|x| x.1).collect::<Vec<_>>());
        assert!(before < 0.6 && after >= 0.9, "{angle} {own}: {before} {after}");
        let told = all.iter().filter(|x| x.2).count();
        assert!(told >= 50, "{angle}: {told}");
    }
}

#[test]
fn a_turn_in_the_picture_is_told_with_its_angle() {
    let mut dice = Generator::new(63);
    let q = drawn(&mut dice, 0.0);
    // The y-axis points away from the lens for z upwards and x to the right, so a turn about it takes up to the right.
    let limbs = limbs(&q, [0.0, 1.0, 0.0], 0.35, NOISE, &mut dice);
    let mut found = rung(&limbs, NOISE);
    of_limbs(&limbs, &mut found, 0.0);
    let told = found
        .cautions
        .iter()
        .find(|c| c.code == "pattern_turns")
        .expect("told");
    // To first order: 0.35 rad are 20 degrees, of which the sine of the double leaves 18 to 20.
    let angles = [", 18.", ", 19.", ", 20."];
    assert!(
        angles.iter().any(|angle| told.text.contains(angle)),
        "{}",
        told.text
    );
    assert!((found.modes[0].decay_rate - DECAY).abs() < 2.0 * found.modes[0].u_decay_rate);
}

#[test]
fn few_outlines_and_coarse_coding_tell_nothing() {
    let mut dice = Generator::new(64);
    let q = drawn(&mut dice, 1.0);
    let limbs = limbs(&q, [0.0, 0.0, 1.0], 0.5, NOISE, &mut dice);
    let before = rung(&limbs, NOISE);
    let mut found = before.clone();
    of_limbs(&limbs[..20], &mut found, 0.0);
    of_limbs(&limbs, &mut found, 0.02);
    assert_eq!(found, before);
    of_limbs(&limbs, &mut found, 0.0);
    assert_ne!(found, before);
}
