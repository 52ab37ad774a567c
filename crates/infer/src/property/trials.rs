//! Surface tension and viscosity of many drops drawn from what is known of one: the trials behind their intervals.
//!
//! ```text
//! lines y = <y> + b L z,  conditions x drawn by their inputs  ->  (sigma, nu) of each route  ->  joined with the weights of the best values
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `y`, `L` | lines and factor of their covariance, as in `property::fit` | rad/s, 1/s |
//! | `b` | Birge's ratio | 1 |
//! | `sigma`, `nu` | surface tension, kinematic viscosity | N/m, m^2/s |
//!
//! Source: \[JCGM101\] section 7. Radius, mass, densities and the gas are sums over their inputs (the radius is proportional to the scale, so
//! that is exact for it); the radius of a mass, the roots and the fit over degrees are the full model. A film's doubt stays a share of the
//! surface tension.

use std::f64::consts::PI;

use tremolet_matter::uncertain::Uncertain;

use crate::interval::{Trials, trials};
use crate::property::fit::{Conditions, Damping};
use crate::property::lines::Lines;
use crate::property::local::Local;
use crate::property::routes::{FILM_INPUT, Joined, Known, Route};
use crate::trial::{Inputs, Sum};

/// Least share of its best value that a drawn length, mass or density may have: none is negative.
const LEAST: f64 = 1e-2;

/// What the trials are about.
pub struct Drop<'a> {
    /// Lines and what is known.
    pub lines: &'a Lines,
    /// The rest.
    pub known: &'a Known,
    /// One viscosity or one a degree.
    pub damping: Damping,
    /// Ways to the size, with their best results.
    pub routes: &'a [Route],
    /// Each direction of the lines' covariance, as its own input, in unit size times Birge's ratio.
    pub directions: &'a [Uncertain],
}

/// How one route is drawn.
struct Drawn {
    /// Best radius, m.
    best: f64,
    local: Local,
    radius: Sum,
    mass: Option<Sum>,
    film: Sum,
    tension: f64,
}

/// Trials for surface tensions, then kinematic, then dynamic viscosities; none where the local model does not hold.
pub fn of_routes(
    drop: &Drop<'_>,
    tensions: &[Joined],
    viscosities: &[Joined],
    dynamic: &[Uncertain],
) -> Vec<Option<Trials>> {
    let values: Vec<&Uncertain> = tensions
        .iter()
        .chain(viscosities)
        .map(|joined| &joined.value)
        .chain(dynamic)
        .collect();
    let known = drop.known;
    let stated = [&known.density, &known.host_density, &known.host_viscosity];
    let results = drop
        .routes
        .iter()
        .flat_map(|route| [&route.tension, &route.viscosity]);
    let sizes = drop.routes.iter().map(|route| &route.radius);
    let inputs = Inputs::of(
        stated
            .into_iter()
            .chain(results)
            .chain(sizes)
            .chain(&known.mass)
            .chain(drop.directions),
    );
    let Some(mut drawn) = drawn(drop, &inputs) else {
        return vec![None; values.len()];
    };
    let stated = stated.map(|value| (inputs.sum(value), LEAST * value.value()));
    let lines = of_lines(drop, &inputs);
    let (mut y, mut found) = (vec![0.0; lines.len()], vec![[0.0; 2]; drawn.len()]);
    trials(&values, inputs, |inputs, out| {
        y.iter_mut().zip(&lines).for_each(|(y, sum)| *y = inputs.at(sum));
        let [density, host_density, host_viscosity] =
            [0, 1, 2].map(|i| inputs.at(&stated[i].0).max(stated[i].1));
        for (route, found) in drawn.iter_mut().zip(&mut found) {
            let x = Conditions {
                radius: route.radius(inputs, density),
                density,
                host_density,
                host_viscosity,
            };
            *found = route.local.solve(&y, &x);
            found[0] *= 1.0 + inputs.at(&route.film) / route.tension;
        }
        let joined = |joined: &Joined, k: usize| -> f64 {
            joined
                .weights
                .iter()
                .zip(&found)
                .map(|(w, found)| w * found[k])
                .sum()
        };
        for (i, tension) in tensions.iter().enumerate() {
            out[i] = joined(tension, 0);
        }
        for (i, viscosity) in viscosities.iter().enumerate() {
            let kinematic = joined(viscosity, 1);
            out[tensions.len() + i] = kinematic;
            out[tensions.len() + viscosities.len() + i] = kinematic * density;
        }
    })
}

impl Drawn {
    fn radius(&self, inputs: &Inputs, density: f64) -> f64 {
        let drawn = match &self.mass {
            Some(mass) => (3.0 * inputs.at(mass) / (4.0 * PI * density)).max(0.0).cbrt(),
            None => inputs.at(&self.radius),
        };
        drawn.max(LEAST * self.best)
    }
}

/// The routes as they are drawn; none where a local model does not hold.
fn drawn(drop: &Drop<'_>, inputs: &Inputs) -> Option<Vec<Drawn>> {
    let one = |route: &Route| {
        let known = drop.known;
        let [r, rho] = [&route.radius, &known.density].map(Uncertain::relative);
        let [host, mu] = [&known.host_density, &known.host_viscosity].map(Uncertain::relative);
        let of_host = [0.5 * host + 0.5 * mu + rho + r, host + rho];
        let doubts = [route.tension.relative(), route.viscosity.relative()];
        let local = Local::of(
            drop.lines,
            &route.conditions,
            &route.fit,
            drop.damping,
            doubts,
            of_host,
        )?;
        let film = route
            .tension
            .parts()
            .iter()
            .find(|part| part.input.key == FILM_INPUT);
        let film = film.map_or(Uncertain::exact(0.0), |part| {
            Uncertain::of_input(0.0, part.contribution, part.input.as_ref().clone())
        });
        let mass = known.mass.as_ref().filter(|_| route.by_mass);
        Some(Drawn {
            best: route.radius.value(),
            local,
            radius: inputs.sum(&route.radius),
            mass: mass.map(|mass| inputs.sum(mass)),
            film: inputs.sum(&film),
            tension: route.tension.value(),
        })
    };
    drop.routes.iter().map(one).collect()
}

/// The lines as sums over the directions of their covariance.
fn of_lines(drop: &Drop<'_>, inputs: &Inputs) -> Vec<Sum> {
    let Ok(factor) = drop.lines.factor() else {
        return Vec::new();
    };
    let line = |i: usize| {
        let terms: Vec<(&Uncertain, f64)> = (0..=i).map(|k| (&drop.directions[k], factor[(i, k)])).collect();
        inputs.sum(&Uncertain::combine(drop.lines.values[i], &terms))
    };
    (0..drop.lines.values.len()).map(line).collect()
}
