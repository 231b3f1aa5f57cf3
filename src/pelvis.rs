//! The model pelvis and its solids.
//!
//! What it does not do: it draws nothing. What may never change: the frame, patient LPS in mm.

mod mesh;
pub mod shapes;

pub use mesh::{Mesh, MeshError};
