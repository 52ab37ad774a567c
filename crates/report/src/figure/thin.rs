//! Thins a long series to what a drawing can show, without losing an extreme.
//!
//! Of the points that fall into one column (one unit of width, more for dots, which are wider than a line) the first, the lowest, the
//! highest and the last are kept, in their order. Where a point is not a number the series is broken.

/// Points (already placed on the drawing, ascending in x) thinned to at most four a column.
///
/// ```
/// use tremolet_report::figure::thin::thinned;
/// let many: Vec<[f64; 2]> = (0..1000).map(|i| [i as f64 / 100.0, if i == 537 { 9.0 } else { 0.0 }]).collect();
/// let few = thinned(&many);
/// assert!(few.len() <= 40 && few.iter().any(|p| p[1] == 9.0));
/// ```
pub fn thinned(points: &[[f64; 2]]) -> Vec<[f64; 2]> {
    thinned_to(points, 1.0)
}

/// The same with columns of another `width`.
pub fn thinned_to(points: &[[f64; 2]], width: f64) -> Vec<[f64; 2]> {
    let mut out = Vec::new();
    let column = |p: &[f64; 2]| (p[0] / width).floor();
    for group in points.chunk_by(|a, b| column(a) == column(b)) {
        keep(group, &mut out);
    }
    out
}

fn keep(group: &[[f64; 2]], out: &mut Vec<[f64; 2]>) {
    if group.len() <= 4 {
        out.extend_from_slice(group);
        return;
    }
    let index = |better: fn(f64, f64) -> bool| {
        (1..group.len()).fold(0, |best, i| {
            if better(group[i][1], group[best][1]) {
                i
            } else {
                best
            }
        })
    };
    let mut kept = [0, index(|a, b| a < b), index(|a, b| a > b), group.len() - 1];
    kept.sort_unstable();
    let mut last = usize::MAX;
    for i in kept {
        if i != last {
            out.push(group[i]);
        }
        last = i;
    }
}

/// The finite stretches of a series, each without a gap.
pub fn stretches(points: &[[f64; 2]]) -> impl Iterator<Item = &[[f64; 2]]> {
    points
        .split(|p| !(p[0].is_finite() && p[1].is_finite()))
        .filter(|stretch| !stretch.is_empty())
}

#[cfg(test)]
mod tests {
    use super::{stretches, thinned, thinned_to};

    #[test]
    fn extremes_of_every_column_stay() {
        let many: Vec<[f64; 2]> = (0..20_000)
            .map(|i| [i as f64 * 0.04, ((i * 7919) % 10_007) as f64])
            .collect();
        let few = thinned(&many);
        assert!(few.len() <= 4 * 801);
        for x in 0..800 {
            let ends = |all: &[[f64; 2]]| {
                all.iter()
                    .filter(|p| p[0].floor() == f64::from(x))
                    .fold((f64::MAX, f64::MIN), |(l, h), p| (l.min(p[1]), h.max(p[1])))
            };
            assert_eq!(ends(&many), ends(&few), "column {x}");
        }
        assert!(few.windows(2).all(|w| w[0][0] <= w[1][0]), "order is kept");
    }

    #[test]
    fn wider_columns_keep_fewer() {
        let many: Vec<[f64; 2]> = (0..3000)
            .map(|i| [f64::from(i) * 0.1, f64::from(i % 7)])
            .collect();
        assert_eq!(thinned_to(&many, 1.0), thinned(&many));
        let few = thinned_to(&many, 3.0);
        assert!(few.len() <= 4 * 100 && few.iter().any(|p| p[1] == 6.0));
    }

    #[test]
    fn short_series_are_left_alone() {
        let few = [[0.0, 1.0], [0.1, 2.0], [5.0, -1.0]];
        assert_eq!(thinned(&few), few);
    }

    #[test]
    fn a_gap_breaks_the_series() {
        let points = [[0.0, 1.0], [1.0, f64::NAN], [2.0, 3.0], [3.0, 4.0]];
        let parts: Vec<usize> = stretches(&points).map(<[_]>::len).collect();
        assert_eq!(parts, [1, 2]);
    }
}
