use super::*;
use std::fs;
use std::path::Path;

/// What an invented run says.
struct Told<'a> {
    name: &'a str,
    calibration: &'a str,
    temperature: &'a str,
    tension: f64,
    /// Standard uncertainties of the surface tension from the scale, the depth and the fit, N/m.
    parts: [f64; 3],
    clip: &'a str,
}

const TOLD: Told<'static> = Told {
    name: "p1",
    calibration: "cal-A",
    temperature: "22 +- 0.5 degC",
    tension: 0.0690,
    parts: [3e-4, 4e-5, 2e-5],
    clip: "aa",
};

fn run(place: &Path, told: &Told<'_>) -> PathBuf {
    let folder = place.join(told.name);
    fs::create_dir(&folder).unwrap();
    let experiment = format!(
        "format = 1\nkind = \"release\"\ntitle = \"{}\"\n[liquid]\nname = \"glycerol-water\"\nbatch = \"mix-2\"\nmass_fraction = \"0.4 +- 0.005\"\n\
         temperature = \"{}\"\n[camera]\ncapture_rate = \"240 fps\"\nscale = \"0.06 +- 0.0001 mm/px\"\ncalibration = \"{}\"\n",
        told.name, told.temperature, told.calibration
    );
    fs::write(folder.join("experiment.toml"), experiment).unwrap();
    let u2: f64 = told
        .parts
        .iter()
        .map(|part| (part * told.tension / TOLD.tension).powi(2))
        .sum();
    let line = |(input, unit, u, part): (String, &str, f64, f64)| {
        format!(
            "{{ \"input\": \"{input}\", \"standard_uncertainty\": {u}, \"unit\": \"{unit}\", \"sensitivity\": {}, \"share\": {} }}",
            part / u,
            part * part / u2
        )
    };
    // Errors that scale the value, as those of a length do.
    let [scale, depth, fit] = told.parts.map(|part| part * told.tension / TOLD.tension);
    let lines = [
        (
            format!("camera.scale [{}]", told.calibration),
            "mm/px",
            1e-4,
            scale,
        ),
        ("camera.depth".into(), "mm", 1.0, -depth),
        ("frequencies and decay rates (fit)".into(), "N/m", fit, fit),
    ]
    .map(line)
    .join(", ");
    let (y, u) = (told.tension, u2.sqrt());
    let findings = format!(
        "{{ \"format\": 1, \"clip\": {{ \"frames\": 300, \"duration\": {{ \"value\": 1.2, \"unit\": \"s\" }}, \"sha256\": \"{}\" }}, \"estimates\": [ {{ \
         \"quantity\": \"surface_tension\", \"body\": 1, \"value\": {y}, \"unit\": \"N/m\", \"standard_uncertainty\": {u}, \
         \"degrees_of_freedom\": null, \"interval_95\": [0, 1], \"route\": \"modes 2 to 4\", \"budget\": [ {lines} ] }} ] }}",
        told.clip
    );
    fs::write(folder.join("findings.json"), findings).unwrap();
    folder
}

/// Runs of calibrations, with the surface tension of each, mN/m.
fn campaign(place: &Path, runs: &[(&str, f64)]) -> Vec<PathBuf> {
    let one = |(i, (calibration, tension)): (usize, &(&str, f64))| {
        let (name, clip) = (format!("p{i}"), format!("clip {i}"));
        run(
            place,
            &Told {
                name: &name,
                calibration,
                tension: 1e-3 * tension,
                clip: &clip,
                ..TOLD
            },
        )
    };
    runs.iter().enumerate().map(one).collect()
}

fn codes(comparison: &Comparison) -> Vec<&str> {
    comparison.cautions.iter().map(|c| c.code.as_str()).collect()
}

#[test]
fn a_calibration_that_runs_share_is_not_averaged_away() {
    let place = tempfile::tempdir().unwrap();
    let folders = campaign(
        place.path(),
        &[
            ("cal-A", 69.00),
            ("cal-A", 69.02),
            ("cal-A", 68.98),
            ("cal-A", 69.01),
        ],
    );
    let found = compare(&folders).unwrap().comparison;
    let tension = &found.quantities[0];
    let mean = tension.mean.as_ref().unwrap();
    assert!((mean.value - 0.0690025).abs() < 1e-7, "{mean:?}");
    // The scale stays 0.3 mN/m; depth and fit, 0.0447 together, are halved by four runs.
    assert!((mean.shared - 3e-4).abs() < 1e-6, "{mean:?}");
    assert!((mean.within - 4.472e-5 / 2.0).abs() < 2e-7, "{mean:?}");
    assert_eq!(mean.between, 0.0);
    assert!(
        (mean.budget[0].share - 0.9945).abs() < 1e-3 && mean.budget[0].values == 4,
        "{:?}",
        mean.budget
    );
    assert!(
        tension
            .entries
            .iter()
            .all(|e| !e.disagrees && (e.own - 4.472e-5).abs() < 1e-7)
    );
    assert!(mean.reference.is_some() && mean.normalised_deviation.is_some());
    assert!(codes(&found).is_empty(), "{:?}", found.cautions);
    let said = said::text(&found);
    assert!(
        said.contains("camera.scale [cal-A] in 4") && said.contains("expected"),
        "{said}"
    );
    assert!(json(&found).unwrap().contains("\"between_runs\""));
}

