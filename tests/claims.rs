//! Claims about the core, one module per feature.

#[path = "support/bench_case.rs"]
mod bench_case;
#[path = "claims/case.rs"]
mod case;
#[path = "claims/demo_cases.rs"]
mod demo_cases;
#[path = "claims/pathway_built_in.rs"]
mod pathway_built_in;
#[path = "claims/pathway_command.rs"]
mod pathway_command;
#[path = "claims/pathway_faults.rs"]
mod pathway_faults;
#[path = "claims/pathway_schema.rs"]
mod pathway_schema;
