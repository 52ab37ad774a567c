//! A ringing drop with a known answer: liquid, gas, size, modes by exact viscous roots, and the experiment file that a
//! user would write for it.
//!
//! `a_n(t) = A_n exp(-g_n t) cos(w_n t + phi_n)` with the exact roots in the host gas \[MillerScriven1968\]. The swings are
//! kept small: at 0.02 of R the shift by size is below 3e-4 of the frequency and is not painted.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `w_n`, `g_n` | angular frequency, decay rate | rad/s, 1/s |
//! | `A_n`, `phi_n` | amplitude over R, phase | 1, rad |

use tremolet_clip::painted::body::PaintedBody;
use tremolet_theory::modes::film::inextensible;
use tremolet_theory::modes::host::{Pair, Root, root};

use crate::case::Failure;

/// Air at 20 degC and 101 325 Pa: density and viscosity from the CoolProp library, kg/m^3 and Pa s.
pub const AIR: [f64; 2] = [1.2046, 18.206e-6];

/// The truth of a ringing drop.
#[derive(Debug, Clone)]
pub struct Ringing {
    /// Drop and gas, SI.
    pub pair: Pair,
    /// Modes from degree 2: amplitude over R and phase.
    pub swings: Vec<[f64; 2]>,
    /// Metres for each pixel, true.
    pub scale: f64,
    /// Frames a second.
    pub rate_fps: f64,
    /// Whether a film that does not stretch lies on the surface.
    pub film: bool,
}

impl Ringing {
    /// A drop in air with the usual swings.
    pub fn in_air(
        radius: f64,
        density: f64,
        tension: f64,
        viscosity: f64,
        scale: f64,
        rate_fps: f64,
    ) -> Self {
        let [host_density, host_viscosity] = AIR;
        Self {
            pair: Pair {
                radius,
                tension,
                density,
                viscosity,
                host_density,
                host_viscosity,
            },
            swings: vec![[0.020, 0.3], [0.012, 1.1], [0.008, -0.6]],
            scale,
            rate_fps,
            film: false,
        }
    }

    /// Volume-equivalent radius in the image, px.
    pub fn radius_px(&self) -> f64 {
        self.pair.radius / self.scale
    }

    /// Kinematic viscosity, m^2/s.
    pub fn kinematic_viscosity(&self) -> f64 {
        self.pair.viscosity / self.pair.density
    }

    /// The roots of the modes, from degree 2.
    ///
    /// # Errors
    /// When theory gives none.
    pub fn roots(&self) -> Result<Vec<Root>, Failure> {
        (2..)
            .zip(&self.swings)
            .map(|(degree, _)| {
                Ok(if self.film {
                    inextensible(degree, &self.pair)?
                } else {
                    root(degree, &self.pair)?
                })
            })
            .collect()
    }

    /// The amplitudes over R from degree 2 at a time.
    ///
    /// # Errors
    /// When theory gives no root.
    pub fn swing(&self) -> Result<impl Fn(f64) -> Vec<f64> + Send + Sync + 'static, Failure> {
        let (roots, swings) = (self.roots()?, self.swings.clone());
        Ok(move |time: f64| {
            let swing = |(root, [amplitude, phase]): (&Root, &[f64; 2])| {
                amplitude * (-root.decay * time).exp() * (root.angular_frequency * time + phase).cos()
            };
            roots.iter().zip(&swings).map(swing).collect()
        })
    }

    /// The drop as the painter takes it.
    ///
    /// # Errors
    /// When theory gives no root.
    pub fn body(&self, centre: [f64; 2], drift: [f64; 2]) -> Result<PaintedBody, Failure> {
        let swing = self.swing()?;
        let motion = move |time: f64| [vec![0.0, 0.0], swing(time)].concat();
        let path = move |time: f64| [centre[0] + drift[0] * time, centre[1] + drift[1] * time];
        Ok(PaintedBody::moving(self.radius_px(), centre, motion).along(path))
    }
}

/// What the user states in the experiment file: values with standard uncertainties, which need not be the truth.
#[derive(Debug, Clone)]
pub struct Stated {
    /// Title of the run.
    pub title: String,
    /// Density, kg/m^3: value and standard uncertainty.
    pub density: [f64; 2],
    /// Scale, m/px: value and standard uncertainty.
    pub scale: [f64; 2],
    /// Frames a second.
    pub rate_fps: f64,
    /// Clip, relative to the experiment file.
    pub clip: String,
    /// Whether air at 20 degC surrounds it; without, nothing is said of the gas.
    pub air: bool,
}

impl Stated {
    /// The truth stated with hardly any doubt.
    pub fn exactly(ringing: &Ringing, clip: &str) -> Self {
        Self {
            title: "validation".into(),
            density: [ringing.pair.density, 1e-6 * ringing.pair.density],
            scale: [ringing.scale, 1e-6 * ringing.scale],
            rate_fps: ringing.rate_fps,
            clip: clip.into(),
            air: ringing.pair.host_density > 0.0,
        }
    }

    /// The experiment file.
    pub fn experiment(&self) -> String {
        let gas = if self.air {
            "\n[gas]\nname = \"air\"\ntemperature = \"20 degC\"\npressure = \"101.325 kPa\"\n"
        } else {
            ""
        };
        format!(
            "format = 1\ntitle = \"{}\"\nkind = \"release\"\n\n[liquid]\ndensity = \"{:.9} +- {:.9} kg/m^3\"\n{gas}\n\
             [camera]\ncapture_rate = \"{} fps\"\nscale = \"{:.12} +- {:.12} mm/px\"\n\n[clip]\npath = \"{}\"\n",
            self.title,
            self.density[0],
            self.density[1],
            self.rate_fps,
            1e3 * self.scale[0],
            1e3 * self.scale[1],
            self.clip,
        )
    }
}
