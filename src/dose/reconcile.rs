//! Which irradiation event of the machine belongs to which step, view and implant.
//!
//! Two plain sequences are compared: what the team tapped, on the tablet's clock, and what the machine reports, on
//! its own. The two clocks differ by hours or seconds and drift apart, a shot is tapped a moment after it was made,
//! shots are forgotten or tapped twice. Every offset at which the sequences could lie on each other is tried
//! ([`coarse`]), the sequences are matched in order at least total cost ([`matching`]), offset and drift are fitted
//! to the matched shots ([`clock`]), and each event goes to the step its time falls into ([`attribute`]).
//!
//! What it does not do: it sees no case, no pathway and no DICOM object; it drops no event and no tap; and it never
//! picks one of two explanations silently where both fit equally. What may never change: the meaning of the members
//! of [`Reconciliation`], which stands in journals and records.

mod attribute;
mod brief;
mod clock;
mod coarse;
mod costs;
mod explain;
mod matching;
mod outcome;
mod parts;
mod rows;
mod sequences;

pub use brief::Brief;
pub use outcome::{Attribution, ClockFit, Explanation, Leftover, Method, Reconciliation, Row};
pub use sequences::{ClockHint, MachineEvent, MachineSequence, Span, Tag, Tap, TeamSequence};

use explain::Found;
use outcome::Parts;

/// Matches the machine's events with the team's sequence; where machines were swapped, with the part of it that the
/// machine served.
#[must_use]
pub fn reconcile(team: &TeamSequence, machine: &MachineSequence) -> Reconciliation {
    parts::reconcile(team, machine)
}

/// The same with all of the sequence.
fn whole(team: &TeamSequence, machine: &MachineSequence) -> Reconciliation {
    let actuations = machine.actuations();
    let found = explain::explain(team, machine, &actuations);
    let attributions = attribute::attribute(team, machine, &found);
    let taken = match &found {
        Found::Clocks(clocks) => rows::take_read_outs(team, machine, &clocks[0]),
        Found::Assumed(_) => Vec::new(),
    };
    outcome::assemble(&Parts { team, machine, found: &found, attributions, taken })
}
