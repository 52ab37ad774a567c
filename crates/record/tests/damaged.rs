//! Bundles and experiment files with bytes changed, cut away and doubled: read or refused, nothing half-done, nothing outside.

use std::fs;
use std::path::Path;

use serde_json::json;
use tremolet_record::bundle::{open, pack};
use tremolet_record::experiment::form::{Change, changed, fields};

/// Numbers without a pattern, the same each time (xorshift of 64 bits).
struct Dice(u64);

impl Dice {
    fn below(&mut self, count: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 >> 33).unwrap() % count.max(1)
    }

    /// A few bytes changed, a stretch cut away or doubled.
    fn damaged(&mut self, whole: &[u8]) -> Vec<u8> {
        let mut bytes = whole.to_vec();
        for _ in 0..1 + self.below(4) {
            let (from, length) = (self.below(bytes.len()), 1 + self.below(24));
            let to = (from + length).min(bytes.len());
            match self.below(6) {
                0 => drop(bytes.drain(from..to)),
                1 => {
                    let again = bytes[from..to].to_vec();
                    drop(bytes.splice(from..from, again));
                }
                2 => bytes.truncate(from.max(1)),
                _ if from < bytes.len() => bytes[from] = u8::try_from(self.below(256)).unwrap(),
                _ => {}
            }
        }
        bytes
    }
}

fn run(place: &Path) -> std::path::PathBuf {
    let run = place.join("run7");
    fs::create_dir_all(run.join("tables")).unwrap();
    let rows: String = (0..200)
        .map(|k| format!("{k},{}\r\n", f64::from(k) * 0.1))
        .collect();
    for (name, text) in [
        ("findings.json", "{\"format\":1}"),
        ("experiment.toml", "format = 1\n"),
        ("tables/shapes.csv", &rows),
    ] {
        fs::write(run.join(name), text).unwrap();
    }
    run
}

fn names(folder: &Path) -> Vec<String> {
    let mut all: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    all.sort();
    all
}

#[test]
fn a_damaged_bundle_is_refused_whole_or_opens_as_it_was_packed() {
    let place = tempfile::tempdir().unwrap();
    let run = run(place.path());
    let bundle = place.path().join("run7.zip");
    pack(&run, &bundle, false).unwrap();
    let whole = fs::read(&bundle).unwrap();
    let here = place.path().join("colleague");
    fs::create_dir(&here).unwrap();
    let (file, out) = (here.join("damaged.zip"), here.join("opened"));
    let mut dice = Dice(0x9E37_79B9_7F4A_7C15);
    let (mut opened, mut refused) = (0, 0);
    for _ in 0..600 {
        fs::write(&file, dice.damaged(&whole)).unwrap();
        match open(&file, &out) {
            Ok(packed) => {
                assert!(packed.files <= 3);
                for name in ["findings.json", "experiment.toml", "tables/shapes.csv"] {
                    // A file that the list no longer names may be absent, but none is other than it was.
                    if let Ok(found) = fs::read(out.join(name)) {
                        assert_eq!(found, fs::read(run.join(name)).unwrap(), "{name}");
                    }
                }
                fs::remove_dir_all(&out).unwrap();
                opened += 1;
            }
            Err(_) => refused += 1,
        }
        assert_eq!(
            names(&here),
            ["damaged.zip"],
            "nothing is left behind or written beside"
        );
    }
    // Times and the like are not under the sums; most of the file is.
    assert!(refused > 200 && opened > 2, "{refused} refused, {opened} opened");
}

#[test]
fn a_form_over_any_text_changes_what_it_says_or_nothing() {
    let template = include_str!("../src/experiment/template.toml");
    let set = Change::Set("camera.scale".into(), json!("0.071 mm/px"));
    let changes = [
        set.clone(),
        Change::Remove("liquid.name".into()),
        Change::Add("clip.mask".into(), vec![("corners".into(), json!([1, 2, 3]))]),
        Change::Drop("clip.mask".into(), 0),
    ];
    let mut dice = Dice(0xD1B5_4A32_D192_ED03);
    let mut done = 0;
    for _ in 0..1500 {
        let bytes = dice.damaged(template.as_bytes());
        let text = String::from_utf8_lossy(&bytes);
        let before = fields(&text).len();
        for change in &changes {
            if let Some(new) = changed(&text, change) {
                let after = fields(&new);
                assert!(after.len().abs_diff(before) <= 1, "{change:?} of\n{text}");
                if *change == set {
                    let value = after.iter().find(|field| field.key == "camera.scale");
                    assert_eq!(value.map(|field| &field.value), Some(&json!("0.071 mm/px")));
                    done += 1;
                }
            }
        }
    }
    assert!(done > 100, "{done}");
}
