//! How well each quantity of a planned release will be known, and what to change where that is not well enough.
//!
//! ```text
//! least factor k of one change with u(k) <= wanted,   u from crate::prospect;   by steps, then by halving
//! ```
//!
//! One change at a time, all else as planned; the cheapest first: what is set at the camera, then what is calibrated or weighed, then the swing,
//! then the size (common practice, no published source). A change that alone does not reach what is wanted is told with the best it does and
//! with what then binds. What a change costs elsewhere (view, light, time) stands beside it.

use tremolet_infer::budget::BudgetLine;
use tremolet_infer::foreseen::Standing;
use tremolet_matter::quantity::dimension::Dimension;
use tremolet_record::experiment::file::Kind;
use tremolet_record::experiment::wanted::Wish;
use tremolet_record::findings::Caution;
use tremolet_record::sheet::{Group, Mark};
use tremolet_theory::validity::Validity;

use crate::given::Given;
use crate::place::SOURCE;
use crate::prospect::{Outlook, Quantity, Run};
use crate::row::{Draft, MM, PERCENT, Told, group, row, text};
use crate::wanted::change::{Change, Changes, uncertainty};

mod change;

/// Largest swing for which the foreseen noise was held against repeats.
const SMALL: f64 = 0.05;
/// Parts of a budget that are told.
const PARTS: usize = 4;

/// The same for any kind: for now only a release tells properties; for another kind a wish is answered by saying so.
pub fn of_kind(given: &Given<'_>) -> (Vec<Group>, Option<Caution>) {
    if given.experiment.kind == Kind::Release {
        return wanted(given);
    }
    let why = "properties of a liquid are planned for a release only: its ring-down tells them";
    let asked = !given.experiment.wanted.is_empty();
    (asked.then(|| silent(why)).into_iter().collect(), None)
}

/// What the uncertainties of a release are expected to be, and how to reach those that are wanted; with the caution that goes with them.
pub fn wanted(given: &Given<'_>) -> (Vec<Group>, Option<Caution>) {
    let (run, assumed) = match Run::of(given) {
        Ok(found) => found,
        Err(why) => return (vec![silent(&why)], None),
    };
    let outlook = match run.outlook() {
        Ok(outlook) => outlook,
        Err(why) => return (vec![silent(&why)], None),
    };
    let mut groups = vec![expected(&outlook, &assumed)];
    let wishes = &given.experiment.wanted;
    if !wishes.is_empty() {
        let met = |wish: &Wish| uncertainty(wish, Some(&outlook)).is_some_and(|[u, goal]| u <= goal);
        let changes = if wishes.iter().all(met) {
            Changes(Vec::new())
        } else {
            Changes::of(&run, given.time.is_some())
        };
        let rows = wishes.iter().flat_map(|wish| reached(wish, &outlook, &changes));
        groups.push(group("To reach what is wanted", rows.collect()));
    }
    (groups, Some(caution()))
}

fn silent(why: &str) -> Group {
    let said = row("expected_uncertainty", "uncertainty to be expected", "", "");
    group(
        "Uncertainty to be expected",
        vec![said.words("cannot be said").noted(why)],
    )
}

fn caution() -> Caution {
    Caution {
        code: "expected_from_clean_pictures".into(),
        text: "the uncertainties to be expected hold for a clean surface, a drop that does not turn and an axis across the view: a film, rotation and a tilted \
               axis are not in them, a coding with loss only as far as camera.coding states it; the measurement adds what it sees of these"
            .into(),
        frames: None,
    }
}

/// How a quantity is told.
fn told(quantity: &str) -> Told {
    match quantity {
        "surface_tension" => of(Dimension::SurfaceTension, "N/m", "mN/m"),
        "dynamic_viscosity" => of(Dimension::DynamicViscosity, "Pa s", "mPa s"),
        "kinematic_viscosity" => of(Dimension::KinematicViscosity, "m^2/s", "mm^2/s"),
        _ => MM,
    }
}

fn of(dimension: Dimension, si: &'static str, unit: &'static str) -> Told {
    Told { dimension, si, unit }
}

