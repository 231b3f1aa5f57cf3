//! The state of a case: the fold of its events, nothing else.

use super::{
    CheckState, Configured, Elapsed, GateState, Moved, Opening, PinFound, Radiation, ReAimed, Timeline, ViewFound,
};
use crate::pathway::{CheckId, ImplantNumber, Place};
use crate::people::{Actor, PersonId, Role};
use crate::units::Side;
use chrono::{DateTime, FixedOffset};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// How a case ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    Finished,
    /// Before the incision.
    Cancelled,
    /// After it, without the fusion.
    Abandoned,
    /// Went on as an open operation.
    Converted,
    /// Opened in error.
    Void,
}

/// Where a case stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Status {
    Running,
    Paused,
    /// Stop was touched: gates are suspended, counting goes on.
    Stopped,
    /// An outcome was chosen, its short list is being answered.
    Ending(Outcome),
    Closed(Outcome),
}

/// One tap, read-out or run.
#[derive(Debug, Clone, PartialEq)]
pub struct Shot {
    pub seq: u64,
    pub at: Elapsed,
    pub place: Place,
    /// Irradiation events counted together, at least 1.
    pub shots: u32,
    /// Seconds, for a run.
    pub seconds: Option<f64>,
}

/// A correction of a place's count; both numbers are kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Correction {
    pub seq: u64,
    pub at: Elapsed,
    pub place: Place,
    pub from: u32,
    pub to: u32,
    pub reason: String,
}

/// A note or a deviation.
#[derive(Debug, Clone, PartialEq)]
pub struct Remark {
    pub seq: u64,
    pub at: Elapsed,
    pub place: Place,
    pub by: Actor,
    pub text: String,
    pub deviation: bool,
}

/// Everything a screen, a record or a decision needs to know of what happened.
#[derive(Debug, Clone)]
pub struct State {
    pub opening: Opening,
    pub status: Status,
    /// Status before Stop, so that going on restores it.
    pub stopped_from: Option<Status>,
    /// Where the team was when Stop was touched.
    pub stopped_at: Option<Place>,
    /// Where the team is; shots count here.
    pub here: Place,
    /// When the team last left a place.
    pub left: BTreeMap<Place, Elapsed>,
    /// When the team first came to a place.
    pub entered: BTreeMap<Place, Elapsed>,
    /// Milliseconds spent at each place so far, without the present stay.
    pub stay_ms: BTreeMap<Place, u64>,
    pub since_here: Elapsed,
    pub checks: BTreeMap<(Place, CheckId), CheckState>,
    pub gates: BTreeMap<Place, GateState>,
    /// View corrections given and pin findings made, in order.
    pub view_findings: Vec<ViewFound>,
    pub pin_findings: Vec<PinFound>,
    /// Re-aims of the plan and moves of patient or table, in order.
    pub re_aims: Vec<ReAimed>,
    pub moves: Vec<Moved>,
    pub implants: BTreeMap<Side, ImplantNumber>,
    pub team: BTreeMap<Role, PersonId>,
    /// Everybody who held a role at some time.
    pub took_part: BTreeSet<Actor>,
    pub c_arm: Option<String>,
    pub c_arm_swaps: u32,
    pub shots: Vec<Shot>,
    /// Shots of each place, corrections applied.
    pub shots_here: BTreeMap<Place, u32>,
    pub run_seconds: f64,
    /// Readings, settings, reports and images of the machine.
    pub radiation: Radiation,
    pub corrections: Vec<Correction>,
    /// Positive: taken over from another case; negative: handed on.
    pub shots_moved: Vec<(String, i64)>,
    pub remarks: Vec<Remark>,
    pub stops: Vec<(u64, Elapsed, String)>,
    pub pauses: Vec<(u64, Elapsed, String)>,
    pub incision: Option<Elapsed>,
    pub closure: Option<Elapsed>,
    pub returns: u32,
    pub clock_jumps_ms: Vec<i64>,
    pub signed: BTreeMap<Role, Actor>,
    /// Wall clock when the case was opened.
    pub opened_at: Option<DateTime<FixedOffset>>,
    pub timeline: Timeline,
    /// Spans without any event, milliseconds from opening: a case that waited overnight.
    pub gaps: Vec<(u64, u64)>,
    /// Sequence numbers and times of the last answers, to see bursts.
    pub(super) recent_answers: Vec<(Place, CheckId, Elapsed)>,
    pub seq: u64,
    /// Sequence number of the closing event.
    pub closed_seq: Option<u64>,
}

impl State {
    /// Shots of the whole case, corrections applied: always the sum over the places.
    #[must_use]
    pub fn shots_total(&self) -> u32 {
        self.shots_here.values().sum()
    }

    /// Shots of the case after those taken over from another case and those handed on; never below 0.
    #[must_use]
    pub fn shots_kept(&self) -> u32 {
        let moved: i64 = self.shots_moved.iter().map(|(_, shots)| *shots).sum();
        u32::try_from(i64::from(self.shots_total()).saturating_add(moved).max(0)).unwrap_or(u32::MAX)
    }

    /// Shots that moved between this case and another: positive if taken over from it, negative if handed on to it.
    #[must_use]
    pub fn shots_moved_with(&self, other: &str) -> i64 {
        self.shots_moved.iter().filter(|(case, _)| case == other).map(|(_, shots)| *shots).sum()
    }

    /// Shots counted at one place, corrections applied.
    #[must_use]
    pub fn shots_at(&self, place: &Place) -> u32 {
        self.shots_here.get(place).copied().unwrap_or(0)
    }

    /// Which placement of patient and table it is now, counted from 1: every move begins another.
    #[must_use]
    pub fn placement(&self) -> u32 {
        u32::try_from(self.moves.len()).unwrap_or(u32::MAX).saturating_add(1)
    }

    /// The placement at the event of that number.
    #[must_use]
    pub fn placement_at(&self, seq: u64) -> u32 {
        let before = self.moves.iter().filter(|moved| moved.seq < seq).count();
        u32::try_from(before).unwrap_or(u32::MAX).saturating_add(1)
    }

    /// The re-aim that holds now: the last one, unless patient or table moved since.
    #[must_use]
    pub fn re_aim(&self) -> Option<&ReAimed> {
        self.re_aims.last().filter(|re_aimed| re_aimed.finding.placement == self.placement())
    }

    /// A re-aim was made and is void, because patient or table moved since.
    #[must_use]
    pub fn re_aim_void(&self) -> bool {
        !self.re_aims.is_empty() && self.re_aim().is_none()
    }

    /// The limits in force.
    #[must_use]
    pub fn configured(&self) -> &Configured {
        &self.opening.configured
    }

    /// The outcome, once closed.
    #[must_use]
    pub fn outcome(&self) -> Option<Outcome> {
        match self.status {
            Status::Closed(outcome) => Some(outcome),
            _ => None,
        }
    }
}
