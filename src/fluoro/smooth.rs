//! Gaussian smoothing by rows and columns, edges held.

use super::bands::in_bands;

/// Smooths a picture of `columns` by a Gaussian of standard deviation `sigma` pixels; no change at 0 or less.
///
/// The kernel reaches three standard deviations and sums to one; beyond the picture its edge goes on. `workers`: threads
/// to share the rows; the picture does not depend on how many.
pub fn gaussian(pixels: &mut [f32], columns: usize, sigma: f64, workers: usize) {
    if sigma.is_nan() || sigma <= 0.0 || pixels.is_empty() || columns == 0 {
        return;
    }
    let kernel = kernel(sigma);
    let reach = kernel.len() - 1;
    in_bands(pixels, columns, workers, |_, band| {
        let mut padded = Vec::new();
        for row in band.chunks_exact_mut(columns) {
            along(row, &kernel, reach, &mut padded);
        }
    });
    let source = pixels.to_vec();
    in_bands(pixels, columns, workers, |first, band| down(&source, columns, &kernel, first, band));
}

/// Weights from the middle outward.
fn kernel(sigma: f64) -> Vec<f32> {
    let reach = (3.0 * sigma).ceil() as usize;
    let weight = |at: usize| (-0.5 * (at as f64 / sigma).powi(2)).exp();
    let whole: f64 = weight(0) + 2.0 * (1..=reach).map(weight).sum::<f64>();
    (0..=reach).map(|at| (weight(at) / whole) as f32).collect()
}

fn along(row: &mut [f32], kernel: &[f32], reach: usize, padded: &mut Vec<f32>) {
    let (first, last) = (row[0], row[row.len() - 1]);
    padded.clear();
    padded.extend(std::iter::repeat_n(first, reach));
    padded.extend_from_slice(row);
    padded.extend(std::iter::repeat_n(last, reach));
    let width = row.len();
    row.iter_mut().zip(&padded[reach..]).for_each(|(cell, here)| *cell = kernel[0] * here);
    for (at, weight) in kernel.iter().enumerate().skip(1) {
        let (before, after) = (&padded[reach - at..][..width], &padded[reach + at..][..width]);
        row.iter_mut()
            .zip(before.iter().zip(after))
            .for_each(|(cell, (before, after))| *cell += weight * (before + after));
    }
}

/// Whole rows at a time, so that the sums run along memory; `out` begins with row `first` of `source`.
fn down(source: &[f32], columns: usize, kernel: &[f32], first: usize, out: &mut [f32]) {
    let rows = source.len() / columns;
    let row_of = |row: usize| &source[row * columns..][..columns];
    for (row, out) in (first..).zip(out.chunks_exact_mut(columns)) {
        out.iter_mut().zip(row_of(row)).for_each(|(cell, here)| *cell = kernel[0] * here);
        for (at, weight) in kernel.iter().enumerate().skip(1) {
            let (above, below) = (row_of(row.saturating_sub(at)), row_of((row + at).min(rows - 1)));
            out.iter_mut()
                .zip(above.iter().zip(below))
                .for_each(|(cell, (above, below))| *cell += weight * (above + below));
        }
    }
}

/// Pixels along the side of a cell on which what knows no detail is smoothed.
const CELL: usize = 8;

/// A picture under a wide Gaussian, computed on cells and read between them, row by row.
pub struct Coarse {
    cells: Vec<f32>,
    across: usize,
    down: usize,
    rows: usize,
    /// For each column the two cells around it, and how far toward the second it lies.
    places: Vec<(usize, usize, f32)>,
}

impl Coarse {
    /// `sigma`: standard deviation, pixels. `workers`: threads to share the rows; the result does not depend on how many.
    pub fn smoothed(pixels: &[f32], columns: usize, sigma: f64, workers: usize) -> Self {
        let rows = pixels.len() / columns.max(1);
        let (across, down) = (columns.div_ceil(CELL), rows.div_ceil(CELL));
        let mut cells = vec![0.0_f32; across * down];
        in_bands(&mut cells, across, workers, |first, band| {
            let pixels = pixels.chunks(CELL * columns.max(1)).skip(first);
            for (cells, pixels) in band.chunks_exact_mut(across.max(1)).zip(pixels) {
                means(cells, pixels, columns);
            }
        });
        gaussian(&mut cells, across, sigma / CELL as f64, 1);
        let places = (0..columns).map(|column| between(column, across)).collect();
        Self { cells, across, down, rows, places }
    }

