use super::Thread;
use crate::column::balance::ColumnBalance;
use crate::column::thread::unit_growth;
use std::f64::consts::TAU;
use tremolet_numerics::complex::Complex64;

/// Radius, tension and sum of the densities 1.
pub(crate) fn unit(viscosity: f64, host_density: f64, host_viscosity: f64) -> Thread {
    Thread {
        radius: 1.0,
        tension: 1.0,
        density: 1.0 - host_density,
        viscosity,
        host_density,
        host_viscosity,
    }
}

/// Plateau 1873: a column is unstable to waves longer than pi diameters, whatever it and its host are made of.
#[test]
fn growth_changes_at_pi_diameters() {
    for thread in [unit(0.0, 0.0, 0.0), unit(0.01, 0.0, 0.0), unit(0.3, 0.4, 0.2)] {
        let limit = thread.limit().unwrap();
        assert!((limit - TAU).abs() < 1e-15);
        assert!(thread.growth(1.0001 * limit).unwrap() > 0.0);
        assert_eq!(thread.growth(0.9999 * limit).unwrap(), 0.0);
        assert_eq!(thread.inviscid_growth(0.9999 * limit).unwrap(), 0.0);
        assert_eq!(thread.slender_growth(0.9999 * limit).unwrap(), 0.0);
    }
}

/// Rayleigh 1879: s^2 = x (1 - x^2) I1/I0, recomputed independently from Bessel functions of 30 digits; the last rows (validation/theory/column.py) with the
/// inertia of a host of this share of the density, the same formula with K1/K0.
#[test]
fn growth_without_viscosity() {
    for (host, x, s) in [
        (0.0, 0.1, 0.070_312_323_207_3),
        (0.0, 0.3, 0.201_236_471_731),
        (0.0, 0.5, 0.301_558_211_16),
        (0.0, 0.7, 0.343_326_801_114),
        (0.0, 0.9, 0.264_730_356_763),
        (1.2e-3, 0.5, 0.301_714_781_460_3),
        (0.1, 0.5, 0.315_506_975_378_2),
        (0.5, 0.5, 0.400_243_706_414_1),
        (1.0, 0.5, 0.819_726_900_047_9),
    ] {
        let thread = unit(0.0, host, 0.0);
        for found in [thread.growth(TAU / x), thread.inviscid_growth(TAU / x)] {
            let found = found.unwrap();
            assert!((found / s - 1.0).abs() < 2e-12, "{host} {x}: {found}");
        }
    }
}

/// Chandrasekhar 1961 sec. 111 at x = 0.5 and Weber 1931: recomputed independently from both equations, the exact one also from a 2x2 determinant.
#[test]
fn growth_with_viscosity() {
    for (oh, exact, x, slender) in [
        (0.001, 0.301_182_879_817, 0.706_357_97, 0.352_804_98),
        (0.01, 0.297_874_981_825, 0.699_724_03, 0.346_209_18),
        (0.1, 0.267_233_704_780, 0.642_258_76, 0.291_678_94),
        (0.5, 0.170_198_434_894, 0.492_585_72, 0.171_572_88),
        (1.0, 0.108_694_830_587, 0.400_235_71, 0.113_270_46),
        (5.0, 0.024_819_995_513_2, 0.207_554_65, 0.030_461_405),
    ] {
        let thread = unit(oh, 0.0, 0.0);
        let found = thread.growth(2.0 * TAU).unwrap();
        assert!((found / exact - 1.0).abs() < 3e-12, "{oh}: {found}");
        let weber = thread.slender_growth(TAU / x).unwrap();
        assert!((weber / slender - 1.0).abs() < 3e-8, "{oh}: {weber}");
        let near = thread.growth(TAU / x).unwrap();
        assert!(
            (0.0..0.031).contains(&(weber / near - 1.0)),
            "{oh}: {weber} {near}"
        );
    }
}

/// The 4x4 determinant written out with all its coefficients, roots at 30 digits (validation/theory/column.py).
#[test]
fn growth_in_a_host() {
    for (host, mu, host_mu, rows) in [
        (
            1.2e-3,
            0.004,
            7e-5,
            [0.137_908_336_696_49, 0.329_877_686_155_86, 0.259_821_047_609_93],
        ),
        (
            0.5,
            0.02,
            0.1,
            [0.112_040_758_776_55, 0.294_394_361_739_62, 0.182_507_861_068_95],
        ),
        (
            0.1,
            0.5,
            0.001,
            [0.112_619_887_577_71, 0.162_637_326_641_99, 0.059_638_568_496_07],
        ),
        (
            0.999,
            0.001,
            0.05,
            [0.585_027_725_535_81, 0.700_226_005_970_01, 0.381_318_650_108_43],
        ),
    ] {
        for (x, s) in [0.2, 0.6, 0.9].into_iter().zip(rows) {
            let found = unit(mu, host, host_mu).growth(TAU / x).unwrap();
            assert!((found / s - 1.0).abs() < 1e-11, "{host} {x}: {found}");
        }
    }
}

