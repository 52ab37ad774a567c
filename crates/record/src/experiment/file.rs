//! One experiment file as a whole: read, checked, and asked whether it suffices to measure.
//!
//! Everything wrong is gathered with its place before anything is refused; what only clouds the result becomes a
//! caution. Nothing absent is replaced by a number. It opens the experiment file and no other.

use crate::experiment::body::{BODY, Body};
use crate::experiment::camera::{CAMERA, Camera};
use crate::experiment::clip::{CLIP, Clip, RELEASE, Release};
use crate::experiment::faults::{Fault, Faults};
use crate::experiment::kinds::{COLUMN, Column, FIZZ, Fizz, PUFF, Puff, SHELL, Shell};
use crate::experiment::log::{LOG, Log};
use crate::experiment::material::{GAS, Gas, LIQUID, Liquid, SURROUNDINGS, Surroundings};
use crate::experiment::numbers;
use crate::experiment::reader::Reader;
use crate::experiment::section::Section;
use crate::experiment::simulation::{SIMULATION, Simulation};
use crate::experiment::wanted::{self, WANTED, Wish};
use crate::findings::{Caution, Note};
use crate::store;
use std::path::{Path, PathBuf};

/// The newest format that this program reads.
pub const FORMAT: u64 = 1;

const TABLES: &[&str] = &[
    "format",
    "title",
    "kind",
    "liquid",
    "gas",
    "body",
    "surroundings",
    "camera",
    "clip",
    "log",
    "release",
    "puff",
    "column",
    "shell",
    "fizz",
    "simulation",
    "view",
    "wanted",
];
/// Tables of the format that this version does not read; they are refused, not skipped.
const NOT_YET: &[&str] = &["view"];

/// What is done to the liquid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// The support goes away and the body rings down.
    Release,
    /// A short pulse hits one side.
    Puff,
    /// A thread of liquid breaks into drops.
    Column,
    /// A drop with a bubble inside.
    Shell,
    /// Bubbles are born in the drop.
    Fizz,
}

/// The kinds by the word in the file.
pub const KINDS: &[(&str, Kind)] = &[
    ("release", Kind::Release),
    ("puff", Kind::Puff),
    ("column", Kind::Column),
    ("shell", Kind::Shell),
    ("fizz", Kind::Fizz),
];

impl Kind {
    /// The word in the file.
    pub fn name(self) -> &'static str {
        KINDS
            .iter()
            .find(|(_, kind)| *kind == self)
            .map_or("", |(name, _)| name)
    }

    /// The kind of that name.
    pub fn of_name(name: &str) -> Option<Self> {
        KINDS
            .iter()
            .find(|(known, _)| *known == name)
            .map(|(_, kind)| *kind)
    }
}

/// An experiment as its file states it.
#[derive(Debug, Clone, PartialEq)]
pub struct Experiment {
    /// Name of the file, as it appears in messages.
    pub file: String,
    /// Folder to which paths in the file are relative.
    pub folder: PathBuf,
    /// The whole text, as read.
    pub text: String,
    /// Title.
    pub title: Option<String>,
    /// What is done to the liquid.
    pub kind: Kind,
    /// `[liquid]`.
    pub liquid: Option<Liquid>,
    /// `[gas]`.
    pub gas: Option<Gas>,
    /// `[body]`.
    pub body: Option<Body>,
    /// `[surroundings]`.
    pub surroundings: Option<Surroundings>,
    /// `[camera]`.
    pub camera: Option<Camera>,
    /// `[clip]`.
    pub clip: Option<Clip>,
    /// `[log]`.
    pub log: Option<Log>,
    /// `[release]`.
    pub release: Option<Release>,
    /// `[puff]`.
    pub puff: Option<Puff>,
    /// `[column]`.
    pub column: Option<Column>,
    /// `[shell]`.
    pub shell: Option<Shell>,
    /// `[fizz]`.
    pub fizz: Option<Fizz>,
    /// `[simulation]`.
    pub simulation: Option<Simulation>,
    /// `[wanted]`, empty when nothing is.
    pub wanted: Vec<Wish>,
    /// What clouds a result without preventing it.
    pub cautions: Vec<Caution>,
    /// What was checked against something else and agrees.
    pub notes: Vec<Note>,
}

