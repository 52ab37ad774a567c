//! Whether the 95 % intervals hold the truth 95 times in a hundred, over everything that differs from run to run.
//!
//! Each run is drawn anew (see [`crate::drawn`]): half with scale, density and the rest stated exactly, half with the true inputs drawn
//! from what the experiment file states. Runs are kept line by line ([`crate::ledger`]). A share of intervals is told with the bounds
//! of Clopper and Pearson, and beside it how wide the intervals are, so that wide is not taken for good.

use serde::{Deserialize, Serialize};

use tremolet_clip::painted::film::write_mp4;
use tremolet_clip::painted::painter::Painter;
use tremolet_numerics::statistics::{binomial_bounds, median};

use crate::bench::Bench;
use crate::binomial::bounds;
use crate::case::{Case, Failure, Outcome};
use crate::door::{Answer, measure};
use crate::drawn::{Drawn, Places, Special, draw};
use crate::ledger::Ledger;
use crate::noise::film;

/// See the module.
pub const CASE: Case = Case {
    name: "coverage",
    question: "Do the 95 % intervals hold the truth?",
    method: "Painted back-lit runs of 120 frames with exact roots in air; radius 36 to 64 px, Ohnesorge number 0.004 to 0.02, 14 to 40 \
             frames in a swing, 20 000 to 1 500 electrons, level of the lamp, blur, darkness, direction of the axis, swing 0.004 to 0.03 of \
             R, drift to 8 px, all drawn for each run; one run in so many has something special besides. The shift of large swings, the \
             edge's shift by the shape of a blur are drawn from what the program takes them to be. `exact`: scale, \
             density, gas and depth as stated; `drawn`: from what is stated (0.3 %, 0.1 %, 2 K, 0.2 % of the distance). Found: share of \
             the intervals that hold the truth, its 95 % bounds by Clopper and Pearson, runs that gave one, median half width over value. \
             Strata of fewer than 20 runs are left out; low, middle, high are thirds of the range.",
    version: 5,
    run,
};

/// Quantities whose intervals are counted.
const QUANTITIES: [&str; 3] = ["surface_tension", "kinematic_viscosity", "equivalent_radius"];

/// What is special in turn.
const SPECIALS: [Special; 10] = [
    Special::Plain,
    Special::Lamp,
    Special::Depth,
    Special::Tilt,
    Special::Plain,
    Special::Order,
    Special::Rotation,
    Special::Shutter,
    Special::Shake,
    Special::Coded,
];

/// Quantiser of a common camera.
const COARSE: u8 = 22;

/// The interval of one quantity of one run.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
struct Interval {
    /// Deviation over standard uncertainty.
    deviation: f64,
    /// Half width over the value.
    half: f64,
    inside: bool,
}

/// What one run gave.
#[derive(Debug, Clone, Serialize, Deserialize)]
struct Hit {
    special: Special,
    exact: bool,
    places: Places,
    /// In the order of [`QUANTITIES`]; `None` where the quantity is absent.
    intervals: [Option<Interval>; 3],
    cautions: String,
}

fn run(bench: &Bench) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::default();
    let runs = bench.pick(60, 1120);
    let mut ledger = Ledger::open(bench, &CASE, "runs")?;
    ledger.fill(bench, runs, &mut |run| one_run(bench, run))?;
    let all: Vec<&Hit> = ledger.done(runs).collect();
    for (exact, name) in [(true, "exact"), (false, "drawn")] {
        let of: Vec<&Hit> = all.iter().copied().filter(|hit| hit.exact == exact).collect();
        let name = format!("{name}, {} runs", of.len());
        whole(&mut outcome, &name, &of, bench);
        strata(&mut outcome, &name, &of);
    }
    Ok(outcome)
}

/// Specials come in turn, and so do exact and drawn inputs from one round to the next.
fn one_run(bench: &Bench, run: u64) -> Result<Hit, Failure> {
    let count = SPECIALS.len() as u64;
    let (special, exact) = (SPECIALS[(run % count) as usize], (run / count).is_multiple_of(2));
    let clip = if special == Special::Coded {
        "clip.mp4"
    } else {
        "clip.y4m"
    };
    let drawn = draw(run + 1, special, exact, clip)?;
    let scratch = bench.scratch()?;
    let path = scratch.path().join(clip);
    let Drawn {
        special,
        places,
        recipe,
        experiment,
        truths,
    } = drawn;
    if special == Special::Coded {
        write_mp4(&mut Painter::new(recipe)?, &path, COARSE)?;
    } else {
        film(recipe, &path)?;
    }
    let found = measure(scratch.path(), clip, &experiment)?;
    let intervals = std::array::from_fn(|k| interval(&found, QUANTITIES[k], truths[k]));
    Ok(Hit {
        special,
        exact,
        places,
        intervals,
        cautions: found.cautions(),
    })
}

