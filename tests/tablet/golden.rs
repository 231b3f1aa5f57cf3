//! Golden images: each scene at each size, a quarter or a sixth as wide, held against the picture of the tree.
//!
//! `BRIMLINE_UPDATE=1` writes them anew; look at the difference before it is committed.

use slint::{Rgba8Pixel, SharedPixelBuffer};
use std::fs::File;
use std::io::{BufReader, BufWriter};
use std::path::{Path, PathBuf};

/// Width of a golden image, pixels: a whole part of both sizes of the tablet.
const WIDTH: u32 = 320;
/// Largest difference of a grey value. Anti-aliasing moves single steps between processors; a letter or a line that
/// changes moves tens.
const DIFFERENCE_MAX: u8 = 12;

fn path(name: &str, width: u32) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden").join(format!("{name}-{width}.png"))
}

/// Grey values, each the mean over a square of the frame.
fn reduced(frame: &SharedPixelBuffer<Rgba8Pixel>) -> (u32, Vec<u8>) {
    let square = frame.width() / WIDTH;
    let height = frame.height() / square;
    let pixels = frame.as_slice();
    let mean = |left: u32, top: u32| {
        let inside = (0..square).flat_map(|y| (0..square).map(move |x| (left + x, top + y)));
        let sum: u32 = inside
            .map(|(x, y)| {
                let pixel = pixels[(y * frame.width() + x) as usize];
                u32::from(pixel.r) + u32::from(pixel.g) + u32::from(pixel.b)
            })
            .sum();
        u8::try_from(sum / (3 * square * square)).expect("a mean of bytes is a byte")
    };
    let grey = (0..height).flat_map(|y| (0..WIDTH).map(move |x| (x, y)));
    (height, grey.map(|(x, y)| mean(x * square, y * square)).collect())
}

/// Holds a frame against its golden image, or writes it anew.
pub fn hold(name: &str, frame: &SharedPixelBuffer<Rgba8Pixel>) {
    let path = path(name, frame.width());
    let (height, grey) = reduced(frame);
    if std::env::var_os("BRIMLINE_UPDATE").is_some() {
        let mut encoder = png::Encoder::new(BufWriter::new(File::create(&path).unwrap()), WIDTH, height);
        encoder.set_color(png::ColorType::Grayscale);
        encoder.set_depth(png::BitDepth::Eight);
        encoder.write_header().unwrap().write_image_data(&grey).unwrap();
        return;
    }
    let file = File::open(&path).unwrap_or_else(|fault| panic!("{}: {fault}", path.display()));
    let mut reader = png::Decoder::new(BufReader::new(file)).read_info().unwrap();
    let mut golden = vec![0; reader.output_buffer_size().unwrap()];
    reader.next_frame(&mut golden).unwrap();
    assert_eq!(golden.len(), grey.len(), "{name}: another size than its golden image");
    let differing: Vec<usize> = (0..grey.len()).filter(|at| grey[*at].abs_diff(golden[*at]) > DIFFERENCE_MAX).collect();
    let first = differing.first().map(|at| (at % WIDTH as usize, at / WIDTH as usize));
    assert!(
        differing.is_empty(),
        "{name} at {}: {} of {} points differ from its golden image, first at {first:?} of {WIDTH} across",
        frame.width(),
        differing.len(),
        grey.len()
    );
}
