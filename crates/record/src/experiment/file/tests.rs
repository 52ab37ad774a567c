use crate::experiment::camera::{FirstRow, Held};
use crate::experiment::clip::{Empty, Support};
use crate::experiment::faults::Faults;
use crate::experiment::file::{Experiment, Kind};
use crate::experiment::material::Place;
use proptest::prelude::*;
use std::path::Path;

/// A file written once and never changed: it must keep loading.
const KEPT: &str = include_str!("../../../tests/data/experiment-format-1.toml");

fn faults(body: &str) -> Faults {
    Experiment::parse(&format!("format = 1\nkind = \"release\"\n{body}"), "x.toml").unwrap_err()
}

fn good(body: &str) -> Experiment {
    Experiment::parse(&format!("format = 1\nkind = \"release\"\n{body}"), "x.toml")
        .unwrap_or_else(|faults| panic!("{faults}"))
}

/// The only fault of a file: line, key, found, expected.
fn only(body: &str) -> (usize, String, String, String) {
    let all = faults(body);
    assert_eq!(all.faults.len(), 1, "{all}");
    let fault = all.faults[0].clone();
    (fault.line, fault.key, fault.found, fault.expected)
}

#[test]
fn the_kept_file_says_what_it_says() {
    let run = Experiment::parse(KEPT, "kept.toml").unwrap_or_else(|faults| panic!("{faults}"));
    assert_eq!(
        (run.title.as_deref(), run.kind),
        (Some("Cup release, run 7"), Kind::Release)
    );
    let liquid = run.liquid.as_ref().unwrap();
    assert_eq!(liquid.name.as_deref(), Some("glycerol-water"));
    assert_eq!(
        liquid.mass_fraction.as_ref().unwrap().standard_uncertainty(),
        0.005
    );
    assert_eq!(
        run.surroundings.as_ref().unwrap().place,
        Some(Place::ParabolicFlight)
    );
    let camera = run.camera.as_ref().unwrap();
    assert_eq!(camera.capture_rate.as_ref().unwrap().value(), 480.0);
    let scale = camera.scale.as_ref().unwrap();
    assert!((scale.value() - 50e-6).abs() < 1e-18 && (scale.standard_uncertainty() - 0.3e-6).abs() < 1e-18);
    assert_eq!(scale.parts()[0].input.key, "camera.scale [cal-A]");
    assert_eq!(scale.parts()[0].input.source, "stated in kept.toml");
    assert_eq!(camera.depth.as_ref().unwrap().value(), 0.0);
    assert_eq!(
        camera.held.as_deref(),
        Some([Held::Focus, Held::Zoom, Held::Exposure].as_slice())
    );
    let clip = run.clip.as_ref().unwrap();
    assert_eq!(
        (clip.path.as_path(), clip.frames.clone()),
        (Path::new("run7.mp4"), Some(0..1056))
    );
    assert_eq!(clip.empty, Some(Empty::Frames(0..20)));
    assert_eq!(clip.masks[0].corners, [[0.0, 0.0], [200.0, 0.0], [200.5, 80.0]]);
    assert_eq!(clip.masks[1].frames, Some(3..9));
    assert!((run.log.as_ref().unwrap().clock_offset.as_ref().unwrap().value() - 0.12).abs() < 1e-15);
    assert_eq!(run.release.as_ref().unwrap().support, Some(Support::Cup));
    assert_eq!(run.release.as_ref().unwrap().free_from, Some(148));
    assert!((run.body.unwrap().diameter.unwrap().value() - 0.024).abs() < 1e-15);
    assert!(run.cautions.is_empty(), "{:?}", run.cautions);
}

