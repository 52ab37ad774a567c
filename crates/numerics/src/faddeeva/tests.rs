use super::scaled_complement;
use crate::complex::Complex64;

/// z, exp(z^2) erfc(z): computed independently with mpmath at 30 digits.
const VALUES: [[f64; 4]; 8] = [
    [0.1, 0.2, 0.864_982_548_388_288_7, -0.185_251_890_897_006_55],
    [1.0, 1.0, 0.304_744_205_256_912_6, -0.208_218_938_202_831_63],
    [0.3, 2.5, 0.038_226_506_260_685_21, -0.243_042_008_530_977_57],
    [2.5, 0.01, 0.210_803_870_286_105_06, -0.000_743_465_466_401_923_1],
    [0.001, 5.0, 2.408_046_396_710_341_5e-5, -0.115_245_956_674_503_73],
    [8.0, 3.0, 0.061_612_538_476_770_215, -0.022_796_642_177_054_5],
    [0.02, 1.0633, 0.325_617_911_188_637, -0.586_177_977_649_355_5],
    [0.0, 1.5, 0.105_399_224_561_864_35, -0.483_227_330_140_769_1],
];

#[test]
fn values_of_many_digits() {
    for [x, y, re, im] in VALUES {
        let known = Complex64::new(re, im);
        let found = scaled_complement(Complex64::new(x, y));
        assert!((found - known).norm() < 1e-13 * known.norm(), "{x} {y} {found}");
        let mirror = scaled_complement(Complex64::new(x, -y));
        assert!((mirror - known.conj()).norm() < 1e-13 * known.norm());
    }
}

/// DLMF 7.12.1: 1/(z sqrt(pi)) far out; 1 at zero.
#[test]
fn limits() {
    let far = Complex64::new(300.0, 400.0);
    let law = 1.0 / (far * std::f64::consts::PI.sqrt()) * (1.0 - 1.0 / (2.0 * far * far));
    assert!((scaled_complement(far) - law).norm() < 1e-10 * law.norm());
    assert!((scaled_complement(Complex64::ZERO) - 1.0).norm() < 1e-14);
}
