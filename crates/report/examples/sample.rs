//! Makes a sample report with invented numbers, to look at: `sample FOLDER`.
//!
//! Nothing here is measured. The amplitudes are damped cosines with noise from a small generator.

use std::error::Error;
use std::f64::consts::{PI, TAU};
use std::path::Path;

use tremolet_clip::encode::png_rgb;
use tremolet_clip::frame::Plane;
use tremolet_record::findings::{
    BudgetLine, Caution, ClipSummary, Correlation, Estimate, Event, Findings, Mode, Quantity, Reference,
};
use tremolet_report::document::page::{Report, render};
use tremolet_report::input::{
    AmplitudeSeries, CentrePath, Drift, FileRow, Method, Picture, ReportInput, Row, Spectrum, Symbol,
    TruthRow,
};
use tremolet_report::overlay::scene::{Arc, OverlayBody, Style, draw};
use tremolet_report::text::subscript;

const FRAMES: u64 = 1056;
const RATE: f64 = 480.0;
/// Degree, amplitude, frequency in Hz, decay rate in 1/s, phase in rad.
const MODES: [(u32, f64, f64, f64, f64); 4] = [
    (2, 0.081, 2.412, 0.402, 0.0),
    (3, 0.034, 4.671, 1.126, 0.4),
    (4, 0.017, 7.237, 2.171, 1.1),
    (5, 0.008, 10.09, 3.537, 2.0),
];

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args().nth(1).ok_or("say where to: sample FOLDER")?;
    write(&Path::new(&folder).join("ringing"), &ringing()?)?;
    write(&Path::new(&folder).join("still"), &still())?;
    Ok(())
}

fn write(folder: &Path, report: &Report) -> Result<(), Box<dyn Error>> {
    std::fs::create_dir_all(folder.join("figures"))?;
    std::fs::write(folder.join("report.html"), &report.html)?;
    for figure in &report.figures {
        std::fs::write(folder.join("figures").join(&figure.name), &figure.svg)?;
    }
    Ok(())
}

/// Numbers between -1 and 1 that look like noise and are the same each time.
struct Noise(u64);

impl Noise {
    fn next(&mut self) -> f64 {
        let mut sum = 0.0;
        for _ in 0..3 {
            self.0 = self
                .0
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            sum += (self.0 >> 40) as f64 / (1u64 << 24) as f64 - 0.5;
        }
        sum
    }
}

fn swing(mode: usize, t: f64) -> f64 {
    let (_, a, f, b, phase) = MODES[mode];
    a * (-b * t).exp() * (TAU * f * t + phase).cos()
}

fn quantity(value: f64, u: f64, unit: &str) -> Quantity {
    Quantity {
        value,
        unit: unit.into(),
        standard_uncertainty: Some(u),
    }
}

fn clip() -> ClipSummary {
    ClipSummary {
        frames: FRAMES,
        duration: quantity(2.198, 0.0, "s"),
        sha256: Some("3f1c0a77".repeat(8)),
    }
}

fn line(input: &str, u: f64, unit: &str, share: f64) -> BudgetLine {
    BudgetLine {
        input: input.into(),
        standard_uncertainty: u,
        unit: unit.into(),
        sensitivity: 1.0,
        share,
    }
}

fn estimate(quantity: &str, value: f64, u: f64, unit: &str, route: &str) -> Estimate {
    Estimate {
        quantity: quantity.into(),
        body: 1,
        value,
        unit: unit.into(),
        standard_uncertainty: u,
        degrees_of_freedom: Some(41.0),
        interval_95: [value - 2.02 * u, value + 2.02 * u],
        coverage: None,
        route: route.into(),
        method: None,
        reference: None,
        normalised_deviation: None,
        budget: Vec::new(),
        assumptions: Vec::new(),
        explanation: None,
    }
}

