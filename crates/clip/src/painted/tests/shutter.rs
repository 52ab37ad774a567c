//! Rows taken one after the other, and exposures.

use std::f64::consts::PI;

use super::*;

/// Frame of `size`, taken at time 0.01 (frame 1), read in `readout` s.
fn rolling(size: usize, readout: f64) -> Recipe {
    let mut recipe = quiet(size);
    recipe.camera.readout = readout;
    recipe
}

#[test]
fn a_sphere_across_a_rolling_shutter_leans() {
    // Row y sees the disc shifted by u (t + T y / (H - 1)), u = (a, b) px/s. In the picture the point of the disc that shows at
    // row y obeys y = Y + b (t + s y), s = T / (H - 1): y - yc = (Y - Yc) / (1 - b s), and x gains a s (y - yc). So the area is
    // pi R^2 / (1 - b s), the moments R^2/4 [1 + (g)^2, g / (1 - b s), 1 / (1 - b s)^2] with g = a s / (1 - b s).
    for (a, b, readout) in [
        (400.0, 0.0, 0.008),
        (-300.0, 500.0, 0.008),
        (100.0, -400.0, -0.009),
    ] {
        let mut recipe = rolling(160, readout);
        recipe.bodies =
            vec![PaintedBody::sphere(40.0, [80.0; 2]).along(move |t| [78.0 + a * t, 81.0 + b * t])];
        let s = readout / 159.0;
        let stretch = 1.0 / (1.0 - b * s);
        let (area, centre, second) = moments(&missing(&recipe, 1), 160);
        let round = PI * 1600.0;
        assert!((area / (round * stretch) - 1.0).abs() < 2e-5, "{area}");
        let y = (81.0 + b * 0.01) * stretch;
        let x = 78.0 + a * (0.01 + s * y);
        assert!(
            (centre[0] - x).abs() < 2e-3 && (centre[1] - y).abs() < 2e-3,
            "{centre:?}"
        );
        let g = a * s * stretch;
        // The lens blurs before the rows are read: the blurred disc leans, its moments larger by 1.25^2 + 1/12.
        let across = 400.0 + 1.25 * 1.25 + 1.0 / 12.0;
        let lean = across * g * stretch;
        assert!((second[1] - lean).abs() < 0.005, "{} {lean}", second[1]);
        let off = second[0] - second[2] - across * (1.0 + g * g - stretch * stretch);
        assert!(off.abs() < 0.005, "{off}");
    }
}

#[test]
fn a_still_body_is_the_same_in_any_shutter() {
    let mut recipe = quiet(96);
    recipe.bodies = vec![PaintedBody::moving(
        25.0,
        [48.0, 47.0],
        Still(vec![0.0, 0.0, 0.1, 0.05]),
    )];
    let still = missing(&recipe, 0);
    for (readout, exposure) in [(0.009, 0.0), (0.0, 0.004), (-0.005, 0.004)] {
        recipe.camera.readout = readout;
        recipe.camera.exposure = exposure;
        let same = missing(&recipe, 0);
        let worst = still
            .iter()
            .zip(&same)
            .map(|(a, b)| (a - b).abs())
            .fold(0.0, f64::max);
        assert!(worst < 3e-5, "{worst}");
    }
}

#[test]
fn a_bright_body_and_what_is_in_front_roll_too() {
    let mut recipe = Recipe::bright(96, 80, 2, 100.0, 1e-4);
    recipe.bodies = vec![PaintedBody::sphere(25.0, [48.0, 40.0])];
    recipe.camera = PaintedCamera::noiseless();
    recipe.obstacles = vec![Obstacle::Loop {
        centre: [48.0, 40.0],
        radius_px: 30.0,
        width_px: 3.0,
        light: 0.1,
    }];
    let mut rolled = recipe.clone();
    rolled.camera.readout = 0.005;
    let paint = |recipe: &Recipe| Painter::new(recipe.clone()).unwrap().paint(1).unwrap().plane;
    assert_eq!(paint(&recipe), paint(&rolled));
}

#[test]
fn an_exposure_smears_a_moving_body_along_its_path() {
    // The mean of discs shifted evenly over L = u e: area as before, centre at mid-exposure, moment xx larger by the variance of
    // eight even shifts, L^2 (1 - 1/64) / 12.
    let mut recipe = quiet(160);
    recipe.bodies = vec![PaintedBody::sphere(30.0, [80.0; 2]).along(|t| [70.0 + 1000.0 * t, 80.0])];
    let (sharp_area, _, sharp) = moments(&missing(&recipe, 1), 160);
    recipe.camera.exposure = 0.008;
    let (area, centre, second) = moments(&missing(&recipe, 1), 160);
    assert!((area / sharp_area - 1.0).abs() < 1e-5);
    assert!((centre[0] - 80.0).abs() < 1e-3, "{centre:?}");
    let gained = second[0] - sharp[0];
    assert!(
        (gained - 64.0 * (1.0 - 1.0 / 64.0) / 12.0).abs() < 0.02,
        "{gained}"
    );
    assert!((second[2] - sharp[2]).abs() < 0.01);
}

#[test]
fn flicker_bands_the_rows() {
    let mut recipe = rolling(41, 0.02);
    recipe.lamp.flicker = 0.1;
    recipe.lamp.flicker_hz = 25.0;
    let dark = missing(&recipe, 0);
    for row in [0, 10, 20, 40] {
        // sin(2 pi 25 t) at t = 0.02 row / 40.
        let gain = 0.1 * (2.0 * PI * 25.0 * 0.02 * row as f64 / 40.0).sin();
        assert!((dark[row * 41 + 7] + gain).abs() < 1e-4, "{row}");
    }
}

#[test]
fn the_truth_tells_the_delay_of_each_row() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("clip");
    let mut recipe = rolling(9, 0.004);
    crate::painted::stills::write_stills(&mut Painter::new(recipe.clone()).unwrap(), &path).unwrap();
    let rows = std::fs::read_to_string(path.join("truth-rows.csv")).unwrap();
    let lines: Vec<&str> = rows.lines().collect();
    assert_eq!((lines.len(), lines[0], lines[1]), (10, "row,delay_s", "0,0"));
    assert_eq!((lines[5], lines[9]), ("4,0.002", "8,0.004"));
    recipe.camera.readout = 0.0;
    let path = folder.path().join("global");
    crate::painted::stills::write_stills(&mut Painter::new(recipe.clone()).unwrap(), &path).unwrap();
    assert!(!path.join("truth-rows.csv").exists());
    recipe.camera.readout = f64::NAN;
    assert!(Painter::new(recipe).is_err());
}
