//! Claims about the core, one module per feature.

#[path = "support/bench_case.rs"]
mod bench_case;
#[path = "claims/case.rs"]
mod case;
