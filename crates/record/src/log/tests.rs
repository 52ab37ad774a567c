use super::*;
use proptest::prelude::*;

fn log(right: Option<(&str, f64)>, down: Option<(&str, f64)>) -> Log {
    let axis = |of: Option<(&str, f64)>| {
        of.map(|(column, sign)| Axis {
            column: column.into(),
            sign,
        })
    };
    Log {
        path: "cabin.csv".into(),
        clock_offset: None,
        event: None,
        time: None,
        time_unit: None,
        axes: [axis(right), axis(down)],
        unit: None,
        gives: Gives::Case,
        zero: None,
    }
}

/// A header with eight rows `time, ax, az`.
fn table(header: &str, row: impl Fn(u32) -> String) -> String {
    let rows: Vec<String> = (0..8).map(row).collect();
    format!("{header}\n{}\n", rows.join("\n"))
}

// Leftwards 3 thousandths of standard gravity is read where the case is pushed leftwards: a free body goes rightwards.
#[test]
fn units_ways_and_whose_acceleration_it_is() {
    let text = table("# cabin\ntime_s, ax [mg], az (m/s^2), note", |k| {
        format!("{}, 3, -0.5, x", 0.1 * f64::from(k))
    });
    let wanted = log(Some(("ax", -1.0)), Some(("az", 1.0)));
    let read = parse(&text, &wanted).expect("read");
    assert_eq!((read.times.len(), read.left_out), (8, 0));
    let value = |axis: usize| read.axes[axis].as_ref().expect("wanted")[7];
    assert!((value(0) - 3.0 * 9.80665e-3).abs() < 1e-12 && (value(1) - 0.5).abs() < 1e-12);
    let other = Log {
        gives: Gives::FreeBody,
        zero: Some(tremolet_matter::uncertain::Uncertain::exact(0.1)),
        ..wanted
    };
    let read = parse(&text, &other).expect("read");
    assert!((read.axes[1].as_ref().expect("wanted")[0] + 0.6).abs() < 1e-12);
}

#[test]
fn semicolons_come_with_decimal_commas_and_gaps_are_counted() {
    let text = table("t [ms];\"ax_mg\"", |k| match k {
        3 => "300;".into(),
        4 => "nan;1".into(),
        _ => format!("{};0,5", 100 * k),
    }) + "\n800;1,5\n900;2\n";
    let wanted = log(Some(("ax", 1.0)), None);
    let read = parse(&text, &wanted).expect("read");
    assert_eq!((read.times.len(), read.left_out), (8, 2));
    assert!((read.steps().0 - 0.1).abs() < 1e-12 && (read.steps().1 - 0.3).abs() < 1e-12);
    let values = read.axes[0].as_ref().expect("wanted");
    assert!((values[0] + 0.5 * 9.80665e-3).abs() < 1e-12 && (values[6] + 1.5 * 9.80665e-3).abs() < 1e-12);
}

#[test]
fn what_is_wrong_is_told_with_its_line() {
    let wanted = log(Some(("ax", 1.0)), None);
    let of = |text: &str, wanted: &Log| {
        let told = parse(text, wanted).expect_err("refused");
        (told.line, format!("{} / {}", told.found, told.expected))
    };
    let told = |text: &str| of(text, &wanted);
    assert_eq!(told("").0, None);
    let (line, text) = told("# x\nwhen,ax [mg]\n1,2\n");
    assert!(line == Some(2) && text.contains("when, ax"), "{text}");
    let (line, text) = told("t [s],ay [mg]\n1,2\n");
    assert!(
        line == Some(1) && text.contains("no column ax among t, ay") && text.contains("right in [log]"),
        "{text}"
    );
    let (_, text) = told("time,ax [mg]\n1,2\n");
    assert!(
        text.contains("no unit of column time") && text.contains("time_unit = \"s\""),
        "{text}"
    );
    let (_, text) = told("time_s,ax\n1,2\n");
    assert!(
        text.contains("no unit of column ax") && text.contains("unit = \"mg\""),
        "{text}"
    );
    let (_, text) = told("time_s,ax [V]\n1,2\n");
    assert!(text.contains("the unit V of column ax"), "{text}");
    let (line, text) = told("time_s,ax_g\n1,2\n2,two\n");
    assert!(
        line == Some(3) && text.contains("\"two\" in column ax_g"),
        "{text}"
    );
    let (line, text) = told("time_s,ax_g\n12:30:01,2\n");
    assert!(line == Some(2) && text.contains("times of day"), "{text}");
    let (line, text) = told("time_s,ax_g\n1,2\n\n1,3\n");
    assert!(line == Some(4) && text.contains("does not rise"), "{text}");
    let (line, text) = told("time_s,ax_g\n1,2\n2,3\n");
    assert!(line.is_none() && text.contains("2 rows"), "{text}");
    let units = Log {
        unit: Some(1.0),
        time_unit: Some(1e-3),
        time: Some("when".into()),
        ..wanted.clone()
    };
    let text = table("when,ax", |k| format!("{k},1"));
    assert!(parse(&text, &units).is_ok_and(|read| read.times[7] == 7e-3));
    assert!(of("time_s,ax_g\n1,2\n", &units).1.contains("no column when"));
}

#[test]
fn a_log_that_is_not_there_is_named() {
    let told = read(Path::new("no such log.csv"), &log(None, None))
        .expect_err("absent")
        .to_string();
    assert!(
        told.contains("no such log.csv") && told.contains("check the path"),
        "{told}"
    );
}

proptest! {
    #[test]
    fn no_text_makes_it_panic(text in "(\\PC|\n|[;,.#a-z0-9\\[\\]()\t]){0,200}") {
        let wanted = log(Some(("ax", 1.0)), Some(("az", -1.0)));
        let _ = parse(&text, &wanted);
        let _ = parse(&format!("time_s,ax_g,az [mg]\n{text}"), &wanted);
    }
}
