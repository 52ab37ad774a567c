//! What clip and log say of each other, as estimates, references and cautions.

use tremolet_infer::logged::{Compared, Offset};
use tremolet_infer::property::routes::{Estimate, finished};
use tremolet_matter::uncertain::{Input, Uncertain};
use tremolet_record::experiment::log::{Gives, Log};
use tremolet_record::findings::Caution;
use tremolet_record::log::Recorded;

use crate::logged::OFFSET;
use crate::wording::caution;

/// Normalised deviation up to which two values agree.
const AGREES: f64 = 2.0;
/// Steps of the log in a gap that is told.
const GAP: f64 = 5.0;

fn input(key: String, unit: &str, u: f64, source: &str) -> Input {
    Input {
        key,
        unit: unit.into(),
        standard_uncertainty: u,
        degrees_of_freedom: f64::INFINITY,
        source: source.into(),
    }
}

/// Rows that lack a cell, and gaps.
pub fn of_gaps(recorded: &Recorded) -> Option<Caution> {
    let (usual, longest) = recorded.steps();
    let gap = longest > GAP * usual;
    let text = format!(
        "the log has {} rows that lack a number and a longest step of {longest:.4} s where {usual:.4} s are usual; between rows the acceleration is taken as straight",
        recorded.left_out
    );
    (gap || recorded.left_out > 0).then(|| caution("log_gaps", &text, None))
}

/// A clock that the data do not tell, or tell otherwise than stated.
pub fn of_clock(clock: &Offset, stated: Option<&Uncertain>) -> Option<Caution> {
    let stated = stated?;
    if !clock.told {
        let text = format!(
            "the motion does not tell the clock offset of the log: it stays as stated, {:.4} +- {:.4} s; even accelerations do not, \
             changes that stand out of the noise of both do",
            stated.value(),
            stated.standard_uncertainty()
        );
        return Some(caution("log_offset_not_told", &text, None));
    }
    let off = deviation(clock, stated);
    let text = format!(
        "the clock offset of the log that fits the motion, {:.4} +- {:.4} s, is {:.1} standard uncertainties from the stated {:.4} +- {:.4} s; look at \
         the clocks, and at the signs and the axes of the log",
        clock.value,
        clock.u,
        off.abs(),
        stated.value(),
        stated.standard_uncertainty()
    );
    (off.abs() > AGREES).then(|| caution("log_offset_disagrees", &text, None))
}

/// How far an offset lies from where it was believed to be: the variance of the difference is that of the belief less what is left.
fn deviation(clock: &Offset, stated: &Uncertain) -> f64 {
    let u = stated.standard_uncertainty();
    (clock.value - stated.value()) / (u * u - clock.u * clock.u).max(f64::MIN_POSITIVE).sqrt()
}

/// The offset, where the data tell it.
pub fn of_offset(clock: &Offset, stated: Option<&Uncertain>) -> Option<Estimate> {
    let fit = input("clock offset (fit)".into(), "s", clock.u, "path against log");
    let value = Uncertain::of_input(clock.value, clock.u, fit);
    let route = match stated {
        Some(_) => {
            "path of the centre against the log integrated twice, with the stated offset as what was known before"
        }
        None => "path of the centre against the log integrated twice",
    };
    let mut estimate = finished(OFFSET, "s", value, route.into(), None);
    estimate.reference = stated.map(|stated| (stated.clone(), deviation(clock, stated)));
    clock.told.then_some(estimate)
}

/// What the clip shows of the changes that the log holds, against 1, and in words where that is not it.
pub fn of_share(
    name: &'static str,
    direction: &str,
    compared: &Compared,
    scale: &Uncertain,
) -> (Estimate, Option<String>) {
    let fit = input(
        format!("path and log {direction} (fit)"),
        "1",
        compared.u_share,
        "what is left of the path",
    );
    let share = Uncertain::of_input(compared.share.value, compared.u_share, fit);
    let value = Uncertain::propagate(&[&share, scale], |x| x[0] * x[1] / scale.value());
    let route = "path of the centre against the log integrated twice, an even acceleration left open; 1 when clip and log agree";
    let estimate = finished(name, "1", value, route.into(), Some(&Uncertain::exact(1.0)));
    let told = format!(
        "{direction} the clip shows {:.3} +- {:.3} of the changes of acceleration that the log has",
        estimate.value.value(),
        estimate.value.standard_uncertainty()
    );
    let off = estimate.reference.as_ref().is_some_and(|r| r.1.abs() > AGREES);
    (estimate, off.then_some(told))
}

/// The log at the clock that was found.
pub struct Logged<'a> {
    /// How it is stated.
    pub log: &'a Log,
    /// Offset of its clock.
    pub clock: &'a Offset,
    /// The offset as stated.
    pub stated: Option<&'a Uncertain>,
}

impl Logged<'_> {
    /// The mean acceleration in a direction (0 rightwards, 1 downwards) that the log has over the frames, weighed as the path weighs it.
    pub fn mean(&self, k: usize, direction: &str, compared: &Compared) -> Uncertain {
        let noise = input(
            format!("noise of the log {direction}"),
            "m/s^2",
            compared.u_noise,
            "second differences and what is left of the path",
        );
        let mean = Uncertain::of_input(compared.mean, compared.u_noise, noise);
        let fit = input("clock offset (fit)".into(), "s", self.clock.u, "path against log");
        let fitted = Uncertain::of_input(self.clock.value, self.clock.u, fit);
        let clock = match self.stated {
            Some(stated) if !self.clock.told => stated,
            _ => &fitted,
        };
        let mut terms = vec![(&mean, 1.0), (clock, compared.by_offset)];
        if let (Some(zero), Some(axis)) = (&self.log.zero, &self.log.axes[k]) {
            let whose = if self.log.gives == Gives::Case { 1.0 } else { -1.0 };
            terms.push((zero, whose * axis.sign));
        }
        Uncertain::combine(compared.mean, &terms)
    }
}

/// Sets the log as the reference of an acceleration; in words where they do not agree.
pub fn refer(estimate: &mut Estimate, logged: Uncertain, direction: &str) -> Option<String> {
    let spread = Uncertain::combine(0.0, &[(&estimate.value, 1.0), (&logged, -1.0)]).standard_uncertainty();
    let deviation = (estimate.value.value() - logged.value()) / spread;
    let told = format!(
        "the mean acceleration {direction} is {:.3e} m/s^2 by the clip and {:.3e} m/s^2 by the log, {:.1} standard uncertainties of their difference apart",
        estimate.value.value(),
        logged.value(),
        deviation.abs()
    );
    estimate.reference = Some((logged, deviation));
    (deviation.abs() > AGREES).then_some(told)
}
