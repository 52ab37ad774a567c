//! Which inputs of two runs are one and the same.
//!
//! | input, as the budget names it | is one and the same in |
//! |---|---|
//! | a name in square brackets behind it: `camera.scale [cal-A]` | all runs that name that calibration or batch |
//! | `(formula)`: what the published formula of a property leaves open | all runs that ask that formula |
//! | `(assumed)`, `(not given)`: what nobody wrote down | all runs in which it was assumed |
//! | the edge of light, the lamp at the rim, the lens | all runs of one calibration; each run without one |
//! | `(fit)`, `(scatter)`, the axis, a drift | one body of one run |
//! | anything else that the experiment file states | one run |
//!
//! The last line is a choice: a temperature read twice with the same thermometer has one error, and no file says so. [`if_one`] tells what the
//! mean would be uncertain by if such an input were one in all runs.

use tremolet_matter::uncertain::Uncertain;

/// Between the name of an input and the run that owns it.
const OWNER: &str = " @ ";
/// Inputs that one way of lighting and looking gives to all its runs.
const SET_UP: &[&str] = &[
    "edge of light against edge of liquid",
    "reflection of the lamp at the rim",
    "distortion of the lens",
];

/// Whose an input is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Owner<'a> {
    /// Name of the run.
    pub run: &'a str,
    /// Body in it, from 1.
    pub body: u32,
    /// Name of its calibration.
    pub calibration: Option<&'a str>,
}

/// The key under which an input of a run is known among runs.
pub fn key(input: &str, owner: Owner<'_>) -> String {
    let everywhere = ["]", "(formula)", "(assumed)", "(not given)"];
    if everywhere.iter().any(|end| input.ends_with(end)) {
        return input.to_owned();
    }
    if let (true, Some(calibration)) = (SET_UP.contains(&input), owner.calibration) {
        return format!("{input} [{calibration}]");
    }
    if of_body(input) {
        format!("{input}{OWNER}{}, body {}", owner.run, owner.body)
    } else {
        format!("{input}{OWNER}{}", owner.run)
    }
}

/// Whether an input is of one body alone, as what its frames scatter by.
pub fn of_body(input: &str) -> bool {
    ["(fit)", "(scatter)"].iter().any(|end| input.ends_with(end))
        || ["axis of revolution", "drift of the radius"]
            .iter()
            .any(|start| input.starts_with(start))
}

/// The name of the input without the run that owns it, and whether a run does.
pub fn name(key: &str) -> (&str, bool) {
    key.split_once(OWNER)
        .map_or((key, false), |(name, _)| (name, true))
}

/// The part of each value's standard uncertainty that no other of these values has.
pub fn own_parts(values: &[Uncertain]) -> Vec<f64> {
    let mut counts: std::collections::BTreeMap<&str, usize> = std::collections::BTreeMap::new();
    for part in values.iter().flat_map(Uncertain::parts) {
        *counts.entry(part.input.key.as_str()).or_default() += 1;
    }
    let own = |value: &Uncertain| {
        let alone = value
            .parts()
            .iter()
            .filter(|part| counts[part.input.key.as_str()] == 1);
        alone.map(|part| part.contribution.powi(2)).sum::<f64>().sqrt()
    };
    values.iter().map(own).collect()
}

/// What an input that each run states for itself would do if it were one.
#[derive(Debug, Clone, PartialEq)]
pub struct IfOne {
    /// The input.
    pub input: String,
    /// Standard uncertainty of the mean then.
    pub u: f64,
}