fn interval(found: &Answer, quantity: &str, truth: f64) -> Option<Interval> {
    let estimate = found.estimate(quantity)?;
    let [low, high] = estimate.interval_95;
    Some(Interval {
        deviation: (estimate.value - truth) / estimate.standard_uncertainty,
        half: (high - low) / 2.0 / estimate.value,
        inside: (low..=high).contains(&truth),
    })
}

/// Counts of one quantity over some runs.
struct Count {
    all: u64,
    given: u64,
    inside: u64,
    half: f64,
    rms: f64,
}

impl Count {
    fn of(hits: &[&Hit], quantity: usize) -> Self {
        let given: Vec<Interval> = hits.iter().filter_map(|hit| hit.intervals[quantity]).collect();
        let squares: f64 = given.iter().map(|one| one.deviation.powi(2)).sum();
        Self {
            all: hits.len() as u64,
            given: given.len() as u64,
            inside: given.iter().filter(|one| one.inside).count() as u64,
            half: median(&given.iter().map(|one| one.half).collect::<Vec<_>>()),
            rms: (squares / given.len().max(1) as f64).sqrt(),
        }
    }

    fn share(&self) -> f64 {
        self.inside as f64 / self.given.max(1) as f64
    }

    fn told(&self) -> String {
        let (low, high) = binomial_bounds(self.inside, self.given, 0.95);
        format!(
            "{:.1} % ({:.0} to {:.0}) of {}, +-{:.2} %",
            100.0 * self.share(),
            100.0 * low,
            100.0 * high,
            self.given,
            100.0 * self.half
        )
    }
}

/// All runs of a group: 93 to 97 % in the full validation, what honest intervals give 998 times in 1000 in the coarse one.
fn whole(outcome: &mut Outcome, clip: &str, hits: &[&Hit], bench: &Bench) {
    for (k, quantity) in QUANTITIES.iter().enumerate() {
        let count = Count::of(hits, k);
        let (low, high) = bounds(count.given, 0.95, 0.001);
        let few = format!("{low} to {high}");
        let (bound, held) = bench.pick(
            (few.as_str(), (low..=high).contains(&count.inside)),
            ("93 to 97 %", (0.93..=0.97).contains(&count.share())),
        );
        outcome.must(
            clip,
            &format!("{quantity}: intervals with the truth"),
            count.told(),
            bound,
            held && count.given > 0,
        );
        let given = format!("{} of {}, {:.2}", count.given, count.all, count.rms);
        outcome.must(
            clip,
            &format!("{quantity}: given, rms deviation over uncertainty"),
            given,
            "given in 8 of 10",
            10 * count.given >= 8 * count.all,
        );
    }
}

/// Part of a group: at least 90 % where there are enough runs to say so.
fn strata(outcome: &mut Outcome, clip: &str, hits: &[&Hit]) {
    let mut tell = |name: String, of: Vec<&Hit>| {
        if of.len() < 20 {
            return;
        }
        for (k, quantity) in QUANTITIES.iter().enumerate() {
            let count = Count::of(&of, k);
            // So few of so many that honest intervals would give it less often than once in a thousand.
            let held = count.share() >= 0.9 || count.inside >= bounds(count.given, 0.95, 0.001).0;
            outcome.must(
                clip,
                &format!("{name}: {quantity}"),
                count.told(),
                "90 % at least",
                held,
            );
        }
    };
    let mut specials = SPECIALS.to_vec();
    specials.dedup();
    specials.sort_by_key(|special| special.name());
    specials.dedup();
    for special in specials {
        let of = hits
            .iter()
            .copied()
            .filter(|hit| hit.special == special)
            .collect();
        tell(special.name().into(), of);
    }
    let Some(first) = hits.first() else {
        return;
    };
    for (k, (name, _)) in first.places.named().into_iter().enumerate() {
        for (third, word) in ["low", "middle", "high"].into_iter().enumerate() {
            let inside = |hit: &&Hit| (hit.places.named()[k].1 * 3.0) as usize == third;
            let of = hits.iter().copied().filter(inside).collect();
            tell(format!("{name} {word}"), of);
        }
    }
}
