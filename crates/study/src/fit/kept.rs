//! The tables that a fit leaves in the run: the body frame by frame, what is left round the outline, telling instants, the unknowns.
//!
//! ```text
//! p_n = -rho R^2 v_n / (n t0)
//! ```
//! is the pressure impulse over the surface, part of degree n, that would set the fitted motion going from rest.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | p_n | pressure impulse, positive where it presses inwards | Pa s |
//! | v_n | rate of the amplitude at the first frame, over t0 | - |
//! | rho, R, t0 | density, radius, capillary time | kg/m^3, m, s |
//!
//! Source: any potential flow can be set going by a pressure impulse of minus density times potential \[Lamb1932\], art. 11; written here for a sphere, so to first
//! order in the amplitudes at the first frame.

use std::f64::consts::TAU;

use tremolet_infer::fit::followed::{Followed, Pose, drawn};
use tremolet_infer::fit::problem::SECTORS;
use tremolet_record::table::Table;

use crate::fit::told::Body;
use crate::tables::column::{integer, real, text};

/// Names of the tables.
pub const FRAMES: &str = "fit";
/// See [`FRAMES`].
pub const QUALITY: &str = "fit-quality";
/// See [`FRAMES`].
pub const LEFT: &str = "fit-left";
/// See [`FRAMES`].
pub const INSTANTS: &str = "fit-instants";
/// See [`FRAMES`].
pub const UNKNOWNS: &str = "fit-unknowns";
/// What a line of an instant is.
pub const OUTLINE: &str = "outline";
/// See [`OUTLINE`].
pub const SILHOUETTE: &str = "silhouette";
/// See [`OUTLINE`].
pub const DIFFERENCE: &str = "difference";
/// Degrees of a fitted body that are kept.
pub const DEGREES: usize = 17;
/// Frames whose outlines' rest is kept round the outline.
const MOST: usize = 240;
/// Places of a silhouette that is drawn.
pub const PLACES: usize = 180;

/// All tables.
#[must_use]
pub fn tables(bodies: &[Body]) -> [Table; 5] {
    [
        frames(bodies),
        quality(bodies),
        left(bodies),
        instants(bodies),
        unknowns(bodies),
    ]
}

/// The pose of a body in one frame.
pub fn pose(body: &Body, one: &Followed) -> Pose {
    Pose {
        centre: one.centre,
        radius: body.fitted.at.radius,
        axis_angle: body.fitted.at.axis_angle,
        tilt: body.fitted.at.tilt,
        nearness: body.given.outlines.nearness,
    }
}

fn whole(value: u64) -> i64 {
    i64::try_from(value).unwrap_or(i64::MAX)
}

/// Rows of all bodies, and the first two columns of each.
struct Rows<'a>(Vec<(&'a Body, &'a Followed)>);

impl<'a> Rows<'a> {
    fn of(bodies: &'a [Body]) -> Self {
        Self(
            bodies
                .iter()
                .flat_map(|body| body.followed.iter().map(move |one| (body, one)))
                .collect(),
        )
    }

    fn real(
        &self,
        name: &str,
        unit: &str,
        what: &str,
        of: impl Fn(&Body, &Followed) -> f64,
    ) -> tremolet_record::table::Column {
        real(
            name,
            unit,
            what,
            self.0.iter().map(|(body, one)| of(body, one)).collect(),
        )
    }

    fn whole(
        &self,
        name: &str,
        what: &str,
        of: impl Fn(&Body, &Followed) -> i64,
    ) -> tremolet_record::table::Column {
        integer(
            name,
            what,
            self.0.iter().map(|(body, one)| of(body, one)).collect(),
        )
    }
}

fn frames(bodies: &[Body]) -> Table {
    let rows = Rows::of(bodies);
    let mut columns = vec![
        rows.whole("body", "number of the body, from 1", |body, _| {
            i64::from(body.number)
        }),
        rows.whole("frame", "frame of the clip, from 0", |_, one| whole(one.frame)),
        rows.real("time", "s", "real time", |_, one| one.time),
        rows.real("centre_x", "px", "centre of mass, from the left", |_, one| {
            one.centre[0]
        }),
        rows.real("centre_y", "px", "centre of mass, from the top", |_, one| {
            one.centre[1]
        }),
        rows.real(
            "radius",
            "px",
            "radius of the sphere of equal volume",
            |body, _| body.fitted.at.radius,
        ),
        rows.real(
            "axis",
            "rad",
            "axis in the picture, from up to the right",
            |body, _| body.fitted.at.axis_angle,
        ),
        rows.real(
            "tilt",
            "1",
            "square of the sine of the axis' tilt out of the picture",
            |body, _| body.fitted.at.tilt,
        ),
        rows.real(
            "nearness",
            "1",
            "radius over the distance of the lens; nil where that is not stated",
            |body, _| body.given.outlines.nearness,
        ),
        rows.real(
            "left",
            "px",
            "root mean square distance of the outline from the fitted silhouette",
            |_, one| one.rms,
        ),
    ];
    columns.extend((0..DEGREES).map(|n| {
        rows.real(
            &format!("a_{n}"),
            "1",
            "amplitude of the fitted body about its centre of mass",
            move |_, one| one.shape.get(n).copied().unwrap_or(0.0),
        )
    }));
    Table {
        name: FRAMES.into(),
        description: "The fitted body in every frame in which it was free.".into(),
        columns,
    }
}

