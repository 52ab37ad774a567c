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
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/baseline.mp4");
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
