//! The C-arm: views and, on them, beams and joints.
//!
//! What may never change: the view names, which stand in pathways, journals and records.

mod view_name;

pub use view_name::ViewName;
