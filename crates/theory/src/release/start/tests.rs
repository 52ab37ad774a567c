use super::StartShape;
use std::f64::consts::PI;

fn close(found: f64, known: f64, within: f64, what: &str) {
    assert!((found - known).abs() < within, "{what}: {found} {known}");
}

/// Prolate spheroid 1.2 by 1/sqrt(1.2): coefficients by 200-point quadrature, recomputed independently.
#[test]
fn a_spheroid() {
    let modes = StartShape::Spheroid {
        length: 2.4,
        diameter: 2.0 / 1.2_f64.sqrt(),
    }
    .modes(6)
    .unwrap();
    close(modes.radius, 1.0, 1e-15, "radius");
    for (n, known) in [
        (0, -0.006_551_853_17),
        (2, 0.177_841_159_655),
        (4, 0.024_777_971_248),
        (6, 0.003_396_140_453),
    ] {
        close(modes.amplitudes[n], known, 1e-12, "amplitude");
    }
    assert!(modes.amplitudes[3].abs() < 1e-15);
}

/// Bodies by integrals along their boundary instead of along rays, and their excess surface, validation/theory/release.py: amplitudes of degree 2, 4, 10, then
/// radius and excess.
#[test]
fn bodies() {
    let shapes = [
        StartShape::Spheroid {
            length: 1.4,
            diameter: 2.0,
        },
        StartShape::RoundedCylinder {
            length: 4.0,
            diameter: 2.0,
            edge: 1.0,
        },
        StartShape::RoundedCylinder {
            length: 1.5,
            diameter: 2.0,
            edge: 0.25,
        },
        StartShape::RoundedCylinder {
            length: 2.0,
            diameter: 2.0,
            edge: 0.0,
        },
    ];
    for (shape, [a2, a4, a10, radius, excess]) in shapes.iter().zip(BODIES) {
        let modes = shape.modes(12).unwrap();
        close(modes.amplitudes[2], a2, 1e-10, "a2");
        close(modes.amplitudes[4], a4, 1e-10, "a4");
        close(modes.amplitudes[10], a10, 1e-10, "a10");
        close(modes.radius, radius, 1e-12, "radius");
        close(modes.excess, excess, 1e-10, "excess");
    }
}

const BODIES: [[f64; 5]; 4] = [
    [
        -0.236_984_898_079_26,
        0.043_240_446_337_244,
        -0.000_243_190_875_58,
        0.887_904_001_742_6,
        0.023_941_262_889_66,
    ],
    [
        0.493_105_924_567_6,
        0.076_181_756_202_727,
        0.013_232_197_496_911,
        1.357_208_808_297_5,
        0.085_767_046_637_966,
    ],
    [
        -0.150_361_815_235_77,
        -0.216_532_473_851_58,
        -0.051_727_018_079_296,
        1.028_200_306_143_2,
        0.076_691_977_386_662,
    ],
    [
        0.100_735_820_574_46,
        -0.259_656_140_551_03,
        0.028_470_215_768_472,
        1.144_714_242_553_3,
        0.144_714_242_553_29,
    ],
];

/// r = 1 + 0.1 P_2 + 0.05 P_3 + 0.02 P_4: volume 1.007 332 265 068 and surface 1.010 897 505 170 of the sphere's, 200-point quadrature, recomputed independently.
#[test]
fn a_measured_outline() {
    let modes = StartShape::Series(vec![1.0, 0.0, 0.1, 0.05, 0.02])
        .modes(6)
        .unwrap();
    let radius = 1.007_332_265_068_f64.cbrt();
    close(modes.radius, radius, 1e-12, "radius");
    close(modes.amplitudes[3], 0.05 / radius, 1e-12, "a3");
    close(modes.amplitudes[0], 1.0 / radius - 1.0, 1e-12, "a0");
    close(
        modes.excess,
        1.010_897_505_170 / (radius * radius) - 1.0,
        1e-11,
        "excess",
    );
    let starts = modes.beginnings();
    close(starts[2].amplitude, 0.1, 1e-13, "start");
    assert!(starts.iter().all(|start| start.speed == 0.0) && starts.len() == 7);
}

/// A sphere by every way.
#[test]
fn spheres() {
    for shape in [
        StartShape::Spheroid {
            length: 0.06,
            diameter: 0.06,
        },
        StartShape::RoundedCylinder {
            length: 0.06,
            diameter: 0.06,
            edge: 0.03,
        },
        StartShape::Series(vec![0.03]),
    ] {
        let modes = shape.modes(5).unwrap();
        close(modes.radius, 0.03, 1e-16, "radius");
        close(modes.excess, 0.0, 1e-14, "excess");
        assert!(modes.amplitudes.iter().all(|a| a.abs() < 1e-14), "{modes:?}");
    }
}

/// Expanded and laid together again, the shape is there.
#[test]
fn the_modes_give_the_shape_back() {
    let shape = StartShape::RoundedCylinder {
        length: 3.0,
        diameter: 2.0,
        edge: 0.8,
    };
    let modes = shape.modes(60).unwrap();
    for theta in [0.0_f64, 0.5, 1.0, PI / 2.0] {
        let m = theta.cos();
        let sum = 1.0 + tremolet_numerics::legendre::series(&modes.amplitudes, m);
        close(sum * modes.radius, shape.at(m), 2e-4, "radius");
    }
}

#[test]
fn what_cannot_be_is_refused() {
    let cylinder = |edge| StartShape::RoundedCylinder {
        length: 2.0,
        diameter: 1.0,
        edge,
    };
    assert!(
        cylinder(0.5).modes(2).is_ok() && cylinder(0.6).modes(2).is_err() && cylinder(-0.1).modes(2).is_err()
    );
    assert!(StartShape::Series(vec![1.0, 0.0, -1.2]).modes(2).is_err());
    assert!(StartShape::Series(vec![]).modes(2).is_err());
    let flat = StartShape::Spheroid {
        length: 0.0,
        diameter: 1.0,
    };
    assert!(flat.modes(2).is_err());
}
