//! All input and output: files, clock, randomness, keys, indexes, pictures. Implements the ports; holds no rule.

pub mod clock;
pub mod files;
pub mod index_postgres;
pub mod index_sqlite;
mod index_words;
pub mod press;
pub mod randomness;
