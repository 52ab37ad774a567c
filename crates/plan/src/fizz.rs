//! Gas set free in a drop: how much, whether bubbles are born, how they grow, meet and become one, what is left, what the room gets.
//!
//! Carbon dioxide in water (or what is mostly water) only: solubility and diffusivity of other liquids are not known here, and the sheet says so. How many bubbles are born no formula
//! says; the file states it, or only what does not need the number is told. What meets is told for a stated shear; a drop at rest stirs nothing.

mod few;

use std::f64::consts::PI;

use tremolet_matter::carbon_dioxide::{diffusivity_in_water, solubility};
use tremolet_matter::uncertain::Uncertain;
use tremolet_record::experiment::kinds::{AcidKind, Fizz};
use tremolet_record::sheet::{Curve, Group, Moment};
use tremolet_theory::error::TheoryError;
use tremolet_theory::fizz::birth::{barrier, critical_radius, threshold, waking};
use tremolet_theory::fizz::depletion::Crowd;
use tremolet_theory::fizz::reagents::{Acid, gas, volume};
use tremolet_theory::fizz::solubility::{Gas, swollen_radius};
use tremolet_theory::fizz::{escape, reagents, scriven};

use crate::camera::swing;
use crate::given::Given;
use crate::limits;
use crate::row::{M2_S, MG, ML, MM, MMOL, NUMBER, S, UM, group, row};
use crate::sheet::OfKind;

/// Share of gas out at which growth counts as over.
const OUT: f64 = 0.9;
/// Work to make a critical bubble below which the open liquid gives birth, in k T (common practice, no published source).
const WORK: f64 = 70.0;
/// Everything about this kind.
pub fn fizz(given: &Given<'_>) -> OfKind {
    let mut found = OfKind {
        reach: 1.3,
        ..OfKind::default()
    };
    let Some(stated) = &given.experiment.fizz else {
        let none = row("gas", "the gas", "-", "-")
            .words("cannot be said")
            .noted("not stated: [fizz] bicarbonate and acid, or dissolved");
        found.groups.push(group("The gas", vec![none]));
        return found;
    };
    if !given.aqueous() {
        let none = row("gas", "the gas", "-", "-")
            .words("cannot be said")
            .noted("solubility and diffusivity of carbon dioxide are known here for water only");
        found.groups.push(group("The gas", vec![none]));
        return found;
    }
    let amount = amount(stated);
    let all = inputs(given, amount.as_ref());
    found.groups.push(yields(given, stated, &all));
    let middle = values(&all);
    if let Some(x) = &middle {
        found.groups.push(births(x));
        found.groups.push(growths(x, given, stated));
        found.groups.push(few::meetings(x, stated));
        found.groups.push(few::drifts(x, given));
        found.groups.push(few::room(x, given, stated));
        if let Ok(shares) = dissolved(x).and_then(|gas| gas.shares(x[0], x[1])) {
            found.alarms.extend(limits::foam(x[1], shares.volume));
            found.reach =
                swollen_radius(x[1], shares.volume).map_or(1.3, |r| r / (3.0 * x[1] / (4.0 * PI)).cbrt());
        }
        found.alarms.extend(few::closed(x, stated));
        found.moments = strip(x, stated);
        found.curves = curves(x, stated);
        found.swings = swings(x);
        found.needed = found
            .moments
            .last()
            .map(|moment| moment.time)
            .filter(|time| *time > 0.0);
    }
    found
}

/// Carbon dioxide, mol.
fn amount(stated: &Fizz) -> Option<Uncertain> {
    if stated.dissolved.is_some() {
        return stated.dissolved.clone();
    }
    let kind = acid(stated);
    let (bicarbonate, acid) = (stated.bicarbonate.as_ref()?, stated.acid.as_ref()?);
    Some(Uncertain::propagate(&[bicarbonate, acid], |x| {
        gas(x[0], x[1], kind).map_or(f64::NAN, |given| given.gas)
    }))
}