fn estimates() -> Vec<Estimate> {
    let mut tension = estimate(
        "surface_tension",
        0.0687,
        0.0006,
        "N/m",
        "modes 2 to 4, radius from the outline",
    );
    tension.reference = Some(Reference {
        value: 0.069,
        standard_uncertainty: Some(0.0003),
        source: "glycerol-water table at 22 °C".into(),
    });
    tension.normalised_deviation = Some(-0.4);
    tension.budget = vec![
        line("scale", 0.0003, "mm/px", 0.61),
        line("depth", 2.9, "mm", 0.24),
        line("density", 0.6, "kg/m^3", 0.08),
        line("frequency of mode 2", 0.0011, "Hz", 0.05),
        line("temperature", 0.5, "degC", 0.016),
        line("edge_position", 0.012, "px", 0.004),
    ];
    let mut viscosity = estimate(
        "kinematic_viscosity",
        3.42e-6,
        0.11e-6,
        "m^2/s",
        "decay rates of modes 2 to 5, exact viscous roots with the host gas",
    );
    viscosity.explanation = Some("The four modes share one viscosity within their uncertainties".into());
    viscosity.budget = vec![
        line("decay_rate of mode 2", 0.0061, "1/s", 0.55),
        line("decay_rate of mode 3", 0.024, "1/s", 0.31),
        line("scale", 0.0003, "mm/px", 0.14),
    ];
    vec![
        tension,
        viscosity,
        estimate(
            "equivalent_radius",
            0.012_08,
            0.000_074,
            "m",
            "mean of all free frames",
        ),
    ]
}

fn findings() -> Findings {
    let mut findings = Findings::of_clip(clip());
    findings.estimates = estimates();
    findings.correlations = vec![
        Correlation {
            between: ["surface_tension".into(), "kinematic_viscosity".into()],
            value: 0.11,
        },
        Correlation {
            between: ["surface_tension".into(), "equivalent_radius".into()],
            value: 0.92,
        },
    ];
    findings.modes = MODES
        .iter()
        .map(|(degree, a, f, b, _)| Mode {
            body: 1,
            degree: *degree,
            order: None,
            frequency: quantity(*f, 0.0004 * f64::from(*degree), "Hz"),
            decay_rate: quantity(*b, 0.006 * f64::from(*degree), "1/s"),
            amplitude: quantity(*a, 0.00008, "1"),
            quality: Some(PI * f / b),
            cycles: Some(f * 2.198),
        })
        .collect();
    findings.events = vec![Event {
        name: "support_leaves".into(),
        time: quantity(0.0479, 0.0012, "s"),
        frames: [22, 24],
        found_by: "program".into(),
    }];
    findings.cautions = cautions();
    findings
}

fn caution(code: &str, text: &str, frames: Option<[u64; 2]>) -> Caution {
    Caution {
        code: code.into(),
        text: text.into(),
        frames,
    }
}

fn cautions() -> Vec<Caution> {
    vec![
        caution(
            "body_held",
            "The cup still touches the drop in the first frames. A held drop does not ring as a free one does, so \
             these frames were not used for any property.",
            Some([0, 23]),
        ),
        caution(
            "single_view",
            "One camera sees one silhouette. The distance of the drop along the line of sight is not measured; its \
             uncertainty of 5 mm is in the budget of every length.",
            None,
        ),
        caution(
            "degree_6_below_noise",
            "The mode of degree 6 could not be told from noise, so no frequency and no decay rate is given for it.",
            None,
        ),
        caution(
            "care_review",
            "Free liquid can reach eyes, electronics and air ducts. These lines are no safety approval: follow the \
             safety review of the vehicle and its rules.",
            None,
        ),
    ]
}

fn series() -> Vec<AmplitudeSeries> {
    let mut noise = Noise(7);
    (0..4)
        .map(|mode| {
            let time: Vec<f64> = (24..FRAMES).map(|i| i as f64 / RATE).collect();
            let residual: Vec<f64> = time.iter().map(|_| 1.2e-4 * noise.next()).collect();
            AmplitudeSeries {
                body: 1,
                degree: MODES[mode].0,
                value: time
                    .iter()
                    .zip(&residual)
                    .map(|(t, r)| swing(mode, *t) + r)
                    .collect(),
                u: vec![6e-5; time.len()],
                fitted: (0..2000)
                    .map(|i| 0.05 + f64::from(i) * 0.001_075)
                    .map(|t| [t, swing(mode, t)])
                    .collect(),
                residual,
                time,
            }
        })
        .collect()
}

