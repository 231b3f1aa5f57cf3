//! A picture on screen: which part of it is shown, how large, and which way dark and light go.
//!
//! Places are in columns of the picture, across and down, from the centre of its first pixel; pixels that are no squares
//! are counted down in columns too. What it does not do: it measures nothing.

use crate::ports::image::{GreyImage, Region, Window};
use brimline_ui::ImageTool;
use slint::{Image, Rgb8Pixel, SharedPixelBuffer};
use std::sync::Arc;

/// How much larger the loupe shows than the picture beside it.
const LOUPE: f64 = 2.5;
/// A touch of the keys.
const STEP: f64 = 1.5;
/// Most that a picture is enlarged against its whole.
const ZOOM_MAX: f64 = 12.0;
/// How far a key moves, in parts of what is shown.
const ALONG: f64 = 0.25;
/// From a corner to the centre of a pixel.
const HALF: f64 = 0.5;

/// How the time of a picture begins that says none of its own.
pub(super) const OPENED: &str = "opened";

/// Across and down, in columns.
pub(super) type Spot = [f64; 2];

/// A picture with the part of it on screen.
pub(super) struct Picture {
    pub image: Arc<GreyImage>,
    /// Name of its file.
    pub name: String,
    /// When it was received or opened, in words.
    pub when: String,
    window: Window,
    zoom: f64,
    middle: Spot,
    inverted: bool,
    drawn: Option<(u32, Image)>,
}

impl Picture {
    /// What a person calls it: when it was received, or the name of its file.
    pub fn words(&self) -> String {
        if self.when.starts_with(OPENED) { self.name.clone() } else { format!("received {}", self.when) }
    }

    pub fn new(image: GreyImage, name: String, when: String) -> Self {
        let window = image.default_window();
        let mut picture = Self {
            image: Arc::new(image),
            name,
            when,
            window,
            zoom: 1.0,
            middle: [0.0; 2],
            inverted: false,
            drawn: None,
        };
        picture.middle = picture.centre();
        picture
    }

    /// Where the central ray meets the picture, as far as the file tells: its middle.
    pub fn centre(&self) -> Spot {
        let [across, down] = self.size();
        [across / 2.0 - HALF, down / 2.0 - HALF]
    }

    fn size(&self) -> Spot {
        [f64::from(self.image.width), f64::from(self.image.height) * self.image.geometry.aspect()]
    }

    /// Length of a side of the square on screen, in columns.
    fn side(&self) -> f64 {
        let [across, down] = self.size();
        across.max(down) / self.zoom
    }

    /// The place under a point of the square, in parts of its sides.
    pub fn spot(&self, x: f64, y: f64) -> Spot {
        let side = self.side();
        [self.middle[0] + (x - 0.5) * side, self.middle[1] + (y - 0.5) * side]
    }

    /// Where a place stands on the square, in parts of its sides; outside 0 to 1 it is not shown.
    pub fn on_screen(&self, at: Spot) -> [f64; 2] {
        let side = self.side();
        [(at[0] - self.middle[0]) / side + 0.5, (at[1] - self.middle[1]) / side + 0.5]
    }

    pub fn use_tool(&mut self, tool: ImageTool) {
        let along = self.side() * ALONG;
        match tool {
            ImageTool::Larger => self.zoom = (self.zoom * STEP).min(ZOOM_MAX),
            ImageTool::Smaller => self.zoom = (self.zoom / STEP).max(1.0),
            ImageTool::Left => self.middle[0] -= along,
            ImageTool::Right => self.middle[0] += along,
            ImageTool::Up => self.middle[1] -= along,
            ImageTool::Down => self.middle[1] += along,
            ImageTool::Whole => (self.zoom, self.middle) = (1.0, self.centre()),
            ImageTool::Polarity => self.inverted = !self.inverted,
        }
        let size = self.size();
        for (at, length) in self.middle.iter_mut().zip(size) {
            *at = at.clamp(0.0, length);
        }
        self.drawn = None;
    }

