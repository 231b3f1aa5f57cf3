//! From the detector's signal to grey values: window, polarity, mirror and turn, as a console shows them.
//!
//! What it does not do: no annotation and no scaling to a screen.

use super::bands::in_bands;
use super::curves::ln;
use super::exposure::Signal;
use super::smooth::Coarse;

/// Which way round the greys run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Polarity {
    /// As fluoroscopy shows it: what absorbs is dark.
    #[default]
    DenseDark,
    /// As a radiograph shows it: what absorbs is bright.
    DenseBright,
}

/// Signals shown as black and as white, as natural logarithms of the signal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    pub black: f32,
    pub white: f32,
}

/// Shares of the pixels that an automatic window lets go black and white; common practice, no source.
const CLIPPED: (f64, f64) = (0.005, 0.02);

/// The automatic window looks at one pixel in this many, which lie spread over rows and columns alike.
const LOOKED_AT: usize = 7;

impl Window {
    /// From the signals within the middle of the picture, all but the outermost shares. What lies in the corners, often
    /// open beam, does not count: the middle is a disc of 0.87 times the field.
    #[must_use]
    pub fn automatic(signal: &Signal) -> Self {
        Self::over(signal.columns, &logarithms(signal, 1))
    }

    fn over(columns: usize, logs: &[f32]) -> Self {
        let rows = logs.len() / columns.max(1);
        let middle = |at: usize| {
            let (x, y) = (2 * (at % columns) + 1, 2 * (at / columns) + 1);
            let (x, y) = (x.abs_diff(columns), y.abs_diff(rows));
            4 * (x * x + y * y) <= 3 * columns.min(rows).pow(2)
        };
        let mut seen: Vec<f32> =
            (0..logs.len()).step_by(LOOKED_AT).filter(|at| middle(*at)).map(|at| logs[at]).collect();
        let at = |share: f64| ((seen.len().max(1) - 1) as f64 * share) as usize;
        let (low, high) = (at(CLIPPED.0), at(1.0 - CLIPPED.1));
        if seen.is_empty() {
            return Self { black: -1.0, white: 1.0 };
        }
        let black = *seen.select_nth_unstable_by(low, f32::total_cmp).1;
        let white = *seen.select_nth_unstable_by(high, f32::total_cmp).1;
        Self { black, white: white.max(black + f32::EPSILON) }
    }
}

/// Grey values, 0 black to 255 white, row by row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shown {
    pub columns: usize,
    pub rows: usize,
    pub greys: Vec<u8>,
}

impl Shown {
    /// The signal through a window.
    #[must_use]
    pub fn new(signal: &Signal, window: Window, polarity: Polarity) -> Self {
        Self::through(signal.columns, signal.rows, &logarithms(signal, 1), window, polarity, 1)
    }

    /// As a console does by itself: the slow change over the picture taken down by the share `levelling` (0 to 1), so
    /// that thick and thin parts show their detail at once, then the automatic window. `reach`: standard deviation, in
    /// pixels, of what counts as slow. `workers`: threads to share the rows; the picture does not depend on how many.
    #[must_use]
    pub fn levelled(signal: &Signal, levelling: f32, reach: f64, polarity: Polarity, workers: usize) -> Self {
        let mut logs = logarithms(signal, workers);
        if levelling > 0.0 {
            let slow = Coarse::smoothed(&logs, signal.columns, reach, workers);
            in_bands(&mut logs, signal.columns, workers, |first, band| {
                for (row, line) in (first..).zip(band.chunks_exact_mut(signal.columns.max(1))) {
                    slow.onto(row, line, |log, slow| *log -= levelling * slow);
                }
            });
        }
        let window = Window::over(signal.columns, &logs);
        Self::through(signal.columns, signal.rows, &logs, window, polarity, workers)
    }

    fn through(columns: usize, rows: usize, logs: &[f32], window: Window, polarity: Polarity, workers: usize) -> Self {
        let per_grey = 255.0 / (window.white - window.black);
        let (from, by) = match polarity {
            Polarity::DenseDark => (-window.black * per_grey, per_grey),
            Polarity::DenseBright => (255.0 + window.black * per_grey, -per_grey),
        };
        let mut greys = vec![0; logs.len()];
        in_bands(&mut greys, columns, workers, |first, band| {
            // A cast holds what lies beyond black or white.
            band.iter_mut().zip(&logs[first * columns..]).for_each(|(grey, log)| *grey = (log * by + from) as u8);
        });
        Self { columns, rows, greys }
    }

    /// Left and right exchanged.
    #[must_use]
    pub fn mirrored(mut self) -> Self {
        self.greys.chunks_exact_mut(self.columns.max(1)).for_each(<[u8]>::reverse);
        self
    }

    /// Turned clockwise by `degrees` about its middle; what comes from outside is black.
    #[must_use]
    pub fn turned(&self, degrees: f64) -> Self {
        let (sine, cosine) = degrees.to_radians().sin_cos();
        let (middle_x, middle_y) = (self.columns as f64 / 2.0, self.rows as f64 / 2.0);
        let mut greys = Vec::with_capacity(self.greys.len());
        for row in 0..self.rows {
            for column in 0..self.columns {
                let (x, y) = (column as f64 + 0.5 - middle_x, row as f64 + 0.5 - middle_y);
                greys.push(self.sampled(x * cosine + y * sine + middle_x, y * cosine - x * sine + middle_y));
            }
        }
        Self { columns: self.columns, rows: self.rows, greys }
    }

    /// Grey at a place in pixels, between the four around it.
    fn sampled(&self, x: f64, y: f64) -> u8 {
        let (x, y) = (x - 0.5, y - 0.5);
        let (left, above) = (x.floor(), y.floor());
        let grey = |column: f64, row: f64| {
            let inside = column >= 0.0 && row >= 0.0 && column < self.columns as f64 && row < self.rows as f64;
            if inside { f64::from(self.greys[row as usize * self.columns + column as usize]) } else { 0.0 }
        };
        let (part_x, part_y) = (x - left, y - above);
        let upper = grey(left, above) * (1.0 - part_x) + grey(left + 1.0, above) * part_x;
        let lower = grey(left, above + 1.0) * (1.0 - part_x) + grey(left + 1.0, above + 1.0) * part_x;
        (upper * (1.0 - part_y) + lower * part_y).round() as u8
    }
}

/// Least signal that has a logarithm here: a millionth of the mean.
const LEAST: f32 = 1e-6;

fn logarithms(signal: &Signal, workers: usize) -> Vec<f32> {
    let mut logs = signal.values.clone();
    in_bands(&mut logs, signal.columns, workers, |_, band| {
        for value in band {
            *value = ln(if *value > LEAST { *value } else { LEAST });
        }
    });
    logs
}
