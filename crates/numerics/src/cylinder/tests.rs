use super::{inner, inner_pair, outer, outer_pair};
use crate::complex::Complex64;

/// z, G, H: computed independently with mpmath at 30 digits.
const VALUES: [[f64; 6]; 8] = [
    [
        0.001,
        0.0,
        2.000_000_249_999_989_6,
        0.0,
        7.023_715_222_682_748e-6,
        0.0,
    ],
    [0.7, 0.0, 2.120_073_130_985_997, 0.0, 0.440_227_696_993_094_3, 0.0],
    [5.0, 0.0, 5.596_702_906_821_565, 0.0, 4.562_980_348_830_283, 0.0],
    [60.0, 0.0, 60.506_356_512_916_4, 0.0, 59.506_148_049_156_955, 0.0],
    [
        3.0,
        2.0,
        3.579_881_617_454_319_5,
        1.884_968_646_648_613_3,
        2.575_251_510_523_130_6,
        1.961_397_544_418_013_2,
    ],
    [
        20.0,
        -19.0,
        20.509_863_909_640_88,
        -18.990_127_325_493_827,
        19.509_816_303_801_813,
        -18.991_111_851_265_74,
    ],
    [
        0.02,
        0.01,
        2.000_075_000_729_090_4,
        9.999_750_002_864_73e-5,
        0.001_360_179_102_979_260_5,
        0.001_429_948_698_939_500_8,
    ],
    [
        400.0,
        0.0,
        400.500_939_851_473_56,
        0.0,
        399.500_935_163_907_6,
        0.0,
    ],
];

fn close(found: Complex64, known: Complex64, relative: f64) {
    assert!(
        (found - known).norm() < relative * known.norm(),
        "{found} {known}"
    );
}

#[test]
fn ratios_agree_with_many_digits() {
    for [x, y, gx, gy, hx, hy] in VALUES {
        let z = Complex64::new(x, y);
        close(inner(z * z), Complex64::new(gx, gy), 2e-14);
        close(outer(z), Complex64::new(hx, hy), 1e-13);
    }
}

/// DLMF 10.30.1, 10.30.2: G to 2 + w/4, H to w ln(2/z) less Euler's constant as the argument goes to zero; both far out z.
#[test]
fn limits() {
    let z = 1e-6_f64;
    close(
        inner(Complex64::from(z * z)),
        Complex64::from(2.0 + z * z / 4.0),
        1e-15,
    );
    let log = (2.0 / z).ln() - 0.577_215_664_901_532_9;
    close(outer(Complex64::from(z)), Complex64::from(z * z * log), 1e-10);
    let far = 3e4;
    close(
        inner(Complex64::from(far * far)),
        Complex64::from(far + 0.5 + 3.0 / (8.0 * far)),
        1e-12,
    );
    close(
        outer(Complex64::from(far)),
        Complex64::from(far - 0.5 + 3.0 / (8.0 * far)),
        1e-12,
    );
    assert_eq!(outer(Complex64::ZERO), Complex64::ZERO);
}

#[test]
fn quotients_of_differences_lose_nothing() {
    for w in [1e-6, 0.3, 7.0, 900.0] {
        let at = |apart: f64| inner_pair(Complex64::from(w), Complex64::from(w * (1.0 + apart)));
        let [g, k, wide] = at(0.5);
        close(wide, (k - g) / (0.5 * w), 1e-8);
        // Riccati: 2 w G' = 2 G + w - G^2, which loses digits only for small w.
        if w > 0.1 {
            close(at(0.0)[2], (2.0 * g + w - g * g) / (2.0 * w), 1e-12);
        }
        close(at(1e-9)[2], at(0.0)[2], 1e-8);
    }
    for z in [0.02_f64, 0.8, 3.0, 40.0] {
        let at = |apart: f64| outer_pair(Complex64::from(z), Complex64::from(z * f64::sqrt(1.0 + apart)))[2];
        // The series and the plain quotient meet at 1e-4.
        close(at(0.999e-4), at(1.001e-4), 1e-6);
        let middle = (at(2e-3) + at(-2e-3)) / 2.0;
        close(at(0.0), middle, 1e-5);
    }
}
