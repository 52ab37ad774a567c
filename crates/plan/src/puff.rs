//! A puff of gas: the jet, what it presses, the crater, the waves that run round the drop, the push on the whole, what may leave.
//!
//! The jet is a round one whose footprint on the drop is a bell; modes are started by it and swing with their exact decay in the gas. The wave map is the height of the
//! surface against angle and time. Formulas and ranges are those of [`tremolet_theory::puff`].

use std::f64::consts::{PI, TAU};

use tremolet_matter::uncertain::Uncertain;
use tremolet_record::experiment::kinds::Puff;
use tremolet_record::sheet::{Alarm, Group, Mark, Moment, Shape, WaveMap};
use tremolet_theory::course::{Around, Beginning, Course};
use tremolet_theory::drop::FreeDrop;
use tremolet_theory::error::TheoryError;
use tremolet_theory::modes::host::Pair;
use tremolet_theory::puff::blow::Blow;
use tremolet_theory::puff::crater::{crater, highest_degree};
use tremolet_theory::puff::ejection::{Verdict, ejection};
use tremolet_theory::puff::footprint::Footprint;
use tremolet_theory::puff::jet::Jet;
use tremolet_theory::puff::sound;
use tremolet_theory::puff::waves::SphereWave;
use tremolet_theory::wave::FlatWave;

use crate::camera::swing;
use crate::given::{Given, free, pair, values};
use crate::release;
use crate::row::{Draft, HZ, M_S, ML, MM, MM_S, MN_S, MS, NUMBER, PA, PERCENT, UJ, UM, group, row, text};
use crate::sheet::OfKind;

/// Degrees of the waves that are told.
const WAVES: [u32; 4] = [5, 10, 20, 40];
/// Depth over half width of the footprint up to which small motions are told, as in [`Blow::validity`].
const SHALLOW: f64 = 0.3;
/// Share of the height at which a wave counts as gone.
const GONE: f64 = 0.1;
/// Looks in time and angle of the wave map.
const MAP: (usize, usize) = (121, 91);

/// Everything about this kind.
pub fn puff(given: &Given<'_>) -> OfKind {
    let mut found = OfKind {
        groups: vec![release::modes(given)],
        ..OfKind::default()
    };
    let Some(stated) = &given.experiment.puff else {
        found.groups.insert(
            0,
            group(
                "The puff",
                vec![
                    row("jet_speed", "speed in the nozzle", "4 V/(pi d^2 T)", "even flow")
                        .words("cannot be said")
                        .noted("not stated: [puff] volume, duration, nozzle, distance"),
                ],
            ),
        );
        return found;
    };
    found.groups.insert(0, jet(given, stated));
    let (Some(drop), Some(blow)) = (given.pair(), blow(given, stated)) else {
        return found;
    };
    found.groups.insert(1, struck(given, stated, &drop, &blow));
    found.groups.insert(2, waves(given, &drop, &blow));
    found.groups.insert(3, hum(given, &free(&drop), &blow));
    if let Ok(course) = course(&drop, &blow) {
        found.waves = Some(map(&drop, &course));
        found.shapes = shapes(&drop, &blow, &course);
    }
    found.moments = strip(&free(&drop), &blow);
    found.swings = swings(&drop, &blow);
    found.reach = 1.2;
    // Ten swings of degree 2 show the waves run out and the first swings of the whole.
    found.needed = free(&drop).angular_frequency(2).ok().map(|w| 10.0 * TAU / w);
    found.alarms.extend(too_strong(&free(&drop), &blow, stated));
    found.speed = fastest(&drop, &blow);
    found
}

/// The inputs of a jet, then the distance.
fn inputs<'a>(given: &'a Given<'_>, stated: &'a Puff) -> [(&'static str, Option<&'a Uncertain>); 6] {
    [
        ("puff.volume", stated.volume.as_ref()),
        ("puff.duration", stated.duration.as_ref()),
        ("puff.nozzle", stated.nozzle.as_ref()),
        ("gas density", Some(&given.gas_density)),
        ("gas viscosity", Some(&given.gas_viscosity)),
        ("puff.distance", stated.distance.as_ref()),
    ]
}

