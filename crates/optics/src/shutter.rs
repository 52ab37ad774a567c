//! When each row of a frame was taken by a camera that reads its rows one after the other.
//!
//! ```text
//! t(k, y) = t_k + T (y - y_0) / (H - 1)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `t_k` | capture time of frame `k`: that of the row `y_0` | s |
//! | `T` | readout time: from the first row to the last; negative when the last row comes first; 0 for all rows at once | s |
//! | `y`, `y_0` | row, 0 at the centre of the topmost; row to which the capture time belongs | px |
//! | `H` | rows of the sensor's picture | 1 |
//!
//! What moves down a picture with the speed `v` (px/s) is stretched by `1 / (1 - v T / (H - 1))`.
//!
//! Source: a row read at a constant rate, elementary. Times are those of the middle of the exposure if the capture times are. A
//! picture that was cropped, scaled or turned after it was taken has other rows than the sensor's.

/// A sensor that reads row by row.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shutter {
    /// Time from the first row to the last, s.
    pub readout: f64,
    /// Rows of the picture.
    pub rows: usize,
    /// Row whose time is the frame's capture time: 0 for the topmost, `(rows - 1) / 2` for the middle.
    pub stamped: f64,
}

impl Shutter {
    /// Time of the row `y` (px, between rows too) of a frame captured at `captured`; s.
    ///
    /// ```
    /// use tremolet_optics::shutter::Shutter;
    /// let shutter = Shutter { readout: 0.008, rows: 801, stamped: 0.0 };
    /// assert!((shutter.row_time(2.0, 200.0) - 2.002).abs() < 1e-15);
    /// ```
    pub fn row_time(&self, captured: f64, y: f64) -> f64 {
        captured + self.row_step() * (y - self.stamped)
    }

    /// Time from one row to the next, s; 0 for a picture of one row.
    pub fn row_step(&self) -> f64 {
        if self.rows > 1 {
            self.readout / (self.rows - 1) as f64
        } else {
            0.0
        }
    }

    /// Row at which something is seen that is at row `y` at the time `captured` and moves with `speed` (px/s, down); none when it
    /// runs with the readout or faster, and is seen in all rows or not in order.
    pub fn seen_row(&self, y: f64, speed: f64) -> Option<f64> {
        let left = 1.0 - speed * self.row_step();
        (left > 0.0).then(|| self.stamped + (y - self.stamped) / left)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const DOWN: Shutter = Shutter {
        readout: 0.010,
        rows: 101,
        stamped: 0.0,
    };

    #[test]
    fn rows_follow_each_other_from_first_to_last() {
        // 0.1 ms a row.
        assert_eq!(DOWN.row_time(1.0, 0.0), 1.0);
        assert!((DOWN.row_time(1.0, 100.0) - 1.010).abs() < 1e-15);
        assert!((DOWN.row_time(1.0, 12.5) - 1.001_25).abs() < 1e-15);
        let middle = Shutter {
            stamped: 50.0,
            ..DOWN
        };
        assert!((middle.row_time(1.0, 0.0) - 0.995).abs() < 1e-15);
        let upwards = Shutter {
            readout: -0.010,
            ..DOWN
        };
        assert!((upwards.row_time(1.0, 100.0) - 0.990).abs() < 1e-15);
        let at_once = Shutter { rows: 1, ..DOWN };
        assert_eq!(at_once.row_time(1.0, 5.0), 1.0);
    }

    // A ball from row 20 to row 40 that falls with 2000 px/s, read at 10000 rows/s: its edges are seen at 20/0.8 = 25 and
    // 40/0.8 = 50, so it looks a quarter too tall.
    #[test]
    fn what_falls_with_the_readout_looks_taller() {
        let seen = |y| DOWN.seen_row(y, 2000.0).unwrap();
        assert!((seen(20.0) - 25.0).abs() < 1e-12 && (seen(40.0) - 50.0).abs() < 1e-12);
        // The edge is there when its row is read.
        let edge = 20.0 + 2000.0 * DOWN.row_time(0.0, seen(20.0));
        assert!((edge - seen(20.0)).abs() < 1e-12);
        assert_eq!(DOWN.seen_row(20.0, 10_000.0), None);
    }
}
