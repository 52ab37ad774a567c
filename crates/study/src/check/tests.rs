use super::*;

/// A water drop of 20 mm: f_2 = 3.84 Hz, f_3 = 7.4 Hz, f_4 = 11.5 Hz by Rayleigh's formula, sigma 72.74 mN/m, rho 998.2 kg/m^3.
fn codes(camera: &str, rest: &str, view: View) -> Vec<String> {
    let text = format!(
        "format = 1\nkind = \"release\"\n[liquid]\nname = \"water\"\ntemperature = \"20 +- 0.1 degC\"\n[gas]\nname = \"vacuum\"\n\
         [camera]\n{camera}\n{rest}\n"
    );
    let experiment = Experiment::parse(&text, "x").unwrap();
    let materials = materials(&experiment).unwrap();
    let expected = expected(&experiment, &materials);
    let found = foreseen(&experiment, Some(&materials), &expected, view);
    found.into_iter().map(|c| c.code).collect()
}

const BODY: &str = "[body]\ndiameter = \"20 +- 0.1 mm\"";

fn seen(frames: f64) -> View {
    View {
        size_px: Some([600.0, 400.0]),
        frames: Some(frames),
    }
}

#[test]
fn the_modes_are_those_of_the_formula() {
    let text = format!(
        "format = 1\nkind = \"release\"\n[liquid]\nname = \"water\"\ntemperature = \"20 +- 0.1 degC\"\n[gas]\nname = \"vacuum\"\n{BODY}"
    );
    let experiment = Experiment::parse(&text, "x").unwrap();
    let all = expected(&experiment, &materials(&experiment).unwrap());
    // Rayleigh 1879, by hand: sqrt(8 * 0.07274 / (998.2 * 1e-6)) / 2 pi = 3.8427 Hz; viscosity lowers it by 1e-4.
    assert!((all[0].frequency / 3.8427 - 1.0).abs() < 5e-4, "{all:?}");
    // Lamb 1932: 5 nu / R^2 = 5 * 1.0034e-6 / 1e-4 = 0.0502 1/s, exact less by a few percent.
    assert!((all[0].decay_rate / 0.0502 - 1.0).abs() < 0.05, "{all:?}");
}

#[test]
fn a_rate_below_the_modes_is_told() {
    let at = |rate: &str| codes(&format!("capture_rate = \"{rate} fps\""), BODY, View::default());
    assert_eq!(at("22"), ["rate_below_modes"]);
    assert_eq!(at("24"), ["few_frames_a_period"]);
    assert!(at("240").is_empty());
}

#[test]
fn a_body_that_drifts_away_or_does_not_fit_is_told() {
    let camera = |scale: &str| {
        format!("capture_rate = \"240 fps\"\nreadout_time = \"0 ms\"\nscale = \"{scale} mm/px\"")
    };
    let rest = |a: &str| format!("{BODY}\n[surroundings]\nresidual_acceleration = \"{a} m/s^2\"");
    // 400 px of 0.1 mm leave 10 mm on each side; 0.01 m/s^2 for 2 s goes 20 mm, 0.004 goes 8 mm.
    assert_eq!(
        codes(&camera("0.1"), &rest("0.01"), seen(480.0)),
        ["drifts_out_of_view"]
    );
    assert!(codes(&camera("0.1"), &rest("0.004"), seen(480.0)).is_empty());
    assert_eq!(
        codes(&camera("0.049"), &rest("0.004"), seen(480.0)),
        ["too_large_for_view"]
    );
}

