//! What a reconciliation says.

use super::clock::Clock;
use super::explain::Found;
use super::rows;
use super::sequences::{MachineSequence, Tag, TeamSequence, milliseconds};
use crate::units::{GrayCm2, Milligray, Seconds};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// An explanation less likely than the best by no more than this fits equally well. Common practice, no source.
const EQUALLY: f64 = 20.0;

/// The machine's events, attributed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Reconciliation {
    pub method: Method,
    /// Every explanation that was not ruled out, best first; empty if step times alone attribute.
    pub explanations: Vec<Explanation>,
    /// Two explanations fit equally well: the best is shown, and the confidence of each event counts both.
    pub ambiguous: bool,
    pub tags: Vec<Tag>,
    /// One per event with a time, in order of time.
    pub attributions: Vec<Attribution>,
    /// Sums per step and view, in the order of the case.
    pub rows: Vec<Row>,
    /// Counted by the team and not found on the machine. Empty if step times alone attribute.
    pub counted_not_reported: Vec<Leftover>,
    /// Positions in the report of events within the case that nobody counted. Empty if step times alone attribute.
    pub reported_not_counted: Vec<usize>,
    /// Positions in the report of events before the case was opened or after its end.
    pub outside: Vec<usize>,
    /// Positions in the report of events without a time.
    pub untimed: Vec<usize>,
}

/// What the attribution rests on.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "by", rename_all = "kebab-case", rename_all_fields = "snake_case", deny_unknown_fields)]
pub enum Method {
    /// The clocks were laid on each other by the tapped shots.
    TappedShots,
    /// No tapped shots, or none that fit this report: the clocks are taken to differ by `offset_s`, give or take
    /// `sd_s` (one standard deviation), and step times alone attribute.
    StepTimes { offset_s: f64, sd_s: f64, taps_do_not_fit: bool },
}

/// One way in which the sequences lie on each other.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Explanation {
    pub clock: ClockFit,
    /// Shots matched with an event.
    pub matched: usize,
    /// Share of the probability among the explanations, 0 to 1.
    pub weight: f64,
}

/// The machine's clock against the tablet's.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ClockFit {
    /// Machine minus tap at `at_ms`, seconds, the median press delay included.
    pub offset_s: f64,
    /// 95 % interval of it; absent below six matched shots.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub offset_interval_s: Option<[f64; 2]>,
    /// Positive if the machine's clock runs fast, parts per million.
    pub drift_ppm: f64,
    /// 95 % interval of it.
    pub drift_interval_ppm: [f64; 2],
    /// When the offset holds, milliseconds since opening.
    pub at_ms: i64,
}

/// Where one event belongs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Attribution {
    /// Position in the report, from 0.
    pub event: usize,
    /// When it was by the tablet's clock, milliseconds since opening.
    pub at_ms: i64,
    /// Position in [`Reconciliation::tags`]; `None` outside the case.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tag: Option<usize>,
    /// How sure step, side and implant are, 0 to 1.
    pub confidence: f64,
    /// How sure the view is as well, 0 to 1.
    pub view_confidence: f64,
    /// Position of the tap it was matched with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tap: Option<usize>,
}

/// Sums of one tag.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Row {
    pub tag: Tag,
    /// Actuations the machine reports.
    pub events: u32,
    /// Shots the team counted, corrections applied.
    pub counted: i64,
    /// Sums of what the events state; `None` if none of them does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub duration: Option<Seconds>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kerma_area_product: Option<GrayCm2>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference_air_kerma: Option<Milligray>,
    /// Events that state neither, so that the sums are too low.
    pub without_figures: u32,
    /// Of the least sure event; `None` without an event.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub confidence: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub view_confidence: Option<f64>,
}

impl Row {
    pub(super) fn empty(tag: Tag) -> Self {
        Self {
            tag,
            events: 0,
            counted: 0,
            duration: None,
            kerma_area_product: None,
            reference_air_kerma: None,
            without_figures: 0,
            confidence: None,
            view_confidence: None,
        }
    }
}