fn quality(bodies: &[Body]) -> Table {
    let each = |of: &dyn Fn(&Body) -> f64| bodies.iter().map(of).collect::<Vec<f64>>();
    let number = |of: &dyn Fn(&Body) -> i64| bodies.iter().map(of).collect::<Vec<i64>>();
    Table {
        name: QUALITY.into(),
        description: "How well the fitted motion follows each body.".into(),
        columns: vec![
            integer(
                "body",
                "number of the body, from 1",
                number(&|b| i64::from(b.number)),
            ),
            integer(
                "frames",
                "frames that the fit used",
                number(&|b| whole(b.fitted.frames as u64)),
            ),
            real(
                "explained",
                "1",
                "share of the variance of the outlines about their circles",
                each(&|b| b.fitted.explained),
            ),
            real(
                "excess",
                "1",
                "variance of what is left over the stated one",
                each(&|b| b.fitted.chi_square),
            ),
            real(
                "metre_per_px",
                "m/px",
                "scale at the body",
                each(&|b| b.given.scale.value()),
            ),
        ],
    }
}

/// What is left round the outline, in frames evenly spread.
fn left(bodies: &[Body]) -> Table {
    let mut rows: [Vec<f64>; 3] = Default::default();
    let (mut numbers, mut frames) = (Vec::new(), Vec::new());
    for body in bodies {
        let every = body.followed.len().div_ceil(MOST).max(1);
        for one in body.followed.iter().step_by(every) {
            for (k, left) in one.by_sector.iter().enumerate() {
                numbers.push(i64::from(body.number));
                frames.push(whole(one.frame));
                rows[0].push(one.time);
                rows[1].push(TAU * (k as f64 + 0.5) / SECTORS as f64);
                rows[2].push(*left);
            }
        }
    }
    let [time, angle, left] = rows;
    Table {
        name: LEFT.into(),
        description: "What the fit leaves round the outline, over time.".into(),
        columns: vec![
            integer("body", "number of the body, from 1", numbers),
            integer("frame", "frame of the clip, from 0", frames),
            real("time", "s", "real time", time),
            real(
                "angle",
                "rad",
                "middle of the sector, from the upper end of the axis, rightwards",
                angle,
            ),
            real(
                "left",
                "px",
                "mean distance of the outline from the fitted silhouette, outwards",
                left,
            ),
        ],
    }
}

