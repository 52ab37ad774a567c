//! Fills a run folder: the experiment as used, findings, tables, pictures, report.

use std::ops::ControlFlow;
use std::path::Path;
use std::time::SystemTime;

use tremolet_clip::encode::{FilmWriter, png_rgb};
use tremolet_clip::frame::Frame;
use tremolet_record::crate_metadata::{self, About, crate_metadata};
use tremolet_record::findings::Findings;
use tremolet_record::folder::RunFolder;
use tremolet_record::provenance::Provenance;
use tremolet_report::document::page::render;
use tremolet_report::input::{FileRow, Picture, ReportInput, Row};
use tremolet_report::overlay::scene::{Cover, OverlayBody, Region, Style, draw};
use tremolet_report::overlay::stretch::Stretch;

use crate::document;
use crate::draw;
use crate::error::StudyError;
use crate::look::{Progress, frames, rectangle};
use crate::measure::{Found, Request, truth_rows};
use crate::methods::methods;
use crate::tables;

/// Everything that goes into a folder.
pub struct Whole<'a> {
    /// What was asked for.
    pub request: &'a Request<'a>,
    /// What was found.
    pub found: &'a Found,
    /// When the work began.
    pub started: SystemTime,
}

/// The time now, for a name.
pub fn stamp() -> String {
    jiff::Timestamp::now().strftime("%Y%m%dT%H%M%SZ").to_string()
}

/// Writes every file.
///
/// # Errors
/// When the clip cannot be read a second time, a file cannot be written, or `progress` asked to stop.
pub fn fill(folder: &RunFolder, whole: &Whole<'_>, progress: &mut Progress<'_>) -> Result<(), StudyError> {
    let findings = &whole.found.findings;
    folder.write("experiment.toml", whole.request.experiment.text.as_bytes())?;
    let json = findings.to_json().map_err(|why| StudyError::Write {
        what: "findings.json",
        why: why.to_string(),
    })?;
    folder.write("findings.json", json.as_bytes())?;
    tables::write(folder, &whole.found.seen, &whole.found.bodies)?;
    let pictures = film(folder, whole, progress)?;
    for (i, picture) in pictures.iter().enumerate() {
        folder.write(&format!("figures/instant-{}.png", i + 1), &picture.png)?;
    }
    let input = input(whole, findings, pictures);
    let report = render(&input);
    for figure in &report.figures {
        folder.write(&format!("figures/{}", figure.name), figure.svg.as_bytes())?;
    }
    folder.write("report.html", report.html.as_bytes())?;
    close(folder, whole)
}

/// Provenance and, last, the crate metadata that lists every file.
fn close(folder: &RunFolder, whole: &Whole<'_>) -> Result<(), StudyError> {
    let failed = |what, why: &dyn std::fmt::Display| StudyError::Write {
        what,
        why: why.to_string(),
    };
    let request = whole.request;
    let mut provenance = Provenance::begin(&[], whole.started);
    provenance.add_input("clip", &request.clip)?;
    let file = Path::new(&request.experiment.file);
    if file.is_file() {
        provenance.add_input("experiment", file)?;
    }
    provenance.set("overlay", request.overlay);
    provenance.set("threads", request.threads);
    provenance.finish(SystemTime::now());
    let json = provenance
        .to_json()
        .map_err(|why| failed("provenance.json", &why))?;
    folder.write("provenance.json", json.as_bytes())?;
    let about = About {
        title: request.experiment.title.as_deref().unwrap_or("A run"),
        description: "What was measured in a clip of a free liquid body.",
        license: None,
    };
    let metadata = crate_metadata(folder.path(), about, &provenance)?;
    Ok(folder.write(crate_metadata::NAME, metadata.as_bytes())?)
}

