//! Makes the seeds: small real files of the synthetic camera in every form that is read, into `corpus/TARGET/seed-*`.
//!
//! `cargo run --release --bin seeds`. What only an outside coder writes (MJPEG, other profiles of H.264) is made by ffmpeg
//! where that is installed.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use tremolet_clip::frame::{Levels, Plane};
use tremolet_clip::painted::body::PaintedBody;
use tremolet_clip::painted::film::write_mp4;
use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::recipe::Recipe;
use tremolet_clip::painted::stills::write_stills;

type Outcome<T> = Result<T, Box<dyn std::error::Error>>;

fn main() -> Outcome<()> {
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR")).join("corpus");
    let put = |target: &str, name: &str, bytes: &[u8]| -> Outcome<PathBuf> {
        let folder = corpus.join(target);
        fs::create_dir_all(&folder)?;
        let path = folder.join(format!("seed-{name}"));
        fs::write(&path, bytes)?;
        Ok(path)
    };
    let scratch = std::env::temp_dir().join(format!("tremolet-seeds-{}", std::process::id()));
    fs::create_dir_all(&scratch)?;
    for (number, text) in QUANTITIES.iter().enumerate() {
        put("quantity", &format!("{number:02}"), text.as_bytes())?;
    }
    let template = include_str!("../../../crates/record/src/experiment/template.toml");
    put(
        "experiment",
        "template",
        template.replace("KIND", "release").as_bytes(),
    )?;
    put(
        "experiment",
        "all",
        template.replace("KIND", "puff").replace("\n# ", "\n").as_bytes(),
    )?;
    put("experiment", "small", SMALL.as_bytes())?;
    for (name, bits) in [("8", 8), ("12", 12)] {
        let stills = scratch.join(format!("stills-{name}"));
        write_stills(&mut Painter::new(recipe(bits))?, &stills)?;
        put(
            "stills",
            &format!("{name}.png"),
            &fs::read(stills.join("frame-00000.png"))?,
        )?;
        put(
            "apng",
            &format!("{name}-single"),
            &fs::read(stills.join("frame-00000.png"))?,
        )?;
        put("stills", "times", &fs::read(stills.join("times.csv"))?)?;
        let planes = planes(bits)?;
        put("cine", name, &cine(&planes))?;
        put("apng", name, &apng(&planes)?)?;
        put("y4m", name, &y4m(&planes))?;
    }
    put("stills", "names", b"names\nf1\nf2\nf10\nf12\n")?;
    put("gif", "painted", &gif(&planes(8)?)?)?;
    let film = scratch.join("film.mp4");
    write_mp4(&mut Painter::new(recipe(8))?, &film, 28)?;
    put("mp4", "painted", &fs::read(&film)?)?;
    let outside: [(&str, &str, &str, &str); 9] = [
        ("avi", "mjpeg", "avi", "-c:v mjpeg -q:v 8"),
        ("y4m", "420", "y4m", "-pix_fmt yuv420p"),
        ("gif", "outside", "gif", "-frames:v 4"),
        (
            "mp4",
            "main",
            "mp4",
            "-c:v libx264 -profile:v main -bf 2 -g 5 -pix_fmt yuv420p",
        ),
        (
            "mp4",
            "high",
            "mov",
            "-c:v libx264 -profile:v high -bf 3 -refs 4 -pix_fmt yuv420p",
        ),
        (
            "h264",
            "baseline",
            "h264",
            "-c:v libx264 -profile:v baseline -slices 2 -pix_fmt yuv420p",
        ),
        (
            "h264",
            "main",
            "h264",
            "-c:v libx264 -profile:v main -bf 2 -g 4 -weightp 2 -pix_fmt yuv420p",
        ),
        (
            "h264",
            "high",
            "h264",
            "-c:v libx264 -profile:v high -8x8dct 1 -bf 3 -pix_fmt yuv420p",
        ),
        ("h264", "coarse", "h264", "-c:v libx264 -crf 35 -pix_fmt yuv420p"),
    ];
    for (target, name, ending, words) in outside {
        let out = scratch.join(format!("{name}.{ending}"));
        let made = Command::new("ffmpeg")
            .args(["-v", "error", "-y", "-framerate", "50", "-i"])
            .arg(scratch.join("stills-8/frame-%05d.png"))
            .args(words.split(' '))
            .arg(&out)
            .status();
        if made.is_ok_and(|status| status.success()) {
            put(target, name, &fs::read(&out)?)?;
        } else {
            eprintln!("{target} {name}: ffmpeg does not make it here");
        }
    }
    for (name, ending, words) in [
        ("jpeg", "jpg", "-q:v 6"),
        ("tiff", "tiff", "-compression_algo lzw"),
        ("tiff-deflate", "tif", "-compression_algo deflate"),
    ] {
        let out = scratch.join(format!("still.{ending}"));
        let made = Command::new("ffmpeg")
            .args(["-v", "error", "-y", "-i"])
            .arg(scratch.join("stills-8/frame-00000.png"))
            .args(words.split(' '))
            .args(["-frames:v", "1"])
            .arg(&out)
            .status();
        if made.is_ok_and(|status| status.success()) {
            put("stills", name, &fs::read(&out)?)?;
        }
    }
    fs::remove_dir_all(&scratch)?;
    Ok(())
}

