//! Which runs are of the same liquid, and their values at one temperature and composition.
//!
//! ```text
//! y' = y  ref(T_0, w_0) / ref(T, w)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `y`, `y'` | a property as a run found it, and at the common temperature | unit of y |
//! | `ref` | the formula of the named liquid | unit of y |
//! | `T`, `w` | temperature and mass fraction of the run | K, 1 |
//! | `T_0`, `w_0` | their plain means over the runs of the liquid | K, 1 |
//!
//! Two runs are of the same liquid when the file names the same one and their mass fractions agree within twice the standard uncertainty of
//! their difference; a liquid without a name when the densities do. Only the ratio of the formula enters: its own error is the same above and
//! below. Where no formula is there, values stay as found.

use tremolet_infer::known::{Materials, materials};
use tremolet_matter::uncertain::Uncertain;

use crate::compare::run::Run;

/// Temperatures closer than this, K, and mass fractions closer than [`SAME_FRACTION`] are the same.
const SAME_TEMPERATURE: f64 = 1e-3;
const SAME_FRACTION: f64 = 1e-9;

/// Runs of one liquid.
pub struct Liquid {
    /// Places of its runs.
    pub runs: Vec<usize>,
    /// In words, with composition and temperature.
    pub label: String,
    /// Mean temperature, K, where each run states one.
    temperature: Option<f64>,
    /// Mean mass fraction, where each run states one.
    fraction: Option<f64>,
    /// Whether the runs differ in temperature or composition.
    pub differs: bool,
}

/// The liquids of the runs, in the order in which they first appear; runs without one are in none.
pub fn liquids(runs: &[Run]) -> Vec<Liquid> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (i, run) in runs.iter().enumerate() {
        let Some(own) = &run.materials else { continue };
        let alike = |group: &&mut Vec<usize>| {
            let first = &runs[group[0]];
            first
                .materials
                .as_ref()
                .is_some_and(|other| same(own, run, other, first))
        };
        match groups.iter_mut().find(alike) {
            Some(group) => group.push(i),
            None => groups.push(vec![i]),
        }
    }
    groups.into_iter().map(|group| liquid(runs, group)).collect()
}

fn same(own: &Materials, run: &Run, other: &Materials, first: &Run) -> bool {
    if own.liquid.name != other.liquid.name {
        return false;
    }
    let agree = |a: &Uncertain, b: &Uncertain| {
        let u = Uncertain::combine(0.0, &[(a, 1.0), (b, -1.0)]).standard_uncertainty();
        (a.value() - b.value()).abs() <= 2.0 * u + SAME_FRACTION * a.value().abs()
    };
    let named = |run: &Run| run.experiment.liquid.as_ref().is_some_and(|l| l.name.is_some());
    match (fraction(run), fraction(first)) {
        (Some(a), Some(b)) => agree(&run.among(a), &first.among(b)),
        (None, None) if named(run) => true,
        (None, None) => agree(
            &run.among(&own.liquid.density.value),
            &first.among(&other.liquid.density.value),
        ),
        _ => false,
    }
}

fn fraction(run: &Run) -> Option<&Uncertain> {
    run.experiment.liquid.as_ref()?.mass_fraction.as_ref()
}

fn temperature(run: &Run) -> Option<&Uncertain> {
    run.experiment.liquid.as_ref()?.temperature.as_ref()
}

fn liquid(runs: &[Run], group: Vec<usize>) -> Liquid {
    let over = |of: &dyn Fn(&Run) -> Option<f64>| -> Option<Vec<f64>> {
        group.iter().map(|&i| of(&runs[i])).collect()
    };
    let mean = |all: &Vec<f64>| all.iter().sum::<f64>() / all.len() as f64;
    let wide = |all: &Vec<f64>, least: f64| {
        let (low, high) = all
            .iter()
            .fold((f64::MAX, f64::MIN), |(low, high), x| (low.min(*x), high.max(*x)));
        high - low > least
    };
    let temperatures = over(&|run| temperature(run).map(Uncertain::value));
    let fractions = over(&|run| fraction(run).map(Uncertain::value));
    let name = runs[group[0]]
        .materials
        .as_ref()
        .map_or("", |m| m.liquid.name.as_str());
    let mut label = if name == "own" {
        "liquid as stated".into()
    } else {
        name.to_owned()
    };
    if let Some(fractions) = &fractions {
        label += &format!(", {}", short(100.0 * mean(fractions), "%"));
    }
    if let Some(temperatures) = &temperatures {
        label += &format!(", {}", short(mean(temperatures) - 273.15, "°C"));
    }
    let differs = temperatures
        .as_ref()
        .is_some_and(|all| wide(all, SAME_TEMPERATURE))
        || fractions.as_ref().is_some_and(|all| wide(all, SAME_FRACTION));
    Liquid {
        label,
        temperature: temperatures.as_ref().map(mean),
        fraction: fractions.as_ref().map(mean),
        differs,
        runs: group,
    }
}

fn short(value: f64, unit: &str) -> String {
    let text = format!("{value:.2}");
    format!("{} {unit}", text.trim_end_matches('0').trim_end_matches('.'))
}

impl Liquid {
    /// Liquid and gas of a run at the common temperature and composition.
    fn common(&self, run: &Run) -> Option<Materials> {
        let mut experiment = run.experiment.clone();
        let liquid = experiment.liquid.as_mut()?;
        if let Some(temperature) = self.temperature {
            liquid.temperature = Some(Uncertain::exact(temperature));
        }
        if let Some(fraction) = self.fraction {
            liquid.mass_fraction = Some(Uncertain::exact(fraction));
        }
        materials(&experiment).ok()
    }

    /// The formula's value of a property for a run: at the common temperature and composition where the runs differ, at its own elsewhere.
    pub fn reference(&self, run: &Run, quantity: &str) -> Option<(Uncertain, String)> {
        let (value, source) = if self.differs {
            by_formula(&self.common(run)?, quantity)?
        } else {
            by_formula(run.materials.as_ref()?, quantity)?
        };
        Some((run.among(&value), source))
    }

    /// The value of a run at the common temperature and composition; none where there is no formula to bring it there.
    pub fn brought(&self, run: &Run, quantity: &str, value: &Uncertain) -> Option<Uncertain> {
        let (own, _) = by_formula(run.materials.as_ref()?, quantity)?;
        let (common, _) = by_formula(&self.common(run)?, quantity)?;
        let (own, common) = (run.among(&own), run.among(&common));
        Some(Uncertain::propagate(&[value, &common, &own], |x| {
            x[0] * x[1] / x[2]
        }))
    }
}

/// What the formula of the named liquid gives, and its source.
fn by_formula(materials: &Materials, quantity: &str) -> Option<(Uncertain, String)> {
    let liquid = &materials.liquid;
    let of = |property: &Option<tremolet_matter::property::Property>| {
        property.as_ref().map(|p| (p.value.clone(), p.source.clone()))
    };
    match quantity {
        "surface_tension" => of(&liquid.reference_surface_tension),
        "dynamic_viscosity" => of(&liquid.reference_dynamic_viscosity),
        "kinematic_viscosity" => {
            let (dynamic, source) = of(&liquid.reference_dynamic_viscosity)?;
            let density = &liquid.density.value;
            Some((
                Uncertain::propagate(&[&dynamic, density], |x| x[0] / x[1]),
                source,
            ))
        }
        _ => None,
    }
}