/// Power of a series at some frequencies, straight from the definition.
fn power(time: &[f64], value: &[f64], frequency: &[f64]) -> Vec<f64> {
    let n = value.len() as f64;
    let window = |i: usize| 0.5 - 0.5 * (TAU * (i as f64 + 0.5) / n).cos();
    frequency
        .iter()
        .map(|f| {
            let (mut re, mut im) = (0.0, 0.0);
            for (i, (t, v)) in time.iter().zip(value).enumerate() {
                re += window(i) * v * (TAU * f * t).cos();
                im += window(i) * v * (TAU * f * t).sin();
            }
            8.0 / 3.0 * (re * re + im * im) / (n * RATE)
        })
        .collect()
}

fn spectra(series: &[AmplitudeSeries]) -> Vec<Spectrum> {
    let frequency: Vec<f64> = (0..700).map(|i| 0.05 * f64::from(i)).collect();
    series
        .iter()
        .zip(MODES)
        .map(|(s, (degree, _, f, ..))| Spectrum {
            body: 1,
            degree,
            power: power(&s.time, &s.value, &frequency),
            residual_power: power(&s.time, &s.residual, &frequency),
            frequency: frequency.clone(),
            power_unit: "1/Hz".into(),
            marks: vec![(f, format!("f{}", subscript(degree)))],
        })
        .collect()
}

fn drifts() -> Vec<Drift> {
    let mut noise = Noise(11);
    let time: Vec<f64> = (24..FRAMES).map(|i| i as f64 / RATE).collect();
    vec![Drift {
        body: 1,
        quantity: "volume".into(),
        unit: "m^3".into(),
        value: time
            .iter()
            .map(|t| 7.384e-6 * (1.0 - 4e-4 * t + 2e-4 * noise.next()))
            .collect(),
        u: vec![1.1e-9; time.len()],
        level: Some(7.384e-6),
        note: "It falls by 0.08 % over the clip, one third of its standard uncertainty.".into(),
        time,
    }]
}

fn paths() -> Vec<CentrePath> {
    let time: Vec<f64> = (24..FRAMES).map(|i| i as f64 / RATE).collect();
    vec![CentrePath {
        body: 1,
        x: time.iter().map(|t| 1e-3 + 2.1e-3 * t).collect(),
        y: time
            .iter()
            .map(|t| 0.5e-3 - 0.4e-3 * t + 0.9e-3 * t * t)
            .collect(),
        unit: "m".into(),
        time,
    }]
}

fn legendre(n: u32, x: f64) -> f64 {
    let (mut before, mut now) = (1.0, x);
    for k in 1..n {
        let k = f64::from(k);
        (before, now) = (now, ((2.0 * k + 1.0) * x * now - k * before) / (k + 1.0));
    }
    now
}

fn radius_px(theta: f64, t: f64) -> f64 {
    240.0
        * (1.0
            + (0..4)
                .map(|m| swing(m, t) * legendre(MODES[m].0, theta.cos()))
                .sum::<f64>())
}

/// A back-lit drop with its centre at (640, 360), axis 0.1 rad from image-up.
fn frame(t: f64) -> Plane {
    let mut noise = Noise(3);
    let mut levels = Vec::with_capacity(1280 * 720);
    for y in 0..720 {
        for x in 0..1280 {
            let (dx, dy) = (f64::from(x) - 640.0, f64::from(y) - 360.0);
            let r = dx.hypot(dy);
            let theta = dx.atan2(-dy) - 0.1;
            let light = 205.0 - 30.0 * (dx / 900.0).powi(2) - 45.0 * (dy / 500.0).powi(2);
            let inside = 0.5 - 0.5 * ((r - radius_px(theta, t)) / 1.5).clamp(-8.0, 8.0).tanh();
            let heart = 120.0 * (-(r / 60.0).powi(2)).exp();
            levels.push((light * (1.0 - inside) + inside * (26.0 + heart) + 3.0 * noise.next()) as u8);
        }
    }
    Plane::eight(1280, 720, levels)
}

