//! Columns of each kind, made and read back; a column that a table lacks is an error that names the file.

use tremolet_record::table::{Column, Data, Table};

use crate::error::StudyError;

/// A column of real numbers.
pub fn real(name: &str, unit: &str, what: &str, values: Vec<f64>) -> Column {
    Column::new(name, unit, what, Data::Real(values))
}

/// A column of whole numbers.
pub fn integer(name: &str, what: &str, values: Vec<i64>) -> Column {
    Column::new(name, "1", what, Data::Integer(values))
}

/// A column of texts.
pub fn text(name: &str, what: &str, values: Vec<String>) -> Column {
    Column::new(name, "1", what, Data::Text(values))
}

fn lacking(table: &Table, column: &str) -> StudyError {
    StudyError::Run {
        file: format!("series/{}.parquet", table.name),
        why: format!("it has no column {column} of the right kind"),
    }
}

/// The real column of that name.
///
/// # Errors
/// When the table has none.
pub fn reals<'t>(table: &'t Table, name: &str) -> Result<&'t [f64], StudyError> {
    table.reals(name).ok_or_else(|| lacking(table, name))
}

/// The whole-number column of that name.
///
/// # Errors
/// When the table has none.
pub fn integers<'t>(table: &'t Table, name: &str) -> Result<&'t [i64], StudyError> {
    table.integers(name).ok_or_else(|| lacking(table, name))
}

/// The text column of that name.
///
/// # Errors
/// When the table has none.
pub fn texts<'t>(table: &'t Table, name: &str) -> Result<&'t [String], StudyError> {
    table.texts(name).ok_or_else(|| lacking(table, name))
}

/// The yes-or-no column of that name.
///
/// # Errors
/// When the table has none.
pub fn flags<'t>(table: &'t Table, name: &str) -> Result<&'t [bool], StudyError> {
    table.flags(name).ok_or_else(|| lacking(table, name))
}

/// The number of a body or degree; what is none becomes 0, which no body has.
pub fn count(value: i64) -> u32 {
    u32::try_from(value).unwrap_or(0)
}

/// The rows of each run of equal keys in the given columns, in order.
pub fn groups(keys: &[&[i64]]) -> Vec<std::ops::Range<usize>> {
    let rows = keys.iter().map(|key| key.len()).min().unwrap_or(0);
    let starts = (0..rows).filter(|&i| i == 0 || keys.iter().any(|key| key[i] != key[i - 1]));
    let starts: Vec<usize> = starts.chain([rows]).collect();
    starts.windows(2).map(|ends| ends[0]..ends[1]).collect()
}

#[cfg(test)]
mod tests {
    use super::groups;

    #[test]
    fn rows_are_grouped_where_a_key_changes() {
        assert_eq!(groups(&[&[1, 1, 1, 2], &[2, 2, 3, 3]]), [0..2, 2..3, 3..4]);
        assert!(groups(&[&[], &[]]).is_empty());
    }
}
