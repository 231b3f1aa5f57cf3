//! A rehearsal: tasks on a synthetic machine and a model person, scored, and what guidance is worth in silico.
//!
//! The same Operate is walked, on a machine that has play and runs into things, on a person drawn from a seed, with a pin
//! that bends. Its journal and record are a live case's, typed rehearsal, with the exercise and its seed in the first
//! line. What it does not do: no clock, file, window or ambient randomness; times and seeds come in. No force is felt,
//! and nothing here says how somebody will do at a patient. What may never change: what a seed stands for.

mod bone;
mod chance;
pub mod compare;
mod console;
mod control;
mod debrief;
mod driven;
mod machine;
mod person;
mod picture;
mod score;
mod session;
mod shown;
mod truth;

pub use bone::{Bone, FAR_MM, Margins, endangers, least};
pub use chance::Chance;
pub use console::{Console, Cost, MAGNIFIED, RUN_MAX_S, SHOT_S};
pub use control::{Control, InPicture, Mishap, Note, Noted, Refusal, Shot, Told};
pub use debrief::{Aspect, Debrief, NOTICE, Replayed, Taught, WhyNothing, solid};
pub use driven::{BINDS_MM, BLIND_MM, DrivenPin, FREE_MM, PinRefusal};
pub use machine::{Build, Machine, Moved, clearance};
pub use person::Person;
pub use picture::{imaging, picture, pin_surface, pulse, signal};
pub use score::{Failure, Lack, PURCHASE_MM, Rank, Score, Verdict, ViewScore, tolerance, wanted};
pub use session::{Image, PIN_MM, Rehearsal};
pub use shown::{Apparent, Picture};
pub use truth::{Off, TrueView, Truth};