fn outline(t: f64, from: f64, to: f64) -> Vec<[f64; 2]> {
    (0..=600)
        .map(|i| {
            let angle = from + (to - from) * f64::from(i) / 600.0;
            let r = radius_px(angle - 0.1, t);
            [640.0 + r * angle.sin(), 360.0 - r * angle.cos()]
        })
        .collect()
}

fn pictures() -> Result<Vec<Picture>, Box<dyn Error>> {
    let telling = [
        (
            24,
            "First frame in which nothing touches the drop; the cup still hides the dashed arc.",
        ),
        (124, "Half a swing later: flattest."),
        (223, "One swing after the release: longest again."),
        (
            1055,
            "Last frame: the departure from a sphere can no longer be seen by eye.",
        ),
    ];
    telling
        .iter()
        .map(|(frame_number, caption)| {
            let t = f64::from(*frame_number) / RATE;
            let hidden = if *frame_number == 24 { 0.9 } else { 0.0 };
            let body = OverlayBody {
                number: 1,
                used: vec![Arc {
                    points: outline(t, hidden, TAU),
                    closed: hidden == 0.0,
                }],
                hidden: vec![Arc {
                    points: outline(t, 0.0, hidden),
                    closed: false,
                }],
                centre: Some([640.0, 360.0]),
                axis_angle: Some(0.1),
            };
            let style = Style {
                time: t,
                frame: u64::from(*frame_number as u32),
                weight: 2.0,
                ..Style::default()
            };
            let canvas = draw(&frame(t), &[body], &style);
            Ok(Picture {
                png: png_rgb(canvas.width, canvas.height, &canvas.rgb)?,
                width: canvas.width,
                height: canvas.height,
                caption: (*caption).into(),
                time: t,
                frame: style.frame,
            })
        })
        .collect()
}

fn truth() -> Vec<TruthRow> {
    let row = |quantity: &str, unit: &str, truth: f64, found: f64, u: f64| TruthRow {
        quantity: quantity.into(),
        unit: unit.into(),
        truth,
        found: Some(found),
        u: Some(u),
        deviation: Some((found - truth) / u),
    };
    vec![
        row("surface_tension", "N/m", 0.0691, 0.0687, 0.0006),
        row("kinematic_viscosity", "m^2/s", 3.35e-6, 3.42e-6, 0.11e-6),
        row("equivalent_radius", "m", 0.0121, 0.012_08, 0.000_074),
        row("frequency of mode 2", "Hz", 2.4116, 2.412, 0.0008),
        TruthRow {
            found: None,
            u: None,
            deviation: None,
            ..row("frequency of mode 6", "Hz", 13.2, 0.0, 1.0)
        },
    ]
}

fn methods() -> Vec<Method> {
    vec![
        Method {
            name: "Surface tension".into(),
            text: vec![
                "A free drop that is pushed out of its round shape swings back and forth; the surface pulls, the mass \
                 resists. For each mode the frequency, the density and the radius give the surface tension."
                    .into(),
                "The frequencies were corrected for viscosity and for the gas around the drop by the exact roots of \
                 the viscous problem before the formula was applied."
                    .into(),
            ],
            formulas: vec!["sigma = rho R^3 omega_n^2 / [n (n-1) (n+2)]".into()],
            symbols: vec![
                Symbol::new("sigma", "surface tension", "N/m"),
                Symbol::new("rho", "density of the liquid", "kg/m^3"),
                Symbol::new("R", "radius of a sphere of equal volume", "m"),
                Symbol::new("omega_n", "angular frequency of the mode of degree n", "rad/s"),
                Symbol::new("n", "degree of the mode", "1"),
            ],
            sources: vec!["Lord Rayleigh, On the capillary phenomena of jets, Proc. R. Soc. London 29 (1879) 71–97".into()],
        },
        Method {
            name: "Amplitudes and decay".into(),
            text: vec!["Each amplitude was fitted by a sum of damped vibrations, weighted by its uncertainty.".into()],
            formulas: vec!["a_n(t) = A_n e^{-b_n t} cos(2 pi f_n t + phi_n)".into()],
            symbols: vec![
                Symbol::new("a_n", "amplitude of degree n, in units of R", "1"),
                Symbol::new("b_n", "decay rate", "1/s"),
                Symbol::new("f_n", "frequency", "Hz"),
            ],
            sources: vec![],
        },
    ]
}

