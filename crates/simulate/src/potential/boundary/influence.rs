//! The velocity along the normal from the potential on the surfaces: Green's third identity at the nodes.
//!
//! ```text
//! oint G q dS = oint (phi - phi_i) dG/dn dS        at every node i; phi - phi_i takes the strong singularity away
//! sum_j A_ij c_j = b_i,   q(u) = sum c_j B(u - j)   quintic spline, even at both ends
//! ```
//! Where bubbles keep their volume, the constant that the potential of each wall lacks follows from no flux through it: a second right
//! side for each bubble, with potential one on its wall alone.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | phi, q | potential and velocity along the normal | m^2/s, m/s |
//! | c, B | coefficients and B-splines of q | m/s, 1 |
//!
//! Source: \[Lamb1932\] article 57 (Green's identity).

use tremolet_numerics::dense::{DenseError, Matrix};
use tremolet_numerics::spline::{Spline, Symmetry};

use crate::potential::boundary::body::Body;
use crate::potential::boundary::points::Rules;
use crate::potential::boundary::sums::{Sums, make_ready, store};

/// The sums over all surfaces for every node of a body.
#[derive(Debug, Clone)]
pub struct Influence {
    /// Of the rings of sources, for each coefficient of q.
    single: Matrix,
    /// Of the rings of dipoles, for each coefficient; empty unless asked for.
    double: Matrix,
    /// Of the rings of dipoles times `phi - phi_i`.
    right: Vec<f64>,
    /// Of the rings of dipoles, for each surface.
    whole: Vec<Vec<f64>>,
    /// Node from which each surface is counted, and behind the last.
    firsts: Vec<usize>,
}

impl Influence {
    /// Sums up; with `dipoles` also what [`Influence::harmonic`] needs.
    #[must_use]
    pub fn of(body: &Body, rules: &Rules, dipoles: bool) -> Self {
        let ready = make_ready(body, rules);
        let size = body.nodes();
        let mut influence = Self {
            single: Matrix::zeros(size, size),
            double: Matrix::zeros(if dipoles { size } else { 0 }, size),
            right: Vec::new(),
            whole: Vec::new(),
            firsts: ready.iter().map(|surface| surface.first).chain([size]).collect(),
        };
        let planes = body.planes();
        for (own, surface) in ready.iter().enumerate() {
            for i in 0..=surface.curve.elements() {
                let mut sums = Sums::new(&ready, dipoles);
                sums.target(&ready, own, i, rules, planes);
                let row = surface.first + i;
                store(&ready, &sums.single, influence.single.row_mut(row));
                if dipoles {
                    store(&ready, &sums.dipoles, influence.double.row_mut(row));
                }
                influence.right.push(sums.double);
                influence.whole.push(sums.whole);
            }
        }
        influence
    }

    /// The normal velocity on each surface; with `keep_bubbles` the potential of each wall of a bubble is shifted so that nothing
    /// crosses it on the whole.
    ///
    /// # Errors
    /// [`DenseError`] when the system cannot be solved: surfaces that touch or cross.
    pub fn flow(&self, body: &Body, rules: &Rules, keep_bubbles: bool) -> Result<Vec<Spline>, DenseError> {
        self.flow_with(body, rules, keep_bubbles, &vec![0.0; self.right.len()])
    }

    /// The same where the potential has a part beside that of the body, whose sums over dipoles are `more`.
    fn flow_with(
        &self,
        body: &Body,
        rules: &Rules,
        keep_bubbles: bool,
        more: &[f64],
    ) -> Result<Vec<Spline>, DenseError> {
        let surfaces = body.surfaces.len();
        let bubbles = if keep_bubbles { surfaces - 1 } else { 0 };
        let mut right = Matrix::zeros(body.nodes(), 1 + bubbles);
        for own in 0..surfaces {
            for row in self.firsts[own]..self.firsts[own + 1] {
                right[(row, 0)] = self.right[row] + more[row];
                for bubble in 1..=bubbles {
                    let others: f64 = (0..surfaces)
                        .filter(|s| *s != own)
                        .map(|s| self.whole[row][s])
                        .sum();
                    right[(row, bubble)] = if own == bubble {
                        -others
                    } else {
                        self.whole[row][bubble]
                    };
                }
            }
        }
        let solved = self.single.solve(&right)?;
        let columns: Vec<Vec<f64>> = (0..=bubbles).map(|column| solved.column(column)).collect();
        let flux = |column: &[f64]| -> Vec<f64> {
            let flow = self.splines(column);
            (1..=bubbles)
                .map(|k| body.surfaces[k].flux(&flow[k], rules))
                .collect()
        };
        let fluxes: Vec<Vec<f64>> = columns.iter().map(|column| flux(column)).collect();
        let system = Matrix::from_fn(bubbles, bubbles, |i, j| fluxes[1 + j][i]);
        let against = Matrix::from_fn(bubbles, 1, |i, _| -fluxes[0][i]);
        let shares = if bubbles == 0 {
            Vec::new()
        } else {
            system.solve(&against)?.column(0)
        };
        let mut sum = columns[0].clone();
        for (share, column) in shares.iter().zip(&columns[1..]) {
            for (sum, one) in sum.iter_mut().zip(column) {
                *sum += share * one;
            }
        }
        Ok(self.splines(&sum))
    }

