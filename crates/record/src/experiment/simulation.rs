//! How a run is simulated, `[simulation]`: the solver, how finely, how long; and what turns the body.
//!
//! | key | meaning | unit |
//! |---|---|---|
//! | `solver` | `modal` (star-shaped bodies by their harmonics) or `boundary` (any shape by its surface) | |
//! | `until` | real time that is computed | s |
//! | `highest_degree` | of the modal solver | 1 |
//! | `elements` | of the boundary solver, on half a turn of a ball of all liquid | 1 |
//! | `step_error` | of one step, as a share of the radius | 1 |
//! | `thinnest_neck` | that the boundary solver follows, as a share of the radius | 1 |
//! | `rotation` | of the body about its axis | rad/s |
//!
//! Everything is optional. Whether a solver can hold what is asked, it says itself.

use crate::experiment::section::{Bound, Section};
use tremolet_matter::quantity::dimension::Dimension;
use tremolet_matter::uncertain::Uncertain;

/// Keys of `[simulation]`.
pub const SIMULATION: &[&str] = &[
    "solver",
    "until",
    "highest_degree",
    "elements",
    "step_error",
    "thinnest_neck",
    "rotation",
];

/// A way to solve for the motion.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SolverName {
    /// Star-shaped bodies by their harmonics.
    Modal,
    /// Any shape of revolution by its surface.
    Boundary,
}

const SOLVERS: &[(&str, SolverName)] = &[("modal", SolverName::Modal), ("boundary", SolverName::Boundary)];

/// How a run is simulated.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Simulation {
    /// By which solver; what is asked decides where it is absent.
    pub solver: Option<SolverName>,
    /// Real time that is computed, s.
    pub until: Option<Uncertain>,
    /// Highest degree of the modal solver.
    pub highest_degree: Option<u64>,
    /// Elements of the boundary solver on half a turn of a ball of all liquid.
    pub elements: Option<u64>,
    /// Error of a step, as a share of the radius.
    pub step_error: Option<Uncertain>,
    /// Thinnest neck that the boundary solver follows, as a share of the radius.
    pub thinnest_neck: Option<Uncertain>,
    /// Rate at which the body turns about its axis, rad/s.
    pub rotation: Option<Uncertain>,
}

impl Simulation {
    /// Reads `[simulation]`.
    pub(super) fn read(mut table: Section<'_, '_>) -> Self {
        Self {
            solver: table.word("solver", SOLVERS),
            until: table.quantity("until", Dimension::Time, Bound::Positive),
            highest_degree: table.count("highest_degree", "a whole number, e.g. 24"),
            elements: table.count("elements", "a whole number, e.g. 64"),
            step_error: table.quantity("step_error", Dimension::Fraction, Bound::Positive),
            thinnest_neck: table.quantity("thinnest_neck", Dimension::Fraction, Bound::Positive),
            rotation: table.quantity("rotation", Dimension::AngularRate, Bound::NotNegative),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::experiment::file::Experiment;

    fn read(table: &str) -> Result<Simulation, String> {
        let text = format!("format = 1\nkind = \"puff\"\n[simulation]\n{table}\n");
        let read = Experiment::parse(&text, "run.toml").map_err(|faults| faults.to_string())?;
        Ok(read.simulation.expect("stated"))
    }

    #[test]
    fn what_is_stated_is_read_and_the_rest_is_absent() {
        let all = read(
            "solver = \"boundary\"\nuntil = \"80 ms\"\nelements = 48\nthinnest_neck = \"1 %\"\nrotation = \"90 deg/s\"",
        );
        let all = all.expect("read");
        assert_eq!((all.solver, all.elements), (Some(SolverName::Boundary), Some(48)));
        assert!((all.until.expect("stated").value() - 0.08).abs() < 1e-15 && all.highest_degree.is_none());
        assert!((all.thinnest_neck.expect("stated").value() - 0.01).abs() < 1e-15);
        assert!((all.rotation.expect("stated").value() - std::f64::consts::FRAC_PI_2).abs() < 1e-12);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let refused = |table: &str, word: &str| {
            let told = read(table).expect_err("refused");
            assert!(told.contains(word), "{told}");
        };
        refused("solver = \"grid\"", "solver");
        refused("until = \"-1 s\"", "until");
        refused("elements = 4.5", "whole number");
        refused("elements = -4", "whole number");
        refused("step_error = \"0\"", "step_error");
    }
}
