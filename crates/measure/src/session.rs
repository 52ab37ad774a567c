//! One clip from its first frame to its last: scene, bodies, shapes.
//!
//! The first frames are held back to see the scene; then frames are measured in batches of short runs and joined in
//! order, while another thread reads ahead. The result does not depend on the number of threads. Outlines go on a shelf, where
//! one is given; a few hundred numbers a frame and body stay in memory.
//!
//! Lengths in px, angles in rad. Source: see the rooms it calls. Knows no time and no metres.

use crate::aside::Shelf;
use crate::bright::Bright;
use crate::camera::light::Light;
use crate::camera::marks::Marks;
use crate::camera::motion::Verdict;
use crate::camera::{Camera, motion, told};
use crate::error::MeasureError;
use crate::follow;
use crate::glimpse::{Glimpse, glimpses};
use crate::measured::{BodyTrack, CameraSeen, Caution, Lighting, Measured, SceneSummary};
use crate::meetings;
use crate::scene::Scene;
use crate::settings::Settings;
use crate::sighting::Sighting;
use crate::track::Tracks;
use crate::views::{Glance, Views};
use rayon::prelude::*;
use std::collections::HashSet;
use std::ops::ControlFlow;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use tremolet_clip::error::ClipError;
use tremolet_clip::frame::{Frame, Plane};
use tremolet_clip::source::FrameSource;

/// Frames that the scene is judged from.
const SAMPLE: usize = tremolet_optics::edge_limit::MAP_FRAMES;
/// Frames measured side by side.
const BATCH: usize = 16;
/// Frames read ahead of those that are measured.
const AHEAD: usize = 8;
/// What the thread that reads hands on.
type Coming = Result<Frame, ClipError>;
/// Share of a rim before clutter that is seen in an ordinary frame.
const MOSTLY: f64 = 0.95;
/// Shares of pixels at the ends of the scale from which it is told: at the top it moves the edge by 1e-3 px and more; a dark side at
/// the bottom has little noise to cut off.
const CUT_LIGHT: f64 = 0.05;
const CUT_DARK: f64 = 0.25;

/// Measures a whole clip with all outlines in memory. `progress` hears the number of frames done and may stop the session.
///
/// # Errors
/// When the clip cannot be read, when `progress` stops it, when the empty frame has another size.
pub fn measure(
    source: &mut dyn FrameSource,
    settings: &Settings,
    progress: &mut dyn FnMut(u64) -> ControlFlow<()>,
) -> Result<Measured, MeasureError> {
    measure_on(source, settings, None, &mut |done, _| progress(done))
}

/// Hears how many frames are done and what was just seen; may stop the session.
pub type Watcher<'a> = dyn FnMut(u64, &[Glimpse]) -> ControlFlow<()> + 'a;

/// As [`measure`], with the outlines on a shelf, where what is found then refers to, and with what is seen shown on the way.
///
/// # Errors
/// As [`measure`], and when the shelf fails.
pub fn measure_on(
    source: &mut dyn FrameSource,
    settings: &Settings,
    shelf: Option<&Arc<dyn Shelf>>,
    progress: &mut Watcher<'_>,
) -> Result<Measured, MeasureError> {
    check(source, settings)?;
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(settings.threads)
        .build()
        .map_err(|_| MeasureError::Threads {
            threads: settings.threads,
        })?;
    let looked = std::thread::scope(|scope| {
        let (send, coming) = sync_channel(AHEAD);
        let source = &mut *source;
        scope.spawn(move || read(source, &send));
        looked(&coming, settings, (&pool, shelf), progress)
    })?;
    let times = source.passed();
    let found = match looked {
        Some(looked) => pool.install(|| looked.finished(settings, times)),
        None => nothing(),
    };
    match shelf.and_then(|shelf| shelf.fault()) {
        Some(why) => Err(MeasureError::Aside { why }),
        None => Ok(found),
    }
}

/// Hands on the frames, up to the end, the first that cannot be read, or until nobody wants them any more.
fn read(source: &mut dyn FrameSource, hand_on: &SyncSender<Coming>) {
    while let Some(frame) = source.next_frame().transpose() {
        let last = frame.is_err();
        if hand_on.send(frame).is_err() || last {
            break;
        }
    }
}

