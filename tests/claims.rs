//! Claims about the core, one module per feature.
#![allow(
    clippy::unwrap_used,
    clippy::naive_bytecount,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::float_cmp,
    clippy::case_sensitive_file_extension_comparisons,
    clippy::items_after_statements,
    reason = "a test that fails says where"
)]

#[path = "claims/anatomy.rs"]
mod anatomy;
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
#[path = "claims/crossing.rs"]
mod crossing;
#[path = "claims/demo_cases.rs"]
mod demo_cases;
#[path = "claims/dose_account.rs"]
mod dose_account;
#[path = "claims/dose_case.rs"]
mod dose_case;
#[path = "claims/dose_command.rs"]
mod dose_command;
#[path = "claims/dose_intake.rs"]
mod dose_intake;
#[path = "claims/dose_reconcile.rs"]
mod dose_reconcile;
#[path = "claims/dose_report.rs"]
mod dose_report;
#[path = "claims/dose_units.rs"]
mod dose_units;
#[path = "claims/eligibility.rs"]
mod eligibility;
#[path = "claims/exercise.rs"]
mod exercise;
#[path = "support/finding_samples.rs"]
mod finding_samples;
#[path = "claims/findings.rs"]
mod findings;
#[path = "claims/fluoro.rs"]
mod fluoro;
#[path = "support/image_facts.rs"]
mod image_facts;
#[path = "claims/images.rs"]
mod images;
#[path = "claims/journal_bytes.rs"]
mod journal_bytes;
#[path = "crash/killed_process.rs"]
mod killed_process;
#[path = "support/large_record.rs"]
mod large_record;
#[path = "claims/licences.rs"]
mod licences;
#[path = "claims/memory_world.rs"]
mod memory_world;
#[path = "claims/moved_shots.rs"]
mod moved_shots;
#[path = "claims/open_case_disk.rs"]
mod open_case_disk;
#[path = "claims/open_case_simulated.rs"]
mod open_case_simulated;
#[path = "support/paper_station.rs"]
mod paper_station;
#[path = "claims/pathway_built_in.rs"]
mod pathway_built_in;
#[path = "claims/pathway_command.rs"]
mod pathway_command;
#[path = "claims/pathway_faults.rs"]
mod pathway_faults;
#[path = "claims/pathway_schema.rs"]
mod pathway_schema;
#[path = "claims/pelvis.rs"]
mod pelvis;
#[path = "claims/people_commands.rs"]
mod people_commands;
#[path = "claims/people_keys.rs"]
mod people_keys;
#[path = "claims/perform.rs"]
mod perform;
#[path = "claims/pin.rs"]
mod pin;
#[path = "claims/pin_command.rs"]
mod pin_command;
#[path = "claims/pin_joint.rs"]
mod pin_joint;
#[path = "support/pin_scene.rs"]
mod pin_scene;
#[path = "claims/pin_spread.rs"]
mod pin_spread;
#[path = "claims/plan_commands.rs"]
mod plan_commands;
#[path = "claims/plan_format.rs"]
mod plan_format;
#[path = "claims/receiver.rs"]
mod receiver;
#[path = "claims/receiver_hostile.rs"]
mod receiver_hostile;
#[path = "claims/record_commands.rs"]
mod record_commands;
#[path = "claims/record_fixture.rs"]
mod record_fixture;
#[path = "claims/record_large.rs"]
mod record_large;
#[path = "claims/record_sign.rs"]
mod record_sign;
#[path = "claims/record_strict.rs"]
mod record_strict;
#[path = "claims/record_vectors.rs"]
mod record_vectors;
#[path = "claims/rehearse.rs"]
mod rehearse;
#[path = "claims/rehearse_compare.rs"]
mod rehearse_compare;
#[path = "claims/rehearse_image.rs"]
mod rehearse_image;
#[path = "claims/replaced_key.rs"]
mod replaced_key;
#[path = "claims/review_audit.rs"]
mod review_audit;
#[path = "claims/review_commands.rs"]
mod review_commands;
#[path = "claims/review_narrow.rs"]
mod review_narrow;
#[path = "claims/review_statistics.rs"]
mod review_statistics;
#[path = "claims/review_world.rs"]
mod review_world;
#[path = "support/sender.rs"]
mod sender;
#[path = "claims/settings.rs"]
mod settings;
#[path = "claims/settings_written.rs"]
mod settings_written;
#[path = "simulated_disk/disk.rs"]
mod simulated_disk;
#[path = "support/simulated_shots.rs"]
mod simulated_shots;
#[path = "support/small_world.rs"]
mod small_world;
#[path = "claims/strict_json.rs"]
mod strict_json;
#[path = "support/synthetic.rs"]
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_possible_wrap)]
mod synthetic;
#[path = "claims/timeline.rs"]
mod timeline;
#[path = "support/trainee.rs"]
mod trainee;
#[path = "claims/view_correction.rs"]
mod view_correction;
