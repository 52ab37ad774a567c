//! The catalogue of the runs below a folder: one SQLite file that is made anew from the folders at any time.
//!
//! The folders are the truth and the catalogue is a copy to search in: deleting it loses nothing. What is half or broken is listed with its
//! reason. The one door to SQLite.

pub mod file;
pub mod row;
pub mod walk;