/// Shots that were counted and are not on the machine.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Leftover {
    /// When they were tapped, milliseconds since opening.
    pub at_ms: u64,
    /// Position in [`Reconciliation::tags`].
    pub tag: usize,
    pub shots: u32,
}

/// What a reconciliation is put together from.
pub(super) struct Parts<'a> {
    pub team: &'a TeamSequence,
    pub machine: &'a MachineSequence,
    pub found: &'a Found,
    pub attributions: Vec<Attribution>,
    /// Events that belong to a number read out together, with the tap.
    pub taken: Vec<(usize, usize)>,
}

pub(super) fn assemble(parts: &Parts<'_>) -> Reconciliation {
    let Parts { team, machine, found, attributions, taken } = parts;
    let mut attributions = attributions.clone();
    for (at, tap) in taken {
        attributions[*at].tap = Some(*tap);
    }
    let outside = attributions.iter().filter(|one| one.tag.is_none()).map(|one| one.event).collect();
    let (counted_not_reported, reported_not_counted) = match found {
        Found::Clocks(_) => (leftovers(team, machine, &attributions), not_counted(machine, &attributions)),
        Found::Assumed(_) => (Vec::new(), Vec::new()),
    };
    let explanations = explanations(found);
    let ambiguous = explanations.get(1).is_some_and(|second| second.weight * EQUALLY > explanations[0].weight);
    Reconciliation {
        method: method(team, machine, found),
        explanations,
        ambiguous,
        tags: team.tags.clone(),
        rows: rows::rows(team, machine, &attributions),
        attributions,
        counted_not_reported,
        reported_not_counted,
        outside,
        untimed: machine.untimed.clone(),
    }
}

fn method(team: &TeamSequence, machine: &MachineSequence, found: &Found) -> Method {
    match found {
        Found::Clocks(_) => Method::TappedShots,
        Found::Assumed(hint) => Method::StepTimes {
            offset_s: hint.offset_s,
            sd_s: hint.sd_s,
            taps_do_not_fit: !team.taps.is_empty() && !machine.events.is_empty(),
        },
    }
}

fn explanations(found: &Found) -> Vec<Explanation> {
    let Found::Clocks(clocks) = found else { return Vec::new() };
    let one = |one: &super::explain::Explained| Explanation {
        clock: clock_fit(&one.clock),
        matched: one.pairs.len(),
        weight: one.weight,
    };
    clocks.iter().map(one).collect()
}

fn clock_fit(clock: &Clock) -> ClockFit {
    ClockFit {
        offset_s: clock.offset_s,
        offset_interval_s: clock.offset_interval_s,
        drift_ppm: clock.drift * 1e6,
        drift_interval_ppm: clock.drift_interval_ppm(),
        at_ms: milliseconds(clock.at_s),
    }
}

fn leftovers(team: &TeamSequence, machine: &MachineSequence, attributions: &[Attribution]) -> Vec<Leftover> {
    let mut left: Vec<u32> = team.taps.iter().map(|tap| tap.shots).collect();
    for (at, tap) in attributions.iter().enumerate().filter_map(|(at, one)| Some((at, one.tap?))) {
        if !machine.is_second_plane(at) {
            left[tap] = left[tap].saturating_sub(1);
        }
    }
    let tapped = team.taps.iter().zip(left).filter(|(_, shots)| *shots > 0);
    tapped.map(|(tap, shots)| Leftover { at_ms: tap.at_ms, tag: tap.tag, shots }).collect()
}

fn not_counted(machine: &MachineSequence, attributions: &[Attribution]) -> Vec<usize> {
    let free =
        |(at, one): &(usize, &Attribution)| one.tap.is_none() && one.tag.is_some() && !machine.is_second_plane(*at);
    attributions.iter().enumerate().filter(free).map(|(_, one)| one.event).collect()
}
