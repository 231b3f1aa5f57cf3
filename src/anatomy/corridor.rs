//! Widths of the bony corridors, and which are too narrow.

use super::Length;
use super::measured::{Against, against};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Below this width a corridor counts as narrow.
///
/// Source: Lee et al., J Orthop Res 2015 (n = 526): S1 below 10 mm in 17 %, S2 in 27 %, neither wide enough in 4 %; with a
/// transitional vertebra S1 in 3 %, S2 in 74 %.
pub const NARROW_MM: f64 = 10.0;

/// A segment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
pub enum Level {
    S1,
    S2,
    S3,
}

impl Level {
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::S1 => "S1",
            Self::S2 => "S2",
            Self::S3 => "S3",
        }
    }
}

/// The narrowest place of one corridor on one side.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Corridor {
    pub level: Level,
    pub width: Length,
}

/// What a width says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Room {
    Narrow,
    /// 10 mm lies within the width's ±.
    NotTold,
    Wider,
}

impl Corridor {
    #[must_use]
    pub fn room(&self) -> Room {
        match against(self.width.mm, self.width.plus_minus_mm, NARROW_MM) {
            Against::Below => Room::Narrow,
            Against::Near => Room::NotTold,
            Against::Above => Room::Wider,
        }
    }
}

impl Room {
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Narrow => "below 10 mm",
            Self::NotTold => "10 mm lies within its ±",
            Self::Wider => "10 mm or more",
        }
    }
}