#[test]
fn lens_roll_and_rows_of_a_camera_are_read() {
    let text = "format = 1\nkind = \"release\"\n[camera]\nroll = \"3 deg\"\nreadout_from = \"bottom\"\n[camera.lens]\n\
                focal_length = \"1450 px\"\ncentre = [640, 360]\nradial = [-0.12, 0.03]\nradial_uncertainty = [0.002]\ntangential = [0.0005, 0]\n";
    let camera = Experiment::parse(text, "x").unwrap().camera.unwrap();
    assert!((camera.roll.unwrap().value() - 3f64.to_radians()).abs() < 1e-15);
    assert_eq!(camera.readout_from, Some(FirstRow::Bottom));
    let lens = camera.lens.unwrap();
    assert_eq!((lens.focal_px, lens.centre), (1450.0, Some([640.0, 360.0])));
    assert_eq!(
        (lens.radial, lens.u_radial),
        ([-0.12, 0.03, 0.0], [0.002, 0.0, 0.0])
    );
    assert_eq!(lens.tangential, [5e-4, 0.0]);
    for (wrong, key) in [
        ("radial = [-0.1]", "camera.lens"),
        ("focal_length = \"9 px\"\nradial = []", "camera.lens.radial"),
        (
            "focal_length = \"9 px\"\nradial = [1, 2, 3, 4]",
            "camera.lens.radial",
        ),
        (
            "focal_length = \"9 mm\"\nradial = [1]",
            "camera.lens.focal_length",
        ),
        (
            "focal_length = \"9 px\"\nradial = [1]\ntangential = [1]",
            "camera.lens.tangential",
        ),
        (
            "focal_length = \"9 px\"\nradial = [1]\nradial_uncertainty = [-1]",
            "camera.lens.radial_uncertainty",
        ),
        ("focal_length = \"9 px\"\nradial = [1]\nk1 = 1", "camera.lens.k1"),
    ] {
        let all = faults(&format!("[camera.lens]\n{wrong}\n"));
        assert_eq!(all.faults[0].key, key, "{wrong}: {:?}", all.faults);
    }
}

#[test]
fn all_faults_come_together_in_their_order() {
    let all =
        faults("[body]\ndiamter = \"24 mm\"\nmass = 7\n[camera]\nscale = \"3 mm\"\nexposure = \"-1 ms\"\n");
    let places: Vec<_> = all
        .faults
        .iter()
        .map(|f| (f.line, f.column, f.key.as_str()))
        .collect();
    assert_eq!(
        places,
        [
            (4, 1, "body.diamter"),
            (5, 8, "body.mass"),
            (7, 9, "camera.scale"),
            (8, 12, "camera.exposure")
        ]
    );
    assert!(all.faults[0].expected.starts_with("`diameter`"));
    assert!(all.faults[1].found.contains("bare integer"));
    assert!(
        all.faults[2].found.contains("is one of length"),
        "{}",
        all.faults[2].found
    );
    assert!(all.faults[3].expected.contains("above zero"));
}

#[test]
fn numbers_that_cannot_be_are_refused() {
    for (body, key) in [
        ("[body]\ndiameter = \"-24 mm\"", "body.diameter"),
        ("[body]\nvolume = \"0 mL\"", "body.volume"),
        ("[body]\nmass = \"nan g\"", "body.mass"),
        ("[body]\nmass = \"1 +- nan g\"", "body.mass"),
        ("[body]\nmass = nan", "body.mass"),
        ("[body]\nmass = \"1e999 g\"", "body.mass"),
        ("[camera]\ncapture_rate = \"0 fps\"", "camera.capture_rate"),
        ("[camera]\ncapture_rate = 480", "camera.capture_rate"),
        (
            "[camera]\nlamp_half_angle = \"100 deg\"",
            "camera.lamp_half_angle",
        ),
        ("[camera]\nreadout_time = \"-1 ms\"", "camera.readout_time"),
        ("[camera]\nheld = [\"focus\", \"aperture\"]", "camera.held"),
        ("[camera]\nheld = \"focus\"", "camera.held"),
        (
            "[camera]\ndistance = \"0.1 m\"\ndepth = \"-0.2 m\"",
            "camera.depth",
        ),
        (
            "[liquid]\nname = \"water\"\nmass_fraction = \"1.2\"",
            "liquid.mass_fraction",
        ),
        (
            "[liquid]\nname = \"water\"\ntemperature = \"-300 degC\"",
            "liquid.temperature",
        ),
        ("[liquid]\nname = \"\"", "liquid.name"),
        ("[liquid]\nname = \"  \"", "liquid.name"),
        ("[liquid]\ntemperature = \"20 degC\"", "liquid"),
        (
            "[liquid]\nname = \"x\"\nviscosity = \"1 mPa s\"\nkinematic_viscosity = \"1 cSt\"",
            "liquid.kinematic_viscosity",
        ),
        ("[gas]\nrelative_humidity = \"140 %\"", "gas.relative_humidity"),
        ("[gas]\npressure = \"0 kPa\"", "gas.pressure"),
        ("[surroundings]\nplace = \"moon\"", "surroundings.place"),
        ("[clip]\npath = \"a\"\nframes = [9, 3]", "clip.frames"),
        ("[clip]\npath = \"a\"\nframes = [3, 3]", "clip.frames"),
        ("[clip]\npath = \"a\"\nframes = [-1, 3]", "clip.frames"),
        ("[clip]\npath = \"a\"\nempty = 3", "clip.empty"),
        (
            "[clip]\npath = \"a\"\n[[clip.mask]]\ncorners = [[0, 0], [1, nan], [2, 2]]",
            "clip.mask.corners",
        ),
        (
            "[clip]\npath = \"a\"\n[[clip.mask]]\ncorners = [[0, 0], [1, 1]]",
            "clip.mask.corners",
        ),
        ("[clip]\npath = \"a\"\nmask = 3", "clip.mask"),
        ("[clip]\nframes = [0, 3]", "clip"),
        ("[log]\nclock_offset = \"1 +- 0.1 s\"", "log"),
        ("[release]\nfree_from = \"148\"", "release.free_from"),
        ("body = 3", "body"),
        ("bdy = 3", "bdy"),
    ] {
        let all = faults(body);
        assert_eq!(all.faults.len(), 1, "{body}\n{all}");
        assert_eq!(all.faults[0].key, key, "{body}\n{all}");
        assert!(all.faults[0].line > 0, "{body}\n{all}");
    }
}

