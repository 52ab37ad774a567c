//! Reads a Parquet file of the form that [`crate::parquet::writer`] writes.
//!
//! Files in another form (compressed, with dictionaries, nested, with absent values) are refused by what is found. Units
//! come from the file's description; a column without one gets `1`. Source: \[ParquetFormat\].

use crate::parquet::error::ParquetError;
use crate::parquet::thrift::{Value, decode};
use crate::parquet::writer::MAGIC;
use crate::store;
use crate::table::{Column, Data, Table};
use std::collections::BTreeMap;
use std::path::Path;

/// Reads the table at `path`.
///
/// # Errors
/// The file cannot be read, is damaged, or has another form.
pub fn read(path: &Path) -> Result<Table, ParquetError> {
    read_bytes(&store::read_bytes(path)?)
}

/// Reads a table from the bytes of a file.
///
/// # Errors
/// The bytes are damaged or have another form.
pub fn read_bytes(bytes: &[u8]) -> Result<Table, ParquetError> {
    let file = description(bytes)?;
    let mut table = schema(&file)?;
    for group in file.list(4).unwrap_or(&[]) {
        let chunks = group.list(1).ok_or(damaged("a row group without columns"))?;
        if chunks.len() != table.columns.len() {
            return Err(damaged("a row group with other columns"));
        }
        for (column, chunk) in table.columns.iter_mut().zip(chunks) {
            read_chunk(bytes, chunk, column)?;
        }
    }
    table.check()?;
    if file.integer(3) != i64::try_from(table.rows()).ok() {
        return Err(damaged("another number of rows than described"));
    }
    Ok(table)
}

pub(super) fn damaged(what: &'static str) -> ParquetError {
    ParquetError::Damaged { what }
}

fn other(what: String) -> ParquetError {
    ParquetError::OtherForm { what }
}

fn description(bytes: &[u8]) -> Result<Value, ParquetError> {
    let inner = bytes
        .strip_prefix(MAGIC)
        .and_then(|rest| rest.strip_suffix(MAGIC))
        .ok_or(damaged("it does not begin and end with PAR1"))?;
    let (rest, length) = inner.split_last_chunk::<4>().ok_or(damaged("it is too short"))?;
    let start = rest.len().checked_sub(u32::from_le_bytes(*length) as usize);
    let start = start.ok_or(damaged("its description is longer than the file"))?;
    let (file, _) = decode(&rest[start..]).ok_or(damaged("its description cannot be read"))?;
    Ok(file)
}

pub(super) fn schema(file: &Value) -> Result<Table, ParquetError> {
    let elements = file.list(2).ok_or(damaged("no columns are described"))?;
    let (_, columns) = elements
        .split_first()
        .ok_or(damaged("no columns are described"))?;
    let units = of_columns(file, "units");
    let descriptions = of_columns(file, "descriptions");
    let columns = columns.iter().map(|element| {
        let name = element
            .text_in(4)
            .ok_or(damaged("a column without a name"))?
            .to_owned();
        let unit = units.get(&name).cloned().unwrap_or_else(|| "1".to_owned());
        let description = descriptions.get(&name).cloned().unwrap_or_default();
        Ok(Column {
            data: no_data(element, &name)?,
            name,
            unit,
            description,
        })
    });
    let columns = columns.collect::<Result<_, ParquetError>>()?;
    let told = |key| said(file, key).unwrap_or_default().to_owned();
    Ok(Table {
        name: told("name"),
        description: told("description"),
        columns,
    })
}

fn no_data(element: &Value, name: &str) -> Result<Data, ParquetError> {
    if element.integer(5).unwrap_or(0) > 0 {
        return Err(other(format!("the nested column {name}")));
    }
    if element.integer(3) != Some(0) {
        return Err(other(format!(
            "the column {name}, whose values may be absent or repeated,"
        )));
    }
    let is_text =
        element.integer(6) == Some(0) || element.field(10).is_some_and(|kind| kind.field(1).is_some());
    match element.integer(1) {
        Some(0) => Ok(Data::Flag(Vec::new())),
        Some(2) => Ok(Data::Integer(Vec::new())),
        Some(5) => Ok(Data::Real(Vec::new())),
        Some(6) if is_text => Ok(Data::Text(Vec::new())),
        _ => Err(other(format!("the column {name} of another type"))),
    }
}

