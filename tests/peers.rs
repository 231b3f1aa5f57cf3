//! Outside references: other people's programs read what this one writes.
//!
//! `BRIMLINE_PEERS` names the Python of an environment with `tests/peers/requirements.txt`. A missing peer is a
//! failure, never a skip.
#![allow(clippy::unwrap_used, reason = "a test that fails says where")]

#[path = "peers/pathway/pathway.rs"]
mod pathway_peers;
#[path = "peers/record/canonical.rs"]
mod canonical_peers;
#[path = "peers/projection/projection.rs"]
mod projection_peers;
#[path = "claims/record_fixture.rs"]
#[allow(dead_code)]
mod record_fixture;
#[path = "peers/record/record.rs"]
mod record_peers;
#[path = "peers/scatter/scatter.rs"]
mod scatter_peers;
