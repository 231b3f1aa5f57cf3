//! `SciPy` and `OpenCV` turn and project as the program does.

use brimline::carm::{Arm, Distances, Joints, Lying, PatientPosition, Point, Pose, PositionerAngles, Tube};
use brimline::units::{Degrees, Millimetres, Side};
use serde_json::{Value, json};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

const POSES: u64 = 1_000;

/// A reproducible stream of numbers in [0, 1) (splitmix64, Steele et al. 2014).
struct Stream(u64);

impl Stream {
    fn within(&mut self, from: f64, to: f64) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut bits = self.0;
        bits = (bits ^ (bits >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        bits = (bits ^ (bits >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        bits ^= bits >> 31;
        from + (to - from) * f64::from(u32::try_from(bits >> 32).expect("32 bits")) / 4_294_967_296.0
    }

    fn distances(&mut self) -> Distances {
        let source_to_isocentre = Millimetres(self.within(500.0, 700.0));
        Distances { source_to_isocentre, source_to_detector: Millimetres(self.within(950.0, 1200.0)) }
    }

    fn point(&mut self) -> Point {
        Point::new(self.within(-150.0, 150.0), self.within(-150.0, 150.0), self.within(-150.0, 150.0))
    }
}

/// What the pose was made of, with what the program says of it.
fn told(mut made_of: Value, pose: &Pose, isocentre: Point, distances: Distances, random: &mut Stream) -> Value {
    let points: Vec<Point> = (0..8).map(|_| isocentre + random.point().coords).collect();
    let projected = points.iter().map(|point| {
        let place = pose.project(point).expect("in front of the source");
        json!([place.across_mm, place.down_mm])
    });
    let of = |point: &Point| json!([point.x, point.y, point.z]);
    made_of["projected"] = projected.collect();
    made_of["points"] = points.iter().map(of).collect();
    made_of["isocentre"] = of(&isocentre);
    made_of["source"] = of(&pose.source);
    made_of["source_to_isocentre"] = distances.source_to_isocentre.0.into();
    made_of["source_to_detector"] = distances.source_to_detector.0.into();
    made_of
}

fn agreed(poses: Vec<Value>) {
    let python: PathBuf =
        std::env::var_os("BRIMLINE_PEERS").expect("BRIMLINE_PEERS names the Python of the peers").into();
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/peers/projection/projection.py");
    let mut command = Command::new(&python);
    let mut child = command.arg(script).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().expect("Python starts");
    let mut input = child.stdin.take().expect("piped");
    input.write_all(Value::from(poses).to_string().as_bytes()).expect("read to the end");
    drop(input);
    let done = child.wait_with_output().expect("Python ends");
    let said = String::from_utf8_lossy(&done.stdout).into_owned();
    println!("{said}");
    assert!(done.status.success(), "{said}");
}

/// [R-VIEW-7]
///
/// Source: `SciPy`'s `Rotation` and `OpenCV`'s `projectPoints`, 1,000 random poses of eight points, to 1e-6 mm.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn opencv_and_scipy_project_as_poses_from_dicom_angles_do() {
    let mut random = Stream(1);
    let poses = (0..POSES).map(|_| {
        let (primary, secondary) = (random.within(-180.0, 180.0), random.within(-89.0, 89.0));
        let (roll, isocentre, distances) = (random.within(-180.0, 180.0), random.point(), random.distances());
        let beam = PositionerAngles { primary: Degrees(primary), secondary: Degrees(secondary) }.beam();
        let Distances { source_to_isocentre, source_to_detector } = distances;
        let pose = Pose::looking(beam, isocentre, source_to_isocentre, source_to_detector, Degrees(roll));
        let made_of = json!({"primary": primary, "secondary": secondary, "roll": roll});
        told(made_of, &pose, isocentre, distances, &mut random)
    });
    agreed(poses.collect());
}

/// [R-VIEW-7]
///
/// Source: `SciPy`'s `Rotation` and `OpenCV`'s `projectPoints`, 1,000 random joint chains of eight points, to 1e-6 mm.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn opencv_and_scipy_project_as_poses_from_the_joint_chain_do() {
    let mut random = Stream(2);
    let poses = (0..POSES).map(|_| {
        let supine = random.within(0.0, 1.0) < 0.5;
        let tube_under = random.within(0.0, 1.0) < 0.5;
        let (turn, off_square) = (random.within(-15.0, 15.0), random.within(-30.0, 30.0));
        let position = if supine { PatientPosition::Supine } else { PatientPosition::Prone };
        let arm = Arm {
            lying: Lying { position, turn: Degrees(turn) },
            tube: if tube_under { Tube::Under } else { Tube::Over },
            stand: Side::Left,
            off_square: Degrees(off_square),
        };
        let (wag, tilt, orbit) = (random.within(-15.0, 15.0), random.within(-65.0, 65.0), random.within(-110.0, 110.0));
        let joints = Joints { wag: Degrees(wag), tilt: Degrees(tilt), orbit: Degrees(orbit) };
        let (isocentre, distances) = (random.point(), random.distances());
        let pose = arm.pose(&joints, isocentre, distances);
        let made_of = json!({"supine": supine, "tube_under": tube_under, "turn": turn, "off_square": off_square,
                             "wag": wag, "tilt": tilt, "orbit": orbit});
        told(made_of, &pose, isocentre, distances, &mut random)
    });
    agreed(poses.collect());
}
