//! The shape of the sacrum as it was measured, each side apart, with the uncertainty of every number.
//!
//! What it is for: qualitative signs, the quantitative score, corridor widths, counted foramina, and what a C-arm's view
//! targets start from; typed, or touched on a picture. What it deliberately does not do: it never calls a sacrum
//! dysmorphic, since one reader's signs agree with the next one's too little and the score's published line is another
//! thing; it names no picture's file and no machine. What may never change: the sign of an inclination, and the codes
//! that stand in plans.

mod asymmetry;
mod corridor;
mod document;
mod joint;
mod measured;
mod score;
mod segments;
mod signs;
mod text;
pub mod touch;
mod view_inputs;

pub use asymmetry::{Asymmetry, asymmetry};
pub use corridor::{Corridor, Level, NARROW_MM, Room};
pub use document::{Anatomy, AnatomyError, SideAnatomy};
pub use joint::{JointAt, JointLevel};
pub use measured::{Angle, Length, Means, TYPED_ANGLE_PLUS_MINUS_DEG, TYPED_LENGTH_PLUS_MINUS_MM};
pub use score::{NO_TRANSSACRAL_ABOVE, Reading as ScoreReading, Score};
pub use segments::{Question, Transitional, questions};
pub use signs::{Compared, Reader, Seen, Sign, compare};
pub use text::text;
pub use view_inputs::{Midline, ViewInputs};
