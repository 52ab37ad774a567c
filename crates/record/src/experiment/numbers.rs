//! Frames and positions in an image, the only bare numbers of the file, and lists of them.
//!
//! Frames count from 0. A range is `[first, end]`, and `end` is the first frame that no longer belongs to it, so
//! `[0, 1056]` are 1056 frames. Positions are `[x, y]` in pixels, x right, y down, the origin at the centre of the
//! top-left pixel.

use crate::experiment::section::Section;
use std::ops::{Range, RangeInclusive};
use toml::de::DeValue;

const FRAMES: &str = "two whole numbers, the first frame and the one after the last, e.g. [0, 1056]";
const POINT: &str = "x and y in pixels, e.g. [120, 85.5]";
const CORNERS: &str = "three or more corners in pixels, e.g. [[0, 0], [200, 0], [200, 80]]";

const PLACES: &str = "two or more places along the line in pixels, e.g. [[120, 0], [124, 80]]";

impl Section<'_, '_> {
    /// The range of frames at `key`; empty and reversed ones are faults.
    pub fn frames(&mut self, key: &str) -> Option<Range<u64>> {
        let value = self.table.get(key)?.get_ref();
        match whole_pair(value) {
            Some([first, end]) if first < end => Some(first..end),
            Some([first, end]) => {
                let how = if first == end {
                    "no frame"
                } else {
                    "reversed frames"
                };
                self.fault(key, &format!("{how}, [{first}, {end}]"), FRAMES);
                None
            }
            None => {
                let found = described(value);
                self.fault(key, &found, FRAMES);
                None
            }
        }
    }

    /// The number of things at `key`; `due` says what is expected.
    pub fn count(&mut self, key: &str, due: &str) -> Option<u64> {
        let value = self.table.get(key)?.get_ref();
        let count = whole(value);
        if count.is_none() {
            let found = described(value);
            self.fault(key, &found, due);
        }
        count
    }

    /// The number of one frame at `key`.
    pub fn frame(&mut self, key: &str) -> Option<u64> {
        self.count(key, "the number of a frame, from 0, e.g. 148")
    }

    /// The position at `key`, `[x, y]`, pixels.
    pub fn point(&mut self, key: &str) -> Option<[f64; 2]> {
        let value = self.table.get(key)?.get_ref();
        let point = real_pair(value);
        if point.is_none() {
            let found = described(value);
            self.fault(key, &found, POINT);
        }
        point
    }

    /// The numbers at `key`, as many as `count` allows.
    pub fn reals(&mut self, key: &str, count: RangeInclusive<usize>) -> Option<Vec<f64>> {
        let value = self.table.get(key)?.get_ref();
        let numbers: Option<Vec<f64>> = match value {
            DeValue::Array(list) if count.contains(&list.len()) => {
                list.iter().map(|item| real(item.get_ref())).collect()
            }
            _ => None,
        };
        if numbers.is_none() {
            let found = described(value);
            let due = format!(
                "{} to {} numbers in brackets, e.g. [-0.12, 0.03]",
                count.start(),
                count.end()
            );
            self.fault(key, &found, &due);
        }
        numbers
    }

    /// The corners at `key`, at least three of `[x, y]`, pixels.
    pub fn corners(&mut self, key: &str) -> Option<Vec<[f64; 2]>> {
        self.points(key, 3, CORNERS)
    }

    /// The places along a line at `key`, at least two of `[x, y]`, pixels.
    pub fn places(&mut self, key: &str) -> Option<Vec<[f64; 2]>> {
        self.points(key, 2, PLACES)
    }

    fn points(&mut self, key: &str, least: usize, due: &str) -> Option<Vec<[f64; 2]>> {
        let value = self.table.get(key)?.get_ref();
        let corners = match value {
            DeValue::Array(list) if list.len() >= least => {
                list.iter().map(|item| real_pair(item.get_ref())).collect()
            }
            _ => None,
        };
        if corners.is_none() {
            let found = described(value);
            self.fault(key, &found, due);
        }
        corners
    }
}

fn whole_pair(value: &DeValue<'_>) -> Option<[u64; 2]> {
    let DeValue::Array(list) = value else { return None };
    let numbers: Option<Vec<u64>> = list.iter().map(|item| whole(item.get_ref())).collect();
    numbers?.try_into().ok()
}

fn real_pair(value: &DeValue<'_>) -> Option<[f64; 2]> {
    let DeValue::Array(list) = value else { return None };
    let numbers: Option<Vec<f64>> = list.iter().map(|item| real(item.get_ref())).collect();
    numbers?.try_into().ok()
}

/// A whole number of zero or more.
pub fn whole(value: &DeValue<'_>) -> Option<u64> {
    match value {
        DeValue::Integer(digits) => u64::from_str_radix(digits.as_str(), digits.radix()).ok(),
        _ => None,
    }
}

/// A finite number.
fn real(value: &DeValue<'_>) -> Option<f64> {
    let number = match value {
        DeValue::Integer(_) => whole_or_negative(value)?,
        DeValue::Float(digits) => digits.as_str().parse().ok()?,
        _ => return None,
    };
    number.is_finite().then_some(number)
}

fn whole_or_negative(value: &DeValue<'_>) -> Option<f64> {
    let DeValue::Integer(digits) = value else {
        return None;
    };
    let number = i64::from_str_radix(digits.as_str(), digits.radix()).ok()?;
    // Pixel positions are far below 2^53.
    Some(number as f64)
}

/// What stands there, in words short enough for a message.
pub fn described(value: &DeValue<'_>) -> String {
    match value {
        DeValue::Integer(digits) => format!("the number {}", digits.as_str()),
        DeValue::Float(digits) => format!("the number {}", digits.as_str()),
        DeValue::String(text) => format!("the text \"{text}\""),
        DeValue::Array(list) => {
            let items: Vec<String> = list.iter().take(4).map(|item| short(item.get_ref())).collect();
            let more = if list.len() > 4 { ", ..." } else { "" };
            format!("[{}{more}]", items.join(", "))
        }
        other => format!("a {}", other.type_str()),
    }
}

fn short(value: &DeValue<'_>) -> String {
    match value {
        DeValue::Integer(digits) => digits.as_str().to_owned(),
        DeValue::Float(digits) => digits.as_str().to_owned(),
        other => format!("a {}", other.type_str()),
    }
}
