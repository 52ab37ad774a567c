//! Two routes to surface tension and viscosity, joined; whether the modes agree; what is withheld.
//!
//! ```text
//! radius route: R from the outline.       mass route: R = (3 m / (4 pi rho))^(1/3), so sigma ~ m w_2^2, R drops out
//! d = (a - b) / u(a - b);   |d| <= 2: joined by generalised least squares,  y = (1^T V^-1 (a, b)) / (1^T V^-1 1)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `R`, `m`, `rho` | radius, mass, density of the drop | m, kg, kg/m^3 |
//! | `a`, `b`, `V` | results of the two routes and their covariance, shared inputs included | N/m or m^2/s |
//! | `d` | normalised deviation | 1 |
//!
//! Source: \[JCGM100\] section 5.2 (correlated inputs), \[Aitken1936\] (generalised least squares); Birge's ratio as
//! factor on the lines' uncertainties when the degrees disagree about sigma \[Birge1932\]. The thresholds (2 for the
//! routes, 1 % for a common viscosity and a common tension, 50 % for an unresolved decay) are common practice, no
//! published source. The room does not correct for a surface film, a support or
//! rotation: it withholds, and widens the surface tension for a film.

use std::f64::consts::PI;

use tremolet_matter::uncertain::{Input, Uncertain};
use tremolet_numerics::least_squares::LeastSquaresError;
use tremolet_numerics::statistics::chi_square_tail;

use crate::budget::{BudgetLine, budget, degrees_of_freedom, interval_95};
use crate::caution::Caution;
use crate::interval::Trials;
use crate::property::film;
use crate::property::fit::{Conditions, Damping, Fit, fit};
use crate::property::lines::Lines;
use crate::property::trials::{Drop, of_routes};

/// Name of the budget line of the fit.
pub const FIT_INPUT: &str = "frequencies and decay rates (fit)";

/// Name of the budget line of a suspected surface film.
pub const FILM_INPUT: &str = "surface film (shift of the frequencies)";

/// Name of the mass route.
const BY_MASS: &str = "mass";

/// What is known of the drop, each with its uncertainty.
#[derive(Debug, Clone)]
pub struct Known {
    /// Radius at rest from the outline, m.
    pub radius: Option<Uncertain>,
    /// Mass, kg.
    pub mass: Option<Uncertain>,
    /// Density of the liquid, kg/m^3.
    pub density: Uncertain,
    /// Density of the gas around, kg/m^3; exact zero in vacuum.
    pub host_density: Uncertain,
    /// Dynamic viscosity of the gas around, Pa s.
    pub host_viscosity: Uncertain,
    /// Whether the liquid holds water: its surface then catches films.
    pub aqueous: bool,
    /// Surface tension of the reference liquid, N/m.
    pub reference_tension: Option<Uncertain>,
    /// Kinematic viscosity of the reference liquid, m^2/s.
    pub reference_viscosity: Option<Uncertain>,
}

/// One estimate with its budget.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    /// Lower_snake name.
    pub quantity: &'static str,
    /// SI unit.
    pub unit: &'static str,
    /// The value and its parts.
    pub value: Uncertain,
    /// How it was reached.
    pub route: String,
    /// Effective degrees of freedom.
    pub degrees_of_freedom: f64,
    /// 95 % coverage interval: that of trials where they do not confirm the linear one.
    pub interval_95: [f64; 2],
    /// The trials, where some were made.
    pub trials: Option<Trials>,
    /// Largest share first.
    pub budget: Vec<BudgetLine>,
    /// The reference and the normalised deviation from it, shared inputs taken into account.
    pub reference: Option<(Uncertain, f64)>,
}

/// Everything found.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Properties {
    /// Surface tension, then viscosities; what cannot be known is absent.
    pub estimates: Vec<Estimate>,
    /// Why something is absent or to be read with care.
    pub cautions: Vec<Caution>,
    /// Effective kinematic viscosity of each degree with its relative standard uncertainty from the fit.
    pub effective: Vec<(u32, f64, f64)>,
}

/// Surface tension and viscosity as one route gives them.
#[derive(Debug, Clone)]
pub struct Route {
    /// Its name in words.
    pub name: &'static str,
    /// Whether the radius is that of the mass.
    pub by_mass: bool,
    /// Radius at rest, m.
    pub radius: Uncertain,
    /// Best values of what the roots depend on.
    pub conditions: Conditions,
    /// The fit.
    pub fit: Fit,
    /// Surface tension, N/m.
    pub tension: Uncertain,
    /// Kinematic viscosity (that of the lowest degree when each has its own), m^2/s.
    pub viscosity: Uncertain,
}

