//! What the camera will see: size in pixels, pixels of a mode's amplitude, frames in a period, blur, field and time, depth, shutter, lamp.
//!
//! Marks are common practice, no published source: ten frames in a period are good and two the end; an exposure may take a hundredth of a swing; an amplitude of a tenth of a
//! pixel is still measured by a whole outline, a hundredth is the end; an edge that is blurred by less than three pixels is good.

use std::f64::consts::TAU;

use tremolet_matter::uncertain::Uncertain;
use tremolet_optics::error::OpticsError;
use tremolet_optics::field::View;
use tremolet_optics::focus::{self, Focus};
use tremolet_optics::lamp::blurred_shift;
use tremolet_optics::motion::{oscillation_left, smear};
use tremolet_optics::perspective::{scale_change, seen_radius};
use tremolet_optics::refraction::blind::back_fold;
use tremolet_optics::refraction::sight::Sight;
use tremolet_optics::sampling::{frames_in_period, pixels_in_wave, seen_frequency};
use tremolet_record::experiment::file::Kind;
use tremolet_record::sheet::{Group, Mark};

use crate::given::Given;
use crate::row::{Draft, MM, MM_PX, NUMBER, PERCENT, PX, S, group, row};

/// What moves in the picture.
#[derive(Debug, Clone, Default)]
pub struct Moving {
    /// Swings by name: frequency (Hz) and, if known, amplitude over the radius, at its degree.
    pub swings: Vec<Swing>,
    /// Greatest half width over the radius.
    pub reach: f64,
    /// Highest speed of an edge, m/s.
    pub speed: f64,
    /// Time that the run needs to show what it is for, s, if that is known.
    pub needed: Option<f64>,
    /// Whether it is long and lies along the longer side of the picture.
    pub long: bool,
}

impl Moving {
    /// Time for which the body is to be seen, s: what the run needs, at most what is available.
    pub fn time(&self, given: &Given<'_>) -> Option<f64> {
        let available = given.time.as_ref().map(Uncertain::value);
        match (self.needed, available) {
            (Some(needed), Some(available)) => Some(needed.min(available)),
            (needed, available) => needed.or(available),
        }
    }
}

/// A swing that is to be seen.
#[derive(Debug, Clone)]
pub struct Swing {
    /// Name for keys, lower_snake.
    pub key: String,
    /// Name in words.
    pub name: String,
    /// Degree.
    pub degree: u32,
    /// Frequency, Hz.
    pub frequency: f64,
    /// Amplitude over the radius, if known.
    pub amplitude: Option<f64>,
}

/// What the camera of this run will see of what moves; nothing without a camera.
pub fn seen(given: &Given<'_>, moving: &Moving) -> Option<Group> {
    given.experiment.camera.as_ref()?;
    let mut rows = picture(given, moving);
    for swing in &moving.swings {
        rows.extend(of_swing(given, swing));
    }
    rows.extend(blur(given, moving));
    rows.extend(depth(given));
    rows.extend(inside(given));
    Some(group("What the camera will see", rows))
}

fn value(x: Option<&Uncertain>) -> Option<f64> {
    x.map(Uncertain::value)
}

