//! What bodies do to the light on the way to the sensor: dark silhouettes, and bright bodies with rim, wall and glints.

use std::ops::Range;

use crate::painted::body::Pose;
use crate::painted::glass::Rim;
use crate::painted::handling::View;
use crate::painted::outline::{Ring, outline};
use crate::painted::painter::Painter;
use crate::painted::parts;
use crate::painted::recipe::{Bright, Glint, PaintedScene, Silhouette};
use tremolet_optics::lamp::reflectance;

impl Painter {
    /// Lays one body, or each of its parts, over the light of these rows.
    pub(super) fn add_body(&mut self, pose: &Pose, view: &View, rows: &Range<usize>) {
        if pose.stance.parts.is_empty() {
            return self.add_whole(pose, view, rows);
        }
        self.cover.look_at(rows);
        for part in &pose.stance.parts {
            let spacing = self.kernel.spacing();
            let ring = parts::ring(part, pose.centre, pose.axis, view.zoom, spacing);
            self.cover
                .fill(std::slice::from_ref(&(1.0, ring.clone())), &self.kernel);
            if let PaintedScene::Silhouette(look) = self.recipe.scene.clone() {
                let middle = look.dark;
                self.add_silhouette(pose, &ring, &Silhouette { middle, ..look });
            }
        }
    }

    fn add_whole(&mut self, pose: &Pose, view: &View, rows: &Range<usize>) {
        // All that the camera sees larger is as if its pixels were smaller.
        let scale = self.recipe.scale_m_per_px / view.zoom;
        let distance = self.recipe.distance_m.map(|metres| metres / scale);
        let ring = outline(pose, distance, scale, self.kernel.spacing());
        let (ring, pose) = match &view.picture {
            Some(picture) => {
                let centre = picture.seen(pose.centre);
                (
                    ring.bent(picture),
                    &Pose {
                        centre,
                        ..pose.clone()
                    },
                )
            }
            None => (ring, pose),
        };
        self.cover.look_at(rows);
        self.inside.look_at(rows);
        match self.recipe.scene.clone() {
            PaintedScene::Silhouette(look) => {
                self.cover
                    .fill(&lit_stack(&look, &ring, pose.centre), &self.kernel);
                self.add_silhouette(pose, &ring, &look);
                self.add_glints(pose, &look.glints, rows);
            }
            PaintedScene::Bright(look) => {
                self.cover.fill(&[(1.0, ring.clone())], &self.kernel);
                self.add_bright(pose, &ring, &look, view, rows);
            }
        }
    }

    fn add_silhouette(&mut self, pose: &Pose, ring: &Ring, look: &Silhouette) {
        let width = self.recipe.width;
        let rim = Rim::new(ring, pose.centre);
        let reach = rim.largest * look.middle_size * 1.2;
        for y in self.cover.rows() {
            let away_y = y as f64 - pose.centre[1];
            let near = (reach * reach - away_y * away_y).max(0.0).sqrt();
            let lamp = &self.lamp[y * width..][..width];
            let light = &mut self.light[y * width..][..width];
            for (x, ((light, &share), lamp)) in light.iter_mut().zip(self.cover.row(y)).zip(lamp).enumerate()
            {
                let away_x = x as f64 - pose.centre[0];
                let mut through = look.dark;
                if away_x.abs() < near {
                    let out = rim.share(away_x, away_y) / look.middle_size;
                    through += (look.middle - look.dark) * soft_disc(out);
                }
                *light = *light * (1.0 - share) + share * through as f32 * lamp;
            }
        }
    }