/// A result of the routes together.
#[derive(Debug, Clone)]
pub struct Joined {
    /// Which routes, in words.
    pub name: String,
    /// The result.
    pub value: Uncertain,
    /// Weight of each route.
    pub weights: Vec<f64>,
}

/// Estimates what the lines and what is known determine.
///
/// # Errors
/// When the covariance of the lines is not positive definite or the lines do not determine the unknowns.
pub fn estimate(lines: &Lines, known: &Known) -> Result<Properties, LeastSquaresError> {
    judged(lines, known, true)
}

/// The same by the law of propagation alone, without trials: for what is only planned, where it is asked for many times.
///
/// # Errors
/// As [`estimate`].
pub fn estimate_linear(lines: &Lines, known: &Known) -> Result<Properties, LeastSquaresError> {
    judged(lines, known, false)
}

fn judged(lines: &Lines, known: &Known, with_trials: bool) -> Result<Properties, LeastSquaresError> {
    let mut found = Properties::default();
    let radii = radii(known);
    let Some((_, radius)) = radii.first() else {
        let text = "neither the scale nor the mass is known, so frequencies give no surface tension";
        found.cautions.push(Caution::new("no_size", text));
        return Ok(found);
    };
    if lines.degrees.is_empty() {
        return Ok(found);
    }
    let conditions = conditions(radius, known);
    let each = fit(lines, &conditions, Damping::Each)?;
    let shared = fit(lines, &conditions, Damping::Shared)?;
    found.effective = effective(lines, &each);
    let birge = tension_agrees(lines, &each, &mut found.cautions);
    let one = viscosity_agrees(lines, &each, &shared, known.aqueous, &mut found.cautions);
    let damping = if one { Damping::Shared } else { Damping::Each };
    let film = (!one && film::suspected(lines, &each))
        .then(|| film::doubt_of_tension(lines, &each, &conditions))
        .flatten();
    let directions: Vec<Uncertain> = (0..lines.values.len())
        .map(|k| direction(k, lines, birge))
        .collect();
    let mut routes = Vec::new();
    for (name, radius) in &radii {
        let mut route = route(name, lines, radius, known, damping, &directions)?;
        if let Some(relative) = film {
            let u = relative * route.tension.value();
            route.tension = route.tension.with_input(u, shift_of_film(u));
        }
        routes.push(route);
    }
    let drop = Drop {
        lines,
        known,
        damping,
        routes: &routes,
        directions: &directions,
    };
    told(&drop, one, with_trials, &mut found);
    Ok(found)
}

/// Joins the routes, lets trials look at the intervals, and gathers the estimates.
fn told(drop: &Drop<'_>, shared: bool, with_trials: bool, found: &mut Properties) {
    let (routes, known) = (drop.routes, drop.known);
    let of = |value: fn(&Route) -> &Uncertain| routes.iter().map(|r| (r.name, value(r).clone())).collect();
    let tensions = join(of(|r| &r.tension), "surface tension", &mut found.cautions);
    let resolved = !routes.iter().any(|r| r.viscosity.relative() > 0.5);
    if shared && !resolved {
        let text = "the decay is not resolved (viscosity uncertain by more than half of itself): no viscosity is given";
        found.cautions.push(Caution::new("decay_not_resolved", text));
    }
    let viscosities = if shared && resolved {
        join(of(|r| &r.viscosity), "kinematic viscosity", &mut found.cautions)
    } else {
        Vec::new()
    };
    let dynamic: Vec<Uncertain> = viscosities.iter().map(|nu| dynamic(&nu.value, known)).collect();
    let looked_at = with_trials.then(|| of_routes(drop, &tensions, &viscosities, &dynamic));
    let mut trials = looked_at.unwrap_or_default().into_iter();
    let degrees = spoken(&drop.lines.degrees);
    let mut keep = |quantity, unit, value: &Uncertain, name: &str, reference: Option<&Uncertain>| {
        let route = format!("{degrees}, {name}");
        let estimate = finished(quantity, unit, value.clone(), route, reference);
        found.estimates.push(estimate.looked_at(trials.next().flatten()));
    };
    for joined in &tensions {
        let reference = known.reference_tension.as_ref();
        keep("surface_tension", "N/m", &joined.value, &joined.name, reference);
    }
    for joined in &viscosities {
        let reference = known.reference_viscosity.as_ref();
        keep(
            "kinematic_viscosity",
            "m^2/s",
            &joined.value,
            &joined.name,
            reference,
        );
    }
    for (joined, value) in viscosities.iter().zip(&dynamic) {
        keep("dynamic_viscosity", "Pa s", value, &joined.name, None);
    }
}

