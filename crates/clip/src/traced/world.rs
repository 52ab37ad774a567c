//! What light there is around the bodies: a board behind them, round lamps in a room, and the room itself.
//!
//! ```text
//! board:  light = dark + (light - dark) p(x, y),  p from 0 to 1 by the pattern;  beyond its border the room shows
//! room:   light = (overhead + underfoot)/2 - (overhead - underfoot)/2 d_y          d_y the downward part of the direction
//! lamp:   its own light within the half angle of its direction
//! ```
//! All light is given as the camera would show it, in fractions of full scale. Lamps are far away, so only the direction of a ray counts;
//! the board hides what is behind it. Edges are soft over a given width, as what lies out of focus is: `3 q^2 - 2 q^3` from 0 to 1.
//!
//! Our own invention; an even room, board and lamps give a sphere of even light.

use std::f64::consts::TAU;

use crate::traced::surface::Ray;
use crate::traced::vector::{Vector, dot};

/// Everything that shines.
#[derive(Debug, Clone, PartialEq)]
pub struct World {
    /// Behind the bodies.
    pub board: Option<Board>,
    /// Around them.
    pub lamps: Vec<RoomLamp>,
    /// All else.
    pub room: Room,
}

/// A flat board across the line of sight.
#[derive(Debug, Clone, PartialEq)]
pub struct Board {
    /// From the lens, m.
    pub distance: f64,
    /// Its middle beside the line of sight, right and down, m.
    pub middle: [f64; 2],
    /// Half its width and height, m.
    pub half: [f64; 2],
    /// Width of its soft border, m.
    pub border: f64,
    /// What is on it.
    pub pattern: Pattern,
    /// Light of its dark and of its bright parts.
    pub levels: [f64; 2],
}

/// What is on a board; lengths in m, edges soft over `soft`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Pattern {
    /// Bright all over.
    Even,
    /// Dark lines, `width` wide, every `period`, across the direction at `angle` (rad) from the right.
    Lines {
        /// From line to line.
        period: f64,
        /// Of a line.
        width: f64,
        /// Of the direction in which they follow each other, rad.
        angle: f64,
        /// Of an edge.
        soft: f64,
    },
    /// Dark and bright squares with sides of `side`.
    Checks {
        /// Of a square.
        side: f64,
        /// Of an edge.
        soft: f64,
    },
    /// Dark round dots of `radius` on a square grid of `period`.
    Dots {
        /// From dot to dot.
        period: f64,
        /// Of a dot.
        radius: f64,
        /// Of an edge.
        soft: f64,
    },
    /// `1/2 + (cos 2 pi x/p + cos 2 pi y/q) / 4`.
    Waves {
        /// Periods `p`, `q` across and down.
        periods: [f64; 2],
    },
}

/// A round lamp far away.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoomLamp {
    /// Where it is seen, of length 1.
    pub towards: Vector,
    /// Half angle, rad.
    pub half_angle: f64,
    /// Width of its soft border, rad.
    pub border: f64,
    /// Its light.
    pub light: f64,
}

/// The room: light from above to below.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// Light straight up.
    pub overhead: f64,
    /// Light straight down.
    pub underfoot: f64,
}

impl World {
    /// The same light from everywhere.
    #[must_use]
    pub fn even(light: f64) -> Self {
        let room = Room {
            overhead: light,
            underfoot: light,
        };
        Self {
            board: None,
            lamps: Vec::new(),
            room,
        }
    }

    /// The light that a ray meets which meets no body.
    #[inline]
    #[must_use]
    pub fn light(&self, ray: &Ray) -> f64 {
        let (share, board) = match &self.board {
            Some(board) => board.seen(ray),
            None => (0.0, 0.0),
        };
        if share == 1.0 {
            return board;
        }
        share * board + (1.0 - share) * self.around(ray.direction)
    }

    /// The light of room and lamps.
    fn around(&self, direction: Vector) -> f64 {
        let Room { overhead, underfoot } = self.room;
        let room = 0.5 * ((overhead + underfoot) - (overhead - underfoot) * direction[1]);
        self.lamps.iter().fold(room, |light, lamp| {
            let share = lamp.share(direction);
            light + share * (lamp.light - light)
        })
    }
}

impl RoomLamp {
    fn share(&self, direction: Vector) -> f64 {
        let cosine = dot(self.towards, direction);
        // cos x >= 1 - x^2 / 2: most rays are told here, without an arc cosine.
        if cosine < 1.0 - 0.5 * (self.half_angle + self.border).powi(2) {
            return 0.0;
        }
        let off = cosine.clamp(-1.0, 1.0).acos() - self.half_angle;
        1.0 - soft_step(off, self.border)
    }
}

impl Board {
    /// Share of the board in what the ray meets, and its light there.
    #[inline]
    fn seen(&self, ray: &Ray) -> (f64, f64) {
        let way = (self.distance - ray.from[2]) / ray.direction[2];
        if !(way > 0.0 && way.is_finite()) {
            return (0.0, 0.0);
        }
        let at = [0, 1].map(|i| ray.from[i] + way * ray.direction[i] - self.middle[i]);
        let share: f64 = (0..2)
            .map(|i| 1.0 - soft_step(at[i].abs() - self.half[i], self.border))
            .product();
        if share == 0.0 {
            return (0.0, 0.0);
        }
        let [dark, light] = self.levels;
        (share, dark + (light - dark) * self.pattern.at(at))
    }
}

