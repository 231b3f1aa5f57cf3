//! All input and output: files, clock, randomness, keys, indexes, pictures. Implements the ports; holds no rule.

pub mod clock;
pub mod dataset;
pub mod dose_report;
pub mod files;
pub mod images;
pub mod index_postgres;
pub mod index_sqlite;
mod index_words;
pub mod picture_files;
pub mod press;
pub mod randomness;
pub mod receiver;
