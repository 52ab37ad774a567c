//! Third-order strained expansion (Lindstedt-Poincare) of the inviscid drop, on a grid of phases and Gauss nodes.
//!
//! Outline R(mu, tau) and potential sum of phi_k(tau) r^k P_k; kinematic and Bernoulli condition on the true outline, every quantity a power series in
//! eps cut at eps^3. Order by order the linear problem is solved harmonic by harmonic; at third order the resonant part gives the shift.

use tremolet_numerics::complex::{Complex64, I};
use tremolet_numerics::legendre::{self, Table};
use tremolet_numerics::quadrature::{Rule, gauss_legendre};

const PHASES: usize = 16;
const NODES: usize = 40;
const HIGHEST: usize = 16;
const POINTS: usize = PHASES * NODES;

pub struct Expansion {
    pub shift: f64,
    /// Second-order coefficients of P_j, constant in time.
    pub steady: Vec<f64>,
    /// And with cos(2 tau).
    pub double: Vec<f64>,
}

/// A power series in eps, orders 0 to 3, at every phase and node.
#[derive(Clone)]
struct Power([Vec<f64>; 4]);

impl Power {
    fn zero() -> Power {
        Power(std::array::from_fn(|_| vec![0.0; POINTS]))
    }

    fn constant(value: f64) -> Power {
        let mut power = Power::zero();
        power.0[0].fill(value);
        power
    }

    fn plus(mut self, other: &Power, factor: f64) -> Power {
        for (mine, theirs) in self.0.iter_mut().zip(&other.0) {
            for (a, b) in mine.iter_mut().zip(theirs) {
                *a += factor * b;
            }
        }
        self
    }

    fn times(&self, other: &Power) -> Power {
        let mut product = Power::zero();
        for i in 0..4 {
            for j in 0..4 - i {
                for p in 0..POINTS {
                    product.0[i + j][p] += self.0[i][p] * other.0[j][p];
                }
            }
        }
        product
    }

    /// Every order times a function of the node.
    fn by_node(mut self, f: impl Fn(usize) -> f64) -> Power {
        for order in &mut self.0 {
            for (p, value) in order.iter_mut().enumerate() {
                *value *= f(p % NODES);
            }
        }
        self
    }

    /// Power of a series that begins with one.
    fn raised(&self, exponent: f64) -> Power {
        let rest = self.clone().plus(&Power::constant(1.0), -1.0);
        let mut sum = Power::constant(1.0);
        let mut term = Power::constant(1.0);
        let mut factor = 1.0;
        for k in 1..=3 {
            factor *= (exponent - f64::from(k) + 1.0) / f64::from(k);
            term = term.times(&rest);
            sum = sum.plus(&term, factor);
        }
        sum
    }
}

/// Legendre coefficients of one order at each phase: `[phase][degree]`.
type Coefficients = Vec<Vec<f64>>;

fn none() -> Coefficients {
    vec![vec![0.0; HIGHEST + 1]; PHASES]
}

struct Grid {
    rule: Rule,
    tables: Vec<Table>,
}

struct State {
    outline: Vec<Coefficients>,
    potential: Vec<Coefficients>,
    frequency: f64,
}

pub fn expand(n: usize) -> Expansion {
    let rule = gauss_legendre(NODES);
    let tables = rule.nodes.iter().map(|x| legendre::table(HIGHEST, *x)).collect();
    let grid = Grid { rule, tables };
    let w = ((n * (n - 1) * (n + 2)) as f64).sqrt();
    let mut state = State {
        outline: vec![none(); 4],
        potential: vec![none(); 4],
        frequency: w,
    };
    for i in 0..PHASES {
        state.outline[1][i][n] = phase(i).cos();
        state.potential[1][i][n] = -w / n as f64 * phase(i).sin();
    }
    let (kinematic, bernoulli) = residuals(&grid, &state);
    solve_second_order(&mut state, n, &grid, &kinematic.0[2], &bernoulli.0[2]);
    let (kinematic, bernoulli) = residuals(&grid, &state);
    let k = -harmonic(&grid.project(&kinematic.0[3]), n, 1);
    let b = -harmonic(&grid.project(&bernoulli.0[3]), n, 1);
    let shift = -((I * w * k + n as f64 * b) / w).re / w;
    let part = |j: usize, m: i32| harmonic(&state.outline[2], j, m).re;
    Expansion {
        shift,
        steady: (0..=HIGHEST).map(|j| part(j, 0)).collect(),
        double: (0..=HIGHEST).map(|j| 2.0 * part(j, 2)).collect(),
    }
}