#[test]
fn a_table_without_what_it_needs_is_told_where_it_begins() {
    for body in [
        "[liquid]",
        "\n[clip]\nframes = [0, 3]",
        "[clip]\npath = \"a\"\n[[clip.mask]]\nwhat = \"wire\"",
    ] {
        let line = 3 + body
            .lines()
            .take_while(|line| !line.contains("[liquid") && !line.contains("[clip]"))
            .count();
        let line = if body.contains("mask") { 5 } else { line };
        assert_eq!(only(body).0, line, "{body}");
    }
}

#[test]
fn tables_that_are_not_read_yet_are_refused_by_name() {
    let (line, key, found, _) = only("[view]\nanything = 1");
    assert_eq!((line, key.as_str()), (3, "view"));
    assert!(found.contains("not read yet"), "{found}");
    let other = Experiment::parse("format = 1\nkind = \"puff\"\n[release]\n", "x").unwrap_err();
    assert_eq!(other.faults[0].key, "release");
}

#[test]
fn format_and_kind_must_be_there() {
    let keys = |text: &str| {
        let all = Experiment::parse(text, "x").unwrap_err();
        all.faults.into_iter().map(|fault| fault.key).collect::<Vec<_>>()
    };
    assert_eq!(keys(""), ["format", "kind"]);
    assert_eq!(keys("format = 1"), ["kind"]);
    assert_eq!(keys("format = 1\nkind = \"splash\""), ["kind"]);
    assert_eq!(keys("format = \"1\"\nkind = \"puff\""), ["format"]);
    assert_eq!(keys("format = 0\nkind = \"puff\""), ["format"]);
    assert_eq!(keys("format = 2\nkind = \"splash\"\nnew = 1"), ["format"]);
    let text = Experiment::parse("format = 2", "x").unwrap_err().to_string();
    assert!(text.contains("newer version"), "{text}");
}

#[test]
fn broken_toml_is_told_with_its_line() {
    let all = faults("[body\ndiameter = \"24 mm\"\n");
    assert_eq!((all.faults[0].line, all.faults[0].key.as_str()), (3, "(file)"));
    let twice = faults("[body]\nmass = \"1 g\"\nmass = \"2 g\"\n");
    assert_eq!(twice.faults[0].line, 5);
}

#[test]
fn sizes_that_contradict_each_other_are_refused() {
    // pi (24 mm)^3 / 6 = 7.2382 mL; 2 % of the diameter are 6 % of it, 0.452 mL; computed by hand.
    good("[body]\ndiameter = \"24 mm +- 2 %\"\nvolume = \"8.5 mL\"");
    let (line, key, found, _) = only("[body]\ndiameter = \"24 mm +- 2 %\"\nvolume = \"8.7 mL\"");
    assert_eq!((line, key.as_str()), (5, "body.volume"));
    assert!(
        found.contains("7.2382 mL") && found.contains("8.7000 mL") && found.contains("1.3029 mL"),
        "{found}"
    );
    // Without any uncertainty, rounding to 1 % is no contradiction.
    good("[body]\ndiameter = \"24 mm\"\nvolume = \"7.2 mL\"");
    only("[body]\ndiameter = \"24 mm\"\nvolume = \"7.1 mL\"");
    // A mass counts with the stated density only.
    good("[body]\nvolume = \"7.2 +- 0.1 mL\"\nmass = \"20 g\"");
    let heavy = "[liquid]\ndensity = \"1000 kg/m^3\"\n[body]\nvolume = \"7.2 +- 0.1 mL\"\nmass = ";
    good(&format!("{heavy}\"7.4 g\""));
    assert_eq!(only(&format!("{heavy}\"7.6 g\"")).1, "body.mass");
}

