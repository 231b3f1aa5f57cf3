//! The case: what has been done. A command is decided into events or refused; the state is the fold of the events.
//!
//! Pure: no clock, file, thread or randomness; times come in with the command. What it does not do: it never
//! removes or edits an event; undo and correction are events. What may never change: the meaning of the events
//! of format 1, which stand in journals.

mod answer;
mod apply;
mod apply_answers;
mod ask;
mod command;
mod decide;
mod decide_answers;
mod decide_ending;
mod decide_findings;
mod entry;
mod event;
mod exercise;
mod finding;
mod kernel;
mod layout;
mod opening;
mod radiation;
mod refused;
mod state;
mod timeline;

pub use answer::{Answer, RangeVerdict};
pub use command::{Command, Issue};
pub use entry::{AnswerState, CheckState, Closed, EntryFlags, GateState, Override};
pub use event::{Did, Event, Stamp};
pub use exercise::{Exercise, PersonKind, Task};
pub use finding::{Found, Moved, PinDecision, PinFound, ReAimed, ViewFound};
pub use kernel::Case;
pub use layout::{PlaceLayout, StepRef};
pub use opening::{CaseKind, Configured, Continues, FORMAT, Opening};
pub use radiation::{
    ConsoleRead, JoinedReport, Logged, LoggedReading, MachineSet, MachineSetting, Radiation, RadiationCommand,
    ReceivedImage, Reconciled, StatedPose, UNNAMED_MACHINE,
};
pub use refused::{Refused, ReplayError};
pub use state::{Correction, Outcome, Remark, Shot, State, Status};
pub use timeline::{Elapsed, Timeline};
