//! What becomes of many bubbles: films and meetings, drift, and the gas that the room gets.
//!
//! Every meeting is taken to end in a merger, films break by drainage alone; both are said beside the numbers. Formulas and ranges are those of
//! [`tremolet_theory::fizz`]; `x` are the values of [`crate::fizz`]'s inputs.

use std::f64::consts::PI;

use tremolet_matter::carbon_dioxide::{diffusivity_in_air, diffusivity_in_water};
use tremolet_matter::uncertain::Uncertain;
use tremolet_record::experiment::kinds::Fizz;
use tremolet_record::sheet::{Alarm, Group, Mark};
use tremolet_theory::fizz::growth::Diffusion;
use tremolet_theory::fizz::last::{self, mean_time};
use tremolet_theory::fizz::merging::{shear, shear_validity};
use tremolet_theory::fizz::migration::Bubble;
use tremolet_theory::fizz::population::Kernel;
use tremolet_theory::fizz::{cloud, container, film, ringing};

use crate::fizz::dissolved;
use crate::given::Given;
use crate::limits;
use crate::row::{HZ, KPA, MM, MM_S, MS, PERCENT, S, group, row};

/// Distance from the drop at which the gas in still air is told, m.
const NEAR: f64 = 0.3;
/// Share of carbon dioxide in air above which a cabin is no good: half a per cent (common limit at work, from memory).
const LIMIT: f64 = 0.005;
/// Draught below which air counts as still for the cloud, m/s.
const STILL: f64 = 0.0;

/// Radius of the bubbles in the end, if their number is stated.
fn final_radius(x: &[f64], stated: &Fizz) -> Option<f64> {
    let count = stated.bubbles.as_ref()?.value();
    let free = dissolved(x).ok()?.shares(x[0], x[1]).ok()?.volume;
    (free > 0.0).then(|| (3.0 * free / count / (4.0 * PI)).cbrt())
}

/// Films and meetings: time to two and to one.
pub(super) fn meetings(x: &[f64], stated: &Fizz) -> Group {
    let mut rows = Vec::new();
    let nu = x[6] / x[5];
    if let Some(r) = final_radius(x, stated) {
        let film = film::inertial_range(r, r, x[5], x[4]);
        let mut draft = match film {
            Ok((least, most)) => row(
                "film_time",
                "a film between two of them breaks after (mobile surfaces)",
                "inertial drainage",
                "[PrinceBlanch1990]",
            )
            .range(MS, [least, most]),
            Err(why) => row(
                "film_time",
                "a film between two of them breaks after (mobile surfaces)",
                "inertial drainage",
                "[PrinceBlanch1990]",
            )
            .words("cannot be said")
            .noted(&why.to_string()),
        };
        draft = draft.valid(&film::inertial_validity(r, x[6], x[5], x[4]));
        rows.push(draft);
        let rigid = film::rigid(r / 2.0, x[6], 2.0 * x[4] / r, film::THICKNESSES);
        rows.push(
            row(
                "film_rigid",
                "the same between rigid surfaces (a film of dirt or soap)",
                "plane film of half the radius",
                "[Reynolds1886]",
            )
            .fallible(S, rigid)
            .valid(&film::rigid_validity(
                r / 2.0,
                film::THICKNESSES[0],
                film::THICKNESSES[1],
            )),
        );
        let count = stated.bubbles.as_ref().map_or(0.0, Uncertain::value);
        match stated.shear.as_ref().map(Uncertain::value) {
            Some(rate) => {
                let meet = shear([r, r], rate);
                let share = count * limits::volume(r) / (count * limits::volume(r) + x[1]);
                let valid = last::validity(1.0, share).and(shear_validity([r, r], rate, nu));
                for end in [2_u32, 1] {
                    for (kernel, key, name) in [(Kernel::Constant, "constant", "all sizes alike"), (Kernel::Sum, "sum", "as the sum of their volumes")] {
                        // The sum kernel counts (i + j) first bubbles: half the rate of two first ones each.
                        let factor = if kernel == Kernel::Sum { 0.5 } else { 1.0 };
                        let time = meet.and_then(|meet| mean_time(kernel, count.round().max(2.0) as u32, end, factor * meet, x[1]));
                        rows.push(row(format!("time_to_{end}_{key}"), format!("mean time until {end} bubble{} left, meeting rate {name}", if end == 1 { " is" } else { "s are" }), "pairs that meet by shear", "[Smoluchowski1916], [Golovin1963]").fallible(S, time).valid(&valid));
                    }
                }
            }
            None => rows.push(row("time_to_1", "time until one bubble is left", "pairs that meet", "[Smoluchowski1916]").words("cannot be said").noted("a drop at rest in weightlessness brings no bubbles together; state [fizz] shear, or let residual acceleration and jitter do it (see drift)")),
        }
    } else {
        rows.push(
            row(
                "time_to_1",
                "time until one bubble is left",
                "pairs that meet",
                "[Smoluchowski1916]",
            )
            .words("cannot be said")
            .noted("state [fizz] bubbles and shear"),
        );
    }
    if let Ok(Some(one)) = dissolved(x)
        .and_then(|gas| gas.shares(x[0], x[1]))
        .map(|shares| (shares.volume > 0.0).then(|| (3.0 * shares.volume / (4.0 * PI)).cbrt()))
    {
        rows.push(
            row(
                "rings_at",
                "it rings at (a microphone hears it, no camera sees it)",
                "Minnaert, exponent 1.3",
                "[Minnaert1933]",
            )
            .fallible(HZ, ringing::frequency(one, x[5], x[3], x[4], 1.3)),
        );
    }
    // The last bubble dissolves in liquid that is just saturated, by its tension alone.
    if let (Ok(gas), Ok(shares)) = (dissolved(x), dissolved(x).and_then(|gas| gas.shares(x[0], x[1])))
        && shares.volume > 0.0
    {
        let one = (3.0 * shares.volume / (4.0 * PI)).cbrt();
        rows.push(
            row(
                "last_diameter",
                "diameter of the one bubble that holds all the gas",
                "(6 gas/pi)^(1/3)",
                "volume",
            )
            .number(MM, 2.0 * one),
        );
        let away = Diffusion::new(diffusivity_in_water(x[2]), gas.partition(), 0.0)
            .and_then(|still| still.dissolution_time(one))
            .map(|time| time.unwrap_or(f64::INFINITY));
        rows.push(
            row(
                "dissolves",
                "it would dissolve in endless fresh water within",
                "diffusion",
                "[EpsteinPlesset1950]",
            )
            .fallible(S, away)
            .noted("longer in the drop, which is full of gas"),
        );
    }
    group("Becoming few", rows)
}

