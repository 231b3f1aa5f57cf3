//! Tools that are planned to go in beside the implants.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What a tool is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ToolKind {
    /// The guide pin.
    Pin,
    Drill,
    /// A sleeve or tube around pin or drill.
    Sleeve,
    Other,
}

/// One tool.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlannedTool {
    /// As the room calls it.
    pub name: String,
    pub kind: ToolKind,
    /// Where it enters bone, millimetres.
    pub diameter_mm: f64,
}