fn experiment() -> Vec<Row> {
    vec![
        Row::new("Kind", "release"),
        Row::new(
            "Liquid",
            "glycerol-water, mass fraction 0.40 ± 0.005, at 22.0 ± 0.5 °C",
        ),
        Row::new("Gas", "air at 84 kPa and 22 °C"),
        Row::new("Body", "diameter 24.0 ± 0.5 mm, as stated"),
        Row::new("Place", "parabolic flight, residual acceleration 0.02 m/s²"),
        Row::new(
            "Camera",
            "480 frames per second, 0.0500 ± 0.0003 mm/px, 0.60 m away",
        ),
        Row::new("Clip", "run7.mp4, 1056 frames, 2.198 s of real time"),
    ]
}

fn provenance() -> Vec<Row> {
    vec![
        Row::new("Program", "tremolet 0.1.0"),
        Row::new("Made", "2031-04-02 at 09:15 UTC"),
        Row::new("Clip, SHA-256", "3f1c0a77".repeat(8)),
        Row::new("Experiment file, SHA-256", "9b20d4e1".repeat(8)),
        Row::new("Seed", "1"),
    ]
}

fn files() -> Vec<FileRow> {
    vec![
        FileRow::new("overlay.mp4", "the clip with what was measured drawn on it"),
        FileRow::new("findings.json", "all numbers of this report, for programs"),
        FileRow::new("series/modes.parquet", "amplitudes in every frame"),
        FileRow::new("tables/modes.csv", "the same as text"),
        FileRow::new("experiment.toml", "the experiment file as used"),
    ]
}

fn ringing() -> Result<Report, Box<dyn Error>> {
    let findings = findings();
    let mut input = ReportInput::of("Cup release, run 7", &findings);
    input.notice = Some("Sample: every number here is invented".into());
    input.summary = "A drop of glycerol-water, 24 mm across, was released from a split cup in a parabolic flight and filmed \
                     at 480 frames per second while it rang down."
        .into();
    input.experiment = experiment();
    input.pictures = pictures()?;
    input.amplitudes = series();
    input.spectra = spectra(&input.amplitudes);
    input.drifts = drifts();
    input.paths = paths();
    input.truth = truth();
    input.methods = methods();
    input.assumptions = vec![
        "The drop is symmetric about an axis in the image plane; the outline bears this out to 0.1 % of R."
            .into(),
        "The liquid has the temperature of the cabin.".into(),
        "No surface film.".into(),
    ];
    input.files = files();
    input.provenance = provenance();
    Ok(render(&input))
}

fn still() -> Report {
    let mut findings = Findings::of_clip(clip());
    findings.estimates = vec![estimate(
        "equivalent_radius",
        0.012_08,
        0.000_074,
        "m",
        "mean of all free frames",
    )];
    findings.cautions = vec![caution(
        "nothing_rings",
        "No amplitude stands out of the noise of 0.006 % of R at any frequency from 0.9 Hz to 240 Hz. Either the drop \
         was at rest or it was filmed too late.",
        Some([0, 1055]),
    )];
    let mut input = ReportInput::of("Still drop, run 2", &findings);
    input.notice = Some("Sample: every number here is invented".into());
    input.summary = "A drop at rest was filmed as a check of the camera.".into();
    input.experiment = experiment();
    let mut noise = Noise(5);
    let time: Vec<f64> = (0..100).map(|i| f64::from(i) / 50.0).collect();
    input.amplitudes = vec![AmplitudeSeries {
        body: 1,
        degree: 2,
        value: time.iter().map(|_| 1.2e-4 * noise.next()).collect(),
        u: vec![6e-5; 100],
        time,
        ..AmplitudeSeries::default()
    }];
    input.provenance = provenance();
    render(&input)
}
