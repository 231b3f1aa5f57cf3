//! The pixels of a detector.

/// Square pixels over the detector's plane, centred on the detector's centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Raster {
    pub columns: usize,
    pub rows: usize,
    /// Side of a pixel at the detector, mm, positive.
    pub pitch_mm: f64,
}

impl Raster {
    /// A square raster of `side` pixels over `field_mm` of detector.
    #[must_use]
    pub fn square(side: usize, field_mm: f64) -> Self {
        Self { columns: side, rows: side, pitch_mm: field_mm / side as f64 }
    }

    #[must_use]
    pub fn pixels(&self) -> usize {
        self.columns * self.rows
    }

    /// Centre of a pixel from the detector's centre, mm: across, down.
    #[must_use]
    pub fn centre_of(&self, column: usize, row: usize) -> (f64, f64) {
        let from_middle = |at: usize, of: usize| (at as f64 + 0.5 - of as f64 / 2.0) * self.pitch_mm;
        (from_middle(column, self.columns), from_middle(row, self.rows))
    }

    /// Place in pixels, the left upper corner of the raster being 0, 0, of a place on the detector, mm.
    #[must_use]
    pub fn place_of(&self, across_mm: f64, down_mm: f64) -> (f64, f64) {
        let from_corner = |mm: f64, of: usize| mm / self.pitch_mm + of as f64 / 2.0;
        (from_corner(across_mm, self.columns), from_corner(down_mm, self.rows))
    }
}