fn of(x: &[f64]) -> Jet {
    Jet {
        volume: x[0],
        duration: x[1],
        nozzle: x[2],
        gas_density: x[3],
        gas_viscosity: x[4],
    }
}

fn jet(given: &Given<'_>, stated: &Puff) -> Group {
    let all = inputs(given, stated);
    let near = &all[..5];
    let sound = given.materials.gas.sound_speed.value.value();
    let far = |mut draft: Draft| {
        if let Some(x) = values(&all) {
            draft = draft.valid_if(of(&x).validity(x[5], sound));
        }
        draft
    };
    let source = "[HusseinCappGeorge1994] (factors from memory)";
    group(
        "The puff",
        vec![
            row(
                "jet_speed",
                "speed in the nozzle",
                "U = 4 V/(pi d^2 T)",
                "even flow",
            )
            .of(M_S, near, |x| of(x).outflow().map(|out| out.speed)),
            row(
                "jet_reynolds",
                "Reynolds number in the nozzle",
                "Re = rho U d/mu",
                "definition",
            )
            .of(NUMBER, near, |x| of(x).outflow().map(|out| out.reynolds)),
            row(
                "jet_impulse",
                "impulse of the whole puff",
                "J = rho U V",
                "momentum",
            )
            .of(MN_S, near, |x| of(x).outflow().map(|out| out.impulse)),
            far(row(
                "plume_speed",
                "speed on the axis where it meets the drop",
                "U_c = min(1, 5.8 d/x) U",
                source,
            )
            .of(M_S, &all, |x| of(x).plume(x[5]).map(|plume| plume.speed))),
            far(row(
                "pressure",
                "pressure on the axis of the drop",
                "rho U_c^2/2",
                source,
            )
            .of(PA, &all, |x| of(x).plume(x[5]).map(|plume| plume.stagnation))),
            far(row(
                "footprint",
                "radius at which the pressure has fallen to 1/e",
                "w = sqrt(thrust/(pi p_0))",
                "own closure: an estimate",
            )
            .of(MM, &all, |x| of(x).plume(x[5]).map(|plume| plume.pressure_width))),
        ],
    )
}

fn blow_of(x: &[f64]) -> Result<Blow, TheoryError> {
    let plume = of(x).plume(x[5])?;
    Ok(Blow {
        footprint: Footprint::Bell {
            pressure: plume.stagnation,
            width: plume.pressure_width,
        },
        duration: x[1],
    })
}

/// The pressure of the stated puff on the drop; `None` where something of it is not stated.
pub fn blow(given: &Given<'_>, stated: &Puff) -> Option<Blow> {
    blow_of(&values(&inputs(given, stated))?).ok()
}