/// Drift by residual acceleration and by warmth.
pub(super) fn drifts(x: &[f64], given: &Given<'_>) -> Group {
    let mut rows = Vec::new();
    for (radius, name, key) in [(1e-4, "0.1 mm", "100um"), (1e-3, "1 mm", "1mm")] {
        let Ok(bubble) = Bubble::new(radius, x[5], x[6]) else {
            continue;
        };
        if let Some(a) = &given.acceleration {
            let speeds = bubble.creeping(a.value());
            let draft = match speeds {
                Ok((rigid, clean)) => row(format!("drift_{key}"), format!("drift of a bubble of {name} radius under the residual acceleration, if the drop is held"), "2/9 to 3/9 a R^2/nu", "[Hadamard1911], [Rybczynski1911]").range(MM_S, [rigid, clean]).valid(&bubble.creeping_validity(clean)),
                Err(why) => row(format!("drift_{key}"), "drift".to_string(), "-", "-").words("cannot be said").noted(&why.to_string()),
            };
            rows.push(draft.noted("in a drop that falls freely with its gas there is no such weight"));
        }
        // d(sigma)/dT of water, by the formula of the tension.
        let t = x[2];
        let slope = (tremolet_matter::water::surface_tension(t - 0.5)
            - tremolet_matter::water::surface_tension(t + 0.5))
        .abs();
        let warm = bubble.thermocapillary(slope, 100.0);
        let mut draft = row(
            format!("warm_{key}"),
            format!(
                "drift of a bubble of {name} radius towards the warm side, for 1 K/cm and a clean surface"
            ),
            "|dsigma/dT| G R/(2 mu)",
            "[YoungGoldsteinBlock1959]",
        )
        .fallible(MM_S, warm);
        if let Ok(speed) = warm {
            draft = draft.valid(&bubble.thermocapillary_validity(speed, 1.43e-7));
        }
        rows.push(draft.noted("in water a trace of dirt stops it"));
    }
    group("Drift of bubbles", rows)
}

/// The container and the air around.
pub(super) fn room(x: &[f64], given: &Given<'_>, stated: &Fizz) -> Group {
    let mut rows = Vec::new();
    match &stated.container {
        Some(room) => {
            let rise = container::pressure_rise(x[0], room.value(), 0.0, 0.0, x[2]);
            let draft = row(
                "pressure_rise",
                "rise of the pressure in the closed container, all gas free",
                "n R T/V",
                "ideal gas",
            )
            .fallible(KPA, rise);
            rows.push(match rise {
                Ok(rise) => draft.valid(&container::validity(x[3] + rise)),
                Err(_) => draft,
            });
        }
        None => {
            let litre = container::pressure_rise(x[0], 1e-3, 0.0, 0.0, x[2]);
            rows.push(
                row(
                    "pressure_rise",
                    "rise of the pressure, were it closed into one litre",
                    "n R T/V",
                    "ideal gas",
                )
                .fallible(KPA, litre),
            );
        }
    }
    let spread = diffusivity_in_air(given.gas_temperature.value(), x[3]);
    let cloud = cloud::puff(x[0], spread, NEAR);
    let most =
        cloud.and_then(|(concentration, _)| cloud::share(concentration, given.gas_temperature.value(), x[3]));
    let mut draft = row(
        "cloud",
        "most carbon dioxide 0.3 m from the drop in still air, if all came out at once",
        "n/(4 pi D t)^(3/2) e^(-r^2/4Dt)",
        "[CarslawJaeger1959]",
    )
    .fallible(PERCENT, most);
    if let Ok(share) = most {
        draft = draft.valid(&cloud::validity(NEAR, STILL, spread, share));
        if share > LIMIT {
            draft = draft.marked(
                Mark::Marginal,
                "above half a per cent: keep faces away and move the air afterwards",
            );
        }
    }
    rows.push(draft);
    rows.push(
        row(
            "cloud_time",
            "and when, after",
            "r^2/(6 D)",
            "[CarslawJaeger1959]",
        )
        .fallible(S, cloud.map(|(_, time)| time)),
    );
    group("Room and container", rows)
}

pub(super) fn closed(x: &[f64], stated: &Fizz) -> Option<Alarm> {
    let room = stated.container.as_ref()?.value();
    let rise = container::pressure_rise(x[0], room, 0.0, 0.0, x[2]).ok()?;
    (rise > 0.5e5).then(|| Alarm {
        code: "pressure_in_container".into(),
        text: format!(
            "closed into {:.0} mL the gas raises the pressure by {:.0} kPa: more than half an atmosphere is no vessel for a crew; vent it, or {:.0} mL of room at least",
            1e6 * room,
            1e-3 * rise,
            1e6 * room * rise / 0.5e5
        ),
    })
}