/// What was seen in all frames.
struct Looked {
    scene: Scene,
    bright: Bright,
    tracks: Tracks,
    views: Views,
    marks: Marks,
    light: Light,
    size: [usize; 2],
    /// Frames and how many bodies each shows.
    seen: Vec<(u64, usize)>,
    /// Frames that were passed over.
    left_out: Vec<u64>,
}

/// Looks at all frames; `None` without any.
fn looked(
    coming: &Receiver<Coming>,
    settings: &Settings,
    (pool, shelf): (&rayon::ThreadPool, Option<&Arc<dyn Shelf>>),
    progress: &mut Watcher<'_>,
) -> Result<Option<Looked>, MeasureError> {
    let mut left_out = Vec::new();
    let mut batch = taken(coming, SAMPLE, settings, &mut left_out)?;
    if batch.is_empty() {
        return Ok(None);
    }
    let planes: Vec<&Plane> = batch.iter().map(|f| &f.plane).collect();
    let mut looked = Looked {
        scene: Scene::of(&planes, settings.empty.as_ref()),
        bright: Bright::of(settings, shelf.cloned()),
        tracks: Tracks::on(shelf.cloned()),
        views: Views::default(),
        marks: Marks::default(),
        light: Light::default(),
        size: [planes[0].width, planes[0].height],
        seen: Vec::new(),
        left_out: Vec::new(),
    };
    while !batch.is_empty() {
        let glimpses = pool.install(|| looked.add(batch, settings));
        let frames = (looked.seen.len() + left_out.len()) as u64;
        if progress(frames, &glimpses).is_break() {
            return Err(MeasureError::Stopped { frames });
        }
        batch = taken(coming, BATCH, settings, &mut left_out)?;
    }
    looked.left_out = left_out;
    Ok(Some(looked))
}

impl Looked {
    fn add(&mut self, batch: Vec<Frame>, settings: &Settings) -> Vec<Glimpse> {
        let cluttered = self.scene.lighting == Lighting::Cluttered;
        let found = if cluttered {
            self.bright.look(&batch, &self.scene, settings);
            self.bright.take(&batch, &self.scene, settings)
        } else {
            bodies(&batch, &self.scene, settings)
        };
        if self.seen.is_empty() {
            self.marks = Marks::of(&batch, &found, &settings.masks);
        }
        for (frame, sightings) in batch.iter().zip(&found) {
            self.marks.follow(frame, sightings);
            self.light.follow(&frame.plane);
        }
        let counts = batch.iter().zip(&found).map(|(frame, s)| (frame.index, s.len()));
        self.seen.extend(counts);
        let glimpses = glimpses(&found);
        let glances: Vec<Glance> = found.iter().filter_map(|s| Glance::of(s)).collect();
        for sightings in found.into_iter().filter(|_| !cluttered) {
            self.tracks.add(sightings);
        }
        self.views.take(batch, &glances);
        glimpses
    }

    /// The bright body as it is seen once all frames are known.
    fn settle(&mut self, settings: &Settings) {
        let found = self.bright.finished(&self.scene, settings);
        let with: HashSet<u64> = found.iter().map(|s| s.frame).collect();
        for seen in &mut self.seen {
            seen.1 = usize::from(with.contains(&seen.0));
        }
        found.into_iter().for_each(|s| self.tracks.add(vec![s]));
    }

