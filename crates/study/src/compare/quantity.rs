//! Each quantity over the runs: values, mean, who disagrees. Properties are averaged over the runs of one liquid; sizes and drifts belong to
//! their run and stand beside each other only.

use tremolet_infer::among::agree::{Standing, standings};
use tremolet_infer::among::identity::{name, own_parts};
use tremolet_infer::among::mean::{Mean, mean, weighted};
use tremolet_matter::uncertain::Uncertain;
use tremolet_record::comparison::{self, BetweenRuns, Compared, Entry, MeanLine};
use tremolet_record::findings::{Caution, Estimate, Reference};
use tremolet_report::text::words;

use crate::compare::liquid::Liquid;
use crate::compare::run::Run;
use crate::compare::shared::{of_mean, repeated};
use crate::error::StudyError;
use crate::fit::told::METHOD;
use crate::wording::caution;

/// What belongs to the liquid and not to the run.
const PROPERTIES: &[&str] = &["surface_tension", "kinematic_viscosity", "dynamic_viscosity"];
/// Fewer values than this hardly say how much runs differ.
const FEW: usize = 4;
/// Degrees of freedom from which a number of them is recorded as infinite.
const MANY: f64 = 1e4;

/// A value that takes part, with where it comes from.
struct Value<'a> {
    run: usize,
    estimate: &'a Estimate,
    /// As found.
    found: Uncertain,
    /// At the common temperature and composition.
    value: Uncertain,
    /// Whether it counts in a mean.
    counts: bool,
}

/// Everything that two runs or more have found, properties of liquids first.
///
/// # Errors
/// A number in the findings that no mean can be made of.
pub fn quantities(
    runs: &[Run],
    liquids: &[Liquid],
    cautions: &mut Vec<Caution>,
) -> Result<Vec<Compared>, StudyError> {
    let again = repeated(runs);
    let mut all = Vec::new();
    for quantity in PROPERTIES {
        for liquid in liquids {
            let values = of_liquid(runs, liquid, quantity, &again, cautions);
            if !values.is_empty() {
                all.push(property(runs, liquid, quantity, &values, cautions)?);
            }
        }
    }
    let mut others: Vec<&str> = Vec::new();
    for estimate in runs.iter().flat_map(|run| &run.findings.estimates) {
        let quantity = estimate.quantity.as_str();
        let of_fit = estimate.method.as_deref() == Some(METHOD);
        if !of_fit && !PROPERTIES.contains(&quantity) && !others.contains(&quantity) {
            others.push(quantity);
        }
    }
    all.extend(others.into_iter().map(|quantity| beside(runs, quantity)));
    Ok(all)
}

/// Those of a quantity, each body once by one way: by the fitted simulation where there is one, which large swings do not bias.
fn estimates<'a>(run: &'a Run, quantity: &'a str) -> impl Iterator<Item = &'a Estimate> {
    let of_fit = |e: &&Estimate| e.method.as_deref() == Some(METHOD);
    let own = move || {
        run.findings
            .estimates
            .iter()
            .filter(move |e| e.quantity == quantity)
    };
    own().filter(move |e| of_fit(e) || !own().any(|other| of_fit(&other) && other.body == e.body))
}

fn of_liquid<'a>(
    runs: &'a [Run],
    liquid: &Liquid,
    quantity: &'a str,
    again: &[usize],
    cautions: &mut Vec<Caution>,
) -> Vec<Value<'a>> {
    let (mut values, mut apart, mut left) = (Vec::new(), Vec::new(), Vec::new());
    for &i in &liquid.runs {
        let run = &runs[i];
        for estimate in estimates(run, quantity) {
            let twins = estimates(run, quantity)
                .filter(|other| other.body == estimate.body)
                .count();
            if twins > 1 && apart.last() != Some(&run.name.as_str()) {
                apart.push(run.name.as_str());
            }
            let found = run.uncertain(estimate);
            let brought = if liquid.differs {
                liquid.brought(run, quantity, &found)
            } else {
                Some(found.clone())
            };
            if brought.is_none() && left.last() != Some(&run.name.as_str()) {
                left.push(run.name.as_str());
            }
            values.push(Value {
                run: i,
                estimate,
                value: brought.unwrap_or_else(|| found.clone()),
                found,
                counts: twins == 1 && !again.contains(&i),
            });
        }
    }
    let what = format!("{} of {}", words(quantity), liquid.label);
    if !apart.is_empty() {
        let text = format!(
            "{what}: {} found it by two ways that disagree; both are listed, neither counts in the mean",
            apart.join(", ")
        );
        cautions.push(caution("ways_disagree_within_a_run", &text, None));
    }
    if !left.is_empty() && values.len() > 1 {
        let text = format!(
            "{what}: temperature or composition differ and there is no formula to bring {} to a common one; the values stay as found",
            left.join(", ")
        );
        cautions.push(caution("not_at_one_temperature", &text, None));
    }
    values
}