/// What the blow does: speed of the whole, crater, energy.
fn struck(given: &Given<'_>, stated: &Puff, drop: &Pair, blow: &Blow) -> Group {
    let jet = inputs(given, stated);
    let body = given.drop_inputs();
    let all: Vec<(&str, Option<&Uncertain>)> = jet.iter().chain(&body).copied().collect();
    let drop_of = |x: &[f64]| free(&pair(&x[6..]));
    let liquid = free(drop);
    let hollow = crater(blow, &liquid);
    let valid = |draft: Draft| match hollow {
        Ok(hollow) => draft.valid_if(blow.validity(&liquid, hollow.depth)),
        Err(_) => draft,
    };
    let leaves = ejection(blow, &liquid);
    let verdict = leaves.map(|leaves| match leaves.verdict {
        Verdict::Cannot => "no droplet can leave: the energy does not pay its surface",
        Verdict::Hardly => "a small droplet may leave if the rebound is well gathered",
        Verdict::May => "a droplet may leave: energy and Weber number both allow it",
    });
    let source = "[Rayleigh1879], [Prosperetti1980]";
    group(
        "What it does to the drop",
        vec![
            valid(
                row(
                    "speed_given",
                    "speed given to the whole drop",
                    "v = impulse on the drop / mass",
                    "[Lamb1932]",
                )
                .of(MM_S, &all, |x| blow_of(x)?.speed_of_the_whole(&drop_of(x))),
            ),
            valid(
                row(
                    "crater_depth",
                    "depth of the crater",
                    "sum of the modes the blow starts",
                    source,
                )
                .fallible(MM, hollow.map(|h| h.depth)),
            ),
            valid(
                row(
                    "crater_width",
                    "half width of the crater",
                    "first angle without displacement",
                    source,
                )
                .fallible(MM, hollow.map(|h| h.half_width)),
            ),
            valid(
                row(
                    "crater_time",
                    "when it is deepest, after the middle of the puff",
                    "the same",
                    source,
                )
                .fallible(MS, hollow.map(|h| h.time)),
            ),
            row(
                "blow_energy",
                "energy in the shape",
                "sum of the modes",
                "[Lamb1932]",
            )
            .fallible(UJ, leaves.map(|leaves| leaves.energy)),
            row(
                "blow_weber",
                "Weber number of the footprint",
                "energy against surface",
                "own criterion",
            )
            .fallible(NUMBER, leaves.map(|leaves| leaves.weber)),
            row(
                "largest_droplet",
                "radius of the largest droplet whose surface that energy could pay",
                "4 pi r^2 sigma = E",
                "energy, own criterion",
            )
            .fallible(MM, leaves.map(|leaves| leaves.largest_radius))
            .noted(verdict.unwrap_or("")),
        ],
    )
}

/// A crater too deep for what is told of it. The depth goes as the square of the volume at one duration.
fn too_strong(drop: &FreeDrop, blow: &Blow, stated: &Puff) -> Option<Alarm> {
    let hollow = crater(blow, drop).ok()?;
    let share = hollow.depth / blow.footprint.half_width(drop.radius).ok()?;
    let volume = stated.volume.as_ref()?.value();
    (share > SHALLOW).then(|| Alarm {
        code: "puff_too_strong".into(),
        text: format!(
            "small motions would make a crater of {} in a footprint of {} half width: the drop is thrown about and what is told of crater, waves and swings is an orientation at best; \
             with {} of gas in the same time it holds",
            text(hollow.depth, None, MM),
            text(hollow.depth / share, None, MM),
            text(volume * (SHALLOW / share).sqrt(), None, ML)
        ),
    })
}

