//! Some rows of a long Parquet table, without reading the rest.
//!
//! The description at the end of the file says where each group of rows lies; only what is asked for is read, so that a table of
//! gigabytes answers at once. The file has the form that [`crate::parquet::writer`] writes. Source: \[ParquetFormat\].

use std::fs::File;
use std::io::{Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};

use crate::parquet::error::ParquetError;
use crate::parquet::reader::{damaged, number, read_pages, schema};
use crate::parquet::thrift::{Value, decode};
use crate::parquet::writer::MAGIC;
use crate::store::StoreError;
use crate::table::Table;

/// A table that lies on the disk.
#[derive(Debug)]
pub struct Rows {
    path: PathBuf,
    file: File,
    schema: Table,
    groups: Vec<Value>,
}

impl Rows {
    /// Opens the table at `path` and reads its description.
    ///
    /// # Errors
    /// The file cannot be read, is damaged, or has another form.
    pub fn open(path: &Path) -> Result<Self, ParquetError> {
        let told = |cause| StoreError::new("read", path, cause);
        let mut file = File::open(path).map_err(told)?;
        let length = file.metadata().map_err(told)?.len();
        let mut tail = [0; 8];
        let start = length.checked_sub(8).ok_or(damaged("it is too short"))?;
        file.seek(SeekFrom::Start(start)).map_err(told)?;
        file.read_exact(&mut tail).map_err(told)?;
        let (size, magic) = tail.split_at(4);
        if magic != MAGIC {
            return Err(damaged("it does not end with PAR1"));
        }
        let size = u32::from_le_bytes([size[0], size[1], size[2], size[3]]);
        let start = start.checked_sub(u64::from(size));
        let start = start.ok_or(damaged("its description is longer than the file"))?;
        let bytes = piece(&mut file, path, start, size as usize)?;
        let (description, _) = decode(&bytes).ok_or(damaged("its description cannot be read"))?;
        Ok(Self {
            path: path.to_owned(),
            schema: schema(&description)?,
            groups: description.list(4).unwrap_or(&[]).to_vec(),
            file,
        })
    }

    /// Number of groups of rows.
    pub fn groups(&self) -> usize {
        self.groups.len()
    }

    /// The rows of a group, with only the named columns, in the order of the file.
    ///
    /// # Errors
    /// There is no such group, or it is damaged.
    pub fn group(&mut self, group: usize, columns: &[&str]) -> Result<Table, ParquetError> {
        let chunks = self.groups.get(group).and_then(|group| group.list(1));
        let chunks = chunks.ok_or(damaged("a row group without columns"))?;
        let mut table = Table {
            name: self.schema.name.clone(),
            description: self.schema.description.clone(),
            columns: Vec::new(),
        };
        for (column, chunk) in self.schema.columns.iter().zip(chunks) {
            if !columns.contains(&column.name.as_str()) {
                continue;
            }
            let meta = chunk.field(3).ok_or(damaged("a column without a place"))?;
            let place = number(meta, 9).zip(number(meta, 7));
            let (start, size) = place.ok_or(damaged("a column without a place"))?;
            let bytes = piece(&mut self.file, &self.path, start as u64, size)?;
            let mut column = column.clone();
            read_pages(&bytes, meta, &mut column)?;
            table.columns.push(column);
        }
        table.check()?;
        Ok(table)
    }
}

/// Bytes of a file; a size beyond its end is refused before memory is set aside.
fn piece(file: &mut File, path: &Path, start: u64, size: usize) -> Result<Vec<u8>, ParquetError> {
    let told = |cause| StoreError::new("read", path, cause);
    let length = file.metadata().map_err(told)?.len();
    if start.checked_add(size as u64).is_none_or(|end| end > length) {
        return Err(damaged("a column beyond the end of the file"));
    }
    let mut bytes = vec![0; size];
    file.seek(SeekFrom::Start(start)).map_err(told)?;
    file.read_exact(&mut bytes).map_err(told)?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parquet::writer::TableWriter;
    use crate::table::{Column, Data};

    fn table(from: i64) -> Table {
        let frames: Vec<i64> = (from..from + 5).collect();
        let x = frames.iter().map(|f| 0.5 * *f as f64).collect();
        Table {
            name: "points".into(),
            description: String::new(),
            columns: vec![
                Column::new("frame", "1", "", Data::Integer(frames)),
                Column::new("x", "px", "", Data::Real(x)),
                Column::new("u", "px", "", Data::Real(vec![0.1; 5])),
            ],
        }
    }

    #[test]
    fn a_group_is_read_alone_and_only_the_columns_asked_for() {
        let place = tempfile::tempdir().unwrap();
        let path = place.path().join("points.parquet");
        let mut file = TableWriter::create(&path, &table(0)).unwrap();
        file.append(&table(0)).unwrap();
        file.append(&table(5)).unwrap();
        file.finish().unwrap();
        let mut rows = Rows::open(&path).unwrap();
        assert_eq!(rows.groups(), 2);
        let second = rows.group(1, &["x", "frame"]).unwrap();
        assert_eq!(second.columns.len(), 2);
        assert_eq!(second.integers("frame").unwrap(), [5, 6, 7, 8, 9]);
        assert_eq!(second.reals("x").unwrap()[4], 4.5);
        assert!(rows.group(2, &["x"]).is_err());
    }

    #[test]
    fn a_cut_file_is_refused() {
        let place = tempfile::tempdir().unwrap();
        let path = place.path().join("points.parquet");
        for bytes in [&b"PAR1"[..], b"PAR1\xff\xff\xff\x7fPAR1", b"\0\0\0\0\0\0\0\0\0"] {
            std::fs::write(&path, bytes).unwrap();
            assert!(Rows::open(&path).is_err());
        }
    }
}