fn property(
    runs: &[Run],
    liquid: &Liquid,
    quantity: &str,
    values: &[Value<'_>],
    cautions: &mut Vec<Caution>,
) -> Result<Compared, StudyError> {
    let what = format!("{} of {}", words(quantity), liquid.label);
    let counting: Vec<&Value<'_>> = values.iter().filter(|v| v.counts).collect();
    let even: Vec<Uncertain> = counting.iter().map(|v| v.value.clone()).collect();
    let mut entries = entries(runs, values);
    let mut compared = Compared {
        quantity: quantity.into(),
        unit: values[0].estimate.unit.clone(),
        liquid: Some(liquid.label.clone()),
        entries: Vec::new(),
        mean: None,
        why: String::new(),
    };
    if even.len() < 2 {
        compared.why = "only one value of this liquid counts: nothing to average".into();
        compared.entries = entries;
        return Ok(compared);
    }
    let found = mean(&even).map_err(|why| refused(&what, &why))?;
    let standing = standings(&even).map_err(|why| refused(&what, &why))?;
    let places = (0..values.len()).filter(|&i| values[i].counts);
    for (i, k) in places.zip(0..) {
        entries[i].weight = Some(found.weights[k]);
        entries[i].normalised_deviation = Some(standing[k].deviation).filter(|d| d.is_finite());
        entries[i].disagrees = standing[k].disagrees;
    }
    cautions.extend(of_mean(&what, &found));
    cautions.extend(disagreement(&what, &found, &counting, &standing, runs));
    if even.len() < FEW {
        let text = format!(
            "{what}: from {} values it is hardly known how much runs differ; the interval of the mean holds the truth less often than 95 % \
             if they differ much, and more runs help most",
            even.len()
        );
        cautions.push(caution("few_runs", &text, None));
    }
    let reference = reference(runs, liquid, quantity, &counting, &found);
    compared.mean = Some(written(&found, &even, &standing, reference)?);
    compared.entries = entries;
    Ok(compared)
}

fn refused(what: &str, why: &dyn std::fmt::Display) -> StudyError {
    StudyError::Run {
        file: "findings.json".into(),
        why: format!("{what} has no mean: {why}"),
    }
}

/// The values without mean and standing.
fn entries(runs: &[Run], values: &[Value<'_>]) -> Vec<Entry> {
    let all: Vec<Uncertain> = values.iter().map(|v| v.value.clone()).collect();
    values
        .iter()
        .zip(own_parts(&all))
        .map(|(value, own)| entry(runs, value, own))
        .collect()
}

fn entry(runs: &[Run], value: &Value<'_>, own: f64) -> Entry {
    let brought = (value.value.value() - value.found.value()).abs() > 1e-12 * value.found.value().abs();
    Entry {
        run: runs[value.run].name.clone(),
        body: value.estimate.body,
        value: value.value.value(),
        standard_uncertainty: value.value.standard_uncertainty(),
        own,
        as_found: brought.then(|| value.found.value()),
        route: value.estimate.route.clone(),
        weight: None,
        normalised_deviation: None,
        disagrees: false,
    }
}

/// What the formula gives for the mean: weighted as the mean, its inputs kept.
fn reference(
    runs: &[Run],
    liquid: &Liquid,
    quantity: &str,
    counting: &[&Value<'_>],
    found: &Mean,
) -> Option<(Uncertain, String)> {
    let all: Option<Vec<(Uncertain, String)>> = counting
        .iter()
        .map(|v| liquid.reference(&runs[v.run], quantity))
        .collect();
    let (values, sources): (Vec<Uncertain>, Vec<String>) = all?.into_iter().unzip();
    Some((weighted(&values, &found.weights), sources.first()?.clone()))
}

fn disagreement(
    what: &str,
    found: &Mean,
    counting: &[&Value<'_>],
    standing: &[Standing],
    runs: &[Run],
) -> Option<Caution> {
    let off = counting.iter().zip(standing).filter(|(_, s)| s.disagrees);
    let list: Vec<String> = off
        .map(|(v, s)| format!("{} by {:+.1}", runs[v.run].name, s.deviation))
        .collect();
    let between = &found.between;
    if list.is_empty() && between.probability >= 0.05 {
        return None;
    }
    let who = if list.is_empty() {
        "no single run stands out".to_owned()
    } else {
        format!(
            "{} times the standard uncertainty of the difference from the others",
            list.join(", ")
        )
    };
    let text = format!(
        "{what}: the runs differ by more than chance and their budgets explain ({who}; chi-square {:.1} for {:.0} degrees of freedom, probability {}); \
         what differs is in the uncertainty of the mean, no run is left out. Look for what was not the same in these runs",
        between.chi_square,
        between.degrees_of_freedom,
        chance(between.probability)
    );
    Some(caution("runs_disagree", &text, None))
}

/// A probability as a reader wants it.
fn chance(probability: f64) -> String {
    if probability < 0.001 {
        "below 0.001".into()
    } else {
        format!("{probability:.3}")
    }
}

fn written(
    found: &Mean,
    values: &[Uncertain],
    standing: &[Standing],
    reference: Option<(Uncertain, String)>,
) -> Result<comparison::Mean, StudyError> {
    let u = found.mean.standard_uncertainty();
    let line = |line: &tremolet_infer::among::mean::Line| MeanLine {
        input: name(&line.input.key).0.to_owned(),
        part: line.part,
        share: (line.part / u).powi(2),
        values: line.values,
    };
    let agreeing: Vec<Uncertain> = values
        .iter()
        .zip(standing)
        .filter(|(_, s)| !s.disagrees)
        .map(|(v, _)| v.clone())
        .collect();
    let some = agreeing.len() < values.len() && agreeing.len() > 1;
    let without = some
        .then(|| mean(&agreeing))
        .transpose()
        .map_err(|why| refused("the runs that agree", &why))?;
    let deviation = reference.as_ref().map(|(known, _)| {
        let difference = Uncertain::combine(0.0, &[(&found.mean, 1.0), (known, -1.0)]).standard_uncertainty();
        (found.mean.value() - known.value()) / difference
    });
    Ok(comparison::Mean {
        value: found.mean.value(),
        standard_uncertainty: u,
        degrees_of_freedom: Some(found.degrees_of_freedom).filter(|freedom| *freedom < MANY),
        interval_95: found.interval_95,
        within: found.within,
        between: found.spread,
        shared: found.shared,
        between_runs: BetweenRuns {
            standard_deviation: found.between.deviation,
            interval_95: found.between.interval_95,
            chi_square: found.between.chi_square,
            degrees_of_freedom: found.between.degrees_of_freedom,
            probability: found.between.probability,
        },
        budget: merged(found.lines.iter().map(line)),
        reference: reference.map(|(known, source)| Reference {
            value: known.value(),
            standard_uncertainty: Some(known.standard_uncertainty()),
            source,
        }),
        normalised_deviation: deviation.filter(|d| d.is_finite()),
        of_those_that_agree: without.map(|m| [m.mean.value(), m.mean.standard_uncertainty()]),
    })
}

/// What runs own each for themselves under one name as one line, its part the root of the sum of squares; largest share first.
fn merged(lines: impl Iterator<Item = MeanLine>) -> Vec<MeanLine> {
    let mut all: Vec<MeanLine> = Vec::new();
    for line in lines {
        let same = all
            .iter_mut()
            .find(|known| known.input == line.input && known.values == 1 && line.values == 1);
        match same {
            Some(known) => {
                known.part = known.part.hypot(line.part);
                known.share += line.share;
            }
            None => all.push(line),
        }
    }
    all.sort_by(|a, b| b.share.total_cmp(&a.share).then_with(|| a.input.cmp(&b.input)));
    all
}

fn beside(runs: &[Run], quantity: &str) -> Compared {
    let mut values = Vec::new();
    for (i, run) in runs.iter().enumerate() {
        values.extend(estimates(run, quantity).map(|estimate| {
            let found = run.uncertain(estimate);
            Value {
                run: i,
                estimate,
                value: found.clone(),
                found,
                counts: false,
            }
        }));
    }
    Compared {
        quantity: quantity.into(),
        unit: values
            .first()
            .map_or_else(String::new, |v| v.estimate.unit.clone()),
        liquid: None,
        entries: entries(runs, &values),
        mean: None,
        why: "it belongs to each run: not averaged".into(),
    }
}
