//! Opening a picture: a DICOM file of 2,048 by 2,048 pixels of 16 bits, from the disk to the square on screen.
//!
//! Floor and subject take turns in one run: the floor reads the file and copies its pixels. Exit 1 if the median of the
//! subject is over [`OPEN_MAX`]. An unoptimised build says so and proves nothing.

use brimline::adapters::images::ImageFiles;
use brimline::ports::image::{FILE_BYTES_MAX, GreyImage, ImageReader};
use brimline::{adapters::files::RealDisk, ports::Disk};
use std::hint::black_box;
use std::path::Path;
use std::process::ExitCode;
use std::time::{Duration, Instant};

const SIDE: u32 = 2_048;
/// Pixels of the square on the larger tablet.
const SHOWN: u32 = 600;
const ROUNDS: usize = 15;
/// The target of the project.
const OPEN_MAX: Duration = Duration::from_millis(150);

/// The sample that is made as large: its head stays, rows, columns and pixels are put in anew.
const SAMPLE: &[u8] = include_bytes!("../vectors/images/xa-prone-inlet.dcm");

/// Where an element of explicit little endian begins.
fn element(bytes: &[u8], group: u16, element: u16) -> usize {
    let tag = [group.to_le_bytes(), element.to_le_bytes()].concat();
    bytes.windows(4).rposition(|window| window == tag).expect("the sample has it")
}

fn large() -> Vec<u8> {
    let mut bytes = SAMPLE.to_vec();
    let side = u16::try_from(SIDE).expect("16 bits").to_le_bytes();
    for (group, number) in [(0x0028, 0x0010), (0x0028, 0x0011)] {
        let at = element(&bytes, group, number) + 8;
        bytes[at..at + 2].copy_from_slice(&side);
    }
    let at = element(&bytes, 0x7fe0, 0x0010);
    bytes.truncate(at + 8);
    let length = SIDE * SIDE * 2;
    bytes.extend(length.to_le_bytes());
    bytes.extend((0..SIDE * SIDE).flat_map(|at| u16::try_from(at % 4_001).expect("16 bits").to_le_bytes()));
    bytes
}

fn open(path: &Path) -> GreyImage {
    let bytes = RealDisk.read(path, FILE_BYTES_MAX).expect("a file");
    ImageFiles.read(&bytes).expect("a picture")
}

fn main() -> ExitCode {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("large.dcm");
    std::fs::write(&path, large()).expect("written");
    let (mut floor, mut opened, mut shown) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        floor.push(timed(|| {
            let bytes = std::fs::read(&path).expect("a file");
            bytes.chunks_exact(2).map(|two| u16::from_le_bytes([two[0], two[1]])).collect::<Vec<u16>>()
        }));
        opened.push(timed(|| open(black_box(&path))));
        let image = open(&path);
        assert_eq!((image.width, image.height), (SIDE, SIDE));
        shown.push(timed(|| image.drawn(image.whole(), SHOWN, SHOWN, image.default_window())));
    }
    let (floor, opened, shown) = (median(&mut floor), median(&mut opened), median(&mut shown));
    let met = opened + shown <= OPEN_MAX;
    println!("read and copied, median of {ROUNDS}: {floor:?}");
    println!("opened as a picture:           {opened:?}");
    println!("drawn at {SHOWN} by {SHOWN}:           {shown:?}");
    println!("target for both {OPEN_MAX:?}: {}", if met { "met" } else { "MISSED" });
    if cfg!(debug_assertions) {
        println!("unoptimised build: these figures prove nothing");
    }
    ExitCode::from(u8::from(!met))
}

fn timed<T>(what: impl FnOnce() -> T) -> Duration {
    let begun = Instant::now();
    black_box(what());
    begun.elapsed()
}

/// Sorts, and gives the middle.
fn median(times: &mut [Duration]) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}
