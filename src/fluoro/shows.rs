//! What the picture of a view must show, found on a model: the structures by name, and where they fall on the picture.
//!
//! The places come from the landmarks of the same model as the picture, through the same pose. What it does not do: it
//! judges no picture and knows no patient.

use super::raster::Raster;
use crate::carm::{Direction, Distances, Point, Pose, ViewName, ViewTarget};
use crate::pelvis::Pelvis;
use crate::units::Degrees;

/// One structure, or several that fall on one another.
#[derive(Debug, Clone, PartialEq)]
pub struct Structure {
    /// In words, as a line of a list.
    pub name: &'static str,
    /// Lines and places of it: each a list of places in pixels from the raster's left upper corner, across and down.
    pub lines: Vec<Vec<[f64; 2]>>,
    /// All of them fall on one another in the true view; else they are seen side by side.
    pub superimposed: bool,
}

/// The pose that shows a view of a model: along `beam`, what the view is about in the middle.
#[must_use]
pub fn pose_of(view: ViewName, pelvis: &Pelvis, beam: Direction, distances: Distances) -> Pose {
    let marks = &pelvis.landmarks;
    let bodies = nalgebra::center(&marks.bodies[0], &marks.bodies[1]);
    let middle = match view {
        ViewName::Ap => nalgebra::center(&bodies, &marks.symphysis_top),
        ViewName::Lateral => lateral_middle(pelvis),
        _ => bodies,
    };
    Pose::looking(beam, middle, distances.source_to_isocentre, distances.source_to_detector, Degrees(0.0))
}

/// Between the notches and the cortical densities: a cone beam shows only what lies on its central ray superimposed.
fn lateral_middle(pelvis: &Pelvis) -> Point {
    let marks = &pelvis.landmarks;
    let middles = marks.iliac_cortical_density.iter().filter_map(|line| line.get(line.len() / 2));
    let places: Vec<Point> = marks.notch_apex.iter().chain(middles).copied().collect();
    Point::from(places.iter().map(|place| place.coords).sum::<crate::carm::Vector>() / places.len() as f64)
}

/// How far the model's own angle of a view lies from the target's, degrees: by so much the model is turned so that it
/// stands as planned. `None` for views along the body's axes.
#[must_use]
pub fn apart_deg(pelvis: &Pelvis, target: &ViewTarget) -> Option<f64> {
    let own = pelvis.landmarks.measurements().of(target.view)?;
    Some(target.angle?.0 - own.value.0)
}

/// The structures of a view, where they fall on a raster at that pose. What the pose does not see is left out.
#[must_use]
pub fn structures(view: ViewName, pelvis: &Pelvis, pose: &Pose, raster: &Raster) -> Vec<Structure> {
    let spot = |point: &Point| {
        let place = pose.project(point)?;
        let (across, down) = raster.place_of(place.across_mm, place.down_mm);
        Some([across, down])
    };
    let line = |points: &[Point]| points.iter().filter_map(spot).collect::<Vec<_>>();
    let named = |(name, superimposed, lines): (&'static str, bool, Vec<Vec<Point>>)| Structure {
        name,
        superimposed,
        lines: lines.iter().map(|points| line(points)).filter(|places| !places.is_empty()).collect(),
    };
    places(view, pelvis).into_iter().map(named).collect()
}

type Places = (&'static str, bool, Vec<Vec<Point>>);

/// Name, whether all of it falls on one place, and the places on the model.
fn places(view: ViewName, pelvis: &Pelvis) -> Vec<Places> {
    let marks = &pelvis.landmarks;
    let each = |points: &[Point]| points.iter().map(|point| vec![*point]).collect::<Vec<_>>();
    let openings = |level: usize| [0, 1].map(|side| marks.foramina[side][level][0].centre);
    let open = || {
        vec![("foramina of S1, open", false, each(&openings(0))), ("foramina of S2, open", false, each(&openings(1)))]
    };
    match view {
        // How far the two lie apart depends on the pelvis' tilt, in the model as in people.
        ViewName::Ap => vec![
            ("tip of the coccyx, toward the symphysis", false, each(&[coccyx_tip(pelvis)])),
            ("upper border of the symphysis", false, each(&[marks.symphysis_top])),
        ],
        ViewName::InletBody => vec![
            ("front cortex of S1 and of S2, one line", true, each(&marks.front_of_s1)),
            ("front of the sacral canal, behind it", false, each(&marks.canal_front()[..1])),
        ],
        ViewName::InletCanal => {
            vec![("front of the canal at S1 and at S2, one line", true, each(&marks.canal_front()))]
        }
        ViewName::InletAla => vec![
            ("front of the left ala, one line", true, each(&marks.alar_line(0))),
            ("front of the right ala, one line", true, each(&marks.alar_line(1))),
        ],
        ViewName::OutletWorking => {
            let border =
                ("upper border of the symphysis on the S2 body", true, each(&[marks.symphysis_top, marks.bodies[1]]));
            [vec![border], open()].concat()
        }
        ViewName::OutletEndplate => {
            vec![("front and back edge of the S1 endplate, one line", true, each(&marks.endplate_edges))]
        }
        ViewName::OutletEnFace => [vec![("S1 body, seen face on", false, each(&marks.bodies[..1]))], open()].concat(),
        ViewName::Lateral => vec![
            ("both greater sciatic notches, one outline", true, each(&marks.notch_apex)),
            ("both iliac cortical densities, one line", true, marks.iliac_cortical_density.to_vec()),
            ("S1 endplate, one crisp line", false, vec![marks.endplate_edges.to_vec()]),
        ],
    }
}

/// The lowest place of the coccyx.
fn coccyx_tip(pelvis: &Pelvis) -> Point {
    let vertices = pelvis.coccyx.outer.vertices.iter();
    vertices.min_by(|one, other| one.z.total_cmp(&other.z)).copied().unwrap_or(pelvis.landmarks.tip)
}
