//! Events: what happened, when, who acted and who touched.

use super::{Answer, ConsoleRead, JoinedReport, MachineSet, Opening, Outcome, PinDecision, ReceivedImage, Reconciled};
use crate::carm::ReAim;
use crate::carm::correction::ViewFinding;
use crate::pathway::{CheckId, ImplantNumber, Place};
use crate::people::{Actor, PersonId, Role};
use crate::pin::Finding;
use crate::units::Side;
use chrono::{DateTime, FixedOffset};
use serde::{Deserialize, Serialize};

/// Both clocks at one moment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stamp {
    /// Wall clock, its offset kept (RFC 3339).
    pub at: DateTime<FixedOffset>,
    /// Which run of the program on this journal, counted from 1.
    pub process: u32,
    /// Milliseconds of a clock that goes on through suspend and starts again at boot.
    pub boot_ms: u64,
}

/// One event of the journal, without its chain. `journal` gives it its bytes.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// Counted from 1 without a gap.
    pub seq: u64,
    pub stamp: Stamp,
    /// Who acted.
    pub by: Actor,
    /// Who touched.
    pub logged_by: Actor,
    pub did: Did,
}

/// What happened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", rename_all_fields = "snake_case", deny_unknown_fields)]
pub enum Did {
    CaseOpened(Box<Opening>),
    /// The team turned to this place; shots count here from now on.
    StepEntered {
        place: Place,
    },
    CheckAnswered {
        place: Place,
        check: CheckId,
        answer: Answer,
        /// When it was done, if it is entered late.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        done_at: Option<DateTime<FixedOffset>>,
    },
    CheckNotDone {
        place: Place,
        check: CheckId,
        reason: String,
    },
    CheckReopened {
        place: Place,
        check: CheckId,
        reason: String,
    },
    /// `failed`: positions, from 0, of the criteria that were not met.
    ViewRejected {
        place: Place,
        check: CheckId,
        failed: Vec<u8>,
    },
    PinRejected {
        place: Place,
        check: CheckId,
        failed: Vec<u8>,
    },
    /// A view correction was given to the radiographer.
    ViewCorrected {
        place: Place,
        check: CheckId,
        finding: Box<ViewFinding>,
    },
    /// The pin was judged from touched views.
    PinFound {
        place: Place,
        check: CheckId,
        finding: Box<Finding>,
        decided: PinDecision,
    },
    /// The plan's tilts were re-aimed by one true lateral with a proven vertical.
    PlanReAimed {
        place: Place,
        check: CheckId,
        re_aim: Box<ReAim>,
    },
    /// Patient or table was moved: a re-aim before it is void, and so is what was declared unmoved.
    PatientMoved {
        place: Place,
    },
    GateReleased {
        place: Place,
        role: Role,
    },
    /// Passed by the surgeon's spoken word, entered by whoever holds the tablet.
    GateOverridden {
        place: Place,
        reason: String,
    },
    /// `shots` irradiation events tapped or read out together.
    ShotsCounted {
        place: Place,
        shots: u32,
    },
    /// One irradiation event that lasted: a run.
    RunLogged {
        place: Place,
        seconds: f64,
    },
    ShotsCorrected {
        place: Place,
        from: u32,
        to: u32,
        reason: String,
    },
    /// Shots taken over from a case that was opened in error, or handed on by it.
    ShotsMoved {
        from_case: String,
        to_case: String,
        shots: u32,
    },
    // Radiation beside the shots.
    ConsoleRead(Box<ConsoleRead>),
    MachineSet(MachineSet),
    /// The shot counted by event `shot` lasted so long: it was a run.
    ShotTimed {
        shot: u64,
        seconds: f64,
    },
    DoseReportJoined(Box<JoinedReport>),
    DoseReconciled(Box<Reconciled>),
    ImageReceived(Box<ReceivedImage>),
    // End of radiation.
    NoteWritten {
        place: Place,
        text: String,
    },
    DeviationNoted {
        place: Place,
        text: String,
    },
    RoleHandedOver {
        role: Role,
        to: PersonId,
    },
    CArmSwapped {
        to: String,
    },
    ImplantAdded {
        side: Side,
        implant: ImplantNumber,
    },
    /// The program was started again on this case; who holds it and whose it is was asked.
    CaseReturned {
        side_confirmed: bool,
    },
    /// The wall clock jumped against the boot clock, milliseconds, positive forward.
    ClockJumped {
        by_ms: i64,
    },
    Paused {
        reason: String,
    },
    Resumed,
    Stopped {
        reason: String,
    },
    /// The case goes on after Stop.
    StopWithdrawn,
    OutcomeChosen {
        outcome: Outcome,
    },
    CaseClosed {
        outcome: Outcome,
    },
    /// `payload`: lower-case hex SHA-256 of the record's payload.
    RecordSigned {
        role: Role,
        payload: String,
        overrides_confirmed: u32,
        /// The key that signed, where it took the place of the one by which the case knows the signer.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        key: Option<PersonId>,
    },
}

impl Did {
    /// The place it names, if any.
    #[must_use]
    pub fn place(&self) -> Option<&Place> {
        match self {
            Self::StepEntered { place }
            | Self::CheckAnswered { place, .. }
            | Self::CheckNotDone { place, .. }
            | Self::CheckReopened { place, .. }
            | Self::ViewRejected { place, .. }
            | Self::PinRejected { place, .. }
            | Self::ViewCorrected { place, .. }
            | Self::PinFound { place, .. }
            | Self::PlanReAimed { place, .. }
            | Self::PatientMoved { place }
            | Self::GateReleased { place, .. }
            | Self::GateOverridden { place, .. }
            | Self::ShotsCounted { place, .. }
            | Self::RunLogged { place, .. }
            | Self::ShotsCorrected { place, .. }
            | Self::NoteWritten { place, .. }
            | Self::DeviationNoted { place, .. } => Some(place),
            Self::MachineSet(set) => Some(&set.place),
            Self::ImageReceived(image) => Some(&image.place),
            _ => None,
        }
    }

    /// The check it names, if any.
    #[must_use]
    pub fn check(&self) -> Option<&CheckId> {
        match self {
            Self::CheckAnswered { check, .. }
            | Self::CheckNotDone { check, .. }
            | Self::CheckReopened { check, .. }
            | Self::ViewRejected { check, .. }
            | Self::PinRejected { check, .. }
            | Self::ViewCorrected { check, .. }
            | Self::PinFound { check, .. }
            | Self::PlanReAimed { check, .. } => Some(check),
            _ => None,
        }
    }
}
