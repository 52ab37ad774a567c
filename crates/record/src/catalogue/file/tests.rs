use super::*;
use std::fs;

fn run(root: &Path, name: &str, liquid: &str, calibration: &str) {
    let folder = root.join(name);
    fs::create_dir_all(&folder).unwrap();
    let experiment = format!(
        "format = 1\nkind = \"release\"\n[liquid]\nname = \"{liquid}\"\nbatch = \"mix\"\n[camera]\ncalibration = \"{calibration}\"\n"
    );
    fs::write(folder.join("experiment.toml"), experiment).unwrap();
    fs::write(
        folder.join("findings.json"),
        r#"{ "format": 1, "clip": { "frames": 300, "duration": { "value": 1, "unit": "s" }, "sha256": "ab" },
             "estimates": [ { "quantity": "surface_tension", "body": 1, "value": 0.07, "unit": "N/m", "standard_uncertainty": 0.001,
             "degrees_of_freedom": null, "interval_95": [0, 1], "route": "mode 2" } ],
             "cautions": [ { "code": "no_distance", "text": "t" } ] }"#,
    )
    .unwrap();
}

fn folders(rows: &[Row]) -> Vec<&str> {
    rows.iter().map(|row| row.folder.as_str()).collect()
}

#[test]
fn the_folders_are_the_truth_and_the_file_can_be_made_anew() {
    let place = tempfile::tempdir().unwrap();
    let root = place.path();
    run(root, "flight 3/run7", "water", "cal-A");
    run(root, "flight 3/run8", "glycerol-water", "cal-B");
    let first = Catalogue::rebuild(root).unwrap();
    assert!(first.is_kept());
    let rows = first.runs(&Filter::default()).unwrap();
    assert_eq!(folders(&rows), ["flight 3/run7", "flight 3/run8"]);
    assert_eq!(rows, walk_rows(root));
    let bytes = fs::read(root.join(NAME)).unwrap();
    fs::remove_file(root.join(NAME)).unwrap();
    assert!(Catalogue::open(root).unwrap().is_none());
    drop(Catalogue::rebuild(root).unwrap());
    assert_eq!(
        fs::read(root.join(NAME)).unwrap(),
        bytes,
        "the same folders give the same file"
    );
    let read = Catalogue::open(root).unwrap().unwrap();
    assert_eq!(read.runs(&Filter::default()).unwrap(), rows);
    assert_eq!(fs::read_dir(root).unwrap().count(), 2, "no part is left");
    fs::remove_dir_all(root.join("flight 3/run7")).unwrap();
    let rows = Catalogue::rebuild(root)
        .unwrap()
        .runs(&Filter::default())
        .unwrap();
    assert_eq!(folders(&rows), ["flight 3/run8"]);
}

fn walk_rows(root: &Path) -> Vec<Row> {
    rows(root)
}

#[test]
fn runs_are_chosen_by_what_they_are_of() {
    let place = tempfile::tempdir().unwrap();
    let root = place.path();
    run(root, "a", "water", "cal-A");
    run(root, "b", "glycerol-water", "cal-A");
    run(root, "c", "glycerol-water", "it's B; DROP TABLE run");
    let catalogue = Catalogue::rebuild(root).unwrap();
    let chosen = |filter: Filter| {
        catalogue
            .runs(&filter)
            .unwrap()
            .into_iter()
            .map(|row| row.folder)
            .collect::<Vec<_>>()
    };
    let text = |word: &str| Some(word.to_owned());
    assert_eq!(
        chosen(Filter {
            liquid: text("GLYC"),
            ..Filter::default()
        }),
        ["b", "c"]
    );
    assert_eq!(
        chosen(Filter {
            calibration: text("cal-A"),
            ..Filter::default()
        }),
        ["a", "b"]
    );
    assert_eq!(
        chosen(Filter {
            calibration: text("it's B; DROP TABLE run"),
            ..Filter::default()
        }),
        ["c"]
    );
    assert_eq!(
        chosen(Filter {
            kind: text("puff"),
            ..Filter::default()
        }),
        Vec::<String>::new()
    );
    assert_eq!(
        chosen(Filter {
            batch: text("mix"),
            kind: text("release"),
            ..Filter::default()
        })
        .len(),
        3
    );
    let one = catalogue.run("b").unwrap().unwrap();
    assert_eq!(
        (one.found[0].value, one.cautions[0].as_str(), one.frames),
        (0.07, "no_distance", Some(300))
    );
    assert!(catalogue.run("none").unwrap().is_none());
}