/// The waves by degree: speeds, arrival at the far pole, passes; against the law of plane waves.
fn waves(given: &Given<'_>, drop: &Pair, blow: &Blow) -> Group {
    let body = given.drop_inputs();
    let liquid = free(drop);
    let mut rows = Vec::new();
    let highest = highest_degree(blow, &liquid).unwrap_or(40);
    for n in WAVES.into_iter().filter(|n| *n <= highest) {
        let wave = move |x: &[f64]| SphereWave::new(&free(&pair(x)), n);
        let valid = |draft: Draft| match SphereWave::new(&liquid, n) {
            Ok(wave) => draft.valid(&wave.validity(&liquid, 0.0)),
            Err(_) => draft,
        };
        rows.push(valid(
            row(
                format!("wave_phase_{n}"),
                format!("speed of the crests of degree {n} along the surface"),
                "w_n R/(n + 1/2)",
                "[Lamb1932]",
            )
            .of(MM_S, &body, move |x| {
                Ok::<_, TheoryError>(wave(x)?.phase_speed * x[0])
            }),
        ));
        rows.push(valid(
            row(
                format!("wave_group_{n}"),
                format!("speed of a packet of degree {n}"),
                "R dw_n/dn",
                "[Lamb1932]",
            )
            .of(MM_S, &body, move |x| {
                Ok::<_, TheoryError>(wave(x)?.group_speed * x[0])
            }),
        ));
        rows.push(valid(
            row(
                format!("far_pole_{n}"),
                format!("a packet of degree {n} meets itself at the far pole after"),
                "pi/(dw_n/dn)",
                "[Lamb1932]",
            )
            .of(MS, &body, move |x| Ok::<_, TheoryError>(wave(x)?.far_pole())),
        ));
        rows.push(valid(
            row(
                format!("passes_{n}"),
                format!("passes from pole to pole until a tenth of degree {n} is left (liquid alone)"),
                "ln 10/(decay time of a pass)",
                "[Lamb1932]",
            )
            .of(NUMBER, &body, move |x| wave(x)?.passes(GONE)),
        ));
        rows.push(valid(
            row(
                format!("over_plane_{n}"),
                format!("frequency of degree {n} over that of a plane wave as long, less 1"),
                "w_n/sqrt(sigma k^3/rho) - 1, k = (n + 1/2)/R",
                "[Rayleigh1879]",
            )
            .of(PERCENT, &body, move |x| wave(x).map(|wave| wave.over_plane - 1.0)),
        ));
        rows.push(valid(
            row(
                format!("focus_{n}"),
                format!("height of a running wave of degree {n} at the far pole over that at the equator"),
                "sqrt(2 pi (n + 1/2))",
                "[DLMF]",
            )
            .of(NUMBER, &body, move |x| wave(x).map(|wave| wave.focus)),
        ));
    }
    let plane = |x: &[f64]| {
        FlatWave::new(2e-3, [x[2], x[4]], x[1], x[3] / x[2]).map(|wave| 2e-3 * wave.angular_frequency / TAU)
    };
    rows.push(
        row(
            "plane_wave",
            "speed of a plane wave 2 mm long, for comparison",
            "sqrt(sigma k/rho)",
            "[Prosperetti1981]",
        )
        .of(MM_S, &body, plane),
    );
    group("Waves on the surface", rows)
}

/// Sound in the liquid, and why no camera sees it.
fn hum(given: &Given<'_>, drop: &FreeDrop, blow: &Blow) -> Group {
    let Some(speed) = &given.materials.liquid.sound_speed else {
        return group(
            "Sound in the liquid",
            vec![
                row("bulk_mode", "lowest bulk mode", "j_0' (k R)", "[Rayleigh1894]")
                    .words("cannot be said")
                    .noted("the speed of sound in this liquid is not known"),
            ],
        );
    };
    let inputs = [
        ("body.diameter, volume or mass", given.radius.as_ref()),
        ("speed of sound", Some(&speed.value)),
    ];
    let camera = given.experiment.camera.as_ref();
    let pressure = match blow.footprint {
        Footprint::Cap { pressure, .. } | Footprint::Bell { pressure, .. } => pressure.abs(),
    };
    let value = |x: Option<&Uncertain>| x.map(Uncertain::value);
    let rate = camera.and_then(|c| value(c.capture_rate.as_ref())).unwrap_or(1e4);
    let scale = camera.and_then(|c| value(c.scale.as_ref())).unwrap_or(5e-5);
    let unseen = sound::unseen(
        drop.radius,
        drop.density,
        speed.value.value(),
        pressure,
        rate,
        scale,
    );
    group(
        "Sound in the liquid (why no camera sees it)",
        vec![
            row(
                "bulk_mode",
                "lowest bulk mode",
                "f = x_01 c/(2 pi R)",
                "[Rayleigh1894]",
            )
            .of(HZ, &inputs, |x| sound::frequency(0, 1, x[0], x[1])),
            row(
                "bulk_displacement",
                "its displacement at the surface, were the whole pressure in it",
                "p/(pi rho c w)",
                "[Rayleigh1894]",
            )
            .fallible(UM, unseen.map(|unseen| unseen.displacement)),
            row(
                "bulk_sampled",
                "capture rate over twice its frequency (below 1: not sampled)",
                "rate/(2 f)",
                "[Shannon1949]",
            )
            .fallible(NUMBER, unseen.map(|unseen| unseen.sampled))
            .marked(
                Mark::Good,
                "not meant to be seen: the shape modes are slower by a factor of thousands",
            ),
        ],
    )
}

