use super::{families, validity};
use crate::shell::body::Shell;

fn unit(x: f64, tension: f64, outer_gas: f64, inner_gas: f64) -> Shell {
    Shell {
        inner_radius: x,
        outer_radius: 1.0,
        density: 1.0,
        viscosity: 0.0,
        inner_tension: tension,
        outer_tension: 1.0,
        inner_gas,
        outer_gas,
    }
}

/// Degree, ratio of the radii, slow and fast frequency, amplitude ratios: the problem of Saffren et al. 1982, roots of the quadratic at 30 digits which also
/// zero the 2x2 problem in A and B; recomputed independently.
const MASSLESS: [(u32, f64, f64, f64, f64, f64); 15] = [
    (
        2,
        0.05,
        2.828_426_388_023,
        309.838_748_400_6,
        -1.041_753_3e-5,
        95_992.02,
    ),
    (
        2,
        0.1,
        2.828_403_515_27,
        109.545_425_899_7,
        -1.667_767_4e-4,
        5996.0401,
    ),
    (
        2,
        0.3,
        2.822_442_020_026,
        21.126_556_002_54,
        -0.013_723_143,
        72.869_604,
    ),
    (
        2,
        0.5,
        2.739_963_695_766,
        10.114_299_311_31,
        -0.110_220_52,
        9.072_720_5,
    ),
    (
        2,
        0.7,
        2.285_482_057_536,
        7.319_994_257_271,
        -0.405_093_81,
        2.468_564_0,
    ),
    (
        2,
        0.8,
        1.814_800_688_273,
        7.545_216_411_982,
        -0.607_367_07,
        1.646_450_8,
    ),
    (
        2,
        0.9,
        1.200_201_624_700,
        9.561_315_344_710,
        -0.805_332_63,
        1.241_722_9,
    ),
    (
        2,
        0.95,
        0.812_680_449_728_6,
        13.020_581_980_94,
        -0.901_892_89,
        1.108_779_1,
    ),
    (
        2,
        0.99,
        0.349_865_072_055_5,
        28.430_351_996_57,
        -0.980_095_03,
        1.020_309_2,
    ),
    (
        3,
        0.3,
        5.476_126_990_853,
        38.497_739_557_54,
        -0.004_339_610_9,
        230.435_41,
    ),
    (
        3,
        0.5,
        5.431_051_639_629,
        18.040_629_368_43,
        -0.059_806_749,
        16.720_521,
    ),
    (
        3,
        0.8,
        3.992_409_280_173,
        12.126_084_384_19,
        -0.575_714_20,
        1.736_973_0,
    ),
    (
        3,
        0.95,
        1.815_991_233_915,
        20.601_150_143_41,
        -0.901_284_71,
        1.109_527_3,
    ),
    (
        4,
        0.5,
        8.466_670_967_164,
        26.891_796_364_26,
        -0.031_173_966,
        32.078_049,
    ),
    (
        4,
        0.8,
        6.770_379_078_657,
        16.616_499_415_02,
        -0.535_226_65,
        1.868_367_4,
    ),
];

#[test]
fn both_families_in_vacuum() {
    for (n, x, slow, fast, against, together) in MASSLESS {
        let found = families(n, &unit(x, 1.0, 0.0, 0.0)).unwrap();
        for (mode, w, ratio) in [(found.against, slow, against), (found.together, fast, together)] {
            assert!(
                (mode.angular_frequency / w - 1.0).abs() < 1e-12,
                "{n} {x} {mode:?}"
            );
            assert!(
                (mode.inner_over_outer / ratio - 1.0).abs() < 1e-7,
                "{n} {x} {mode:?}"
            );
        }
    }
}

/// The 6x6 determinant in all potentials, with unlike tensions and gas on both sides, validation/theory/shell.py.
#[test]
fn with_unlike_tensions_and_gas() {
    for (n, x, tension, outside, inside, slow, fast) in [
        (
            2,
            0.5,
            1.0,
            0.0012,
            0.0012,
            2.738_945_786_621_8,
            10.104_110_377_406,
        ),
        (3, 0.4, 0.5, 0.0, 0.0, 5.467_441_676_153_2, 17.709_303_434_821),
        (2, 0.7, 2.0, 0.1, 0.3, 2.313_722_603_95, 7.770_275_820_981_8),
        (5, 0.9, 1.0, 0.01, 0.002, 7.009_745_533_11, 25.357_586_103_69),
        (
            2,
            0.999,
            1.0,
            0.01,
            0.01,
            0.109_653_343_266_32,
            29.296_920_274_184,
        ),
    ] {
        let found = families(n, &unit(x, tension, outside, inside)).unwrap();
        assert!(
            (found.against.angular_frequency / slow - 1.0).abs() < 1e-12,
            "{n} {x} {found:?}"
        );
        assert!(
            (found.together.angular_frequency / fast - 1.0).abs() < 1e-12,
            "{n} {x} {found:?}"
        );
    }
}

/// Rayleigh 1879 and Lamb 1932 for the vanishing bubble; a thin shell's W d -> N(1+s), W/d -> N n(n+1) s/(1+s): at d = 1e-3 8.008 028 048 1 and
/// 12.024 005 957 9 for s = 1, recomputed independently.
#[test]
fn limits() {
    for n in 2..=12_u32 {
        let m = f64::from(n);
        let (x, tension) = (1e-3, 0.6);
        let found = families(n, &unit(x, tension, 0.0, 0.0)).unwrap();
        let drop = m * (m - 1.0) * (m + 2.0);
        assert!(
            (found.against.angular_frequency.powi(2) / drop - 1.0).abs() < 1e-9,
            "{n}"
        );
        let bubble = tension * (m - 1.0) * (m + 1.0) * (m + 2.0) / x.powi(3);
        assert!(
            (found.together.angular_frequency.powi(2) / bubble - 1.0).abs() < 1e-9,
            "{n}"
        );
    }
    let thin = families(2, &unit(0.999, 1.0, 0.0, 0.0)).unwrap();
    assert!((thin.together.angular_frequency.powi(2) * 1e-3 - 8.008_028_048_1).abs() < 1e-9);
    assert!((thin.against.angular_frequency.powi(2) / 1e-3 - 12.024_005_957_9).abs() < 1e-9);
}

#[test]
fn what_cannot_be_is_refused_and_what_is_far_is_marked() {
    let good = unit(0.5, 1.0, 0.0, 0.0);
    assert!(families(1, &good).is_err() && families(13, &good).is_err());
    assert!(families(2, &unit(1.0, 1.0, 0.0, 0.0)).is_err());
    let amplitude = "amplitude over thickness of the liquid or bubble radius";
    assert!(validity(2, &good, 0.01).unwrap().holds());
    assert_eq!(validity(2, &good, -0.08).unwrap().broken(), [amplitude]);
    // A small bubble is the measure then.
    let small = unit(0.05, 1.0, 0.0, 0.0);
    assert_eq!(validity(2, &small, 0.01).unwrap().broken(), [amplitude]);
    let thick = Shell {
        viscosity: 0.1,
        ..good
    };
    assert_eq!(
        validity(2, &thick, 0.01).unwrap().broken(),
        ["depth of the shear layer over thickness of the liquid or bubble radius"]
    );
}