fn dynamic(kinematic: &Uncertain, known: &Known) -> Uncertain {
    let (nu, rho) = (kinematic.value(), known.density.value());
    Uncertain::combine(nu * rho, &[(kinematic, rho), (&known.density, nu)])
}

/// The input that stands for the shift a film gives the frequencies.
fn shift_of_film(u: f64) -> Input {
    Input {
        key: FILM_INPUT.into(),
        unit: "N/m".into(),
        standard_uncertainty: u,
        degrees_of_freedom: f64::INFINITY,
        source: "frequencies of a film that does not stretch".into(),
    }
}

fn radii(known: &Known) -> Vec<(&'static str, Uncertain)> {
    let mut radii = Vec::new();
    if let Some(radius) = &known.radius {
        radii.push(("radius from the outline", radius.clone()));
    }
    if let Some(mass) = &known.mass {
        let inputs = [mass, &known.density];
        let radius = Uncertain::propagate(&inputs, |x| (3.0 * x[0] / (4.0 * PI * x[1])).cbrt());
        radii.push((BY_MASS, radius));
    }
    radii
}

fn conditions(radius: &Uncertain, known: &Known) -> Conditions {
    Conditions {
        radius: radius.value(),
        density: known.density.value(),
        host_density: known.host_density.value(),
        host_viscosity: known.host_viscosity.value(),
    }
}

fn effective(lines: &Lines, each: &Fit) -> Vec<(u32, f64, f64)> {
    let one =
        |(i, &degree): (usize, &u32)| (degree, each.viscosity(i), each.covariance[(i + 1, i + 1)].sqrt());
    lines.degrees.iter().enumerate().map(one).collect()
}

/// Birge's ratio of the common surface tension, at least 1, with a caution when the degrees disagree.
fn tension_agrees(lines: &Lines, each: &Fit, cautions: &mut Vec<Caution>) -> f64 {
    let freedom = each.degrees_of_freedom;
    if freedom < 1.0 || chi_square_tail(each.chi_square, freedom) > 0.01 {
        return 1.0;
    }
    let ratio = (each.chi_square / freedom).sqrt();
    let text = format!(
        "the frequencies of {} do not fit one surface tension (chi-square {:.1} for {freedom:.0} degrees of freedom): \
         their uncertainties were multiplied by {ratio:.1}; look for a surface film, rotation, a support, or a mode taken for another",
        spoken(&lines.degrees),
        each.chi_square
    );
    cautions.push(Caution::new("modes_do_not_share_tension", text));
    ratio
}

/// Whether all degrees share one viscosity, with the caution that goes with the answer.
fn viscosity_agrees(
    lines: &Lines,
    each: &Fit,
    shared: &Fit,
    aqueous: bool,
    cautions: &mut Vec<Caution>,
) -> bool {
    let more = lines.degrees.len() as f64 - 1.0;
    // Not eased by Birge's ratio: frequencies that disagree make a common viscosity no more likely.
    let excess = shared.chi_square - each.chi_square;
    if more > 0.0 && chi_square_tail(excess.max(0.0), more) < 0.01 {
        let list: Vec<String> = (0..lines.degrees.len())
            .map(|i| format!("n = {}: {:.3} mm^2/s", lines.degrees[i], each.viscosity(i) * 1e6))
            .collect();
        let cause = if film::suspected(lines, each) {
            "; damping that grows with degree is what a surface film does, and the shift that one gives the frequencies is in the \
             uncertainty of the surface tension"
        } else {
            ""
        };
        let text = format!(
            "the modes do not share one viscosity (effective values {}): their damping is given, no viscosity{cause}",
            list.join(", ")
        );
        cautions.push(Caution::new("modes_do_not_share_viscosity", text));
        return false;
    }
    if more == 0.0 {
        let why = if aqueous {
            "; a film on water doubles or triples the damping and one mode cannot show it"
        } else {
            ""
        };
        let text = format!("the viscosity rests on the damping of one mode{why}");
        cautions.push(Caution::new("one_mode_only", text));
    }
    true
}

fn route(
    name: &'static str,
    lines: &Lines,
    radius: &Uncertain,
    known: &Known,
    damping: Damping,
    directions: &[Uncertain],
) -> Result<Route, LeastSquaresError> {
    let conditions = conditions(radius, known);
    let fit = fit(lines, &conditions, damping)?;
    let inputs = [radius, &known.density, &known.host_density, &known.host_viscosity];
    let value = |row: usize| {
        let best = fit.logarithms[row].exp();
        let stated = (0..inputs.len()).map(|k| (inputs[k], best * fit.by_condition[(row, k)]));
        let of_lines = (0..directions.len()).map(|k| (&directions[k], best * fit.by_line[(row, k)]));
        let terms: Vec<(&Uncertain, f64)> = stated.chain(of_lines).collect();
        Uncertain::combine(best, &terms)
    };
    Ok(Route {
        name,
        by_mass: name == BY_MASS,
        radius: radius.clone(),
        conditions,
        tension: value(0),
        viscosity: value(1),
        fit,
    })
}

