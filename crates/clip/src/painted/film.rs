//! Writes a painted clip as an MP4, grey in three equal colours.
//!
//! The film runs at the clock's rate with evenly spaced frames: shifts and dropped slots do not show in its times, so an
//! uneven clock is refused. Sixteen-bit levels lose their lower eight bits, as in any ordinary film.

use std::path::Path;

use crate::encode::FilmWriter;
use crate::error::ClipError;
use crate::frame::{Levels, Plane};
use crate::painted::painter::Painter;

/// Paints all frames of a recipe into an MP4 of this coarseness, such as [`crate::encode::FINE`].
///
/// # Errors
/// [`ClipError::NotWritten`] for an uneven clock, and what the writer of films gives.
pub fn write_mp4(painter: &mut Painter, path: &Path, coarseness: u8) -> Result<(), ClipError> {
    let recipe = painter.recipe();
    if recipe.clock.jitter > 0.0 || !recipe.clock.dropped.is_empty() {
        let problem = "the clock is uneven, which an evenly spaced film cannot tell; write stills".into();
        return Err(ClipError::NotWritten {
            what: path.display().to_string(),
            problem,
        });
    }
    let spare_bits = recipe.camera.bits - 8;
    let mut film = FilmWriter::create(
        path,
        recipe.width,
        recipe.height,
        recipe.clock.rate_fps,
        coarseness,
    )?;
    let mut index = 0;
    while let Some(frame) = painter.paint(index) {
        film.push(&colours(&frame.plane, spare_bits))?;
        index += 1;
    }
    film.finish()
}

/// Each level three times, its spare bits dropped.
pub(crate) fn colours(plane: &Plane, spare_bits: u32) -> Vec<u8> {
    match &plane.levels {
        Levels::Eight(levels) => levels.iter().flat_map(|&level| [level; 3]).collect(),
        Levels::Sixteen(levels) => levels
            .iter()
            .flat_map(|&level| [(level >> spare_bits) as u8; 3])
            .collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::encode::FINE;
    use crate::open::{OpenOptions, open};
    use crate::painted::body::PaintedBody;
    use crate::painted::recipe::Recipe;

    #[test]
    fn a_film_comes_back_as_painted_within_the_coding() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("clip.mp4");
        let mut recipe = Recipe::silhouette(96, 80, 5, 50.0, 1e-4);
        recipe.bodies = vec![PaintedBody::sphere(20.0, [48.0, 40.0])];
        let mut painter = Painter::new(recipe).unwrap();
        write_mp4(&mut painter, &path, FINE).unwrap();
        let mut film = open(&path, &OpenOptions::default()).unwrap();
        for index in 0..5 {
            let (seen, painted) = (film.next_frame().unwrap().unwrap(), painter.paint(index).unwrap());
            // Limited range: level L is coded as 16 + 219 L / 255.
            let off = |(x, y): (usize, usize)| {
                (seen.plane.at(x, y) - 16.0 - 219.0 / 255.0 * painted.plane.at(x, y)).abs()
            };
            let worst = (0..80)
                .flat_map(|y| (0..96).map(move |x| (x, y)))
                .map(off)
                .fold(0.0, f32::max);
            assert!(worst < 12.0, "{worst}");
        }
        assert!(film.next_frame().unwrap().is_none());
    }

    #[test]
    fn key_pictures_are_told_as_they_pass() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("clip.mp4");
        let mut recipe = Recipe::silhouette(96, 80, 64, 50.0, 1e-4);
        recipe.bodies = vec![PaintedBody::sphere(20.0, [48.0, 40.0])];
        write_mp4(&mut Painter::new(recipe).unwrap(), &path, FINE).unwrap();
        let mut film = open(
            &path,
            &OpenOptions {
                frames: Some((10, 64)),
            },
        )
        .unwrap();
        while film.next_frame().unwrap().is_some() {}
        let keys: Vec<u64> = film.keys().iter().copied().filter(|key| *key >= 10).collect();
        assert_eq!(keys, [30, 60]);
    }

    #[test]
    fn spare_bits_are_dropped_from_below() {
        let deep = Plane::sixteen(3, 1, vec![0, 0x7FF, 0xFFF]);
        assert_eq!(colours(&deep, 4), [0, 0, 0, 127, 127, 127, 255, 255, 255]);
        assert_eq!(colours(&Plane::eight(1, 1, vec![9]), 0), [9, 9, 9]);
    }

    #[test]
    fn an_uneven_clock_is_refused() {
        let mut recipe = Recipe::silhouette(96, 80, 5, 50.0, 1e-4);
        recipe.clock.dropped = vec![2];
        let folder = tempfile::tempdir().unwrap();
        let refused = write_mp4(
            &mut Painter::new(recipe).unwrap(),
            &folder.path().join("clip.mp4"),
            FINE,
        );
        assert!(refused.is_err_and(|e| e.to_string().contains("uneven")));
    }
}