fn picture(given: &Given<'_>, moving: &Moving) -> Vec<Draft> {
    let Some(camera) = &given.experiment.camera else {
        return Vec::new();
    };
    let size = [
        ("body.diameter, volume or mass", given.radius.as_ref()),
        ("camera.scale", camera.scale.as_ref()),
    ];
    let mut radius = row("radius_px", "radius in the picture", "R/s", "definition")
        .of(PX, &size, |x| Ok::<_, OpticsError>(x[0] / x[1]));
    radius = match radius.value() {
        Some(r) if r < 20.0 => radius.marked(
            Mark::Impossible,
            "too small to find modes: 20 px is the end, 60 px and more are good",
        ),
        Some(r) if r < 60.0 => radius.marked(Mark::Marginal, "60 px and more are good"),
        Some(_) => radius.marked(Mark::Good, ""),
        None => radius,
    };
    let mut rows = vec![radius];
    let (Some(r), Some(scale), Some(picture)) = (
        value(given.radius.as_ref()),
        value(camera.scale.as_ref()),
        camera.picture,
    ) else {
        rows.push(
            row(
                "view_time",
                "time until it leaves the view",
                "(pixels s/2 - reach) = a t^2/2",
                "geometry",
            )
            .words("cannot be said")
            .noted("not stated: camera.picture, camera.scale or the size"),
        );
        return rows;
    };
    let view = View {
        pixels: if moving.long {
            picture[0].max(picture[1])
        } else {
            picture[0].min(picture[1])
        },
        offset: 0.0,
        reach: moving.reach * r,
        speed: 0.0,
        acceleration: value(given.acceleration.as_ref()).unwrap_or(0.0),
    };
    rows.push(
        row(
            "view",
            if moving.long {
                "view along its longer side"
            } else {
                "view across its shorter side"
            },
            "pixels times scale",
            "definition",
        )
        .number(MM, view.pixels * scale),
    );
    let stays = view.time(scale);
    let mut row_time = row(
        "view_time",
        "time until it begins to leave the view, from rest in the middle",
        "(pixels s/2 - reach) = a t^2/2",
        "geometry",
    );
    let available = moving.time(given);
    row_time = match stays {
        Ok(time) if time.is_infinite() => row_time.words("it stays").marked(Mark::Good, ""),
        Ok(time) => {
            let said = row_time.number(S, time);
            match available {
                _ if time == 0.0 => said.marked(Mark::Impossible, "it does not fit into the view"),
                Some(all) if time < all => said.marked(
                    Mark::Marginal,
                    "before the run has shown what it is for: coarser scale, or a shorter clip",
                ),
                _ => said.marked(Mark::Good, ""),
            }
        }
        Err(why) => row_time.noted(&why.to_string()),
    };
    rows.push(row_time);
    if let Some(all) = available {
        rows.push(
            row(
                "finest_scale",
                "finest scale at which it stays in view for as long as the run needs",
                "s = 2 (reach + a t^2/2)/pixels",
                "geometry",
            )
            .fallible(MM_PX, view.scale(all)),
        );
    }
    rows
}

fn of_swing(given: &Given<'_>, swing: &Swing) -> Vec<Draft> {
    let Some(camera) = &given.experiment.camera else {
        return Vec::new();
    };
    let (key, name, f) = (&swing.key, &swing.name, swing.frequency);
    let mut rows = Vec::new();
    if let Some(rate) = value(camera.capture_rate.as_ref()) {
        let frames = frames_in_period(rate, f);
        let said = row(
            format!("frames_{key}"),
            format!("frames in a period of {name}"),
            "rate/f",
            "[Shannon1949]",
        )
        .fallible(NUMBER, frames);
        rows.push(match frames {
            Ok(n) if n < 2.0 => {
                let alias = seen_frequency(rate, f).unwrap_or(f64::NAN);
                said.marked(
                    Mark::Impossible,
                    &format!(
                        "seen falsely at {alias:.3} Hz; {:.0} fps or more are due",
                        (10.0 * f).ceil()
                    ),
                )
            }
            Ok(n) if n < 10.0 => said.marked(
                Mark::Marginal,
                &format!("ten are good: {:.0} fps", (10.0 * f).ceil()),
            ),
            Ok(_) => said.marked(Mark::Good, ""),
            Err(_) => said,
        });
    }
    let radius = value(given.radius.as_ref());
    if let (Some(r), Some(scale)) = (radius, value(camera.scale.as_ref())) {
        if let Some(amplitude) = swing.amplitude {
            let px = amplitude.abs() * r / scale;
            let said = row(
                format!("amplitude_px_{key}"),
                format!("amplitude of {name} in the picture at the start"),
                "a R/s",
                "definition",
            )
            .number(PX, px);
            rows.push(if px < 0.01 {
                said.marked(Mark::Impossible, "below what an outline can show")
            } else if px < 0.1 {
                said.marked(Mark::Marginal, "a tenth of a pixel and more are good")
            } else {
                said.marked(Mark::Good, "")
            });
        }
        if swing.degree >= 2 {
            let pixels = pixels_in_wave(swing.degree, r, scale);
            let said = row(
                format!("pixels_in_wave_{key}"),
                format!("pixels along the outline in one wave of {name}"),
                "2 pi R/(n s)",
                "[Shannon1949]",
            )
            .fallible(PX, pixels);
            rows.push(match pixels {
                Ok(p) if p < 2.0 => said.marked(Mark::Impossible, "the wave cannot be told"),
                Ok(p) if p < 10.0 => said.marked(Mark::Marginal, "ten and more are good"),
                _ => said.marked(Mark::Good, ""),
            });
        }
    }
    if let Some(exposure) = value(camera.exposure.as_ref()) {
        let left = oscillation_left(TAU * f, exposure).map(|left| 1.0 - left);
        let said = row(
            format!("smeared_{key}"),
            format!("share of the swing of {name} that the exposure averages away"),
            "1 - sin(pi f t)/(pi f t)",
            "definition",
        )
        .fallible(PERCENT, left);
        rows.push(match left {
            Ok(lost) if lost > 0.5 => said.marked(Mark::Impossible, "shorten the exposure"),
            Ok(lost) if lost > 0.01 => said.marked(Mark::Marginal, "a hundredth is the usual limit"),
            _ => said.marked(Mark::Good, ""),
        });
    }
    rows
}

