//! Files that claim what cannot be, and the kept inputs of the fuzzer: every reader refuses or reads, none fails.

use std::fs;
use std::path::Path;

use tremolet_clip::avi::open_avi;
use tremolet_clip::error::ClipError;
use tremolet_clip::open::{OpenOptions, open};

/// The refusal of `bytes` as a file.
fn refusal(bytes: &[u8]) -> ClipError {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("clip");
    fs::write(&path, bytes).unwrap();
    match open(&path, &OpenOptions::default()) {
        Ok(_) => panic!("read"),
        Err(error) => error,
    }
}

#[test]
fn a_gif_that_claims_more_pixels_than_any_camera_is_refused() {
    // 65535 x 65535, one frame of one pixel.
    let mut bytes = b"GIF89a\xFF\xFF\xFF\xFF\x80\x00\x00\x00\x00\x00\xFF\xFF\xFF".to_vec();
    bytes.extend(b"\x2C\x00\x00\x00\x00\x01\x00\x01\x00\x00\x02\x02\x44\x01\x00\x3B");
    let error = refusal(&bytes).to_string();
    assert!(error.contains("65535x65535 pixels cannot be"), "{error}");
}

#[test]
fn a_png_that_claims_more_pixels_than_any_camera_is_refused() {
    // IHDR of 2^14 x 2^14 pixels of 8 bit grey, with its checksum, and the head of an empty IDAT.
    let header = b"IHDR\x00\x00\x40\x00\x00\x00\x40\x00\x08\x00\x00\x00\x00";
    let mut bytes = b"\x89PNG\r\n\x1a\n\x00\x00\x00\x0D".to_vec();
    bytes.extend(header);
    bytes.extend(checksum(header).to_be_bytes());
    bytes.extend(b"\x00\x00\x00\x00IDAT\x35\xAF\x06\x1E");
    let error = refusal(&bytes).to_string();
    assert!(error.contains("16384x16384 pixels cannot be"), "{error}");
}

/// The cyclic redundancy check of PNG chunks, bit by bit.
fn checksum(bytes: &[u8]) -> u32 {
    let step = |crc: u32| {
        if crc & 1 == 1 {
            0xEDB8_8320 ^ (crc >> 1)
        } else {
            crc >> 1
        }
    };
    !bytes.iter().fold(u32::MAX, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| step(crc))
    })
}

#[test]
fn lists_in_lists_without_end_do_not_exhaust_the_stack() {
    let levels = 100_000_u32;
    let lists = (0..levels).rev().flat_map(|left| {
        let size = 12 * left + 4;
        [*b"LIST", size.to_le_bytes(), *b"movi"].concat()
    });
    let mut bytes = [*b"RIFF", (12 * levels + 4).to_le_bytes(), *b"AVI "].concat();
    bytes.extend(lists);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("deep.avi");
    fs::write(&path, bytes).unwrap();
    assert!(matches!(open_avi(&path), Err(ClipError::NoVideo { .. })));
}

/// Every kept input of the fuzzer goes through the door for all clips; frames that come are as the clip says.
#[test]
fn the_kept_inputs_of_the_fuzzer_are_read_or_refused() {
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fuzz/corpus");
    let mut count = 0;
    for target in ["mp4", "avi", "cine", "gif", "apng", "y4m", "stills"] {
        for entry in fs::read_dir(corpus.join(target)).expect("kept inputs") {
            let path = entry.unwrap().path();
            // What is not read here would go to an outside program, which is not under test.
            let head = fs::read(&path).unwrap();
            if head.len() < 12 || head.starts_with(b"names") {
                continue;
            }
            count += 1;
            let Ok(mut clip) = open(&path, &OpenOptions::default()) else {
                continue;
            };
            for _ in 0..8 {
                match clip.next_frame() {
                    Ok(Some(frame)) => clip.info().check(&frame).unwrap(),
                    _ => break,
                }
            }
        }
    }
    assert!(count >= 15, "{count} inputs");
}
