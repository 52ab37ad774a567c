//! What a place gives: time of weightlessness, residual acceleration and its jitter, where the file states none.
//!
//! | place | time, s | residual, m/s^2 | jitter (r.m.s.), m/s^2 |
//! |---|---|---|---|
//! | drop tower (one drop) | 4.7 | 1e-5 | 1e-4 |
//! | parabolic aircraft | 20 | 0.1 (strapped down), less when it floats free | 0.1 |
//! | sounding rocket | 360 | 1e-3 | 1e-3 |
//! | orbital cabin | no end | 1e-5 | 3e-3 |
//! | ground levitator | no end | 9.81, carried by the field | 0.01 |
//!
//! Orders of magnitude from what users of such places say; common practice, no published source, written from memory. What counts is what the facility
//! states and what an accelerometer beside the drop has seen: state that.

use tremolet_record::experiment::material::Place;

/// What a place gives, SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Preset {
    /// Time of weightlessness, s; infinite where it does not end.
    pub time: f64,
    /// Residual acceleration, m/s^2.
    pub acceleration: f64,
    /// Its swings, root mean square, m/s^2.
    pub jitter: f64,
    /// Whether a body floats freely there at all.
    pub free: bool,
}

/// Where the numbers come from.
pub const SOURCE: &str = "common practice, no published source";

/// The preset of a place.
pub fn preset(place: Place) -> Preset {
    let of = |time, acceleration, jitter, free| Preset {
        time,
        acceleration,
        jitter,
        free,
    };
    match place {
        Place::DropTower => of(4.7, 1e-5, 1e-4, true),
        Place::ParabolicFlight => of(20.0, 0.1, 0.1, true),
        Place::SoundingRocket => of(360.0, 1e-3, 1e-3, true),
        Place::Orbit => of(f64::INFINITY, 1e-5, 3e-3, true),
        Place::Levitator => of(f64::INFINITY, 0.0, 0.01, false),
        Place::Ground => of(f64::INFINITY, 9.81, 0.0, false),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // An order of the places that nobody disputes.
    #[test]
    fn quieter_places_are_quieter() {
        let order = [
            Place::Orbit,
            Place::SoundingRocket,
            Place::ParabolicFlight,
            Place::Ground,
        ];
        assert!(
            order
                .windows(2)
                .all(|pair| preset(pair[0]).acceleration < preset(pair[1]).acceleration)
        );
        assert!(preset(Place::DropTower).time < preset(Place::ParabolicFlight).time);
        assert!(!preset(Place::Levitator).free && preset(Place::DropTower).free);
    }
}