/// The telling instants: first and last frame with a body, and the extremes of the largest mode of the first body.
fn instants(found: &Found) -> Vec<(u64, String)> {
    let mut chosen: Vec<(u64, String)> = Vec::new();
    let mut add = |frame: u64, caption: &str| {
        if !chosen.iter().any(|(known, _)| *known == frame) {
            chosen.push((frame, caption.to_string()));
        }
    };
    let tracks = &found.seen.measured.bodies;
    let first = tracks
        .iter()
        .filter_map(|t| t.shapes.first())
        .map(|s| s.frame)
        .min();
    let last = tracks
        .iter()
        .filter_map(|t| t.shapes.last())
        .map(|s| s.frame)
        .max();
    if let Some(frame) = first {
        add(frame, "The first frame in which a body was found.");
    }
    if let Some(body) = found.bodies.iter().find(|b| b.series.degrees.first() == Some(&2)) {
        let by = |a: &&tremolet_record::series::ModeSample, b: &&tremolet_record::series::ModeSample| {
            a.amplitude[0].total_cmp(&b.amplitude[0])
        };
        if let Some(sample) = body.series.samples.iter().min_by(by) {
            add(
                sample.frame,
                "Flattest along its axis: the amplitude of degree 2 is smallest here.",
            );
        }
        if let Some(sample) = body.series.samples.iter().max_by(by) {
            add(
                sample.frame,
                "Longest along its axis: the amplitude of degree 2 is largest here.",
            );
        }
    }
    if let Some(frame) = last {
        add(frame, "The last frame in which a body was found.");
    }
    chosen.sort_by_key(|(frame, _)| *frame);
    chosen
}

fn covers(whole: &Whole<'_>) -> Vec<Cover> {
    let clip = whole.request.experiment.clip.as_ref();
    let masks = clip.map_or(&[][..], |clip| &clip.masks);
    let cover = |mask| {
        let rect = rectangle(mask, &mut Vec::new());
        Cover {
            x: rect.left as f64 - 0.5,
            y: rect.top as f64 - 0.5,
            width: rect.width as f64,
            height: rect.height as f64,
        }
    };
    masks.iter().map(cover).collect()
}

/// Most frames of the annotated clip; longer clips are thinned evenly.
const MOST_FRAMES: u64 = 1000;
/// Frames per second at which the annotated clip plays.
const PLAYED: f64 = 30.0;

/// Second pass over the clip: the annotated clip, and the frames at telling instants with what was found drawn on them.
fn film(
    folder: &RunFolder,
    whole: &Whole<'_>,
    progress: &mut Progress<'_>,
) -> Result<Vec<Picture>, StudyError> {
    let wanted = instants(whole.found);
    let all = whole.found.seen.measured.frames;
    let every = all.div_ceil(MOST_FRAMES).max(1);
    let mut source = frames(whole.request.experiment, &whole.request.clip)?;
    let covered = covers(whole);
    let mut stretch = None;
    let mut writer: Option<FilmWriter> = None;
    let mut pictures = Vec::new();
    let mut done = 0;
    while let Some(frame) = source.next_frame()? {
        let caption = wanted
            .iter()
            .find(|(index, _)| *index == frame.index)
            .map(|(_, caption)| caption);
        let filmed = whole.request.overlay && done % every == 0;
        if caption.is_some() || filmed {
            let style = Style {
                time: whole.found.seen.time(frame.index).unwrap_or(0.0),
                frame: frame.index,
                covered: covered.clone(),
                stretch: Some(*stretch.get_or_insert_with(|| Stretch::of(&frame.plane))),
                ..Style::default()
            };
            let bodies = draw::bodies(&whole.found.seen.measured, frame.index);
            if let Some(caption) = caption {
                pictures.push(picture(&frame, caption, &bodies, &style)?);
            }
            if filmed {
                let canvas = draw(&frame.plane, &bodies, &style);
                let film = match writer.take() {
                    Some(film) => film,
                    None => FilmWriter::create(
                        &folder.place("overlay.mp4")?,
                        canvas.width,
                        canvas.height,
                        PLAYED,
                    )?,
                };
                writer.insert(film).push(&canvas.rgb)?;
            }
        }
        done += 1;
        if progress(done, Some(all)) == ControlFlow::Break(()) {
            return Err(StudyError::Stopped);
        }
        let last = wanted.last().is_none_or(|(last, _)| frame.index >= *last);
        if last && !whole.request.overlay {
            break;
        }
    }
    if let Some(writer) = writer {
        writer.finish()?;
    }
    Ok(pictures)
}

