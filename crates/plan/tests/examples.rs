//! The five invented runs of `examples/`: each makes a whole sheet, and telling rows agree with what a hand computes from the file.

#[path = "../../record/tests/schema/mod.rs"]
mod schema;

use std::f64::consts::PI;
use std::path::Path;

use serde_json::Value;
use tremolet_plan::sheet::sheet as sheet_of;
use tremolet_record::experiment::file::Experiment;
use tremolet_record::sheet::Sheet;

fn plan(kind: &str) -> Sheet {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("../../examples/{kind}/experiment.toml"));
    let experiment = Experiment::read(&file).unwrap_or_else(|faults| panic!("{faults}"));
    sheet_of(&experiment).unwrap()
}

fn value(sheet: &Sheet, key: &str) -> f64 {
    let row = sheet.row(key).unwrap_or_else(|| panic!("no row {key}"));
    row.value.unwrap_or_else(|| panic!("{key}: {}", row.why))
}

#[track_caller]
fn near(found: f64, due: f64, share: f64) {
    assert!((found / due - 1.0).abs() <= share, "{found} against {due}");
}

/// Rows that have no number in a sheet of a whole file.
fn silent(sheet: &Sheet) -> Vec<&str> {
    let rows = sheet.groups.iter().flat_map(|group| &group.rows);
    rows.filter(|row| row.text == "cannot be said")
        .map(|row| row.key.as_str())
        .collect()
}

#[test]
fn every_example_gives_a_whole_sheet() {
    for kind in ["release", "puff", "column", "shell", "fizz"] {
        let sheet = plan(kind);
        assert_eq!(sheet.kind, kind);
        assert!(
            sheet.alarms.iter().all(|alarm| alarm.code == "reaches_wall"),
            "{kind}: {:?}",
            sheet.alarms
        );
        assert!(
            silent(&sheet).iter().all(|key| *key == "time_to_wall"),
            "{kind}: {:?}",
            silent(&sheet)
        );
        assert!(sheet.procedure.len() >= 12 && sheet.cautions.len() >= 4, "{kind}");
        assert!(
            sheet
                .cautions
                .iter()
                .any(|caution| caution.code == "no_safety_approval"),
            "{kind}"
        );
        assert!(sheet.moments.len() >= 2, "{kind}");
        let keys: Vec<&str> = sheet
            .groups
            .iter()
            .flat_map(|group| &group.rows)
            .map(|row| row.key.as_str())
            .collect();
        let mut once = keys.clone();
        once.sort_unstable();
        once.dedup();
        assert_eq!(once.len(), keys.len(), "{kind}: a key twice");
        for row in sheet.groups.iter().flat_map(|group| &group.rows) {
            assert!(
                row.holds || !row.why.is_empty(),
                "{kind}: {} does not hold and does not say why",
                row.key
            );
            assert!(
                !row.formula.is_empty() && !row.source.is_empty(),
                "{kind}: {}",
                row.key
            );
        }
    }
}

#[test]
fn every_sheet_fits_the_published_schema() {
    let schema: Value = serde_json::from_str(include_str!("../../../docs/sheet.schema.json")).unwrap();
    for kind in ["release", "puff", "column", "shell", "fizz"] {
        let sheet = serde_json::to_value(plan(kind)).unwrap();
        assert_eq!(
            schema::misfits(&schema, &schema, &sheet, kind),
            Vec::<String>::new()
        );
    }
    let mut other = serde_json::to_value(plan("release")).unwrap();
    other["groups"][0]["rows"][0]["holds"] = "yes".into();
    other["kind"] = "spill".into();
    assert_eq!(schema::misfits(&schema, &schema, &other, "").len(), 2);
}

// By hand from other rows of the sheet: a driven oscillator far below its frequency and on it.
#[test]
fn jitter_swings_a_held_drop_within_its_two_ends() {
    let sheet = plan("release");
    let row = sheet.row("held_jitter").expect("a row");
    let w = 2.0 * PI * value(&sheet, "held_1");
    let a = value(&sheet, "jitter");
    let [least, most] = row.range.unwrap();
    near(least, 2.0_f64.sqrt() * a / (w * w), 1e-9);
    near(most / least, w / (2.0 * value(&sheet, "decay_2")), 1e-9);
}

