//! Playback rate of a clip from all its stamps.
//!
//! ```text
//! F = n / sum(d_i)      over the n intervals d_i within half the median of the median
//! ```
//!
//! Gaps of missing frames fall out, and stamps rounded to coarse ticks average out. Ticks in, frames per second of
//! playback out. Does not know real time.

/// Frames per second of playback from stamps in ticks of `1 / per_second` s, in display order.
///
/// `None` with fewer than two stamps, or when none lies later than the one before.
///
/// ```
/// use tremolet_clip::rhythm::playback_rate;
/// // 30 frames/s in milliseconds, two frames missing.
/// assert_eq!(playback_rate(&[0, 33, 67, 100, 200, 233, 267, 300], 1000), Some(30.0));
/// ```
pub fn playback_rate(stamps: &[i64], per_second: u32) -> Option<f64> {
    let mut intervals: Vec<f64> = stamps
        .windows(2)
        .map(|pair| pair[1] as f64 - pair[0] as f64)
        .filter(|interval| *interval > 0.0)
        .collect();
    intervals.sort_by(f64::total_cmp);
    let median = *intervals.get(intervals.len().checked_sub(1)? / 2)?;
    let regular: Vec<f64> = intervals
        .into_iter()
        .filter(|interval| (interval / median - 1.0).abs() < 0.5)
        .collect();
    Some(regular.len() as f64 * f64::from(per_second) / regular.iter().sum::<f64>())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gaps_and_coarse_ticks_do_not_matter() {
        let even: Vec<i64> = (0..=240).map(|i| (f64::from(i) / 0.24).round() as i64).collect();
        let rate = playback_rate(&even, 1000).expect("a rate");
        assert!((rate - 240.0).abs() < 1e-9, "{rate}");
        let gaps: Vec<i64> = even.into_iter().filter(|stamp| stamp % 7 != 0).collect();
        let rate = playback_rate(&gaps, 1000).expect("a rate");
        assert!((rate / 240.0 - 1.0).abs() < 0.01, "{rate}");
    }

    #[test]
    fn nothing_from_nothing() {
        assert_eq!(playback_rate(&[], 1000), None);
        assert_eq!(playback_rate(&[5], 1000), None);
        assert_eq!(playback_rate(&[5, 5, 5], 1000), None);
    }
}
