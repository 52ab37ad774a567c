use super::{ShellRoot, roots};
use crate::shell::body::Shell;
use crate::shell::inviscid::families;
use crate::shell::irrotational::decays;

fn unit(x: f64, tension: f64, viscosity: f64) -> Shell {
    Shell {
        inner_radius: x,
        outer_radius: 1.0,
        density: 1.0,
        viscosity,
        inner_tension: tension,
        outer_tension: 1.0,
        inner_gas: 0.0,
        outer_gas: 0.0,
    }
}

fn close(found: Option<ShellRoot>, decay: f64, swing: f64, digits: f64, what: &str) {
    let found = found.expect("a swing");
    assert!(
        (found.decay / decay - 1.0).abs() < digits,
        "{what}: {found:?} {decay}"
    );
    assert!(
        (found.angular_frequency / swing - 1.0).abs() < digits,
        "{what}: {found:?} {swing}"
    );
}

/// The problem of Lyell & Wang 1986, degree 2: ratio of the radii, viscosity, slow decay and frequency, fast decay and frequency; roots of a 4x4
/// determinant at 30 digits, which tend to the dissipation of the potential flow; recomputed independently.
#[test]
fn exact_roots_of_degree_two() {
    for (x, nu, slow, fast) in [
        (
            0.3,
            1e-4,
            (0.000_522_984_026_87, 2.822_438_870_5),
            (0.021_867_648_486, 21.126_193_75),
        ),
        (
            0.3,
            1e-3,
            (0.005_161_090_319_2, 2.822_346_377_6),
            (0.210_794_929_34, 21.115_296_196),
        ),
        (
            0.5,
            1e-4,
            (0.000_676_274_418, 2.739_958_732_4),
            (0.007_846_693_731, 10.114_183_04),
        ),
        (
            0.5,
            1e-3,
            (0.006_651_168_878_5, 2.739_825_705_4),
            (0.075_941_979_042, 10.110_664_846),
        ),
        (
            0.5,
            1e-2,
            (0.063_296_268_198, 2.736_994_071_7),
            (0.679_713_388_4, 10.002_772_224),
        ),
        (
            0.8,
            1e-3,
            (0.013_142_517_521, 1.814_364_709_3),
            (0.025_081_972_978, 7.543_558_098_5),
        ),
        (
            0.9,
            1e-3,
            (0.012_772_299_257, 1.199_286_802_3),
            (0.018_778_691_911, 9.559_242_958),
        ),
    ] {
        let found = roots(2, &unit(x, 1.0, nu)).unwrap();
        close(found.against, slow.0, slow.1, 2e-9, &format!("{x} {nu} slow"));
        close(found.together, fast.0, fast.1, 2e-9, &format!("{x} {nu} fast"));
    }
}

const OTHERS: [(u32, f64, f64, f64, [f64; 4]); 7] = [
    (
        2,
        0.5,
        1.0,
        0.001,
        [
            0.006_651_168_878_528,
            2.739_825_705_362,
            0.075_941_979_041_92,
            10.110_664_846_42,
        ],
    ),
    (
        3,
        0.5,
        1.0,
        0.002,
        [
            0.028_667_548_742_11,
            5.430_145_734_399,
            0.261_381_485_925_7,
            18.023_026_637_84,
        ],
    ),
    (
        3,
        0.4,
        0.5,
        0.01,
        [
            0.132_541_452_944_1,
            5.457_503_205_682,
            1.790_475_815_344,
            17.340_441_272_03,
        ],
    ),
    (
        2,
        0.9,
        1.0,
        0.01,
        [
            0.118_022_602_267_4,
            1.192_542_560_827,
            0.122_013_910_908_1,
            9.501_318_691_825,
        ],
    ),
    (
        4,
        0.2,
        1.0,
        0.005,
        [
            0.127_195_249_010_7,
            8.477_363_421_734,
            5.873_645_160_183,
            105.229_840_966,
        ],
    ),
    (
        2,
        0.1,
        1.0,
        0.001,
        [
            0.004_926_671_396_978,
            2.828_320_871_652,
            1.863_640_946_197,
            109.413_209_706_1,
        ],
    ),
    (
        2,
        0.5,
        1.0,
        0.1,
        [
            0.605_404_069_818_8,
            2.735_418_961_523,
            3.852_135_091_968,
            6.890_906_973_714,
        ],
    ),
];

