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
use crate::property::film;
use crate::property::fit::{Conditions, Damping, Fit, fit};
use crate::property::lines::Lines;

/// Name of the budget line of the fit.
pub const FIT_INPUT: &str = "frequencies and decay rates (fit)";

/// Name of the budget line of a suspected surface film.
pub const FILM_INPUT: &str = "surface film (shift of the frequencies)";

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
    /// 95 % coverage interval.
    pub interval_95: [f64; 2],
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
struct Route {
    name: &'static str,
    tension: Uncertain,
    viscosity: Uncertain,
}

/// Estimates what the lines and what is known determine.
///
/// # Errors
/// When the covariance of the lines is not positive definite or the lines do not determine the unknowns.
pub fn estimate(lines: &Lines, known: &Known) -> Result<Properties, LeastSquaresError> {
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
    let mut routes = Vec::new();
    for (name, radius) in &radii {
        let mut route = route(name, lines, radius, known, damping, birge)?;
        if let Some(relative) = film {
            let u = relative * route.tension.value();
            route.tension = route.tension.with_input(u, shift_of_film(u));
        }
        routes.push(route);
    }
    let of_tension: Vec<(&str, Uncertain)> = routes.iter().map(|r| (r.name, r.tension.clone())).collect();
    let of_viscosity: Vec<(&str, Uncertain)> = routes.iter().map(|r| (r.name, r.viscosity.clone())).collect();
    let degrees = spoken(&lines.degrees);
    for (name, value) in join(of_tension, "surface tension", &mut found.cautions) {
        let route = format!("{degrees}, {name}");
        found.estimates.push(finished(
            "surface_tension",
            "N/m",
            value,
            route,
            known.reference_tension.as_ref(),
        ));
    }
    if one {
        viscosities(of_viscosity, &degrees, known, &mut found);
    }
    Ok(found)
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
        radii.push(("mass", radius));
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
    birge: f64,
) -> Result<Route, LeastSquaresError> {
    let fit = fit(lines, &conditions(radius, known), damping)?;
    let inputs = [radius, &known.density, &known.host_density, &known.host_viscosity];
    let value = |row: usize| {
        let best = fit.logarithms[row].exp();
        let mut terms: Vec<(&Uncertain, f64)> = Vec::new();
        for (k, input) in inputs.iter().enumerate() {
            terms.push((input, best * fit.by_condition[(row, k)]));
        }
        let directions: Vec<Uncertain> = (0..lines.values.len()).map(|k| direction(k, lines)).collect();
        for (k, direction) in directions.iter().enumerate() {
            terms.push((direction, best * birge * fit.by_line[(row, k)]));
        }
        Uncertain::combine(best, &terms)
    };
    Ok(Route {
        name,
        tension: value(0),
        viscosity: value(1),
    })
}

/// One independent direction of the lines' covariance, of unit size.
fn direction(place: usize, lines: &Lines) -> Uncertain {
    let input = Input {
        key: format!("{FIT_INPUT} #{place}"),
        unit: "1".into(),
        standard_uncertainty: 1.0,
        degrees_of_freedom: lines.degrees_of_freedom,
        source: "residuals of the fit".into(),
    };
    Uncertain::of_input(0.0, 1.0, input)
}

/// One joined value, or each alone when the routes disagree.
fn join(routes: Vec<(&str, Uncertain)>, what: &str, cautions: &mut Vec<Caution>) -> Vec<(String, Uncertain)> {
    let alone =
        |routes: Vec<(&str, Uncertain)>| routes.into_iter().map(|(n, v)| (n.to_string(), v)).collect();
    let [(name_a, a), (name_b, b)] = routes.as_slice() else {
        return alone(routes);
    };
    let (va, vb, c) = (a.covariance(a), b.covariance(b), a.covariance(b));
    let spread = va + vb - 2.0 * c;
    if spread <= 0.0 {
        return vec![(name_a.to_string(), a.clone())];
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
        return alone(routes);
    }
    let weight = (vb - c) / spread;
    let value = weight * a.value() + (1.0 - weight) * b.value();
    let joined = Uncertain::combine(value, &[(a, weight), (b, 1.0 - weight)]);
    vec![(format!("{name_a} and {name_b} joined"), joined)]
}

fn viscosities(routes: Vec<(&str, Uncertain)>, degrees: &str, known: &Known, found: &mut Properties) {
    if routes.iter().any(|(_, nu)| nu.relative() > 0.5) {
        let text = "the decay is not resolved (viscosity uncertain by more than half of itself): no viscosity is given";
        found.cautions.push(Caution::new("decay_not_resolved", text));
        return;
    }
    for (name, value) in join(routes, "kinematic viscosity", &mut found.cautions) {
        let route = format!("{degrees}, {name}");
        let dynamic = Uncertain::combine(
            value.value() * known.density.value(),
            &[(&value, known.density.value()), (&known.density, value.value())],
        );
        let reference = known.reference_viscosity.as_ref();
        found.estimates.push(finished(
            "kinematic_viscosity",
            "m^2/s",
            value,
            route.clone(),
            reference,
        ));
        found
            .estimates
            .push(finished("dynamic_viscosity", "Pa s", dynamic, route, None));
    }
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
        budget: lines,
        value,
        route,
        reference,
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
