use super::*;
use tremolet_optics::shutter::Shutter;

const SIZE: [usize; 2] = [401, 301];
const MIDDLE: [f64; 2] = [200.0, 150.0];

fn frame(
    index: usize,
    state: State,
    places: &[[f64; 2]],
    astray: Option<(usize, [f64; 2])>,
) -> (u64, f64, Vec<Seen>) {
    let [dx, dy, re, im] = state;
    let one = |(mark, p): (usize, &[f64; 2])| {
        let [x, y] = [p[0] - MIDDLE[0], p[1] - MIDDLE[1]];
        let mut shift = [dx + re * x - im * y, dy + re * y + im * x];
        // Noise of a tenth of the stated uncertainty, other in each mark and frame.
        let noise = |k: usize| 5e-4 * ((index * 37 + mark * 17 + k * 5) as f64).sin();
        shift = [shift[0] + noise(0), shift[1] + noise(1)];
        if let Some((bad, by)) = astray
            && bad == mark
        {
            shift = [shift[0] + by[0], shift[1] + by[1]];
        }
        Seen {
            mark,
            place: [x, y],
            shift,
            weight: [4e4, 0.0, 4e4],
            delay: 0.0,
            first: 0.0,
        }
    };
    let seen = places.iter().enumerate().map(one).collect();
    (index as u64, index as f64 * 0.01, seen)
}

const PLACES: [[f64; 2]; 5] = [
    [30.0, 40.0],
    [370.0, 50.0],
    [40.0, 270.0],
    [360.0, 260.0],
    [200.0, 30.0],
];

#[test]
fn shift_turn_and_zoom_of_a_frame_are_found() {
    let state = [2.3, -1.7, 0.012, -0.004];
    let (_, _, seen) = frame(3, state, &PLACES, None);
    let (found, u) = fit(&seen, open_for(&seen, [true; 4]), Scale::Stated).unwrap();
    for i in 0..4 {
        assert!(
            (found[i] - state[i]).abs() < 3.0 * u[i] && u[i] > 0.0,
            "{found:?} {u:?}"
        );
    }
    // Two marks tell the shift only.
    assert_eq!(open_for(&seen[..2], [true; 4]), [true, true, false, false]);
}

#[test]
fn a_mark_that_goes_its_own_way_does_not_count() {
    let (_, _, seen) = frame(3, [1.0, 0.5, 0.0, 0.0], &PLACES, Some((2, [4.0, -3.0])));
    let (found, _) = fit(&seen, [true, true, false, false], Scale::Stated).unwrap();
    assert!((found[0] - 1.0).hypot(found[1] - 0.5) < 0.01, "{found:?}");
    let frames: Vec<_> = (0..40)
        .map(|k| {
            let own = 3.0 * (0.3 * k as f64).sin();
            frame(
                k,
                [0.5 * (0.2 * k as f64).cos(), 0.0, 0.0, 0.0],
                &PLACES,
                Some((2, [own, own])),
            )
        })
        .collect();
    assert_eq!(loyal(&frames, 5), [true, true, false, true, true]);
}

#[test]
fn noise_is_no_motion() {
    let still: Vec<_> = (0..60).map(|k| frame(k, [0.0; 4], &PLACES, None)).collect();
    let all = fitted(&still, [true; 4], Scale::Stated);
    assert_eq!(matters(&all, 250.0), [false; 4]);
    let shaken: Vec<_> = (0..60)
        .map(|k| frame(k, [0.2 * (0.9 * k as f64).sin(), 0.0, 0.0, 0.0], &PLACES, None))
        .collect();
    assert_eq!(
        matters(&fitted(&shaken, [true; 4], Scale::Stated), 250.0),
        [true, false, false, false]
    );
}

#[test]
fn what_moved_is_brought_back() {
    let motion = Motion {
        times: vec![0.0, 1.0, 2.0, 3.0, 4.0],
        states: (0..5)
            .map(|k| [f64::from(k), -0.5 * f64::from(k), 0.01 * f64::from(k), 0.0])
            .collect(),
        middle: MIDDLE,
        u_zoom: 0.0,
    };
    let (at, larger) = motion.still([200.0 + 2.0 + 1.02 * 50.0, 150.0 - 1.0 - 1.02 * 20.0], 2.0);
    assert!((at[0] - 250.0).hypot(at[1] - 130.0) < 1e-9, "{at:?}");
    assert!((larger - 1.0 / 1.02).abs() < 1e-12);
    // Between frames a motion that is a polynomial is exact; beyond the ends it is held.
    assert!((motion.at(1.3)[0] - 1.3).abs() < 1e-12 && motion.at(-1.0)[0] == 0.0 && motion.at(9.0)[0] == 4.0);
    let [rms, turn, zoom] = motion.size();
    // Mean square of 0..4 about 2 is 2, and a quarter of it.
    assert!((rms - 2.5_f64.sqrt()).abs() < 1e-12 && turn == 0.0 && (zoom - 0.04).abs() < 1e-12);
}

// A shift of 0.5 sin(30 t) px read over 8 ms: marks of different rows see it at different times, 0.12 px apart at
// most, in the first frame too.
#[test]
fn rows_of_a_shutter_are_brought_to_one_time() {
    let shutter = Shutter {
        readout: 0.008,
        rows: SIZE[1],
        stamped: 0.0,
    };
    let shift = |t: f64| 0.5 * (30.0 * t).sin();
    let mut frames: Vec<_> = (0..60)
        .map(|k| {
            let mut f = frame(k, [0.0; 4], &PLACES, None);
            for s in &mut f.2 {
                s.delay = shutter.row_time(0.0, s.place[1] + MIDDLE[1]);
                s.first = s.delay;
                s.shift[0] += shift(f.1 + s.delay) - shift(s.first);
            }
            f
        })
        .collect();
    let open = [true, true, false, false];
    let before = fitted(&frames, open, Scale::OfMarks);
    let (courses, u) = (courses(&before), before[30].u[0]);
    brought(&mut frames, &before, &courses);
    let after = fitted(&frames, open, Scale::Stated);
    let off = |f: &Fitted| (f.state[0] - shift(f.time) + shift(after[0].time)).abs();
    let worst = after[2..58].iter().map(off).fold(0.0, f64::max);
    // Differences over 0.3 rad a frame are 1.5 % too small, and so is what is taken out of 0.06 px.
    assert!(worst < 2e-3, "{worst}");
    assert!(after[30].u[0] < 0.5 * u, "{} {u}", after[30].u[0]);
}