fn acid(stated: &Fizz) -> Acid {
    match stated.acid_kind {
        Some(AcidKind::CitricMonohydrate) => Acid::CitricMonohydrate,
        _ => Acid::CitricAnhydrous,
    }
}

type Inputs<'a> = Vec<(&'static str, Option<Uncertain>)>;

/// Amount (mol), volume of liquid (m^3), temperature (K), pressure (Pa), tension (N/m), density (kg/m^3), viscosity (Pa s).
fn inputs(given: &Given<'_>, amount: Option<&Uncertain>) -> Inputs<'static> {
    let volume = given
        .radius
        .as_ref()
        .map(|r| Uncertain::propagate(&[r], |x| limits::volume(x[0])));
    vec![
        ("fizz.bicarbonate and acid, or dissolved", amount.cloned()),
        ("body.diameter, volume or mass", volume),
        ("liquid.temperature", Some(given.temperature.clone())),
        ("gas.pressure", Some(given.pressure.clone())),
        ("liquid.surface_tension", given.tension.clone()),
        ("liquid.density", Some(given.density.clone())),
        ("liquid.viscosity", given.viscosity.clone()),
    ]
}

fn lent<'a>(inputs: &'a Inputs<'_>) -> Vec<(&'static str, Option<&'a Uncertain>)> {
    inputs.iter().map(|(key, x)| (*key, x.as_ref())).collect()
}

fn values(inputs: &Inputs<'_>) -> Option<Vec<f64>> {
    inputs
        .iter()
        .map(|(_, x)| x.as_ref().map(Uncertain::value))
        .collect()
}

pub(super) fn dissolved(x: &[f64]) -> Result<Gas, TheoryError> {
    Gas::new(solubility(x[2]), x[2], x[3])
}

fn supersaturation(x: &[f64]) -> Result<f64, TheoryError> {
    dissolved(x)?.supersaturation(x[0], x[1])
}

fn yields(given: &Given<'_>, stated: &Fizz, all: &Inputs<'_>) -> Group {
    let inputs = lent(all);
    let mut rows = vec![
        row(
            "amount",
            "carbon dioxide set free",
            "3 NaHCO3 + C6H8O7 -> 3 CO2 + ...",
            "stoichiometry, [IUPAC2021]",
        )
        .of(MMOL, &inputs[..1], |x| Ok::<_, TheoryError>(x[0])),
        row(
            "gas_volume",
            "its volume, were it all gas",
            "n R T/p",
            "ideal gas",
        )
        .of(ML, &[inputs[0], inputs[2], inputs[3]], |x| {
            volume(x[0], x[1], x[2])
        })
        .valid(&reagents::validity(given.pressure.value())),
        row(
            "supersaturation",
            "supersaturation, were it all dissolved; at 1 and below no bubble lives",
            "n/(V H p)",
            "[Sander2023]",
        )
        .of(NUMBER, &inputs[..4], supersaturation),
        row(
            "free_gas",
            "gas that comes free in the end, nothing lost through the surface",
            "Henry's law, ideal gas",
            "[Sander2023]",
        )
        .of(ML, &inputs[..4], |x| {
            dissolved(x)?.shares(x[0], x[1]).map(|shares| shares.volume)
        }),
        row(
            "swollen_diameter",
            "diameter of the drop with all that gas in it",
            "V + gas",
            "volume",
        )
        .of(MM, &inputs[..4], |x| {
            swollen_radius(x[1], dissolved(x)?.shares(x[0], x[1])?.volume).map(|r| 2.0 * r)
        }),
    ];
    if let (Some(bicarbonate), Some(sour)) = (&stated.bicarbonate, &stated.acid) {
        let both = [("fizz.bicarbonate", Some(bicarbonate)), ("fizz.acid", Some(sour))];
        let kind = acid(stated);
        rows.push(
            row(
                "bicarbonate_left",
                "bicarbonate that is left over",
                "stoichiometry",
                "[IUPAC2021]",
            )
            .of(MG, &both, move |x| {
                gas(x[0], x[1], kind).map(|given| given.bicarbonate_left)
            }),
        );
        rows.push(
            row(
                "acid_left",
                "acid that is left over",
                "stoichiometry",
                "[IUPAC2021]",
            )
            .of(MG, &both, move |x| {
                gas(x[0], x[1], kind).map(|given| given.acid_left)
            }),
        );
    }
    group("The gas", rows)
}

