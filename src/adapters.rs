//! Adapters: all input and output, each behind a port or through one.

pub mod people_store;
