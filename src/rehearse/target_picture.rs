//! The picture of a view to reach: a model pelvis fitted to what was measured, seen along the target's beam.
//!
//! The fit turns the model until its front cortex stands as measured, and bends its incidence until the working outlet
//! does; everything else stays average. What it does not do: it is no reconstruction of a patient, no landmark of it may
//! be measured, and it always goes under [`MODEL_LABEL`].

use super::chance::Chance;
use super::truth::Truth;
use crate::carm::{Angle, Direction, Distances, Pose, SacralMeasurements, ViewName};
use crate::fluoro::{CastError, Imaging, Scene, Shown, picture};
use crate::pelvis::{INCIDENCE, Pelvis, Shape};
use crate::units::Degrees;

/// What stands on every such picture.
pub const MODEL_LABEL: &str = "model, not this patient";

/// A shape fitted to measurements.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fitted {
    pub shape: Shape,
    /// What remains between model and measurement, degrees: inlet along the front cortex, working outlet; `None` where
    /// nothing was measured.
    pub remains: [Option<f64>; 2],
}

/// The incidence is bent this many standard deviations from its mean at most.
const BENT_SD: f64 = 3.0;
/// Halvings of that range: 2^-20 of it is left.
const HALVINGS: u32 = 20;
/// Stream of the noise.
const NOISE: u64 = 51;

impl Fitted {
    /// The average shape, fitted; `dysmorphism` of left and right, 0 to 1, as the plan judges each side.
    #[must_use]
    pub fn to(measured: &SacralMeasurements, dysmorphism: [f64; 2]) -> Self {
        let known = |angle: Option<Angle>| angle.map(|angle| angle.value.0);
        let (inlet, outlet) = (known(measured.anterior_cortex), known(measured.symphysis_over_s2));
        let mut shape = Shape { dysmorphism, ..Shape::average() };
        if let (Some(inlet), Some(outlet)) = (inlet, outlet) {
            shape.incidence = incidence_for(&shape, inlet + outlet);
        }
        let [has_inlet, has_outlet] = angles(&shape);
        // Turned back by a degree, an inlet grows by one and an outlet falls by one.
        let turn = inlet.map(|inlet| inlet - has_inlet).or(outlet.map(|outlet| has_outlet - outlet));
        shape.slope -= turn.unwrap_or(0.0);
        let [has_inlet, has_outlet] = angles(&shape);
        Self { shape, remains: [inlet.map(|inlet| has_inlet - inlet), outlet.map(|outlet| has_outlet - outlet)] }
    }

    /// The solids, for pictures; they take a moment to build.
    #[must_use]
    pub fn solids(&self) -> Pelvis {
        Pelvis::of(&self.shape)
    }
}

/// Inlet along the front cortex and working outlet of a shape, each in its own sense, degrees.
fn angles(shape: &Shape) -> [f64; 2] {
    let truth = Truth::of(shape);
    let angle = |view| {
        let line = truth.view(view).expect("the model shows this view").line;
        line.z.atan2(-line.y).to_degrees()
    };
    [angle(ViewName::InletBody), -angle(ViewName::OutletWorking)]
}

/// The incidence whose arc between inlet and outlet comes nearest to `arc`, degrees.
fn incidence_for(shape: &Shape, arc: f64) -> f64 {
    let has = |incidence: f64| angles(&Shape { incidence, ..*shape }).iter().sum::<f64>();
    let (mut low, mut high) =
        (INCIDENCE.mean - BENT_SD * INCIDENCE.deviation, INCIDENCE.mean + BENT_SD * INCIDENCE.deviation);
    let grows = has(high) > has(low);
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if (has(middle) < arc) == grows { low = middle } else { high = middle }
    }
    f64::midpoint(low, high)
}

/// The model along `beam`, the sacrum's upper bodies in the middle. To be called off the window's thread.
///
/// # Errors
/// [`CastError`].
pub fn target_picture(
    solids: &Pelvis,
    beam: Direction,
    distances: Distances,
    imaging: &Imaging,
) -> Result<Shown, CastError> {
    let middle = nalgebra::center(&solids.landmarks.bodies[0], &solids.landmarks.bodies[1]);
    let (near, far) = (distances.source_to_isocentre, distances.source_to_detector);
    let pose = Pose::looking(beam, middle, near, far, Degrees(0.0));
    let mut chance = Chance::of(0, NOISE);
    picture(&Scene::of(solids), &pose, imaging, chance.generator())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn measured(inlet: Option<f64>, outlet: Option<f64>) -> SacralMeasurements {
        let angle = |value: f64| Angle { value: Degrees(value), sd: Degrees(1.0) };
        SacralMeasurements {
            anterior_cortex: inlet.map(angle),
            symphysis_over_s2: outlet.map(angle),
            ..SacralMeasurements::default()
        }
    }

    #[test]
    fn the_model_stands_as_measured_or_says_what_remains() {
        for (inlet, outlet) in [(25.0, 42.0), (18.0, 50.0), (33.0, 38.0)] {
            let fitted = Fitted::to(&measured(Some(inlet), Some(outlet)), [0.0, 0.7]);
            assert!(fitted.remains.iter().flatten().all(|left| left.abs() < 0.5), "{inlet} {outlet}: {fitted:?}");
        }
        let one = Fitted::to(&measured(None, Some(50.0)), [0.0; 2]);
        assert!(one.remains[0].is_none() && one.remains[1].is_some_and(|left| left.abs() < 0.01), "{one:?}");
        let none = Fitted::to(&measured(None, None), [0.0; 2]);
        assert_eq!((none.shape, none.remains), (Shape::average(), [None, None]));
        let far = Fitted::to(&measured(Some(60.0), Some(80.0)), [0.0; 2]);
        assert!(far.remains[1].is_some_and(|left| left.abs() > 5.0), "it is said: {far:?}");
    }
}