/// The motion after the blow in the gas, from the middle of the puff on.
fn course(drop: &Pair, blow: &Blow) -> Result<Course, TheoryError> {
    let liquid = free(drop);
    let highest = highest_degree(blow, &liquid)?.min(80);
    let starts = blow.starts(&liquid, highest)?;
    let begin = |start: &tremolet_theory::puff::blow::Start| Beginning {
        amplitude: 0.0,
        speed: start.speed * start.pulse_factor,
    };
    let around = Around {
        density: drop.host_density,
        viscosity: drop.host_viscosity,
    };
    Course::within(&liquid, &around, &starts.iter().map(begin).collect::<Vec<_>>())
}

/// Time in which the map is drawn: the slowest told packet meets itself twice.
fn map_time(drop: &Pair) -> f64 {
    SphereWave::new(&free(drop), 5).map_or(1.0, |wave| 2.0 * wave.far_pole())
}

fn map(drop: &Pair, course: &Course) -> WaveMap {
    let end = map_time(drop);
    let times: Vec<f64> = (0..MAP.0).map(|k| end * k as f64 / (MAP.0 - 1) as f64).collect();
    let angles: Vec<f64> = (0..MAP.1).map(|k| PI * k as f64 / (MAP.1 - 1) as f64).collect();
    let heights = times
        .iter()
        .map(|t| {
            let amplitudes = course.amplitudes(*t);
            angles
                .iter()
                .map(|a| tremolet_numerics::legendre::series(&amplitudes, a.cos()))
                .collect()
        })
        .collect();
    WaveMap {
        times,
        angles,
        heights,
    }
}

fn shapes(drop: &Pair, blow: &Blow, course: &Course) -> Vec<Shape> {
    let deepest = crater(blow, &free(drop)).map_or(0.0, |hollow| hollow.time);
    let far = SphereWave::new(&free(drop), 10).map_or(0.1, |wave| wave.far_pole());
    let at = |(time, label): (f64, &str)| Shape {
        time,
        label: label.into(),
        outlines: vec![release::outline(drop.radius, |theta| {
            course.displacement(theta, time)
        })],
    };
    [
        (0.0, "middle of the puff"),
        (deepest, "crater deepest"),
        (far, "far pole, degree 10"),
        (2.0 * far, "back, degree 10"),
    ]
    .map(at)
    .into()
}

fn strip(drop: &FreeDrop, blow: &Blow) -> Vec<Moment> {
    let at = |time: f64, text: String| Moment {
        time,
        until: None,
        text,
    };
    let mut moments = vec![Moment {
        time: -blow.duration / 2.0,
        until: Some(blow.duration / 2.0),
        text: "puff".into(),
    }];
    if let Ok(hollow) = crater(blow, drop) {
        moments.push(at(
            hollow.time,
            format!("crater deepest, {:.2} mm", 1e3 * hollow.depth),
        ));
    }
    for n in WAVES {
        if let Ok(wave) = SphereWave::new(drop, n) {
            moments.push(at(
                wave.far_pole(),
                format!("degree {n} meets itself at the far pole"),
            ));
            moments.push(at(wave.return_time(), format!("degree {n} is back")));
        }
    }
    moments
}

fn swings(drop: &Pair, blow: &Blow) -> Vec<crate::camera::Swing> {
    let liquid = free(drop);
    let Ok(starts) = blow.starts(&liquid, 40) else {
        return Vec::new();
    };
    let one = |n: u32| {
        let start = starts.get(n as usize)?;
        let frequency = liquid.angular_frequency(n).ok()? / TAU;
        swing(
            &n.to_string(),
            &format!("degree {n}"),
            n,
            Some(frequency),
            Some(start.amplitude / drop.radius),
        )
    };
    [2, 3, 5, 10, 20].into_iter().filter_map(one).collect()
}

fn fastest(drop: &Pair, blow: &Blow) -> f64 {
    let starts = blow.starts(&free(drop), 40);
    starts.map_or(0.0, |starts| {
        starts
            .iter()
            .skip(2)
            .map(|start| (start.speed * start.pulse_factor).abs())
            .sum()
    })
}