impl Experiment {
    /// Reads the file at `path`.
    ///
    /// # Errors
    /// The file cannot be read (one fault without a line), or everything that is wrong in it.
    pub fn read(path: &Path) -> Result<Self, Faults> {
        let file = path.display().to_string();
        let text = store::read_text(path).map_err(|error| Faults {
            faults: vec![absent(
                &file,
                "(file)",
                &format!("no text: {error}"),
                "an experiment file; `tremolet new release` writes one to start from",
            )],
        })?;
        let mut experiment = Self::parse(&text, &file)?;
        experiment.folder = path.parent().unwrap_or(Path::new("")).to_owned();
        Ok(experiment)
    }

    /// Reads a text that is called `file` in messages; `folder` is then empty.
    ///
    /// ```
    /// use tremolet_record::experiment::file::Experiment;
    /// let text = "format = 1\nkind = \"release\"\n[body]\ndiameter = \"24 +- 0.5 mm\"\n";
    /// let body = Experiment::parse(text, "run7.toml").unwrap().body.unwrap();
    /// assert!((body.diameter.unwrap().value() - 0.024).abs() < 1e-15);
    /// let faults = Experiment::parse("format = 1\nkind = \"release\"\n[body]\ndiameter = 24\n", "x").unwrap_err();
    /// assert_eq!((faults.faults[0].line, faults.faults[0].column), (4, 12));
    /// ```
    ///
    /// # Errors
    /// Everything that is wrong in it.
    pub fn parse(text: &str, file: &str) -> Result<Self, Faults> {
        let plain = text.strip_prefix('\u{feff}').unwrap_or(text);
        let mut reader = Reader::new(file, plain);
        let document = reader.document();
        let mut experiment = None;
        if reads_format(&mut reader, document.get_ref()) {
            let top = Section::open(&mut reader, document.get_ref(), "", TABLES);
            experiment = read_tables(top, file, text);
        }
        match experiment {
            Some(mut whole) if reader.faults.is_empty() => {
                whole.cautions.extend(taken_as_exact(&reader.exact));
                Ok(whole)
            }
            _ => {
                let mut faults = reader.faults;
                faults.sort_by_key(|fault| (fault.line, fault.column));
                Err(Faults { faults })
            }
        }
    }

    /// A path of the file, seen from where the program runs.
    pub fn path_of(&self, written: &Path) -> PathBuf {
        self.folder.join(written)
    }

    /// The first frame in which nothing touches or presses the body any more, as the experimenter saw it.
    pub fn free_from(&self) -> Option<u64> {
        let released = self.release.as_ref().and_then(|release| release.free_from);
        released.or(self.puff.as_ref().and_then(|puff| puff.free_from))
    }

    /// Whether the file holds what measuring needs: `[liquid]`, `[clip]`, and `[camera]` with scale and rate; a table of
    /// times in `[clip]` takes the place of the rate. Times that lie beside stills are not looked for here.
    ///
    /// # Errors
    /// One fault for each thing that is absent.
    pub fn needed_to_measure(&self) -> Result<(), Faults> {
        let camera = self.camera.as_ref();
        let rate = camera.and_then(|camera| camera.capture_rate.as_ref());
        let scale = camera.and_then(|camera| camera.scale.as_ref());
        let times = self.clip.as_ref().and_then(|clip| clip.times.as_ref());
        let needed = [
            (
                "liquid",
                self.liquid.is_some(),
                "[liquid] with name = \"water\", or with density and viscosity",
            ),
            (
                "clip",
                self.clip.is_some(),
                "[clip] with path = \"run7.mp4\", or the clip on the command line",
            ),
            (
                "camera.capture_rate",
                rate.is_some() || times.is_some(),
                "real frames per second of real time, e.g. \"480 fps\", or a time for each frame: times.csv beside the \
                 stills, or [clip] with times = \"times.csv\"",
            ),
            (
                "camera.scale",
                scale.is_some(),
                "a scale, e.g. \"0.050 +- 0.0003 mm/px\", or [camera.reference] with length, from and to",
            ),
        ];
        let faults: Vec<Fault> = needed
            .into_iter()
            .filter(|(_, there, _)| !there)
            .map(|(key, _, due)| absent(&self.file, key, "nothing, and measuring needs it", due))
            .collect();
        if faults.is_empty() {
            Ok(())
        } else {
            Err(Faults { faults })
        }
    }
}

