//! A tidy table: named columns with units, all of one length; and its text form, CSV.
//!
//! A real that is not known is NaN in a table and an empty cell in CSV. CSV follows \[RFC4180\]: commas, CRLF, quotes
//! doubled; the first row names the columns, `time [s]`, without a bracket for the unit 1. It computes nothing.

/// Bytes of text that are handed on together.
const TEXT: usize = 1 << 18;

/// The values of one column.
#[derive(Debug, Clone, PartialEq)]
pub enum Data {
    /// Real numbers; NaN where unknown.
    Real(Vec<f64>),
    /// Whole numbers.
    Integer(Vec<i64>),
    /// Texts.
    Text(Vec<String>),
    /// Yes or no.
    Flag(Vec<bool>),
}

impl Data {
    /// Number of values.
    pub fn len(&self) -> usize {
        match self {
            Data::Real(values) => values.len(),
            Data::Integer(values) => values.len(),
            Data::Text(values) => values.len(),
            Data::Flag(values) => values.len(),
        }
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// No values of the same kind.
    fn emptied(&self) -> Data {
        match self {
            Data::Real(_) => Data::Real(Vec::new()),
            Data::Integer(_) => Data::Integer(Vec::new()),
            Data::Text(_) => Data::Text(Vec::new()),
            Data::Flag(_) => Data::Flag(Vec::new()),
        }
    }

    fn cell(&self, row: usize) -> String {
        match self {
            Data::Real(values) => real(values[row]),
            Data::Integer(values) => values[row].to_string(),
            Data::Text(values) => quoted(&values[row]),
            Data::Flag(values) => values[row].to_string(),
        }
    }
}

/// One column.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Lower_snake name, e.g. `time`.
    pub name: String,
    /// SI unit, `1` for none.
    pub unit: String,
    /// What it is, in a sentence.
    pub description: String,
    /// The values.
    pub data: Data,
}

impl Column {
    /// A column.
    pub fn new(name: &str, unit: &str, description: &str, data: Data) -> Self {
        Self {
            name: name.to_owned(),
            unit: unit.to_owned(),
            description: description.to_owned(),
            data,
        }
    }
}

/// Why columns make no table.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ShapeError {
    /// No columns.
    #[error("the table {table} has no columns, expected one or more")]
    NoColumns {
        /// Name of the table.
        table: String,
    },
    /// Columns of different length.
    #[error(
        "column {column} of the table {table} has {found} rows, expected {expected} as in the first column"
    )]
    Ragged {
        /// Name of the table.
        table: String,
        /// Name of the column.
        column: String,
        /// Its rows.
        found: usize,
        /// Rows of the first column.
        expected: usize,
    },
    /// Two columns of one name, or one without.
    #[error("the table {table} has the column name \"{column}\" twice or empty, expected names that differ")]
    Name {
        /// Name of the table.
        table: String,
        /// The name.
        column: String,
    },
}

/// A table.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Lower_snake name, e.g. `modes`.
    pub name: String,
    /// What it holds, in a sentence.
    pub description: String,
    /// The columns, in order.
    pub columns: Vec<Column>,
}

impl Table {
    /// Number of rows, that of the first column.
    pub fn rows(&self) -> usize {
        self.columns.first().map_or(0, |column| column.data.len())
    }

    /// The column of that name.
    pub fn column(&self, name: &str) -> Option<&Column> {
        self.columns.iter().find(|column| column.name == name)
    }

    /// The real column of that name.
    pub fn reals(&self, name: &str) -> Option<&[f64]> {
        match &self.column(name)?.data {
            Data::Real(values) => Some(values),
            _ => None,
        }
    }

    /// The whole-number column of that name.
    pub fn integers(&self, name: &str) -> Option<&[i64]> {
        match &self.column(name)?.data {
            Data::Integer(values) => Some(values),
            _ => None,
        }
    }

    /// The yes-or-no column of that name.
    pub fn flags(&self, name: &str) -> Option<&[bool]> {
        match &self.column(name)?.data {
            Data::Flag(values) => Some(values),
            _ => None,
        }
    }

    /// The text column of that name.
    pub fn texts(&self, name: &str) -> Option<&[String]> {
        match &self.column(name)?.data {
            Data::Text(values) => Some(values),
            _ => None,
        }
    }

    /// The same columns without rows.
    pub fn emptied(&self) -> Table {
        let columns = self.columns.iter().map(|column| Column {
            data: column.data.emptied(),
            ..column.clone()
        });
        Table {
            name: self.name.clone(),
            description: self.description.clone(),
            columns: columns.collect(),
        }
    }

    /// Whether the columns make a table: one or more, of one length, with names that differ.
    ///
    /// # Errors
    /// What is wrong with the first column that does not fit.
    pub fn check(&self) -> Result<(), ShapeError> {
        let table = || self.name.clone();
        if self.columns.is_empty() {
            return Err(ShapeError::NoColumns { table: table() });
        }
        for (i, column) in self.columns.iter().enumerate() {
            let name = column.name.clone();
            if name.is_empty() || self.columns[..i].iter().any(|other| other.name == name) {
                return Err(ShapeError::Name {
                    table: table(),
                    column: name,
                });
            }
            let (found, expected) = (column.data.len(), self.rows());
            if found != expected {
                return Err(ShapeError::Ragged {
                    table: table(),
                    column: name,
                    found,
                    expected,
                });
            }
        }
        Ok(())
    }

    /// The table as CSV.
    ///
    /// # Errors
    /// Columns that make no table.
    pub fn to_csv(&self) -> Result<String, ShapeError> {
        let mut text = String::new();
        self.csv_in_pieces(true, |piece| -> Result<(), ShapeError> {
            text += piece;
            Ok(())
        })?;
        Ok(text)
    }

