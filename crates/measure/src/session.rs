//! One clip from its first frame to its last: scene, bodies, shapes.
//!
//! The first frames are held back to see the scene; then frames are measured in batches, each alone, and joined in
//! order. The result does not depend on the number of threads. Memory grows by the outlines only.
//!
//! Lengths in px, angles in rad. Source: see the rooms it calls. Knows no time and no metres.

use crate::bright::Bright;
use crate::camera::Camera;
use crate::edge::{View, refine};
use crate::error::MeasureError;
use crate::locate::locate;
use crate::measured::{BodyTrack, Caution, Lighting, Measured, SceneSummary};
use crate::scene::Scene;
use crate::settings::Settings;
use crate::track::{Sighting, Tracks, sighted};
use rayon::prelude::*;
use std::ops::ControlFlow;
use tremolet_clip::frame::{Frame, Plane};
use tremolet_clip::source::FrameSource;

/// Frames that the scene is judged from.
const SAMPLE: usize = 12;
/// Frames measured side by side.
const BATCH: usize = 16;
/// The edge is not looked for so near to where something was cut from a body: cells, and px for the blur.
const GUARD_CELLS: f64 = 1.5;
const GUARD_PX: f64 = 5.0;
/// Share of a rim before clutter that is seen in an ordinary frame.
const MOSTLY: f64 = 0.95;

/// Measures a whole clip. `progress` hears the number of frames done and may stop the session.
///
/// # Errors
/// When the clip cannot be read, when `progress` stops it, when the empty frame has another size.
pub fn measure(
    source: &mut dyn FrameSource,
    settings: &Settings,
    progress: &mut dyn FnMut(u64) -> ControlFlow<()>,
) -> Result<Measured, MeasureError> {
    check(source, settings)?;
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(settings.threads)
        .build()
        .map_err(|_| MeasureError::Threads {
            threads: settings.threads,
        })?;
    let mut batch = taken(source, SAMPLE)?;
    if batch.is_empty() {
        return Ok(nothing());
    }
    let planes: Vec<&Plane> = batch.iter().map(|f| &f.plane).collect();
    let scene = Scene::of(&planes, settings.empty.as_ref());
    let mut bright = Bright::of(settings);
    let (mut tracks, mut frames, mut seen) = (Tracks::default(), 0, Vec::new());
    while !batch.is_empty() {
        let found: Vec<Vec<Sighting>> = pool.install(|| {
            bright.look(&batch, &scene, settings);
            let each = batch.par_iter().map(|f| bodies(f, &scene, settings, &bright));
            each.collect()
        });
        for (frame, sightings) in batch.iter().zip(found) {
            seen.push((frame.index, sightings.len()));
            bright.follow(&sightings);
            tracks.add(sightings);
        }
        frames += batch.len() as u64;
        if progress(frames).is_break() {
            return Err(MeasureError::Stopped { frames });
        }
        batch = taken(source, BATCH)?;
    }
    let passed: Vec<u64> = seen.iter().map(|s| s.0).collect();
    let camera = Camera {
        stated: settings.camera,
        frames: &passed,
        times: source.passed(),
    };
    let finished = pool.install(|| tracks.finished(settings.axis_angle, settings.max_degree, &camera));
    let (bodies, taken): (Vec<_>, Vec<_>) = finished.into_iter().unzip();
    let mut measured = Measured {
        scene: summary(&scene, &bodies, bright.u_edge()),
        frames,
        cautions: Vec::new(),
        bodies,
        taken,
    };
    measured.cautions = cautions(&scene, &seen, &measured);
    if let Some(doubt) = bright.doubt() {
        measured.cautions.push(Caution {
            code: "empty_frame_unused",
            text: doubt.into(),
            frames: seen.first().zip(seen.last()).map(|(a, b)| (a.0, b.0)),
        });
    }
    Ok(measured)
}

fn check(source: &dyn FrameSource, settings: &Settings) -> Result<(), MeasureError> {
    let info = source.info();
    match &settings.empty {
        Some(empty) if (empty.width, empty.height) != (info.width, info.height) => {
            Err(MeasureError::EmptyFrameSize {
                width: empty.width,
                height: empty.height,
                clip_width: info.width,
                clip_height: info.height,
            })
        }
        _ => Ok(()),
    }
}

fn taken(source: &mut dyn FrameSource, count: usize) -> Result<Vec<Frame>, MeasureError> {
    let mut frames = Vec::with_capacity(count);
    while frames.len() < count {
        match source.next_frame()? {
            Some(frame) => frames.push(frame),
            None => break,
        }
    }
    Ok(frames)
}

fn bodies(frame: &Frame, scene: &Scene, settings: &Settings, bright: &Bright) -> Vec<Sighting> {
    if scene.lighting == Lighting::Cluttered {
        return bright.sighting(frame, scene, settings).into_iter().collect();
    }
    locate(&frame.plane, scene, &settings.masks)
        .iter()
        .filter_map(|coarse| {
            let view = View {
                plane: &frame.plane,
                background: &scene.background,
                masks: &settings.masks,
                cuts: &coarse.cuts,
                guard: GUARD_CELLS * coarse.cell_px + GUARD_PX,
            };
            sighted(frame.index, &refine(&view, coarse)?)
        })
        .collect()
}

