//! Writes a table as a Parquet file, piece by piece.
//!
//! ```text
//! file   = "PAR1" { piece } description length(description) "PAR1"
//! piece  = { header values }        one for each column; each append is a row group of one page a column
//! values = f64 | i64 little-endian, length (u32) and bytes of a text, eight flags a byte with the first lowest
//! ```
//!
//! Columns are required, plain and not compressed. The description holds the name of the table, its sentence, and as JSON
//! the units and sentences of the columns (`name`, `description`, `units`, `descriptions`); each column of each row group
//! carries its `unit` too. Source: \[ParquetFormat\] (parquet.thrift and the plain encoding). It chooses no compression.

use crate::parquet::error::ParquetError;
use crate::parquet::thrift::{Value, encode};
use crate::store::WholeFile;
use crate::table::{Column, Data, Table};
use std::collections::BTreeMap;
use std::path::Path;

/// First and last bytes of a Parquet file.
pub const MAGIC: &[u8; 4] = b"PAR1";

/// A table that is being written.
#[derive(Debug)]
pub struct TableWriter {
    file: WholeFile,
    schema: Table,
    offset: u64,
    rows: u64,
    groups: Vec<Value>,
}

impl TableWriter {
    /// Begins a file at `path` with the columns of `schema`, whose rows do not count. The file is there once
    /// [`TableWriter::finish`] has returned.
    ///
    /// # Errors
    /// Columns that make no table; the disk refuses.
    pub fn create(path: &Path, schema: &Table) -> Result<Self, ParquetError> {
        let schema = schema.emptied();
        schema.check()?;
        let mut file = WholeFile::create(path)?;
        file.add(MAGIC)?;
        let offset = MAGIC.len() as u64;
        Ok(Self {
            file,
            schema,
            offset,
            rows: 0,
            groups: Vec::new(),
        })
    }

    /// Adds the rows of `piece`; a thousand or more at a time keep the file small.
    ///
    /// # Errors
    /// Other columns than the file was begun with; more than 2 GiB in a column; the disk refuses.
    pub fn append(&mut self, piece: &Table) -> Result<(), ParquetError> {
        piece.check()?;
        if piece.emptied().columns != self.schema.columns {
            return Err(ParquetError::OtherColumns {
                table: self.schema.name.clone(),
            });
        }
        if piece.rows() == 0 {
            return Ok(());
        }
        let pages: Vec<Vec<u8>> = piece.columns.iter().map(page).collect::<Result<_, _>>()?;
        let start = self.offset;
        let mut chunks = Vec::new();
        for (column, bytes) in piece.columns.iter().zip(&pages) {
            chunks.push(chunk(column, self.offset, bytes.len()));
            self.file.add(bytes)?;
            self.offset += bytes.len() as u64;
        }
        self.rows += piece.rows() as u64;
        self.groups.push(Value::Struct(vec![
            (1, Value::List(chunks)),
            (2, count(self.offset - start)),
            (3, count(piece.rows() as u64)),
        ]));
        Ok(())
    }

    /// Writes the description and puts the file in its place.
    ///
    /// # Errors
    /// The disk refuses; what was there is then untouched.
    pub fn finish(mut self) -> Result<(), ParquetError> {
        let mut footer = Vec::new();
        let groups = std::mem::take(&mut self.groups);
        encode(&description(&self.schema, self.rows, groups), &mut footer);
        let length = u32::try_from(footer.len()).map_err(|_| ParquetError::TooLarge {
            column: "(description)".to_owned(),
            bytes: footer.len(),
        })?;
        self.file.add(&footer)?;
        self.file.add(&length.to_le_bytes())?;
        self.file.add(MAGIC)?;
        Ok(self.file.finish()?)
    }
}

/// Writes a whole table to `path` in one piece.
///
/// # Errors
/// As [`TableWriter`].
pub fn write(path: &Path, table: &Table) -> Result<(), ParquetError> {
    let mut writer = TableWriter::create(path, table)?;
    writer.append(table)?;
    writer.finish()
}

// Counts and offsets stay far below 2^63.
fn count(number: u64) -> Value {
    Value::I64(number as i64)
}

/// Physical types and other names of parquet.thrift.
fn physical_type(data: &Data) -> Value {
    Value::I32(match data {
        Data::Flag(_) => 0,
        Data::Integer(_) => 2,
        Data::Real(_) => 5,
        Data::Text(_) => 6,
    })
}
const DATA_PAGE: Value = Value::I32(0);
const PLAIN: Value = Value::I32(0);
const RUN_LENGTH: Value = Value::I32(3);
const REQUIRED: Value = Value::I32(0);
const NOT_COMPRESSED: Value = Value::I32(0);