impl Pattern {
    /// Brightness at `[x, y]` m from the middle of the board, 0 to 1.
    #[must_use]
    pub fn at(&self, [x, y]: [f64; 2]) -> f64 {
        match *self {
            Self::Even => 1.0,
            Self::Lines {
                period,
                width,
                angle,
                soft,
            } => soft_step(
                fold(x * angle.cos() + y * angle.sin(), period) - 0.5 * width,
                soft,
            ),
            Self::Checks { side, soft } => {
                // Each axis runs from -1 to 1 and back; squares are where both have the same sign.
                let sign = |x: f64| 2.0 * soft_step(fold(x, 2.0 * side) - 0.5 * side, soft) - 1.0;
                0.5 * (1.0 + sign(x) * sign(y))
            }
            Self::Dots { period, radius, soft } => {
                soft_step(fold(x, period).hypot(fold(y, period)) - radius, soft)
            }
            Self::Waves { periods: [p, q] } => 0.5 + 0.25 * ((TAU * x / p).cos() + (TAU * y / q).cos()),
        }
    }
}

/// Distance from the nearest multiple of `period`.
fn fold(x: f64, period: f64) -> f64 {
    (x - period * (x / period).round()).abs()
}

/// From 0 to 1 over `width` about 0.
fn soft_step(x: f64, width: f64) -> f64 {
    if width <= 0.0 {
        return if x < 0.0 { 0.0 } else { 1.0 };
    }
    let q = (x / width + 0.5).clamp(0.0, 1.0);
    q * q * (3.0 - 2.0 * q)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::traced::vector::unit;

    fn board(pattern: Pattern) -> World {
        World {
            board: Some(Board {
                distance: 2.0,
                middle: [0.0; 2],
                half: [1.0, 0.5],
                border: 0.0,
                pattern,
                levels: [0.2, 0.8],
            }),
            lamps: Vec::new(),
            room: Room {
                overhead: 0.1,
                underfoot: 0.0,
            },
        }
    }

    fn seen(world: &World, to: Vector) -> f64 {
        world.light(&Ray {
            from: [0.0; 3],
            direction: unit(to),
        })
    }

    #[test]
    fn the_board_ends_where_it_ends_and_the_room_begins() {
        let world = board(Pattern::Even);
        assert_eq!(seen(&world, [0.99, 0.49, 2.0]), 0.8);
        assert!(seen(&world, [1.01, 0.0, 2.0]) < 0.1 && seen(&world, [0.0, 0.51, 2.0]) < 0.1);
        assert!((seen(&world, [0.0, -1.0, 0.0]) - 0.1).abs() < 1e-15);
        assert!(seen(&world, [0.0, 1.0, 0.0]).abs() < 1e-15);
        assert!((seen(&world, [0.0, 0.0, -1.0]) - 0.05).abs() < 1e-15);
    }

    #[test]
    fn patterns_are_dark_and_bright_where_they_should_be() {
        let lines = Pattern::Lines {
            period: 0.1,
            width: 0.02,
            angle: 0.0,
            soft: 0.002,
        };
        assert_eq!(
            [0.0, 0.05, 0.2, 0.212].map(|x| lines.at([x, 7.0])),
            [0.0, 1.0, 0.0, 1.0]
        );
        assert!((lines.at([0.01, 0.0]) - 0.5).abs() < 1e-9);
        let checks = Pattern::Checks {
            side: 0.1,
            soft: 0.001,
        };
        let shades = [[0.0, 0.0], [0.1, 0.0], [0.1, 0.1], [0.0, -0.1]].map(|at| checks.at(at));
        assert_eq!(shades, [1.0, 0.0, 1.0, 0.0]);
        let dots = Pattern::Dots {
            period: 0.1,
            radius: 0.02,
            soft: 0.001,
        };
        assert_eq!(
            [[0.1, 0.2], [0.05, 0.0], [0.115, 0.0]].map(|at| dots.at(at)),
            [0.0, 1.0, 0.0]
        );
        let waves = Pattern::Waves { periods: [0.2, 0.4] };
        assert!((waves.at([0.1, 0.2])).abs() < 1e-15 && (waves.at([0.0, 0.0]) - 1.0).abs() < 1e-15);
    }

    #[test]
    fn a_lamp_shines_within_its_angle() {
        let mut world = World::even(0.0);
        world.lamps.push(RoomLamp {
            towards: unit([0.0, -1.0, -1.0]),
            half_angle: 0.1,
            border: 0.02,
            light: 5.0,
        });
        let at = |off: f64| {
            let angle = std::f64::consts::FRAC_PI_4 + off;
            seen(&world, [0.0, -angle.sin(), -angle.cos()])
        };
        assert_eq!((at(0.0), at(0.08), at(0.12)), (5.0, 5.0, 0.0));
        assert!((at(0.1) - 2.5).abs() < 1e-9);
    }
}
