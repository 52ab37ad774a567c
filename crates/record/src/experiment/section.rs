//! One table of the file that is being read: its quantities, words and tables within, each checked where it stands.
//!
//! What is wrong goes to the [`Reader`] and reads as absent, so that the rest is still looked at. Frames and positions
//! are read in [`crate::experiment::numbers`]. It does not know which keys a table has.

use crate::experiment::reader::{Reader, full};
use std::path::PathBuf;
use toml::de::{DeTable, DeValue};
use tremolet_matter::quantity::dimension::Dimension;
use tremolet_matter::quantity::parse::Stated;
use tremolet_matter::uncertain::Uncertain;

/// What a number must satisfy, in SI units.
#[derive(Debug, Clone, Copy)]
pub enum Bound {
    /// Nothing.
    Any,
    /// More than zero.
    Positive,
    /// Zero or more.
    NotNegative,
    /// Between two ends (SI), and how to say so.
    Between(f64, f64, &'static str),
}

impl Bound {
    /// What is due, when `value` does not satisfy it.
    fn broken_by(self, value: f64) -> Option<&'static str> {
        let (holds, due) = match self {
            Bound::Any => (true, ""),
            Bound::Positive => (value > 0.0, "a value above zero"),
            Bound::NotNegative => (value >= 0.0, "zero or more"),
            Bound::Between(low, high, due) => ((low..=high).contains(&value), due),
        };
        (!holds).then_some(due)
    }
}

/// One table with its name and the reader that gathers faults.
pub struct Section<'r, 't> {
    pub(super) reader: &'r mut Reader<'t>,
    pub(super) table: &'r DeTable<'t>,
    name: String,
    start: usize,
}

impl<'r, 't> Section<'r, 't> {
    /// Opens a table; every key not in `known` is a fault.
    pub fn open(reader: &'r mut Reader<'t>, table: &'r DeTable<'t>, name: &str, known: &[&str]) -> Self {
        reader.refuse_unknown(table, name, known);
        Self {
            reader,
            table,
            name: name.to_owned(),
            start: 0,
        }
    }

    /// The table at `key`.
    pub fn section(&mut self, key: &str, known: &[&str]) -> Option<Section<'_, 't>> {
        let value = self.table.get(key)?;
        let name = full(&self.name, key);
        let DeValue::Table(inner) = value.get_ref() else {
            let found = self.kind(key);
            self.fault(key, &found, &format!("a table, [{name}]"));
            return None;
        };
        let mut section = Section::open(self.reader, inner, &name, known);
        section.start = value.span().start;
        Some(section)
    }

    /// Reads each table of the list `[[key]]`; those that `read` refuses are left out.
    pub fn sections<T>(
        &mut self,
        key: &str,
        known: &[&str],
        mut read: impl FnMut(&mut Section<'_, 't>) -> Option<T>,
    ) -> Vec<T> {
        let name = full(&self.name, key);
        let mut found = Vec::new();
        let list = match self.table.get(key).map(|value| value.get_ref()) {
            None => return found,
            Some(DeValue::Array(list)) => list,
            Some(_) => {
                let other = self.kind(key);
                self.fault(
                    key,
                    &other,
                    &format!("a list of tables, each begun by [[{name}]]"),
                );
                return found;
            }
        };
        for item in list.iter() {
            match item.get_ref() {
                DeValue::Table(inner) => {
                    let mut section = Section::open(self.reader, inner, &name, known);
                    section.start = item.span().start;
                    found.extend(read(&mut section));
                }
                other => {
                    let found = format!("a {} in a list of tables", other.type_str());
                    let expected = format!("a table begun by [[{name}]]");
                    self.reader.fault(item.span().start, &name, &found, &expected);
                }
            }
        }
        found
    }

    /// Notes a fault at the value of `key`; without the key, at the start of the file.
    pub fn fault(&mut self, key: &str, found: &str, expected: &str) {
        let at = self.table.get(key).map_or(0, |value| value.span().start);
        self.reader.fault(at, &full(&self.name, key), found, expected);
    }

    /// Notes a fault of the table itself, where it begins.
    pub fn fault_of_table(&mut self, found: &str, expected: &str) {
        let name = self.name.clone();
        self.reader.fault(self.start, &name, found, expected);
    }