/// The page of a column, header and values.
fn page(column: &Column) -> Result<Vec<u8>, ParquetError> {
    let values = plain(&column.data);
    let too_large = || ParquetError::TooLarge {
        column: column.name.clone(),
        bytes: values.len(),
    };
    let size = i32::try_from(values.len()).map_err(|_| too_large())?;
    let rows = i32::try_from(column.data.len()).map_err(|_| too_large())?;
    let data = Value::Struct(vec![
        (1, Value::I32(rows)),
        (2, PLAIN),
        (3, RUN_LENGTH),
        (4, RUN_LENGTH),
    ]);
    let header = Value::Struct(vec![
        (1, DATA_PAGE),
        (2, Value::I32(size)),
        (3, Value::I32(size)),
        (5, data),
    ]);
    let mut bytes = Vec::with_capacity(values.len() + 64);
    encode(&header, &mut bytes);
    bytes.extend(values);
    Ok(bytes)
}

fn plain(data: &Data) -> Vec<u8> {
    match data {
        Data::Real(values) => values.iter().flat_map(|value| value.to_le_bytes()).collect(),
        Data::Integer(values) => values.iter().flat_map(|value| value.to_le_bytes()).collect(),
        Data::Flag(values) => values.chunks(8).map(flags_in_a_byte).collect(),
        Data::Text(values) => {
            let mut bytes = Vec::new();
            for text in values {
                // A text of 4 GiB does not fit a page, which is refused by its size.
                bytes.extend((text.len() as u32).to_le_bytes());
                bytes.extend(text.as_bytes());
            }
            bytes
        }
    }
}

fn flags_in_a_byte(flags: &[bool]) -> u8 {
    flags
        .iter()
        .enumerate()
        .fold(0, |byte, (i, flag)| byte | u8::from(*flag) << i)
}

fn chunk(column: &Column, offset: u64, size: usize) -> Value {
    let meta = Value::Struct(vec![
        (1, physical_type(&column.data)),
        (2, Value::List(vec![PLAIN, RUN_LENGTH])),
        (3, Value::List(vec![Value::text(&column.name)])),
        (4, NOT_COMPRESSED),
        (5, count(column.data.len() as u64)),
        (6, count(size as u64)),
        (7, count(size as u64)),
        (8, Value::List(vec![pair("unit", &column.unit)])),
        (9, count(offset)),
    ]);
    Value::Struct(vec![(2, count(offset)), (3, meta)])
}

fn pair(key: &str, value: &str) -> Value {
    Value::Struct(vec![(1, Value::text(key)), (2, Value::text(value))])
}

fn description(schema: &Table, rows: u64, groups: Vec<Value>) -> Value {
    let root = Value::Struct(vec![
        (4, Value::text("schema")),
        // A table has far fewer than 2^31 columns.
        (5, Value::I32(schema.columns.len() as i32)),
    ]);
    let elements = std::iter::once(root).chain(schema.columns.iter().map(element));
    let of_columns = |of: fn(&Column) -> &str| {
        let map: BTreeMap<&str, &str> = schema.columns.iter().map(|c| (c.name.as_str(), of(c))).collect();
        serde_json::to_string(&map).expect("texts by texts are always JSON")
    };
    Value::Struct(vec![
        (1, Value::I32(1)),
        (2, Value::List(elements.collect())),
        (3, count(rows)),
        (4, Value::List(groups)),
        (
            5,
            Value::List(vec![
                pair("name", &schema.name),
                pair("description", &schema.description),
                pair("units", &of_columns(|column| &column.unit)),
                pair("descriptions", &of_columns(|column| &column.description)),
            ]),
        ),
        (6, Value::text("tremolet")),
    ])
}

fn element(column: &Column) -> Value {
    let mut fields = vec![
        (1, physical_type(&column.data)),
        (3, REQUIRED),
        (4, Value::text(&column.name)),
    ];
    if matches!(column.data, Data::Text(_)) {
        // UTF-8, in the old and in the new way of saying so.
        fields.push((6, Value::I32(0)));
        fields.push((10, Value::Struct(vec![(1, Value::Struct(Vec::new()))])));
    }
    Value::Struct(fields)
}
