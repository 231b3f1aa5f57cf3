//! The site's usual: the median and the middle half of its own cases that can be compared.
//!
//! Compared are cases of one machine, one pathway and one band of patient size, for one step or the whole. Below
//! [`CASES_MIN`] nothing is stated. It is a site's typical value and no reference level, which takes many sites. What
//! it does not do: no alarm, no judgement; it says where a case lies.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Fewest cases that make a usual.
///
/// Source: ICRP Publication 135 asks for 20 patients at least.
pub const CASES_MIN: usize = 20;

/// Size of a patient, as far as it was recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SizeBand {
    /// Below 60 kg.
    WeightTo60,
    /// 60 to below 75 kg.
    WeightTo75,
    /// 75 to below 90 kg.
    WeightTo90,
    /// 90 to below 110 kg.
    WeightTo110,
    /// 110 kg or more.
    WeightAbove,
    /// Thickness in the beam of the AP view below 20 cm.
    ThicknessTo20,
    /// 20 to below 25 cm.
    ThicknessTo25,
    /// 25 to below 30 cm.
    ThicknessTo30,
    /// 30 cm or more.
    ThicknessAbove,
}

impl SizeBand {
    /// Band of a weight, kg. Common practice, no source.
    #[must_use]
    pub fn of_weight(kg: f64) -> Option<Self> {
        Some(match kg {
            kg if !(20.0..=400.0).contains(&kg) => return None,
            kg if kg < 60.0 => Self::WeightTo60,
            kg if kg < 75.0 => Self::WeightTo75,
            kg if kg < 90.0 => Self::WeightTo90,
            kg if kg < 110.0 => Self::WeightTo110,
            _ => Self::WeightAbove,
        })
    }

    /// Band of a thickness, cm. Common practice, no source.
    #[must_use]
    pub fn of_thickness(cm: f64) -> Option<Self> {
        Some(match cm {
            cm if !(8.0..=80.0).contains(&cm) => return None,
            cm if cm < 20.0 => Self::ThicknessTo20,
            cm if cm < 25.0 => Self::ThicknessTo25,
            cm if cm < 30.0 => Self::ThicknessTo30,
            _ => Self::ThicknessAbove,
        })
    }
}

/// What has to agree for two figures to be compared.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Group {
    pub machine: String,
    pub pathway: String,
    pub size: SizeBand,
    /// `None`: the whole case.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step: Option<String>,
}

/// One figure of a past case; which figure and unit is the caller's, the same for all.
#[derive(Debug, Clone, PartialEq)]
pub struct Past {
    pub group: Group,
    pub value: f64,
}

/// The site's usual of one group.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "usual", rename_all = "kebab-case", rename_all_fields = "snake_case", deny_unknown_fields)]
pub enum Usual {
    /// Half of the `n` cases lie between `lower` and `upper`.
    Known {
        n: usize,
        median: f64,
        lower: f64,
        upper: f64,
        least: f64,
        most: f64,
    },
    TooFew {
        n: usize,
    },
}

/// Where a case lies against the usual.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Against {
    Below,
    Within,
    Above,
}

/// The usual of a group among past cases; what is not a number or below zero does not count.
#[must_use]
pub fn usual(past: &[Past], group: &Group) -> Usual {
    let of_group = past.iter().filter(|one| one.group == *group && one.value.is_finite() && one.value >= 0.0);
    let mut values: Vec<f64> = of_group.map(|one| one.value).collect();
    values.sort_by(f64::total_cmp);
    if values.len() < CASES_MIN {
        return Usual::TooFew { n: values.len() };
    }
    Usual::Known {
        n: values.len(),
        median: quantile(&values, 0.5),
        lower: quantile(&values, 0.25),
        upper: quantile(&values, 0.75),
        least: values[0],
        most: values[values.len() - 1],
    }
}

/// Quantile of ascending values, type 7: linear between ranks, as spreadsheets and R have it by default.
///
/// Source: Hyndman and Fan 1996.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss, reason = "a rank")]
pub fn quantile(ascending: &[f64], share: f64) -> f64 {
    let rank = share.clamp(0.0, 1.0) * (ascending.len() - 1) as f64;
    let (below, above) = (rank.floor() as usize, rank.ceil() as usize);
    ascending[below] + (rank - rank.floor()) * (ascending[above] - ascending[below])
}

impl Usual {
    /// Where a value lies; `None` without a usual.
    #[must_use]
    pub fn against(&self, value: f64) -> Option<Against> {
        match self {
            Self::TooFew { .. } => None,
            Self::Known { lower, .. } if value < *lower => Some(Against::Below),
            Self::Known { upper, .. } if value > *upper => Some(Against::Above),
            Self::Known { .. } => Some(Against::Within),
        }
    }

    /// The words beside the bar. `unit` as a reader writes it.
    #[must_use]
    pub fn words(&self, value: f64, unit: &str) -> String {
        let (n, median, lower, upper) = match self {
            Self::TooFew { n } => return format!("no usual yet: {n} comparable cases of {CASES_MIN}"),
            Self::Known { n, median, lower, upper, .. } => (n, median, lower, upper),
        };
        let place = match self.against(value) {
            Some(Against::Below) => "below this site's middle half",
            Some(Against::Above) => "above this site's middle half",
            _ => "within this site's middle half",
        };
        format!("{place} ({lower:.1} to {upper:.1} {unit}, median {median:.1}, {n} cases)")
    }
}