/// Inputs that several runs own each for themselves and that would raise the uncertainty of their mean by more than `least` (0.1 for a tenth)
/// if they were one; the largest first.
pub fn if_one(mean: &Uncertain, least: f64) -> Vec<IfOne> {
    let u = mean.standard_uncertainty();
    let mut names: Vec<&str> = mean
        .parts()
        .iter()
        .map(|part| name(&part.input.key))
        .filter(|(input, owned)| *owned && !of_body(input))
        .map(|(input, _)| input)
        .collect();
    names.sort_unstable();
    names.dedup();
    let joined = |input: &str| {
        let own = mean
            .parts()
            .iter()
            .filter(|part| name(&part.input.key) == (input, true));
        let (sum, squares) = own.fold((0.0, 0.0), |(sum, squares), part| {
            (sum + part.contribution, squares + part.contribution.powi(2))
        });
        IfOne {
            input: input.to_owned(),
            u: (u * u - squares + sum * sum).max(0.0).sqrt(),
        }
    };
    let mut found: Vec<IfOne> = names
        .into_iter()
        .map(joined)
        .filter(|one| one.u > (1.0 + least) * u)
        .collect();
    found.sort_by(|a, b| b.u.total_cmp(&a.u).then_with(|| a.input.cmp(&b.input)));
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_matter::uncertain::Input;

    fn of(run: &str) -> Owner<'_> {
        Owner {
            run,
            body: 1,
            calibration: Some("A"),
        }
    }

    #[test]
    fn a_named_calibration_and_a_formula_are_one_and_a_fit_is_not() {
        for shared in [
            "camera.scale [A]",
            "density of water (formula)",
            "pressure of the gas (assumed)",
            "edge of light against edge of liquid",
        ] {
            assert_eq!(key(shared, of("run1")), key(shared, of("run2")), "{shared}");
        }
        for own in [
            "camera.scale",
            "camera.depth",
            "frequencies and decay rates (fit)",
        ] {
            assert_ne!(key(own, of("run1")), key(own, of("run2")), "{own}");
        }
        let second = Owner {
            body: 2,
            ..of("run1")
        };
        assert_eq!(key("camera.depth", of("run1")), key("camera.depth", second));
        assert_ne!(
            key("radius of the outline (scatter)", of("run1")),
            key("radius of the outline (scatter)", second)
        );
        let without = Owner {
            calibration: None,
            ..of("run1")
        };
        assert_ne!(key(SET_UP[0], without), key(SET_UP[0], of("run1")));
        assert_eq!(name(&key("camera.depth", of("run @ 1"))), ("camera.depth", true));
    }

    #[test]
    fn what_a_value_has_alone_is_told_from_what_it_shares() {
        let with = |key: &str, u: f64| Input {
            key: key.into(),
            unit: "1".into(),
            standard_uncertainty: u,
            degrees_of_freedom: f64::INFINITY,
            source: "test".into(),
        };
        let of = |own: &str| {
            Uncertain::exact(1.0)
                .with_input(3.0, with(own, 3.0))
                .with_input(4.0, with("scale [A]", 4.0))
        };
        let alone = Uncertain::exact(1.0).with_input(5.0, with("scale [B]", 5.0));
        assert_eq!(own_parts(&[of("a"), of("b"), alone]), [3.0, 3.0, 5.0]);
    }

    #[test]
    fn what_could_be_one_error_is_told() {
        let input = |key: String, u: f64| Input {
            key,
            unit: "1".into(),
            standard_uncertainty: u,
            degrees_of_freedom: f64::INFINITY,
            source: "test".into(),
        };
        let mut mean = Uncertain::exact(1.0);
        for run in ["a", "b", "c", "d"] {
            mean = mean.with_input(0.25, input(key("camera.depth", of(run)), 1.0));
            mean = mean.with_input(
                0.25,
                input(key("frequencies and decay rates (fit)", of(run)), 1.0),
            );
        }
        let found = if_one(&mean, 0.1);
        assert_eq!(found.len(), 1, "{found:?}");
        // Four parts of 0.25 as one: 1; beside the four of the fits: sqrt(1.25).
        assert!(found[0].input == "camera.depth" && (found[0].u - 1.25_f64.sqrt()).abs() < 1e-12);
    }
}
