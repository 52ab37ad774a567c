//! Why a table could not be written as, or read from, a Parquet file.

use crate::store::StoreError;
use crate::table::ShapeError;

/// Why a table could not be written or read.
#[derive(Debug, thiserror::Error)]
pub enum ParquetError {
    /// The disk refused.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The columns make no table.
    #[error(transparent)]
    Shape(#[from] ShapeError),
    /// Rows with other columns than the file has.
    #[error(
        "the rows have other columns than the table {table} was begun with: expected the same names, units and kinds"
    )]
    OtherColumns {
        /// Name of the table.
        table: String,
    },
    /// More in one piece than the format can hold.
    #[error(
        "column {column} has {bytes} bytes in one piece, expected at most 2147483647: append fewer rows at a time"
    )]
    TooLarge {
        /// Name of the column.
        column: String,
        /// Its size.
        bytes: usize,
    },
    /// Not a Parquet file, or a damaged one.
    #[error("no whole Parquet file: {what}; copy the file again or remake the run")]
    Damaged {
        /// What does not fit.
        what: &'static str,
    },
    /// A Parquet file in another form than ours.
    #[error(
        "{what} in the Parquet file, expected flat columns, plain, required and not compressed, as this program writes them"
    )]
    OtherForm {
        /// What is found.
        what: String,
    },
}
