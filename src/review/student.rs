//! The quantile of Student's distribution that intervals of 95 % need, and no other.

use super::quantile::count;

/// The normal quantile at 97.5 %.
const Z_975: f64 = 1.959_963_984_540_054;

/// The quantile at 97.5 % for 3 degrees of freedom or more; fewer are taken for 3.
///
/// Source: Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.5. Its fifth term is left out: from 9
/// degrees on the error is below 0.0001, and a curve is fitted from 12 cases on.
#[must_use]
pub fn t_975(freedom: usize) -> f64 {
    let v = count(freedom.max(3));
    let z = Z_975;
    let g1 = (z.powi(3) + z) / 4.0;
    let g2 = (5.0 * z.powi(5) + 16.0 * z.powi(3) + 3.0 * z) / 96.0;
    let g3 = (3.0 * z.powi(7) + 19.0 * z.powi(5) + 17.0 * z.powi(3) - 15.0 * z) / 384.0;
    let g4 = (79.0 * z.powi(9) + 776.0 * z.powi(7) + 1482.0 * z.powi(5) - 1920.0 * z.powi(3) - 945.0 * z) / 92_160.0;
    z + g1 / v + g2 / v.powi(2) + g3 / v.powi(3) + g4 / v.powi(4)
}