fn nothing() -> Measured {
    Measured {
        scene: SceneSummary {
            lighting: Lighting::Cluttered,
            background_level: 0.0,
            background_unevenness: 1.0,
            background_roughness: 0.0,
            flicker: 0.0,
            blur_px: 0.0,
            u_edge_px: 0.0,
        },
        frames: 0,
        bodies: Vec::new(),
        taken: Vec::new(),
        cautions: Vec::new(),
    }
}

fn summary(scene: &Scene, bodies: &[crate::measured::BodyTrack], u_edge_px: f64) -> SceneSummary {
    let mut blurs: Vec<f64> = bodies
        .iter()
        .flat_map(|b| b.shapes.iter().map(|s| s.blur_px))
        .collect();
    blurs.sort_by(f64::total_cmp);
    let (low, high) = scene.background.range();
    SceneSummary {
        lighting: scene.lighting,
        background_level: scene.background.middle(),
        background_unevenness: high / low.max(1e-9),
        background_roughness: scene.roughness,
        flicker: scene.flicker,
        blur_px: blurs.get(blurs.len() / 2).copied().unwrap_or(0.0),
        u_edge_px,
    }
}

fn cautions(scene: &Scene, seen: &[(u64, usize)], measured: &Measured) -> Vec<Caution> {
    let mut found = Vec::new();
    let mut add = |code, text: String, frames: &[u64]| {
        if let (Some(first), Some(last)) = (frames.first(), frames.last()) {
            found.push(Caution {
                code,
                text,
                frames: Some((*first, *last)),
            });
        }
    };
    let all: Vec<u64> = seen.iter().map(|s| s.0).collect();
    if scene.lighting == Lighting::Cluttered {
        add(
            "cluttered_scene",
            "the background is not a smooth light; one body is sought by its dark rim, absent where too little of the rim is seen".into(),
            &all,
        );
    }
    let empty: Vec<u64> = seen.iter().filter(|s| s.1 == 0).map(|s| s.0).collect();
    add(
        "no_body",
        format!("no body found in {} of {} frames", empty.len(), all.len()),
        &empty,
    );
    for track in &measured.bodies {
        of_body(track, scene.lighting, &mut add);
    }
    for (track, taken) in measured.bodies.iter().zip(&measured.taken) {
        add(
            "rows_not_brought_together",
            format!(
                "the rows of body {} could not be brought to one instant in {}: its neighbours in time are missing or its \
                 outline does not bear an expansion; those shapes are stretched and sheared as the readout left them",
                track.body,
                counted(&taken.left)
            ),
            &taken.left,
        );
    }
    found
}

/// `1 frame`, `7 frames`.
fn counted(frames: &[u64]) -> String {
    match frames.len() {
        1 => "1 frame".into(),
        many => format!("{many} frames"),
    }
}

/// What is to be said of one body.
fn of_body(track: &BodyTrack, lighting: Lighting, add: &mut dyn FnMut(&'static str, String, &[u64])) {
    let body = track.body;
    let those = |wanted: &dyn Fn(&crate::measured::BodyShape) -> bool| -> Vec<u64> {
        track
            .shapes
            .iter()
            .filter(|s| wanted(s))
            .map(|s| s.frame)
            .collect()
    };
    let frames = those(&|s| s.touches_frame);
    add(
        "leaves_frame",
        format!(
            "body {body} reaches the border of the picture in {}",
            counted(&frames)
        ),
        &frames,
    );
    let frames = those(&|s| s.touched);
    add(
        "outline_disturbed",
        format!(
            "something crosses or touches the outline of body {body} in {}; that part is left out",
            counted(&frames)
        ),
        &frames,
    );
    let frames = those(&|s| !s.touched && s.coverage < MOSTLY && lighting == Lighting::Cluttered);
    add(
        "rim_partly_seen",
        format!(
            "part of the rim of body {body} is not told from what lies behind it in {}; that part is left out, and \
             whether something thin holds the body there is not known",
            counted(&frames)
        ),
        &frames,
    );
    let frames = those(&|s| !s.star_shaped);
    add(
        "no_expansion",
        format!(
            "the outline of body {body} does not bear an expansion about one centre in {}",
            counted(&frames)
        ),
        &frames,
    );
    let frames = those(&|s| !s.star_shaped && s.coverage < 0.999);
    add(
        "volume_across_gap",
        format!(
            "volume of body {body} closes a hidden part of the outline by a straight line in {}",
            counted(&frames)
        ),
        &frames,
    );
    if track.axis_uncertainty > 0.3 && !track.shapes.is_empty() {
        let frames = those(&|_| true);
        add(
            "axis_unknown",
            format!("the shapes of body {body} show no axis"),
            &frames,
        );
    }
}
