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
#[path = "support/paper_station.rs"]
mod paper_station;
#[path = "tablet/real_window.rs"]
mod real_window;
#[path = "tablet/room.rs"]
mod room;
#[path = "tablet/scenes.rs"]
mod scenes;
#[path = "tablet/stage.rs"]
mod stage;
#[path = "tablet/touch.rs"]
mod touch;
#[path = "tablet/whole_case.rs"]
mod whole_case;
