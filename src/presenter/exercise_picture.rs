//! Pictures of shots: drawn beside the window, resampled there to the size they are shown at.
//!
//! What comes back for a shot that another followed, or for a rehearsal that was left, is dropped. What it does not do:
//! no picture is kept but the one that hangs; the debrief has each drawn again, the same to the last grey value.

use super::app::{Shared, window};
use super::picture::whole_buffer;
use super::{around, debrief, exercise, pin_view};
use crate::fluoro;
use crate::pelvis::Pelvis;
use crate::ports::image::{GreyImage, Pixels};
use crate::rehearse::{Shot, imaging, picture};
use slint::{ComponentHandle, Image, Rgb8Pixel, SharedPixelBuffer};
use std::sync::Arc;

/// Pixels of the detector each way.
pub(super) const DETECTOR: usize = 512;
/// A side of the picture on the exercise's screen.
pub(super) const PANE: f64 = 494.0;

/// What a picture is made of.
pub(super) struct Asked {
    pub solids: Arc<Pelvis>,
    pub shot: Shot,
    pub seed: u32,
    /// A side, pixels of the screen.
    pub pixels: u32,
}

/// A picture of a shot, as a window takes it.
pub(super) fn drawn(asked: &Asked) -> Result<SharedPixelBuffer<Rgb8Pixel>, String> {
    let imaging = imaging(&asked.shot, DETECTOR, 1);
    let shown = picture(&asked.solids, &asked.shot, asked.seed, &imaging).map_err(|fault| fault.to_string())?;
    buffer(shown, asked.pixels)
}

/// Grey values resampled to that many pixels of the screen.
pub(super) fn buffer(shown: fluoro::Shown, pixels: u32) -> Result<SharedPixelBuffer<Rgb8Pixel>, String> {
    let side = |length: usize| u32::try_from(length).map_err(|fault| fault.to_string());
    let (width, height) = (side(shown.columns)?, side(shown.rows)?);
    let grey = GreyImage::plain(width, height, Pixels::Eight(shown.greys)).ok_or("the picture has no size")?;
    Ok(whole_buffer(&grey, pixels))
}

/// Length on the screen in its own pixels.
pub(super) fn pixels(app: &Shared, length: f64) -> u32 {
    let scale = window(app).map_or(1.0, |window| f64::from(window.window().scale_factor()));
    pin_view::whole(length * scale)
}

/// Draws the last shot, unless its picture hangs already.
pub(super) fn want(app: &Shared) {
    let pixels = pixels(app, PANE);
    let around = around::of(app);
    let asked = around.rehearsing.borrow().as_ref().and_then(|running| {
        let shot = running.session.shots().last()?.clone();
        let hangs = running.picture.as_ref().is_some_and(|(number, _)| *number == shot.number);
        let (solids, seed) = (running.solids.clone(), running.session.exercise().seed);
        (!hangs && running.live.is_none()).then_some(Asked { solids, shot, seed, pixels })
    });
    let Some(asked) = asked else { return };
    let (number, of) = (asked.shot.number, asked.solids.clone());
    around.drawing.run(
        app,
        move || drawn(&asked),
        move |app, drawn| {
            keep(app, number, &of, drawn);
            // The debrief may have asked meanwhile, for another picture of the same rehearsal.
            debrief::want(app);
            want(app);
        },
    );
}

fn keep(app: &Shared, number: u32, of: &Arc<Pelvis>, drawn: Result<SharedPixelBuffer<Rgb8Pixel>, String>) {
    {
        let around = around::of(app);
        let mut running = around.rehearsing.borrow_mut();
        // Of a rehearsal that was left meanwhile nothing hangs.
        let Some(running) = running.as_mut().filter(|running| Arc::ptr_eq(&running.solids, of)) else { return };
        match drawn {
            Ok(buffer) => running.picture = Some((number, Image::from_rgb8(buffer))),
            Err(fault) => {
                running.picture = Some((number, Image::default()));
                (running.told, running.heed) = (format!("The picture cannot be drawn: {fault}"), true);
            }
        }
    }
    exercise::fill(app);
}