fn phase(i: usize) -> f64 {
    std::f64::consts::TAU * i as f64 / PHASES as f64
}

/// Coefficient of e^(i m tau) in the amplitude of P_j.
fn harmonic(c: &Coefficients, j: usize, m: i32) -> Complex64 {
    let sum: Complex64 = (0..PHASES)
        .map(|i| c[i][j] * (-I * f64::from(m) * phase(i)).exp())
        .sum();
    sum / PHASES as f64
}

fn derivative_in_phase(c: &Coefficients) -> Coefficients {
    let mut slope = none();
    for j in 0..=HIGHEST {
        for m in 1..PHASES as i32 / 2 {
            let h = harmonic(c, j, m);
            for (i, row) in slope.iter_mut().enumerate() {
                row[j] += 2.0 * (I * f64::from(m) * h * (I * f64::from(m) * phase(i)).exp()).re;
            }
        }
    }
    slope
}

impl Grid {
    fn project(&self, f: &[f64]) -> Coefficients {
        f.chunks(NODES)
            .map(|row| legendre::projection(&self.rule, row, HIGHEST))
            .collect()
    }

    fn sine_squared(&self, node: usize) -> f64 {
        1.0 - self.rule.nodes[node] * self.rule.nodes[node]
    }

    /// Values of `pick`ed functions (P, P', P'') summed with the coefficients of each order.
    fn sum(&self, orders: &[Coefficients], pick: impl Fn(&Table) -> &Vec<f64>) -> Power {
        let mut power = Power::zero();
        for (target, order) in power.0.iter_mut().zip(orders) {
            for (p, value) in target.iter_mut().enumerate() {
                let functions = pick(&self.tables[p % NODES]);
                *value = order[p / NODES].iter().zip(functions).map(|(c, f)| c * f).sum();
            }
        }
        power
    }
}

/// Kinematic condition R_t = phi_r - (1-mu^2) R_mu phi_mu/R^2 and Bernoulli's phi_t + |grad phi|^2/2 + curvature, with what is known.
fn residuals(grid: &Grid, state: &State) -> (Power, Power) {
    let w = state.frequency;
    let in_time = |orders: &[Coefficients]| -> Vec<Coefficients> {
        let scaled = |c: &Coefficients| {
            derivative_in_phase(c)
                .iter()
                .map(|row| row.iter().map(|x| w * x).collect())
                .collect()
        };
        orders.iter().map(scaled).collect()
    };
    let (outline_rate, potential_rate) = (in_time(&state.outline), in_time(&state.potential));
    let r = Power::constant(1.0).plus(&grid.sum(&state.outline, |t| &t.value), 1.0);
    let slope = grid.sum(&state.outline, |t| &t.slope);
    let (mut radial, mut along, mut rate) = (Power::zero(), Power::zero(), Power::zero());
    for k in 0..=HIGHEST {
        let amplitude = of_degree(&state.potential, k);
        let pressure = of_degree(&potential_rate, k);
        let power = r.raised(k as f64);
        let value = |i: usize| grid.tables[i].value[k];
        radial = radial.plus(
            &amplitude.times(&r.raised(k as f64 - 1.0)).by_node(value),
            k as f64,
        );
        along = along.plus(&amplitude.times(&power).by_node(|i| grid.tables[i].slope[k]), 1.0);
        rate = rate.plus(&pressure.times(&power).by_node(value), 1.0);
    }
    let inverse_square = r.raised(-2.0);
    let sine = |i: usize| grid.sine_squared(i);
    let carried = slope.times(&along).times(&inverse_square).by_node(sine);
    let kinematic = grid
        .sum(&outline_rate, |t| &t.value)
        .plus(&radial, -1.0)
        .plus(&carried, 1.0);
    let speed = radial
        .times(&radial)
        .plus(&along.times(&along).times(&inverse_square).by_node(sine), 1.0);
    let bernoulli = rate
        .plus(&speed, 0.5)
        .plus(&curvature(grid, &state.outline, &r, &slope), 1.0);
    (kinematic, bernoulli)
}

