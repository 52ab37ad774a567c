//! Changes of a planned release, one at a time, each with what it does to the uncertainties on its way to an end.
//!
//! A change is a factor, 1 for none; the least that reaches what is wanted is found by even steps of its logarithm and then by halving. Ends
//! are what is still common practice (a hundred thousand frames a second, a thousandfold calibration); no published source.

use tremolet_matter::quantity::dimension::Dimension;
use tremolet_matter::uncertain::{Input, Uncertain};
use tremolet_record::experiment::wanted::Wish;

use crate::prospect::{Begin, Outlook, Run};
use crate::row::{MM, PX, S, text};
use crate::wanted::{of, percent};

/// Largest amplitude of degree 2 over R for which a swing is still small.
const LARGEST_SWING: f64 = 0.1;
/// Steps on the way to the end of a change, and halvings after the first that reaches what is wanted.
const STEPS: i32 = 8;
const HALVINGS: i32 = 9;
/// One change, with the outlooks on the way to its end.
pub(super) struct Change {
    pub(super) key: &'static str,
    pub(super) name: &'static str,
    /// Why it cannot be made at all.
    pub(super) closed: Option<String>,
    /// The run with a factor of the change, 1 for none.
    pub(super) apply: Box<dyn Fn(f64) -> Run>,
    /// What is then set, and behind a colon how or at what cost.
    pub(super) say: Say,
    way: Vec<(f64, Option<Outlook>)>,
}

/// All changes of a run, the cheapest first.
pub(super) struct Changes(pub(super) Vec<Change>);

type Say = Box<dyn Fn(&Run, &Outlook) -> String>;

impl Changes {
    pub(super) fn of(run: &Run, time_is_given: bool) -> Self {
        let mut all = vec![rate(run), noise(run), scale(run, 20.0)];
        // Only a view that the drop leaves, or does not fit into, asks for a coarser scale.
        if run.in_view().is_ok_and(|time| time < run.time) {
            all.push(scale(run, 0.1));
        }
        all.extend(coding(run));
        all.push(time(run, time_is_given));
        all.extend(
            [
                calibration(run),
                depth(run),
                both(run),
                weighing(run),
                density(run),
            ]
            .into_iter()
            .flatten(),
        );
        all.extend(swing(run));
        all.extend([size(run, 3.0), size(run, 1.0 / 3.0)]);
        Self(all)
    }
}

impl Change {
    fn new(
        run: &Run,
        key: &'static str,
        name: &'static str,
        end: f64,
        apply: impl Fn(&mut Run, f64) + 'static,
        say: Say,
    ) -> Self {
        let run = run.clone();
        let apply = Box::new(move |factor: f64| {
            let mut run = run.clone();
            apply(&mut run, factor);
            run
        });
        let mut change = Self {
            key,
            name,
            closed: None,
            apply,
            say,
            way: Vec::new(),
        };
        change.way = (1..=STEPS)
            .map(|k| {
                let factor = end.powf(f64::from(k) / f64::from(STEPS));
                (factor, change.outlook(factor))
            })
            .collect();
        change
    }

    pub(super) fn outlook(&self, factor: f64) -> Option<Outlook> {
        (self.apply)(factor).outlook().ok()
    }

    /// The least factor that reaches what is wanted.
    pub(super) fn least(&self, wish: &Wish) -> Option<f64> {
        let reaches = |outlook: &Option<Outlook>| {
            uncertainty(wish, outlook.as_ref()).is_some_and(|[u, goal]| u <= goal)
        };
        let place = self.way.iter().position(|(_, outlook)| reaches(outlook))?;
        let mut high = self.way[place].0;
        let mut low = if place == 0 { 1.0 } else { self.way[place - 1].0 };
        for _ in 0..HALVINGS {
            let middle = (low * high).sqrt();
            if reaches(&self.outlook(middle)) {
                high = middle;
            } else {
                low = middle;
            }
        }
        Some(high)
    }

    /// The best that it does on its way.
    pub(super) fn best(&self, wish: &Wish) -> Option<(f64, &Outlook)> {
        let all = self.way.iter().filter_map(|(_, outlook)| {
            let outlook = outlook.as_ref()?;
            let [u, _] = uncertainty(wish, Some(outlook))?;
            Some((u, outlook))
        });
        all.min_by(|a, b| a.0.total_cmp(&b.0))
    }
}