#[test]
fn a_mass_over_a_density_keeps_what_it_depends_on() {
    let run = good("[liquid]\ndensity = \"1000 +- 10 kg/m^3\"\n[body]\nmass = \"8 +- 0.08 g\"");
    let density = run.liquid.unwrap().density.unwrap();
    let volumes = run.body.unwrap().volumes(Some(&density));
    let (key, volume) = &volumes[0];
    // 8 mL; 1 % from each of the two, and a denser liquid takes less room: r = -1 / sqrt 2 with the density.
    assert!(*key == "mass" && (volume.value() - 8e-6).abs() < 1e-15);
    assert!((volume.relative() - 2.0_f64.sqrt() * 0.01).abs() < 1e-12);
    assert!((volume.correlation(&density) + 0.5_f64.sqrt()).abs() < 1e-9);
}

#[test]
fn a_batch_of_liquid_shares_its_composition_and_not_its_temperature() {
    let run = good(
        "[liquid]\nname = \"glycerol-water\"\nbatch = \"mix-2\"\nmass_fraction = \"0.4 +- 0.005\"\n\
         temperature = \"22 +- 0.5 degC\"\ndensity = \"1098 +- 1 kg/m^3\"",
    );
    let liquid = run.liquid.unwrap();
    let key =
        |value: Option<tremolet_matter::uncertain::Uncertain>| value.unwrap().parts()[0].input.key.clone();
    assert_eq!(key(liquid.mass_fraction), "liquid.mass_fraction [mix-2]");
    assert_eq!(key(liquid.density), "liquid.density [mix-2]");
    assert_eq!(key(liquid.temperature), "liquid.temperature");
    assert_eq!(liquid.batch.as_deref(), Some("mix-2"));
    let alone = good("[liquid]\nname = \"water\"\nmass_fraction = \"0.4 +- 0.005\"")
        .liquid
        .unwrap();
    assert_eq!(key(alone.mass_fraction), "liquid.mass_fraction");
}

#[test]
fn a_reference_gives_the_scale_with_its_ends() {
    let run = good(
        "[camera]\ncalibration = \"cal-B\"\n[camera.reference]\nlength = \"50 +- 0.05 mm\"\nfrom = [100, 300]\n\
         to = [700, 1100]\nend_uncertainty = \"0.5 px\"",
    );
    let scale = run.camera.unwrap().scale.unwrap();
    // 50 mm over 1000 px; 0.1 % from the length and sqrt(2) 0.05 % from the ends: u = sqrt(1.5) 1e-3 of it.
    assert!((scale.value() - 50e-6).abs() < 1e-18);
    assert!(
        (scale.relative() - 1.5_f64.sqrt() * 1e-3).abs() < 1e-12,
        "{}",
        scale.relative()
    );
    let keys: Vec<_> = scale.parts().iter().map(|part| part.input.key.as_str()).collect();
    assert_eq!(
        keys,
        [
            "camera.reference.length [cal-B]",
            "camera.reference.end_uncertainty [cal-B]"
        ]
    );
    let clouded = good("[camera.reference]\nlength = \"50 +- 1 mm\"\nfrom = [0, 0]\nto = [1, 0]");
    assert!(
        clouded
            .cautions
            .iter()
            .any(|caution| caution.code == "reference_ends_exact")
    );
    assert_eq!(
        only("[camera.reference]\nlength = \"50 mm\"\nfrom = [1, 0]\nto = [1, 0]").1,
        "camera.reference.to"
    );
    let two =
        "[camera]\nscale = \"1 mm/px\"\n[camera.reference]\nlength = \"50 mm\"\nfrom = [1, 0]\nto = [2, 0]";
    assert_eq!(only(two).1, "camera.reference");
    assert_eq!(faults("[camera.reference]\nlength = \"50 mm\"").faults.len(), 2);
}

