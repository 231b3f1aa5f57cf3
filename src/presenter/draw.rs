//! Draws every screen into a PNG file, with example contents, without a window system.

use crate::commands::{COULD_NOT, YES};
use brimline_ui::{AppWindow, Place, Shell};
use slint::platform::software_renderer::{MinimalSoftwareWindow, PremultipliedRgbaColor, RepaintBufferType};
use slint::platform::{Platform, PlatformError, WindowAdapter};
use slint::{ComponentHandle, PhysicalSize};
use std::io::BufWriter;
use std::path::Path;
use std::rc::Rc;

/// The size drawn, pixels: the smaller of the two tablets.
const SIZE: PhysicalSize = PhysicalSize { width: 1280, height: 800 };

/// The screens and the names of their files.
const SCREENS: [(Place, &str); 25] = [
    (Place::FirstStart, "first-start"),
    (Place::Home, "home"),
    (Place::SetUp, "set-up"),
    (Place::Plan, "plan"),
    (Place::Measure, "measure"),
    (Place::Returning, "returning"),
    (Place::Operate, "operate"),
    (Place::Gate, "gate"),
    (Place::Stop, "stop"),
    (Place::Ending, "ending"),
    (Place::Dose, "dose"),
    (Place::Pin, "pin"),
    (Place::Correct, "correct"),
    (Place::ReAim, "re-aim"),
    (Place::SignOff, "sign-off"),
    (Place::Record, "record"),
    (Place::Addendum, "addendum"),
    (Place::People, "people"),
    (Place::Settings, "settings"),
    (Place::About, "about"),
    (Place::Review, "review"),
    (Place::Target, "target"),
    (Place::Rehearse, "rehearse"),
    (Place::Exercise, "exercise"),
    (Place::Debrief, "debrief"),
];

struct Canvas {
    window: Rc<MinimalSoftwareWindow>,
}

impl Platform for Canvas {
    fn create_window_adapter(&self) -> Result<Rc<dyn WindowAdapter>, PlatformError> {
        Ok(self.window.clone())
    }
}

/// Draws the screens into a folder; returns the exit code.
pub(super) fn run(folder: &Path) -> u8 {
    match draw(folder) {
        Ok(()) => YES,
        Err(fault) => {
            eprintln!("brimline: {}: {fault}", folder.display());
            COULD_NOT
        }
    }
}

fn draw(folder: &Path) -> Result<(), Box<dyn std::error::Error>> {
    std::fs::create_dir_all(folder)?;
    let canvas = MinimalSoftwareWindow::new(RepaintBufferType::NewBuffer);
    slint::platform::set_platform(Box::new(Canvas { window: canvas.clone() }))?;
    let window = AppWindow::new()?;
    canvas.set_size(SIZE);
    window.show()?;
    for (place, name) in SCREENS {
        window.global::<Shell>().set_place(place);
        canvas.request_redraw();
        let pixels = (SIZE.width * SIZE.height) as usize;
        let mut frame = vec![PremultipliedRgbaColor::default(); pixels];
        slint::platform::update_timers_and_animations();
        canvas.draw_if_needed(|renderer| {
            renderer.render(&mut frame, SIZE.width as usize);
        });
        keep(&folder.join(format!("{name}.png")), &frame)?;
    }
    Ok(())
}

fn keep(path: &Path, frame: &[PremultipliedRgbaColor]) -> Result<(), Box<dyn std::error::Error>> {
    let bytes: Vec<u8> = frame.iter().flat_map(|pixel| [pixel.red, pixel.green, pixel.blue]).collect();
    let mut encoder = png::Encoder::new(BufWriter::new(std::fs::File::create(path)?), SIZE.width, SIZE.height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.write_header()?.write_image_data(&bytes)?;
    Ok(())
}