fn percent(share: f64) -> String {
    text(share, None, PERCENT)
}

/// `surface tension` of `surface_tension`.
fn words(quantity: &str) -> String {
    match quantity {
        "equivalent_radius" => "radius".into(),
        other => other.replace('_', " "),
    }
}

fn expected(outlook: &Outlook, assumed: &[String]) -> Group {
    let source = "[Kay1993], [JCGM100]";
    let amplitudes = outlook.modes.iter().map(|mode| mode.expected.amplitude);
    let swing = amplitudes.fold(0.0, f64::max);
    let mut rows: Vec<Draft> = outlook
        .quantities
        .iter()
        .flat_map(|one| of_quantity(one, swing, source))
        .collect();
    for mode in &outlook.modes {
        let n = mode.expected.degree;
        let (said, mark) = match mode.standing {
            Standing::Found => ("found", Mark::Good),
            Standing::Doubtful => ("may or may not be found", Mark::Marginal),
            Standing::Overshadowed => (
                "found, but alone beside a larger motion it says nothing sure",
                Mark::Impossible,
            ),
            Standing::Faint => ("lost in the noise", Mark::Impossible),
            Standing::Short => ("too few cycles to be told", Mark::Impossible),
            Standing::Made => ("so small that coding could make it", Mark::Impossible),
            Standing::Fast => ("faster than half the capture rate", Mark::Impossible),
        };
        let line = row(
            format!("mode_{n}"),
            format!("mode {n} in the clip"),
            "amplitude over noise, summed over the frames",
            "[Scargle1982]",
        );
        rows.push(
            line.words(said)
                .marked(mark, &format!("{:.0} times the noise", mode.gain.sqrt())),
        );
    }
    if let Some(u) = outlook.amplitudes.first() {
        let line = row(
            "noise_amplitude_2",
            "noise of the amplitude of degree 2 in one frame, over the radius",
            "bound along the edge",
            "[Kay1993]",
        );
        rows.push(line.number(PERCENT, *u));
    }
    let line = row(
        "frames",
        "frames in which it is free and in view",
        "rate times time",
        "definition",
    );
    let mut frames = line.words(outlook.frames.to_string());
    for note in assumed {
        frames = frames.noted(note);
    }
    rows.push(frames);
    group("Uncertainty to be expected", rows)
}

fn of_quantity(one: &Quantity, swing: f64, source: &str) -> [Draft; 2] {
    let name = words(one.quantity);
    let value = row(
        format!("expected_{}", one.quantity),
        format!("{name}, as it will be known"),
        "budget of the measurement",
        source,
    )
    .uncertain(told(one.quantity), &one.value)
    .noted(&shares(&one.budget));
    let mut share = row(
        format!("uncertainty_{}", one.quantity),
        format!(
            "standard uncertainty of it; {} by noise",
            percent(one.u_noise / one.value.value())
        ),
        "u(y)/y",
        source,
    )
    .number(PERCENT, one.value.relative())
    .valid(&Validity::always().with("largest amplitude over radius", swing, 0.0, SMALL));
    if let Some([u, _]) = one.hopeful {
        let better = percent(u / one.value.value());
        share = share.noted(&format!(
            "{better} if modes in doubt are found and key pictures show the lag of a coding"
        ));
    }
    [value, share]
}

/// The largest shares of a budget.
fn shares(budget: &[BudgetLine]) -> String {
    let parts = budget.iter().take(PARTS).filter(|line| line.share >= 0.005);
    let list: Vec<String> = parts
        .map(|line| format!("{} {:.0} %", line.input, 100.0 * line.share))
        .collect();
    if list.is_empty() {
        String::new()
    } else {
        format!("of its variance: {}", list.join(", "))
    }
}

