//! A clock that is seen in the picture, `[camera.clock]`: read in two frames, it gives the capture rate.
//!
//! ```text
//! rate = (n_2 - n_1) / (t_2 - t_1),    u(rate) / rate = sqrt(u(t_1)^2 + u(t_2)^2) / (t_2 - t_1)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `n_1`, `n_2` | the two frames, `first_frame`, `last_frame` | 1 |
//! | `t_1`, `t_2` | what the clock reads in them, `first_reading`, `last_reading` | s |
//! | `u(t)` | of each reading, as stated with it or as `reading_uncertainty` | s |
//!
//! All frames between the two must be there, evenly spaced. It reads no picture.

use tremolet_matter::quantity::dimension::Dimension;
use tremolet_matter::uncertain::{Input, Uncertain};

use crate::experiment::section::{Bound, Section};
use crate::findings::Caution;

/// Keys of `[camera.clock]`.
const CLOCK: &[&str] = &[
    "first_frame",
    "first_reading",
    "last_frame",
    "last_reading",
    "reading_uncertainty",
];

/// Reads the clock; the rate that it gives, 1/s.
pub(super) fn read(camera: &mut Section<'_, '_>, cautions: &mut Vec<Caution>) -> Option<Uncertain> {
    let mut table = camera.section("clock", CLOCK)?;
    for key in &CLOCK[..4] {
        if !table.has(key) {
            table.fault_of_table(
                &format!("no `{key}`"),
                "two frames and what the clock reads in them, e.g. first_frame = 12, first_reading = \"0.31 s\"",
            );
        }
    }
    let frames = [table.frame("first_frame"), table.frame("last_frame")];
    let readings =
        ["first_reading", "last_reading"].map(|key| table.quantity(key, Dimension::Time, Bound::Any));
    let each = table.quantity("reading_uncertainty", Dimension::Time, Bound::NotNegative);
    let ([Some(first), Some(last)], [Some(begun), Some(ended)]) = (frames, readings) else {
        return None;
    };
    let time = ended.value() - begun.value();
    if last <= first || time <= 0.0 {
        let (key, found) = if last <= first {
            ("last_frame", format!("frame {last}, not after {first}"))
        } else {
            (
                "last_reading",
                format!("{} s, not after {} s", ended.value(), begun.value()),
            )
        };
        table.fault(key, &found, "a later frame in which the clock reads more");
        return None;
    }
    let rate = (last - first) as f64 / time;
    let of_readings = Uncertain::combine(rate, &[(&begun, rate / time), (&ended, -rate / time)]);
    let each = each.map_or(0.0, |each| each.value());
    let input = Input {
        key: "camera.clock.reading_uncertainty".to_owned(),
        unit: "s".to_owned(),
        standard_uncertainty: each,
        degrees_of_freedom: f64::INFINITY,
        source: "how well the clock in the picture was read, in two frames".to_owned(),
    };
    let rate = of_readings.with_input(std::f64::consts::SQRT_2 * each * rate / time, input);
    if rate.standard_uncertainty() == 0.0 {
        cautions.push(Caution {
            code: "clock_readings_exact".to_owned(),
            text: "camera.clock states no reading_uncertainty: its readings are taken as exact, and times look surer than they are".to_owned(),
            frames: None,
        });
    }
    Some(rate)
}

#[cfg(test)]
mod tests {
    use crate::experiment::file::Experiment;

    const CLOCK: &str = "[camera.clock]\nfirst_frame = 12\nfirst_reading = \"0.31 s\"\nlast_frame = 480\nlast_reading = \"2.26 s\"\n";

    fn read(lines: &str) -> Result<Experiment, String> {
        let text = format!("format = 1\nkind = \"release\"\n[camera]\nheld = [\"focus\", \"zoom\"]\n{lines}");
        Experiment::parse(&text, "x").map_err(|faults| faults.to_string())
    }

    #[test]
    fn two_readings_give_the_rate_with_its_uncertainty() {
        let run = read(&format!("{CLOCK}reading_uncertainty = \"3 ms\"\n")).expect("read");
        let rate = run.camera.expect("a camera").capture_rate.expect("a rate");
        // 468 frames in 1.95 s; sqrt(2) 3 ms of it.
        assert!((rate.value() - 240.0).abs() < 1e-9);
        let due = 240.0 * 2.0_f64.sqrt() * 0.003 / 1.95;
        assert!(
            (rate.standard_uncertainty() - due).abs() < 1e-12,
            "{}",
            rate.standard_uncertainty()
        );
        assert!(run.cautions.is_empty(), "{:?}", run.cautions);
        let bare = read(CLOCK).expect("read");
        assert_eq!(bare.cautions[0].code, "clock_readings_exact");
        let own = read(&CLOCK.replace("2.26 s", "2.26 +- 0.004 s")).expect("read");
        let rate = own.camera.expect("a camera").capture_rate.expect("a rate");
        assert!((rate.standard_uncertainty() - 240.0 * 0.004 / 1.95).abs() < 1e-9);
    }

    #[test]
    fn a_stated_rate_is_kept_and_held_against_the_clock() {
        let with = |rate: &str| {
            read(&format!(
                "capture_rate = \"{rate}\"\n{CLOCK}reading_uncertainty = \"3 ms\"\n"
            ))
            .expect("read")
        };
        let agree = with("240.5 fps");
        assert_eq!(agree.notes[0].code, "rates_held_together");
        assert!(
            (agree
                .camera
                .expect("a camera")
                .capture_rate
                .expect("a rate")
                .value()
                - 240.5)
                .abs()
                < 1e-12
        );
        // A header that knows the playback rate only.
        let apart = with("30 fps");
        assert!(
            apart.cautions.iter().any(|c| c.code == "rates_disagree"),
            "{:?}",
            apart.cautions
        );
    }

    #[test]
    fn readings_that_do_not_rise_are_refused() {
        for (old, new, told) in [
            ("last_frame = 480", "last_frame = 12", "not after 12"),
            ("2.26 s", "0.31 s", "not after 0.31 s"),
            ("first_frame = 12\n", "", "no `first_frame`"),
            ("\"0.31 s\"", "0.31", "bare"),
        ] {
            let why = read(&CLOCK.replace(old, new)).expect_err(new);
            assert!(why.contains(told), "{new}: {why}");
        }
    }
}