// A radius of 100 px in 399 steps of rows, 1/240 s: 1.044 ms from the middle to the last row. Degree 4 at 11.5 Hz: 72.3 * 1.044e-3 * 5/9 = 4.2 %.
// A drift of 0.01 m/s^2 for 1 s runs 100 px/s: 2/3 * 100 / 240 / 399 = 0.07 %, of 0.05 m/s^2 0.35 %.
#[test]
fn a_readout_that_is_not_stated_is_told_where_it_matters() {
    let all = |rate: &str, readout: &str, a: &str| {
        let text = format!(
            "format = 1\nkind = \"release\"\n[liquid]\nname = \"water\"\ntemperature = \"20 +- 0.1 degC\"\n[gas]\nname = \"vacuum\"\n\
             [camera]\ncapture_rate = \"{rate} fps\"\nscale = \"0.1 mm/px\"\n{readout}\n{BODY}\n[surroundings]\nresidual_acceleration = \"{a} m/s^2\"\n"
        );
        let experiment = Experiment::parse(&text, "x").unwrap();
        let materials = materials(&experiment).unwrap();
        let expected = expected(&experiment, &materials);
        let frames = rate.parse::<f64>().unwrap();
        let found = foreseen(&experiment, Some(&materials), &expected, seen(frames));
        let of = |c: &Caution| c.code == "readout_not_stated";
        found.into_iter().find(of).map_or(String::new(), |c| c.text)
    };
    let told = all("240", "", "0.01");
    assert!(
        told.contains("4.2 % of the swing of degree 4") && told.contains("up to 4.17 ms"),
        "{told}"
    );
    assert!(
        told.contains("2.09 ms apart") && !told.contains("drift"),
        "{told}"
    );
    let told = all("240", "", "0.05");
    assert!(
        told.contains("a drift of 50.0 mm/s") && told.contains("0.35 %"),
        "{told}"
    );
    assert_eq!(all("240", "readout_time = \"0 ms\"", "0.05"), "");
    assert_eq!(all("2400", "", "0.01"), "");
}

#[test]
fn a_short_record_and_a_long_exposure_are_told() {
    let rate = "capture_rate = \"240 fps\"";
    assert_eq!(codes(rate, BODY, seen(150.0)), ["short_record"]);
    // sin(x)/x = 0.99 at x = 0.245: 6.8 ms at 11.5 Hz.
    let exposed = |ms: &str| format!("{rate}\nexposure = \"{ms} ms\"");
    assert_eq!(codes(&exposed("7.2"), BODY, seen(480.0)), ["exposure_smears"]);
    assert!(codes(&exposed("6.4"), BODY, seen(480.0)).is_empty());
}

#[test]
fn mass_and_diameter_that_disagree_are_told() {
    // 20 mm of water weigh 4.181 g.
    let body = |mass: &str| format!("{BODY}\nmass = \"{mass} +- 0.01 g\"");
    assert!(codes("capture_rate = \"240 fps\"", &body("4.18"), seen(480.0)).is_empty());
    assert_eq!(
        codes("capture_rate = \"240 fps\"", &body("5.0"), seen(480.0)),
        ["sizes_disagree"]
    );
}

#[test]
fn scale_and_rate_from_the_picture_are_told() {
    let text = "format = 1\nkind = \"release\"\n[camera]\nheld = [\"focus\", \"zoom\"]\n[camera.reference]\nlength = \"50 +- 0.05 mm\"\n\
                from = [0, 0]\nto = [1000, 0]\nend_uncertainty = \"0.5 px\"\n[camera.clock]\nfirst_frame = 0\nfirst_reading = \"0 s\"\n\
                last_frame = 480\nlast_reading = \"2 s\"\nreading_uncertainty = \"5 ms\"\n[camera.second_reference]\nlength = \"10 +- 0.1 mm\"\n\
                from = [0, 0]\nto = [0, 200]\n";
    let experiment = Experiment::parse(text, "x").unwrap();
    let checked = thought_through(&experiment).unwrap();
    let given: Vec<(&str, &str)> = checked.given.iter().map(|g| (g.key, g.text.as_str())).collect();
    // 50 um/px with 0.1225 %; 240 per second with sqrt(2) 5 ms in 2 s.
    assert_eq!(
        given,
        [
            ("camera.scale", "0.050000 +- 0.000061 mm/px, by the known length"),
            (
                "camera.capture_rate",
                "240.00 +- 0.85 fps, by the clock in the picture"
            ),
        ]
    );
    let said = checked.text();
    assert!(
        said.contains(
            "by hand: the reference gives 0.05000 mm/px, the second reference 0.05000 mm/px, 0.00 % apart"
        ),
        "{said}"
    );
}
