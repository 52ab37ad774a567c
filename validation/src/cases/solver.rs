//! The modal solver of free drops against frequencies, shifts, shapes and decays that are known, and against what must not change.

mod damping;
mod kept;
mod swing;
pub(super) mod tone;

use tremolet_simulate::driver::Drivers;
use tremolet_simulate::liquid::{Gas, Liquid};
use tremolet_simulate::potential::modal::{Modal, Settings};
use tremolet_simulate::run::{Course, Run, begin, run};
use tremolet_simulate::start::Start;

use crate::bench::Bench;
use crate::case::{Case, Failure, Outcome};

/// See the module.
pub const CASE: Case = Case {
    name: "solver",
    question: "The modal flow solver against what is known of free drops",
    method: "Drops of unit density, tension and radius are let go by `potential::modal` and their amplitudes fitted over ten periods: small \
             swings against Rayleigh's frequencies, finite ones against the third-order shifts and second-order shapes, damping against exact roots in vacuum and in \
             air; volume, energy, centre and shape in falling and shaken frames against their start. Theory and solver share no code.",
    version: 3,
    run: all,
};

/// The liquid of the unit drop.
pub(super) const UNIT: Liquid = Liquid {
    density: 1.0,
    tension: 1.0,
    viscosity: 0.0,
};

fn all(bench: &Bench) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::default();
    swing::small(bench, &mut outcome)?;
    swing::finite(bench, &mut outcome)?;
    kept::all(bench, &mut outcome)?;
    damping::vacuum(bench, &mut outcome)?;
    damping::air(bench, &mut outcome)?;
    Ok(outcome)
}

/// What is let go.
struct Drop<'a> {
    liquid: Liquid,
    gas: Option<Gas>,
    radius: f64,
    shape: &'a [f64],
    drivers: Drivers,
    settings: Settings,
}

impl<'a> Drop<'a> {
    /// The unit drop of this shape, alone.
    fn unit(shape: &'a [f64], highest: usize, step_error: f64) -> Self {
        Self {
            liquid: UNIT,
            gas: None,
            radius: 1.0,
            shape,
            drivers: Drivers::default(),
            settings: Settings {
                highest,
                step_error,
                meridian: 0,
                ..Settings::default()
            },
        }
    }

    /// Lets it go and tells the asked instants.
    fn let_go(&self, times: Vec<f64>) -> Result<Run, Failure> {
        let start = Start::Star {
            radius: self.radius,
            shape: self.shape.to_vec(),
            velocity: Vec::new(),
        };
        let made = Modal::new(
            &self.liquid,
            self.gas.as_ref(),
            &start,
            &self.drivers,
            self.settings,
        );
        let mut modal = made.map_err(|why| Failure::Refused(why.to_string()))?;
        let from = begin(&mut modal);
        let found = run(&mut modal, &from, &Course::along(times), &mut |_| true);
        let found = found.ok_or_else(|| Failure::Refused("a checkpoint of its own".into()))?;
        if found.stop.is_end() {
            Ok(found)
        } else {
            Err(Failure::Refused(found.stop.to_string()))
        }
    }
}

/// `count` steps from 0 to `until`.
fn instants(until: f64, count: u32) -> Vec<f64> {
    (0..=count)
        .map(|k| until * f64::from(k) / f64::from(count))
        .collect()
}
