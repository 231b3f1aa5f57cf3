//! Claims about the core, one module per feature.

#[path = "support/bench_case.rs"]
mod bench_case;
#[path = "claims/case.rs"]
mod case;
#[path = "claims/journal_bytes.rs"]
mod journal_bytes;
#[path = "crash/killed_process.rs"]
mod killed_process;
#[path = "claims/open_case_disk.rs"]
mod open_case_disk;
#[path = "claims/open_case_simulated.rs"]
mod open_case_simulated;
#[path = "simulated_disk/disk.rs"]
mod simulated_disk;
#[path = "support/small_world.rs"]
mod small_world;
