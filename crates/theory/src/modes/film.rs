//! Shape modes of a drop whose surface bears a film, as the surface of real water does.
//!
//! ```text
//! f(s; E) = 0 of the stress balance with a film,   s = -decay + i angular frequency
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `E` | elasticity of the film, d(tension)/d ln(area) | N/m |
//! | `s` | rate of the mode | 1/s |
//!
//! A film that cannot stretch forces the liquid below it to move as the surface does: the decay of a thin liquid is two or three
//! times that of a clean surface, the more the higher the degree, and the frequency falls by less than one per cent. **The decay of
//! such a drop is not its viscosity.** Films of finite elasticity lie between, and may damp more than one that does not
//! stretch.
//!
//! Source: \[MillerScriven1968\] for the film that does not stretch, \[LuApfel1991\] for one that does. For films that neither
//! dissolve nor have a viscosity of their own; for drops that swing (weak to moderate damping).

use tremolet_numerics::complex::Complex64;
use tremolet_numerics::root::muller;

use crate::modes::error::ModeError;
use crate::modes::host::{Pair, Root, natural};

/// Steps in which a finite elasticity is approached from none, so that the search stays on the shape mode.
const STEPS: u32 = 60;

/// Decay rate and angular frequency of the mode of `degree` (2 to 12) with a film that does not stretch \[MillerScriven1968\].
///
/// # Errors
/// As [`crate::modes::host::root`]; [`ModeError::Branch`] when the drop does not swing.
///
/// ```
/// use tremolet_theory::modes::film::inextensible;
/// use tremolet_theory::modes::host::Pair;
/// let water = Pair { radius: 0.010, tension: 0.07274, density: 998.2, viscosity: 1.0016e-3, host_density: 0.0, host_viscosity: 0.0 };
/// assert!((inextensible(2, &water)?.decay / 0.089_534_087 - 1.0).abs() < 1e-7);
/// # Ok::<(), tremolet_theory::modes::error::ModeError>(())
/// ```
pub fn inextensible(degree: u32, pair: &Pair) -> Result<Root, ModeError> {
    let (balance, time) = natural(degree, pair)?;
    let n = f64::from(degree);
    let swing = (balance.stiffness() / balance.inertia()).sqrt();
    let decay = 2.0 * (n - 1.0) * (2.0 * n + 1.0) * balance.viscosity.max(balance.host_viscosity);
    let start = Complex64::new(-decay.min(0.3 * swing), swing);
    let s = search(degree, start, |s| balance.value_with_film(s, f64::INFINITY))?;
    Ok(of_rate(s / time))
}

/// The same with a film of `elasticity`, N/m; with none it is the clean surface \[LuApfel1991\].
///
/// # Errors
/// As [`inextensible`]; [`ModeError::Quantity`] for an elasticity below zero or not finite.
pub fn elastic(degree: u32, pair: &Pair, elasticity: f64) -> Result<Root, ModeError> {
    if !(elasticity.is_finite() && elasticity >= 0.0) {
        return Err(ModeError::Quantity {
            name: "elasticity of the film",
            value: elasticity,
            expected: "zero or a positive number",
        });
    }
    let (balance, time) = natural(degree, pair)?;
    let mut s = crate::modes::host::exact(degree, pair)? * time;
    let target = elasticity / pair.tension;
    for step in 1..=STEPS {
        let share = (f64::from(step) / f64::from(STEPS)).powi(3);
        s = search(degree, s, |s| balance.value_with_film(s, share * target))?;
    }
    Ok(of_rate(s / time))
}

fn search(degree: u32, start: Complex64, f: impl Fn(Complex64) -> Complex64) -> Result<Complex64, ModeError> {
    let found = muller(f, start, 1e-4 * start.norm(), 1e-13);
    let s = found.map_err(|source| ModeError::Root { degree, source })?.root;
    if s.re < 0.0 && s.im > 0.03 * s.norm() {
        Ok(s)
    } else {
        Err(ModeError::Branch {
            degree,
            re: s.re,
            im: s.im,
        })
    }
}

