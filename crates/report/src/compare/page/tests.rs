use super::*;
use tremolet_record::comparison::{BetweenRuns, Compared, Entry, FORMAT, Mean, MeanLine, RunRow, ScaledMode};
use tremolet_record::findings::{Caution, Quantity};

fn row(name: &str) -> RunRow {
    RunRow {
        name: name.into(),
        folder: name.into(),
        title: "A <b>run".into(),
        kind: "release".into(),
        liquid: Some("water".into()),
        temperature: Some(295.15),
        calibration: Some("cal-A".into()),
        batch: None,
        frames: 300,
        measured: None,
        cautions: 0,
        radius: None,
    }
}

fn entry(run: &str, value: f64, disagrees: bool) -> Entry {
    Entry {
        run: run.into(),
        body: 1,
        value,
        standard_uncertainty: 4e-4,
        own: 5e-5,
        as_found: None,
        route: "modes 2 to 4".into(),
        weight: Some(0.5),
        normalised_deviation: Some(0.4),
        disagrees,
    }
}

fn mode(run: &str, radius: f64) -> ScaledMode {
    let rate = (0.0727 / (998.0 * radius.powi(3))).sqrt();
    let quantity = |value: f64, unit: &str| Quantity {
        value,
        unit: unit.into(),
        standard_uncertainty: Some(1e-3),
    };
    ScaledMode {
        run: run.into(),
        body: 1,
        degree: 2,
        liquid: "water".into(),
        radius,
        frequency: quantity(rate * 8.0_f64.sqrt() / std::f64::consts::TAU, "Hz"),
        decay_rate: quantity(0.05, "1/s"),
        capillary_rate: [rate, 0.01 * rate],
        viscous_rate: Some([0.01, 1e-4]),
        reduced_frequency: [8.0_f64.sqrt(), 0.03],
        inviscid: 8.0_f64.sqrt(),
        expected: Some(2.82),
        reduced_decay: Some([5.0, 0.1]),
        expected_decay: Some(5.6),
    }
}

fn comparison() -> Comparison {
    let mean = Mean {
        value: 0.0727,
        standard_uncertainty: 3e-4,
        degrees_of_freedom: None,
        interval_95: [0.0721, 0.0733],
        within: 5e-5,
        between: 0.0,
        shared: 2.9e-4,
        between_runs: BetweenRuns {
            standard_deviation: 0.0,
            interval_95: [0.0, 2e-4],
            chi_square: 0.3,
            degrees_of_freedom: 1.0,
            probability: 0.58,
        },
        budget: vec![MeanLine {
            input: "camera.scale [cal-A]".into(),
            part: 2.9e-4,
            share: 0.94,
            values: 2,
        }],
        reference: None,
        normalised_deviation: None,
        of_those_that_agree: None,
    };
    Comparison {
        format: FORMAT,
        runs: vec![row("p1"), row("p2")],
        quantities: vec![Compared {
            quantity: "surface_tension".into(),
            unit: "N/m".into(),
            liquid: Some("water, 22 °C".into()),
            entries: vec![entry("p1", 0.0726, false), entry("p2", 0.0728, true)],
            mean: Some(mean),
            why: String::new(),
        }],
        scaling: vec![mode("p1", 6e-3), mode("p2", 9e-3)],
        cautions: vec![Caution {
            code: "few_runs".into(),
            text: "from 2 values".into(),
            frames: None,
        }],
    }
}

#[test]
fn what_runs_share_stands_beside_the_mean_and_a_run_that_disagrees_is_named_in_words() {
    let page = render(&comparison(), &[]);
    let html = &page.html;
    assert!(html.contains("72.70\u{a0}±\u{a0}0.30\u{a0}mN/m"), "{html}");
    assert!(html.contains("camera.scale [cal-A] (2 values)") && html.contains("stays with more such runs"));
    assert!(html.contains("p2 disagrees with the others") && html.contains(", disagrees</text>"));
    assert!(html.contains("few_runs") && html.contains("A &lt;b&gt;run"));
    assert!(!html.contains("<script") && html.contains("default-src 'none'"));
}

#[test]
fn figures_are_files_of_their_own_and_courses_need_two_runs() {
    let course = |name: &str| Course {
        name: name.into(),
        degree: 2,
        points: (0..50)
            .map(|i| [0.01 * f64::from(i), (0.3 * f64::from(i)).cos()])
            .collect(),
        capillary_rate: Some(10.0),
    };
    let one = render(&comparison(), &[course("p1")]);
    assert!(!one.html.contains("courses-in-seconds"));
    let two = render(&comparison(), &[course("p1"), course("p2")]);
    let names: Vec<&str> = two.figures.iter().map(|f| f.name.as_str()).collect();
    let due = [
        "values-surface-tension-of-water-22-c.svg",
        "frequency-against-size.svg",
        "frequency-against-capillary-rate.svg",
        "frequency-less-expected.svg",
        "decay-against-viscous-rate.svg",
        "courses-in-seconds.svg",
        "courses-on-capillary-time.svg",
    ];
    assert_eq!(names, due);
    assert!(
        two.figures
            .iter()
            .all(|f| f.svg.starts_with("<?xml") && two.html.contains(f.name.trim_end_matches(".svg")))
    );
}

#[test]
fn without_modes_and_means_those_parts_are_absent() {
    let mut bare = comparison();
    bare.scaling.clear();
    bare.cautions.clear();
    bare.quantities[0].mean = None;
    let html = render(&bare, &[]).html;
    assert!(
        !html.contains("id=\"scaling\"")
            && !html.contains("id=\"cautions\"")
            && !html.contains("id=\"found\"")
    );
    assert!(html.contains("id=\"values\""));
}
