//! The projector against gVirtualXRay, the whole image chain, how time grows, and how long a pelvis takes to build.
//!
//! Floor and subject take turns in one run on the same cores. `BRIMLINE_PEERS` names the Python of the peers; without
//! it, that one comparison is left out, said, and counts as missed. Exit 1 if a target is missed. An unoptimised build
//! says so and proves nothing.

use brimline::carm::{Point, Pose, PositionerAngles};
use brimline::fluoro::{Imaging, Raster, Scene, cast, picture};
use brimline::pelvis::{Mesh, Pelvis, Shape, shapes};
use brimline::units::{Degrees, Millimetres};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;
use serde_json::json;
use std::hint::black_box;
use std::io::{BufRead, BufReader, Write};
use std::process::{Child, Command, ExitCode, Stdio};
use std::time::{Duration, Instant};

/// The targets of the project.
const FASTER_MIN: f64 = 15.0;
const CHAIN_MAX: Duration = Duration::from_millis(12);
const BUILT_MAX: Duration = Duration::from_secs(1);
/// How far growth may be from linear over three sizes: time per triangle or pixel at the largest over that at the least.
const GROWTH_MAX: f64 = 1.3;

const WORKERS: usize = 2;
const ROUNDS: usize = 40;

fn main() -> ExitCode {
    let pelvis = Pelvis::of(&Shape::average());
    let met = [against_gvxr(&pelvis), chain(&pelvis), growth(), built()];
    if cfg!(debug_assertions) {
        println!("unoptimised build: these figures prove nothing");
    }
    ExitCode::from(u8::from(!met.iter().all(|met| *met)))
}

fn pose() -> Pose {
    let angles = PositionerAngles { primary: Degrees(180.0), secondary: Degrees(30.0) };
    let (near, far) = (Millimetres(650.0), Millimetres(1000.0));
    Pose::looking(angles.beam(), Point::new(0.0, 20.0, -40.0), near, far, Degrees(0.0))
}

fn verdict(met: bool) -> &'static str {
    if met { "met" } else { "MISSED" }
}

/// The outer surfaces of all bones as one mesh: about 24,000 triangles.
fn bones(pelvis: &Pelvis) -> Mesh {
    let mut whole = Mesh::default();
    for bone in pelvis.bones() {
        let first = u32::try_from(whole.vertices.len()).expect("few");
        whole.vertices.extend(&bone.outer.vertices);
        whole.triangles.extend(bone.outer.triangles.iter().map(|triangle| triangle.map(|corner| corner + first)));
    }
    whole
}

fn against_gvxr(pelvis: &Pelvis) -> bool {
    let Some(python) = std::env::var_os("BRIMLINE_PEERS") else {
        println!("gVirtualXRay: BRIMLINE_PEERS names no Python, nothing to compare with: MISSED");
        return false;
    };
    let (mesh, raster) = (bones(pelvis), Raster::square(512, 300.0));
    let folder = tempfile::tempdir().expect("a folder");
    let mut other = Renderer::start(&python, folder.path(), &mesh, &raster);
    let (mut floor, mut subject) = (Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        floor.push(other.render());
        let begun = Instant::now();
        black_box(cast(&pose(), &raster, &[&[&mesh]], WORKERS).expect("a picture"));
        subject.push(begun.elapsed());
    }
    let (floor, subject) = (median(&mut floor), median(&mut subject));
    let faster = floor.as_secs_f64() / subject.as_secs_f64();
    println!("{} triangles to 512 x 512, median of {ROUNDS}, taking turns:", mesh.triangles.len());
    println!("  gVirtualXRay {floor:?}, projector {subject:?}: {faster:.1} times faster");
    println!("  target {FASTER_MIN} times: {}", verdict(faster >= FASTER_MIN));
    faster >= FASTER_MIN
}

/// The other renderer, which renders once for each line.
struct Renderer {
    child: Child,
    answers: BufReader<std::process::ChildStdout>,
}

impl Renderer {
    fn start(python: &std::ffi::OsStr, folder: &std::path::Path, mesh: &Mesh, raster: &Raster) -> Self {
        let (case, surface) = (folder.join("case.json"), folder.join("bones.stl"));
        let pose = pose();
        let of = |x: f64, y: f64, z: f64| json!([x, y, z]);
        let told = json!({
            "source": of(pose.source.x, pose.source.y, pose.source.z),
            "detector_centre": of(pose.detector_centre.x, pose.detector_centre.y, pose.detector_centre.z),
            "down": of(pose.down.x, pose.down.y, pose.down.z),
            "pixels": raster.columns,
            "pitch": raster.pitch_mm,
        });
        std::fs::write(&case, told.to_string()).expect("written");
        std::fs::write(&surface, stl(mesh)).expect("written");
        let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/peers/fluoro/gvxr_timed.py");
        let mut command = Command::new(python);
        command.arg(script).arg(case).arg(surface).stdin(Stdio::piped()).stdout(Stdio::piped());
        let mut child = command.spawn().expect("Python starts");
        let answers = BufReader::new(child.stdout.take().expect("piped"));
        let mut renderer = Self { child, answers };
        renderer.answer("ready");
        renderer
    }

