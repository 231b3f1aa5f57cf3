//! The model pelvis: a person's shape from measures, and the solids that a beam meets.
//!
//! A skeleton of points with radii stands for each bone; measures move its parts; the union of its balls becomes a
//! field over a grid, and the field a closed surface. What it does not do: it draws nothing and names no view. A model
//! is no patient. What may never change: the frame, patient LPS in mm with its origin at the centre of the S1 superior
//! endplate, and the person that a seed gives.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    clippy::cast_sign_loss,
    reason = "places become nodes of a grid, which a cast holds at the ends of its range"
)]

mod bend;
mod field;
mod fit;
mod landmarks;
mod mesh;
mod model;
mod polygonise;
mod shape;
pub mod shapes;
mod simplify;
mod skeleton;

pub use bend::Bones;
pub use field::{Field, Grid, REACH_MM};
pub use fit::{Fitted, Known};
pub use landmarks::{JOINT_MM, Landmarks, SurfacePoint};
pub use mesh::{Mesh, MeshError};
pub use model::{Bone, Pelvis};
pub use polygonise::polygonise;
pub use shape::{
    CONJUGATE, CORRIDOR, DYSMORPHIC_FROM, INCIDENCE, INTER_ASIS, Posture, SACRAL_HEIGHT, SACRAL_WIDTH, SLOPE, Shape,
    Spread, TILT,
};
pub use skeleton::{Ball, BoneSkeleton, FORMAT, MAX_BYTES, Skeleton, SkeletonError};
