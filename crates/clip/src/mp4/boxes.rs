//! The boxes that an MP4 file is made of: length, four letters, body (\[ISO14496-12\] 4.2), and big-endian numbers in them.
//!
//! Reads from memory with every length checked, so that no file can make it run past an end. Knows no box by meaning.

/// What is wrong, for a message.
pub type Problem = String;

/// Kind and body of a box.
pub type Boxed<'a> = ([u8; 4], &'a [u8]);

/// The boxes side by side in `bytes`: kind and body.
///
/// # Errors
/// A box that is longer than what holds it.
pub fn boxes(mut bytes: &[u8]) -> Result<Vec<Boxed<'_>>, Problem> {
    let mut found = Vec::new();
    while bytes.len() >= 8 {
        let kind = [bytes[4], bytes[5], bytes[6], bytes[7]];
        let (head, size) = match number(bytes, 0, 4)? {
            0 => (8, bytes.len() as u64),
            1 => (16, number(bytes, 8, 8)?),
            size => (8, size),
        };
        let size = usize::try_from(size).unwrap_or(usize::MAX);
        if size < head || size > bytes.len() {
            return Err(format!(
                "box {} is longer than what holds it",
                kind.escape_ascii()
            ));
        }
        found.push((kind, &bytes[head..size]));
        bytes = &bytes[size..];
    }
    Ok(found)
}

/// The first box of a kind among the boxes in `bytes`.
///
/// # Errors
/// When the boxes do not fit.
pub fn child<'a>(bytes: &'a [u8], kind: &[u8; 4]) -> Result<Option<&'a [u8]>, Problem> {
    let all = boxes(bytes)?;
    Ok(all
        .into_iter()
        .find(|(found, _)| found == kind)
        .map(|(_, body)| body))
}

/// The first box along a path of kinds.
///
/// # Errors
/// When the boxes do not fit, or one on the path is absent.
pub fn child_at<'a>(bytes: &'a [u8], path: &[&[u8; 4]]) -> Result<&'a [u8], Problem> {
    path.iter().try_fold(bytes, |bytes, kind| {
        child(bytes, kind)?.ok_or_else(|| format!("box {} is missing", kind.escape_ascii()))
    })
}

/// A big-endian number of `size` bytes (up to 8) at `at`.
///
/// # Errors
/// Past the end.
pub fn number(bytes: &[u8], at: usize, size: usize) -> Result<u64, Problem> {
    let field = bytes.get(at..at + size).ok_or("a box is cut short")?;
    Ok(field.iter().fold(0, |sum, byte| sum << 8 | u64::from(*byte)))
}

/// A big-endian signed 32-bit number at `at`.
///
/// # Errors
/// Past the end.
pub fn signed(bytes: &[u8], at: usize) -> Result<i64, Problem> {
    Ok(i64::from(number(bytes, at, 4)? as u32 as i32))
}

/// The rows of a table: a count at `at`, then that many rows of `row` bytes.
///
/// # Errors
/// When the rows do not fit into the box.
pub fn rows(bytes: &[u8], at: usize, row: usize) -> Result<std::slice::ChunksExact<'_, u8>, Problem> {
    let count = usize::try_from(number(bytes, at, 4)?).unwrap_or(usize::MAX);
    let size = count.checked_mul(row).ok_or("a table is too long")?;
    let body = bytes.get(at + 4..).and_then(|body| body.get(..size));
    Ok(body.ok_or("a table is cut short")?.chunks_exact(row))
}

/// Appends the units of a sample, each behind its length of `length_size` bytes, with start codes instead.
///
/// # Errors
/// A unit longer than the sample.
pub fn with_start_codes(mut sample: &[u8], length_size: usize, out: &mut Vec<u8>) -> Result<(), Problem> {
    while !sample.is_empty() {
        let size = usize::try_from(number(sample, 0, length_size)?).unwrap_or(usize::MAX);
        let rest = &sample[length_size..];
        let unit = rest.get(..size).ok_or("a unit is longer than its sample")?;
        out.extend_from_slice(&[0, 0, 0, 1]);
        out.extend_from_slice(unit);
        sample = &rest[size..];
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn boxes_are_found_and_long_ones_refused() {
        let bytes = b"\0\0\0\x0Cabcd1234\0\0\0\x08efgh";
        let all = boxes(bytes).expect("boxes");
        assert_eq!(all, [(*b"abcd", &b"1234"[..]), (*b"efgh", &b""[..])]);
        assert!(boxes(b"\0\0\0\x0Dabcd1234").is_err());
        assert!(boxes(b"\0\0\0\x04abcd").is_err());
        assert!(boxes(b"\0\0\0\x01abcd\0\0\0").is_err());
        assert_eq!(child_at(bytes, &[b"zzzz"]), Err("box zzzz is missing".into()));
    }

    #[test]
    fn a_table_longer_than_its_box_is_refused() {
        assert_eq!(rows(&[0, 0, 0, 1, 7, 8], 0, 2).expect("rows").count(), 1);
        assert!(rows(&[0, 0, 0, 2, 7, 8], 0, 2).is_err());
        assert!(rows(&[255, 255, 255, 255], 0, usize::MAX / 2).is_err());
    }

    #[test]
    fn units_get_start_codes() {
        let mut out = Vec::new();
        with_start_codes(&[0, 2, 9, 8, 0, 1, 7], 2, &mut out).expect("units");
        assert_eq!(out, [0, 0, 0, 1, 9, 8, 0, 0, 0, 1, 7]);
        assert!(with_start_codes(&[0, 3, 9], 2, &mut Vec::new()).is_err());
    }
}
