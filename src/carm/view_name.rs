//! Names of the fluoroscopic views. "Inlet" or "outlet" alone is ambiguous by 20° or more, so each says which.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;

/// A fluoroscopic view of the sacrum, by what it profiles.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ViewName {
    /// Anteroposterior beam line.
    Ap,
    /// Inlet along the anterior cortex of the S1 body.
    InletBody,
    /// Inlet along the posterior cortex, the front of the canal.
    InletCanal,
    /// Inlet along the anterior alar surface, about 49° (cadaver marker study, PMID 17297324).
    InletAla,
    /// Outlet with the upper border of the symphysis over the S2 body.
    OutletWorking,
    /// Outlet along the S1 superior endplate.
    OutletEndplate,
    /// Outlet perpendicular to the sacral body.
    OutletEnFace,
    /// True lateral of the sacrum.
    Lateral,
}

impl ViewName {
    pub const ALL: [Self; 8] = [
        Self::Ap,
        Self::InletBody,
        Self::InletCanal,
        Self::InletAla,
        Self::OutletWorking,
        Self::OutletEndplate,
        Self::OutletEnFace,
        Self::Lateral,
    ];

    /// The name as the screen says it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Ap => "AP",
            Self::InletBody => "Inlet, anterior cortex",
            Self::InletCanal => "Inlet, canal",
            Self::InletAla => "Inlet, ala",
            Self::OutletWorking => "Outlet, working",
            Self::OutletEndplate => "Outlet, endplate",
            Self::OutletEnFace => "Outlet, en face",
            Self::Lateral => "Lateral",
        }
    }
}

impl fmt::Display for ViewName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}
