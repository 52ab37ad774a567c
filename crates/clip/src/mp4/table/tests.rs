//! Order, cuts and turns on small tables written by hand.

use super::*;

const WHOLE: Cut = Cut {
    start: None,
    end: None,
    shift: 0,
};

#[test]
fn display_follows_composition_not_decoding() {
    // I P B B: decoded 0 1 2 3, shown 0 3 1 2.
    let (places, stamps) = order(&[0, 300, 100, 200], &WHOLE);
    assert_eq!(places, [Some(0), Some(3), Some(1), Some(2)]);
    assert_eq!(stamps, [0, 100, 200, 300]);
}

#[test]
fn samples_outside_the_cut_are_decoded_but_not_shown() {
    let cut = Cut {
        start: Some(100),
        end: Some(300),
        shift: -100,
    };
    let (places, stamps) = order(&[0, 300, 100, 200], &cut);
    assert_eq!(places, [None, None, Some(0), Some(1)]);
    assert_eq!(stamps, [0, 100]);
}

#[test]
fn a_quarter_turn_is_clockwise() {
    // 1 2 3      4 1
    // 4 5 6  ->  5 2
    //            6 3
    let turned = quarter_turn(&Plane::eight(3, 2, vec![1, 2, 3, 4, 5, 6]));
    assert_eq!(turned, Plane::eight(2, 3, vec![4, 1, 5, 2, 6, 3]));
}

/// A box.
fn boxed(kind: &[u8; 4], body: &[u8]) -> Vec<u8> {
    let mut out = ((body.len() + 8) as u32).to_be_bytes().to_vec();
    out.extend_from_slice(kind);
    out.extend_from_slice(body);
    out
}

/// A table box: version and flags, then numbers of four bytes.
fn table(kind: &[u8; 4], numbers: &[u32]) -> Vec<u8> {
    let mut body = vec![0; 4];
    body.extend(numbers.iter().flat_map(|n| n.to_be_bytes()));
    boxed(kind, &body)
}

#[test]
fn samples_follow_chunks_and_runs() {
    // Chunk 1 holds two samples, chunks 2 and 3 one each.
    let stbl = [
        table(b"stsz", &[0, 4, 10, 20, 30, 40]),
        table(b"stco", &[3, 100, 200, 300]),
        table(b"stsc", &[2, 1, 2, 1, 2, 1, 1]),
    ]
    .concat();
    let found = samples(&stbl, 340).expect("samples");
    let expected = [(100, 10), (110, 20), (200, 30), (300, 40)].map(|(offset, size)| Sample { offset, size });
    assert_eq!(found, expected);
    assert!(
        samples(&stbl, 339)
            .expect_err("too short")
            .contains("sample 3 of 4")
    );
}

#[test]
fn times_need_to_reach_all_samples_and_shift_by_their_offsets() {
    let stts = table(b"stts", &[2, 2, 100, 1, 50]);
    assert_eq!(composition_times(&stts, 3).expect("times"), [0, 100, 200]);
    assert!(composition_times(&stts, 4).is_err());
    let minus = (-100_i32) as u32;
    let both = [stts, table(b"ctts", &[2, 1, 200, 2, minus])].concat();
    assert_eq!(composition_times(&both, 3).expect("times"), [200, 0, 100]);
}

#[test]
fn an_edit_list_delays_and_cuts() {
    let mut mvhd = vec![0; 12];
    mvhd.extend(1000_u32.to_be_bytes());
    let header = boxed(b"mvhd", &mvhd);
    let empty = u32::MAX;
    let trak = boxed(
        b"edts",
        &table(b"elst", &[2, 500, empty, 1 << 16, 2000, 300, 1 << 16]),
    );
    let found = cut(&header, &trak, 3000).expect("a cut");
    assert_eq!(
        found,
        Cut {
            start: Some(300),
            end: Some(6303),
            shift: 1200
        }
    );
    let cuts = boxed(
        b"edts",
        &table(b"elst", &[2, 500, 0, 1 << 16, 2000, 300, 1 << 16]),
    );
    assert!(matches!(cut(&header, &cuts, 3000), Err(TableError::Foreign(_))));
}

#[test]
fn the_matrix_gives_quarter_turns() {
    let tkhd = |a: i32, b: i32, c: i32, d: i32| {
        let mut body = vec![0; 40];
        for value in [a, b, 0, c, d, 0, 0, 0, 1] {
            body.extend((value << 16).to_be_bytes());
        }
        body
    };
    let turns = |a, b, c, d| quarter_turns(&tkhd(a, b, c, d)).ok();
    assert_eq!(turns(1, 0, 0, 1), Some(0));
    assert_eq!(turns(0, 1, -1, 0), Some(1));
    assert_eq!(turns(-1, 0, 0, -1), Some(2));
    assert_eq!(turns(0, -1, 1, 0), Some(3));
    assert_eq!(turns(-1, 0, 0, 1), None);
}
