//! Findings as the program computes them from the sample documents, for tests of what is kept of them.

use brimline::carm::ViewName;
use brimline::carm::correction::{Told, ViewFinding, correct};
use brimline::commands::plan::correct::read;
use brimline::pin::{self, Finding};
use brimline::units::Side;
use std::sync::LazyLock;

static OUTLET: LazyLock<ViewFinding> = LazyLock::new(|| {
    let document = read(include_bytes!("../vectors/correction/outlet-touched.json")).expect("a sample");
    let answer = correct(&document.sighting).expect("an answer");
    ViewFinding::of(document.view, Told::Touched, &document.sighting, &answer)
});

static PIN: LazyLock<Finding> = LazyLock::new(|| found(include_bytes!("../vectors/pin/good-two-views.json")));

/// A correction of the working outlet, touched.
pub fn outlet_correction() -> ViewFinding {
    OUTLET.clone()
}

/// The same numbers under another view's name.
pub fn correction_of(view: ViewName) -> ViewFinding {
    ViewFinding { view, ..OUTLET.clone() }
}

/// A pin of that side from two views, with a short margin.
pub fn pin_finding(side: Side) -> Finding {
    Finding { side, ..PIN.clone() }
}

/// What is found from a document.
pub fn found(document: &[u8]) -> Finding {
    pin::find(&pin::read(document).expect("a sample"))
}