    fn add_bright(&mut self, pose: &Pose, ring: &Ring, look: &Bright, view: &View, rows: &Range<usize>) {
        let rim = Rim::new(ring, pose.centre);
        let rings = rim_stack(look, ring, pose, self.kernel.blur());
        self.inside.fill(&rings, &self.kernel);
        let Some((wall, lens)) = &self.wall else { return };
        let width = self.recipe.width;
        for y in self.cover.rows() {
            let away_y = y as f64 - pose.centre[1];
            let light = &mut self.light[y * width..][..width];
            let shares = self.cover.row(y).iter().zip(self.inside.row(y));
            for (x, (light, (&share, &lit))) in light.iter_mut().zip(shares).enumerate() {
                if share < 1e-7 {
                    continue;
                }
                let away_x = x as f64 - pose.centre[0];
                let out = rim.share(away_x, away_y);
                let (height, halvings) = lens.at(out);
                let stretch = height / out.max(1e-6);
                let [x, y] = view.behind([
                    pose.centre[0] + stretch * away_x,
                    pose.centre[1] + stretch * away_y,
                ]);
                let seen = wall.at(x, y, halvings);
                // The upper half looks at the brighter ceiling, the lower half at the floor.
                let shade = 1.0 - 0.25 * away_y / pose.radius_px;
                *light = *light * (1.0 - share) + lit * (0.75 * seen + (look.haze * shade) as f32);
            }
        }
        self.add_glints(pose, &look.glints, rows);
    }

    fn add_glints(&mut self, pose: &Pose, glints: &[Glint], rows: &Range<usize>) {
        let (width, height) = (self.recipe.width, self.recipe.height);
        for glint in glints {
            let size = (glint.size * pose.radius_px).hypot(self.kernel.blur());
            let place = [0, 1].map(|i| pose.centre[i] + glint.at[i] * pose.radius_px);
            let around = |centre: f64, size_px: usize| {
                let low = (centre - 5.0 * size).ceil().clamp(0.0, size_px as f64) as usize;
                let high = (centre + 5.0 * size).ceil().clamp(0.0, size_px as f64) as usize;
                low..high
            };
            let near = around(place[1], height);
            for y in near.start.max(rows.start)..near.end.min(rows.end) {
                for x in around(place[0], width) {
                    let square = (x as f64 - place[0]).powi(2) + (y as f64 - place[1]).powi(2);
                    self.light[y * width + x] += (glint.light * (-0.5 * square / (size * size)).exp()) as f32;
                }
            }
        }
    }
}

/// 1 inside, 0 from 1.15 on, smooth between: the lamp's image in the body.
fn soft_disc(out: f64) -> f64 {
    let part = ((1.15 - out) / 0.4).clamp(0.0, 1.0);
    part * part * (3.0 - 2.0 * part)
}

/// The rim from the outline inward: rings that together fill the inside with light rising from `rim_light` to 1.
/// Steps of the light that a lamp throws on a rim.
const LIT_STEPS: u32 = 16;

/// The dark of a silhouette as a stack of rings, less the share of light that a wide lamp shows by reflection: `F(a)` at the depth
/// `R (1 - cos a)` for `a` below half of the lamp's half angle \[BornWolf1999\].
fn lit_stack(look: &Silhouette, ring: &Ring, centre: [f64; 2]) -> Vec<(f64, Ring)> {
    if look.lamp_half_angle == 0.0 {
        return vec![(1.0, ring.clone())];
    }
    let reach = 0.5 * look.lamp_half_angle;
    let angle = |k: f64| reach * k / f64::from(LIT_STEPS);
    let light = |k: f64| reflectance(look.index, angle(k));
    let step = |k: u32| {
        let k = f64::from(k);
        let ring = ring.shrunk(centre, angle(k + 0.5).cos());
        (light(k) - light(k + 1.0), ring)
    };
    let inner = (light(f64::from(LIT_STEPS)), ring.shrunk(centre, reach.cos()));
    (0..LIT_STEPS).map(step).chain([inner]).collect()
}

fn rim_stack(look: &Bright, ring: &Ring, pose: &Pose, blur: f64) -> Vec<(f64, Ring)> {
    let steps = (look.rim_width * pose.radius_px / (1.6 * blur)).ceil().max(1.0) as usize;
    let share = (1.0 - look.rim_light) / steps as f64;
    let mut rings = vec![(look.rim_light, ring.clone())];
    rings.extend((0..steps).map(|k| {
        let depth = look.rim_width * ease_back((k as f64 + 0.5) / steps as f64);
        (share, ring.shrunk(pose.centre, 1.0 - depth))
    }));
    rings
}

/// Where the smooth step `3 t^2 - 2 t^3` reaches `level`: `1/2 - sin(asin(1 - 2 level) / 3)`.
fn ease_back(level: f64) -> f64 {
    0.5 - ((1.0 - 2.0 * level).asin() / 3.0).sin()
}
