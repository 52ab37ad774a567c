//! One function for each thing that a person asks for. Calls the rooms below in their order; holds no physics.

pub mod aside;
pub mod body;
pub mod camera;
pub mod check;
pub mod demo;
pub mod document;
pub mod draw;
pub mod drift;
pub mod error;
pub mod files;
pub mod film;
pub mod known;
pub mod lamp;
pub mod liquids;
pub mod logged;
pub mod look;
pub mod measure;
pub mod methods;
pub mod plan;
pub mod recorded;
pub mod series;
pub mod sweep;
pub mod tables;
pub mod timed;
pub mod wording;
pub mod write;
