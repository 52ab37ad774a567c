//! Lens, roll and lamp of the synthetic camera against areas and places worked out here.

use std::f64::consts::PI;

use super::*;
use crate::painted::recipe::Mark;
use tremolet_optics::distortion::Lens;
use tremolet_optics::picture::Picture;

const SIZE: usize = 160;
const MIDDLE: [f64; 2] = [79.5, 79.5];

fn through(picture: Picture, body: PaintedBody) -> (f64, [f64; 2], [f64; 3]) {
    let mut recipe = quiet(SIZE);
    recipe.handling.picture = Some(picture);
    recipe.bodies = vec![body];
    moments(&missing(&recipe, 0), SIZE)
}

// x_d = x (1 + k r^2): a ball of radius 40 px about the axis of a lens of 200 px with k = -0.25 is seen with 40 (1 - 0.25 * 0.04) px,
// its middle where it is.
#[test]
fn a_barrel_lens_shrinks_a_ball_on_its_axis() {
    let lens = Lens {
        radial: [-0.25, 0.0, 0.0],
        ..Lens::default()
    };
    let picture = Picture {
        lens,
        focal_px: 200.0,
        ..Picture::plain(MIDDLE)
    };
    let (area, centre, _) = through(picture, PaintedBody::sphere(40.0, MIDDLE));
    let radius = (area / PI).sqrt();
    assert!((radius - 39.6).abs() < 1e-3, "{radius}");
    assert!((centre[0] - MIDDLE[0]).hypot(centre[1] - MIDDLE[1]) < 1e-3);
}

// Off the axis a small ball is seen at (60, 0) (1 - 0.25 * 0.09) and squeezed more along the radius than across.
#[test]
fn off_the_axis_a_ball_is_moved_and_squeezed() {
    let lens = Lens {
        radial: [-0.25, 0.0, 0.0],
        ..Lens::default()
    };
    let picture = Picture {
        lens,
        focal_px: 200.0,
        ..Picture::plain([19.5, 79.5])
    };
    let (_, centre, [xx, _, yy]) = through(picture, PaintedBody::sphere(10.0, [79.5, 79.5]));
    // Second order: the mean of the map over the ball, 4 k x s^2 with s half its radius, and the fall of the area, 8 k x s^2, move the
    // middle by -0.11 px.
    assert!((centre[0] - (78.15 - 0.1125)).abs() < 0.01, "{centre:?}");
    let squeezed = ((xx - 1.65) / (yy - 1.65)).sqrt();
    // (1 - 3 * 0.25 * 0.09) / (1 - 0.25 * 0.09); blur of 1.25 px and the pixel add 1.65 px^2 to both.
    assert!((squeezed - 0.932_5 / 0.977_5).abs() < 2e-3, "{squeezed}");
}

// A camera turned clockwise by 3-4-5 shows the level point c + (5, 10) at c + (10, 5), and an upright body leaning to the left.
#[test]
fn a_turned_camera_turns_place_axis_and_marks() {
    let picture = Picture {
        roll: 0.6_f64.asin(),
        ..Picture::plain(MIDDLE)
    };
    let upright = PaintedBody::moving(30.0, [84.5, 89.5], Still(vec![0.0, 0.0, 0.2]));
    let (_, centre, [xx, xy, yy]) = through(picture, upright);
    assert!((centre[0] - 89.5).hypot(centre[1] - 84.5) < 2e-3, "{centre:?}");
    let long = 0.5 * (2.0 * xy).atan2(xx - yy);
    // Up (0, -1) is seen at (-0.6, -0.8): the long axis leans along (0.6, 0.8).
    assert!((long.tan() - 0.8 / 0.6).abs() < 2e-3, "{long}");
    let mut recipe = quiet(SIZE);
    recipe.handling.picture = Some(picture);
    recipe.marks = vec![Mark::Dot {
        centre: [84.5, 89.5],
        radius_px: 8.0,
        light: 0.0,
    }];
    let (_, dot, _) = moments(&missing(&recipe, 0), SIZE);
    assert!((dot[0] - 89.5).hypot(dot[1] - 84.5) < 2e-2, "{dot:?}");
}

// A lamp of 10 degrees half angle: the light that is too much has the width 2.7e-3 R at n = 1.333 (geometric optics of a water edge,
// recomputed independently, to the digits shown), so the area 2 pi R^2 of it.
#[test]
fn a_wide_lamp_lights_the_rim() {
    let area = |half_angle: f64| {
        let mut recipe = quiet(SIZE);
        if let PaintedScene::Silhouette(look) = &mut recipe.scene {
            (look.lamp_half_angle, look.index) = (half_angle, 1.333);
        }
        recipe.bodies = vec![PaintedBody::sphere(50.0, MIDDLE)];
        moments(&missing(&recipe, 0), SIZE).0
    };
    let shift = (area(0.0) - area(10.0_f64.to_radians())) / (2.0 * PI * 50.0 * 50.0);
    assert!((shift - 2.7e-3).abs() < 0.5e-4, "{shift}");
}
