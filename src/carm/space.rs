//! Points and directions of the patient frame, and its axes.
//!
//! The patient frame is LPS in millimetres: x toward the patient's left, y posterior, z toward the head; its origin is
//! the centre of the S1 superior endplate. What may never change: these axes.

/// A place in the patient frame, millimetres.
pub type Point = nalgebra::Point3<f64>;

/// A displacement in the patient frame, millimetres.
pub type Vector = nalgebra::Vector3<f64>;

/// A direction in the patient frame, of length one.
pub type Direction = nalgebra::Unit<Vector>;

/// A turn in the patient frame.
pub type Rotation = nalgebra::Rotation3<f64>;

/// Toward the patient's left, x.
#[must_use]
pub fn left() -> Direction {
    Vector::x_axis()
}

/// Toward the patient's back, y.
#[must_use]
pub fn posterior() -> Direction {
    Vector::y_axis()
}

/// Toward the patient's head, z.
#[must_use]
pub fn head() -> Direction {
    Vector::z_axis()
}
