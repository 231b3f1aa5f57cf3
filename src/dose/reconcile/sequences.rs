//! The two sequences that are compared.

use crate::dose::{DoseReport, Plane};
use crate::units::{GrayCm2, Milligray, Seconds, Side};
use chrono::{DateTime, FixedOffset, Timelike};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Where a shot belongs, in plain words.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Tag {
    pub step: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<Side>,
    /// Number of the implant on its side, from 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub implant: Option<u8>,
    /// The view that was being looked for or worked in, as far as the team's answers tell.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub view: Option<String>,
}

impl Tag {
    /// Whether both are the same step at the same side and implant, whatever the view.
    #[must_use]
    pub fn same_place(&self, other: &Self) -> bool {
        self.step == other.step && self.side == other.side && self.implant == other.implant
    }
}

/// A time during which the team was at one tag; times in milliseconds since the case was opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    pub from_ms: u64,
    /// Not before `from_ms`.
    pub to_ms: u64,
    /// Position in [`TeamSequence::tags`].
    pub tag: usize,
}

/// Shots that the team counted at one moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tap {
    /// When it was tapped, or when a run began.
    pub at_ms: u64,
    /// 1 for a tapped shot or a run; more for a number that was read out together.
    pub shots: u32,
    /// Position in [`TeamSequence::tags`].
    pub tag: usize,
}

/// What somebody noted of the machine's clock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClockHint {
    /// Machine minus tablet, seconds.
    pub offset_s: f64,
    /// How sure, one standard deviation, seconds.
    pub sd_s: f64,
}

/// What the team did, on the tablet's clock.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TeamSequence {
    pub tags: Vec<Tag>,
    /// In order, each beginning where the one before ends.
    pub spans: Vec<Span>,
    /// In order of time.
    pub taps: Vec<Tap>,
    /// Shots added to a tag or taken from it by hand, without a time of their own.
    pub corrections: Vec<(usize, i64)>,
    pub hint: Option<ClockHint>,
    /// When another machine took the place of the one before, in order.
    pub swaps_ms: Vec<u64>,
}

impl TeamSequence {
    /// The span at a time, the later one at a boundary.
    #[must_use]
    pub fn span_at(&self, ms: u64) -> Option<&Span> {
        let behind = self.spans.partition_point(|span| span.from_ms <= ms);
        self.spans.get(behind.checked_sub(1)?).filter(|span| ms <= span.to_ms)
    }
}

/// One irradiation event: a pulsed run and a saved run are one each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MachineEvent {
    /// Position in the report, from 0.
    pub event: usize,
    /// Start by the machine's clock, milliseconds since the case was opened by the tablet's clock.
    pub at_ms: i64,
    pub plane: Option<Plane>,
    pub duration: Option<Seconds>,
    pub kerma_area_product: Option<GrayCm2>,
    pub reference_air_kerma: Option<Milligray>,
}

/// What the machine reports, on its own clock.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MachineSequence {
    /// In order of time.
    pub events: Vec<MachineEvent>,
    /// Step of the machine's times: what lies between two readings is cut off. 1000 or 0.
    pub resolution_ms: u32,
    /// Positions in the report of events that state no start.
    pub untimed: Vec<usize>,
}

impl MachineSequence {
    /// The events of a report, for a case opened at that time. A report without a zone is taken to be in the zone of
    /// `opened_at`.
    #[must_use]
    pub fn of(report: &DoseReport, opened_at: DateTime<FixedOffset>) -> Self {
        let opened_ms = opened_at.timestamp_millis();
        let mut sequence = Self { resolution_ms: 1_000, ..Self::default() };
        for (index, event) in report.events.iter().enumerate() {
            let Some(started) = event.started else {
                sequence.untimed.push(index);
                continue;
            };
            if started.local.nanosecond() != 0 {
                sequence.resolution_ms = 0;
            }
            sequence.events.push(MachineEvent {
                event: index,
                at_ms: started.utc_ms(*opened_at.offset()) - opened_ms,
                plane: event.plane,
                duration: event.duration,
                kerma_area_product: event.kerma_area_product,
                reference_air_kerma: event.reference_air_kerma,
            });
        }
        sequence.events.sort_by_key(|event| (event.at_ms, event.event));
        sequence
    }

    /// Positions of events, without those that are the second plane of the actuation before them.
    pub(super) fn actuations(&self) -> Vec<usize> {
        (0..self.events.len()).filter(|at| !self.is_second_plane(*at)).collect()
    }

    /// Whether the event is the other plane of the event before it: a biplane machine reports two per actuation.
    pub(super) fn is_second_plane(&self, at: usize) -> bool {
        let Some(before) = at.checked_sub(1).map(|before| &self.events[before]) else { return false };
        let this = &self.events[at];
        let planes = (before.plane, this.plane);
        let both = matches!(planes, (Some(Plane::A), Some(Plane::B)) | (Some(Plane::B), Some(Plane::A)));
        both && before.at_ms == this.at_ms
    }

    /// Middle of what a reading of the clock can mean, seconds.
    pub(super) fn seconds(&self, at: usize) -> f64 {
        seconds(self.events[at].at_ms) + f64::from(self.resolution_ms) / 2_000.0
    }
}

/// Milliseconds as seconds; times of a case lie far below 2^53 ms.
#[allow(clippy::cast_precision_loss, reason = "a time in ms has fewer than 53 bits")]
pub(super) fn seconds(ms: i64) -> f64 {
    ms as f64 / 1_000.0
}

/// The same for a time since opening.
#[allow(clippy::cast_precision_loss, reason = "a time in ms has fewer than 53 bits")]
pub(super) fn seconds_since_opening(ms: u64) -> f64 {
    ms as f64 / 1_000.0
}

/// Seconds as milliseconds, rounded; saturates far beyond any case.
#[allow(clippy::cast_possible_truncation, reason = "a conversion that saturates is meant")]
pub(super) fn milliseconds(seconds: f64) -> i64 {
    (seconds * 1_000.0).round() as i64
}

/// Whole seconds below; saturates far beyond any case.
#[allow(clippy::cast_possible_truncation, reason = "a conversion that saturates is meant")]
pub(super) fn whole_seconds(seconds: f64) -> i64 {
    seconds.floor() as i64
}
