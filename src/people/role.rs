//! The roles of the team in the room.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;

/// What somebody does in the room, independent of who it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    Surgeon,
    Assistant,
    ScrubNurse,
    CirculatingNurse,
    Radiographer,
    Anaesthetist,
}

impl Role {
    /// Every role, in the order screens list them.
    pub const ALL: [Self; 6] = [
        Self::Surgeon,
        Self::Assistant,
        Self::ScrubNurse,
        Self::CirculatingNurse,
        Self::Radiographer,
        Self::Anaesthetist,
    ];

    /// The word used on screen and in reports.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Surgeon => "surgeon",
            Self::Assistant => "assistant",
            Self::ScrubNurse => "scrub nurse",
            Self::CirculatingNurse => "circulating nurse",
            Self::Radiographer => "radiographer",
            Self::Anaesthetist => "anaesthetist",
        }
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}
