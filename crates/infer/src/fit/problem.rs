//! The residuals of a trial: distances of outlines from silhouettes, in sectors, the place of the body left out.
//!
//! ```text
//! e_i = (r_i - R rho(psi_i)) cos(g) / u_i         cos g between radius and normal
//! e   = e - N (N^T N)^-1 N^T e                    N: what a shift of the body does, two columns for each frame
//! e_k = sum over sector k of (e_i / u_i) / sqrt(sum of 1 / u_i^2)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | r_i, psi_i, u_i | an outline point about the centre, its uncertainty | px, rad, px |
//! | rho | silhouette | R |
//!
//! Source: \[GolubPereyra1973\]. Sectors keep points of an outline together, which are many and alike.

use std::cell::RefCell;

use tremolet_numerics::dense::Matrix;
use tremolet_numerics::least_squares::Residuals;

use super::silhouette::{Fan, Silhouette};
use super::{Begin, Forward, Frame, Outlines, Trial};

/// Sectors of an outline.
pub const SECTORS: usize = 48;
/// Angles of a silhouette, and its highest degree.
pub const ANGLES: usize = 90;
/// See [`ANGLES`].
pub const HIGHEST: usize = 16;
/// Unknowns before the amplitudes.
pub const GENERAL: usize = 5;
/// What a trial that cannot be followed leaves in every residual.
const LOST: f64 = 1e4;

/// The unknowns by name.
#[derive(Debug, Clone, PartialEq)]
pub struct Parameters {
    /// ln of the capillary time in s.
    pub ln_time: f64,
    /// ln of the Ohnesorge number.
    pub ln_ohnesorge: f64,
    /// px.
    pub radius: f64,
    /// rad.
    pub axis_angle: f64,
    /// Square of the sine of the tilt.
    pub tilt: f64,
    /// From degree 2.
    pub shape: Vec<f64>,
    /// From degree 2, over t0.
    pub velocity: Vec<f64>,
}

impl Parameters {
    /// Where the search begins.
    #[must_use]
    pub fn of(begin: &Begin) -> Self {
        Self {
            ln_time: begin.time.ln(),
            ln_ohnesorge: begin.ohnesorge.ln(),
            radius: begin.radius,
            axis_angle: begin.axis_angle,
            tilt: 0.0,
            shape: begin.shape.clone(),
            velocity: begin.velocity.clone(),
        }
    }

    /// As a list.
    #[must_use]
    pub fn list(&self) -> Vec<f64> {
        let general = [
            self.ln_time,
            self.ln_ohnesorge,
            self.radius,
            self.axis_angle,
            self.tilt,
        ];
        [&general[..], &self.shape, &self.velocity].concat()
    }

    /// From a list.
    #[must_use]
    pub fn from_list(list: &[f64]) -> Self {
        let (general, rest) = list.split_at(GENERAL);
        let (shape, velocity) = rest.split_at(rest.len() / 2);
        Self {
            ln_time: general[0],
            ln_ohnesorge: general[1],
            radius: general[2],
            axis_angle: general[3],
            tilt: general[4],
            shape: shape.to_vec(),
            velocity: velocity.to_vec(),
        }
    }

    fn trial(&self) -> Trial {
        let by_degree = |from_two: &[f64]| [&[0.0, 0.0], from_two].concat();
        Trial {
            ohnesorge: self.ln_ohnesorge.exp(),
            time: self.ln_time.exp(),
            radius_px: self.radius,
            shape: by_degree(&self.shape),
            velocity: by_degree(&self.velocity),
        }
    }
}

/// Outlines and a model.
pub struct Problem<'a> {
    frames: Vec<&'a Frame>,
    first: f64,
    model: &'a dyn Forward,
    fan: Fan,
    nearness: f64,
    degrees: usize,
    /// The last motion, for unknowns that do not change it.
    last: RefCell<Option<(Trial, Vec<Vec<f64>>)>>,
}

