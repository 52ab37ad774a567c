//! A film under way: pictures out of turn, and the change to another decoder in the middle.

use super::*;

/// The committed film of 20 pictures without reordering.
fn film() -> Mp4 {
    let (path, file, tables) = parts();
    let mut film = Mp4::new("baseline".into(), &path, file, tables);
    film.look_at_first().expect("a picture");
    film
}

fn parts() -> (PathBuf, File, Film) {
    parts_of("baseline.mp4")
}

fn parts_of(name: &str) -> (PathBuf, File, Film) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data")
        .join(name);
    let mut file = File::open(&path).expect("committed");
    let tables = table::read_film(&mut file).expect("tables");
    (path, file, tables)
}

#[test]
fn pictures_that_wait_too_long_are_damage() {
    let (path, file, mut tables) = parts();
    // Decoded first, shown last: sixteen pictures may wait, nineteen may not.
    tables.places.reverse();
    let mut film = Mp4::new("reversed".into(), &path, file, tables);
    let error = film.look_at_first().expect_err("nineteen wait");
    assert!(error.to_string().contains("leave out frame 0"), "{error}");
    assert!(film.waiting.len() <= WAITING_AT_MOST + 1);
}

#[test]
fn another_decoder_goes_on_from_the_frame_that_is_due() {
    if !has_ffmpeg() {
        return;
    }
    let mut alone = film();
    let mut changed = film();
    for k in 0..20 {
        if k == 5 {
            assert!(changed.cautions().is_empty());
            changed
                .hand_over("a picture of another form".into(), true)
                .expect("ffmpeg");
        }
        let due = alone.next_frame().expect("readable").expect("a frame");
        assert_eq!(
            changed.next_frame().expect("readable").as_ref(),
            Some(&due),
            "{k}"
        );
    }
    assert!(changed.next_frame().expect("an end").is_none());
    let told = changed.cautions();
    assert_eq!(
        (told[0].code.as_str(), told[0].frames),
        ("decoder_changed", Some([5, 19]))
    );
    assert!(changed.info().decoder.contains("until frame 5"));
}

/// Two groups of twelve pictures with reordering, some of them needed by no other.
fn two_groups() -> Mp4 {
    let (path, file, tables) = parts_of("high_b.mov");
    let mut film = Mp4::new("two groups".into(), &path, file, tables);
    film.look_at_first().expect("a picture");
    film
}

#[test]
fn decoding_begins_anew_at_the_last_picture_that_needs_nothing() {
    let mut film = two_groups();
    film.skip_to(11).expect("readable");
    assert!(film.sample < 12, "the first group goes on");
    film.skip_to(17).expect("readable");
    assert_eq!((film.sample, film.next), (12, 17));
    assert!(film.waiting.is_empty());
    // Pictures before the seventeenth that no other needs are left out; those that others need are decoded.
    let idle: Vec<bool> = (12..24).map(|k| film.is_idle(k).expect("readable")).collect();
    assert!(idle.iter().any(|idle| *idle) && !idle[0], "{idle:?}");
    let frame = film.next_frame().expect("readable").expect("a frame");
    assert_eq!(frame.index, 17);
    film.skip_to(3).expect("readable");
    assert_eq!(film.next, 18, "never back");
    film.skip_to(99).expect("readable");
    assert!(film.next_frame().expect("an end").is_none());
}

#[test]
fn the_group_of_a_frame_begins_where_nothing_before_it_is_needed() {
    let mut film = two_groups();
    let groups: Vec<u64> = (0..24).map(|k| film.group_of(k).expect("readable")).collect();
    assert_eq!(groups[..12], [0; 12]);
    assert_eq!(groups[12..], [12; 12]);
    // Asking moves nothing.
    assert_eq!(film.next_frame().expect("readable").map(|f| f.index), Some(0));
}

#[test]
fn parameter_sets_that_are_passed_over_are_kept() {
    use std::io::Write;
    let (path, _, mut tables) = parts_of("high_b.mov");
    let folder = tempfile::tempdir().expect("a folder");
    let copy = folder.path().join("sets.mov");
    let mut bytes = std::fs::read(&path).expect("committed");
    // Sample 5 again at the end of the file, behind a picture parameter set with an identity that nobody uses.
    let set = [0x68, 0xFF, 0x80];
    let sample = tables.samples[5];
    let start = bytes.len() as u64;
    bytes.extend([0, 0, 0, 3]);
    bytes.extend(set);
    bytes.extend_from_within(sample.offset as usize..sample.offset as usize + sample.size);
    let size = bytes.len() - start as usize;
    tables.samples[5] = table::Sample { offset: start, size };
    File::create(&copy)
        .and_then(|mut f| f.write_all(&bytes))
        .expect("written");
    let file = File::open(&copy).expect("written");
    let mut film = Mp4::new("sets".into(), &copy, file, tables);
    film.look_at_first().expect("a picture");
    film.skip_to(17).expect("readable");
    assert_eq!(film.sets, [&START_CODE[..], &set[..]].concat());
}