/// The value of `key` in the description.
fn said<'f>(file: &'f Value, key: &str) -> Option<&'f str> {
    file.list(5)?
        .iter()
        .find(|pair| pair.text_in(1) == Some(key))?
        .text_in(2)
}

fn of_columns(file: &Value, key: &str) -> BTreeMap<String, String> {
    // Another program may use the key for something else; the column then has no unit.
    said(file, key)
        .and_then(|text| serde_json::from_str(text).ok())
        .unwrap_or_default()
}

fn read_chunk(bytes: &[u8], chunk: &Value, column: &mut Column) -> Result<(), ParquetError> {
    let meta = chunk.field(3).ok_or(damaged("a column without a place"))?;
    let at = number(meta, 9).ok_or(damaged("a column without a place"))?;
    let chunk = bytes
        .get(at..)
        .ok_or(damaged("a column beyond the end of the file"))?;
    read_pages(chunk, meta, column)
}

/// A whole number of a description that counts or places something.
pub(super) fn number(meta: &Value, id: i16) -> Option<usize> {
    meta.integer(id).and_then(|number| usize::try_from(number).ok())
}

/// Adds the pages at the start of `bytes`, which `meta` describes, to the column.
pub(super) fn read_pages(bytes: &[u8], meta: &Value, column: &mut Column) -> Result<(), ParquetError> {
    if meta.integer(4) != Some(0) {
        return Err(other(format!("the compressed column {}", column.name)));
    }
    if meta.field(11).is_some() {
        return Err(other(format!("the column {} with a dictionary", column.name)));
    }
    let total = number(meta, 5).ok_or(damaged("a column without a number of values"))?;
    let mut at = 0;
    let end = column.data.len().saturating_add(total);
    while column.data.len() < end {
        let rest = bytes
            .get(at..)
            .ok_or(damaged("a column beyond the end of the file"))?;
        at += read_page(rest, column)?;
    }
    if column.data.len() > end {
        return Err(damaged("more values in a column than described"));
    }
    Ok(())
}

/// Adds the values of the page at the start of `bytes` to the column; gives the length of the page.
fn read_page(bytes: &[u8], column: &mut Column) -> Result<usize, ParquetError> {
    let (header, length) = decode(bytes).ok_or(damaged("a page that cannot be read"))?;
    let data = header
        .field(5)
        .ok_or_else(|| other(format!("another kind of page in the column {}", column.name)))?;
    if header.integer(1) != Some(0) || data.integer(2) != Some(0) {
        return Err(other(format!("another encoding in the column {}", column.name)));
    }
    let size = header.integer(3).and_then(|size| usize::try_from(size).ok());
    let size = size.ok_or(damaged("a page without a size"))?;
    let values = bytes[length..]
        .get(..size)
        .ok_or(damaged("a page beyond the end of the file"))?;
    let count = data.integer(1).and_then(|count| usize::try_from(count).ok());
    let count = count
        .filter(|count| *count > 0)
        .ok_or(damaged("a page without values"))?;
    add_plain(values, count, &mut column.data).ok_or(damaged("a page with other values than described"))?;
    Ok(length + size)
}

/// Adds `count` plain values; `None` unless the bytes hold exactly so many.
fn add_plain(bytes: &[u8], count: usize, data: &mut Data) -> Option<()> {
    match data {
        Data::Real(values) => values.extend(eights(bytes, count)?.map(f64::from_le_bytes)),
        Data::Integer(values) => values.extend(eights(bytes, count)?.map(i64::from_le_bytes)),
        Data::Flag(values) => {
            if bytes.len() != count.div_ceil(8) {
                return None;
            }
            values.extend((0..count).map(|i| bytes[i / 8] >> (i % 8) & 1 == 1));
        }
        Data::Text(values) => {
            let mut rest = bytes;
            for _ in 0..count {
                let (length, after) = rest.split_first_chunk::<4>()?;
                let (text, after) = after.split_at_checked(u32::from_le_bytes(*length) as usize)?;
                values.push(std::str::from_utf8(text).ok()?.to_owned());
                rest = after;
            }
            return rest.is_empty().then_some(());
        }
    }
    Some(())
}

fn eights(bytes: &[u8], count: usize) -> Option<impl Iterator<Item = [u8; 8]>> {
    let (eights, rest) = bytes.as_chunks::<8>();
    (eights.len() == count && rest.is_empty()).then(|| eights.iter().copied())
}

#[cfg(test)]
mod tests;
