//! Gaussian smoothing by rows and columns, edges held.

/// Smooths a picture of `columns` by a Gaussian of standard deviation `sigma` pixels; no change at 0 or less.
///
/// The kernel reaches three standard deviations and sums to one; beyond the picture its edge goes on.
pub fn gaussian(pixels: &mut [f32], columns: usize, sigma: f64) {
    if sigma.is_nan() || sigma <= 0.0 || pixels.is_empty() || columns == 0 {
        return;
    }
    let kernel = kernel(sigma);
    let reach = kernel.len() - 1;
    let mut padded = Vec::new();
    for row in pixels.chunks_exact_mut(columns) {
        along(row, &kernel, reach, &mut padded);
    }
    down(pixels, columns, &kernel);
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

/// Whole rows at a time, so that the sums run along memory.
fn down(pixels: &mut [f32], columns: usize, kernel: &[f32]) {
    let rows = pixels.len() / columns;
    let source = pixels.to_vec();
    let row_of = |row: usize| &source[row * columns..][..columns];
    for (row, out) in pixels.chunks_exact_mut(columns).enumerate() {
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

/// A wide Gaussian of standard deviation `sigma` pixels, computed on cells of the picture and read between them.
pub fn smoothed_coarsely(pixels: &[f32], columns: usize, rows: usize, sigma: f64) -> Vec<f32> {
    let (across, down) = (columns.div_ceil(CELL), rows.div_ceil(CELL));
    let mut coarse = vec![0.0_f32; across * down];
    let mut counts = vec![0.0_f32; across * down];
    for (at, row) in pixels.chunks_exact(columns.max(1)).enumerate() {
        for (cells, first) in row.chunks(CELL).zip(at / CELL * across..) {
            coarse[first] += cells.iter().sum::<f32>();
            counts[first] += cells.len() as f32;
        }
    }
    coarse.iter_mut().zip(&counts).for_each(|(cell, count)| *cell /= count);
    gaussian(&mut coarse, across, sigma / CELL as f64);
    let places: Vec<_> = (0..columns).map(|column| between(column, across)).collect();
    let mut fine = Vec::with_capacity(columns * rows);
    let mut line = vec![0.0_f32; across];
    for row in 0..rows {
        let (above, below, part) = between(row, down);
        let (upper, lower) = (&coarse[above * across..][..across], &coarse[below * across..][..across]);
        for (cell, (upper, lower)) in line.iter_mut().zip(upper.iter().zip(lower)) {
            *cell = upper + (lower - upper) * part;
        }
        fine.extend(places.iter().map(|(left, right, part)| line[*left] + (line[*right] - line[*left]) * part));
    }
    fine
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
        gaussian(&mut flat, 40, 2.0);
        assert!(flat.iter().all(|cell| (cell - 2.0).abs() < 1e-5));
        let mut spot = vec![0.0_f32; 41 * 41];
        spot[20 * 41 + 20] = 1.0;
        gaussian(&mut spot, 41, 2.0);
        assert!((spot.iter().sum::<f32>() - 1.0).abs() < 1e-5);
        // Source: the Gaussian density at its middle, 1 / (2 pi sigma²) = 0.0398 for sigma 2; the kernel ends at three
        // standard deviations, which adds 0.5 %.
        assert!((spot[20 * 41 + 20] - 0.0398).abs() < 0.0004, "{}", spot[20 * 41 + 20]);
    }
}