    /// Whether the key is there, right or wrong.
    pub fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// What stands at `key`, in words.
    pub fn kind(&self, key: &str) -> String {
        let kind = self.table.get(key).map(|value| value.get_ref().type_str());
        kind.map_or("nothing".to_owned(), |kind| format!("a bare {kind}"))
    }

    /// The quantity at `key`, taken as exact when no uncertainty is stated.
    pub fn quantity(&mut self, key: &str, dimension: Dimension, bound: Bound) -> Option<Uncertain> {
        let input = full(&self.name, key);
        let stated = self.stated(key, dimension, bound)?;
        Some(stated.uncertain(&input, &format!("stated in {}", self.reader.file())))
    }

    /// The quantity at `key`; noted when no uncertainty is stated. The input is called after the key, with the name of
    /// the calibration in brackets if runs share it.
    pub fn measured(
        &mut self,
        key: &str,
        dimension: Dimension,
        bound: Bound,
        shared: Option<&str>,
    ) -> Option<Uncertain> {
        let name = full(&self.name, key);
        let stated = self.stated(key, dimension, bound)?;
        if stated.standard_uncertainty.unwrap_or(0.0) == 0.0 {
            self.reader.exact.push(name.clone());
        }
        let input = shared.map_or(name.clone(), |calibration| format!("{name} [{calibration}]"));
        Some(stated.uncertain(&input, &format!("stated in {}", self.reader.file())))
    }

    fn stated(&mut self, key: &str, dimension: Dimension, bound: Bound) -> Option<Stated> {
        let name = self.name.clone();
        let stated = self.reader.quantity(self.table, &name, key, dimension)?;
        if let Some(due) = bound.broken_by(stated.value) {
            self.fault(
                key,
                &format!("\"{}\"", stated.text),
                &format!("{due}, e.g. \"{}\"", dimension.example()),
            );
            return None;
        }
        Some(stated)
    }

    /// The text at `key`, without the blanks around it; empty text is a fault.
    pub fn text(&mut self, key: &str, example: &str) -> Option<String> {
        let value = self.table.get(key)?;
        let expected = format!("text, e.g. \"{example}\"");
        match value.get_ref() {
            DeValue::String(text) if !text.trim().is_empty() => Some(text.trim().to_owned()),
            DeValue::String(_) => {
                self.fault(key, "empty text", &expected);
                None
            }
            _ => {
                let found = self.kind(key);
                self.fault(key, &found, &expected);
                None
            }
        }
    }

    /// The path at `key`, as written.
    pub fn path(&mut self, key: &str, example: &str) -> Option<PathBuf> {
        self.text(key, example).map(PathBuf::from)
    }

    /// The word at `key`, one of `words`.
    pub fn word<T: Copy>(&mut self, key: &str, words: &[(&str, T)]) -> Option<T> {
        let word = self.text(key, words.first()?.0)?;
        let meant = words.iter().find(|(name, _)| *name == word);
        if meant.is_none() {
            self.fault(key, &format!("\"{word}\""), &one_of(words));
        }
        meant.map(|(_, meaning)| *meaning)
    }

    /// The list of words at `key`, each one of `words`.
    pub fn words<T: Copy>(&mut self, key: &str, words: &[(&str, T)]) -> Option<Vec<T>> {
        let value = self.table.get(key)?;
        let DeValue::Array(list) = value.get_ref() else {
            let found = self.kind(key);
            self.fault(key, &found, &format!("a list in [ ] of {}", one_of(words)));
            return None;
        };
        let mut meant = Vec::new();
        for item in list.iter() {
            let word = item.get_ref().as_str().unwrap_or("");
            match words.iter().find(|(name, _)| *name == word) {
                Some((_, meaning)) => meant.push(*meaning),
                None => {
                    let found = match item.get_ref().as_str() {
                        Some(word) => format!("\"{word}\""),
                        None => format!("a bare {}", item.get_ref().type_str()),
                    };
                    let name = full(&self.name, key);
                    self.reader
                        .fault(item.span().start, &name, &found, &one_of(words));
                }
            }
        }
        Some(meant)
    }
}

fn one_of<T>(words: &[(&str, T)]) -> String {
    let quoted: Vec<String> = words.iter().map(|(name, _)| format!("\"{name}\"")).collect();
    format!("one of {}", quoted.join(", "))
}
