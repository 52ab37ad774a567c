//! The examples of `examples/simulated` from plan to report: planned, simulated, filmed, measured, fitted; what is measured is held against what was
//! simulated.

use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use tremolet_record::experiment::file::Experiment;
use tremolet_record::findings::{Estimate, Findings, Mode};
use tremolet_study::filmed::{self, Appearance, film};
use tremolet_study::fit::{self, fit};
use tremolet_study::measure::{self, measure};
use tremolet_study::plan::plan;
use tremolet_study::recorded::{findings, remake};
use tremolet_study::simulate::{self, simulate};
use tremolet_study::tables::read;

/// Surface tension and kinematic viscosity of water at 22 degC: IAPWS R1-76(2014) and SR6-08(2011), computed from the formulas.
const TENSION: f64 = 0.072_432;
const VISCOSITY: f64 = 9.565e-7;

fn onwards(_: u64, _: Option<u64>) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

/// An example on its way.
struct Rehearsal {
    folder: tempfile::TempDir,
    file: PathBuf,
}

impl Rehearsal {
    /// Planned, simulated, filmed, measured.
    fn of(kind: &str) -> Self {
        let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/simulated");
        let made = Self {
            folder: tempfile::tempdir().expect("a folder"),
            file: example.join(format!("{kind}.toml")),
        };
        let sheet = plan(&made.file).expect("planned");
        assert!(sheet.kind == kind && !sheet.groups.is_empty());
        let simulated = simulate::Request {
            file: &made.file,
            out: Some(&made.expected()),
            replace: false,
            resume: None,
            command: Vec::new(),
        };
        simulate(&simulated, &mut onwards).expect("simulated");
        let filmed = filmed::Request {
            run: &made.expected(),
            look: Appearance::Silhouette,
            out: Some(&made.place("clip")),
            replace: false,
        };
        let filmed = film(&filmed, &mut onwards).expect("filmed");
        assert!(filmed.assumptions.is_empty(), "{:?}", filmed.assumptions);
        let experiment = Experiment::read(&made.file).expect("an experiment");
        let request = measure::Request {
            experiment: &experiment,
            clip: made.place("clip"),
            out: made.seen(),
            replace: false,
            threads: 0,
            overlay: false,
            truth: Vec::new(),
            command: Vec::new(),
        };
        measure(&request, &mut onwards).expect("measured");
        made
    }

    fn place(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn expected(&self) -> PathBuf {
        self.place("expected")
    }

    fn seen(&self) -> PathBuf {
        self.place("seen")
    }

    /// Findings of the simulated and of the measured run.
    fn both(&self) -> [Findings; 2] {
        [self.expected(), self.seen()].map(|run| findings(&run).expect("findings"))
    }

    /// Fits, or tells why not; the report is whole in both cases.
    fn fitted(&self) -> Result<Findings, String> {
        let request = fit::Request {
            run: &self.seen(),
            command: Vec::new(),
        };
        let done = fit(&request, &mut onwards);
        for run in [self.expected(), self.seen()] {
            remake(&run).expect("a report");
        }
        done.map_err(|why| why.to_string())?;
        Ok(findings(&self.seen()).expect("findings"))
    }
}

fn mode(findings: &Findings, degree: u32) -> &Mode {
    let found = findings.modes.iter().find(|m| m.body == 1 && m.degree == degree);
    found.unwrap_or_else(|| panic!("degree {degree} rings: {:?}", findings.cautions))
}

fn of<'a>(findings: &'a Findings, quantity: &str, by_fit: bool) -> &'a Estimate {
    let is = |e: &&Estimate| e.quantity == quantity && (e.method.as_deref() == Some("fit")) == by_fit;
    let found = findings.estimates.iter().find(is);
    found.unwrap_or_else(|| panic!("{quantity}: {:?}", findings.cautions))
}

/// Whether an estimate lies within so many of its uncertainties of the truth, and that uncertainty within a share.
fn holds(estimate: &Estimate, truth: f64, times: f64, share: f64) {
    let (value, u) = (estimate.value, estimate.standard_uncertainty);
    assert!((value - truth).abs() < times * u, "{value} +- {u}, due {truth}");
    assert!(u < share * truth, "{value} +- {u}");
}

#[test]
fn a_release_gives_its_liquid_back() {
    let run = Rehearsal::of("release");
    let [simulated, seen] = run.both();
    for degree in [2, 4] {
        let (due, found) = (
            &mode(&simulated, degree).frequency,
            &mode(&seen, degree).frequency,
        );
        assert!(
            (found.value / due.value - 1.0).abs() < 3e-3,
            "{degree}: {} {}",
            found.value,
            due.value
        );
    }
    // 0.90 mL.
    assert!((of(&seen, "volume", false).value / 0.90e-6 - 1.0).abs() < 2e-3);
    let fitted = run.fitted().expect("fitted");
    holds(of(&fitted, "surface_tension", true), TENSION, 2.0, 0.02);
    assert!((of(&fitted, "surface_tension", true).value / TENSION - 1.0).abs() < 2e-3);
    let viscosity = of(&fitted, "kinematic_viscosity", true).value;
    assert!((viscosity / VISCOSITY - 1.0).abs() < 0.02, "{viscosity}");
}