/// One independent direction of the lines' covariance, of unit size times Birge's ratio.
fn direction(place: usize, lines: &Lines, birge: f64) -> Uncertain {
    let input = Input {
        key: format!("{FIT_INPUT} #{place}"),
        unit: "1".into(),
        standard_uncertainty: 1.0,
        // A row of the covariance's factor for frequency and one for decay: two directions a line.
        degrees_of_freedom: lines.degrees_of_freedom[place / 2],
        source: "residuals of the fit".into(),
    };
    Uncertain::of_input(0.0, birge, input)
}

/// One joined value, or each alone when the routes disagree.
fn join(routes: Vec<(&str, Uncertain)>, what: &str, cautions: &mut Vec<Caution>) -> Vec<Joined> {
    let count = routes.len();
    let alone = |i: usize, name: &str, value: &Uncertain| Joined {
        name: name.to_string(),
        value: value.clone(),
        weights: (0..count).map(|k| if k == i { 1.0 } else { 0.0 }).collect(),
    };
    let each = || {
        let pairs = routes.iter().enumerate();
        pairs.map(|(i, (name, value))| alone(i, name, value)).collect()
    };
    let [(name_a, a), (name_b, b)] = routes.as_slice() else {
        return each();
    };
    let (va, vb, c) = (a.covariance(a), b.covariance(b), a.covariance(b));
    let spread = va + vb - 2.0 * c;
    if spread <= 0.0 {
        return vec![alone(0, name_a, a)];
    }
    let deviation = (a.value() - b.value()) / spread.sqrt();
    if deviation.abs() > 2.0 {
        let text = format!(
            "{what} by {name_a} ({:.4e}) and by {name_b} ({:.4e}) differ by {:.1} times the uncertainty of their \
             difference: they are given apart, not averaged; check scale, depth, mass and what stayed on the support",
            a.value(),
            b.value(),
            deviation.abs()
        );
        cautions.push(Caution::new("routes_disagree", text));
        return each();
    }
    let weight = (vb - c) / spread;
    let value = weight * a.value() + (1.0 - weight) * b.value();
    vec![Joined {
        name: format!("{name_a} and {name_b} joined"),
        value: Uncertain::combine(value, &[(a, weight), (b, 1.0 - weight)]),
        weights: vec![weight, 1.0 - weight],
    }]
}

/// An estimate with budget, interval and comparison, from a value with its parts.
pub fn finished(
    quantity: &'static str,
    unit: &'static str,
    value: Uncertain,
    route: String,
    reference: Option<&Uncertain>,
) -> Estimate {
    let lines = budget(&value);
    let reference = reference.map(|known| {
        let spread = Uncertain::combine(0.0, &[(&value, 1.0), (known, -1.0)]).standard_uncertainty();
        (known.clone(), (value.value() - known.value()) / spread)
    });
    Estimate {
        quantity,
        unit,
        degrees_of_freedom: degrees_of_freedom(&lines),
        interval_95: interval_95(&value, &lines),
        trials: None,
        budget: lines,
        value,
        route,
        reference,
    }
}

impl Estimate {
    /// The same after trials: their interval stands where they do not confirm the linear one.
    #[must_use]
    pub fn looked_at(mut self, trials: Option<Trials>) -> Self {
        self.trials = trials;
        if let Some(found) = trials.filter(|found| !found.confirm(self.interval_95)) {
            self.interval_95 = found.interval_95;
        }
        self
    }

    /// The interval of the law of propagation, \[JCGM100\] annex G.
    pub fn linear_interval_95(&self) -> [f64; 2] {
        interval_95(&self.value, &self.budget)
    }

    /// Whether the interval is that of trials.
    pub fn is_of_trials(&self) -> bool {
        self.trials
            .is_some_and(|found| !found.confirm(self.linear_interval_95()))
    }
}

/// `mode 2`, `modes 2 to 4`, `modes 2, 4 and 5`.
fn spoken(degrees: &[u32]) -> String {
    match degrees {
        [] => "no mode".into(),
        [one] => format!("mode {one}"),
        [first, .., last] if (last - first) as usize + 1 == degrees.len() => {
            format!("modes {first} to {last}")
        }
        [most @ .., last] => {
            let most: Vec<String> = most.iter().map(u32::to_string).collect();
            format!("modes {} and {last}", most.join(", "))
        }
    }
}

#[cfg(test)]
mod tests;
