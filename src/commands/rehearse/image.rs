//! `brimline rehearse image`: one synthetic picture of a model person, as PNG or DICOM.
//!
//! A view by name is the person's own: the angles that this sacrum asks for. What it does not do: no machine, no play, no
//! dose (that is a rehearsal). The same arguments give the same bytes.

use super::super::{BAD_INPUT, NO, World, YES};
use crate::carm::{
    Arm, Direction, Distances, Lying, PatientPosition, Pose, PositionerAngles, Tube, ViewName, view_sheets, view_target,
};
use crate::fluoro::{Imaging, Scene, picture};
use crate::pelvis::{Pelvis, Posture, Shape};
use crate::ports::picture::{PictureWriter, SyntheticPicture};
use crate::units::{Degrees, Millimetres, Side};
use clap::{ArgGroup, Args, ValueEnum};
use rand_core::SeedableRng;
use rand_xoshiro::Xoshiro256PlusPlus;
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
#[command(group(ArgGroup::new("aim").required(true).multiple(true).args(["view", "primary", "secondary"])))]
pub struct ImageArgs {
    /// The number of the model person
    #[arg(long, value_name = "SEED")]
    pub person: u64,
    /// The person's own view of that name
    #[arg(long, value_name = "NAME", value_parser = view_of, conflicts_with_all = ["primary", "secondary"])]
    pub view: Option<ViewName>,
    /// Positioner primary angle, degrees, -180 to 180 (DICOM)
    #[arg(long, value_name = "P", allow_negative_numbers = true, requires = "secondary")]
    pub primary: Option<f64>,
    /// Positioner secondary angle, degrees, -90 to 90 (DICOM)
    #[arg(long, value_name = "S", allow_negative_numbers = true, requires = "primary")]
    pub secondary: Option<f64>,
    /// How the person lies, the tube under the table
    #[arg(long, value_enum, default_value = "prone")]
    pub lies: Lies,
    /// Where to: a .png or a .dcm file
    #[arg(short, long, value_name = "FILE")]
    pub output: PathBuf,
}

/// How the person lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Lies {
    Supine,
    Prone,
}

/// Distances of the synthetic machine. Source: common geometry of mobile machines, 650 of 1000 mm; common practice.
pub const DISTANCES: Distances =
    Distances { source_to_isocentre: Millimetres(650.0), source_to_detector: Millimetres(1000.0) };

/// Tube voltage that the default spectrum stands for, kV; its source stands beside the spectrum.
const KILOVOLTS: f64 = 80.0;

fn view_of(name: &str) -> Result<ViewName, String> {
    let parsed = serde_json::from_value(serde_json::Value::String(name.to_owned()));
    parsed.map_err(|_| {
        let known = ViewName::ALL.map(|view| serde_json::to_value(view).expect("a name is text"));
        let known: Vec<&str> = known.iter().filter_map(|name| name.as_str()).collect();
        format!("views are {}", known.join(", "))
    })
}

pub fn run(args: &ImageArgs, world: &mut World<'_>, pictures: &dyn PictureWriter) -> u8 {
    made(args, world, pictures).map_or_else(|code| code, |()| YES)
}

fn made(args: &ImageArgs, world: &mut World<'_>, pictures: &dyn PictureWriter) -> Result<(), u8> {
    let kind = Kind::of(&args.output).ok_or_else(|| {
        world.fail(BAD_INPUT, format_args!("{}: a picture is a .png or a .dcm file", args.output.display()))
    })?;
    for (name, angle, most) in [("primary", args.primary, 180.0), ("secondary", args.secondary, 90.0)] {
        if angle.is_some_and(|angle| !(-most..=most).contains(&angle)) {
            return Err(world.fail(BAD_INPUT, format_args!("--{name}: an angle is -{most} to {most} degrees")));
        }
    }
    let posture = if args.lies == Lies::Prone { Posture::Prone } else { Posture::Supine };
    let pelvis = Pelvis::of(&Shape::of_seed(args.person).lying(posture));
    let beam = beam(args, &pelvis).map_err(|reason| world.fail(NO, format_args!("{reason}")))?;
    let synthetic = taken(args, &pelvis, beam).map_err(|reason| world.fail(NO, format_args!("{reason}")))?;
    let bytes = match kind {
        Kind::Png => pictures.png(&synthetic),
        Kind::Dicom => pictures.angiographic(&synthetic),
    };
    let bytes = bytes.map_err(|fault| world.fail(NO, format_args!("{fault}")))?;
    world.write(&args.output, &bytes)
}

enum Kind {
    Png,
    Dicom,
}

impl Kind {
    fn of(path: &Path) -> Option<Self> {
        match path.extension()?.to_str()?.to_ascii_lowercase().as_str() {
            "png" => Some(Self::Png),
            "dcm" => Some(Self::Dicom),
            _ => None,
        }
    }
}

/// The beam asked for, from source to detector.
fn beam(args: &ImageArgs, pelvis: &Pelvis) -> Result<Direction, String> {
    let Some(name) = args.view else {
        let (primary, secondary) = (args.primary.unwrap_or(0.0), args.secondary.unwrap_or(0.0));
        return Ok(PositionerAngles { primary: Degrees(primary), secondary: Degrees(secondary) }.beam());
    };
    let position = if args.lies == Lies::Prone { PatientPosition::Prone } else { PatientPosition::Supine };
    let arm =
        Arm { lying: Lying::as_planned(position), tube: Tube::Under, stand: Side::Right, off_square: Degrees(0.0) };
    let sheet = view_sheets().into_iter().find(|sheet| sheet.view == name).ok_or("the view has no sheet")?;
    let target = view_target(sheet, &pelvis.landmarks.measurements(), &arm, Side::Left);
    target.map(|target| target.beam).map_err(|fault| fault.to_string())
}

/// The picture with the sacrum's upper bodies in its middle.
fn taken(args: &ImageArgs, pelvis: &Pelvis, beam: Direction) -> Result<SyntheticPicture, String> {
    let middle = nalgebra::center(&pelvis.landmarks.bodies[0], &pelvis.landmarks.bodies[1]);
    let (near, far) = (DISTANCES.source_to_isocentre, DISTANCES.source_to_detector);
    let pose = Pose::looking(beam, middle, near, far, Degrees(0.0));
    let imaging = Imaging::default();
    let mut random = Xoshiro256PlusPlus::seed_from_u64(args.person);
    let shown = picture(&Scene::of(pelvis), &pose, &imaging, &mut random).map_err(|fault| fault.to_string())?;
    let angles = PositionerAngles::of(&beam);
    let side = |pixels: usize| u16::try_from(pixels).expect("a detector has fewer pixels than a u16 counts");
    Ok(SyntheticPicture {
        columns: side(shown.columns),
        rows: side(shown.rows),
        greys: shown.greys,
        pitch_mm: imaging.raster.pitch_mm,
        primary_deg: angles.primary.0,
        secondary_deg: angles.secondary.0,
        source_to_detector_mm: far.0,
        source_to_isocentre_mm: near.0,
        prone: args.lies == Lies::Prone,
        person: args.person,
        view: args.view.map_or_else(|| "Angles as asked".to_owned(), |view| view.word().to_owned()),
        kilovolts: KILOVOLTS,
    })
}
