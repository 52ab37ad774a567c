//! What the files of several runs say of what they share, where they contradict each other, and what they leave open.

use tremolet_infer::among::identity::if_one;
use tremolet_infer::among::mean::Mean;
use tremolet_matter::uncertain::Uncertain;
use tremolet_record::findings::Caution;

use crate::compare::run::Run;
use crate::wording::caution;

/// Shares of an input, as a fraction of the mean's uncertainty, from which it is worth a word.
const WORTH_A_WORD: f64 = 0.1;

/// What the files of the runs contradict each other in.
pub fn cautions(runs: &[Run]) -> Vec<Caution> {
    let mut all = Vec::new();
    let calibration = |run: &Run| run.experiment.camera.as_ref().and_then(|c| c.calibration.clone());
    let scale = |run: &Run| run.experiment.camera.as_ref().and_then(|c| c.scale.clone());
    for (name, differing) in differing(runs, &calibration, &scale) {
        let text = format!(
            "the runs {differing} name the calibration {name} but state different scales: they are taken to share its error; give a second \
             calibration a second name"
        );
        all.push(caution("calibration_stated_differently", &text, None));
    }
    let batch = |run: &Run| run.experiment.liquid.as_ref().and_then(|l| l.batch.clone());
    let made_of = |run: &Run| {
        run.experiment
            .liquid
            .as_ref()
            .and_then(|l| l.mass_fraction.clone().or(l.density.clone()))
    };
    for (name, differing) in differing(runs, &batch, &made_of) {
        let text = format!(
            "the runs {differing} name the batch {name} but state different compositions: they are taken to share its error; give a second \
             batch a second name"
        );
        all.push(caution("batch_stated_differently", &text, None));
    }
    let version = |run: &Run| run.provenance.as_ref().map(|p| p.program.version.clone());
    let versions: std::collections::BTreeSet<String> = runs.iter().filter_map(version).collect();
    if versions.len() > 1 {
        let list: Vec<String> = versions.into_iter().collect();
        let text = format!(
            "the runs were measured by different versions of the program ({}): a difference may be the program's; measure the older ones again",
            list.join(", ")
        );
        all.push(caution("measured_by_different_versions", &text, None));
    }
    all.extend(same_clips(runs));
    all
}

/// Names that several runs share while what is stated under them is not the same, with these runs.
fn differing(
    runs: &[Run],
    name: &dyn Fn(&Run) -> Option<String>,
    stated: &dyn Fn(&Run) -> Option<Uncertain>,
) -> Vec<(String, String)> {
    let mut names: Vec<String> = runs.iter().filter_map(name).collect();
    names.sort();
    names.dedup();
    let close = |a: f64, b: f64| (a - b).abs() <= 1e-9 * a.abs().max(b.abs());
    let differs = |shared: &String| {
        let of: Vec<(&Run, Uncertain)> = runs
            .iter()
            .filter(|run| name(run).as_ref() == Some(shared))
            .filter_map(|run| Some((run, stated(run)?)))
            .collect();
        let (_, first) = of.first()?;
        let alike = |other: &Uncertain| {
            close(other.value(), first.value())
                && close(other.standard_uncertainty(), first.standard_uncertainty())
        };
        let list: Vec<&str> = of.iter().map(|(run, _)| run.name.as_str()).collect();
        (!of.iter().all(|(_, value)| alike(value))).then(|| (shared.clone(), list.join(", ")))
    };
    names.iter().filter_map(differs).collect()
}

/// Places of runs whose clip an earlier run was already measured from.
pub fn repeated(runs: &[Run]) -> Vec<usize> {
    let again = |&i: &usize| {
        runs[i]
            .clip()
            .is_some_and(|clip| runs[..i].iter().any(|run| run.clip() == Some(clip)))
    };
    (0..runs.len()).filter(again).collect()
}

fn same_clips(runs: &[Run]) -> Option<Caution> {
    let again = repeated(runs);
    let list: Vec<&str> = again.iter().map(|&i| runs[i].name.as_str()).collect();
    (!list.is_empty()).then(|| {
        let text = format!(
            "{} measured from the same clip as a run before; that is listed but counts in no mean, because one clip is one repeat",
            if list.len() == 1 { format!("{} was", list[0]) } else { format!("{} were", list.join(", ")) }
        );
        caution("same_clip", &text, None)
    })
}

/// What the budgets leave open of a mean.
pub fn of_mean(what: &str, mean: &Mean) -> Vec<Caution> {
    let mut all = Vec::new();
    let u = mean.mean.standard_uncertainty();
    for one in if_one(&mean.mean, WORTH_A_WORD) {
        let text = format!(
            "{what}: each run states {} for itself, so its errors are taken as independent. If they are one error in all runs, the standard \
             uncertainty of the mean is {:.1} times as large{}",
            one.input,
            one.u / u,
            name_it(&one.input)
        );
        all.push(caution("may_be_one_error", &text, None));
    }
    all
}

fn name_it(input: &str) -> &'static str {
    if input.starts_with("camera.scale") || input.starts_with("camera.reference") {
        ": name the calibration in [camera] of the runs that share it"
    } else if input.starts_with("liquid.") && !input.starts_with("liquid.temperature") {
        ": name the batch in [liquid] of the runs that share it"
    } else {
        ""
    }
}
