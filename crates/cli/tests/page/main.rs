//! The local page, asked as a browser and as an enemy would ask it.

mod away;
mod client;
mod files;
mod hostile;
mod kept;
mod work;
