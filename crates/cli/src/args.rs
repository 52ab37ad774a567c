//! Verbs and their options. Every verb shows an example in its help.

use clap::{Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// From a clip of a ringing drop to its surface tension and viscosity, with uncertainties and a report.
#[derive(Debug, Parser)]
#[command(name = "tremolet", version, about, after_help = "Start with: tremolet demo")]
pub struct Args {
    /// What to do.
    #[command(subcommand)]
    pub verb: Verb,
}

/// Which runs below a folder are meant; without any of these, all.
#[derive(Debug, clap::Args)]
pub struct Which {
    /// Only runs of this kind: release, puff, column, shell or fizz
    #[arg(long)]
    pub kind: Option<String>,
    /// Only runs whose liquid has this in its name
    #[arg(long)]
    pub liquid: Option<String>,
    /// Only runs of this calibration
    #[arg(long)]
    pub calibration: Option<String>,
    /// Only runs of this batch of liquid
    #[arg(long)]
    pub batch: Option<String>,
}

/// What can be asked for.
#[derive(Debug, Subcommand)]
pub enum Verb {
    /// Paint, measure and report an invented scenario
    #[command(after_help = "Example: tremolet demo demo-run")]
    Demo {
        /// Folder for the clip and the run
        #[arg(default_value = "demo-run")]
        dir: PathBuf,
    },
    /// Write a commented experiment file to start from
    #[command(after_help = "Example: tremolet new release flight3")]
    New {
        /// What is done to the liquid: release, puff, column, shell or fizz
        kind: String,
        /// Folder for the file
        #[arg(default_value = ".")]
        dir: PathBuf,
    },
    /// Say what is wrong, missing or impossible in an experiment file, and what to expect
    #[command(after_help = "Example: tremolet check flight3/experiment.toml")]
    Check {
        /// The experiment file
        file: PathBuf,
        /// Print JSON
        #[arg(long)]
        json: bool,
    },
    /// Say what to expect of a run, what its camera will see, what to change and how to do it
    #[command(after_help = "Example: tremolet plan flight3/experiment.toml --page flight3/plan.html")]
    Plan {
        /// The experiment file
        file: PathBuf,
        /// Write the sheet as one HTML file, to be read or printed
        #[arg(long)]
        page: Option<PathBuf>,
        /// Write over a page that is there
        #[arg(long)]
        replace: bool,
        /// Let a quantity of the file run over a range and print how the sheet changes: body.diameter=5..50mm, :20 for twenty steps
        #[arg(long, value_name = "KEY=FROM..TO")]
        vary: Option<String>,
        /// With --vary: the rows to show, by name; all that change otherwise
        #[arg(long, requires = "vary")]
        show: Vec<String>,
        /// Print JSON
        #[arg(long)]
        json: bool,
    },
    /// List liquids and gases, or the properties of one
    #[command(after_help = "Example: tremolet liquids water --temperature \"22 degC\"")]
    Liquids {
        /// Name of a liquid or gas
        name: Option<String>,
        /// Temperature
        #[arg(long, default_value = "20 degC")]
        temperature: String,
        /// Mass fraction of what is dissolved
        #[arg(long)]
        mass_fraction: Option<String>,
        /// Pressure of a gas
        #[arg(long, default_value = "101.325 kPa")]
        pressure: String,
        /// Print JSON
        #[arg(long)]
        json: bool,
    },
    /// Measure a clip into a run folder with a report
    #[command(
        after_help = "Example: tremolet measure flight3/experiment.toml flight3/run7.mp4 --out flight3/run7"
    )]
    Measure {
        /// The experiment file
        file: PathBuf,
        /// The clip, when the experiment file does not name it
        clip: Option<PathBuf>,
        /// The run folder; by default beside the experiment file, named after it and the time
        #[arg(long)]
        out: Option<PathBuf>,
        /// Move a run folder that is there aside
        #[arg(long)]
        replace: bool,
        /// Worker threads; 0 takes all cores
        #[arg(long, default_value_t = 0)]
        threads: usize,
        /// Do not make the annotated clip
        #[arg(long)]
        no_overlay: bool,
        /// Print findings.json
        #[arg(long)]
        json: bool,
    },
    /// Lay several runs side by side: what repeats, what differs, what they share
    #[command(
        after_help = "Example: tremolet compare flight3/run7 flight3/run8 flight3/run9 --page flight3/compared.html
         tremolet compare flight3 --liquid glycerol --data flight3/compared