fn of_rate(s: Complex64) -> Root {
    Root {
        decay: -s.re,
        angular_frequency: s.im,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::modes::host::root;

    /// The unit drop: radius, tension and density 1.
    fn unit(ohnesorge: f64) -> Pair {
        Pair {
            radius: 1.0,
            tension: 1.0,
            density: 1.0,
            viscosity: ohnesorge,
            host_density: 0.0,
            host_viscosity: 0.0,
        }
    }

    /// Unit drop with a film that does not stretch: degree, Oh, decay, angular frequency. Roots of a 2x2 determinant at 25
    /// digits, recomputed independently; its clean limit gives the clean roots to 12 digits.
    const UNIT: [(u32, f64, f64, f64); 6] = [
        (2, 0.001, 0.009_409_395_634_75, 2.822_160_835_24),
        (2, 0.01, 0.051_302_691_882_7, 2.808_550_109_47),
        (3, 0.001, 0.032_914_574_353, 5.451_054_771_94),
        (3, 0.01, 0.150_215_856_184, 5.394_073_429_77),
        (4, 0.001, 0.069_499_366_595_9, 8.426_640_291_4),
        (4, 0.01, 0.293_907_786_721, 8.298_846_371_97),
    ];

    #[test]
    fn a_film_that_does_not_stretch_gives_the_roots_of_the_determinant() {
        for (n, oh, decay, frequency) in UNIT {
            let found = inextensible(n, &unit(oh)).unwrap();
            assert!((found.decay / decay - 1.0).abs() < 1e-10, "{n} {oh} {found:?}");
            assert!(
                (found.angular_frequency / frequency - 1.0).abs() < 1e-10,
                "{n} {oh} {found:?}"
            );
        }
    }

    #[test]
    fn water_with_a_film_decays_two_or_three_times_as_fast() {
        // Water 20 C, in vacuum: radius mm, degree, clean and film decay 1/s, shift of the frequency in per cent; recomputed
        // independently from the same determinant.
        let rows = [
            (10.0, 2, 0.049_299_816, 0.089_534_087, -0.24),
            (10.0, 3, 0.137_141_84, 0.309_881_5, -0.51),
            (10.0, 4, 0.263_384_45, 0.651_681_38, -0.74),
            (30.0, 2, 0.005_501_080_2, 0.011_984_585, -0.18),
            (30.0, 4, 0.029_466_701, 0.091_466_58, -0.56),
        ];
        for (mm, n, clean, film, shift) in rows {
            let water = Pair {
                radius: 1e-3 * mm,
                tension: 0.07274,
                density: 998.2,
                viscosity: 1.0016e-3,
                ..unit(0.0)
            };
            let (free, held) = (root(n, &water).unwrap(), inextensible(n, &water).unwrap());
            assert!((free.decay / clean - 1.0).abs() < 1e-7 && (held.decay / film - 1.0).abs() < 1e-7);
            let moved = 100.0 * (held.angular_frequency / free.angular_frequency - 1.0);
            assert!((moved - shift).abs() < 0.006, "{mm} mm, degree {n}: {moved}");
        }
    }

    #[test]
    fn elasticity_leads_from_the_clean_surface_to_the_stiff_film() {
        let in_air = Pair {
            host_density: 1.2e-3,
            host_viscosity: 2e-4,
            ..unit(0.01)
        };
        for pair in [unit(0.01), in_air] {
            let clean = root(3, &pair).unwrap();
            let none = elastic(3, &pair, 0.0).unwrap();
            assert!((none.decay / clean.decay - 1.0).abs() < 1e-11);
            let stiff = inextensible(3, &pair).unwrap();
            let off = |e: f64| elastic(3, &pair, e).unwrap().decay / stiff.decay - 1.0;
            // First order in 1/E.
            assert!(
                (off(1e4) / off(1e5) / 10.0 - 1.0).abs() < 0.02,
                "{} {}",
                off(1e4),
                off(1e5)
            );
            // Between, a film damps more than one that does not stretch.
            assert!(off(0.3) > 0.0, "{}", off(0.3));
        }
    }

    #[test]
    fn a_host_with_a_film_adds_its_boundary_layer() {
        // Air below a film that does not stretch is held as the liquid is: damping rises, frequency falls a little.
        let (bare, aired) = (
            unit(0.001),
            Pair {
                host_density: 1.2e-3,
                host_viscosity: 1.8e-5,
                ..unit(0.001)
            },
        );
        let (a, b) = (inextensible(2, &bare).unwrap(), inextensible(2, &aired).unwrap());
        assert!(b.decay > a.decay && b.angular_frequency < a.angular_frequency);
        assert!(elastic(2, &bare, -1.0).is_err() && elastic(2, &bare, f64::NAN).is_err());
        assert!(inextensible(2, &unit(5.0)).is_err());
    }
}
