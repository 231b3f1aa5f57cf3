//! What a rehearsal rehearses. From it the same person, machine and mishaps come again.
//!
//! It stands in the first line of a journal and in the record. What it does not do: it draws nothing (that is the
//! rehearsal). What may never change: these names, and what a seed stands for.

use crate::carm::{Tube, ViewName};
use crate::units::Side;
use serde::{Deserialize, Serialize};
use std::fmt;

/// What there is to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Task {
    /// One view from a random start.
    View(ViewName),
    /// Inlet and outlet again after the pelvis turned.
    ReAim,
    /// A guide pin: its start on the lateral, both corrections, advances, all views.
    Pin,
    /// The whole pathway, with a mishap.
    Pathway,
}

/// The kind of person on the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PersonKind {
    Normal,
    /// On the operated side alone.
    DysmorphicOneSide,
    DysmorphicBothSides,
    Thin,
    Large,
    BowelGas,
}

impl PersonKind {
    pub const ALL: [Self; 6] =
        [Self::Normal, Self::DysmorphicOneSide, Self::DysmorphicBothSides, Self::Thin, Self::Large, Self::BowelGas];
}

/// One exercise.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Exercise {
    pub task: Task,
    pub person: PersonKind,
    pub operated: Side,
    /// The patient's side on which the machine stands.
    pub stand: Side,
    pub tube: Tube,
    pub seed: u32,
}

impl fmt::Display for Task {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::View(view) => write!(f, "find a view: {view}"),
            Self::ReAim => f.write_str("re-aim after the pelvis turned"),
            Self::Pin => f.write_str("a guide pin"),
            Self::Pathway => f.write_str("the whole pathway"),
        }
    }
}

impl fmt::Display for PersonKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Normal => "normal",
            Self::DysmorphicOneSide => "dysmorphic on the operated side",
            Self::DysmorphicBothSides => "dysmorphic on both sides",
            Self::Thin => "thin",
            Self::Large => "large",
            Self::BowelGas => "bowel gas",
        })
    }
}

impl fmt::Display for Exercise {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { task, person, operated, stand, tube, seed } = self;
        let tube = match tube {
            Tube::Under => "under",
            Tube::Over => "over",
        };
        write!(f, "{task}; {person}; {operated} side; machine on the {stand}, tube {tube} the table; seed {seed}")
    }
}
