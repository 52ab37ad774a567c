//! The motion of a simulated run, read from its folder: the meridian of every surface at every instant, and between them.
//!
//! ```text
//! x(t) = sum over four instants of  x_k prod_(j != k) (t - t_j) / (t_k - t_j)
//! ```
//! Between instants each point moves along the cubic through the two instants before and the two after, as far as these have the same surfaces
//! with as many points; where they do not, the nearest instant is shown. The table says which surfaces are bubbles.
//!
//! Source: Lagrange's interpolation; its error at 60 instants a swing is 1e-6 of the swing.

use std::path::Path;

use tremolet_record::parquet::reader;

use crate::error::StudyError;

/// The table, seen from the run folder.
const TABLE: &str = "series/meridians.parquet";

/// One surface at one instant.
#[derive(Debug, Clone, PartialEq)]
pub struct Outer {
    /// `[z, rho]` from the upper pole to the lower, m.
    pub meridian: Vec<[f64; 2]>,
    /// Whether it is a bubble in the liquid.
    pub is_bubble: bool,
}

/// One instant.
#[derive(Debug, Clone, PartialEq)]
struct Moment {
    time: f64,
    surfaces: Vec<Outer>,
}

/// The motion of all surfaces.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    moments: Vec<Moment>,
}

impl Course {
    /// Reads the motion from a run folder.
    ///
    /// # Errors
    /// [`StudyError::Run`] when the folder holds no motion or a damaged one.
    pub fn read(run: &Path) -> Result<Self, StudyError> {
        let damaged = |why: String| StudyError::Run {
            file: TABLE.into(),
            why,
        };
        let table = reader::read(&run.join(TABLE))
            .map_err(|why| damaged(format!("{why}; film takes a run that `simulate` made")))?;
        let lacking = |name: &str| damaged(format!("it has no column {name}"));
        let whole = |name: &str| table.integers(name).ok_or_else(|| lacking(name));
        let real = |name: &str| table.reals(name).ok_or_else(|| lacking(name));
        let (frames, surfaces) = (whole("frame")?, whole("surface")?);
        let (times, z, rho) = (real("time")?, real("z")?, real("rho")?);
        let bubble = table.flags("bubble").ok_or_else(|| lacking("bubble"))?;
        let rows: Vec<usize> = (0..table.rows()).collect();
        let moment = |rows: &[usize]| Moment {
            time: times[rows[0]],
            surfaces: rows
                .chunk_by(|a, b| surfaces[*a] == surfaces[*b])
                .map(|rows| Outer {
                    meridian: rows.iter().map(|row| [z[*row], rho[*row]]).collect(),
                    is_bubble: bubble[rows[0]],
                })
                .collect(),
        };
        let moments = rows
            .chunk_by(|a, b| frames[*a] == frames[*b])
            .map(moment)
            .collect();
        Self::new(moments).ok_or_else(|| damaged("it has no instants in rising order".into()))
    }

    fn new(moments: Vec<Moment>) -> Option<Self> {
        let rises = moments.windows(2).all(|pair| pair[0].time < pair[1].time);
        (rises && !moments.is_empty()).then_some(Self { moments })
    }

    /// First and last instant, s, and how many there are.
    #[must_use]
    pub fn span(&self) -> ([f64; 2], usize) {
        let last = self.moments.len() - 1;
        (
            [self.moments[0].time, self.moments[last].time],
            self.moments.len(),
        )
    }

    /// Least and greatest z and greatest rho of all surfaces at all instants, m.
    #[must_use]
    pub fn extent(&self) -> ([f64; 2], f64) {
        let points = self
            .moments
            .iter()
            .flat_map(|moment| moment.surfaces.iter().flat_map(|s| &s.meridian));
        points.fold(([f64::MAX, f64::MIN], 0.0), |([low, high], wide), [z, rho]| {
            ([low.min(*z), high.max(*z)], rho.max(wide))
        })
    }

    /// Greatest speed of a point between two instants, m/s.
    #[must_use]
    pub fn fastest(&self) -> f64 {
        let speed = |pair: &[Moment]| {
            if !alike(&pair[0], &pair[1]) {
                return 0.0;
            }
            let points = |moment: &Moment| -> Vec<[f64; 2]> {
                moment.surfaces.iter().flat_map(|s| s.meridian.clone()).collect()
            };
            let ways = points(&pair[0])
                .into_iter()
                .zip(points(&pair[1]))
                .map(|(a, b)| (a[0] - b[0]).hypot(a[1] - b[1]));
            ways.fold(0.0, f64::max) / (pair[1].time - pair[0].time)
        };
        self.moments.windows(2).map(speed).fold(0.0, f64::max)
    }

    /// The surfaces at a time (s); before the first and after the last instant those of that instant.
    #[must_use]
    pub fn at(&self, time: f64) -> Vec<Outer> {
        self.between(time)
    }

