//! The drop on its loop or needle before it is let go: shape, pinned modes, sag, and how far jitter swings it.
//!
//! Formulas in `theory::held`; a held drop is not a free one, and none of these modes gives a property of it.

use std::f64::consts::{PI, SQRT_2, TAU};

use tremolet_matter::uncertain::Uncertain;
use tremolet_record::experiment::clip::Support;
use tremolet_record::sheet::Group;
use tremolet_theory::error::TheoryError;
use tremolet_theory::held::{bowl, ring, shape as held};
use tremolet_theory::modes::host::{Pair, root};

use crate::given::{Given, free};
use crate::row::{Draft, HZ, MM, NUMBER, group, row};

/// Swing over the radius below which a held drop counts as still: what a good clip tells of an amplitude (common practice, no published source).
const STILL: f64 = 1e-3;
/// The drop on its loop or needle: shape, pinned modes, sag.
pub(super) fn held_drop(given: &Given<'_>, drop: &Pair, support: Option<Support>, rim: &Uncertain) -> Group {
    let inputs = given.drop_inputs();
    let all = [
        inputs[0],
        inputs[1],
        inputs[2],
        ("release.support_radius", Some(rim)),
    ];
    let on_loop = support == Some(Support::Loop);
    let pinned = move |k: usize| {
        move |x: &[f64]| -> Result<f64, TheoryError> {
            let found = if on_loop {
                ring::frequencies(x[3], x[0], x[2], x[1], k + 1)?
            } else {
                bowl::frequencies(x[3], x[0], x[2], x[1], k + 1)?
            };
            found.get(k).map(|w| w / TAU).ok_or(TheoryError::Quantity {
                name: "mode",
                value: k as f64,
                expected: "a mode that is served",
            })
        }
    };
    let source = if on_loop {
        "[BostwickSteen2009]"
    } else {
        "[StraniSabetta1984]"
    };
    let oh = free(drop).ohnesorge().unwrap_or(f64::NAN);
    let valid = if on_loop {
        ring::validity(0.0, oh, 0.05)
    } else {
        bowl::validity(oh, 0.05)
    };
    let volume = 4.0 / 3.0 * PI * drop.radius.powi(3);
    let mut rows: Vec<Draft> = Vec::new();
    if on_loop {
        let shape = held::on_loop(volume, rim.value());
        let words = match shape {
            Ok(held::OnLoop::Lens(cap)) => format!("a lens of two caps, {:.2} mm thick", 2e3 * cap.height),
            Ok(held::OnLoop::Ball { ring, .. }) => format!(
                "a ball through which the loop goes {:.0} degrees from the axis",
                ring.to_degrees()
            ),
            Err(why) => why.to_string(),
        };
        rows.push(
            row(
                "held_shape",
                "shape of the drop on its loop",
                "spheres of one volume",
                "geometry",
            )
            .words(words),
        );
    } else {
        let cap = held::cap(volume, rim.value());
        rows.push(
            row(
                "held_height",
                "height of the held drop above its support",
                "cap of a sphere",
                "geometry",
            )
            .fallible(MM, cap.map(|cap| cap.height)),
        );
    }
    rows.push(
        row(
            "held_1",
            "lowest pinned mode: not a mode of the free drop",
            "pinned contact line, inviscid",
            source,
        )
        .of(HZ, &all, pinned(0))
        .valid(&valid),
    );
    rows.push(
        row(
            "held_2",
            "second pinned mode",
            "pinned contact line, inviscid",
            source,
        )
        .of(HZ, &all, pinned(1))
        .valid(&valid),
    );
    let sag_inputs = [
        all[0],
        all[1],
        all[2],
        all[3],
        ("surroundings.residual_acceleration", given.acceleration.as_ref()),
    ];
    rows.push(
        row(
            "sag",
            "sag of the held drop under the residual acceleration (order of magnitude)",
            "g/w^2",
            "own estimate",
        )
        .of(MM, &sag_inputs, |x| held::sag(x[4], TAU * pinned(0)(x)?)),
    );
    rows.extend(shaken(
        given,
        drop,
        pinned(0)(&all.map(|(_, x)| x.map_or(f64::NAN, Uncertain::value))),
    ));
    if let Some(a) = &given.acceleration {
        let bond = [
            all[0],
            all[1],
            all[2],
            ("surroundings.residual_acceleration", Some(a)),
        ];
        rows.push(
            row(
                "bond",
                "Bond number of the held drop",
                "Bo = rho a R^2/sigma",
                "definition",
            )
            .of(NUMBER, &bond, |x| {
                Ok::<_, TheoryError>(x[2] * x[3] * x[0] * x[0] / x[1])
            })
            .valid(&held::validity(
                drop.density,
                a.value(),
                drop.radius,
                drop.tension,
            )),
        );
    }
    group("Held, before it is let go", rows)
}

/// How far jitter may swing the held drop, whose lowest pinned mode has this frequency (Hz): from all of it far below the mode to all of it on the mode.
fn shaken(given: &Given<'_>, drop: &Pair, pinned: Result<f64, TheoryError>) -> Option<Draft> {
    let jitter = given.jitter.as_ref()?.value();
    let row = row(
        "held_jitter",
        "swing of the held drop by jitter, from all of it far below the lowest pinned mode to all of it on that mode (order of magnitude)",
        "sqrt(2) a/w^2 to sqrt(2) a/(2 g w), g of the free degree 2",
        "own estimate: a driven oscillator",
    );
    let ends = || {
        let (w, decay) = (TAU * pinned.ok()?, root(2, drop).ok()?.decay);
        Some([
            SQRT_2 * held::sag(jitter, w).ok()?,
            held::shaken(jitter, w, decay).ok()?,
        ])
    };
    let ends = ends()?;
    let row = row.range(MM, ends);
    Some(if ends[1] > STILL * drop.radius {
        row.marked(
            tremolet_record::sheet::Mark::Marginal,
            "jitter may set the held drop swinging before it is let go: film it held first, let go in a still moment, and read the start from the clip",
        )
    } else {
        row
    })
}
