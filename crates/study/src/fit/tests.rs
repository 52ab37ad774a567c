use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use tremolet_record::experiment::file::Experiment;

use super::told::METHOD;
use super::{Request, fit};
use crate::error::StudyError;
use crate::fit::shown;
use crate::tables::column::{integers, reals};
use crate::tables::read;
use crate::{filmed, measure, outline, recorded, simulate};

/// A drop of some liquid that was drawn long and let go.
const EXPERIMENT: &str = r#"
format = 1
kind = "release"
[liquid]
density = "1000 kg/m^3"
surface_tension = "30 +- 1 mN/m"
viscosity = "6 mPa s"
[gas]
name = "vacuum"
[body]
diameter = "10 mm"
[camera]
capture_rate = "150 fps"
scale = "0.2 +- 0.0001 mm/px"
distance = "2 m"
picture = [96, 96]
blur = "0.8 px"
noise = "0.5 %"
axis_angle = "20 deg"
[release]
shape = "spheroid"
aspect_ratio = "1.5"
free_from = 0
[surroundings]
available_time = "0.6 s"
"#;

fn onwards(_: u64, _: Option<u64>) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

/// Simulated, filmed from far away and measured.
fn measured(folder: &Path) -> PathBuf {
    let file = folder.join("experiment.toml");
    std::fs::write(&file, EXPERIMENT).expect("written");
    let expected = folder.join("expected");
    let request = simulate::Request {
        file: &file,
        out: Some(&expected),
        replace: false,
        resume: None,
        command: Vec::new(),
    };
    simulate::simulate(&request, &mut onwards).expect("simulated");
    let request = filmed::Request {
        run: &expected,
        look: filmed::Appearance::Silhouette,
        out: None,
        replace: false,
    };
    let film = filmed::film(&request, &mut onwards).expect("filmed");
    let experiment = Experiment::read(&file).expect("read");
    let request = measure::Request {
        experiment: &experiment,
        clip: film.clip,
        out: folder.join("run"),
        replace: false,
        threads: 1,
        overlay: false,
        truth: Vec::new(),
        command: Vec::new(),
    };
    measure::measure(&request, &mut onwards).expect("measured")
}

fn asked(run: &Path) -> Request<'_> {
    Request {
        run,
        command: vec!["fit".into()],
    }
}

#[test]
fn a_large_swing_is_fitted_told_and_drawn() {
    let folder = tempfile::tempdir().expect("a folder");
    let run = measured(folder.path());
    let before = std::fs::read(run.join("findings.json")).expect("there");

    let mut tried = 0;
    let mut stop = |done: u64, _: Option<u64>| {
        tried = done;
        if done < 3 {
            ControlFlow::Continue(())
        } else {
            ControlFlow::Break(())
        }
    };
    assert!(matches!(fit(&asked(&run), &mut stop), Err(StudyError::Stopped)));
    assert_eq!(tried, 3);
    assert_eq!(
        std::fs::read(run.join("findings.json")).expect("there"),
        before,
        "a stopped fit changes nothing"
    );

    fit(&asked(&run), &mut onwards).expect("fitted");
    let findings = recorded::findings(&run).expect("read");
    let of = |quantity: &str| {
        let mut all = findings.estimates.iter();
        all.find(|e| e.quantity == quantity && e.method.as_deref() == Some(METHOD))
            .unwrap_or_else(|| panic!("no {quantity}: {:?}", findings.cautions))
    };
    // What was simulated: 30 mN/m and 6 mm^2/s.
    for (quantity, truth, most) in [
        ("surface_tension", 0.030, 0.01),
        ("kinematic_viscosity", 6e-6, 0.1),
    ] {
        let found = of(quantity);
        let off = (found.value / truth - 1.0).abs();
        assert!(
            off < most && off * truth < 4.0 * found.standard_uncertainty,
            "{quantity} {}",
            found.value
        );
    }
    let report = std::fs::read_to_string(run.join("report.html")).expect("there");
    for words in [
        "The simulation beside the clip",
        "simulation-body-1",
        "simulation-left-body-1",
        "at rest as far as",
    ] {
        assert!(report.contains(words), "{words}");
    }
    silhouettes_lie_on_outlines(&run);

    let count = findings.estimates.len();
    fit(&asked(&run), &mut onwards).expect("fitted once more");
    let again = recorded::findings(&run).expect("read");
    assert_eq!(
        again.estimates.len(),
        count,
        "a second fit takes the place of the first"
    );
    assert_eq!(again.correlations.len(), findings.correlations.len());
}

fn silhouettes_lie_on_outlines(run: &Path) {
    let table = read(run, "fit").expect("read");
    let frames = integers(&table, "frame").expect("there");
    let left = reals(&table, "left").expect("there");
    assert!(frames.len() > 50 && left.iter().all(|px| *px < 0.2));
    let frame = u64::try_from(frames[20]).expect("a frame");
    let found = shown::silhouettes(run, frame).expect("read");
    let [body] = &found[..] else { panic!("{found:?}") };
    let outlines = read(run, "outlines").expect("read");
    let of_frame = integers(&outlines, "frame").expect("there");
    let (x, y) = (
        reals(&outlines, "x").expect("there"),
        reals(&outlines, "y").expect("there"),
    );
    let own = (0..x.len()).filter(|i| of_frame[*i] == frames[20]);
    let mut count = 0;
    for i in own {
        let nearest = body
            .points
            .iter()
            .map(|p| (p[0] - x[i]).hypot(p[1] - y[i]))
            .fold(f64::MAX, f64::min);
        // Places lie less than a pixel apart.
        assert!(nearest < 0.6, "{nearest}");
        count += 1;
    }
    assert!(count > 50);
    let seen = outline::outlines(run, frame).expect("read");
    assert_eq!((seen.len(), &seen[0].simulated), (1, &body.points));
    assert_eq!(seen[0].left, Some(left[20]));
    assert!(shown::silhouettes(run, 100_000).expect("read").is_empty());
}

#[test]
fn what_cannot_be_fitted_is_refused_with_what_to_do() {
    let folder = tempfile::tempdir().expect("a folder");
    let refused = fit(&asked(folder.path()), &mut onwards);
    assert!(refused.is_err_and(|why| why.is_bad_input()));
    let run = measured(folder.path());
    let file = run.join("experiment.toml");
    let text = std::fs::read_to_string(&file).expect("there");
    let shell = text
        .split("[release]")
        .next()
        .expect("a part")
        .replace("\"release\"", "\"shell\"");
    std::fs::write(&file, shell).expect("written");
    let told = fit(&asked(&run), &mut onwards).expect_err("a bubble in it");
    assert!(
        told.is_bad_input() && told.to_string().contains("holds gas"),
        "{told}"
    );
    std::fs::remove_file(run.join("series/outlines.parquet")).expect("there");
    let told = super::series(&run).expect_err("no outlines").to_string();
    assert!(told.contains("first filmed"), "{told}");
}