    /// The same text handed on piece by piece, for a long table; `headed` by the names of the columns or not.
    ///
    /// # Errors
    /// Columns that make no table; what `add` gives.
    pub fn csv_in_pieces<E: From<ShapeError>>(
        &self,
        headed: bool,
        mut add: impl FnMut(&str) -> Result<(), E>,
    ) -> Result<(), E> {
        self.check()?;
        let head = self.columns.iter().map(|column| match column.unit.as_str() {
            "1" | "" => quoted(&column.name),
            unit => quoted(&format!("{} [{unit}]", column.name)),
        });
        let mut text = String::new();
        if headed {
            text = head.collect::<Vec<_>>().join(",") + "\r\n";
        }
        for row in 0..self.rows() {
            let cells = self.columns.iter().map(|column| column.data.cell(row));
            text += &cells.collect::<Vec<_>>().join(",");
            text += "\r\n";
            if text.len() > TEXT {
                add(&text)?;
                text.clear();
            }
        }
        add(&text)
    }

    /// Some of the rows as a table of their own.
    #[must_use]
    pub fn piece(&self, rows: std::ops::Range<usize>) -> Self {
        let part = |column: &Column| Column {
            data: match &column.data {
                Data::Real(values) => Data::Real(values[rows.clone()].to_vec()),
                Data::Integer(values) => Data::Integer(values[rows.clone()].to_vec()),
                Data::Text(values) => Data::Text(values[rows.clone()].to_vec()),
                Data::Flag(values) => Data::Flag(values[rows.clone()].to_vec()),
            },
            ..column.clone()
        };
        Self {
            name: self.name.clone(),
            description: self.description.clone(),
            columns: self.columns.iter().map(part).collect(),
        }
    }
}

/// The shortest text that reads back as the same number.
fn real(value: f64) -> String {
    if value.is_nan() {
        String::new()
    } else if value == 0.0 || !value.is_finite() || (1e-4..1e15).contains(&value.abs()) {
        value.to_string()
    } else {
        format!("{value:e}")
    }
}

fn quoted(text: &str) -> String {
    if text.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::{Column, Data, ShapeError, Table};

    fn table() -> Table {
        Table {
            name: "modes".into(),
            description: "one row a frame".into(),
            columns: vec![
                Column::new("time", "s", "real time", Data::Real(vec![0.1, f64::NAN, -2.5e-9])),
                Column::new("frame", "1", "", Data::Integer(vec![-1, 0, i64::MAX])),
                Column::new(
                    "note",
                    "1",
                    "",
                    Data::Text(vec!["a, \"b\"".into(), "ä".into(), String::new()]),
                ),
                Column::new("free", "1", "", Data::Flag(vec![true, false, true])),
            ],
        }
    }

    #[test]
    fn csv_as_the_standard_has_it() {
        assert_eq!(
            table().to_csv().unwrap(),
            "time [s],frame,note,free\r\n0.1,-1,\"a, \"\"b\"\"\",true\r\n,0,ä,false\r\n\
             -2.5e-9,9223372036854775807,,true\r\n"
        );
    }

    #[test]
    fn pieces_make_up_the_whole() {
        let long = Table {
            name: "long".into(),
            description: String::new(),
            columns: vec![Column::new(
                "x",
                "m",
                "",
                Data::Real((0..80_000).map(f64::from).collect()),
            )],
        };
        let (mut text, mut pieces) = (String::new(), 0);
        let told: Result<(), ShapeError> = long.csv_in_pieces(true, |piece| {
            text += piece;
            pieces += 1;
            Ok(())
        });
        assert!(told.is_ok() && pieces == 3, "{pieces} pieces");
        assert!(text == long.to_csv().unwrap() && text.ends_with("\r\n79999\r\n"));
        let mut bare = String::new();
        let told: Result<(), ShapeError> = table().csv_in_pieces(false, |piece| {
            bare += piece;
            Ok(())
        });
        let whole = table().to_csv().unwrap();
        assert!(
            told.is_ok() && whole == format!("time [s],frame,note,free\r\n{bare}"),
            "{bare}"
        );
        let some = table().piece(1..3);
        assert_eq!(
            (some.rows(), some.integers("frame").unwrap()),
            (2, &[0, i64::MAX][..])
        );
        assert_eq!(some.flags("free").unwrap(), &table().flags("free").unwrap()[1..]);
        assert_eq!(some.texts("note").unwrap(), &table().texts("note").unwrap()[1..]);
    }

    #[test]
    fn columns_that_make_no_table_are_refused() {
        let mut ragged = table();
        ragged.columns[1].data = Data::Integer(vec![1]);
        assert!(matches!(
            ragged.check(),
            Err(ShapeError::Ragged {
                found: 1,
                expected: 3,
                ..
            })
        ));
        let mut twice = table();
        twice.columns[1].name = "time".into();
        assert!(matches!(twice.to_csv(), Err(ShapeError::Name { .. })));
        let mut none = table();
        none.columns.clear();
        assert!(matches!(none.check(), Err(ShapeError::NoColumns { .. })));
        assert_eq!(table().emptied().rows(), 0);
        assert_eq!(
            (table().integers("frame").unwrap().len(), table().reals("frame")),
            (3, None)
        );
        assert_eq!(table().flags("free").unwrap(), [true, false, true]);
        assert_eq!(table().texts("note").unwrap()[1], "ä");
        assert_eq!(table().texts("free"), None);
    }
}
