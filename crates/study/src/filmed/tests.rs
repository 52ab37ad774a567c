use super::*;
use crate::filmed::course::tests::write;
use tremolet_clip::open::{OpenOptions, open};

const EXPERIMENT: &str = r#"
format = 1
kind = "release"
[liquid]
name = "water"
temperature = "20 degC"
[camera]
capture_rate = "60 fps"
scale = "0.25 mm/px"
distance = "0.2 m"
picture = [64, 56]
blur = "0.8 px"
noise = "0.5 %"
axis_angle = "20 deg"
"#;

fn run() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let run = folder.path().join("expected");
    write(&run);
    std::fs::write(run.join("experiment.toml"), EXPERIMENT).expect("written");
    folder
}

fn filmed(folder: &Path, look: Appearance, out: Option<&Path>) -> Result<Filmed, StudyError> {
    let request = Request {
        run: &folder.join("expected"),
        look,
        out,
        replace: false,
    };
    film(&request, &mut |_, _| ControlFlow::Continue(()))
}

/// Half the width of what is darker than half the light along the middle row, px.
fn half_width(clip: &Path, frame: usize) -> f64 {
    let mut source = open(clip, &OpenOptions::default()).expect("a clip");
    let mut last = None;
    for _ in 0..=frame {
        last = source.next_frame().expect("read");
    }
    let plane = last.expect("a frame").plane;
    let dark = |x: usize| f64::from(plane.at(x, 28)) < 255.0 * 0.46;
    0.5 * (0..64).filter(|x| dark(*x)).count() as f64
}

#[test]
fn a_run_becomes_stills_with_their_truth() {
    let folder = run();
    let done = filmed(folder.path(), Appearance::Silhouette, None).expect("filmed");
    assert_eq!(done.clip, folder.path().join("expected-film"));
    assert_eq!(done.frames, 7);
    for name in ["times.csv", "truth.csv", "truth-outlines.csv", "frame-00006.png"] {
        assert!(done.clip.join(name).is_file(), "{name}");
    }
    let truth = std::fs::read_to_string(done.clip.join("truth.csv")).expect("there");
    // The drop and its bubble in each frame; 5 mm and 1.5 mm whatever the swing.
    assert_eq!(truth.lines().count(), 1 + 2 * 7);
    let radius = |line: &str| {
        line.split(',')
            .nth(5)
            .and_then(|x| x.parse::<f64>().ok())
            .expect("a radius")
    };
    let radii: Vec<f64> = truth.lines().skip(1).map(radius).collect();
    assert!(radii.iter().step_by(2).all(|r| (r / 5e-3 - 1.0).abs() < 1e-4));
    assert!(
        radii
            .iter()
            .skip(1)
            .step_by(2)
            .all(|r| (r / 1.5e-3 - 1.0).abs() < 1e-4)
    );
    // About 5 mm / sqrt(1 + 0.1 cos) across at 0.25 mm a pixel, a little turned.
    let [wide, narrow] = [3, 0].map(|frame| half_width(&done.clip, frame));
    assert!(
        (wide - 21.0).abs() < 1.5 && (narrow - 19.0).abs() < 1.5,
        "{wide} {narrow}"
    );
    let again = filmed(folder.path(), Appearance::Silhouette, None);
    assert!(matches!(again, Err(StudyError::There { .. })));
}

#[test]
fn a_run_becomes_a_film_with_its_truth_beside_it() {
    let folder = run();
    let out = folder.path().join("clear.mp4");
    let done = filmed(folder.path(), Appearance::Clear, Some(&out)).expect("filmed");
    let mut film = open(&done.clip, &OpenOptions::default()).expect("a film");
    let mut frames = 0;
    while film.next_frame().expect("read").is_some() {
        frames += 1;
    }
    assert_eq!(frames, 7);
    assert!(folder.path().join("clear-truth/truth.csv").is_file());
    // Water at 20 degrees has an index in the tables: nothing had to be assumed.
    assert!(done.assumptions.is_empty(), "{:?}", done.assumptions);
}

#[test]
fn a_stop_leaves_nothing() {
    let folder = run();
    for out in ["stills", "film.mp4"] {
        let request = Request {
            run: &folder.path().join("expected"),
            look: Appearance::Silhouette,
            out: Some(&folder.path().join(out)),
            replace: false,
        };
        let stopped = film(&request, &mut |done, _| {
            if done < 2 {
                ControlFlow::Continue(())
            } else {
                ControlFlow::Break(())
            }
        });
        assert!(matches!(stopped, Err(StudyError::Stopped)));
        let left = std::fs::read_dir(folder.path()).expect("there").count();
        assert_eq!(left, 1, "{out}");
    }
}