    /// The harmonic function with the slope `slopes` along the normal at the nodes of each surface, but for a constant.
    ///
    /// # Errors
    /// [`DenseError`] when the system cannot be solved, and when the dipoles were not asked for.
    pub fn harmonic(&self, slopes: &[Vec<f64>]) -> Result<Vec<Vec<f64>>, DenseError> {
        let size = self.single.rows();
        let coefficients: Vec<f64> = slopes
            .iter()
            .flat_map(|slope| Spline::through(slope, [Symmetry::Even; 2]).inner().to_vec())
            .collect();
        let right = self.single.times(&coefficients);
        // A constant has no slope: its mean is put to nil.
        let mut matrix = self.dipoles(1.0 / size as f64);
        self.add_values(&mut matrix, &|row| -self.whole[row].iter().sum::<f64>());
        let solved = matrix.solve(&Matrix::from_rows(size, 1, right)?)?.column(0);
        let splines = self.splines(&solved);
        Ok(splines
            .iter()
            .map(|spline| (0..=spline.intervals()).map(|i| spline.at_knot(i)[0]).collect())
            .collect())
    }

    /// Liquid and a gas around it of `density` (of the liquid's), alone and without bubbles: the normal velocity that both share and the
    /// potential of the gas, from `phi = phi_liquid - density phi_gas` on the body.
    ///
    /// Outside Green's identity holds with the other side of the surface: `oint G q dS = oint (phi - phi_i) dG/dn dS - phi_i`.
    ///
    /// # Errors
    /// [`DenseError`] when a system cannot be solved, and when the dipoles were not asked for.
    pub fn flow_in_gas(&self, body: &Body, rules: &Rules, density: f64) -> Result<[Spline; 2], DenseError> {
        let gas = self.gas(density)?;
        let mut dipoles = self.dipoles(0.0);
        self.add_values(&mut dipoles, &|row| -self.whole[row].iter().sum::<f64>());
        let more: Vec<f64> = dipoles.times(gas.inner()).iter().map(|x| density * x).collect();
        let flow = self.flow_with(body, rules, false, &more)?;
        Ok([flow[0].clone(), gas])
    }

    /// The potential of the gas alone, of [`Influence::flow_in_gas`]; with a density of nil that which goes with the potential of the liquid.
    ///
    /// # Errors
    /// As there.
    pub fn gas(&self, density: f64) -> Result<Spline, DenseError> {
        let size = self.single.rows();
        // (1 - density) D - 1, D being the sums over dipoles times phi - phi_i.
        let mut matrix = self.dipoles(0.0).scaled(1.0 - density);
        let whole = |row: usize| self.whole[row].iter().sum::<f64>();
        self.add_values(&mut matrix, &|row| (density - 1.0) * whole(row) - 1.0);
        let solved = matrix.solve(&Matrix::from_rows(size, 1, self.right.clone())?)?;
        Ok(Spline::of_coefficients(&solved.column(0), [Symmetry::Even; 2]))
    }

    /// The sums over dipoles for each coefficient, each with `more` added; no numbers where they were not asked for.
    fn dipoles(&self, more: f64) -> Matrix {
        let size = self.single.rows();
        let known = self.double.rows() == size;
        Matrix::from_fn(size, size, |i, j| {
            more + if known { self.double[(i, j)] } else { f64::NAN }
        })
    }

    /// Adds the value at each node times a factor to a matrix that acts on coefficients.
    fn add_values(&self, matrix: &mut Matrix, factor: &dyn Fn(usize) -> f64) {
        for own in 0..self.firsts.len() - 1 {
            let (first, last) = (self.firsts[own], self.firsts[own + 1] - 1);
            for row in first..=last {
                let factor = factor(row);
                for (offset, share) in [(-2, 1.0), (-1, 26.0), (0, 66.0), (1, 26.0), (2, 1.0)] {
                    let place = (row as isize - first as isize + offset).unsigned_abs();
                    let place = if place > last - first {
                        2 * (last - first) - place
                    } else {
                        place
                    };
                    matrix[(row, first + place)] += factor * share / 120.0;
                }
            }
        }
    }

    fn splines(&self, coefficients: &[f64]) -> Vec<Spline> {
        let parts = self.firsts.windows(2);
        parts
            .map(|pair| Spline::of_coefficients(&coefficients[pair[0]..pair[1]], [Symmetry::Even; 2]))
            .collect()
    }
}