    /// The square at `pixels` a side.
    pub fn drawn(&mut self, pixels: u32) -> Image {
        if let Some((size, image)) = &self.drawn
            && *size == pixels
        {
            return image.clone();
        }
        let image = self.square(self.middle, self.side(), pixels);
        self.drawn = Some((pixels, image.clone()));
        image
    }

    /// What lies about a place, larger, `pixels` of the `pane` a side.
    pub fn loupe(&self, at: Spot, pixels: u32, pane: u32) -> Image {
        let side = self.side() * f64::from(pixels) / f64::from(pane.max(1)) / LOUPE;
        self.square(at, side, pixels)
    }

    fn square(&self, middle: Spot, side: f64, pixels: u32) -> Image {
        let aspect = self.image.geometry.aspect();
        let (left, top) = (middle[0] + HALF - side / 2.0, (middle[1] + HALF - side / 2.0) / aspect);
        let region = Region { left, top, width: side, height: side / aspect };
        let grey = self.image.drawn(region, pixels, pixels, self.window);
        Image::from_rgb8(buffer(&grey, pixels, self.inverted))
    }
}

/// A whole square picture at `pixels` a side; made anywhere, since a buffer may change threads and an `Image` may not.
pub(super) fn whole_buffer(image: &GreyImage, pixels: u32) -> SharedPixelBuffer<Rgb8Pixel> {
    buffer(&image.drawn(image.whole(), pixels, pixels, image.default_window()), pixels, false)
}

fn buffer(grey: &[u8], pixels: u32, inverted: bool) -> SharedPixelBuffer<Rgb8Pixel> {
    let mut buffer = SharedPixelBuffer::<Rgb8Pixel>::new(pixels, pixels);
    for (pixel, grey) in buffer.make_mut_slice().iter_mut().zip(grey) {
        let shown = if inverted { 255 - grey } else { *grey };
        *pixel = Rgb8Pixel { r: shown, g: shown, b: shown };
    }
    buffer
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ports::image::Pixels;

    fn picture() -> Picture {
        let image = GreyImage::plain(200, 100, Pixels::Eight(vec![7; 20_000])).expect("a picture");
        Picture::new(image, "a".to_owned(), "10:46".to_owned())
    }

    #[test]
    fn the_whole_is_fitted_into_the_square_and_a_place_goes_there_and_back() {
        let picture = picture();
        let near = |one: Spot, other: Spot| (one[0] - other[0]).hypot(one[1] - other[1]) < 1e-9;
        assert!(near(picture.spot(0.5, 0.5), picture.centre()));
        assert!((picture.spot(0.0, 0.5)[0] + HALF).abs() < 1e-9, "the left edge is the corner of the first pixel");
        for at in [[0.0, 0.0], [10.0, 80.0], [199.0, 99.0]] {
            let [x, y] = picture.on_screen(at);
            let again = picture.spot(x, y);
            assert!(near(again, at));
        }
    }

    #[test]
    fn keys_enlarge_move_and_bring_the_whole_back() {
        let mut picture = picture();
        for tool in [ImageTool::Larger, ImageTool::Larger, ImageTool::Right, ImageTool::Down] {
            picture.use_tool(tool);
        }
        let [x, y] = picture.on_screen(picture.centre());
        assert!(x < 0.5 && y < 0.5, "what was in the middle moved up and left");
        for _ in 0..40 {
            picture.use_tool(ImageTool::Left);
            picture.use_tool(ImageTool::Smaller);
        }
        assert!(picture.on_screen(picture.centre())[0] <= 1.0, "the picture is never lost from sight");
        picture.use_tool(ImageTool::Whole);
        let [x, y] = picture.on_screen(picture.centre());
        assert!((x - 0.5).hypot(y - 0.5) < 1e-9);
    }
}