/// The amplitude of one degree, the same at every node.
fn of_degree(orders: &[Coefficients], k: usize) -> Power {
    let mut power = Power::zero();
    for (target, order) in power.0.iter_mut().zip(orders) {
        for (p, value) in target.iter_mut().enumerate() {
            *value = order[p / NODES][k];
        }
    }
    power
}

/// Divergence of the unit normal of r = R(mu): with S = (1-mu^2) R_mu^2 and g = (1 + S/R^2)^(-1/2),
/// 2g/R + S g^3/R^3 - g/R^2 ((1-mu^2) R_mu)_mu + (1-mu^2) R_mu g^3 S_mu/(2 R^4).
fn curvature(grid: &Grid, outline: &[Coefficients], r: &Power, slope: &Power) -> Power {
    let bend = grid.sum(outline, |t| &t.bend);
    let sine = |i: usize| grid.sine_squared(i);
    let mu = |i: usize| grid.rule.nodes[i];
    let s = slope.times(slope).by_node(sine);
    let s_slope = slope
        .times(slope)
        .by_node(|i| -2.0 * mu(i))
        .plus(&slope.times(&bend).by_node(sine), 2.0);
    let spread = bend.by_node(sine).plus(&slope.clone().by_node(mu), -2.0);
    let inner = Power::constant(1.0).plus(&s.times(&r.raised(-2.0)), 1.0);
    let (g, g3) = (inner.raised(-0.5), inner.raised(-1.5));
    let last = slope
        .clone()
        .by_node(sine)
        .times(&g3)
        .times(&s_slope)
        .times(&r.raised(-4.0));
    Power::zero()
        .plus(&g.times(&r.raised(-1.0)), 2.0)
        .plus(&s.times(&g3).times(&r.raised(-3.0)), 1.0)
        .plus(&g.times(&r.raised(-2.0)).times(&spread), -1.0)
        .plus(&last, 0.5)
}

/// Solves the linear problem of order two, harmonic by harmonic; the mean radius follows from the volume.
fn solve_second_order(state: &mut State, n: usize, grid: &Grid, kinematic: &[f64], bernoulli: &[f64]) {
    let (kinematic, bernoulli) = (grid.project(kinematic), grid.project(bernoulli));
    for j in 2..=HIGHEST {
        let spring = ((j - 1) * (j + 2)) as f64;
        for m in 0..PHASES as i32 / 2 {
            let (k, b) = (-harmonic(&kinematic, j, m), -harmonic(&bernoulli, j, m));
            let turn = I * f64::from(m) * state.frequency;
            let below = turn * turn + j as f64 * spring;
            if below.norm() < 1e-9 {
                assert!(
                    k.norm() + b.norm() < 1e-10,
                    "a resonance (n = 2, j = 4, m = 3) must not be driven at this order"
                );
                continue;
            }
            let outline = (turn * k + j as f64 * b) / below;
            let potential = (turn * b - spring * k) / below;
            let weight = if m == 0 { 1.0 } else { 2.0 };
            for i in 0..PHASES {
                let wave = weight * (I * f64::from(m) * phase(i)).exp();
                state.outline[2][i][j] += (outline * wave).re;
                state.potential[2][i][j] += (potential * wave).re;
            }
        }
    }
    for i in 0..PHASES {
        let first = state.outline[1][i][n];
        state.outline[2][i][0] = -first * first / (2 * n + 1) as f64;
    }
}