/// Whether the file states a format that this program reads.
fn reads_format(reader: &mut Reader<'_>, top: &toml::de::DeTable<'_>) -> bool {
    let due = "format = 1, the format of experiment files that this version reads";
    let Some(value) = top.get("format") else {
        reader.fault(0, "format", "nothing", due);
        return true;
    };
    match numbers::whole(value.get_ref()) {
        Some(FORMAT) => true,
        Some(newer) if newer > FORMAT => {
            let found = format!("format {newer}, written for a newer version");
            reader.fault(
                value.span().start,
                "format",
                &found,
                "format 1; use a newer version of the program",
            );
            false
        }
        _ => {
            reader.fault(
                value.span().start,
                "format",
                &numbers::described(value.get_ref()),
                due,
            );
            true
        }
    }
}

fn read_tables(mut top: Section<'_, '_>, file: &str, text: &str) -> Option<Experiment> {
    let (mut cautions, mut notes) = (Vec::new(), Vec::new());
    for table in NOT_YET {
        if top.has(table) {
            top.fault(
                table,
                "a table that this version does not read yet",
                "the file without it",
            );
        }
    }
    let title = top.text("title", "Cup release, run 7");
    if !top.has("kind") {
        top.fault(
            "kind",
            "nothing",
            "what is done to the liquid, e.g. kind = \"release\"",
        );
    }
    let kind = top.word("kind", KINDS);
    let liquid = top.section("liquid", LIQUID).map(Liquid::read);
    let density = liquid.as_ref().and_then(|liquid| liquid.density.as_ref());
    let gas = top.section("gas", GAS).map(Gas::read);
    let body = top.section("body", BODY).map(|table| Body::read(table, density));
    let surroundings = top.section("surroundings", SURROUNDINGS).map(Surroundings::read);
    let camera = top
        .section("camera", CAMERA)
        .map(|table| Camera::read(table, &mut cautions, &mut notes));
    let clip = top.section("clip", CLIP).and_then(Clip::read);
    let log = top.section("log", LOG).and_then(Log::read);
    let release = top.section("release", RELEASE).map(Release::read);
    let wanted = top.section("wanted", WANTED).map_or(Vec::new(), wanted::read);
    let puff = top.section("puff", PUFF).map(Puff::read);
    let column = top.section("column", COLUMN).map(Column::read);
    let shell = top.section("shell", SHELL).map(Shell::read);
    let fizz = top.section("fizz", FIZZ).map(Fizz::read);
    let simulation = top.section("simulation", SIMULATION).map(Simulation::read);
    for (name, _) in KINDS {
        if top.has(name) && kind.is_some_and(|kind| kind.name() != *name) {
            let due = format!("[{name}] only with kind = \"{name}\"");
            top.fault(name, "a table of another kind", &due);
        }
    }
    Some(Experiment {
        file: file.to_owned(),
        folder: PathBuf::new(),
        text: text.to_owned(),
        title,
        kind: kind?,
        liquid,
        gas,
        body,
        surroundings,
        camera,
        clip,
        log,
        release,
        puff,
        column,
        shell,
        fizz,
        simulation,
        wanted,
        cautions,
        notes,
    })
}

fn taken_as_exact(keys: &[String]) -> Option<Caution> {
    (!keys.is_empty()).then(|| Caution {
        code: "no_uncertainty_stated".to_owned(),
        text: format!(
            "taken as exact because no uncertainty is stated: {}; what is found then looks surer than it is",
            keys.join(", ")
        ),
        frames: None,
    })
}

fn absent(file: &str, key: &str, found: &str, expected: &str) -> Fault {
    Fault {
        file: file.to_owned(),
        line: 0,
        column: 0,
        key: key.to_owned(),
        found: found.to_owned(),
        expected: expected.to_owned(),
    }
}

#[cfg(test)]
mod tests;
