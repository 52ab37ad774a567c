//! Reads one table of an experiment file key by key and gathers everything that is wrong, each with its place.
//!
//! Unknown keys name the nearest known one. A bare number where a unit is due is refused. It does not know which tables
//! and keys an experiment has.

use crate::experiment::faults::Fault;
use toml::Spanned;
use toml::de::{DeTable, DeValue};
use tremolet_matter::quantity::dimension::Dimension;
use tremolet_matter::quantity::parse::{Stated, parse};

/// A text with its name and the faults found in it so far.
#[derive(Debug)]
pub struct Reader<'t> {
    file: &'t str,
    text: &'t str,
    /// Everything wrong so far, in the order of reading.
    pub faults: Vec<Fault>,
    /// Measured quantities that were stated without an uncertainty, with their tables.
    pub exact: Vec<String>,
}

impl<'t> Reader<'t> {
    /// Starts on a text; `file` is its name in messages.
    pub fn new(file: &'t str, text: &'t str) -> Self {
        Self {
            file,
            text,
            faults: Vec::new(),
            exact: Vec::new(),
        }
    }

    /// Name of the file.
    pub fn file(&self) -> &'t str {
        self.file
    }

    /// The top table; what is not TOML is a fault, and the rest is still read.
    pub fn document(&mut self) -> Spanned<DeTable<'t>> {
        let (table, errors) = DeTable::parse_recoverable(self.text);
        for error in errors {
            let at = error.span().map_or(0, |span| span.start);
            self.fault(at, "(file)", error.message(), "TOML, e.g. title = \"Run 7\"");
        }
        table
    }

    /// Notes a fault at a byte of the text.
    pub fn fault(&mut self, at: usize, key: &str, found: &str, expected: &str) {
        let before = self.text.get(..at).unwrap_or(self.text);
        let start = before.rfind('\n').map_or(0, |newline| newline + 1);
        self.faults.push(Fault {
            file: self.file.to_owned(),
            line: before.matches('\n').count() + 1,
            column: before[start..].chars().count() + 1,
            key: key.to_owned(),
            found: found.to_owned(),
            expected: expected.to_owned(),
        });
    }

    /// Notes every key of the table `name` that is not in `known`.
    pub fn refuse_unknown(&mut self, table: &DeTable<'_>, name: &str, known: &[&str]) {
        for key in table.keys() {
            let word = key.get_ref().as_ref();
            if !known.contains(&word) {
                let list = known.join(", ");
                let expected = match nearest(word, known) {
                    Some(near) => format!("`{near}`, the nearest known key, or one of: {list}"),
                    None => format!("one of: {list}"),
                };
                self.fault(key.span().start, &full(name, word), "an unknown key", &expected);
            }
        }
    }

    /// The quantity at `key`, if there is one and it is right.
    pub fn quantity(
        &mut self,
        table: &DeTable<'_>,
        name: &str,
        key: &str,
        dimension: Dimension,
    ) -> Option<Stated> {
        let value = table.get(key)?;
        let expected = format!(
            "a {} as text with its unit, e.g. \"{}\"",
            dimension.name(),
            dimension.example()
        );
        let DeValue::String(text) = value.get_ref() else {
            let found = format!("a bare {}", value.get_ref().type_str());
            self.fault(value.span().start, &full(name, key), &found, &expected);
            return None;
        };
        match parse(text, dimension) {
            Ok(stated) => Some(stated),
            Err(error) => {
                self.fault(
                    value.span().start,
                    &full(name, key),
                    &format!("\"{text}\": {}", error.problem),
                    &expected,
                );
                None
            }
        }
    }
}

/// Name of a key with its table, `camera.scale`.
pub fn full(table: &str, key: &str) -> String {
    if table.is_empty() {
        key.to_owned()
    } else {
        format!("{table}.{key}")
    }
}

/// The known word most like `word`, if it is so near that a slip of the keyboard explains the difference.
fn nearest<'k>(word: &str, known: &[&'k str]) -> Option<&'k str> {
    let most = (word.chars().count() / 3).max(1);
    let apart = known.iter().map(|other| (distance(word, other), *other));
    let (letters, near) = apart.min_by_key(|(letters, _)| *letters)?;
    (letters <= most).then_some(near)
}

/// Number of letters to insert, remove or change to make `b` of `a`.
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, letter) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for j in 0..b.len() {
            let changed = diagonal + usize::from(letter != b[j]);
            diagonal = row[j + 1];
            row[j + 1] = changed.min(diagonal + 1).min(row[j] + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::{Dimension, Reader, distance, nearest};
    use proptest::prelude::*;

    #[test]
    fn all_faults_are_gathered_with_their_places() {
        let text = "x = 1\ndiamter = \"24 mm\"\n\"ä\" = 24\n";
        let mut reader = Reader::new("run 7.toml", text);
        let table = reader.document().into_inner();
        reader.refuse_unknown(&table, "body", &["diameter", "volume", "ä", "x"]);
        assert!(reader.quantity(&table, "body", "ä", Dimension::Length).is_none());
        assert_eq!(reader.faults.len(), 2);
        assert_eq!((reader.faults[0].line, reader.faults[0].column), (2, 1));
        assert!(reader.faults[0].expected.starts_with("`diameter`"));
        assert_eq!((reader.faults[1].line, reader.faults[1].column), (3, 7));
        assert!(
            reader.faults[1]
                .to_string()
                .starts_with("run 7.toml:3:7: body.ä\n  found a bare integer")
        );
    }

    #[test]
    fn only_a_near_key_is_named() {
        let known = ["diameter", "volume", "mass"];
        assert_eq!(nearest("diamter", &known), Some("diameter"));
        assert_eq!(nearest("radius", &known), None);
        assert_eq!(nearest("x", &[]), None);
    }

    #[test]
    fn letters_apart() {
        assert_eq!(distance("kitten", "sitting"), 3);
        assert_eq!(distance("", "abc"), 3);
    }

    proptest! {
        #[test]
        fn no_text_makes_it_panic(text in "(\\PC|\n|[\\[\\]=\".a-c0-9])*") {
            let mut reader = Reader::new("x", &text);
            let table = reader.document().into_inner();
            reader.refuse_unknown(&table, "", &["a"]);
            reader.quantity(&table, "", "a", Dimension::Length);
        }
    }
}
