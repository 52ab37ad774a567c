//! The findings of a run for a reader: each number as a sentence, with what its uncertainty rests on and the method behind it.
//!
//! Sentences, formulas and methods are those of the report. Nothing is computed here.

use std::path::Path;

use serde::Serialize;
use tremolet_record::findings::{BudgetLine, Caution, Estimate, Findings, Mode, Note, Quantity, Reference};
use tremolet_record::store::entries;
use tremolet_record::table::Table;
use tremolet_report::document::formula;
use tremolet_report::document::results::in_order;
use tremolet_report::document::sentence::about;
use tremolet_report::input::{FileRow, Method, Row};
use tremolet_report::number::shown;
use tremolet_report::text::words;

use crate::error::StudyError;
use crate::fit::told::ROUTE;
use crate::methods::FITTED;
use crate::recorded;
use crate::tables::{read_if_there, told};

/// One number with all that stands behind it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Number {
    /// Its key, e.g. `surface_tension`.
    pub key: String,
    /// In words.
    pub name: String,
    /// Which body.
    pub body: u32,
    /// The number with its uncertainty and unit.
    pub text: String,
    /// The sentence.
    pub sentence: String,
    /// By which way.
    pub route: String,
    /// Where the uncertainty comes from, largest share first.
    pub budget: Vec<BudgetLine>,
    /// What was taken for granted.
    pub assumptions: Vec<String>,
    /// What somebody else says.
    pub reference: Option<Reference>,
    /// Methods behind it, as places in the list of methods.
    pub methods: Vec<usize>,
}

/// A mode for a reader.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ModeRow {
    /// Which body.
    pub body: u32,
    /// Degree.
    pub degree: u32,
    /// Frequency, decay rate and amplitude as texts.
    pub frequency: String,
    /// Decay rate.
    pub decay_rate: String,
    /// Amplitude at the start.
    pub amplitude: String,
}

/// A method with its formulas as HTML.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct How {
    /// Its name.
    pub name: String,
    /// In plain words.
    pub text: Vec<String>,
    /// Formulas: HTML of `var`, `sub` and `sup` alone, all else escaped.
    pub formulas: Vec<String>,
    /// Symbols: sign as HTML, meaning, unit.
    pub symbols: Vec<[String; 3]>,
    /// Sources.
    pub sources: Vec<String>,
}

/// A table of a run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TableFile {
    /// Its name.
    pub name: String,
    /// Whether it lies in `tables/` as CSV too.
    pub csv: bool,
}

/// A run for a reader.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Understood {
    /// Title of the experiment.
    pub title: String,
    /// What was looked at, in a sentence.
    pub summary: String,
    /// Whether its motion was computed and not filmed.
    pub simulated: bool,
    /// The numbers, properties of the liquid first.
    pub numbers: Vec<Number>,
    /// The modes.
    pub modes: Vec<ModeRow>,
    /// Why there is less than hoped for, and what to bear in mind.
    pub cautions: Vec<Caution>,
    /// What was drawn, decided and checked by hand.
    pub notes: Vec<Note>,
    /// What is known of the experiment: label and text.
    pub experiment: Vec<[String; 2]>,
    /// What was taken for granted.
    pub assumptions: Vec<String>,
    /// How the numbers were found.
    pub methods: Vec<How>,
    /// Files of the run: path and what it holds.
    pub files: Vec<[String; 2]>,
    /// Names of the figures, in `figures/`.
    pub figures: Vec<String>,
    /// Names of the tables: `series/NAME.parquet`, and where it is short enough `tables/NAME.csv`.
    pub tables: Vec<TableFile>,
    /// Where it comes from: label and text.
    pub origin: Vec<[String; 2]>,
}

fn rows(rows: Vec<Row>) -> Vec<[String; 2]> {
    rows.into_iter().map(|row| [row.label, row.value]).collect()
}

/// Reads a run for a reader.
///
/// # Errors
/// When the folder lacks a file or one is damaged.
pub fn understood(run: &Path) -> Result<Understood, StudyError> {
    let findings = recorded::findings(run)?;
    let facts = read_if_there(run, "facts")?;
    let says = |part| -> Result<Vec<String>, StudyError> {
        let rows = facts_of(facts.as_ref(), part)?;
        Ok(rows.into_iter().map(|row| row.value).collect())
    };
    let provenance = recorded::provenance(run)?;
    let methods = recorded::methods_of(run, &provenance, &findings)?;
    let file = |row: FileRow| [row.path, row.what];
    Ok(Understood {
        title: recorded::title(run)?,
        summary: says(told::SUMMARY)?.join(" "),
        simulated: recorded::is_simulated(&provenance),
        numbers: numbers(&findings, &methods),
        modes: findings.modes.iter().map(mode).collect(),
        experiment: rows(facts_of(facts.as_ref(), told::EXPERIMENT)?),
        assumptions: says(told::ASSUMPTION)?,
        methods: methods.iter().map(how).collect(),
        files: recorded::files(run).into_iter().map(file).collect(),
        figures: names(&run.join("figures"), "svg"),
        tables: tables(run),
        origin: rows(recorded::origin(&provenance, &findings)),
        cautions: findings.cautions,
        notes: findings.notes,
    })
}

