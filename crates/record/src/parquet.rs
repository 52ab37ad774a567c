//! Tables as Parquet files, in the one simple form that we write: flat, every value present, plain, not compressed.

pub mod error;
pub mod part;
pub mod reader;
mod thrift;
pub mod writer;