impl<'a> Problem<'a> {
    /// The outlines of the first `span` seconds, thinned evenly to at most `most` frames.
    #[must_use]
    pub fn new(
        outlines: &'a Outlines,
        span: f64,
        most: usize,
        degrees: usize,
        model: &'a dyn Forward,
    ) -> Self {
        let first = outlines.frames.first().map_or(0.0, |frame| frame.time);
        let within: Vec<&Frame> = outlines
            .frames
            .iter()
            .filter(|f| f.time - first <= span)
            .collect();
        let every = within.len().div_ceil(most).max(1);
        Self {
            frames: within.into_iter().step_by(every).collect(),
            first,
            model,
            fan: Fan::new(ANGLES, HIGHEST),
            nearness: outlines.nearness,
            degrees,
            last: RefCell::new(None),
        }
    }

    /// Whether the model can follow a list of unknowns.
    #[must_use]
    pub fn follows(&self, list: &[f64]) -> bool {
        self.shapes(&Parameters::from_list(list)).is_some()
    }

    /// The frames used.
    #[must_use]
    pub fn frames(&self) -> &[&'a Frame] {
        &self.frames
    }

    /// Number of degrees whose start is fitted.
    #[must_use]
    pub fn degrees(&self) -> usize {
        self.degrees
    }

    /// Amplitudes of the model at the frames.
    #[must_use]
    pub fn shapes(&self, at: &Parameters) -> Option<Vec<Vec<f64>>> {
        let trial = at.trial();
        // Radius and pose do not matter to the motion but for the numbers of the gas, which move with them little.
        let same = |old: &Trial| {
            let alike = (old.radius_px / trial.radius_px - 1.0).abs() < 1e-3;
            let radius_px = trial.radius_px;
            alike
                && Trial {
                    radius_px,
                    ..old.clone()
                } == trial
        };
        if let Some((old, shapes)) = self.last.borrow().as_ref()
            && same(old)
        {
            return Some(shapes.clone());
        }
        let time = at.ln_time.exp();
        let times: Vec<f64> = self.frames.iter().map(|f| (f.time - self.first) / time).collect();
        let found = self.model.shapes(&trial, &times)?;
        *self.last.borrow_mut() = Some((trial, found.clone()));
        Some(found)
    }

    /// Sum of the squared residuals of a still sphere of the radius in a list of unknowns.
    #[must_use]
    pub fn at_rest(&self, list: &[f64]) -> f64 {
        let mut at = Parameters::from_list(list);
        at.tilt = 0.0;
        let sphere = self.fan.silhouette(&[0.0], 0.0, 0.0);
        let distances = self
            .frames
            .iter()
            .map(|frame| Self::distances(frame, &at, &sphere));
        let mut sum = 0.0;
        for left in distances {
            let mut sectors = [0.0; SECTORS];
            whitened(&left, &mut sectors);
            sum += sectors.iter().map(|e| e * e).sum::<f64>();
        }
        sum
    }

    /// The silhouettes of a list of unknowns.
    fn silhouettes(&self, at: &Parameters) -> Option<Vec<Silhouette>> {
        if !(at.tilt < 0.95 && at.tilt > -0.3) {
            return None;
        }
        let all = self.shapes(at)?;
        let silhouette = |a: &Vec<f64>| self.fan.silhouette(a, at.tilt, self.nearness);
        let seen: Vec<Silhouette> = all.iter().map(silhouette).collect();
        seen.iter().all(Silhouette::is_whole).then_some(seen)
    }

    /// Distances in px of the points of a frame from a silhouette there, shift taken out, with angle on the full circle and uncertainty; and
    /// the shift, along the axis as seen and across it.
    fn distances(frame: &Frame, at: &Parameters, seen: &Silhouette) -> Left {
        let (sin, cos) = at.axis_angle.sin_cos();
        let mut rows = Vec::with_capacity(frame.points.len());
        let mut normals = Vec::with_capacity(frame.points.len());
        for [x, y, u] in &frame.points {
            let (dx, dy) = (x - frame.centre[0], y - frame.centre[1]);
            let (along, across) = (dx * sin - dy * cos, dx * cos + dy * sin);
            let psi = across.abs().atan2(along);
            let (rho, slope) = seen.at(psi);
            let tilt = (slope / rho).atan();
            let distance = (along.hypot(across) - at.radius * rho) * tilt.cos();
            // The normal leans back from the radius where the silhouette grows with the angle.
            let (lean_sin, lean_cos) = (psi - tilt).sin_cos();
            normals.push([lean_cos, lean_sin * across.signum()]);
            rows.push([distance, across.atan2(along), *u]);
        }
        let shift = without_shift(&mut rows, &normals);
        Left { rows, shift }
    }

