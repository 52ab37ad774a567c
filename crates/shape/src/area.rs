//! An area of a picture that somebody drew: within corners, or along a line with a width.
//!
//! A place belongs to it when it lies within the corners (by the rule of odd crossings) or no farther than `reach` from a side. A pixel that
//! a side crosses in its half then counts as covered. Px; says nothing of what is there.

/// How far beyond its sides an area reaches, px: half a pixel.
const EDGE: f64 = 0.5;

/// An area.
#[derive(Debug, Clone, PartialEq)]
pub struct Area {
    corners: Vec<[f64; 2]>,
    filled: bool,
    reach: f64,
    bounds: [f64; 4],
}

impl Area {
    /// What lies within corners, in order; the last is joined to the first.
    ///
    /// ```
    /// use tremolet_shape::area::Area;
    /// let area = Area::within(vec![[0.0, 0.0], [10.0, 0.0], [0.0, 10.0]]);
    /// assert!(area.holds([2.0, 2.0]) && area.holds([-0.4, 5.0]) && !area.holds([9.0, 9.0]));
    /// ```
    pub fn within(corners: Vec<[f64; 2]>) -> Self {
        Self::of(corners, true, EDGE)
    }

    /// What lies within half a `width` of a line through places.
    pub fn along(places: Vec<[f64; 2]>, width: f64) -> Self {
        Self::of(places, false, (width / 2.0).max(EDGE))
    }

    fn of(corners: Vec<[f64; 2]>, filled: bool, reach: f64) -> Self {
        let start = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
        let [left, top, right, bottom] = corners.iter().fold(start, |[l, t, r, b], [x, y]| {
            [l.min(*x), t.min(*y), r.max(*x), b.max(*y)]
        });
        Self {
            corners,
            filled,
            reach,
            bounds: [left - reach, top - reach, right + reach, bottom + reach],
        }
    }

    /// Left, top, right and bottom of all that it holds; infinite the wrong way round without corners.
    pub fn bounds(&self) -> [f64; 4] {
        self.bounds
    }

    /// Whether a place belongs to it.
    pub fn holds(&self, [x, y]: [f64; 2]) -> bool {
        let [left, top, right, bottom] = self.bounds;
        if x < left || x > right || y < top || y > bottom {
            return false;
        }
        (self.filled && self.surrounds([x, y])) || self.sides().any(|(a, b)| away([x, y], a, b) <= self.reach)
    }

    fn sides(&self) -> impl Iterator<Item = ([f64; 2], [f64; 2])> {
        let count = self.corners.len();
        // A single place is its own side.
        let sides = if self.filled || count == 1 {
            count
        } else {
            count.saturating_sub(1)
        };
        (0..sides).map(move |i| (self.corners[i], self.corners[(i + 1) % count]))
    }

    fn surrounds(&self, [x, y]: [f64; 2]) -> bool {
        let crosses = |(a, b): &([f64; 2], [f64; 2])| {
            (a[1] > y) != (b[1] > y) && x < a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
        };
        self.sides().filter(crosses).count() % 2 == 1
    }
}

/// Distance of a place from the side from `a` to `b`.
fn away([x, y]: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    let along = [b[0] - a[0], b[1] - a[1]];
    let square = along[0] * along[0] + along[1] * along[1];
    let share = if square > 0.0 {
        (((x - a[0]) * along[0] + (y - a[1]) * along[1]) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (x - a[0] - share * along[0]).hypot(y - a[1] - share * along[1])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Share of a lattice over 40 by 40 px that an area holds, as px^2.
    fn size(area: &Area) -> f64 {
        let inside = |k: &usize| area.holds([(k % 400) as f64 / 10.0 + 0.05, (k / 400) as f64 / 10.0 + 0.05]);
        (0..160_000).filter(inside).count() as f64 / 100.0
    }

    #[test]
    fn corners_hold_their_area_and_half_a_pixel_around() {
        // Area, and the strip of half a pixel along the sides with its round corners.
        let square = Area::within(vec![[10.0, 10.0], [20.0, 10.0], [20.0, 20.0], [10.0, 20.0]]);
        let due = 100.0 + 40.0 * 0.5 + std::f64::consts::PI * 0.25;
        assert!((size(&square) - due).abs() < 0.3, "{} of {due}", size(&square));
        // An L: its notch is not of it.
        let notched = Area::within(vec![
            [5.0, 5.0],
            [30.0, 5.0],
            [30.0, 10.0],
            [10.0, 10.0],
            [10.0, 30.0],
            [5.0, 30.0],
        ]);
        assert!(notched.holds([7.0, 28.0]) && notched.holds([28.0, 7.0]) && !notched.holds([20.0, 20.0]));
        // The way round does not matter.
        let reversed = Area::within(vec![[10.0, 20.0], [20.0, 20.0], [20.0, 10.0], [10.0, 10.0]]);
        assert!((size(&reversed) - size(&square)).abs() < 1e-9);
    }

    #[test]
    fn a_line_has_its_width_and_round_ends() {
        let line = Area::along(vec![[10.0, 10.0], [30.0, 10.0]], 6.0);
        let due = 120.0 + std::f64::consts::PI * 9.0;
        assert!((size(&line) - due).abs() < 0.5, "{} of {due}", size(&line));
        // A bent one does not close.
        let bent = Area::along(vec![[5.0, 5.0], [30.0, 5.0], [30.0, 30.0]], 4.0);
        assert!(bent.holds([30.0, 20.0]) && !bent.holds([18.0, 18.0]));
        assert!(Area::along(vec![[3.0, 3.0]], 2.0).holds([3.5, 3.5]));
    }

    #[test]
    fn nothing_holds_nothing() {
        let nothing = Area::within(Vec::new());
        assert!(!nothing.holds([0.0, 0.0]) && nothing.bounds()[0].is_infinite());
    }
}
