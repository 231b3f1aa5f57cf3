//! Claims about the core, one module per feature.

#[path = "claims/bad_files.rs"]
mod bad_files;
#[path = "claims/bad_input.rs"]
mod bad_input;
#[path = "support/bench_case.rs"]
mod bench_case;
#[path = "claims/case.rs"]
mod case;
#[path = "claims/corpus.rs"]
mod corpus;
#[path = "claims/demo_cases.rs"]
mod demo_cases;
#[path = "claims/licences.rs"]
mod licences;
#[path = "claims/pathway_built_in.rs"]
mod pathway_built_in;
#[path = "claims/pathway_command.rs"]
mod pathway_command;
#[path = "claims/pathway_faults.rs"]
mod pathway_faults;
#[path = "claims/pathway_schema.rs"]
mod pathway_schema;
#[path = "claims/settings.rs"]
mod settings;
#[path = "claims/strict_json.rs"]
mod strict_json;