/// Tomotika 1935: a creeping thread in a creeping liquid; the fastest wave by a 4x4 system, recomputed independently. His own
/// number for the ratio 0.91 is 0.568 (from memory), on a flat maximum. Rates times 2 a mu_o/sigma.
#[test]
fn two_creeping_liquids() {
    for (ratio, x, rate) in [
        (0.01, 0.413_44, 0.532_972),
        (0.1, 0.568_70, 0.217_296),
        (0.91, 0.565_85, 0.074_128_0),
        (1.0, 0.561_99, 0.071_012_3),
        (10.0, 0.407_62, 0.019_570_6),
    ] {
        let balance = ColumnBalance {
            density: 0.0,
            viscosity: ratio,
            host_density: 0.0,
            host_viscosity: 1.0,
        };
        // Without inertia D is a straight line in s.
        let d = |s: f64| balance.value(x, Complex64::from(s)).re;
        let found = 2.0 * d(0.0) / (d(0.0) - d(1.0));
        assert!((found / rate - 1.0).abs() < 2e-6, "{ratio}: {found}");
        let slow = ColumnBalance {
            density: 5e-7,
            viscosity: ratio,
            host_density: 5e-7,
            host_viscosity: 1.0,
        };
        let with_inertia = 2.0 * unit_growth(&slow, x).unwrap();
        assert!(
            (with_inertia / rate - 1.0).abs() < 3e-6,
            "{ratio}: {with_inertia}"
        );
    }
}

/// The determinant written out, roots at 30 digits (validation/theory/column.py): vacuum (Oh, x), and two liquids.
#[test]
fn waves_shorter_than_the_limit_swing() {
    for (thread, x, decay, swing) in [
        (
            unit(0.01, 0.0, 0.0),
            1.2,
            0.020_911_385_543_17,
            0.518_734_271_459_6,
        ),
        (unit(0.01, 0.0, 0.0), 2.0, 0.060_501_921_166_26, 2.040_861_766_906),
        (unit(0.1, 0.0, 0.0), 1.2, 0.183_301_186_292, 0.478_177_266_368_2),
        (unit(0.1, 0.0, 0.0), 2.0, 0.479_576_251_910_8, 1.904_787_727_756),
        (unit(0.02, 0.5, 0.1), 1.5, 0.315_985_782_044_8, 1.006_603_862_03),
    ] {
        let found = thread.ripple(TAU / x).unwrap();
        assert!((found.decay / decay - 1.0).abs() < 1e-10, "{found:?}");
        assert!((found.angular_frequency / swing - 1.0).abs() < 1e-11, "{found:?}");
    }
    let still = unit(0.0, 0.0, 0.0).ripple(TAU / 2.0).unwrap();
    assert!(still.decay.abs() < 1e-12);
    assert!(unit(0.01, 0.0, 0.0).ripple(TAU / 0.9).is_err());
    assert!(unit(50.0, 0.0, 0.0).ripple(TAU / 1.1).is_err());
}

#[test]
fn rates_scale_with_the_capillary_time() {
    let water = Thread {
        radius: 0.5e-3,
        tension: 0.07274,
        density: 998.2,
        viscosity: 1.0016e-3,
        host_density: 0.0,
        host_viscosity: 0.0,
    };
    let oh = water.ohnesorge().unwrap();
    assert!((oh - 1.0016e-3 / (998.2_f64 * 0.07274 * 0.5e-3).sqrt()).abs() < 1e-15);
    let scaled = water.growth(4.0e-3).unwrap() * water.time().unwrap();
    let plain = unit(oh, 0.0, 0.0).growth(8.0).unwrap();
    assert!((scaled / plain - 1.0).abs() < 1e-12);
}

#[test]
fn what_cannot_be_is_refused_and_what_is_far_is_marked() {
    let good = unit(0.01, 0.0, 0.0);
    assert!(good.growth(0.0).is_err() && good.growth(f64::NAN).is_err());
    assert!(Thread { radius: -1.0, ..good }.growth(9.0).is_err());
    assert!(Thread { density: 0.0, ..good }.growth(9.0).is_err());
    assert!(
        Thread {
            viscosity: f64::NAN,
            ..good
        }
        .time()
        .is_err()
    );
    assert!(good.validity(9.0, 0.1, 100.0).holds());
    assert!(!good.validity(9.0, 0.3, 100.0).holds() && !good.validity(9.0, 0.1, 5.0).holds());
}