/// Other degrees, tensions and viscosities: the determinant in Bessel functions of general order, followed from a thin liquid in validation/theory/shell.py.
#[test]
fn exact_roots_of_other_shells() {
    for (n, x, tension, nu, [a, b, c, d]) in OTHERS {
        let found = roots(n, &unit(x, tension, nu)).unwrap();
        close(found.against, a, b, 1e-10, &format!("{n} {x} {nu} slow"));
        close(found.together, c, d, 1e-10, &format!("{n} {x} {nu} fast"));
    }
}

/// A vanishing bubble leaves the drop's own exact root (Chandrasekhar 1961: 0.047 414 843 76, 2.825 742 374 125 at Oh 0.01).
#[test]
fn a_vanishing_bubble_leaves_the_drop() {
    let found = roots(2, &unit(0.005, 1.0, 0.01)).unwrap().against;
    close(found, 0.047_414_843_76, 2.825_742_374_125, 3e-7, "drop");
}

/// For a thin liquid the exact decay tends to that of the potential flow from below, and the shift of the frequency vanishes faster.
#[test]
fn a_thin_liquid_decays_by_its_potential_flow() {
    for n in [2, 3, 6, 12] {
        for x in [0.1, 0.5, 0.9] {
            let shell = unit(x, 0.7, 1e-8);
            let (exact, estimate) = (roots(n, &shell).unwrap(), decays(n, &shell).unwrap());
            let still = families(n, &shell).unwrap();
            for (root, estimate, mode) in [
                (exact.against, estimate[0], still.against),
                (exact.together, estimate[1], still.together),
            ] {
                let root = root.unwrap();
                let short = 1.0 - root.decay / estimate;
                assert!(short > 0.0 && short < 0.02, "{n} {x}: {short}");
                assert!((root.angular_frequency / mode.angular_frequency - 1.0).abs() < 1e-6);
            }
        }
    }
}

/// The decay of the fast mode rises with viscosity, falls again and rises: ratio 0.6, the determinant in Bessel functions of general order near
/// these places, validation/theory/shell.py.
#[test]
fn the_fast_mode_has_a_least_decay() {
    let decay = |nu| roots(2, &unit(0.6, 1.0, nu)).unwrap().together;
    close(
        decay(0.4823),
        1.220_986_360_851,
        4.340_762_414_145,
        1e-10,
        "0.4823",
    );
    close(decay(1.498), 2.507_705_357_688, 3.728_400_077_992, 1e-10, "1.498");
    let [first, least, last] = [0.1, 0.4, 1.5].map(|nu| decay(nu).map_or(f64::NAN, |root| root.decay));
    assert!(least < first && least < last, "{first} {least} {last}");
}

/// Past its limit a mode is refused, never given as something else: whatever is given swings and dies away.
#[test]
fn what_is_given_swings() {
    for x in [0.3, 0.6, 0.9] {
        let mut gone = [0, 0];
        for k in 0..40 {
            let found = roots(2, &unit(x, 1.0, 0.05 * 1.2_f64.powi(k))).unwrap();
            for (family, root) in [found.against, found.together].into_iter().enumerate() {
                let Some(root) = root else {
                    gone[family] += 1;
                    continue;
                };
                let ratio = root.angular_frequency / root.decay;
                assert!(root.decay > 0.0 && ratio > 0.05, "{x} {k}: {root:?}");
                assert_eq!(gone[family], 0, "{x} {k}: given again past its limit");
            }
        }
        assert!(gone.iter().all(|gone| (1..40).contains(gone)), "{x}: {gone:?}");
    }
}

#[test]
fn without_viscosity_nothing_decays_and_too_much_is_refused() {
    let still = roots(3, &unit(0.5, 1.0, 0.0)).unwrap();
    assert_eq!(still.against.map(|root| root.decay), Some(0.0));
    assert_eq!(roots(2, &unit(0.5, 1.0, 5.0)).unwrap().against, None);
    assert!(roots(13, &unit(0.5, 1.0, 0.01)).is_err() && roots(2, &unit(1.5, 1.0, 0.01)).is_err());
    // Gas is left out: the same root with any.
    let airy = Shell {
        outer_gas: 0.5,
        ..unit(0.5, 1.0, 0.01)
    };
    assert_eq!(roots(2, &airy).unwrap(), roots(2, &unit(0.5, 1.0, 0.01)).unwrap());
}
