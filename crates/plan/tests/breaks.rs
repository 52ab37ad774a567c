//! What cannot work is said in the first lines with the number that breaks; the nearest that is told to work, works.

use tremolet_plan::sheet::sheet;
use tremolet_record::experiment::file::Experiment;
use tremolet_record::sheet::Sheet;

fn plan(kind: &str, rest: &str) -> Sheet {
    let text = format!("format = 1\nkind = \"{kind}\"\n{rest}");
    let experiment = Experiment::parse(&text, "plan.toml").unwrap_or_else(|faults| panic!("{faults}"));
    sheet(&experiment).unwrap()
}

fn broken(sheet: &Sheet, code: &str) -> Option<String> {
    sheet
        .alarms
        .iter()
        .find(|alarm| alarm.code == code)
        .map(|alarm| alarm.text.clone())
}

/// The number before `word` after the text `after`.
fn number(text: &str, after: &str, word: &str) -> f64 {
    let tail = &text[text
        .find(after)
        .unwrap_or_else(|| panic!("no `{after}` in {text}"))
        + after.len()..];
    let head = &tail[..tail.find(word).unwrap_or_else(|| panic!("no `{word}` in {tail}"))];
    let last = head.split_whitespace().last().unwrap_or_default();
    last.parse().unwrap_or_else(|_| panic!("`{last}` in {text}"))
}

#[test]
fn a_drop_too_large_for_its_time_gets_the_largest_that_works() {
    let of = |diameter: f64| {
        plan(
            "release",
            &format!(
                "[liquid]\nname = \"water\"\n[body]\ndiameter = \"{diameter} mm\"\n[surroundings]\navailable_time = \"2 s\"\n"
            ),
        )
    };
    let text = broken(&of(60.0), "too_large_for_time").expect("it is too large");
    let most = number(&text, "the largest drop that does is", "mm");
    assert!(broken(&of(0.99 * most), "too_large_for_time").is_none());
    assert!(broken(&of(1.01 * most), "too_large_for_time").is_some());
}

#[test]
fn a_rate_below_two_frames_a_period_is_told_with_the_one_that_works() {
    let of = |rate: f64| {
        plan(
            "release",
            &format!(
                "[liquid]\nname = \"water\"\n[body]\ndiameter = \"4 mm\"\n[camera]\ncapture_rate = \"{rate} fps\"\nscale = \"0.02 mm/px\"\n"
            ),
        )
    };
    let slow = of(60.0);
    let text = broken(&slow, "rate_below_modes").expect("degree 2 of 4 mm swings at 43 Hz");
    let least = number(&text, "more than", "fps");
    assert!(broken(&of(least), "rate_below_modes").is_none_or(|text| !text.contains("degree 2")));
    let row = slow.row("frames_2").unwrap();
    assert!(row.why.contains("falsely"), "{}", row.why);
}

#[test]
fn water_that_boils_at_the_pressure_is_told() {
    let of = |pressure: &str| {
        plan(
            "release",
            &format!(
                "[liquid]\nname = \"water\"\ntemperature = \"30 degC\"\n[gas]\nname = \"air\"\npressure = \"{pressure}\"\n[body]\ndiameter = \"10 mm\"\n"
            ),
        )
    };
    // Water at 30 C has a vapour pressure of 4.25 kPa (handbook value, from memory).
    assert!(broken(&of("4.0 kPa"), "boils").is_some());
    assert!(broken(&of("4.5 kPa"), "boils").is_none());
}

#[test]
fn a_bubble_larger_than_its_drop_is_told() {
    let of = |bubble: &str| {
        plan(
            "shell",
            &format!(
                "[liquid]\nname = \"water\"\n[body]\ndiameter = \"30 mm\"\n[shell]\nbubble = \"{bubble}\"\n"
            ),
        )
    };
    let large = of("31 mm");
    assert!(broken(&large, "bubble_larger_than_drop").is_some());
    assert!(
        large
            .row("against_2")
            .is_some_and(|row| row.value.is_none() && !row.why.is_empty()),
        "what cannot be said has no number"
    );
    assert!(large.row("time_to_wall").is_some(), "what can be given is given");
    assert!(broken(&of("29 mm"), "bubble_larger_than_drop").is_none());
}

#[test]
fn more_gas_than_the_drop_holds_is_told_with_the_share_that_fits() {
    let of = |bicarbonate: f64| {
        plan(
            "fizz",
            &format!(
                "[liquid]\nname = \"water\"\ntemperature = \"20 degC\"\n[gas]\nname = \"air\"\npressure = \"100 kPa\"\n[body]\nvolume = \"20 mL\"\n[fizz]\nbicarbonate = \"{bicarbonate} mg\"\nacid = \"2 g\"\n"
            ),
        )
    };
    let text = broken(&of(600.0), "more_gas_than_drop_holds").expect("170 mL of gas in 20 mL");
    let share = number(&text, "is the most,", "of what");
    // What stays dissolved stays so: the free gas is cut to the share, the reagents a little less.
    assert!(broken(&of(600.0 * share), "more_gas_than_drop_holds").is_none());
}

#[test]
fn a_short_column_a_wall_a_closed_vessel_and_the_ground_are_told() {
    let oil = "[liquid]\nname = \"water\"\n[column]\ndiameter = \"10 mm\"\n";
    assert!(
        broken(
            &plan("column", &format!("{oil}length = \"31 mm\"\n")),
            "column_stays_whole"
        )
        .is_some()
    );
    assert!(
        broken(
            &plan("column", &format!("{oil}length = \"32 mm\"\n")),
            "column_stays_whole"
        )
        .is_none()
    );
    let near = "[liquid]\nname = \"water\"\n[body]\ndiameter = \"20 mm\"\n[surroundings]\nplace = \"ground\"\navailable_time = \"5 s\"\nwall = \"100 mm\"\n";
    let ground = plan("release", near);
    assert!(broken(&ground, "no_free_fall").is_some() && broken(&ground, "reaches_wall").is_some());
    let closed = "[liquid]\nname = \"water\"\n[body]\nvolume = \"20 mL\"\n[fizz]\nbicarbonate = \"1 g\"\nacid = \"1 g\"\ncontainer = \"200 mL\"\n";
    assert!(broken(&plan("fizz", closed), "pressure_in_container").is_some());
}

#[test]
fn a_puff_that_throws_the_drop_about_is_told_with_the_volume_that_does_not() {
    let of = |volume: f64| {
        plan(
            "puff",
            &format!(
                "[liquid]\nname = \"water\"\n[body]\nvolume = \"30 mL\"\n[puff]\nvolume = \"{volume} mL\"\nduration = \"30 ms\"\nnozzle = \"3 mm\"\ndistance = \"30 mm\"\n"
            ),
        )
    };
    let text = broken(&of(20.0), "puff_too_strong").expect("it is thrown about");
    let most = number(&text, "with", "mL");
    assert!(broken(&of(0.98 * most), "puff_too_strong").is_none());
}

#[test]
fn a_bare_file_still_gives_what_can_be_given() {
    for kind in ["release", "puff", "column", "shell", "fizz"] {
        let bare = plan(kind, "[liquid]\nname = \"water\"\n");
        assert!(
            bare.groups
                .iter()
                .flat_map(|group| &group.rows)
                .any(|row| row.why.contains("not stated")),
            "{kind}"
        );
        assert!(!bare.procedure.is_empty() && !bare.cautions.is_empty());
    }
}
