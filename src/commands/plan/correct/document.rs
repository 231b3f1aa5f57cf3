//! The document of `plan correct`: format 1, read strictly.
//!
//! What may never change: the meaning of format 1.

use crate::carm::correction::{Axes, MIDLINES, NOTCHES, Sighting, pair_names};
use crate::carm::{Distances, ImagePoint, MachineScale, Point, Pose, ViewName};
use crate::commands::plan::setup::{JointAngles, LengthValue, Setup, judge_scale};
use crate::commands::plan::{DocumentError, MAX_BYTES, plausible};
use crate::strict_json;
use crate::units::Millimetres;
use serde::Deserialize;

/// The format this program reads.
pub const FORMAT: u32 = 1;

/// The document.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Document {
    #[serde(rename = "brimline_correction")]
    _format: u32,
    view: ViewName,
    /// Left out: what the view's pair shows, lines up and down, points both ways.
    axes: Option<Axes>,
    arm: Setup,
    /// Where the joints stand: degrees from a vertical beam, or with `scale` what the displays read.
    joints: JointAngles,
    scale: Option<MachineScale>,
    distances: DistanceValues,
    /// From the source to the landmarks.
    depth: LengthValue,
    /// Between the landmarks.
    lever: LengthValue,
    /// Where the lengths of touches and typed offsets hold.
    plane: Plane,
    touch_sd_mm: f64,
    #[serde(default)]
    picture: Picture,
    seen: Seen,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct DistanceValues {
    source_to_isocentre_mm: f64,
    source_to_detector_mm: f64,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Plane {
    /// At the landmarks.
    Patient,
    /// On the detector, as DICOM's imager pixel spacing has it.
    Detector,
}

/// How the picture is shown: its top turned clockwise from the head end by `roll_deg`, left and right swapped or not.
#[derive(Debug, Default, Clone, Copy, Deserialize)]
#[serde(deny_unknown_fields)]
struct Picture {
    #[serde(default)]
    roll_deg: f64,
    #[serde(default)]
    mirrored: bool,
}

#[derive(Debug, Clone, Copy, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct Place {
    across_mm: f64,
    down_mm: f64,
}

/// What was seen: touches from the picture's centre, or typed offsets in the patient's terms.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
enum Seen {
    Touched {
        front: Place,
        back: Place,
    },
    /// On a lateral: the larger of two alike is nearer the source.
    TouchedAlike {
        larger: Place,
        smaller: Place,
    },
    Typed {
        #[serde(default)]
        back_toward_feet_mm: f64,
        #[serde(default)]
        back_toward_left_mm: f64,
        /// The middle of the pair from the picture's centre.
        #[serde(default)]
        off_centre: Place,
    },
    TypedAlike {
        #[serde(default)]
        larger_toward_head_mm: f64,
        #[serde(default)]
        larger_toward_front_mm: f64,
        #[serde(default)]
        off_centre: Place,
    },
}

/// A document that holds.
pub struct Read {
    pub view: ViewName,
    pub sighting: Sighting,
    /// The landmark nearer the source, then the one nearer the detector.
    pub names: [&'static str; 2],
}

/// Reads the document.
///
/// # Errors
/// [`DocumentError`] names the place.
pub fn read(bytes: &[u8]) -> Result<Read, DocumentError> {
    let document: Document = strict_json::read(bytes, "brimline_correction", FORMAT, MAX_BYTES)?;
    document.judge_numbers()?;
    let mut read = document.without_sight()?;
    let [nearer_source, nearer_detector] = document.touches(&mut read)?;
    read.sighting.nearer_source = nearer_source;
    read.sighting.nearer_detector = nearer_detector;
    Ok(read)
}

impl Document {
    fn judge_numbers(&self) -> Result<(), DocumentError> {
        let Self { distances, picture, .. } = self;
        self.joints.judge("joints")?;
        plausible("distances.source_to_isocentre_mm", distances.source_to_isocentre_mm, 100.0, 2000.0)?;
        plausible("distances.source_to_detector_mm", distances.source_to_detector_mm, 300.0, 2000.0)?;
        if distances.source_to_detector_mm <= self.depth.mm {
            let reason = "the landmarks stand between source and detector".to_owned();
            return Err(DocumentError::Contradiction { place: "depth.mm", reason });
        }
        self.depth.judge("depth", 200.0, 2000.0)?;
        self.lever.judge("lever", 1.0, 300.0)?;
        plausible("touch_sd_mm", self.touch_sd_mm, 0.0, 20.0)?;
        plausible("picture.roll_deg", picture.roll_deg, -360.0, 360.0)?;
        for (place, value) in self.seen.numbers() {
            plausible(format!("seen.{place}"), value, -500.0, 500.0)?;
        }
        Ok(())
    }

    /// Lengths of the document on the detector.
    fn on_detector(&self) -> f64 {
        match self.plane {
            Plane::Patient => self.distances.source_to_detector_mm / self.depth.mm,
            Plane::Detector => 1.0,
        }
    }