fn reached(wish: &Wish, outlook: &Outlook, changes: &Changes) -> Vec<Draft> {
    let name = words(wish.quantity);
    let line = row(
        format!("wanted_{}", wish.key),
        format!("{name}, wanted"),
        "expected against wanted",
        "[wanted]",
    );
    let now = uncertainty(wish, Some(outlook));
    if let Some([u, goal]) = now
        && u <= goal
    {
        let said = format!(
            "{} wanted, {} expected",
            told_u(wish, goal, outlook),
            told_u(wish, u, outlook)
        );
        return vec![line.words(said).marked(Mark::Good, "reached as planned")];
    }
    let mut rows = vec![match now {
        Some([u, goal]) => {
            let binds = outlook.of(wish.quantity).map_or("", limit);
            let said = format!("{} wanted, {} expected", told_u(wish, goal, outlook), told_u(wish, u, outlook));
            line.words(said)
                .marked(Mark::Marginal, &format!("not reached: {binds} binds; below, one change at a time, the cheapest first ({SOURCE})"))
        }
        None => line.words("it will not be known as planned").marked(
            Mark::Impossible,
            &format!("no mode tells it, or its decay is not resolved; below, one change at a time, the cheapest first ({SOURCE})"),
        ),
    }];
    let mut vain: Vec<Vain> = Vec::new();
    for change in &changes.0 {
        match told_change(wish, change) {
            Ok(line) => rows.push(line),
            Err(one) => match vain.iter_mut().find(|other| other.why == one.why) {
                Some(other) => other.join(one),
                None => vain.push(one),
            },
        }
    }
    rows.extend(vain.iter().enumerate().map(|(k, one)| one.told(wish, k)));
    rows
}

/// Changes that alone do not reach what is wanted, for one reason.
struct Vain {
    names: Vec<&'static str>,
    /// Least uncertainty, and how it is told.
    best: Option<(f64, String)>,
    /// What is said without one.
    without: &'static str,
    why: String,
}

impl Vain {
    fn join(&mut self, other: Self) {
        self.names.extend(other.names);
        let better = other
            .best
            .filter(|(u, _)| self.best.as_ref().is_none_or(|(least, _)| u < least));
        self.best = better.or(self.best.take());
    }

    fn told(&self, wish: &Wish, place: usize) -> Draft {
        let name = format!(
            "{}, not by one of these alone: {}",
            words(wish.quantity),
            self.names.join(", ")
        );
        let line = row(
            format!("vain_{}_{place}", wish.key),
            name,
            "best on the way of the change",
            "[JCGM100]",
        );
        let said = self
            .best
            .as_ref()
            .map_or(self.without.to_owned(), |(_, best)| format!("{best} at best"));
        line.words(said).marked(Mark::Impossible, &self.why)
    }
}

/// The least change that reaches what is wanted, or why there is none.
fn told_change(wish: &Wish, change: &Change) -> Result<Draft, Vain> {
    let vain = |best, without, why: String| Vain {
        names: vec![change.name],
        best,
        without,
        why,
    };
    if let Some(why) = &change.closed {
        return Err(vain(None, "not possible", why.clone()));
    }
    if let Some(factor) = change.least(wish)
        && let Some(found) = change.outlook(factor)
    {
        let line = row(
            format!("change_{}_{}", wish.key, change.key),
            format!("{}: {}", words(wish.quantity), change.name),
            "least change that reaches it",
            "[JCGM100]",
        );
        let said = (change.say)(&(change.apply)(factor), &found);
        let (set, how) = said.split_once(": ").unwrap_or((said.as_str(), ""));
        return Ok(line.words(set).marked(Mark::Good, how));
    }
    Err(match change.best(wish) {
        Some((u, best)) => {
            let binds = best.of(wish.quantity).map_or("", limit);
            vain(
                Some((u, told_u(wish, u, best))),
                "",
                format!("then {binds} binds"),
            )
        }
        None => vain(None, "still not known", "no mode would tell it".into()),
    })
}

fn limit(one: &Quantity) -> &str {
    one.budget.first().map_or("nothing", |line| line.input.as_str())
}

/// An uncertainty as the wish was told: as a share or in the unit.
fn told_u(wish: &Wish, u: f64, outlook: &Outlook) -> String {
    use tremolet_record::experiment::wanted::Goal;
    match (wish.goal, outlook.of(wish.quantity)) {
        (Goal::Share(_), Some(one)) => percent(u / one.value.value()),
        _ => text(u, None, told(wish.quantity)),
    }
}

#[cfg(test)]
mod tests;
