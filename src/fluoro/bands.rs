//! Whole rows of a picture shared among workers.
//!
//! What it does not do: no two rows are ever mixed, so that a picture does not depend on how many workers made it.

/// Calls `work` on about as many runs of whole rows as there are `workers`, side by side; each learns its first row.
pub fn in_bands<T: Send>(pixels: &mut [T], columns: usize, workers: usize, work: impl Fn(usize, &mut [T]) + Sync) {
    let columns = columns.max(1);
    let rows = (pixels.len() / columns).div_ceil(workers.max(1)).max(1);
    std::thread::scope(|scope| {
        let mut bands = pixels.chunks_mut(rows * columns).enumerate();
        let mine = bands.next();
        for (at, band) in bands {
            let work = &work;
            scope.spawn(move || work(at * rows, band));
        }
        if let Some((_, band)) = mine {
            work(0, band);
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_worked_on_once_and_knows_its_number() {
        for workers in [1, 2, 3, 7, 50] {
            let mut pixels = vec![0_usize; 5 * 11];
            in_bands(&mut pixels, 5, workers, |first, band| {
                for (at, row) in band.chunks_exact_mut(5).enumerate() {
                    for pixel in row {
                        *pixel += first + at + 1;
                    }
                }
            });
            let wanted: Vec<usize> = (0..11).flat_map(|row| [row + 1; 5]).collect();
            assert_eq!(pixels, wanted, "{workers} workers");
        }
        in_bands(&mut [0_u8; 0], 0, 2, |_, band| assert!(band.is_empty()));
    }
}
