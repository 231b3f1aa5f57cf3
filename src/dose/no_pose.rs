//! Why the pose of a received image is not known.

use serde::{Deserialize, Serialize};

/// The reason, as journal and record keep it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum NoPose {
    /// The file states no angles, as many mobile machines do.
    NotStated,
    /// The machine moved from frame to frame: no one pose holds for all of them.
    Moves,
    /// Each frame's pose stands in the frame's own part of the file, which is not read.
    FrameByFrame,
    /// The file's header cannot be read.
    Unreadable,
}

impl NoPose {
    /// In words, behind "Image received".
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::NotStated => "no pose stated",
            Self::Moves => "the machine moved between its frames, so no one pose holds",
            Self::FrameByFrame => "poses stand frame by frame, which is not read",
            Self::Unreadable => "its header cannot be read, so no pose is known",
        }
    }
}