/// A picture for the report: close to the bodies, with lines that are seen at its size.
fn picture(
    frame: &Frame,
    caption: &str,
    bodies: &[OverlayBody],
    style: &Style,
) -> Result<Picture, StudyError> {
    let close = Style {
        view: Region::around(bodies, 0.35),
        weight: 2.0,
        ..style.clone()
    };
    let canvas = draw(&frame.plane, bodies, &close);
    Ok(Picture {
        png: png_rgb(canvas.width, canvas.height, &canvas.rgb)?,
        width: canvas.width,
        height: canvas.height,
        caption: caption.into(),
        time: style.time,
        frame: frame.index,
    })
}

fn input<'a>(whole: &Whole<'_>, findings: &'a Findings, pictures: Vec<Picture>) -> ReportInput<'a> {
    let (request, found) = (whole.request, whole.found);
    let experiment = request.experiment;
    let seen = &found.seen;
    let scale = experiment
        .camera
        .as_ref()
        .and_then(|c| c.scale.as_ref())
        .map(|s| s.value());
    let tracks = seen.measured.bodies.iter();
    let title = experiment
        .title
        .clone()
        .unwrap_or_else(|| "A run without a title".into());
    let mut input = ReportInput::of(title, findings);
    input.summary = summary(whole);
    input.experiment = document::experiment(experiment, found.materials.as_ref(), &seen.measured.scene);
    input.pictures = pictures;
    input.amplitudes = found.bodies.iter().flat_map(document::amplitudes).collect();
    input.spectra = found.bodies.iter().flat_map(document::spectra).collect();
    input.drifts = tracks
        .clone()
        .map(|track| document::drift(track, scale, |f| seen.time(f)))
        .collect();
    input.paths = tracks
        .map(|track| document::path(track, scale, |f| seen.time(f)))
        .collect();
    input.truth = truth_rows(&request.truth, findings);
    input.methods = methods(!findings.modes.is_empty());
    input.assumptions = found
        .materials
        .as_ref()
        .map_or(Vec::new(), |m| m.assumptions.clone());
    input
        .assumptions
        .push("each body is one of revolution about an axis that lies in the picture".into());
    input.files = files();
    input.provenance = provenance(whole);
    input
}

fn summary(whole: &Whole<'_>) -> String {
    let seen = &whole.found.seen;
    let bodies = match seen.measured.bodies.len() {
        0 => "No free body was found.".into(),
        1 => "One body was found and followed.".into(),
        many => format!("{many} bodies were found and followed."),
    };
    let time = whole.found.findings.clip.duration.value;
    format!(
        "{} frames of {}x{} px ({}, {}) over {time:.3} s of real time were measured. {bodies}",
        seen.measured.frames, seen.info.width, seen.info.height, seen.info.container, seen.info.codec
    )
}

fn files() -> Vec<FileRow> {
    vec![
        FileRow::new("experiment.toml", "the experiment file as used"),
        FileRow::new("findings.json", "everything found, for programs"),
        FileRow::new("report.html", "this report"),
        FileRow::new("overlay.mp4", "the clip with what was found drawn on it"),
        FileRow::new(
            "series/",
            "shapes, outlines, amplitudes and fits as Parquet, units inside",
        ),
        FileRow::new("tables/", "the same as CSV, without the outlines"),
        FileRow::new("provenance.json", "program, inputs with hashes, settings"),
        FileRow::new("ro-crate-metadata.json", "the folder described for archives"),
        FileRow::new("figures/", "the figures as SVG, the pictures as PNG"),
    ]
}

fn provenance(whole: &Whole<'_>) -> Vec<Row> {
    let findings = &whole.found.findings;
    let mut rows = vec![
        Row::new("Program", concat!("tremolet ", env!("CARGO_PKG_VERSION"))),
        Row::new(
            "Begun",
            jiff::Timestamp::try_from(whole.started)
                .map_or(String::new(), |t| t.strftime("%Y-%m-%d %H:%M UTC").to_string()),
        ),
        Row::new("Decoder", whole.found.seen.info.decoder.clone()),
    ];
    if let Some(hash) = &findings.clip.sha256 {
        rows.push(Row::new("SHA-256 of the clip", hash.clone()));
    }
    rows
}
