//! The canvas that animations (GIF, APNG) lay their pictures on.
//!
//! `c' = a p + (1 - a) c` per pixel, with level `p` and opacity `a` of the picture and level `c` of the canvas; the
//! canvas begins black. After a frame was shown its area stays, turns black, or returns to what it was. Levels in codes.

/// A rectangle on the canvas: left, top, width, height in pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Area {
    /// First column.
    pub left: usize,
    /// First row.
    pub top: usize,
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
}

/// What becomes of an area after it was shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Afterwards {
    /// It stays.
    Keep,
    /// It turns black.
    Clear,
    /// It returns to what it was.
    Restore,
}

/// Levels of what is shown.
#[derive(Debug, Clone)]
pub struct Canvas {
    width: usize,
    height: usize,
    levels: Vec<u16>,
    pending: Option<(Area, Afterwards, Vec<u16>)>,
}

impl Canvas {
    /// A black canvas.
    pub fn new(width: usize, height: usize) -> Self {
        Self {
            width,
            height,
            levels: vec![0; width * height],
            pending: None,
        }
    }

    /// Lays a picture on the canvas: its levels, and opacities from 0 to `full`. `None` when it reaches over the edge.
    pub fn lay(
        &mut self,
        area: Area,
        picture: &[(u16, u16)],
        full: u16,
        afterwards: Afterwards,
    ) -> Option<&[u16]> {
        self.settle();
        let fits = area.left + area.width <= self.width && area.top + area.height <= self.height;
        if !fits || picture.len() != area.width * area.height {
            return None;
        }
        let before = if afterwards == Afterwards::Restore {
            self.levels.clone()
        } else {
            Vec::new()
        };
        for (i, (level, opacity)) in picture.iter().enumerate() {
            let at = (area.top + i / area.width) * self.width + area.left + i % area.width;
            let (a, f) = (u64::from(*opacity), u64::from(full));
            let sum = a * u64::from(*level) + (f - a.min(f)) * u64::from(self.levels[at]);
            self.levels[at] = ((sum + f / 2) / f) as u16;
        }
        self.pending = Some((area, afterwards, before));
        Some(&self.levels)
    }

    /// Does to the last area what comes after showing it.
    fn settle(&mut self) {
        match self.pending.take() {
            Some((area, Afterwards::Clear, _)) => {
                for y in area.top..area.top + area.height {
                    let start = y * self.width + area.left;
                    self.levels[start..start + area.width].fill(0);
                }
            }
            Some((_, Afterwards::Restore, before)) => self.levels = before,
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const DOT: Area = Area {
        left: 1,
        top: 0,
        width: 1,
        height: 1,
    };
    const ALL: Area = Area {
        left: 0,
        top: 0,
        width: 2,
        height: 1,
    };

    #[test]
    fn areas_stay_clear_or_return() {
        for (afterwards, expected) in [
            (Afterwards::Keep, 9),
            (Afterwards::Clear, 0),
            (Afterwards::Restore, 6),
        ] {
            let mut canvas = Canvas::new(2, 1);
            canvas.lay(ALL, &[(5, 1), (6, 1)], 1, Afterwards::Keep);
            assert_eq!(canvas.lay(DOT, &[(9, 1)], 1, afterwards), Some(&[5, 9][..]));
            assert_eq!(
                canvas.lay(ALL, &[(0, 0), (0, 0)], 1, Afterwards::Keep),
                Some(&[5, expected][..])
            );
        }
    }

    #[test]
    fn opacity_mixes_and_pictures_over_the_edge_are_refused() {
        let mut canvas = Canvas::new(2, 1);
        assert_eq!(
            canvas.lay(DOT, &[(200, 128)], 255, Afterwards::Keep),
            Some(&[0, 100][..])
        );
        assert_eq!(
            canvas.lay(Area { left: 2, ..DOT }, &[(1, 1)], 1, Afterwards::Keep),
            None
        );
        assert_eq!(canvas.lay(DOT, &[], 1, Afterwards::Keep), None);
    }
}