// Rayleigh's frequency and the spheroid's amplitude, by hand: sigma 70.8 mN/m (from memory, 2 %) and density 1071 kg/m^3 of 30 % glycerol at 23 C.
#[test]
fn the_release_is_that_of_rayleigh() {
    let sheet = plan("release");
    let radius = (3.0 * 4.2e-6 / (4.0 * PI)).cbrt();
    let rayleigh = (8.0 * 0.0708 / (1071.0 * radius.powi(3))).sqrt() / (2.0 * PI);
    near(value(&sheet, "frequency_2"), rayleigh, 0.012);
    // 2/3 ln q to first order, q = 1.15.
    near(value(&sheet, "amplitude_2"), 2.0 / 3.0 * 1.15_f64.ln(), 0.02);
    near(
        value(&sheet, "frames_2"),
        250.0 / value(&sheet, "frequency_2"),
        1e-9,
    );
    near(value(&sheet, "radius_px"), radius / 45e-6, 1e-9);
    near(value(&sheet, "drift"), 2e-5 * 9.1 * 9.1 / 2.0, 1e-9);
    assert!(value(&sheet, "flattest") < 1.0 && value(&sheet, "held_1") < value(&sheet, "frequency_2"));
    assert_eq!(sheet.curves.len(), 2, "degrees 2 and 4 start");
}

// Even flow: U = 4 V/(pi d^2 T); rho U V with 1.19 kg/m^3. Group speed of degree 10 by the difference of neighbours.
#[test]
fn the_puff_is_that_of_its_syringe() {
    let sheet = plan("puff");
    let speed = 4.0 * 1.5e-6 / (PI * 9e-6 * 0.030);
    near(value(&sheet, "jet_speed"), speed, 1e-9);
    near(value(&sheet, "jet_impulse"), 1.19 * speed * 1.5e-6, 0.01);
    let mass = 0.998 * 0.038;
    assert!(value(&sheet, "speed_given") < value(&sheet, "jet_impulse") * 1.001 / mass);
    let radius = (3.0 * 38e-6 / (4.0 * PI)).cbrt();
    let w = |n: f64| (n * (n - 1.0) * (n + 2.0) * 0.0725 / (997.9 * radius.powi(3))).sqrt();
    near(value(&sheet, "wave_group_10"), (w(10.5) - w(9.5)) * radius, 0.005);
    let map = sheet.waves.as_ref().unwrap();
    assert!(map.heights.len() == map.times.len() && map.heights[0].len() == map.angles.len());
    // Volume stays: the height weighted by sin(angle) sums to nothing.
    let row = &map.heights[map.heights.len() / 3];
    let sum: f64 = row.iter().zip(&map.angles).map(|(h, a)| h * a.sin()).sum();
    let size: f64 = row.iter().zip(&map.angles).map(|(h, a)| h.abs() * a.sin()).sum();
    assert!(sum.abs() < 0.01 * size, "{sum} of {size}");
}