    fn finished(mut self, settings: &Settings, times: &[f64]) -> Measured {
        if self.scene.lighting == Lighting::Cluttered {
            self.settle(settings);
        }
        // Times are those of all frames, left out or not.
        let mut passed: Vec<u64> = self.seen.iter().map(|s| s.0).chain(self.left_out).collect();
        passed.sort_unstable();
        let mut camera = Camera {
            stated: settings.camera,
            frames: &passed,
            times,
            motion: None,
        };
        let time = |frame| camera.time(frame);
        let (verdict, views) = motion::judged(&self.marks, &settings.camera, self.size, time);
        if let Verdict::Moved(motion) = &verdict {
            camera.motion = Some(motion);
        }
        let met = meetings::met(&self.tracks);
        let finished = self
            .tracks
            .finished(settings.axis_angle, settings.max_degree, &camera);
        let (mut bodies, taken): (Vec<_>, Vec<_>) = finished.into_iter().unzip();
        let happenings = meetings::happenings(&mut bodies, &met);
        let mut measured = Measured {
            scene: summary(&self.scene, &bodies, self.bright.u_edge()),
            frames: passed.len() as u64,
            cautions: Vec::new(),
            bodies,
            happenings,
            taken,
            camera: CameraSeen::default(),
            views: self.views.into_frames(),
        };
        measured.cautions = cautions(&self.scene, &self.seen, &measured);
        // Light was seen of the frames that were looked at.
        let looked: Vec<u64> = self.seen.iter().map(|s| s.0).collect();
        let told = told::cautions(&measured.bodies, &looked, &verdict, &self.light);
        measured.cautions.extend(told);
        measured.cautions.extend(meetings::cautions(&met));
        measured.camera = CameraSeen {
            verdict,
            views,
            light: self.light.course,
        };
        if self.bright.held() {
            measured.cautions.push(Caution {
                code: "may_be_held",
                text: "the body stays in its place and something thin and dark ends at its rim: whether it holds the body or lies behind it is not \
                       known, and no frame counts as free"
                    .into(),
                frames: passed.first().zip(passed.last()).map(|(a, b)| (*a, *b)),
            });
        }
        if let Some(doubt) = self.bright.doubt() {
            measured.cautions.push(Caution {
                code: "empty_frame_unused",
                text: doubt.into(),
                frames: passed.first().zip(passed.last()).map(|(a, b)| (*a, *b)),
            });
        }
        measured
    }
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

/// The next frames that are looked at; those passed over on the way are noted.
fn taken(
    coming: &Receiver<Coming>,
    count: usize,
    settings: &Settings,
    left_out: &mut Vec<u64>,
) -> Result<Vec<Frame>, MeasureError> {
    let mut frames = Vec::with_capacity(count);
    while frames.len() < count {
        match coming.recv() {
            Err(_) => break,
            Ok(frame) => {
                let frame = frame?;
                if settings.looks_at(frame.index) {
                    frames.push(frame);
                } else {
                    left_out.push(frame.index);
                }
            }
        }
    }
    Ok(frames)
}

/// The bodies of each frame of a batch; the same whatever the number of threads.
fn bodies(batch: &[Frame], scene: &Scene, settings: &Settings) -> Vec<Vec<Sighting>> {
    let runs = batch.par_chunks(follow::RUN);
    runs.flat_map_iter(|frames| follow::run(frames, scene, settings).0)
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
        happenings: Vec::new(),
        taken: Vec::new(),
        camera: CameraSeen::default(),
        cautions: Vec::new(),
        views: Vec::new(),
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
            "volume of body {body} closes a hidden part of the outline by a smooth curve in {}",
            counted(&frames)
        ),
        &frames,
    );
    let [top, bottom] = track.clipped;
    if top > CUT_LIGHT || bottom > CUT_DARK {
        let frames = those(&|_| true);
        let (where_, share) = if top > CUT_LIGHT {
            ("the light beside body", top)
        } else {
            ("the dark of body", bottom)
        };
        add(
            "levels_cut_off",
            format!(
                "{where_} {body} is at the end of the camera's scale in {:.0} % of its pixels: the edge lies elsewhere by what was cut off, \
                 the same way in all frames; that is in the uncertainty, {:.2} px",
                100.0 * share,
                track.u_edge_px
            ),
            &frames,
        );
    }
    if track.u_axis_px > 0.0 {
        let frames = those(&|_| true);
        add(
            "axis_assumed",
            format!(
                "the shapes of body {body} are symmetric about two directions and do not tell about which of them it turns; the \
                 longer one is taken, and the volume rests on it"
            ),
            &frames,
        );
    }
    if track.axis_uncertainty > 0.3 && !track.shapes.is_empty() {
        let frames = those(&|_| true);
        add(
            "axis_unknown",
            format!("the shapes of body {body} show no axis"),
            &frames,
        );
    }
}
