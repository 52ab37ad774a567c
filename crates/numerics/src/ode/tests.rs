use super::{CLASSICAL, DORMAND_PRINCE, OdeError, Pair, Stepper};

type Never = std::convert::Infallible;

fn circle(_: f64, y: &[f64], rates: &mut [f64]) -> Result<(), Never> {
    (rates[0], rates[1]) = (-y[1], y[0]);
    Ok(())
}

/// Largest error at the end and between steps, of a turn of the unit circle.
fn turn(scale: f64) -> (f64, f64, super::Effort) {
    let mut solution = Stepper::new(&DORMAND_PRINCE, 0.0, vec![1.0, 0.0], vec![scale; 2], 0.1);
    let (mut between, mut out) = (0.0_f64, [0.0; 2]);
    while solution.time() < 10.0 {
        solution.advance(10.0, &mut circle).expect("a step");
        for share in [0.2, 0.5, 0.9, 1.0] {
            let time = solution.begun() + share * (solution.time() - solution.begun());
            solution.within(time, &mut out);
            between = between.max((out[0] - time.cos()).hypot(out[1] - time.sin()));
        }
    }
    let end = (solution.state()[0] - 10f64.cos()).hypot(solution.state()[1] - 10f64.sin());
    (end, between, solution.effort())
}

#[test]
fn a_turn_of_the_circle_is_as_good_as_asked_everywhere() {
    let (mut before, mut last) = (f64::INFINITY, 0);
    for scale in [1e-6, 1e-8, 1e-10] {
        let (end, between, effort) = turn(scale);
        assert!(end < 100.0 * scale, "{end:e} at {scale:e}");
        assert!(between < 300.0 * scale, "{between:e} at {scale:e}");
        assert!(end < before / 30.0);
        assert!(last == 0 || effort.steps < 4 * last, "{effort:?}");
        (before, last) = (end, effort.steps);
    }
}

#[test]
fn fixed_steps_show_the_order_of_each_pair() {
    // With scales that never bind, the step is what is asked by `until`.
    let error = |pair: &'static Pair, count: u32| {
        let mut solution = Stepper::new(pair, 0.0, vec![1.0, 0.0], vec![1e3; 2], 1e3);
        for k in 1..=count {
            solution
                .advance(2.0 * f64::from(k) / f64::from(count), &mut circle)
                .expect("a step");
        }
        assert_eq!(solution.effort().steps, u64::from(count));
        (solution.state()[0] - 2f64.cos()).hypot(solution.state()[1] - 2f64.sin())
    };
    for (pair, expected) in [(&DORMAND_PRINCE, 5.0), (&CLASSICAL, 4.0)] {
        let order = (error(pair, 10) / error(pair, 20)).log2();
        assert!((order - expected).abs() < 0.2, "{order}");
    }
}

#[test]
fn the_classical_pair_holds_what_is_asked_and_waves_up_to_its_limit() {
    let run = |scale: f64| {
        let mut solution = Stepper::new(&CLASSICAL, 0.0, vec![1.0, 0.0], vec![scale; 2], 0.1);
        while solution.time() < 10.0 {
            solution.advance(10.0, &mut circle).expect("a step");
        }
        (solution.state()[0] - 10f64.cos()).hypot(solution.state()[1] - 10f64.sin())
    };
    assert!(run(1e-8) < 1e-6 && run(1e-10) < run(1e-8) / 30.0);
    // With an error that never binds, steps of 2.8 keep a turn of unit frequency small for ever and steps of 2.9 do not.
    let grown = |longest: f64| {
        let mut solution = Stepper::new(&CLASSICAL, 0.0, vec![1.0, 0.0], vec![1e9; 2], 100.0);
        solution.limit(longest);
        while solution.time() < 2000.0 {
            solution.advance(1e4, &mut circle).expect("a step");
        }
        solution.state()[0].hypot(solution.state()[1])
    };
    assert!(
        grown(2.8) < 1.0 && grown(2.9) > 1.0,
        "{} {}",
        grown(2.8),
        grown(2.9)
    );
}

#[test]
fn equations_that_fail_shorten_the_step_and_are_told_in_the_end() {
    // y' = -1 fails below 0: it stops at y = 0, within the shortest step.
    let mut fall = |_: f64, y: &[f64], rates: &mut [f64]| {
        rates[0] = -1.0;
        if y[0] < 0.0 { Err("below") } else { Ok(()) }
    };
    let mut solution = Stepper::new(&DORMAND_PRINCE, 0.0, vec![1.0], vec![1e-6], 0.3);
    let end = loop {
        if let Err(end) = solution.advance(5.0, &mut fall) {
            break end;
        }
    };
    assert_eq!(end, OdeError::Rates("below"));
    assert!((solution.time() - 1.0).abs() < 1e-9);
}

#[test]
fn an_error_that_cannot_be_held_is_told() {
    // y' = y^2 from 1 has no solution beyond t = 1.
    let mut blow = |_: f64, y: &[f64], rates: &mut [f64]| {
        rates[0] = y[0] * y[0];
        Ok::<(), Never>(())
    };
    let mut solution = Stepper::new(&DORMAND_PRINCE, 0.0, vec![1.0], vec![1e-8], 0.1);
    let end = (0..100_000).find_map(|_| solution.advance(2.0, &mut blow).err());
    assert!(
        matches!(end, Some(OdeError::StepTooSmall { time, .. }) if (time - 1.0).abs() < 1e-6),
        "{end:?}"
    );
}

#[test]
fn another_state_of_another_size_goes_on() {
    let mut solution = Stepper::new(&DORMAND_PRINCE, 0.0, vec![1.0, 0.0], vec![1e-9; 2], 0.1);
    solution.advance(0.05, &mut circle).expect("a step");
    solution.replace(vec![2.0], vec![1e-9]);
    let mut decay = |_: f64, y: &[f64], rates: &mut [f64]| {
        rates[0] = -y[0];
        Ok::<(), Never>(())
    };
    while solution.time() < 1.05 {
        solution.advance(1.05, &mut decay).expect("a step");
    }
    assert!((solution.state()[0] - 2.0 * (-1f64).exp()).abs() < 1e-8);
}
