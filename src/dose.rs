//! Dose: what the machine says it gave, what that means and what it does not, and which step it belongs to.
//!
//! Everything here works with totals alone and with no shot tapped. What it does not do: it reads no DICOM and no
//! file, sees no case (only plain sequences of times and places), formats no screen, and states no skin dose. What
//! may never change: the meaning of format 1 of a dose report as JSON, and of readings and reconciliations, which
//! stand in journals and records.

pub mod reconcile;
mod report;
mod report_fault;
mod report_read;

pub use report::{
    Calibration, Device, DoseReport, EventType, FORMAT, IrradiationEvent, MachineTime, Plane, PlaneTotals,
    ReferencePoint, ReportKind,
};
pub use report_fault::{Figure, ReportFault};
pub use report_read::{EVENTS_MAX, MAX_BYTES, ReportError, read_report};