/// Names of files of an ending, without it.
fn names(folder: &Path, ending: &str) -> Vec<String> {
    let files = entries(folder).into_iter();
    let of = files.filter(|path| path.extension().is_some_and(|found| found == ending));
    of.filter_map(|path| Some(path.file_stem()?.to_string_lossy().into_owned()))
        .collect()
}

fn tables(run: &Path) -> Vec<TableFile> {
    let short = names(&run.join("tables"), "csv");
    let one = |name: String| TableFile {
        csv: short.contains(&name),
        name,
    };
    names(&run.join("series"), "parquet")
        .into_iter()
        .map(one)
        .collect()
}

/// Facts of a run; none where the run tells none.
fn facts_of(facts: Option<&Table>, part: &str) -> Result<Vec<Row>, StudyError> {
    facts.map_or(Ok(Vec::new()), |facts| told::facts_of(facts, part))
}

fn numbers(findings: &Findings, methods: &[Method]) -> Vec<Number> {
    let several = findings.estimates.iter().any(|e| e.body > 1);
    let one = |e: &Estimate| Number {
        key: e.quantity.clone(),
        name: words(&e.quantity),
        body: e.body,
        text: shown(e.value, Some(e.standard_uncertainty), &e.unit).text(),
        sentence: about(e, several),
        route: e.route.clone(),
        budget: e.budget.clone(),
        assumptions: e.assumptions.clone(),
        reference: e.reference.clone(),
        methods: behind(&e.quantity, &e.route, methods),
    };
    in_order(&findings.estimates).into_iter().map(one).collect()
}

/// The methods behind a quantity, by their names.
fn behind(quantity: &str, route: &str, methods: &[Method]) -> Vec<usize> {
    let names: &[&str] = match quantity {
        _ if route == ROUTE => &[FITTED, "Outline, size and shape", "Uncertainty"],
        "surface_tension" | "kinematic_viscosity" | "dynamic_viscosity" | "effective_damping" => &[
            "Surface tension and viscosity",
            "Frequencies and decay rates",
            "Uncertainty",
        ],
        "equivalent_radius" | "volume" => &["Outline, size and shape", "Uncertainty"],
        _ => &["Outline, size and shape", "Clip and accelerometer", "Uncertainty"],
    };
    let place = |name: &&str| methods.iter().position(|method| method.name == **name);
    names.iter().filter_map(place).collect()
}

fn mode(mode: &Mode) -> ModeRow {
    let said = |q: &Quantity| shown(q.value, q.standard_uncertainty, &q.unit).text();
    ModeRow {
        body: mode.body,
        degree: mode.degree,
        frequency: said(&mode.frequency),
        decay_rate: said(&mode.decay_rate),
        amplitude: said(&mode.amplitude),
    }
}

fn how(method: &Method) -> How {
    let symbol =
        |s: &tremolet_report::input::Symbol| [formula::html(&s.symbol), s.meaning.clone(), s.unit.clone()];
    How {
        name: method.name.clone(),
        text: method.text.clone(),
        formulas: method.formulas.iter().map(|f| formula::html(f)).collect(),
        symbols: method.symbols.iter().map(symbol).collect(),
        sources: method.sources.clone(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::methods::{fitted, methods};

    #[test]
    fn every_quantity_has_a_method_that_is_there() {
        let all = methods(true, true);
        for quantity in [
            "surface_tension",
            "kinematic_viscosity",
            "volume",
            "residual_acceleration_right",
        ] {
            assert!(behind(quantity, "mode 2", &all).len() >= 2, "{quantity}");
        }
        let named = behind("surface_tension", "mode 2", &all);
        assert_eq!(all[named[0]].name, "Surface tension and viscosity");
        let with_fit: Vec<Method> = all.into_iter().chain([fitted()]).collect();
        let named = behind("surface_tension", ROUTE, &with_fit);
        assert_eq!(with_fit[named[0]].name, FITTED);
    }
}