const QUANTITIES: [&str; 14] = [
    "24 +- 0.5 mm (k=2)",
    "24 +- 0.5 mm (limits)",
    "22 degC",
    "22 +- 0.5 degC",
    "0.40 +- 0.005",
    "40 % +- 2 %",
    "0.050 +- 0.0003 mm/px",
    "480 fps",
    "72.75 mN/m +- 1 %",
    "1e-3 Pa s",
    "8.7e-6 m^2/s",
    "84 kPa",
    "9.81 m/s^2",
    "0.12 +/- 0.02 s",
];

const SMALL: &str = "format = 1\ntitle = \"t\"\nkind = \"release\"\n[liquid]\ndensity = \"998 +- 1 kg/m^3\"\n[camera]\ncapture_rate = \"250 fps\"\n\
                     scale = \"0.1 mm/px\"\n[camera.reference]\nlength = \"50 mm\"\nfrom = [1, 2]\nto = [3, 4]\n[clip]\npath = \"a.mp4\"\nframes = [0, 10]\n\
                     [[clip.mask]]\ncorners = [[0, 0], [2, 0], [2, 8]]\nwhat = \"wire\"\n";

fn recipe(bits: u32) -> Recipe {
    let mut recipe = Recipe::silhouette(48, 32, 6, 50.0, 1e-4);
    recipe.camera.bits = bits;
    recipe.bodies = vec![PaintedBody::sphere(10.0, [20.0, 16.0]).along(|t| [20.0 + 60.0 * t, 16.0])];
    recipe
}

fn planes(bits: u32) -> Outcome<Vec<Plane>> {
    let mut painter = Painter::new(recipe(bits))?;
    Ok((0..6)
        .filter_map(|index| painter.paint(index))
        .map(|frame| frame.plane)
        .collect())
}

/// Codes, low byte first.
fn bytes(plane: &Plane) -> Vec<u8> {
    match &plane.levels {
        Levels::Eight(levels) => levels.clone(),
        Levels::Sixteen(levels) => levels.iter().flat_map(|level| level.to_le_bytes()).collect(),
    }
}

fn y4m(planes: &[Plane]) -> Vec<u8> {
    let (plane, depth) = (&planes[0], if planes[0].bits() == 16 { "12" } else { "" });
    let mut out = format!(
        "YUV4MPEG2 W{} H{} F50:1 Ip A1:1 Cmono{depth}\n",
        plane.width, plane.height
    )
    .into_bytes();
    for plane in planes {
        out.extend(b"FRAME\n");
        out.extend(bytes(plane));
    }
    out
}

/// A recording of the high-speed container, with a block of times.
fn cine(planes: &[Plane]) -> Vec<u8> {
    let count = planes.len() as u32;
    let mut setup = vec![0; 900];
    setup[140..142].copy_from_slice(b"ST");
    setup[142..144].copy_from_slice(&900_u16.to_le_bytes());
    setup[768..772].copy_from_slice(&1000_u32.to_le_bytes());
    setup[896..900].copy_from_slice(&12_u32.to_le_bytes());
    let mut times = [(8 + 8 * count).to_le_bytes(), [0xEA, 3, 0, 0]].concat();
    times.extend((0..count).flat_map(|k| [(k << 22).to_le_bytes(), 9_u32.to_le_bytes()].concat()));
    let places_at = (84 + setup.len() + times.len()) as u32;
    let mut out = [b"CI".to_vec(), vec![44, 0, 0, 0, 1, 0]].concat();
    for value in [0, count, 0, count, 44, 84, places_at, 0, 0] {
        out.extend(value.to_le_bytes());
    }
    let mut bitmap = [40, planes[0].width as u32, planes[0].height as u32]
        .map(u32::to_le_bytes)
        .concat();
    bitmap.extend([1_u16.to_le_bytes(), (planes[0].bits() as u16).to_le_bytes()].concat());
    bitmap.resize(40, 0);
    out.extend([bitmap, setup, times].concat());
    let size = bytes(&planes[0]).len();
    for k in 0..planes.len() {
        out.extend((u64::from(places_at) + (8 * planes.len() + k * (8 + size)) as u64).to_le_bytes());
    }
    for plane in planes {
        out.extend([8_u32.to_le_bytes(), (size as u32).to_le_bytes()].concat());
        out.extend(bytes(plane));
    }
    out
}

fn gif(planes: &[Plane]) -> Outcome<Vec<u8>> {
    let palette: Vec<u8> = (0..=255).flat_map(|level| [level; 3]).collect();
    let (width, height) = (planes[0].width as u16, planes[0].height as u16);
    let mut out = Vec::new();
    let mut encoder = gif::Encoder::new(&mut out, width, height, &palette)?;
    for plane in &planes[..3] {
        encoder.write_frame(&gif::Frame {
            width,
            height,
            delay: 2,
            buffer: bytes(plane).into(),
            ..gif::Frame::default()
        })?;
    }
    drop(encoder);
    Ok(out)
}

fn apng(planes: &[Plane]) -> Outcome<Vec<u8>> {
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, planes[0].width as u32, planes[0].height as u32);
    let sixteen = planes[0].bits() == 16;
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(if sixteen {
        png::BitDepth::Sixteen
    } else {
        png::BitDepth::Eight
    });
    encoder.set_animated(3, 0)?;
    encoder.set_frame_delay(1, 50)?;
    let mut writer = encoder.write_header()?;
    for plane in &planes[..3] {
        writer.write_image_data(&bytes(plane))?;
    }
    writer.finish()?;
    Ok(out)
}
