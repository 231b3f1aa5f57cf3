//! Claims about the program, one module per feature. One binary, because each links the whole program.

#[path = "claims/bad_files.rs"]
mod bad_files;
#[path = "claims/bad_input.rs"]
mod bad_input;
#[path = "claims/corpus.rs"]
mod corpus;
#[path = "claims/licences.rs"]
mod licences;
#[path = "claims/settings.rs"]
mod settings;
#[path = "claims/strict_json.rs"]
mod strict_json;
