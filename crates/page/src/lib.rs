//! The local page over a folder of runs: a server that listens on this machine only, and the page it serves.
//!
//! Everything is asked of `study`. Clips are decoded and measured in child processes of the same program, so that a damaged one cannot
//! take the server down.

pub mod answer;
pub mod app;
pub mod assets;
pub mod away;
pub mod child;
pub mod error;
pub mod experiments;
pub mod frames;
pub mod guard;
pub mod job;
pub mod jobs;
pub mod kept;
pub mod limits;
pub mod looks;
pub mod media;
pub mod place;
pub mod queue;
pub mod routes;
pub mod runs;
pub mod serve;
pub mod task;
pub mod upload;
pub mod worker;
pub mod working;
