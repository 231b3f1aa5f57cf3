//! From a picture to what a screen shows: window, and resampling to the size of the place on the screen.
//!
//! Shrinking takes the average over the area a screen pixel covers, so that a thin pin does not fall between samples;
//! enlarging interpolates between the four neighbours. Both work on stored values, before the window, so that contrast
//! does not change with zoom. What it does not do: no sharpening, no edge enhancement, nothing that invents detail.

use super::{GreyImage, Pixels};

/// Which values are shown between black and white, in the modality's values.
///
/// Source: DICOM PS3.3 C.11.2.1.2, linear function.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    pub centre: f64,
    /// At least 1.
    pub width: f64,
    /// The exact linear function (C.11.2.1.3.2) in place of the older one, which gives the width one value less.
    pub exact: bool,
}

impl Window {
    /// Brightness of a value: 0 black, 1 white.
    #[must_use]
    pub fn brightness(self, value: f64) -> f64 {
        let (centre, width) =
            if self.exact { (self.centre, self.width) } else { (self.centre - 0.5, self.width - 1.0) };
        if width <= 0.0 {
            return if value <= centre { 0.0 } else { 1.0 };
        }
        ((value - centre) / width + 0.5).clamp(0.0, 1.0)
    }
}

/// A part of the picture, in pixels from its upper left corner; it may reach beyond the picture, which is shown black.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Region {
    pub left: f64,
    pub top: f64,
    /// Above 0.
    pub width: f64,
    /// Above 0.
    pub height: f64,
}

/// One share of one source pixel in a target pixel.
type Taps = Vec<(usize, f32)>;

impl GreyImage {
    /// The whole picture.
    #[must_use]
    pub fn whole(&self) -> Region {
        Region { left: 0.0, top: 0.0, width: f64::from(self.width), height: f64::from(self.height) }
    }

    /// The window the file names, or the one that holds every value of the picture but padding.
    #[must_use]
    pub fn default_window(&self) -> Window {
        self.window.unwrap_or_else(|| {
            let (low, high) = self.range();
            let (low, high) = (self.rescale.value(low), self.rescale.value(high));
            let (low, high) = (low.min(high), low.max(high));
            Window { centre: f64::midpoint(low, high), width: (high - low).max(1.0), exact: true }
        })
    }

    /// Lowest and highest stored value, padding aside.
    fn range(&self) -> (u16, u16) {
        let padding = self.padding;
        let bounds = |values: &mut dyn Iterator<Item = u16>| {
            values
                .filter(|value| Some(*value) != padding)
                .fold((u16::MAX, 0), |(low, high), value| (low.min(value), high.max(value)))
        };
        let (low, high) = match &self.pixels {
            Pixels::Eight(values) => bounds(&mut values.iter().map(|value| u16::from(*value))),
            Pixels::Sixteen(values) => bounds(&mut values.iter().copied()),
        };
        if low > high { (0, 0) } else { (low, high) }
    }

    /// The region drawn into `width` by `height` grey bytes, rows from the top; beyond the picture it is black. Empty for
    /// a region or a size that is nothing.
    #[must_use]
    pub fn drawn(&self, region: Region, width: u32, height: u32, window: Window) -> Vec<u8> {
        let sound = [region.left, region.top, region.width, region.height].iter().all(|number| number.is_finite());
        if !sound || region.width <= 0.0 || region.height <= 0.0 || width == 0 || height == 0 {
            return Vec::new();
        }
        let columns: Vec<Taps> = taps(region.left, region.width, width, self.width);
        let rows: Vec<Taps> = taps(region.top, region.height, height, self.height);
        let mut out = Vec::with_capacity(columns.len() * rows.len());
        let mut line = vec![0.0_f32; self.width as usize];
        for row in &rows {
            self.blend_rows(row, &mut line);
            out.extend(columns.iter().map(|taps| {
                if row.is_empty() || taps.is_empty() {
                    return 0;
                }
                let stored: f32 = taps.iter().map(|(at, share)| line[*at] * share).sum();
                self.grey(f64::from(stored), window)
            }));
        }
        out
    }

    /// One line of the picture as the weighted sum of the rows that `taps` names.
    fn blend_rows(&self, taps: &Taps, line: &mut [f32]) {
        line.fill(0.0);
        let width = line.len();
        for (row, share) in taps {
            let from = row * width;
            match &self.pixels {
                Pixels::Eight(values) => add(line, &values[from..from + width], *share),
                Pixels::Sixteen(values) => add(line, &values[from..from + width], *share),
            }
        }
    }

    fn grey(&self, stored: f64, window: Window) -> u8 {
        let brightness = window.brightness(self.rescale.slope.mul_add(stored, self.rescale.intercept));
        let shown = if self.low_is_white { 1.0 - brightness } else { brightness };
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 255")]
        let grey = (shown * 255.0).round() as u8;
        grey
    }
}