#[test]
fn what_is_half_or_broken_is_listed_with_its_reason() {
    let place = tempfile::tempdir().unwrap();
    let root = place.path();
    run(root, "good", "water", "cal-A");
    run(root, "torn", "water", "cal-A");
    fs::write(root.join("torn/findings.json"), "{ \"format\": 1, ").unwrap();
    run(root, "wrong", "water", "cal-A");
    fs::write(
        root.join("wrong/experiment.toml"),
        "format = 1\nkind = \"splash\"\n",
    )
    .unwrap();
    run(root, "good.replaced-20260101T000000Z", "water", "cal-A");
    run(root, ".next.17-0.unfinished", "water", "cal-A");
    fs::create_dir(root.join("empty")).unwrap();
    fs::write(root.join("empty/provenance.json"), "{}").unwrap();
    fs::create_dir_all(root.join("notes/pictures")).unwrap();
    let catalogue = Catalogue::rebuild(root).unwrap();
    assert_eq!(folders(&catalogue.runs(&Filter::default()).unwrap()), ["good"]);
    let left = catalogue.left_out().unwrap();
    let states: Vec<(&str, State)> = left.iter().map(|row| (row.folder.as_str(), row.state)).collect();
    let due = [
        (".next.17-0.unfinished", State::Unfinished),
        ("empty", State::Broken),
        ("good.replaced-20260101T000000Z", State::Replaced),
        ("torn", State::Broken),
        ("wrong", State::Broken),
    ];
    assert_eq!(states, due);
    assert!(
        left[3].reason.contains("findings.json") && left[4].reason.contains("splash"),
        "{left:?}"
    );
    assert!(left.iter().all(|row| !row.reason.is_empty()));
}

#[cfg(unix)]
#[test]
fn links_are_not_followed() {
    let place = tempfile::tempdir().unwrap();
    let outside = tempfile::tempdir().unwrap();
    run(outside.path(), "secret", "water", "cal-A");
    run(place.path(), "run", "water", "cal-A");
    std::os::unix::fs::symlink(outside.path(), place.path().join("out")).unwrap();
    std::os::unix::fs::symlink(place.path(), place.path().join("circle")).unwrap();
    let rows = Catalogue::rebuild(place.path())
        .unwrap()
        .runs(&Filter::default())
        .unwrap();
    assert_eq!(folders(&rows), ["run"]);
}

#[test]
fn a_file_of_another_version_is_not_taken_for_ours_and_a_damaged_one_is_told() {
    let place = tempfile::tempdir().unwrap();
    run(place.path(), "run", "water", "cal-A");
    drop(Catalogue::rebuild(place.path()).unwrap());
    let connection = Connection::open(place.path().join(NAME)).unwrap();
    connection
        .pragma_update(None, "user_version", VERSION + 1)
        .unwrap();
    drop(connection);
    assert!(Catalogue::open(place.path()).unwrap().is_none());
    fs::write(
        place.path().join(NAME),
        "not a database, but long enough to be looked at ".repeat(20),
    )
    .unwrap();
    assert!(Catalogue::open(place.path()).is_err_and(|why| why.to_string().contains("made anew")));
    assert!(Catalogue::rebuild(place.path()).unwrap().is_kept());
    assert!(Catalogue::rebuild(&place.path().join("none")).is_err());
}