#[test]
fn the_column_is_that_of_plateau_and_keller() {
    let sheet = plan("column");
    near(value(&sheet, "limit"), PI * 8e-3, 1e-9);
    // Between the inviscid 4.508 diameters and Weber's pi sqrt(2 + 3 sqrt 2 Oh) diameters, within two per cent.
    let oh = value(&sheet, "ohnesorge");
    near(
        value(&sheet, "fastest_wavelength"),
        8e-3 * PI * (2.0 + 3.0 * 2f64.sqrt() * oh).sqrt(),
        0.02,
    );
    near(
        value(&sheet, "drop_diameter"),
        2.0 * (0.75_f64 * 16e-6 * 0.031).cbrt(),
        1e-9,
    );
    near(
        value(&sheet, "end_speed"),
        (0.0201_f64 / (935.0 * 4e-3)).sqrt(),
        0.02,
    );
    assert!(value(&sheet, "breakup_rest") > value(&sheet, "breakup_growing"));
    // By hand: inertia would end 30 ms before parting, at a neck of 1.9 mm of the column's 4 mm; the viscous law begins above an Ohnesorge number of one.
    for key in ["handover_inertial", "handover_viscous"] {
        assert!(sheet.row(key).unwrap().text.starts_with("not met"), "{key}");
    }
    assert!(sheet.row("neck_viscous_inertial_1ms").unwrap().holds);
    // Water: (0.717/0.0304)^3 mu^3/(rho sigma^2) with handbook values at 24 C (0.911 mPa s, 997.3 kg/m^3, 72.1 mN/m), from memory.
    let file =
        include_str!("../../../examples/column/experiment.toml").replace("silicone-oil-10cst", "water");
    let water =
        sheet_of(&Experiment::parse(&file, "water").unwrap_or_else(|faults| panic!("{faults}"))).unwrap();
    near(
        value(&water, "handover_inertial"),
        (0.717_f64 / 0.0304).powi(3) * 0.911e-3_f64.powi(3) / (997.3 * 0.0721 * 0.0721),
        0.02,
    );
}

#[test]
fn the_shell_is_that_of_its_volumes() {
    let sheet = plan("shell");
    let outer = (3.0 * (55e-6 + 4.0 / 3.0 * PI * 0.015_f64.powi(3)) / (4.0 * PI)).cbrt();
    near(value(&sheet, "outer_diameter"), 2.0 * outer, 1e-9);
    // 2 sigma/a + 2 sigma/b.
    near(
        value(&sheet, "bubble_pressure"),
        2.0 * 0.0724 * (1.0 / 0.015 + 1.0 / outer),
        0.005,
    );
    // n a with the index 1.333; two circles are drawn.
    near(value(&sheet, "looks"), 1.333 * 0.030, 0.002);
    // Chord at 5 mm in a room of 13 mm, slowed a little by the gas.
    let chord = 2.0 * (13e-3_f64.powi(2) - 5e-3_f64.powi(2)).sqrt();
    let time = value(&sheet, "flight_time");
    assert!(time > chord / 0.12 && time < 1.02 * chord / 0.12, "{time}");
    near(value(&sheet, "wall_offset"), 5.0 / 13.0, 1e-9);
    // The fold of the primary bow, n = 1.333: 86.1 %.
    near(
        value(&sheet, "back_fold"),
        ((4.0 - 1.333_f64 * 1.333) / 3.0).sqrt(),
        1e-3,
    );
    assert!(value(&sheet, "against_2") < value(&sheet, "together_2"));
    assert_eq!(sheet.shapes[0].outlines.len(), 2);
}

// 120 mg of NaHCO3 at 84.006 g/mol; Henry 3.88e-4 mol/(m^3 Pa) at 20 C (from memory, 3 %).
#[test]
fn the_fizz_is_that_of_its_reagents() {
    let sheet = plan("fizz");
    near(value(&sheet, "amount"), 0.120 / 84.006, 1e-4);
    near(
        value(&sheet, "gas_volume"),
        0.120 / 84.006 * 8.314_46 * 293.15 / 100_800.0,
        1e-4,
    );
    let saturated = 3.88e-4 * 100_800.0 * 30e-6;
    near(value(&sheet, "supersaturation"), 0.120 / 84.006 / saturated, 0.03);
    // Citric acid: 192.12 g/mol for three bicarbonates.
    near(
        value(&sheet, "acid_left"),
        95e-6 - 120e-6 * 192.12 / (3.0 * 84.006),
        0.01,
    );
    // All bubbles hold what comes free.
    let each = 4.0 / 3.0 * PI * value(&sheet, "final_radius").powi(3);
    assert!(300.0 * each < 1.1 * value(&sheet, "gas_volume"));
    assert!(value(&sheet, "half_out") < value(&sheet, "most_out"));
}