    /// What a trial leaves, frame by frame; none where the model cannot follow.
    #[must_use]
    pub fn left(&self, at: &Parameters) -> Option<Vec<Left>> {
        let seen = self.silhouettes(at)?;
        let pairs = self.frames.iter().zip(&seen);
        Some(
            pairs
                .map(|(frame, seen)| Self::distances(frame, at, seen))
                .collect(),
        )
    }
}

/// What a trial leaves of one outline.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Left {
    /// Distance from the silhouette (px, outwards), angle on the full circle from the upper end of the axis rightwards (rad), standard uncertainty (px).
    pub rows: Vec<[f64; 3]>,
    /// By how much the body lies off its given centre: along the axis as seen and across it to the right, px.
    pub shift: [f64; 2],
}

/// Takes out of distances what a shift of the body explains, and returns it; nil where the outline does not tell it.
fn without_shift(rows: &mut [[f64; 3]], normals: &[[f64; 2]]) -> [f64; 2] {
    let (mut aa, mut ab, mut bb, mut ar, mut br) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for ([distance, _, u], [a, b]) in rows.iter().zip(normals) {
        let weight = 1.0 / (u * u);
        aa += weight * a * a;
        ab += weight * a * b;
        bb += weight * b * b;
        ar += weight * a * distance;
        br += weight * b * distance;
    }
    let determinant = aa * bb - ab * ab;
    if determinant <= 1e-9 * aa * bb {
        return [0.0; 2];
    }
    let shift = [
        (ar * bb - br * ab) / determinant,
        (br * aa - ar * ab) / determinant,
    ];
    for ([distance, ..], [a, b]) in rows.iter_mut().zip(normals) {
        *distance -= a * shift[0] + b * shift[1];
    }
    shift
}

/// Distances of a frame, joined in sectors and over their uncertainty.
fn whitened(left: &Left, out: &mut [f64]) {
    let mut weights = [0.0; SECTORS];
    out.fill(0.0);
    for [distance, angle, u] in &left.rows {
        let (k, weight) = (sector(*angle), 1.0 / (u * u));
        out[k] += weight * distance;
        weights[k] += weight;
    }
    let pairs = out.iter_mut().zip(weights);
    pairs.for_each(|(e, w)| *e = if w > 0.0 { *e / w.sqrt() } else { 0.0 });
}

/// Which sector an angle of the full circle falls into.
#[must_use]
pub fn sector(angle: f64) -> usize {
    let turn = std::f64::consts::TAU;
    ((angle.rem_euclid(turn) / turn * SECTORS as f64) as usize).min(SECTORS - 1)
}

impl Residuals for Problem<'_> {
    fn count(&self) -> usize {
        self.frames.len() * SECTORS
    }

    fn residuals(&self, list: &[f64], out: &mut [f64]) {
        let Some(left) = self.left(&Parameters::from_list(list)) else {
            out.fill(LOST);
            return;
        };
        for (left, out) in left.iter().zip(out.chunks_exact_mut(SECTORS)) {
            whitened(left, out);
        }
    }

    fn jacobian(&self, list: &[f64], out: &mut Matrix) -> usize {
        let (mut above, mut below) = (vec![0.0; self.count()], vec![0.0; self.count()]);
        let mut point = list.to_vec();
        // Those that leave the motion as it is come first, while it is remembered.
        let _ = self.follows(list);
        let order = [2, 3, 4, 0, 1].into_iter().chain(GENERAL..list.len());
        for j in order {
            let step = match j {
                0 => 1e-5,
                1 => 2e-2,
                2 => 1e-4 * list[2],
                3 => 1e-4,
                4 => 1e-3,
                _ => 1e-4,
            };
            point[j] = list[j] + step;
            self.residuals(&point, &mut above);
            point[j] = list[j] - step;
            self.residuals(&point, &mut below);
            point[j] = list[j];
            for (i, (a, b)) in above.iter().zip(&below).enumerate() {
                out[(i, j)] = (a - b) / (2.0 * step);
            }
        }
        2 * list.len()
    }
}
