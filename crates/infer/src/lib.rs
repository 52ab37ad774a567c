//! From series to quantities: modes of a ringing drop. It sees no pixels and no solver.

pub mod acceleration;
pub mod among;
pub mod begun;
pub mod budget;
pub mod caution;
pub mod fit;
pub mod foreseen;
pub mod interval;
pub mod known;
pub mod line;
pub mod logged;
pub mod property;
pub mod ringdown;
pub mod swing;
pub mod trial;
pub mod turning;