Runs that name the same calibration ([camera] calibration = \"cal-A\") or the same batch of liquid ([liquid] batch = \"mix-2\") in their
experiment files share its error; averaging does not lower that."
    )]
    Compare {
        /// Run folders that `measure` made, or folders that hold such
        #[arg(required = true)]
        runs: Vec<PathBuf>,
        #[command(flatten)]
        which: Which,
        /// Write the comparison as one HTML file
        #[arg(long)]
        page: Option<PathBuf>,
        /// Write a folder of page, figures (SVG), tables (CSV and Parquet) and JSON
        #[arg(long, value_name = "FOLDER")]
        data: Option<PathBuf>,
        /// Write over a page that is there, and move such a folder aside
        #[arg(long)]
        replace: bool,
        /// Print JSON
        #[arg(long)]
        json: bool,
    },
    /// List the runs below a folder, and what is half or broken there
    #[command(after_help = "Example: tremolet runs flight3 --calibration cal-A

The list is also kept as flight3/catalogue.sqlite, made anew from the run folders each time; deleting it loses nothing.")]
    Runs {
        /// The folder
        #[arg(default_value = ".")]
        dir: PathBuf,
        #[command(flatten)]
        which: Which,
        /// Print JSON
        #[arg(long)]
        json: bool,
    },
    /// Pack a run into one file that a colleague can open, with a checksum of every file in it
    #[command(after_help = "Example: tremolet bundle flight3/run7 --out run7.zip

The report in it opens in any browser. `tremolet unbundle run7.zip` opens it and checks every file; so does sha256sum -c checksums.sha256 after any unzip.")]
    Bundle {
        /// The run folder
        run: PathBuf,
        /// The file; by default beside the run, named after it
        #[arg(long)]
        out: Option<PathBuf>,
        /// Write over a file that is there
        #[arg(long)]
        replace: bool,
    },
    /// Open a bundle and check that nothing in it was changed or damaged
    #[command(after_help = "Example: tremolet unbundle run7.zip --out colleague/run7")]
    Unbundle {
        /// The bundle
        file: PathBuf,
        /// The folder for the run; by default beside the bundle, named after it
        #[arg(long)]
        out: Option<PathBuf>,
    },
    /// Compute the motion of the drop of an experiment file into a run folder with a report
    #[command(after_help = "Example: tremolet simulate flight3/experiment.toml --out flight3/expected")]
    Simulate {
        /// The experiment file
        file: PathBuf,
        /// The run folder; by default beside the experiment file, named after it and the time
        #[arg(long)]
        out: Option<PathBuf>,
        /// Move a run folder that is there aside
        #[arg(long)]
        replace: bool,
        /// Go on from a simulated run that was stopped; what it has is taken over
        #[arg(long, value_name = "RUN")]
        resume: Option<PathBuf>,
        /// Print findings.json
        #[arg(long)]
        json: bool,
    },
    /// Adjust the simulated motion to the outlines of a measured run and add what it finds
    #[command(after_help = "Example: tremolet fit flight3/run7")]
    Fit {
        /// The run folder that `measure` made
        run: PathBuf,
        /// Print findings.json
        #[arg(long)]
        json: bool,
    },
    /// Open a local page over a folder of runs, in which everything can be seen and done
    #[command(after_help = "Example: tremolet serve flight3\nStops on Ctrl-C. Listens on this machine only.")]
    Serve {
        /// The folder of runs, clips and experiment files
        #[arg(default_value = ".")]
        dir: PathBuf,
        /// The port; a free one by default
        #[arg(long, default_value_t = 0)]
        port: u16,
    },
    /// What the page has done for it in processes of their own
    #[command(hide = true)]
    Work {
        /// What to do
        #[command(subcommand)]
        task: Task,
    },
    /// Film a simulated run with the synthetic camera; the truth lies beside the clip
    #[command(after_help = "Example: tremolet film flight3/expected --look clear --out flight3/expected.mp4")]
    Film {
        /// The folder of a run that `simulate` made
        run: PathBuf,
        /// What the bodies look like
        #[arg(long, value_enum, default_value = "silhouette")]
        look: FilmLook,
        /// A folder for stills, or a file that ends in .mp4; by default a folder beside the run
        #[arg(long)]
        out: Option<PathBuf>,
        /// Replace a clip that is there
        #[arg(long)]
        replace: bool,
    },
    /// Make a film of the clip of a run with what was found drawn on it
    #[command(
        after_help = "Example: tremolet overlay flight3/run7 --show outline,expected --first 100 --last 300 --rate 10 --out slow.mp4"
    )]
    Overlay {
        /// The run folder that `measure` made
        run: PathBuf,
        #[command(flatten)]
        drawn: Drawn,
        /// The film; by default beside the run, named after it
        #[arg(long)]
        out: Option<PathBuf>,
        /// Write over a film that is there
        #[arg(long)]
        replace: bool,
    },
    /// Remake the report and figures of a run from its findings and tables
    #[command(after_help = "Example: tremolet report flight3/run7")]
    Report {
        /// The run folder that `measure` or `simulate` made
        run: PathBuf,
    },
}

