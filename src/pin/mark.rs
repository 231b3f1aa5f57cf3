//! What a pin finding marks in the record, each mark with its reason.
//!
//! What it does not do: a mark stops nothing. What may never change: the names, which stand in records.

use super::edge::EdgeName;
use super::finding::{Finding, FrameUsed, Question};
use super::frame::AnglesOnly;
use serde::{Deserialize, Serialize};
use std::fmt;

/// One mark.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", rename_all_fields = "snake_case", deny_unknown_fields)]
pub enum PinMark {
    /// A margin below the site's limit.
    ShortMargin { edge: EdgeName },
    /// No common frame, so no position.
    AnglesOnly { why: AnglesOnly },
    /// Something caught holds results back.
    HeldBack,
}

impl Finding {
    /// The marks of this finding; none where nothing asks for attention.
    #[must_use]
    pub fn marks(&self) -> Vec<PinMark> {
        let short =
            self.questions.iter().map(|Question::ShortMargin { edge, .. }| PinMark::ShortMargin { edge: *edge });
        let angles_only = match &self.frame {
            FrameUsed::AnglesOnly { why } => Some(PinMark::AnglesOnly { why: why.clone() }),
            FrameUsed::ColumnUnmoved { .. } | FrameUsed::Landmarks { .. } => None,
        };
        let held = self.held_back().then_some(PinMark::HeldBack);
        held.into_iter().chain(angles_only).chain(short).collect()
    }
}

impl fmt::Display for PinMark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::ShortMargin { edge } => write!(f, "short margin to {edge}"),
            Self::AnglesOnly { why } => write!(f, "angles only: {why}"),
            Self::HeldBack => f.write_str("results held back"),
        }
    }
}