    fn between(&self, time: f64) -> Vec<Outer> {
        let after = self.moments.partition_point(|moment| moment.time <= time);
        if after == 0 || after == self.moments.len() {
            return self.moments[after.saturating_sub(1)].surfaces.clone();
        }
        let nearest = {
            let [before, next] = [&self.moments[after - 1], &self.moments[after]];
            if time - before.time <= next.time - time {
                before
            } else {
                next
            }
        };
        let around = &self.moments[after.saturating_sub(2)..self.moments.len().min(after + 2)];
        if !around.iter().all(|moment| alike(moment, nearest)) {
            return nearest.surfaces.clone();
        }
        let weight = |k: usize| -> f64 {
            let others = around.iter().enumerate().filter(|(j, _)| *j != k);
            others
                .map(|(_, other)| (time - other.time) / (around[k].time - other.time))
                .product()
        };
        let weights: Vec<f64> = (0..around.len()).map(weight).collect();
        let point = |surface: usize, point: usize| {
            [0, 1].map(|i| {
                let parts = around.iter().zip(&weights);
                parts
                    .map(|(moment, w)| w * moment.surfaces[surface].meridian[point][i])
                    .sum()
            })
        };
        let surfaces = nearest.surfaces.iter().enumerate();
        surfaces
            .map(|(surface, outer)| Outer {
                meridian: (0..outer.meridian.len()).map(|k| point(surface, k)).collect(),
                is_bubble: outer.is_bubble,
            })
            .collect()
    }
}

/// Whether two instants have the same surfaces with as many points.
fn alike(one: &Moment, other: &Moment) -> bool {
    one.surfaces.len() == other.surfaces.len()
        && one
            .surfaces
            .iter()
            .zip(&other.surfaces)
            .all(|(a, b)| a.meridian.len() == b.meridian.len() && a.is_bubble == b.is_bubble)
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use std::f64::consts::PI;

    use tremolet_record::parquet::writer;
    use tremolet_record::store::make_folder;
    use tremolet_record::table::{Column, Data, Table};

    use crate::tables::column::{integer, real};

    /// A spheroid of 5 mm whose half axis swings by a tenth at 10 Hz, with a bubble in it.
    fn shape(time: f64, size: f64) -> Vec<[f64; 2]> {
        let stretch = 1.0 + 0.1 * (20.0 * PI * time).cos();
        let at = |k: u32| {
            let (sin, cos) = (PI * f64::from(k) / 40.0).sin_cos();
            let rho = if k == 0 || k == 40 { 0.0 } else { sin };
            [size * stretch * cos, size * rho / stretch.sqrt()]
        };
        (0..=40).map(at).collect()
    }

    /// Writes the table of such a run: 31 instants over 0.1 s.
    pub fn write(run: &Path) {
        let (mut frames, mut surfaces, mut bubble) = (Vec::new(), Vec::new(), Vec::new());
        let mut values: [Vec<f64>; 3] = Default::default();
        for frame in 0..31_i64 {
            let time = frame as f64 / 300.0;
            for (surface, size) in [(1, 5e-3), (2, 1.5e-3)] {
                for [z, rho] in shape(time, size) {
                    frames.push(frame);
                    surfaces.push(surface);
                    bubble.push(surface == 2);
                    values
                        .iter_mut()
                        .zip([time, z, rho])
                        .for_each(|(all, value)| all.push(value));
                }
            }
        }
        let [time, z, rho] = values;
        let table = Table {
            name: "meridians".into(),
            description: "test".into(),
            columns: vec![
                integer("frame", "", frames),
                integer("surface", "", surfaces),
                Column::new("bubble", "1", "", Data::Flag(bubble)),
                real("time", "s", "", time),
                real("z", "m", "", z),
                real("rho", "m", "", rho),
            ],
        };
        make_folder(&run.join("series")).expect("made");
        writer::write(&run.join(TABLE), &table).expect("written");
    }

    #[test]
    fn between_instants_points_move_along_the_cubic() {
        let folder = tempfile::tempdir().expect("a folder");
        write(folder.path());
        let course = Course::read(folder.path()).expect("a run");
        assert_eq!(course.span(), ([0.0, 0.1], 31));
        assert!((course.extent().0[1] - 5.5e-3).abs() < 1e-12);
        // The pole moves fastest: 0.1 R w sin, w = 20 pi.
        assert!((course.fastest() / (0.1 * 5e-3 * 20.0 * PI) - 1.0).abs() < 0.01);
        for time in [0.0, 0.01, 0.0317, 0.0499, 0.0999, 0.1] {
            let surfaces = course.at(time);
            assert_eq!([surfaces[0].is_bubble, surfaces[1].is_bubble], [false, true]);
            for (found, due) in surfaces[0].meridian.iter().zip(shape(time, 5e-3)) {
                let off = (found[0] - due[0]).hypot(found[1] - due[1]);
                assert!(off < 5e-3 * 2e-5, "{time}: {off}");
            }
        }
        assert_eq!(course.at(7.0), course.at(0.1));
    }

    #[test]
    fn a_folder_without_a_motion_is_refused() {
        let folder = tempfile::tempdir().expect("a folder");
        let refused = Course::read(folder.path()).unwrap_err().to_string();
        assert!(
            refused.contains("simulate") && refused.contains("meridians"),
            "{refused}"
        );
    }
}