/// Expected and wanted standard uncertainty.
pub(super) fn uncertainty(wish: &Wish, outlook: Option<&Outlook>) -> Option<[f64; 2]> {
    let value = &outlook?.of(wish.quantity)?.value;
    Some([value.standard_uncertainty(), wish.uncertainty(value.value())])
}

/// View and time in it, for what changes the picture.
fn in_picture(run: &Run, outlook: &Outlook) -> String {
    let mut said = format!("{} of radius", text(outlook.radius_px, None, PX));
    if let Some(picture) = run.sight.picture {
        let across = picture[0].min(picture[1]) * run.scale.value();
        said += &format!(", a view of {}", text(across, None, MM));
        if outlook.in_view.is_finite() {
            said += &format!(", which it leaves after {}", text(outlook.in_view, None, S));
        }
    }
    said
}

fn rate(run: &Run) -> Change {
    let most = (1e5 / run.rate).clamp(2.0, 100.0);
    let say: Say = Box::new(|run, _| {
        format!(
            "{:.0} fps or more: at the same noise of a pixel, which the light must allow",
            run.rate.ceil()
        )
    });
    Change::new(
        run,
        "capture_rate",
        "capture rate",
        most,
        |run, k| {
            run.rate *= k;
            run.exposure = run.exposure.min(1.0 / run.rate);
        },
        say,
    )
}

fn noise(run: &Run) -> Change {
    let say: Say = Box::new(|run, _| {
        format!(
            "{} of full scale: on the light side, by more light, a fuller well, lower gain",
            percent(run.sight.noise[1])
        )
    });
    Change::new(
        run,
        "noise",
        "noise of a pixel",
        30.0,
        |run, k| run.sight.noise = run.sight.noise.map(|noise| noise / k),
        say,
    )
}

/// A finer coding: the quantiser falls by six for each factor of two.
fn coding(run: &Run) -> Option<Change> {
    let planned = run.sight.quantiser?;
    let say: Say = Box::new(|run, _| match run.sight.quantiser {
        Some(q) if q > 0 => format!("quantiser {q} or less: more bits for each picture, or none lost at all"),
        _ => "without loss: raw stills or a lossless film".into(),
    });
    let apply = move |run: &mut Run, k: f64| {
        let finer = f64::from(planned) - 6.0 * k.log2();
        run.sight.quantiser = (finer > 0.5).then_some(finer.floor() as u8);
    };
    let end = (f64::from(planned) / 6.0 + 0.1).exp2();
    Some(Change::new(run, "coding", "finer coding", end, apply, say))
}

fn scale(run: &Run, end: f64) -> Change {
    let (key, name) = if end > 1.0 {
        ("scale", "finer scale")
    } else {
        ("coarser_scale", "coarser scale")
    };
    let say: Say = Box::new(|run, outlook| {
        let told = of(Dimension::LengthPerPixel, "m/px", "mm/px");
        let scale = text(run.scale.value(), None, told);
        format!("{scale}: {}", in_picture(run, outlook))
    });
    Change::new(
        run,
        key,
        name,
        end,
        |run, k| run.scale = run.scale.scaled(1.0 / k),
        say,
    )
}

fn time(run: &Run, is_given: bool) -> Change {
    let say: Say = Box::new(|run, _| format!("{} or longer", text(run.time, None, S)));
    let mut change = Change::new(run, "time", "longer recording", 20.0, |run, k| run.time *= k, say);
    if is_given {
        change.closed = Some(format!("the place gives {}", text(run.time, None, S)));
    }
    change
}

/// A value known `k` times better.
fn surer(value: &Uncertain, k: f64) -> Uncertain {
    Uncertain::combine(value.value(), &[(value, 1.0 / k)])
}

fn calibration(run: &Run) -> Option<Change> {
    let say: Say = Box::new(|run, _| {
        format!(
            "known to {}: by a longer reference in the plane of the drop, its ends marked to less than a pixel",
            percent(run.scale.relative())
        )
    });
    let known = run.scale.standard_uncertainty() > 0.0;
    known.then(|| {
        Change::new(
            run,
            "calibration",
            "calibration of the scale",
            1000.0,
            |run, k| run.scale = surer(&run.scale, k),
            say,
        )
    })
}

fn depth(run: &Run) -> Option<Change> {
    let u = run.depth.as_ref().map_or(0.0, Uncertain::standard_uncertainty);
    let say: Say = Box::new(|run, _| {
        let u = run.depth.as_ref().map_or(0.0, Uncertain::standard_uncertainty);
        format!(
            "known to {}: by a second view, or a mark of where it floats",
            text(u, None, MM)
        )
    });
    (u > 0.0).then(|| {
        Change::new(
            run,
            "depth",
            "depth of the drop",
            1000.0,
            |run, k| run.depth = run.depth.as_ref().map(|depth| surer(depth, k)),
            say,
        )
    })
}

