//! Every scene is drawn at both sizes. With `BRIMLINE_LOOKS` naming a folder the frames are written there.

use crate::golden;
use crate::scenes::{SCENES, Scene};
use crate::stage::{SIZES, Stage};
use slint::{Rgba8Pixel, SharedPixelBuffer};
use std::collections::BTreeSet;
use std::fs::File;
use std::io::BufWriter;
use std::path::Path;
use std::thread;

/// A frame with words on it has many shades, an empty one has one.
const SHADES_MIN: usize = 32;
/// One pixel in so many; no divisor of a frame's width, so that the sample crosses the columns.
const SAMPLED: usize = 17;

/// [R-TABLET-4] [R-TABLET-8]
#[test]
fn every_scene_is_drawn_at_both_sizes_without_a_warning() {
    draw_each(SCENES);
}

/// Draws each scene at both sizes: no frame is empty, and the toolkit warns of nothing.
pub fn draw_each(scenes: &'static [Scene]) {
    for size in SIZES {
        for scene in scenes {
            let draw = move || {
                let stage = Stage::open(size);
                (scene.set)(&stage.app);
                let frame = stage.frame();
                assert_eq!((frame.width(), frame.height()), (size.0, size.1), "{}", scene.name);
                assert!(shades(&frame) >= SHADES_MIN, "{} is empty", scene.name);
                assert_eq!(stage.warnings(), Vec::<String>::new(), "{}", scene.name);
                golden::hold(scene.name, &frame);
                keep(scene.name, &frame);
            };
            thread::spawn(draw).join().expect("the scene is drawn");
        }
    }
}

/// Looks at a sample: every pixel of every frame would take longer than drawing them.
fn shades(frame: &SharedPixelBuffer<Rgba8Pixel>) -> usize {
    frame.as_slice().iter().step_by(SAMPLED).map(|pixel| (pixel.r, pixel.g, pixel.b)).collect::<BTreeSet<_>>().len()
}

pub fn keep(name: &str, frame: &SharedPixelBuffer<Rgba8Pixel>) {
    let Some(folder) = std::env::var_os("BRIMLINE_LOOKS") else { return };
    let path = Path::new(&folder).join(format!("{name}-{}.png", frame.width()));
    let file = BufWriter::new(File::create(path).expect("the folder exists"));
    let mut encoder = png::Encoder::new(file, frame.width(), frame.height());
    encoder.set_color(png::ColorType::Rgba);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header().expect("a header is written");
    writer.write_image_data(frame.as_bytes()).expect("a frame is written");
}
