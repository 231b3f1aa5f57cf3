//! The guide pin from two or more views: where it points, where its tip is, and what lies beside it.
//!
//! What it is for: touches on flat pictures become an angle to the joint, a length past it and margins to what the team
//! touched, each with its uncertainty. What it does not do: it reads no image and finds nothing by itself, gives no
//! distance to anything untouched, and stops nobody: a short margin asks a question. It knows no case and no pathway.
//! What may never change: the members of [`Finding`], which stand in journals and records, and the meaning of format 1
//! of the [`document`].
//!
//! How it computes. A pin and its shadow lie in one plane through the source; the planes of two views meet in the pin's
//! axis. The rays of the touched tip pass closest to each other at the tip, and the gap between them tells how well the
//! views agree. Directions need only how the views are turned; positions need a common [`Frame`]. Every error (touch,
//! scale, angle, drift, the joint's own) enters as a standard normal variable with its size, so the same evaluation
//! serves the Jacobian, which gives every ±, and Monte Carlo, which checks it.
//!
//! "±" is 1.96 standard deviations: it holds in 95 of 100.

mod bundle;
mod caught;
pub mod document;
mod edge;
mod evaluate;
mod find;
mod finding;
mod frame;
mod joint;
mod line;
mod mark;
mod orient;
mod read;
mod spread;
mod tool;
mod view;

pub use bundle::{Bundle, BundleError, KnownLength, Landmark, solve};
pub use caught::{Caught, PoseFault};
pub use edge::{Edge, EdgeName, Seen};
pub use evaluate::{MARGIN_LIMIT, Outputs, Scene};
pub use find::find;
pub use finding::{ADVISORY, COVERAGE_PERCENT, Finding};
pub use finding::{
    AtJoint, CrossView, FrameUsed, Further, Gap, Heading, Margin, Measured, NotGiven, Place, Question, What, Why,
};
pub use frame::{AnglesOnly, CommonFrame, DeclaredBy, Frame};
pub use joint::{Crossing, Joint, JointError, JointPoint, Station, Surface, medial_normal};
pub use line::{Approach, PinLine, Shadow, axis, closest_approach};
pub use mark::PinMark;
pub use read::{MAX_BYTES, PinError, read, read_of_site};
pub use spread::{Covariance, Sample, monte_carlo, propagate};
pub use tool::{Tool, margin_to_ray, margin_to_sheet};
pub use view::{PinView, TouchError, TouchPlane, ViewErrors, WidthCheck};
