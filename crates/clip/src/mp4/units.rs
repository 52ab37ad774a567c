//! What the units of a sample are, from their heads alone: where decoding can begin, and what can be left out.
//!
//! The first byte of a unit holds its importance for others (bits 5 and 6) and its kind (bits 0 to 4): 5 is a slice of a
//! picture before which nothing is needed, 7 and 8 are parameter sets (\[H264\] 7.3.1, table 7-1). Decodes nothing; a sample
//! that makes no sense is told by whoever decodes it.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};

use crate::mp4::table::Sample;

/// A unit of a sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unit {
    /// First byte in the file.
    pub offset: u64,
    /// Bytes.
    pub size: usize,
    /// Kind, 1 to 31.
    pub kind: u8,
    /// Whether others may need it.
    pub needed: bool,
}

impl Unit {
    fn new(offset: u64, size: usize, head: u8) -> Self {
        let kind = head & 31;
        Self {
            offset,
            size,
            kind,
            needed: head & 0x60 != 0 || is_parameter_set(kind),
        }
    }

    /// Whether it holds parameters of pictures that come later.
    pub fn is_parameter_set(&self) -> bool {
        is_parameter_set(self.kind)
    }
}

fn is_parameter_set(kind: u8) -> bool {
    matches!(kind, 7 | 8 | 13 | 15)
}

/// The units of a sample that lies in `file`, each behind its length of `length_size` bytes, up to the first that does not fit.
///
/// # Errors
/// The system refuses.
pub fn units(file: &mut File, sample: Sample, length_size: usize) -> io::Result<Vec<Unit>> {
    let end = sample.offset + sample.size as u64;
    let (mut at, mut found) = (sample.offset, Vec::new());
    while at + (length_size as u64) < end {
        let mut head = [0; 5];
        let head = &mut head[..=length_size];
        file.seek(SeekFrom::Start(at))?;
        file.read_exact(head)?;
        let size = head[..length_size]
            .iter()
            .fold(0, |sum, byte| sum << 8 | u64::from(*byte));
        let offset = at + length_size as u64;
        if size > end - offset {
            break;
        }
        if size > 0 {
            // No longer than its sample, so a cast keeps it.
            found.push(Unit::new(offset, size as usize, head[length_size]));
        }
        at = offset + size;
    }
    Ok(found)
}

/// Whether a picture begins here before which nothing is needed.
pub fn begins_anew(units: &[Unit]) -> bool {
    units
        .iter()
        .find(|unit| (1..=5).contains(&unit.kind))
        .is_some_and(|unit| unit.kind == 5)
}

/// As [`begins_anew`], for a stream with start codes.
pub fn stream_begins_anew(stream: &[u8]) -> bool {
    let kinds = stream
        .windows(4)
        .filter(|w| w[..3] == [0, 0, 1])
        .map(|w| w[3] & 31);
    kinds.into_iter().find(|kind| (1..=5).contains(kind)) == Some(5)
}

/// Whether the units hold a picture that no other picture needs, and nothing else that is needed.
pub fn needed_by_none(units: &[Unit]) -> bool {
    units.iter().any(|unit| unit.kind == 1) && units.iter().all(|unit| !unit.needed)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;

    #[test]
    fn heads_tell_what_units_are_and_damage_ends_them() {
        let mut file = tempfile::tempfile().expect("a file");
        // Three stray bytes, then: a set, a picture that begins anew, an empty unit, one that claims too much.
        let bytes = [9, 9, 9, 0, 2, 0x67, 1, 0, 3, 0x65, 1, 2, 0, 0, 0, 9, 0x41, 1];
        file.write_all(&bytes).expect("written");
        let sample = Sample {
            offset: 3,
            size: bytes.len() - 3,
        };
        let found = units(&mut file, sample, 2).expect("readable");
        let told: Vec<_> = found
            .iter()
            .map(|u| (u.offset, u.size, u.kind, u.needed))
            .collect();
        assert_eq!(told, [(5, 2, 7, true), (9, 3, 5, true)]);
        assert!(found[0].is_parameter_set() && begins_anew(&found) && !needed_by_none(&found));
    }

    #[test]
    fn the_first_slice_of_a_stream_tells_whether_it_begins_anew() {
        assert!(stream_begins_anew(&[0, 0, 0, 1, 0x67, 9, 0, 0, 1, 0x65, 1]));
        assert!(!stream_begins_anew(&[0, 0, 0, 1, 0x41, 9, 0, 0, 1, 0x65, 1]));
        assert!(!stream_begins_anew(&[0, 0, 1, 0x67]) && !stream_begins_anew(&[]));
    }

    #[test]
    fn a_picture_is_needed_by_none_only_where_nothing_with_it_is() {
        let unit = |head: u8| Unit::new(0, 1, head);
        assert!(needed_by_none(&[unit(0x06), unit(0x01), unit(0x01)]));
        assert!(!needed_by_none(&[unit(0x41)]) && !needed_by_none(&[unit(0x07), unit(0x01)]));
        assert!(!needed_by_none(&[]) && !needed_by_none(&[unit(0x06)]));
        assert!(!begins_anew(&[unit(0x41), unit(0x65)]) && begins_anew(&[unit(0x06), unit(0x65)]));
    }
}
