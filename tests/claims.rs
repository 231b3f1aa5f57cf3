//! Claims about the core, one module per feature.
#![allow(
    clippy::unwrap_used,
    clippy::naive_bytecount,
    clippy::cast_precision_loss,
    reason = "a test that fails says where"
)]

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
#[path = "claims/fluoro.rs"]
mod fluoro;
#[path = "claims/journal_bytes.rs"]
mod journal_bytes;
#[path = "crash/killed_process.rs"]
mod killed_process;
#[path = "claims/licences.rs"]
mod licences;
#[path = "claims/memory_world.rs"]
mod memory_world;
#[path = "claims/open_case_disk.rs"]
mod open_case_disk;
#[path = "claims/open_case_simulated.rs"]
mod open_case_simulated;
#[path = "claims/pathway_built_in.rs"]
mod pathway_built_in;
#[path = "claims/pathway_command.rs"]
mod pathway_command;
#[path = "claims/pathway_faults.rs"]
mod pathway_faults;
#[path = "claims/pathway_schema.rs"]
mod pathway_schema;
#[path = "claims/people_commands.rs"]
mod people_commands;
#[path = "claims/people_keys.rs"]
mod people_keys;
#[path = "claims/perform.rs"]
mod perform;
#[path = "claims/record_commands.rs"]
mod record_commands;
#[path = "claims/record_fixture.rs"]
mod record_fixture;
#[path = "claims/record_sign.rs"]
mod record_sign;
#[path = "claims/record_strict.rs"]
mod record_strict;
#[path = "claims/record_vectors.rs"]
mod record_vectors;
#[path = "claims/settings.rs"]
mod settings;
#[path = "claims/settings_written.rs"]
mod settings_written;
#[path = "simulated_disk/disk.rs"]
mod simulated_disk;
#[path = "support/small_world.rs"]
mod small_world;
#[path = "claims/strict_json.rs"]
mod strict_json;
#[path = "claims/timeline.rs"]
mod timeline;