fn blur(given: &Given<'_>, moving: &Moving) -> Vec<Draft> {
    let Some(camera) = &given.experiment.camera else {
        return Vec::new();
    };
    let mut rows = Vec::new();
    let scale = value(camera.scale.as_ref());
    if let (Some(exposure), Some(scale)) = (value(camera.exposure.as_ref()), scale)
        && moving.speed > 0.0
    {
        let way = smear(moving.speed, exposure).map(|way| way / scale);
        let said = row(
            "motion_blur",
            "blur by the fastest edge during the exposure",
            "v t/s",
            "definition",
        )
        .fallible(PX, way);
        rows.push(if way.is_ok_and(|way| way > 1.0) {
            said.marked(Mark::Marginal, "below one pixel is good")
        } else {
            said.marked(Mark::Good, "")
        });
    }
    if let (Some(focal), Some(stop), Some(distance), Some(scale), Some(r)) = (
        value(camera.focal_length.as_ref()),
        value(camera.f_number.as_ref()),
        value(camera.distance.as_ref()),
        scale,
        value(given.radius.as_ref()),
    ) {
        let lens = Focus::new(focal, stop, distance);
        // The edge of a ball lies R^2/D before its middle: what counts is the drift in depth; a radius stands for it.
        let out = lens
            .and_then(|lens| lens.blur(distance + r))
            .map(|disc| focus::width(disc) / scale);
        let said = row(
            "defocus",
            "blur of an edge one radius behind the plane of focus (standard deviation)",
            "c = A f |d - d_0|/(d (d_0 - f)), as a Gaussian",
            "[BornWolf1999]",
        )
        .fallible(PX, out);
        rows.push(if out.is_ok_and(|out| out > 3.0) {
            said.marked(Mark::Marginal, "close the stop or go back")
        } else {
            said.marked(Mark::Good, "")
        });
        let depth = Focus::new(focal, stop, distance)
            .and_then(|lens| lens.depth(scale))
            .map(|(near, far)| far - near);
        rows.push(
            row(
                "depth_of_field",
                "depth in which the disc of blur stays below a pixel",
                "[BornWolf1999]",
                "[BornWolf1999]",
            )
            .fallible(MM, depth),
        );
        let finest = Focus::new(focal, stop, distance)
            .and_then(|lens| lens.finest(550e-9))
            .map(|r| r / scale);
        rows.push(
            row(
                "diffraction",
                "radius of the disc of diffraction, green light",
                "1.22 lambda N d/f",
                "[BornWolf1999]",
            )
            .fallible(PX, finest),
        );
    }
    if let Some(readout) = value(camera.readout_time.as_ref())
        && readout > 0.0
        && let (Some(picture), Some(scale), Some(r)) = (camera.picture, scale, value(given.radius.as_ref()))
    {
        let across = readout * 2.0 * r / (scale * picture[1]);
        rows.push(
            row(
                "rows_delay",
                "time between the rows of its top and its bottom (rolling shutter; taken out when stated)",
                "t_r 2 R/(s rows)",
                "definition",
            )
            .number(crate::row::MS, across),
        );
    }
    rows
}