#[test]
fn what_clouds_a_result_is_a_caution() {
    let codes = |body: &str| {
        good(body)
            .cautions
            .into_iter()
            .map(|caution| (caution.code, caution.text))
            .collect::<Vec<_>>()
    };
    let exact = codes("[body]\ndiameter = \"24 mm\"\nmass = \"7 +- 0.1 g\"");
    assert_eq!(exact.len(), 1);
    assert!(
        exact[0].0 == "no_uncertainty_stated" && exact[0].1.contains("body.diameter;"),
        "{exact:?}"
    );
    let held = codes("[camera]\nheld = [\"zoom\"]");
    assert!(
        held[0].0 == "scale_may_drift" && held[0].1.contains("focus:"),
        "{held:?}"
    );
    let long =
        codes("[camera]\nheld = [\"zoom\", \"focus\"]\ncapture_rate = \"100 fps\"\nexposure = \"11 ms\"");
    assert!(
        long[0].0 == "exposure_longer_than_frame" && long.len() == 1,
        "{long:?}"
    );
    let row =
        codes("[camera]\nheld = [\"zoom\", \"focus\"]\ncapture_rate = \"100 fps\"\nreadout_time = \"11 ms\"");
    assert!(
        row[0].0 == "readout_time_longer_than_frame" && row.len() == 1,
        "{row:?}"
    );
    let fits =
        codes("[camera]\nheld = [\"zoom\", \"focus\"]\ncapture_rate = \"100 fps\"\nexposure = \"9 ms\"");
    assert!(fits.is_empty(), "{fits:?}");
}

#[test]
fn what_measuring_needs_is_named() {
    let keys = |body: &str| {
        let needed = good(body).needed_to_measure();
        needed.map_or_else(
            |all| all.faults.into_iter().map(|fault| fault.key).collect(),
            |()| Vec::new(),
        )
    };
    assert_eq!(
        keys(""),
        ["liquid", "clip", "camera.capture_rate", "camera.scale"]
    );
    assert_eq!(
        keys("[liquid]\nname = \"water\"\n[clip]\npath = \"a\"\n[camera]\nscale = \"1 mm/px\""),
        ["camera.capture_rate"]
    );
    let times = "[liquid]\nname = \"water\"\n[clip]\npath = \"a\"\ntimes = \"b c/t.csv\"\n[camera]\nscale = \"1 mm/px\"";
    assert!(keys(times).is_empty());
    let clip = good(times).clip.unwrap();
    assert_eq!(clip.times, Some(std::path::PathBuf::from("b c/t.csv")));
}

#[test]
fn files_are_read_with_their_folder() {
    let place = tempfile::tempdir().unwrap();
    let path = place.path().join("run 7.toml");
    std::fs::write(&path, format!("\u{feff}{}", KEPT.replace('\n', "\r\n"))).unwrap();
    let run = Experiment::read(&path).unwrap_or_else(|faults| panic!("{faults}"));
    assert_eq!(
        run.path_of(&run.clip.as_ref().unwrap().path),
        place.path().join("run7.mp4")
    );
    let none = Experiment::read(&place.path().join("none.toml"))
        .unwrap_err()
        .to_string();
    assert!(
        none.contains("none.toml") && none.contains("check the path"),
        "{none}"
    );
    std::fs::write(&path, [0xff, 0xfe, 0]).unwrap();
    assert!(Experiment::read(&path).unwrap_err().to_string().contains("UTF-8"));
}

/// Lines that look like the file, to get past the first fault.
fn lines() -> impl Strategy<Value = String> {
    let word = prop::sample::select(vec![
        "[camera]",
        "[camera.reference]",
        "[[clip.mask]]",
        "[clip]",
        "[liquid]",
        "[body]",
        "[log]",
        "[release]",
        "[camera",
        "held = [\"focus\", 3]",
        "frames = [0, 18446744073709551616]",
        "corners = [[1, 2], 3]",
        "scale = \"0.05 +- 0 mm/px\"",
        "from = [1, 1]",
        "to = [1, inf]",
        "length = \"1 m\"",
        "depth = \"-9 m\"",
        "path = \"\"",
        "diameter = \"1e-300 m\"",
        "volume = \"1e300 m^3\"",
        "mass = \"1 +- 1e308 kg\"",
        "density = \"1e-300 kg/m^3\"",
        "name = 1979-05-27",
        "capture_rate = \"1e-300 fps\"",
        "exposure = \"1e300 s\"",
    ]);
    prop::collection::vec(word, 0..14).prop_map(|lines| lines.join("\n"))
}

proptest! {
    #[test]
    fn no_text_makes_it_panic(text in "(\\PC|\n|[\\[\\]=\".a-c0-9])*") {
        prop_assert!(Experiment::parse(&text, "x").is_err());
    }

    #[test]
    fn no_lines_make_it_panic_and_every_refusal_has_a_reason(body in lines()) {
        let text = format!("format = 1\nkind = \"release\"\n{body}");
        if let Err(all) = Experiment::parse(&text, "x") {
            prop_assert!(!all.faults.is_empty());
            prop_assert!(all.faults.iter().all(|fault| fault.line <= text.lines().count().max(1)));
        }
    }
}
