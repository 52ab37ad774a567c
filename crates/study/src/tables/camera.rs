//! What was seen of the camera as tables: how fixed marks moved, and the light of the scene.

use tremolet_record::table::Table;

use crate::look::Seen;
use crate::tables::column::{integer, real};

fn whole(value: u64) -> i64 {
    i64::try_from(value).unwrap_or(i64::MAX)
}

/// One row for each frame that shows marks: how the picture moved against the first.
pub fn views(seen: &Seen) -> Table {
    let views = &seen.measured.camera.views;
    let of = |get: &dyn Fn(&tremolet_measure::camera::motion::View) -> f64| views.iter().map(get).collect();
    Table {
        name: "camera".into(),
        description: "How fixed marks moved against the first frame; taken out of shapes and places where it is more than noise.".into(),
        columns: vec![
            integer(
                "frame",
                "frame of the clip, from 0",
                views.iter().map(|v| whole(v.frame)).collect(),
            ),
            real("time", "s", "real time of the frame", of(&|v| seen.time(v.frame).unwrap_or(f64::NAN))),
            real("shift_x", "px", "shift of the picture, rightwards", of(&|v| v.shift[0])),
            real("shift_y", "px", "shift of the picture, downwards", of(&|v| v.shift[1])),
            real("u_shift", "px", "standard uncertainty of each", of(&|v| v.u_shift)),
            real("turn", "rad", "turn of the picture about its middle, clockwise", of(&|v| v.turn)),
            real("zoom", "1", "size over that of the first frame", of(&|v| v.zoom)),
            integer(
                "marks",
                "marks that were used",
                views.iter().map(|v| whole(v.marks as u64)).collect(),
            ),
        ],
    }
}

/// One row for each frame that was looked at: its light over that of the first.
pub fn light(seen: &Seen) -> Table {
    let light = &seen.measured.camera.light;
    let kept = |frame: &u64| !seen.left_out.iter().any(|range| range.contains(frame));
    let frames = (seen.first..).filter(kept).take(light.len());
    Table {
        name: "light".into(),
        description: "Light along the border of the picture, over that of the first frame.".into(),
        columns: vec![
            integer(
                "frame",
                "frame of the clip, from 0",
                frames.clone().map(whole).collect(),
            ),
            real(
                "time",
                "s",
                "real time of the frame",
                frames.map(|f| seen.time(f).unwrap_or(f64::NAN)).collect(),
            ),
            real("light", "1", "light over that of the first frame", light.clone()),
        ],
    }
}