/// Scale and depth together: where both bind, neither alone does.
fn both(run: &Run) -> Option<Change> {
    let u = run.depth.as_ref().map_or(0.0, Uncertain::standard_uncertainty);
    let say: Say = Box::new(|run, _| {
        let u = run.depth.as_ref().map_or(0.0, Uncertain::standard_uncertainty);
        let scale = percent(run.scale.relative());
        format!("scale to {scale}, depth to {}: both at once", text(u, None, MM))
    });
    (u > 0.0 && run.scale.standard_uncertainty() > 0.0).then(|| {
        Change::new(
            run,
            "scale_and_depth",
            "scale and depth together",
            1000.0,
            |run, k| {
                run.scale = surer(&run.scale, k);
                run.depth = run.depth.as_ref().map(|depth| surer(depth, k));
            },
            say,
        )
    })
}

/// Mass to a share that falls from a twentieth; one that is known already becomes surer.
fn weighing(run: &Run) -> Option<Change> {
    let say: Say = Box::new(|run, _| {
        let mass = run.known.mass.as_ref();
        let share = mass.map_or(0.0, Uncertain::relative);
        let grams = 1e3 * mass.map_or(0.0, Uncertain::standard_uncertainty);
        format!(
            "mass known to {}: {grams:.2e} g; weigh the syringe before and after, and what stayed behind",
            percent(share)
        )
    });
    Some(Change::new(
        run,
        "weighing",
        "weighing the liquid",
        1000.0,
        |run, k| {
            run.known.mass = Some(match &run.known.mass {
                Some(mass) => surer(mass, k),
                None => weighed(run, 0.05 / k),
            });
        },
        say,
    ))
}

fn weighed(run: &Run, share: f64) -> Uncertain {
    let mass = 4.0 / 3.0 * std::f64::consts::PI * run.pair.radius.powi(3) * run.pair.density;
    let input = Input {
        key: "body.mass".into(),
        unit: "kg".into(),
        standard_uncertainty: share * mass,
        degrees_of_freedom: f64::INFINITY,
        source: "plan".into(),
    };
    Uncertain::of_input(mass, share * mass, input)
}

fn density(run: &Run) -> Option<Change> {
    let say: Say = Box::new(|run, _| {
        format!(
            "known to {}: by temperature, composition or a density meter",
            percent(run.known.density.relative())
        )
    });
    let known = run.known.density.standard_uncertainty() > 0.0;
    known.then(|| {
        Change::new(
            run,
            "density",
            "density of the liquid",
            1000.0,
            |run, k| run.known.density = surer(&run.known.density, k),
            say,
        )
    })
}

/// A larger swing, as long as it is small.
fn swing(run: &Run) -> Option<Change> {
    let largest = |run: &Run| match &run.begin {
        Begin::AtRest(all) => all.iter().map(|(_, a)| a.abs()).fold(0.0, f64::max),
        Begin::Swinging(all) => all.iter().map(|(_, a, _)| a.abs()).fold(0.0, f64::max),
    };
    let end = LARGEST_SWING / largest(run);
    let say: Say = Box::new(move |run, _| {
        format!(
            "{} of the radius: the largest amplitude when let go",
            percent(largest(run))
        )
    });
    (end > 1.0 && end.is_finite()).then(|| {
        Change::new(
            run,
            "swing",
            "larger swing",
            end,
            |run, k| match &mut run.begin {
                Begin::AtRest(all) => all.iter_mut().for_each(|(_, a)| *a *= k),
                Begin::Swinging(all) => all.iter_mut().for_each(|(_, a, _)| *a *= k),
            },
            say,
        )
    })
}

fn size(run: &Run, end: f64) -> Change {
    let say: Say = Box::new(|run, outlook| {
        format!(
            "{} across: {}",
            text(2.0 * run.pair.radius, None, MM),
            in_picture(run, outlook)
        )
    });
    let (key, name) = if end > 1.0 {
        ("larger", "larger drop")
    } else {
        ("smaller", "smaller drop")
    };
    Change::new(
        run,
        key,
        name,
        end,
        |run, k| {
            run.pair.radius *= k;
            run.known.mass = run.known.mass.as_ref().map(|mass| mass.scaled(k.powi(3)));
        },
        say,
    )
}