fn add<T: Copy + Into<f32>>(line: &mut [f32], values: &[T], share: f32) {
    for (sum, value) in line.iter_mut().zip(values) {
        *sum += (*value).into() * share;
    }
}

/// For each target pixel of one axis the source pixels it takes and their shares, which sum to 1; none beyond the
/// picture.
fn taps(from: f64, length: f64, count: u32, size: u32) -> Vec<Taps> {
    let step = length / f64::from(count);
    (0..count)
        .map(|index| {
            let begin = step.mul_add(f64::from(index), from);
            let middle = begin + step / 2.0;
            if middle < 0.0 || middle >= f64::from(size) {
                Taps::new()
            } else if step > 1.0 {
                averaged(begin, begin + step, size)
            } else {
                interpolated(middle, size)
            }
        })
        .collect()
}

/// The pixels between `begin` and `end`, each by how much of it lies between.
fn averaged(begin: f64, end: f64, size: u32) -> Taps {
    let (begin, end) = (begin.max(0.0), end.min(f64::from(size)));
    let mut taps = Taps::new();
    let mut at = begin.floor();
    while at < end {
        let covered = (at + 1.0).min(end) - at.max(begin);
        taps.push((index(at, size), share(covered / (end - begin))));
        at += 1.0;
    }
    taps
}

/// The two pixels whose centres lie around `middle`.
fn interpolated(middle: f64, size: u32) -> Taps {
    let before = (middle - 0.5).floor();
    let after = middle - 0.5 - before;
    vec![(index(before, size), share(1.0 - after)), (index(before + 1.0, size), share(after))]
}

fn index(at: f64, size: u32) -> usize {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the picture")]
    let at = at.clamp(0.0, f64::from(size - 1)) as usize;
    at
}

fn share(of: f64) -> f32 {
    #[allow(clippy::cast_possible_truncation, reason = "a share of brightness")]
    let share = of as f32;
    share
}

#[cfg(test)]
mod tests {
    use super::*;

    fn image(width: u32, values: &[u8]) -> GreyImage {
        let height = u32::try_from(values.len()).expect("small") / width;
        GreyImage::plain(width, height, Pixels::Eight(values.to_vec())).expect("a picture")
    }

    fn all() -> Window {
        Window { centre: 127.5, width: 255.0, exact: true }
    }

    /// Source: DICOM PS3.3 C.11.2.1.2.1: with centre 2048 and width 4096 the function runs from 0 to 4095 over
    /// the output; with width 1 and centre 2048 it steps at 2047.5.
    #[test]
    fn the_older_linear_window_is_one_value_narrower() {
        let window = Window { centre: 2048.0, width: 4096.0, exact: false };
        assert!(window.brightness(0.0).abs() < 1e-12 && (window.brightness(4095.0) - 1.0).abs() < 1e-12);
        let step = Window { centre: 2048.0, width: 1.0, exact: false };
        assert!(step.brightness(2047.0).abs() < 1e-12 && (step.brightness(2048.0) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn drawn_at_its_own_size_a_picture_is_itself() {
        let values: Vec<u8> = (0..12).map(|value| value * 20).collect();
        let picture = image(4, &values);
        assert_eq!(picture.drawn(picture.whole(), 4, 3, all()), values);
    }

    #[test]
    fn a_thin_bright_line_survives_shrinking_by_its_share() {
        let values: Vec<u8> = (0..8 * 8).map(|at| if at % 8 == 3 { 240 } else { 0 }).collect();
        let picture = image(8, &values);
        assert_eq!(picture.drawn(picture.whole(), 2, 2, all()), [60, 0, 60, 0]);
    }

    #[test]
    fn enlarging_interpolates_between_centres_and_keeps_the_ends() {
        let picture = image(2, &[0, 200]);
        assert_eq!(picture.drawn(picture.whole(), 4, 1, all()), [0, 50, 150, 200]);
    }

    #[test]
    fn beyond_the_picture_it_is_black_and_a_region_is_placed_exactly() {
        let picture = image(2, &[100, 200]);
        let region = Region { left: -1.0, top: 0.0, width: 4.0, height: 1.0 };
        assert_eq!(picture.drawn(region, 4, 1, all()), [0, 100, 200, 0]);
        let nothing = Region { width: 0.0, ..region };
        assert_eq!(picture.drawn(nothing, 4, 1, all()), Vec::<u8>::new());
    }

    #[test]
    fn low_is_white_turns_the_picture_over_and_padding_does_not_widen_the_window() {
        let mut picture = image(3, &[0, 100, 200]);
        picture.padding = Some(0);
        let window = picture.default_window();
        assert!((window.centre - 150.0).abs() < 1e-12 && (window.width - 100.0).abs() < 1e-12);
        picture.low_is_white = true;
        assert_eq!(picture.drawn(picture.whole(), 3, 1, window), [255, 255, 0]);
    }
}