/// What the drop as a lens hides of what is inside: for runs that look into it.
fn inside(given: &Given<'_>) -> Vec<Draft> {
    let looks_in = matches!(given.experiment.kind, Kind::Shell | Kind::Fizz);
    let Some(index) = given
        .materials
        .liquid
        .refractive_index
        .as_ref()
        .filter(|_| looks_in)
    else {
        return Vec::new();
    };
    let index = index.value.value();
    let source = "[BornWolf1999], derived";
    let reach = |along: f64| Sight::far(index).and_then(|sight| sight.reach(along));
    // Half width of the ball itself half a radius behind the middle.
    let whole = 0.75_f64.sqrt();
    vec![
        row(
            "seen_behind",
            "half a radius behind the middle, what lies inside is seen out to this share of the way to the surface",
            "max over the picture of (b/n + z sin g)/cos g",
            source,
        )
        .fallible(PERCENT, reach(-0.5).map(|reach| reach / whole)),
        row(
            "back_fold",
            "from this share of the picture's radius outwards the back is seen a second time, mirrored",
            "sqrt((4 - n^2)/3)",
            source,
        )
        .fallible(PERCENT, back_fold(index).map(|(seen, _)| seen))
        .noted("distances in the picture are not those in the drop: this version does not measure what is inside"),
    ]
}

fn depth(given: &Given<'_>) -> Vec<Draft> {
    let Some(camera) = &given.experiment.camera else {
        return Vec::new();
    };
    let mut rows = Vec::new();
    let (Some(r), Some(distance)) = (value(given.radius.as_ref()), value(camera.distance.as_ref())) else {
        return rows;
    };
    rows.push(
        row(
            "perspective",
            "outline too large by perspective (taken out when the distance is stated)",
            "1/sqrt(1 - (R/D)^2) - 1",
            "geometry",
        )
        .fallible(PERCENT, seen_radius(r, distance).map(|seen| seen / r - 1.0)),
    );
    if let Some(depth) = &camera.depth {
        let u = depth.standard_uncertainty();
        rows.push(
            row(
                "depth_share",
                "change of the scale by the uncertainty of the depth; three times that in surface tension",
                "u(z)/D",
                "geometry",
            )
            .number(PERCENT, scale_change(u, distance).abs()),
        );
    }
    if let (Some(angle), Some(index)) = (
        value(camera.lamp_half_angle.as_ref()),
        given.materials.liquid.refractive_index.as_ref(),
    ) {
        rows.push(
            row(
                "lamp_shift",
                "edge moved inwards by the reflection of the lamp (taken out when the angle is stated)",
                "Fresnel, blurred picture",
                "[BornWolf1999]",
            )
            .number(PERCENT, blurred_shift(index.value.value(), angle)),
        );
    }
    rows
}

/// The frequencies as the rows of a group tell them, for [`Moving`].
pub fn swing(
    key: &str,
    name: &str,
    degree: u32,
    frequency: Option<f64>,
    amplitude: Option<f64>,
) -> Option<Swing> {
    let frequency = frequency.filter(|f| *f > 0.0)?;
    Some(Swing {
        key: key.into(),
        name: name.into(),
        degree,
        frequency,
        amplitude,
    })
}