#[test]
fn two_calibrations_share_the_weight() {
    let place = tempfile::tempdir().unwrap();
    let runs = [
        "cal-A", "cal-A", "cal-A", "cal-A", "cal-A", "cal-B", "cal-B", "cal-B",
    ];
    let folders = campaign(place.path(), &runs.map(|name| (name, 69.0)));
    let found = compare(&folders).unwrap().comparison;
    let entries = &found.quantities[0].entries;
    let first: f64 = entries[..5].iter().filter_map(|e| e.weight).sum();
    assert!((first - 0.5).abs() < 0.01, "{first}");
    let mean = found.quantities[0].mean.as_ref().unwrap();
    assert!((mean.shared - 3e-4 / 2.0_f64.sqrt()).abs() < 1e-6, "{mean:?}");
}

#[test]
fn a_run_that_is_off_is_named_and_stays_in_the_mean() {
    let place = tempfile::tempdir().unwrap();
    let folders = campaign(
        place.path(),
        &[
            ("cal-A", 69.00),
            ("cal-A", 69.02),
            ("cal-A", 68.98),
            ("cal-A", 69.01),
            ("cal-A", 67.5),
        ],
    );
    let found = compare(&folders).unwrap().comparison;
    let tension = &found.quantities[0];
    let off: Vec<&str> = tension
        .entries
        .iter()
        .filter(|e| e.disagrees)
        .map(|e| e.run.as_str())
        .collect();
    assert_eq!(off, ["p4"]);
    let mean = tension.mean.as_ref().unwrap();
    assert!(mean.value < 0.0688 && mean.between > 1e-4, "{mean:?}");
    let [without, _] = mean.of_those_that_agree.unwrap();
    assert!((without - 0.0690025).abs() < 1e-7);
    assert!(codes(&found).contains(&"runs_disagree"));
}

#[test]
fn runs_at_two_temperatures_meet_in_the_middle() {
    let place = tempfile::tempdir().unwrap();
    // Glycerol-water of 40 % loses some 0.1 mN/m for each kelvin.
    let cold = run(
        place.path(),
        &Told {
            temperature: "20 +- 0.1 degC",
            tension: 0.0695,
            ..TOLD
        },
    );
    let warm = Told {
        name: "p2",
        temperature: "24 +- 0.1 degC",
        tension: 0.0690,
        clip: "bb",
        ..TOLD
    };
    let warm = run(place.path(), &warm);
    let found = compare(&[cold, warm]).unwrap().comparison;
    let tension = &found.quantities[0];
    assert_eq!(tension.liquid.as_deref(), Some("glycerol-water, 40 %, 22 °C"));
    let [first, second] = &tension.entries[..] else {
        panic!("two entries")
    };
    assert!(
        first.value < 0.0695 - 1e-4 && first.as_found == Some(0.0695),
        "{first:?}"
    );
    assert!(
        second.value > 0.0690 + 1e-4 && second.as_found == Some(0.0690),
        "{second:?}"
    );
    assert!((first.value - second.value).abs() < 2e-4);
    assert_eq!(codes(&found), ["few_runs"]);
}

#[test]
fn one_clip_counts_once_and_what_may_be_shared_is_told() {
    let place = tempfile::tempdir().unwrap();
    let told = Told {
        parts: [1e-5, 3e-4, 1e-5],
        ..TOLD
    };
    let names = ["p1", "p2", "p3", "p4", "p5"];
    let clips = ["a", "b", "c", "d", "a"];
    let folders: Vec<PathBuf> = names
        .iter()
        .zip(clips)
        .map(|(name, clip)| run(place.path(), &Told { name, clip, ..told }))
        .collect();
    let found = compare(&folders).unwrap().comparison;
    let tension = &found.quantities[0];
    assert_eq!(tension.entries[4].weight, None);
    assert!((tension.mean.as_ref().unwrap().within - 1.5e-4).abs() < 1e-6);
    assert_eq!(codes(&found), ["same_clip", "may_be_one_error"]);
    // Four depths as one: 0.3 mN/m in place of 0.15.
    assert!(found.cautions[1].text.contains("camera.depth") && found.cautions[1].text.contains("2.0 times"));
}

#[test]
fn one_run_is_nothing_to_compare_and_a_folder_that_is_none_is_refused() {
    let place = tempfile::tempdir().unwrap();
    let one = run(place.path(), &TOLD);
    assert!(compare(std::slice::from_ref(&one)).is_err_and(|e| e.is_bad_input()));
    let twice = [one.clone(), place.path().join("./p1")];
    assert!(compare(&twice).is_err_and(|e| e.to_string().contains("one run")));
    let none = place.path().join("none");
    assert!(compare(&[one, none]).is_err_and(|e| e.is_bad_input() && e.to_string().contains("none")));
}

