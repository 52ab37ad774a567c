//! What the experimenter wants to know, and how well: `[wanted]`, the uncertainties that a run is planned for.
//!
//! A standard uncertainty (k = 1), as a share of the value (`"1 %"`) or in the unit of the quantity (`"0.5 mN/m"`). Nothing is measured
//! by it: it is asked when a run is planned.

use crate::experiment::section::Section;
use tremolet_matter::quantity::dimension::Dimension;
use tremolet_matter::quantity::parse::parse;

/// Keys of `[wanted]`.
pub const WANTED: &[&str] = &["surface_tension", "viscosity", "radius"];

/// How well something is wanted, as a standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Goal {
    /// As a share of the value.
    Share(f64),
    /// In the SI unit of the quantity.
    Absolute(f64),
}

/// One wanted quantity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wish {
    /// The key in the file.
    pub key: &'static str,
    /// Name of the quantity in the findings.
    pub quantity: &'static str,
    /// How well.
    pub goal: Goal,
}

impl Wish {
    /// The wanted standard uncertainty of a quantity of this `value` (SI), in its unit.
    pub fn uncertainty(&self, value: f64) -> f64 {
        match self.goal {
            Goal::Share(share) => share * value.abs(),
            Goal::Absolute(u) => u,
        }
    }
}

/// Quantities that a key stands for: name in the findings, and what an uncertainty in its unit is. A share is one of the first.
const MEANT: &[(&str, &[(&str, Dimension)])] = &[
    (
        "surface_tension",
        &[("surface_tension", Dimension::SurfaceTension)],
    ),
    (
        "viscosity",
        &[
            ("dynamic_viscosity", Dimension::DynamicViscosity),
            ("kinematic_viscosity", Dimension::KinematicViscosity),
        ],
    ),
    ("radius", &[("equivalent_radius", Dimension::Length)]),
];

/// Reads `[wanted]`; wishes in the order of [`WANTED`].
pub(super) fn read(mut table: Section<'_, '_>) -> Vec<Wish> {
    MEANT
        .iter()
        .filter_map(|(key, meant)| wish(&mut table, key, meant))
        .collect()
}

fn wish(table: &mut Section<'_, '_>, key: &'static str, meant: &[(&'static str, Dimension)]) -> Option<Wish> {
    let text = table.text(key, "1 %")?;
    let (first, dimension) = meant.first()?;
    let share = parse(&text, Dimension::Fraction).ok().filter(|s| s.unit == "%");
    let absolute = || {
        meant
            .iter()
            .find_map(|(quantity, dimension)| Some((*quantity, parse(&text, *dimension).ok()?)))
    };
    let found = match share {
        Some(stated) => Some((*first, Goal::Share(stated.value), stated)),
        None => absolute().map(|(quantity, stated)| (quantity, Goal::Absolute(stated.value), stated)),
    };
    let due = format!(
        "the standard uncertainty that is wanted, a share of the value such as \"1 %\", or a {}",
        dimension.name()
    );
    match found {
        Some((quantity, goal, stated)) if stated.value > 0.0 && stated.standard_uncertainty.is_none() => {
            Some(Wish { key, quantity, goal })
        }
        Some(_) => {
            table.fault(
                key,
                &format!("\"{text}\""),
                &format!("{due}, above zero and without +-"),
            );
            None
        }
        None => {
            table.fault(key, &format!("\"{text}\""), &due);
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::experiment::file::Experiment;

    fn wanted(lines: &str) -> Result<Vec<Wish>, String> {
        let text = format!("format = 1\nkind = \"release\"\n[wanted]\n{lines}");
        Experiment::parse(&text, "x")
            .map(|experiment| experiment.wanted)
            .map_err(|faults| faults.to_string())
    }

    #[test]
    fn a_share_and_an_uncertainty_in_its_unit_are_read() {
        let all =
            wanted("viscosity = \"0.02 mm^2/s\"\nsurface_tension = \"1 %\"\nradius = \"5 um\"\n").unwrap();
        let quantities: Vec<&str> = all.iter().map(|wish| wish.quantity).collect();
        assert_eq!(
            quantities,
            ["surface_tension", "kinematic_viscosity", "equivalent_radius"]
        );
        assert!((all[0].uncertainty(0.07) - 7e-4).abs() < 1e-15);
        assert!((all[1].uncertainty(1e-6) - 2e-8).abs() < 1e-20);
        assert!((all[2].uncertainty(0.012) - 5e-6).abs() < 1e-18);
        let dynamic = wanted("viscosity = \"2 %\"\n").unwrap();
        assert_eq!(dynamic[0].quantity, "dynamic_viscosity");
        assert!(wanted("").unwrap().is_empty());
    }

    #[test]
    fn what_cannot_be_wanted_is_refused_with_a_hint() {
        let unknown = wanted("surface_tensoin = \"1 %\"\n").unwrap_err();
        assert!(unknown.contains("`surface_tension`"), "{unknown}");
        for (line, hint) in [
            ("surface_tension = \"0.01\"", "such as \"1 %\""),
            ("surface_tension = \"3 mm\"", "or a surface tension"),
            ("radius = \"0 %\"", "above zero"),
            ("radius = \"-1 %\"", "above zero"),
            ("surface_tension = \"0.5 +- 0.1 mN/m\"", "without +-"),
            ("viscosity = 3", "text"),
        ] {
            let refused = wanted(line).unwrap_err();
            assert!(
                refused.contains("wanted.") && refused.contains(hint),
                "{line}: {refused}"
            );
        }
    }
}
