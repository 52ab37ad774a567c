//! What a rolling shutter could do to a run whose readout time is not stated.
//!
//! ```text
//! T <= 1 / f_c,     d = T r / (H - 1),     leak_n = w_n d (n + 1) / (2 n + 1),     error of size <= 2/3 v T / (s (H - 1))
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `T`, `f_c` | readout time, capture rate | s, 1/s |
//! | `H`, `r`, `s` | rows, radius of the body in px, scale | 1, px, m/px |
//! | `d` | delay from the middle of the body to its last row | s |
//! | `w_n` | angular frequency of degree n | rad/s |
//! | `leak_n` | share of its swing that shows as degree n + 1 where the axis is upright | 1 |
//! | `v` | speed of a drift along the readout | m/s |
//!
//! To first order a swing that is seen `d cos theta` later is `a_n P_n + (da_n/dt) d cos theta P_n`, and
//! `(2n + 1) cos theta P_n = (n + 1) P_{n+1} + n P_{n-1}` \[DLMF\] 14.10.3. A body that moves with the readout is stretched by `v T / (s (H - 1))`
//! ([`tremolet_optics::shutter`]); two of its three radii are when its axis lies across. Frequencies do not change: each row keeps its own
//! even time.

use std::f64::consts::TAU;

use tremolet_record::experiment::file::Experiment;
use tremolet_record::findings::Caution;

use crate::check::{Expected, View};
use crate::wording::caution;

/// Share of a swing that may show as another degree unsaid.
const LEAK: f64 = 0.01;
/// Error of the size that may stay unsaid.
const SIZE: f64 = 1e-3;

/// What is known of the body.
#[derive(Debug, Clone, Copy)]
pub struct Moving {
    /// Radius, m.
    pub radius: f64,
    /// Fastest that it drifts, m/s; nil where nothing is known.
    pub speed: f64,
}

/// Why the readout time has to be stated; nothing where it is, or where it hardly matters.
pub fn readout(experiment: &Experiment, expected: &[Expected], view: View, body: Moving) -> Option<Caution> {
    let camera = experiment.camera.as_ref()?;
    if camera.readout_time.is_some() {
        return None;
    }
    let (rate, scale) = (
        camera.capture_rate.as_ref()?.value(),
        camera.scale.as_ref()?.value(),
    );
    let between = (view.size_px?[1] - 1.0).max(1.0);
    let longest = 1.0 / rate;
    let delay = longest * body.radius / scale / between;
    let leak = |mode: &Expected| {
        let n = f64::from(mode.degree);
        TAU * mode.frequency * delay * (n + 1.0) / (2.0 * n + 1.0)
    };
    let size = 2.0 / 3.0 * body.speed * longest / (scale * between);
    let worst = expected.iter().max_by(|a, b| leak(a).total_cmp(&leak(b)));
    let worst = worst.filter(|mode| leak(mode) > LEAK);
    if worst.is_none() && size <= SIZE {
        return None;
    }
    let mut text = format!(
        "camera.readout_time is not stated: if the camera reads its rows one after the other, which at {rate} fps takes up to {:.2} ms, rows of the \
         body are up to {:.2} ms apart",
        1e3 * longest,
        2e3 * delay
    );
    if let Some(mode) = worst {
        text += &format!(
            "; up to {:.1} % of the swing of degree {} would then show as degree {}",
            1e2 * leak(mode),
            mode.degree,
            mode.degree + 1
        );
    }
    if size > SIZE {
        text += &format!(
            "; a drift of {:.1} mm/s would make the size wrong by up to {:.2} %, surface tension by three times that",
            1e3 * body.speed,
            1e2 * size
        );
    }
    text += "; frequencies stay right. State it: \"0 ms\" for a global shutter";
    Some(caution("readout_not_stated", &text, None))
}