    /// Calls `with` for each pixel of that row and the smooth picture's value there.
    pub fn onto(&self, row: usize, pixels: &mut [f32], with: impl Fn(&mut f32, f32)) {
        let (above, below, part) = between(row, self.down);
        let (upper, lower) = (&self.cells[above * self.across..], &self.cells[below * self.across..]);
        let line: Vec<f32> =
            upper.iter().zip(lower).take(self.across).map(|(upper, lower)| upper + (lower - upper) * part).collect();
        for (pixel, (left, right, part)) in pixels.iter_mut().zip(&self.places) {
            with(pixel, line[*left] + (line[*right] - line[*left]) * part);
        }
    }

    /// Sum of the smooth picture over all pixels.
    pub fn sum(&self) -> f64 {
        let mut share_of = vec![0.0_f64; self.across];
        for &(left, right, part) in &self.places {
            share_of[left] += 1.0 - f64::from(part);
            share_of[right] += f64::from(part);
        }
        let of_line = |line: usize| {
            let cells = &self.cells[line * self.across..][..self.across];
            cells.iter().zip(&share_of).map(|(cell, share)| f64::from(*cell) * share).sum::<f64>()
        };
        let sums: Vec<f64> = (0..self.down).map(of_line).collect();
        let rows = (0..self.rows).map(|row| between(row, self.down));
        rows.map(|(above, below, part)| sums[above] + (sums[below] - sums[above]) * f64::from(part)).sum()
    }
}

/// Means of the cells that a few rows of pixels make.
fn means(cells: &mut [f32], pixels: &[f32], columns: usize) {
    let rows = pixels.len() / columns;
    for row in pixels.chunks_exact(columns) {
        cells.iter_mut().zip(row.chunks(CELL)).for_each(|(cell, pixels)| *cell += pixels.iter().sum::<f32>());
    }
    for (cell, first) in cells.iter_mut().zip((0..columns).step_by(CELL)) {
        *cell /= (rows * CELL.min(columns - first)) as f32;
    }
}

/// The two coarse cells whose centres lie around a pixel, and how far toward the second it lies.
fn between(pixel: usize, cells: usize) -> (usize, usize, f32) {
    let place = ((pixel as f32 + 0.5) / CELL as f32 - 0.5).clamp(0.0, (cells - 1) as f32);
    let first = place as usize;
    (first, (first + 1).min(cells - 1), place - first as f32)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn smoothing_keeps_a_flat_picture_and_the_sum_of_a_spot() {
        let mut flat = vec![2.0_f32; 40 * 30];
        gaussian(&mut flat, 40, 2.0, 3);
        assert!(flat.iter().all(|cell| (cell - 2.0).abs() < 1e-5));
        let mut spot = vec![0.0_f32; 41 * 41];
        spot[20 * 41 + 20] = 1.0;
        gaussian(&mut spot, 41, 2.0, 2);
        assert!((spot.iter().sum::<f32>() - 1.0).abs() < 1e-5);
        // Source: the Gaussian density at its middle, 1 / (2 pi sigma²) = 0.0398 for sigma 2; the kernel ends at three
        // standard deviations, which adds 0.5 %.
        assert!((spot[20 * 41 + 20] - 0.0398).abs() < 0.0004, "{}", spot[20 * 41 + 20]);
    }

    #[test]
    fn what_is_smoothed_coarsely_sums_to_its_rows_and_keeps_a_flat_picture() {
        let pixels: Vec<f32> = (0..37 * 29).map(|at| (at % 37) as f32 + (at / 37) as f32 * 0.5).collect();
        let coarse = Coarse::smoothed(&pixels, 37, 6.0, 2);
        let mut fine = vec![0.0_f32; 37 * 29];
        for (row, line) in fine.chunks_exact_mut(37).enumerate() {
            coarse.onto(row, line, |pixel, smooth| *pixel = smooth);
        }
        let sum: f64 = fine.iter().map(|pixel| f64::from(*pixel)).sum();
        assert!((coarse.sum() / sum - 1.0).abs() < 1e-6, "{} {sum}", coarse.sum());
        let flat = Coarse::smoothed(&[3.0; 37 * 29], 37, 6.0, 1);
        flat.onto(28, &mut fine[..37], |pixel, smooth| *pixel = smooth);
        assert!(fine[..37].iter().all(|pixel| (pixel - 3.0).abs() < 1e-5));
    }
}
