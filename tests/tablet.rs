//! Tests of the window: one binary, since each one links the toolkit. Frames come from the real software renderer,
//! time is the test's own.
#![allow(
    clippy::unwrap_used,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "a test that fails says where"
)]

#[path = "tablet/around.rs"]
mod around;
#[path = "tablet/around_scenes.rs"]
mod around_scenes;
#[path = "tablet/contrast.rs"]
mod contrast;
#[path = "tablet/dose.rs"]
mod dose;
#[path = "tablet/dose_scenes.rs"]
mod dose_scenes;
#[path = "tablet/flows.rs"]
mod flows;
#[path = "tablet/golden.rs"]
mod golden;
#[path = "tablet/hand.rs"]
mod hand;
#[path = "tablet/held.rs"]
mod held;
#[path = "tablet/looks.rs"]
mod looks;
#[path = "tablet/machine.rs"]
mod machine;
#[path = "support/paper_station.rs"]
mod paper_station;
#[path = "tablet/picture_scenes.rs"]
mod picture_scenes;
#[path = "tablet/pictures.rs"]
mod pictures;
#[path = "tablet/plan.rs"]
mod plan;
#[path = "tablet/re_aim.rs"]
mod re_aim;
#[path = "tablet/real_window.rs"]
mod real_window;
#[path = "claims/record_fixture.rs"]
#[allow(dead_code, reason = "the claims use the rest")]
mod record_fixture;
#[path = "tablet/rehearse.rs"]
mod rehearse;
#[path = "tablet/rehearse_scenes.rs"]
mod rehearse_scenes;
#[path = "tablet/review.rs"]
mod review;
#[path = "tablet/room.rs"]
mod room;
#[path = "tablet/scenes.rs"]
mod scenes;
#[path = "tablet/stage.rs"]
mod stage;
#[path = "support/synthetic.rs"]
#[allow(dead_code, clippy::cast_possible_wrap, reason = "the claims use the rest")]
mod synthetic;
#[path = "tablet/target.rs"]
mod target;
#[path = "tablet/touch.rs"]
mod touch;
#[path = "tablet/whole_case.rs"]
mod whole_case;
