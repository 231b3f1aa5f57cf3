//! Dose: what the machine says it gave, what that means and what it does not, and which step it belongs to.
//!
//! Everything here works with totals alone and with no shot tapped. What it does not do: it reads no DICOM and no
//! file, sees no case (only plain sequences of times and places), formats no screen, and states no skin dose. What
//! may never change: the meaning of format 1 of a dose report as JSON, and of readings and reconciliations, which
//! stand in journals and records.

mod account;
mod accuracy;
mod configured;
mod entrance;
mod estimate;
mod levels;
mod no_pose;
mod plausible;
mod reading;
pub mod reconcile;
mod report;
mod report_fault;
mod report_read;
mod staff;
mod usual;

pub use account::{Account, Difference, Finding, account};
pub use accuracy::{DISPLAY_SHARE, DisplayAccuracy};
pub use configured::{DoseConfigured, SCATTER};
pub use entrance::{Entrance, Position, TubeSide};
pub use estimate::{
    COEFFICIENTS_MAX_BYTES, Coefficient, CoefficientSet, DEFAULT_SET, DoseCoefficients, EffectiveDose, EstimateError,
    MeantFor, SKIN_SILENT_BELOW, skin_words,
};
pub use levels::{LEVELS_MAX_BYTES, Level, LevelSet, LevelUnit, Metric, NotificationLevels, Reached};
pub use no_pose::NoPose;
pub use plausible::{HARDLY_EVER_RATE, Implausible, USUAL_FIELD, USUAL_RATE, implausible, units_that_fit};
pub use reading::{Figures, Moment, Reading, Shown, ShownAirKerma, ShownKermaArea, Source};
pub use report::{
    Calibration, Device, DoseReport, EventType, FORMAT, IrradiationEvent, MachineTime, Plane, PlaneTotals,
    ReferencePoint, ReportKind,
};
pub use report_fault::{Figure, ReportFault};
pub use report_read::{EVENTS_MAX, MAX_BYTES, ReportError, read_report};
pub use staff::{NOT_A_DOSIMETER, SCATTER_MAX_BYTES, Scatter, StaffBound, StaffError};
pub use usual::{Against, CASES_MIN, Group, Past, SizeBand, Usual, quantile, usual};
