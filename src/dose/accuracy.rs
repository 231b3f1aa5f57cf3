//! How exact a displayed figure has to be, and where that holds.

use crate::units::{GrayCm2, Milligray};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Largest deviation that the rules on displays allow, as a share of the figure.
///
/// Source: 21 CFR 1020.32(k), from memory.
pub const DISPLAY_SHARE: f64 = 0.35;
/// The rule on air kerma holds above this.
///
/// Source: 21 CFR 1020.32(k), from memory.
const AIR_KERMA_FROM: Milligray = Milligray(100.0);
/// And above this rate, mGy/min.
///
/// Source: 21 CFR 1020.32(k), from memory.
const RATE_FROM_MGY_PER_MIN: f64 = 6.0;
/// The rule on kerma-area product holds above this.
///
/// Source: IEC 60601-2-43, from memory.
const KERMA_AREA_FROM: GrayCm2 = GrayCm2(2.5);

/// What can be said about a displayed figure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "accuracy", rename_all = "kebab-case", deny_unknown_fields)]
pub enum DisplayAccuracy {
    /// Within this share of the figure, by the rules on displays.
    Within { share: f64 },
    /// So low that no rule asks for any accuracy. Many cases of this operation lie here.
    NoneRequired,
}

impl DisplayAccuracy {
    /// Of a displayed air kerma, given at a mean rate, mGy/min, if that is known.
    #[must_use]
    pub fn of_air_kerma(kerma: Milligray, rate_mgy_per_min: Option<f64>) -> Self {
        let fast = rate_mgy_per_min.is_none_or(|rate| rate > RATE_FROM_MGY_PER_MIN);
        Self::if_required(kerma > AIR_KERMA_FROM && fast)
    }

    /// Of a displayed kerma-area product.
    #[must_use]
    pub fn of_kerma_area(area: GrayCm2) -> Self {
        Self::if_required(area > KERMA_AREA_FROM)
    }

    fn if_required(required: bool) -> Self {
        if required { Self::Within { share: DISPLAY_SHARE } } else { Self::NoneRequired }
    }

    /// The words that stand beside the figure.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Self::Within { share } => format!("display within ±{:.0} %", share * 100.0),
            Self::NoneRequired => "so low that no display accuracy is required".to_owned(),
        }
    }
}
