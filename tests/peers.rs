//! Outside references: other people's programs read what this one writes.
//!
//! `BRIMLINE_PEERS` names the Python of an environment with `tests/peers/requirements.txt`. A missing peer is a
//! failure, never a skip.
#![allow(clippy::unwrap_used, reason = "a test that fails says where")]

#[path = "peers/record/canonical.rs"]
mod canonical_peers;
#[path = "peers/dose/dose.rs"]
mod dose_peers;
#[path = "peers/fluoro/fluoro.rs"]
mod fluoro_peers;
#[path = "peers/images/images.rs"]
mod images_peers;
#[path = "claims/memory_world.rs"]
#[allow(dead_code)]
mod memory_world;
#[path = "peers/pathway/pathway.rs"]
mod pathway_peers;
#[path = "peers/projection/projection.rs"]
mod projection_peers;
#[path = "peers/receive/receive.rs"]
mod receive_peers;
#[path = "claims/record_fixture.rs"]
#[allow(dead_code)]
mod record_fixture;
#[path = "peers/record/record.rs"]
mod record_peers;
#[path = "peers/scatter/scatter.rs"]
mod scatter_peers;

#[path = "peers/triangulation/triangulation.rs"]
mod triangulation_peers;

#[path = "peers/review/postgres.rs"]
mod review_on_postgres;
#[path = "peers/review/review.rs"]
mod review_peers;
#[path = "claims/review_world.rs"]
#[allow(dead_code, reason = "the claims use the rest")]
mod review_world;
#[path = "support/synthetic.rs"]
#[allow(
    dead_code,
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::cast_sign_loss,
    clippy::cast_possible_wrap
)]
mod synthetic;

/// The Python of the peers.
fn python() -> std::path::PathBuf {
    std::env::var_os("BRIMLINE_PEERS").expect("BRIMLINE_PEERS names the Python of the peers").into()
}