#[test]
fn a_folder_of_page_figures_and_tables_is_whole_or_absent() {
    let place = tempfile::tempdir().unwrap();
    let folders = campaign(place.path(), &[("cal-A", 69.0), ("cal-A", 69.1)]);
    let found = compare(&folders).unwrap();
    let out = place.path().join("both");
    write::folder(&found.comparison, &found.courses, &out, false).unwrap();
    let values = fs::read_to_string(out.join("tables/values.csv")).unwrap();
    assert!(
        values.lines().count() > 2 && values.contains("surface_tension") && values.contains("p1"),
        "{values}"
    );
    assert!(
        fs::read_to_string(out.join("comparison.html"))
            .unwrap()
            .contains("Surface tension of glycerol-water")
    );
    let json = fs::read_to_string(out.join("comparison.json")).unwrap();
    let read: Comparison = serde_json::from_str(&json).unwrap();
    assert_eq!(
        (&read.runs, &read.cautions),
        (&found.comparison.runs, &found.comparison.cautions)
    );
    let mean = |comparison: &Comparison| comparison.quantities[0].mean.as_ref().unwrap().value;
    assert!((mean(&read) / mean(&found.comparison) - 1.0).abs() < 1e-12);
    assert_eq!(fs::read_dir(out.join("figures")).unwrap().count(), 1);
    assert!(out.join("series/values.parquet").is_file());
    assert!(write::folder(&found.comparison, &found.courses, &out, false).is_err_and(|e| e.is_bad_input()));
    let page = place.path().join("page.html");
    write::page(&found.comparison, &found.courses, &page, false).unwrap();
    assert!(write::page(&found.comparison, &found.courses, &page, false).is_err_and(|e| e.is_bad_input()));
    write::page(&found.comparison, &found.courses, &page, true).unwrap();
}

#[test]
fn a_folder_stands_for_the_runs_below_it_and_what_is_left_out_is_told() {
    let place = tempfile::tempdir().unwrap();
    campaign(
        place.path(),
        &[
            ("cal-A", 69.0),
            ("cal-B", 69.1),
            ("cal-A", 69.05),
            ("cal-A", 69.02),
        ],
    );
    fs::write(place.path().join("p3/findings.json"), "{").unwrap();
    let below = [place.path().to_owned()];
    let all = chosen(&below, &Filter::default()).unwrap().comparison;
    let names = |comparison: &Comparison| {
        comparison
            .runs
            .iter()
            .map(|run| run.name.clone())
            .collect::<Vec<_>>()
    };
    assert_eq!(names(&all), ["p0", "p1", "p2"]);
    let told = all.cautions.iter().find(|c| c.code == "runs_left_out").unwrap();
    assert!(
        told.text.contains("p3") && told.text.contains("broken"),
        "{}",
        told.text
    );
    let some = Filter {
        calibration: Some("cal-A".into()),
        ..Filter::default()
    };
    assert_eq!(names(&chosen(&below, &some).unwrap().comparison), ["p0", "p2"]);
    let none = Filter {
        kind: Some("fizz".into()),
        ..Filter::default()
    };
    assert!(chosen(&below, &none).is_err_and(|e| e.is_bad_input()));
    assert!(place.path().join("catalogue.sqlite").is_file());
}

/// The estimate of a run told once more, by the fitted simulation and 0.5 mN/m higher.
fn fitted_too(run: &Path) {
    let file = run.join("findings.json");
    let mut findings: serde_json::Value = serde_json::from_str(&fs::read_to_string(&file).unwrap()).unwrap();
    let estimates = findings["estimates"].as_array_mut().unwrap();
    let mut fit = estimates[0].clone();
    fit["value"] = (fit["value"].as_f64().unwrap() + 5e-4).into();
    fit["method"] = crate::fit::told::METHOD.into();
    fit["route"] = "simulation fitted to the outlines".into();
    estimates.push(fit);
    fs::write(file, findings.to_string()).unwrap();
}

#[test]
fn a_fitted_simulation_takes_the_place_of_free_decay() {
    let place = tempfile::tempdir().unwrap();
    let runs = campaign(place.path(), &[("cal-A", 69.0), ("cal-A", 69.1), ("cal-A", 68.9)]);
    for run in &runs[..2] {
        fitted_too(run);
    }
    let found = compare(&runs).unwrap().comparison;
    let entries: Vec<(f64, bool)> = found.quantities[0]
        .entries
        .iter()
        .map(|e| ((1e4 * e.value).round() / 10.0, e.route.contains("simulation")))
        .collect();
    assert_eq!(entries, [(69.5, true), (69.6, true), (68.9, false)]);
}
