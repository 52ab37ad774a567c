//! Stills: a picture has as many levels as pixels; a table of times and a list of names are read or refused.

use crate::clip::check_plane;
use tremolet_clip::numbering::numbering;
use tremolet_clip::picture::{read_picture, read_tiff_pages};
use tremolet_clip::times::read_times;

/// Reads `bytes` by how they begin.
pub fn read(bytes: &[u8]) {
    if let Some(names) = bytes.strip_prefix(b"names\n") {
        let names: Vec<String> = String::from_utf8_lossy(names)
            .lines()
            .map(str::to_owned)
            .collect();
        for with_times in [false, true] {
            let found = numbering(&names, with_times);
            if let Some(slots) = found.slots {
                assert_eq!(slots.len(), names.len(), "a slot for each name");
            }
        }
        return;
    }
    if bytes.first().is_some_and(|byte| b"#t\xEF".contains(byte)) {
        let _ = read_times(&crate::clip::place(bytes));
        return;
    }
    if let Ok(plane) = read_picture("still", bytes) {
        check_plane(&plane);
    }
    if bytes.starts_with(b"II") || bytes.starts_with(b"MM") {
        read_tiff_pages("still", bytes)
            .unwrap_or_default()
            .iter()
            .for_each(check_plane);
    }
}