    fn render(&mut self) -> Duration {
        writeln!(self.child.stdin.as_mut().expect("piped")).expect("the script listens");
        Duration::from_nanos(self.answer("took ").parse().expect("a number"))
    }

    /// The rest of the next line that begins so; the library says other things in between.
    fn answer(&mut self, begin: &str) -> String {
        loop {
            let mut line = String::new();
            assert!(self.answers.read_line(&mut line).expect("readable") > 0, "the script ended early");
            if let Some(rest) = line.trim_end().strip_prefix(begin) {
                return rest.to_owned();
            }
        }
    }
}

impl Drop for Renderer {
    fn drop(&mut self) {
        drop(self.child.stdin.take());
        let _ = self.child.wait();
    }
}

/// Source: the binary form of STL: 80 bytes, a count, and for each triangle normal, corners and two bytes.
#[allow(clippy::cast_possible_truncation, reason = "the form holds single precision")]
fn stl(mesh: &Mesh) -> Vec<u8> {
    let mut bytes = vec![0; 80];
    bytes.extend(u32::try_from(mesh.triangles.len()).expect("few").to_le_bytes());
    for triangle in &mesh.triangles {
        bytes.extend([0; 12]);
        for corner in mesh.corners(*triangle) {
            bytes.extend([corner.x, corner.y, corner.z].into_iter().flat_map(|part| (part as f32).to_le_bytes()));
        }
        bytes.extend([0; 2]);
    }
    bytes
}

/// One person with a pin, from geometry to grey values.
fn chain(pelvis: &Pelvis) -> bool {
    let scene = Scene::of(pelvis);
    let imaging = Imaging { workers: WORKERS, ..Imaging::default() };
    let mut random = Xoshiro256PlusPlus::seed_from_u64(1);
    let mut times = Vec::new();
    for _ in 0..ROUNDS {
        let begun = Instant::now();
        black_box(picture(&scene, &pose(), &imaging, &mut random).expect("a picture"));
        times.push(begun.elapsed());
    }
    let triangles: usize = scene.bodies.iter().map(|body| body.surface.triangles.len()).sum();
    let took = median(&mut times);
    println!("whole chain, {triangles} triangles to 512 x 512: {took:?}, least {:?}", times[0]);
    println!("  target {CHAIN_MAX:?}: {}", verdict(took <= CHAIN_MAX));
    took <= CHAIN_MAX
}

/// Balls of three sizes of triangles over one raster, and one ball over three rasters; the sizes take turns.
fn growth() -> bool {
    let ball = |rings: u32| shapes::ball(Point::new(0.0, 20.0, -40.0), 80.0, rings, rings * 2);
    let balls = [ball(40), ball(80), ball(160)];
    let rasters = [256, 512, 1024].map(|side| Raster::square(side, 300.0));
    let coarse = ball(20);
    let triangles = [0, 1, 2].map(|at| (balls[at].triangles.len(), &balls[at], Raster::square(64, 300.0)));
    let pixels = [0, 1, 2].map(|at| (rasters[at].pixels(), &coarse, rasters[at]));
    grows("triangles", triangles) & grows("pixels", pixels)
}

fn grows(of_what: &str, sizes: [(usize, &Mesh, Raster); 3]) -> bool {
    let mut times = [const { Vec::new() }; 3];
    for _ in 0..ROUNDS {
        for ((_, mesh, raster), times) in sizes.iter().zip(&mut times) {
            let begun = Instant::now();
            black_box(cast(&pose(), raster, &[&[*mesh]], 1).expect("a picture"));
            times.push(begun.elapsed());
        }
    }
    let took = times.map(|mut times| {
        times.sort_unstable();
        times[0]
    });
    let each = [0, 1, 2].map(|at| took[at].as_secs_f64() / sizes[at].0 as f64);
    for at in 0..3 {
        println!("{} {of_what}: {:?}, {:.2} ns each", sizes[at].0, took[at], each[at] * 1e9);
    }
    let met = each[2] / each[0] <= GROWTH_MAX;
    println!("  target linear in {of_what}: {}", verdict(met));
    met
}

fn built() -> bool {
    let mut times: Vec<Duration> = (1..=10)
        .map(|seed| {
            let begun = Instant::now();
            black_box(Pelvis::of(&Shape::of_seed(seed)));
            begun.elapsed()
        })
        .collect();
    let (took, slowest) = (median(&mut times), times[times.len() - 1]);
    println!("a pelvis of 10 seeds: {took:?}, slowest {slowest:?}");
    println!("  target {BUILT_MAX:?}: {}", verdict(slowest <= BUILT_MAX));
    slowest <= BUILT_MAX
}

/// Sorts, and gives the middle.
fn median(times: &mut [Duration]) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}
