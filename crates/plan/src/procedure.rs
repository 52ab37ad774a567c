//! The run on one page: what to prepare, set, wait for, do, write down and keep.
//!
//! Common practice, no published source. Times come from the expectations of this run; what cannot be said is left to the crew in words.

use tremolet_matter::uncertain::Uncertain;
use tremolet_record::experiment::file::Kind;
use tremolet_record::sheet::{Sheet, Step};

use crate::given::Given;
use crate::row::{ML, S, text};

/// The steps, in order; `sheet` holds what is expected so far.
pub fn procedure(given: &Given<'_>, sheet: &Sheet) -> Vec<Step> {
    let mut steps = Vec::new();
    let mut step = |when: &str, what: String| {
        steps.push(Step {
            when: when.into(),
            what,
        })
    };
    let clock = Clock::of(given, sheet);
    step("T-30 min", prepare(given));
    step("T-25 min", "Camera: set rate, exposure and gain by hand and lock focus, zoom, exposure, white balance and stabilisation. Note the real frames per second, not those of playback.".into());
    step("T-20 min", light(given));
    step("T-15 min", "Film a length reference in the plane of the body (a ruler, or a ball of known diameter); an empty frame with the lamp on; a dark frame with the lens capped.".into());
    step("T-12 min", "Set the clocks: make one event that both the clip and the log see (a tap on the frame of the accelerometer in view, a flash).".into());
    step(&clock.quiet, quiet(given, sheet));
    step("T-2 s", record(given, sheet));
    step("T 0", go(given.experiment.kind).into());
    step(
        &clock.end,
        "The clip ends. Until now touch neither camera nor lamp. Film the length reference again.".into(),
    );
    step("abort", "Stop and catch the liquid if it touches anything, if it nears a face, an inlet or a wall, or if anybody calls stop. Do not save a run by hurrying.".into());
    step("spare", "Plan three runs of a kind; take the spare one when the body was touched, a frame is lost, the sync event is missing or the lamp changed.".into());
    step("clean", "Collect the liquid with a towel from outside inwards, then droplets, then fragments; dry needles and cap them; look at fans and inlets.".into());
    step("note", "Write down: time of the release by the clock, temperature of the liquid (not of the cabin), temperature, pressure and humidity of the cabin, mass of syringe before and after, batch of the liquid, who, what went wrong.".into());
    step("keep", "Keep the clip as the camera wrote it, the log, the reference and dark frames, this sheet and the experiment file together; copy before cutting.".into());
    steps
}

/// When to fill and when the clip ends, against the release at T 0.
struct Clock {
    quiet: String,
    end: String,
}

impl Clock {
    fn of(given: &Given<'_>, sheet: &Sheet) -> Self {
        let wait = sheet.row("quiet_time").and_then(|row| row.value);
        Self {
            quiet: wait.map_or("T-10 min".into(), |wait| format!("T-{}", minutes(wait))),
            end: length(given, sheet).map_or("T+end".into(), |end| format!("T+{}", minutes(end))),
        }
    }
}

/// Up to two minutes in seconds, then in minutes, rounded up.
fn minutes(time: f64) -> String {
    if time < 120.0 {
        format!("{:.0} s", time.ceil())
    } else {
        format!("{:.0} min", (time / 60.0).ceil())
    }
}

/// Length of the recording, s: what is to be seen, at most what is available and in view.
fn length(given: &Given<'_>, sheet: &Sheet) -> Option<f64> {
    let shows = sheet.row("lasts_2").and_then(|row| row.value);
    let available = given.time.as_ref().map(Uncertain::value);
    let stays = sheet
        .row("view_time")
        .and_then(|row| row.value)
        .filter(|stays| *stays > 0.0);
    [shows, available, stays].into_iter().flatten().reduce(f64::min)
}

fn prepare(given: &Given<'_>) -> String {
    let volume = given.radius.as_ref().map(|radius| {
        let volume = Uncertain::propagate(&[radius], |x| 4.0 / 3.0 * std::f64::consts::PI * x[0].powi(3));
        text(volume.value(), None, ML)
    });
    let draw = volume.map_or("Draw the volume that is wanted".to_owned(), |volume| {
        format!("Draw {volume} of {}", given.materials.liquid.name)
    });
    format!(
        "{draw}, free of bubbles. Weigh the syringe before and after (or mark it): what stayed behind, on the support too, is not in the drop. Weighed mass makes surface tension free of the scale."
    )
}

fn light(given: &Given<'_>) -> String {
    let lamp = given
        .experiment
        .camera
        .as_ref()
        .and_then(|camera| camera.lamp_half_angle.as_ref());
    match lamp {
        Some(angle) => format!(
            "Light: a flat even lamp behind the body, seen from it under a half-angle of {:.1} degrees as planned; no second lamp that glints on the rim.",
            angle.value().to_degrees()
        ),
        None => "Light: a flat even lamp behind the body; note its size and distance; no second lamp that glints on the rim.".into(),
    }
}

fn quiet(given: &Given<'_>, sheet: &Sheet) -> String {
    let wait = sheet.row("quiet_time").and_then(|row| row.value);
    let available = given.time.as_ref().map(Uncertain::value);
    match (wait, available) {
        (Some(wait), Some(available)) if wait > available => format!(
            "Swirl left by filling needs {} to fall to a hundredth, longer than the {} at hand: fill slowly and long before, or let it spin down on the support.",
            text(wait, None, S),
            text(available, None, S)
        ),
        (Some(wait), _) => format!(
            "Fill slowly, then wait {} for the swirl inside to fall to a hundredth; a slow turn of the whole stays: let it settle on its support.",
            text(wait, None, S)
        ),
        (None, _) => "Fill slowly and wait until nothing moves inside.".into(),
    }
}

fn record(given: &Given<'_>, sheet: &Sheet) -> String {
    let length = sheet.row("lasts_2").and_then(|row| row.value);
    let available = given.time.as_ref().map_or(f64::INFINITY, Uncertain::value);
    let stays = sheet
        .row("view_time")
        .and_then(|row| row.value)
        .unwrap_or(f64::INFINITY);
    let ends = available.min(stays);
    match length {
        Some(length) if ends < length => format!(
            "Start the camera two seconds early. Record until the end: {} are to be had, {} would show the swing of degree 2 down to a tenth.",
            text(ends, None, S),
            text(length, None, S)
        ),
        Some(length) => format!(
            "Start the camera two seconds early. Record {} at least: until a tenth of the swing of degree 2 is left.",
            text(length, None, S)
        ),
        None => "Start the camera two seconds early and record until nothing changes.".into(),
    }
}

fn go(kind: Kind) -> &'static str {
    match kind {
        Kind::Release => {
            "Sync event. Count down, let go in one quick move away from the line of sight, hands out of the view."
        }
        Kind::Puff => {
            "Sync event. Puff once, square on the surface, from the planned distance; take the nozzle out of the view."
        }
        Kind::Column => {
            "Sync event. Draw the column out in one move to the planned length, stop, hands out of the view."
        }
        Kind::Shell => {
            "Sync event. Set the bubble in the middle with a needle, withdraw, wait until it rests; then send the droplet."
        }
        Kind::Fizz => {
            "Sync event. Set the reagents free inside the drop, withdraw the needle, hands and breath away; film until one bubble is left."
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_said_in_seconds_then_in_minutes() {
        assert_eq!(
            [0.4, 35.2, 119.5, 121.0].map(minutes),
            ["1 s", "36 s", "120 s", "3 min"]
        );
    }
}
