//! One figure: how many, median, quartiles, range, and how far the median and the upper quartile may lie.
//!
//! The typical value is the median. The upper quartile of one site is never called a reference level: that word
//! belongs to the quartile over many rooms (ICRP Publication 135).

use super::cache::Cache;
use super::order_interval::ranks;
use super::quantile::{QuantileType, ascending, quantile_of};

/// Fewer cases than this have no median and no quartile.
pub const PERCENTILE_MIN: usize = 5;
/// Fewer cases than this have no interval of the upper quartile.
///
/// Source: 1 - 0.75¹¹ - 0.25¹¹ is the first such coverage above 0.95 (exact binomial).
pub const INTERVAL_MIN: usize = 11;

/// What is measured of a case.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    Shots,
    /// Gy·cm².
    KermaAreaProduct,
    /// mGy at the reference point.
    AirKerma,
    /// Minutes from incision to closure.
    Operation,
    /// Seconds.
    Fluoroscopy,
}

impl Quantity {
    /// Every one, in the order a summary lists them; shots and dose stand side by side.
    pub const ALL: [Self; 5] =
        [Self::Shots, Self::KermaAreaProduct, Self::AirKerma, Self::Operation, Self::Fluoroscopy];

    /// The word for it in exports, with its unit.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Shots => "shots",
            Self::KermaAreaProduct => "kerma_area_product_gy_cm2",
            Self::AirKerma => "reference_air_kerma_mgy",
            Self::Operation => "operation_min",
            Self::Fluoroscopy => "fluoroscopy_s",
        }
    }

    /// The word for it to read, with its unit.
    #[must_use]
    pub fn title(self) -> &'static str {
        match self {
            Self::Shots => "Shots",
            Self::KermaAreaProduct => "Kerma-area product, Gy·cm²",
            Self::AirKerma => "Air kerma at the reference point, mGy",
            Self::Operation => "Incision to closure, min",
            Self::Fluoroscopy => "Fluoroscopy, s",
        }
    }

    /// Dose never pools machines or patient sizes.
    #[must_use]
    pub fn is_dose(self) -> bool {
        matches!(self, Self::KermaAreaProduct | Self::AirKerma)
    }

    /// The value of a case; not a number where unknown.
    pub(super) fn of(self, cache: &Cache, case: usize) -> f64 {
        match self {
            Self::Shots => f64::from(cache.shots[case]),
            Self::KermaAreaProduct => cache.product[case],
            Self::AirKerma => cache.kerma[case],
            Self::Operation => cache.operation_s[case] / 60.0,
            Self::Fluoroscopy => cache.fluoroscopy_s[case],
        }
    }
}

/// Median and quartiles, where there are cases enough.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Middle {
    pub lower_quartile: f64,
    pub median: f64,
    pub upper_quartile: f64,
    /// 95 %, by order statistics; below 6 cases there is none.
    pub median_within: Option<(f64, f64)>,
    /// 95 %, by order statistics; below [`INTERVAL_MIN`] cases there is none.
    pub upper_quartile_within: Option<(f64, f64)>,
}

/// One figure of a group.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure {
    pub n: usize,
    pub smallest: f64,
    pub largest: f64,
    /// Below [`PERCENTILE_MIN`] cases there is none.
    pub middle: Option<Middle>,
}

/// The figure of some values; what is not known is left out. Nothing if nothing is known.
#[must_use]
pub fn figure(values: Vec<f64>, kind: QuantileType) -> Option<Figure> {
    figure_of(&ascending(values), kind)
}

/// The figure of an ascending sample without what is no number.
pub(super) fn figure_of<T: Copy + Into<f64>>(ascending: &[T], kind: QuantileType) -> Option<Figure> {
    let (smallest, largest) = ((*ascending.first()?).into(), (*ascending.last()?).into());
    let n = ascending.len();
    let at = |p| quantile_of(ascending, p, kind).expect("the sample is not empty");
    let of = |rank: usize| ascending[rank - 1].into();
    let within = |p| ranks(n, p).map(|ranks| (of(ranks.low), of(ranks.high)));
    let middle = (n >= PERCENTILE_MIN).then(|| Middle {
        lower_quartile: at(0.25),
        median: at(0.5),
        upper_quartile: at(0.75),
        median_within: within(0.5),
        upper_quartile_within: if n >= INTERVAL_MIN { within(0.75) } else { None },
    });
    Some(Figure { n, smallest, largest, middle })
}