#[test]
fn a_puff_leaves_every_degree_ringing() {
    let run = Rehearsal::of("puff");
    let [simulated, seen] = run.both();
    for degree in [2, 3, 4] {
        let (due, found) = (
            &mode(&simulated, degree).frequency,
            &mode(&seen, degree).frequency,
        );
        assert!(
            (found.value / due.value - 1.0).abs() < 6e-3,
            "{degree}: {} {}",
            found.value,
            due.value
        );
    }
    holds(of(&seen, "surface_tension", false), TENSION, 2.0, 0.03);
    // The impulse of the puff moves the drop down the picture.
    let shapes = read(&run.seen(), "shapes").expect("shapes");
    let heights = shapes.reals("centre_y").expect("heights");
    assert!(heights[heights.len() - 1] - heights[0] > 10.0);
    let fitted = run.fitted().expect("fitted");
    assert!((of(&fitted, "surface_tension", true).value / TENSION - 1.0).abs() < 3e-3);
}

#[test]
fn a_shell_shows_its_slow_family_and_claims_no_tension() {
    let run = Rehearsal::of("shell");
    let [simulated, seen] = run.both();
    let (due, found) = (mode(&simulated, 2), mode(&seen, 2));
    assert!((found.frequency.value / due.frequency.value - 1.0).abs() < 2e-3);
    // W = 2.739963695766^2 for a bubble of half the radius, from the inviscid two-surface problem, recomputed independently; f = sqrt(W sigma / rho b^3) / 2 pi,
    // b = 7 mm, rho = 997.77: 6.3406 Hz for small swings.
    let small = 2.739_963_695_766 * (TENSION / (997.77 * 7e-3_f64.powi(3))).sqrt() / std::f64::consts::TAU;
    assert!(
        (found.frequency.value / small - 1.0).abs() < 5e-3,
        "{} {small}",
        found.frequency.value
    );
    for findings in [&simulated, &seen] {
        assert!(findings.cautions.iter().any(|c| c.code == "no_free_drop"));
        assert!(findings.estimates.iter().all(|e| e.quantity != "surface_tension"));
    }
    let bubbles = read(&run.expected(), "bubbles").expect("bubbles");
    // Its wall swings against the outside by 0.22 of the amplitude over its own radius; it keeps its volume.
    let wall = bubbles.reals("a_2").expect("a_2");
    assert!(wall.iter().copied().fold(0.0_f64, |most, a| most.max(a.abs())) > 5e-3);
    let radius = bubbles.reals("radius").expect("radius");
    assert!(radius.iter().all(|r| (r / 3.5e-3 - 1.0).abs() < 1e-4));
    let why = run.fitted().expect_err("refused");
    assert!(why.contains("holds gas"), "{why}");
}

#[test]
fn a_column_parts_and_its_drops_have_its_volume() {
    let run = Rehearsal::of("column");
    let [simulated, seen] = run.both();
    let names: Vec<&str> = simulated.events.iter().map(|e| e.name.as_str()).collect();
    assert_eq!(names, ["pinch_off", "coalescence"], "{:?}", simulated.cautions);
    let parted = simulated.events[0].time.value;
    let bodies = read(&run.expected(), "bodies").expect("bodies");
    let volume = bodies.reals("volume").expect("volumes");
    assert!((volume[1] + volume[2]) / volume[0] - 1.0 < 2e-4 && volume.len() == 4);
    // What was measured is one of them each, the two drops among it, within 0.5 %.
    let near = |found: &Estimate, due: f64| (found.value / due - 1.0).abs() < 5e-3;
    let measured: Vec<&Estimate> = seen.estimates.iter().filter(|e| e.quantity == "volume").collect();
    let told: Vec<f64> = measured.iter().map(|e| e.value).collect();
    assert!(
        measured.iter().all(|e| volume.iter().any(|due| near(e, *due))),
        "{told:?} {volume:?}"
    );
    assert!(
        measured.iter().filter(|e| near(e, volume[1])).count() >= 2,
        "{told:?}"
    );
    // Nothing rings through enough cycles, so nothing is said of the noise of lines.
    assert!(seen.modes.is_empty() && seen.cautions.iter().all(|c| !c.code.starts_with("noise_")));
    // Seen as two from the first frames after the neck is gone.
    let shapes = read(&run.seen(), "shapes").expect("shapes");
    let (body, time) = (
        shapes.integers("body").expect("bodies"),
        shapes.reals("time").expect("times"),
    );
    let second = body
        .iter()
        .zip(time)
        .find(|(body, _)| **body == 2)
        .expect("a second body")
        .1;
    assert!((second - parted).abs() < 0.012, "{second} {parted}");
    let why = run.fitted().expect_err("refused");
    assert!(why.contains("cannot follow"), "{why}");
}