fn births(x: &[f64]) -> Group {
    let (pressure, tension, temperature) = (x[3], x[4], x[2]);
    let s = supersaturation(x);
    let work = s.and_then(|s| barrier(s, pressure, tension, temperature));
    let note = match &work {
        Ok(work) if *work > WORK => {
            "no birth in the open liquid: bubbles come from walls, fibres, crystals and gas brought in"
        }
        Ok(_) => "birth in the open liquid is possible",
        Err(_) => "",
    };
    group(
        "Birth of bubbles",
        vec![
            row(
                "critical_radius",
                "bubbles smaller than this dissolve, larger ones grow",
                "2 sigma/((S - 1) p)",
                "[Debenedetti1996]",
            )
            .fallible(UM, s.and_then(|s| critical_radius(s, pressure, tension))),
            row(
                "barrier",
                "work to make one in the open liquid, in k T",
                "16 pi sigma^3/(3 dp^2 k T)",
                "[Debenedetti1996]",
            )
            .fallible(NUMBER, work)
            .noted(note),
            row(
                "threshold",
                "supersaturation at which that work is 70 k T",
                "inverse",
                "[Debenedetti1996]",
            )
            .fallible(NUMBER, threshold(WORK, pressure, tension, temperature)),
            row(
                "waking",
                "supersaturation that wakes a pocket with a mouth of 1 um radius",
                "1 + 2 sigma/(r p)",
                "[Debenedetti1996]",
            )
            .fallible(NUMBER, waking(1e-6, pressure, tension)),
        ],
    )
}

/// Growth: one bubble, and many that share.
fn growths(x: &[f64], given: &Given<'_>, stated: &Fizz) -> Group {
    let spread = diffusivity_in_water(x[2]);
    let s = supersaturation(x);
    let part = dissolved(x).map(|gas| gas.partition());
    let ja = s.and_then(|s| Ok(part?.max(0.0) * (s - 1.0)));
    let mut rows = vec![
        row(
            "diffusivity",
            "diffusivity of the gas in water",
            "2.35e-6 exp(-2119/T)",
            "[Versteeg1988] (from memory)",
        )
        .number(M2_S, spread)
        .noted(if given.materials.liquid.name == "water" {
            ""
        } else {
            "of pure water; slower in what is thicker"
        }),
        row(
            "jakob",
            "gas to be had, volumes for one of liquid",
            "L (S - 1)",
            "definition",
        )
        .fallible(NUMBER, ja),
    ];
    let critical = s.and_then(|s| critical_radius(s, x[3], x[4])).unwrap_or(f64::NAN);
    for time in [1.0, 10.0, 60.0] {
        let alone = ja.and_then(|ja| scriven::radius(ja, spread, time));
        let mut draft = row(
            format!("alone_{time:.0}s"),
            format!("radius of one bubble alone after {time:.0} s"),
            "2 beta sqrt(D t)",
            "[Scriven1959]",
        )
        .fallible(MM, alone);
        if let Ok(alone) = alone {
            draft = draft.valid(&scriven::validity(
                alone,
                critical,
                (3.0 * x[1] / (4.0 * PI)).cbrt(),
            ));
        }
        rows.push(draft);
    }
    let bubbles = stated.bubbles.as_ref().map(Uncertain::value);
    match (bubbles, ja) {
        (Some(count), Ok(ja)) => {
            let crowd = Crowd::new(count / x[1], spread, ja);
            rows.push(
                row(
                    "final_radius",
                    "radius of each of the bubbles in the end",
                    "(3 gas/(4 pi N))^(1/3)",
                    "[Ham1958]",
                )
                .fallible(MM, crowd.as_ref().map(Crowd::final_radius).map_err(Clone::clone)),
            );
            rows.push(
                row(
                    "half_out",
                    "time until half the gas is in the bubbles",
                    "bubbles that share",
                    "[Ham1958]",
                )
                .fallible(
                    S,
                    crowd
                        .as_ref()
                        .map_err(Clone::clone)
                        .and_then(|crowd| crowd.time(0.5)),
                ),
            );
            rows.push(
                row(
                    "most_out",
                    "time until nine tenths are",
                    "bubbles that share",
                    "[Ham1958]",
                )
                .fallible(
                    S,
                    crowd
                        .as_ref()
                        .map_err(Clone::clone)
                        .and_then(|crowd| crowd.time(OUT)),
                ),
            );
        }
        _ => rows.push(
            row(
                "final_radius",
                "radius of each of the bubbles in the end",
                "(3 gas/(4 pi N))^(1/3)",
                "[Ham1958]",
            )
            .words("cannot be said")
            .noted("how many bubbles are born no formula says: state [fizz] bubbles"),
        ),
    }
    let escaped = escape::time((3.0 * x[1] / (4.0 * PI)).cbrt(), spread, 0.5);
    rows.push(
        row(
            "half_escaped",
            "half of what stays dissolved leaves through the surface of a still drop after",
            "series of the sphere",
            "[Crank1975]",
        )
        .fallible(S, escaped),
    );
    group("Growth", rows)
}