/// Tasks of the page's child processes.
#[derive(Debug, Subcommand)]
pub enum Task {
    /// Hand out frames of a clip
    Look {
        /// The clip
        clip: PathBuf,
        /// Capture rate, frames per second
        #[arg(long)]
        rate: Option<f64>,
        /// Table of times
        #[arg(long)]
        times: Option<PathBuf>,
    },
    /// Read a draft of an experiment file
    Check,
    #[command(flatten)]
    Job(Job),
}

/// What the queue of the page has done.
#[derive(Debug, Clone, Subcommand)]
pub enum Job {
    /// Measure a clip
    Measure {
        /// The experiment file
        file: PathBuf,
        /// The run folder
        out: PathBuf,
    },
    /// Simulate
    Simulate {
        /// The experiment file
        file: PathBuf,
        /// The run folder
        out: PathBuf,
        /// A run to go on from
        #[arg(long)]
        resume: Option<PathBuf>,
    },
    /// Film a simulated run
    Film {
        /// The run
        run: PathBuf,
        /// The folder of stills
        out: PathBuf,
        /// Clear, and not dark before an even light
        #[arg(long)]
        clear: bool,
    },
    /// Fit the simulation to a run
    Fit {
        /// The run
        run: PathBuf,
    },
    /// Write a plan sheet
    Plan {
        /// The experiment file
        file: PathBuf,
        /// The page
        out: PathBuf,
    },
    /// Make an annotated film
    Overlay {
        /// The run
        run: PathBuf,
        /// The film
        out: PathBuf,
        #[command(flatten)]
        drawn: Drawn,
    },
}

/// What is drawn on which frames, and how fast they play.
#[derive(Debug, Clone, clap::Args)]
pub struct Drawn {
    /// What is drawn: outline, centre, axis, expected (by theory, dashed); close cuts the picture to the bodies
    #[arg(long, value_delimiter = ',', default_value = "outline,centre,axis")]
    pub show: Vec<String>,
    /// First frame of the clip
    #[arg(long)]
    pub first: Option<u64>,
    /// Last frame of the clip
    #[arg(long)]
    pub last: Option<u64>,
    /// Take one frame of so many
    #[arg(long, default_value_t = 1)]
    pub every: u64,
    /// Frames that are played in a second
    #[arg(long, default_value_t = 30.0)]
    pub rate: f64,
}

/// What filmed bodies look like.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum FilmLook {
    /// Dark before an even light
    Silhouette,
    /// Clear before a dotted board in a room with lamps
    Clear,
}

/// The arguments of this process; bad ones end it with exit code 2 and a message.
pub fn parse() -> Args {
    Args::parse()
}