    fn without_sight(&self) -> Result<Read, DocumentError> {
        let arm = self.arm.arm()?;
        let mut joints = self.joints.joints();
        if let Some(scale) = &self.scale {
            judge_scale(scale, &arm)?;
            joints = scale.joints(&arm, &joints).expect("the scale was judged for this arm");
        }
        let lines = matches!(self.view, ViewName::InletBody | ViewName::InletCanal | ViewName::OutletEndplate);
        let centre = ImagePoint { across_mm: 0.0, down_mm: 0.0 };
        let sighting = Sighting {
            arm,
            joints,
            distances: Distances {
                source_to_isocentre: Millimetres(self.distances.source_to_isocentre_mm),
                source_to_detector: Millimetres(self.distances.source_to_detector_mm),
            },
            axes: self.axes.unwrap_or(if lines { Axes::HeadFoot } else { Axes::Both }),
            nearer_detector: centre,
            nearer_source: centre,
            lever: self.lever.length(),
            depth: self.depth.length(),
            touch_sd: Millimetres(self.touch_sd_mm * self.on_detector()),
        };
        Ok(Read { view: self.view, sighting, names: NOTCHES })
    }

    /// The touches nearer the source and nearer the detector, on the picture as the pose has it.
    fn touches(&self, read: &mut Read) -> Result<[ImagePoint; 2], DocumentError> {
        let sighting = &read.sighting;
        let pose = sighting.arm.pose(&sighting.joints, Point::origin(), sighting.distances);
        let lateral = self.view == ViewName::Lateral;
        let alike = matches!(self.seen, Seen::TouchedAlike { .. } | Seen::TypedAlike { .. });
        if lateral != alike {
            let reason =
                format!("{} is told by {}", self.view, if lateral { "larger and smaller" } else { "front and back" });
            return Err(DocumentError::Contradiction { place: "seen", reason });
        }
        if lateral {
            return Ok(self.pair(&pose));
        }
        let names = if sighting.axes == Axes::Across { Some(MIDLINES) } else { pair_names(self.view) };
        let Some(names) = names else {
            let reason = format!("{} is judged by shape, it has no pair of landmarks", self.view);
            return Err(DocumentError::Contradiction { place: "view", reason });
        };
        let [back, front] = self.pair(&pose);
        // The beam runs to the detector: with its front part negative y, the front landmark is nearer the detector.
        let detector_in_front = pose.beam().y < 0.0;
        read.names = if detector_in_front { [names.back, names.front] } else { [names.front, names.back] };
        Ok(if detector_in_front { [back, front] } else { [front, back] })
    }

    /// Back and front, or larger and smaller.
    fn pair(&self, pose: &Pose) -> [ImagePoint; 2] {
        match self.seen {
            Seen::Touched { front, back } => [back, front].map(|place| self.shown(place)),
            Seen::TouchedAlike { larger, smaller } => [larger, smaller].map(|place| self.shown(place)),
            Seen::Typed { back_toward_feet_mm, back_toward_left_mm, off_centre } => {
                let down = back_toward_feet_mm * -pose.down.z.signum();
                self.apart(off_centre, back_toward_left_mm * pose.across.x.signum(), down)
            }
            Seen::TypedAlike { larger_toward_head_mm, larger_toward_front_mm, off_centre } => {
                let down = larger_toward_head_mm * pose.down.z.signum();
                self.apart(off_centre, larger_toward_front_mm * -pose.across.y.signum(), down)
            }
        }
    }

    /// Two places `across` and `down` apart, around the middle.
    fn apart(&self, middle: Place, across: f64, down: f64) -> [ImagePoint; 2] {
        let (middle, scale) = (self.shown(middle), self.on_detector());
        [0.5, -0.5].map(|half| ImagePoint {
            across_mm: middle.across_mm + half * across * scale,
            down_mm: middle.down_mm + half * down * scale,
        })
    }

    /// A place of the picture as shown, on the picture as the pose has it.
    fn shown(&self, place: Place) -> ImagePoint {
        let across = if self.picture.mirrored { -place.across_mm } else { place.across_mm };
        let (sin, cos) = self.picture.roll_deg.to_radians().sin_cos();
        let scale = self.on_detector();
        ImagePoint {
            across_mm: scale * (across * cos - place.down_mm * sin),
            down_mm: scale * (across * sin + place.down_mm * cos),
        }
    }
}

impl Seen {
    /// Every number with its place.
    fn numbers(&self) -> Vec<(String, f64)> {
        let place = |name: &str, place: &Place| {
            [(format!("{name}.across_mm"), place.across_mm), (format!("{name}.down_mm"), place.down_mm)]
        };
        let (places, offsets) = match self {
            Self::Touched { front, back } => {
                ([place("touched.front", front), place("touched.back", back)].concat(), None)
            }
            Self::TouchedAlike { larger, smaller } => {
                ([place("touched-alike.larger", larger), place("touched-alike.smaller", smaller)].concat(), None)
            }
            Self::Typed { back_toward_feet_mm, back_toward_left_mm, off_centre } => {
                let offsets =
                    [("back_toward_feet_mm", *back_toward_feet_mm), ("back_toward_left_mm", *back_toward_left_mm)];
                (place("typed.off_centre", off_centre).to_vec(), Some(("typed", offsets)))
            }
            Self::TypedAlike { larger_toward_head_mm, larger_toward_front_mm, off_centre } => {
                let offsets = [
                    ("larger_toward_head_mm", *larger_toward_head_mm),
                    ("larger_toward_front_mm", *larger_toward_front_mm),
                ];
                (place("typed-alike.off_centre", off_centre).to_vec(), Some(("typed-alike", offsets)))
            }
        };
        let offsets =
            offsets.into_iter().flat_map(|(kind, all)| all.map(|(name, value)| (format!("{kind}.{name}"), value)));
        places.into_iter().chain(offsets).collect()
    }
}