fn strip(x: &[f64], stated: &Fizz) -> Vec<Moment> {
    let mut moments = vec![Moment {
        time: 0.0,
        until: None,
        text: "reagents meet".into(),
    }];
    let ja = supersaturation(x).and_then(|s| Ok(dissolved(x)?.partition() * (s - 1.0)));
    if let (Some(count), Ok(ja)) = (stated.bubbles.as_ref(), ja)
        && let Ok(crowd) = Crowd::new(count.value() / x[1], diffusivity_in_water(x[2]), ja)
    {
        for (share, text) in [(0.5, "half the gas is in bubbles"), (OUT, "nine tenths are")] {
            if let Ok(time) = crowd.time(share) {
                moments.push(Moment {
                    time,
                    until: None,
                    text: text.into(),
                });
            }
        }
    }
    moments
}

/// Radius of the bubbles against time.
fn curves(x: &[f64], stated: &Fizz) -> Vec<Curve> {
    let spread = diffusivity_in_water(x[2]);
    let Ok(ja) = supersaturation(x).and_then(|s| Ok(dissolved(x)?.partition() * (s - 1.0))) else {
        return Vec::new();
    };
    let crowd = stated
        .bubbles
        .as_ref()
        .and_then(|count| Crowd::new(count.value() / x[1], spread, ja).ok());
    let end = crowd
        .as_ref()
        .and_then(|crowd| crowd.time(0.95).ok())
        .unwrap_or(60.0);
    let axis = "radius, mm".to_owned();
    let sample = |radius: &dyn Fn(f64) -> Option<f64>| {
        (0..=200)
            .filter_map(|k| {
                let t = end * f64::from(k) / 200.0;
                Some([t, 1e3 * radius(t)?])
            })
            .collect()
    };
    let mut curves = vec![Curve {
        name: "one bubble alone".into(),
        axis: axis.clone(),
        points: sample(&|t| scriven::radius(ja, spread, t).ok()),
    }];
    if let Some(crowd) = &crowd {
        curves.push(Curve {
            name: "each of the stated number".into(),
            axis,
            points: sample(&|t| crowd.radius(t).ok()),
        });
    }
    curves
}

/// The shape mode of the last bubble.
fn swings(x: &[f64]) -> Vec<crate::camera::Swing> {
    let shares = dissolved(x).and_then(|gas| gas.shares(x[0], x[1]));
    let Ok(shares) = shares else { return Vec::new() };
    let one = (3.0 * shares.volume / (4.0 * PI)).cbrt();
    let shape = tremolet_theory::modes::inviscid::two_fluids(2, 0.0, x[5], one, x[4]).ok();
    swing(
        "last_2",
        "degree 2 of the last bubble",
        0,
        shape.map(|w| w / (2.0 * PI)),
        None,
    )
    .into_iter()
    .collect()
}