/// The first frame, the longest and the flattest shape, the frame with most left, and the last, in order of time.
fn telling(body: &Body) -> Vec<(usize, &'static str)> {
    let all = &body.followed;
    let two = |i: &usize| all[*i].shape.get(2).copied().unwrap_or(0.0);
    let by = |of: &dyn Fn(&usize) -> f64| (0..all.len()).max_by(|a, b| of(a).total_cmp(&of(b)));
    let found = [
        ((!all.is_empty()).then_some(0), "the first free frame"),
        (by(&two), "longest along the axis"),
        (by(&|i| -two(i)), "shortest along the axis"),
        (by(&|i| all[*i].rms), "where most is left"),
        (all.len().checked_sub(1), "the last free frame"),
    ];
    let mut kept: Vec<(usize, &'static str)> = Vec::new();
    for (place, why) in found.into_iter().filter_map(|(place, why)| Some((place?, why))) {
        if kept.iter().all(|(other, _)| *other != place) {
            kept.push((place, why));
        }
    }
    kept.sort_by_key(|(place, _)| *place);
    kept
}

/// How many times the difference is drawn, so that it is seen: 1, 2 or 5 times a power of ten.
fn magnification(body: &Body) -> f64 {
    let most = body.followed.iter().map(|one| one.rms).fold(0.0, f64::max);
    let wish = 0.06 * body.fitted.at.radius / most;
    if !wish.is_finite() || wish < 1.0 {
        return 1.0;
    }
    let ten = 10_f64.powf(wish.log10().floor());
    [5.0, 2.0].into_iter().find(|r| r * ten <= wish).unwrap_or(1.0) * ten
}

/// A silhouette (places evenly spread in angle) and `many` times what an outline lies beyond it, radially.
fn magnified(outline: &[[f64; 3]], silhouette: &[[f64; 2]], centre: [f64; 2], many: f64) -> Vec<[f64; 2]> {
    let about = |[x, y]: [f64; 2]| [x - centre[0], y - centre[1]];
    let Some(first) = silhouette.first().map(|p| about(*p)) else {
        return Vec::new();
    };
    let count = silhouette.len();
    let one = |point: &[f64; 3]| {
        let seen = about([point[0], point[1]]);
        let turn = (seen[0].atan2(-seen[1]) - first[0].atan2(-first[1])).rem_euclid(TAU);
        let place = turn / TAU * count as f64;
        let (low, part) = (place.floor(), place.fract());
        let reach = |k: usize| {
            about(silhouette[k % count])
                .iter()
                .fold(0.0, |r, p| f64::hypot(r, *p))
        };
        let radius = (1.0 - part) * reach(low as usize) + part * reach(low as usize + 1);
        let size = seen[0].hypot(seen[1]);
        let factor = (radius + many * (size - radius)) / size;
        [centre[0] + factor * seen[0], centre[1] + factor * seen[1]]
    };
    outline.iter().map(one).collect()
}

/// Outline and silhouette at telling instants.
fn instants(bodies: &[Body]) -> Table {
    let (mut numbers, mut frames, mut why, mut line) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    let (mut time, mut x, mut y, mut times) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for body in bodies {
        let many = magnification(body);
        for (place, reason) in telling(body) {
            let one = &body.followed[place];
            let seen = &body.given.outlines.frames[place];
            let outline = seen.points.iter().map(|p| (OUTLINE, [p[0], p[1]]));
            let pose = pose(body, one);
            let silhouette = drawn(&one.shape, &pose, PLACES);
            let difference = magnified(&seen.points, &silhouette, pose.centre, many);
            let lines = outline
                .chain(silhouette.into_iter().map(|p| (SILHOUETTE, p)))
                .chain(difference.into_iter().map(|p| (DIFFERENCE, p)));
            for (which, [px, py]) in lines {
                numbers.push(i64::from(body.number));
                frames.push(whole(one.frame));
                time.push(one.time);
                why.push(reason.to_string());
                line.push(which.to_string());
                times.push(many);
                x.push(px);
                y.push(py);
            }
        }
    }
    Table {
        name: INSTANTS.into(),
        description: "Measured outline and fitted silhouette at telling instants.".into(),
        columns: vec![
            integer("body", "number of the body, from 1", numbers),
            integer("frame", "frame of the clip, from 0", frames),
            real("time", "s", "real time", time),
            text("why", "why this instant", why),
            text(
                "line",
                "outline (measured), silhouette (fitted), or difference: the silhouette and so many times what the outline lies beyond it",
                line,
            ),
            real("times", "1", "how many times the difference is drawn", times),
            real("x", "px", "from the left", x),
            real("y", "px", "from the top", y),
        ],
    }
}

fn unknowns(bodies: &[Body]) -> Table {
    let (mut numbers, mut names, mut value, mut u) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for body in bodies {
        for (name, found, deviation) in listed(body).into_iter().chain(impulses(body)) {
            numbers.push(i64::from(body.number));
            names.push(name);
            value.push(found);
            u.push(deviation);
        }
    }
    Table {
        name: UNKNOWNS.into(),
        description: "The unknowns of the fit: amplitudes a and rates v (over t0) at the first free frame, and the pressure impulse p that such rates take from rest."
            .into(),
        columns: vec![
            integer("body", "number of the body, from 1", numbers),
            text("unknown", "what", names),
            real("value", "1", "value, in the unit of its name", value),
            real("u", "1", "standard uncertainty", u),
        ],
    }
}

type Unknown = (String, f64, f64);

fn listed(body: &Body) -> Vec<Unknown> {
    let general = [
        "ln t0 (t0 in s)",
        "ln Oh",
        "radius, px",
        "axis in the picture, rad",
        "sin^2 of the tilt",
    ];
    let mut names: Vec<String> = general.iter().map(ToString::to_string).collect();
    for kind in ["a", "v"] {
        names.extend((0..body.fitted.at.shape.len()).map(|k| format!("{kind}_{}", k + 2)));
    }
    let list = body.fitted.at.list();
    let each = names.into_iter().zip(list).enumerate();
    each.map(|(place, (name, value))| (name, value, body.fitted.u(place)))
        .collect()
}

fn impulses(body: &Body) -> Vec<Unknown> {
    let (fitted, scale) = (&body.fitted, &body.given.scale);
    let list = fitted.at.list();
    let radius = fitted.at.radius * scale.value();
    let per = body.given.known.density.value() * radius * radius / fitted.at.ln_time.exp();
    let vague = 2.0 * scale.standard_uncertainty() / scale.value();
    let rates = list.len() - fitted.at.velocity.len();
    let one = |place: usize| {
        let degree = 2 + place - rates;
        let factor = per / degree as f64;
        let value = -factor * list[place];
        let u = (factor * fitted.u(place)).hypot(vague * value);
        (format!("p_{degree}, Pa s"), value, u)
    };
    (rates..list.len()).map(one).collect()
}
