//! The pairs of landmarks that each view lays over each other, by name.
//!
//! What it does not do: it gives no lever; that is measured on this patient.

use crate::carm::ViewName;

/// The two landmarks of a view: the one at the front of the body and the one at the back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PairNames {
    pub front: &'static str,
    pub back: &'static str,
}

/// What the pair of a view is called; `None` for a view that is judged by shape alone.
#[must_use]
pub fn pair_names(view: ViewName) -> Option<PairNames> {
    let (front, back) = match view {
        ViewName::Ap => ("upper border of the symphysis", "tip of the coccyx"),
        ViewName::InletBody => ("anterior cortex of S1", "anterior cortex of S2"),
        ViewName::InletCanal => ("posterior cortex of S1", "posterior cortex of S2"),
        ViewName::OutletWorking => ("upper border of the symphysis", "S2 body"),
        ViewName::OutletEndplate => ("front edge of the S1 endplate", "back edge of the S1 endplate"),
        ViewName::InletAla | ViewName::OutletEnFace | ViewName::Lateral => return None,
    };
    Some(PairNames { front, back })
}

/// For rotation, on whichever view from front or back.
pub const MIDLINES: PairNames = PairNames { front: "midline in front", back: "midline behind" };

/// On the lateral, by their size on the picture.
pub const NOTCHES: [&str; 2] = ["larger notch or density, nearer the source", "smaller one, nearer the detector"];
