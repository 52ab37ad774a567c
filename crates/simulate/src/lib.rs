//! Solvers of the motion of free liquid bodies: equations integrated in time, leaning on no formula of theory.
//!
//! A solver is built from a [`liquid::Liquid`], a [`start::Start`] and [`driver::Drivers`], all SI, and implements
//! [`solver::Solver`]: rates of its state, errors allowed, what to do after a step (re-mesh, part), conserved quantities, samples.
//! [`run::run`] does the rest, the same for all: steps of adaptive length, samples at the asked instants by dense output, conserved
//! quantities watched, a reason at the end, a checkpoint to go on from, progress and a way to stop.
//!
//! ```text
//! Liquid, Start, Drivers -> a Solver -> run::run(solver, begin, course, progress) -> Run { samples, stop, checkpoint, effort }
//! ```
//! Bodies are bodies of revolution about the z axis. The same input gives the same output. Nothing here prints or touches a disk.

pub mod checkpoint;
pub mod driver;
pub mod event;
pub mod liquid;
pub mod outside;
pub mod potential;
pub mod run;
pub mod sample;
pub mod solver;
pub mod start;
pub mod stop;
