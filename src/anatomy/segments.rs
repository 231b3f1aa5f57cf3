//! Before a segment is called S1: the foramina counted on each side, and a transitional vertebra asked about.
//!
//! Source: foramina 3, 4 or 5 in 0.6, 70 and 30 % of sacra; a transitional vertebra changes which corridor is narrow (Lee
//! et al., J Orthop Res 2015).

use super::Anatomy;
use crate::units::Side;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A lumbosacral transitional vertebra.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Transitional {
    None,
    Present,
    /// Looked for, and not excluded.
    NotExcluded,
}

/// What must be answered before the uppermost segment is called S1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Question {
    /// Nobody counted on that side.
    Count {
        side: Side,
    },
    /// Three or five, or another number.
    UnusualCount {
        side: Side,
        foramina: u8,
    },
    /// Left and right have not the same number.
    CountsDiffer {
        left: u8,
        right: u8,
    },
    AskTransitional,
    TransitionalNotExcluded,
    TransitionalPresent,
}

impl Question {
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Self::Count { side } => {
                format!("Count the anterior foramina on the {side} (4 in 70 %, 5 in 30 %, 3 in 0.6 % of sacra).")
            }
            Self::UnusualCount { side, foramina } => format!(
                "{foramina} anterior foramina on the {side}: which segment is S1? 4 are found in 70 %, 5 in 30 %, 3 in 0.6 %."
            ),
            Self::CountsDiffer { left, right } => {
                format!("{left} anterior foramina on the left, {right} on the right: count again, then name the segments.")
            }
            Self::AskTransitional => "Is there a transitional vertebra? Nobody has said.".to_owned(),
            Self::TransitionalNotExcluded => {
                "A transitional vertebra is not excluded: number the segments from above before one is called S1."
                    .to_owned()
            }
            Self::TransitionalPresent => {
                "Transitional vertebra: say which segment the plan calls S1; with one the S2 corridor was below 10 mm in 74 %."
                    .to_owned()
            }
        }
    }
}

/// The questions left open; none if the segments may be named.
#[must_use]
pub fn questions(anatomy: &Anatomy) -> Vec<Question> {
    let mut open = Vec::new();
    for side in &anatomy.sides {
        match side.foramina {
            None => open.push(Question::Count { side: side.side }),
            Some(4) => {}
            Some(foramina) => open.push(Question::UnusualCount { side: side.side, foramina }),
        }
    }
    let count = |side| anatomy.side(side).and_then(|side| side.foramina);
    if let (Some(left), Some(right)) = (count(Side::Left), count(Side::Right))
        && left != right
    {
        open.push(Question::CountsDiffer { left, right });
    }
    match anatomy.transitional {
        None => open.push(Question::AskTransitional),
        Some(Transitional::None) => {}
        Some(Transitional::Present) => open.push(Question::TransitionalPresent),
        Some(Transitional::NotExcluded) => open.push(Question::TransitionalNotExcluded),
    }
    open
}
