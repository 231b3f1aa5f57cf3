//! A dose report or an image that joins a case: its file into the case's folder first, then the event.
//!
//! A file without its event, left by a crash between the two, is found by its name on the next try and written over by
//! the same bytes. What it does not do: it decides nothing (that is [`super::arrivals`] and a person) and reads no
//! DICOM; after the first signature nothing joins any more, and a report becomes an addendum.

use super::names::{IMAGES, REPORTS};
use super::team_sequence::team_sequence;
use super::{IssueError, OpenCase, OpenError, World};
use crate::case::{Case, Command, Event, JoinedReport, RadiationCommand, Reconciled, ReplayError, StatedPose};
use crate::dose::reconcile::{self, Brief, MachineSequence, Reconciliation};
use crate::dose::{DoseReport, MachineTime};
use crate::journal::{Sum, VerifiedJournal};
use crate::people::Actor;
use crate::ports::image::FramePoses;
use std::io;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why something did not join a case.
#[derive(Debug, Error)]
pub enum JoinError {
    #[error("{}: {fault}", path.display())]
    Disk { path: PathBuf, fault: io::Error },
    #[error(transparent)]
    Issue(#[from] IssueError),
    #[error("the case's own events do not follow each other: {0}")]
    Replay(#[from] ReplayError),
    #[error("the case names no time of opening")]
    NoOpening,
    #[error("the case does not open: {0}")]
    Open(OpenError),
    #[error("nobody in the case answers for the machine")]
    Nobody,
    #[error("{0}")]
    Unreadable(String),
}

/// Something that arrived, with its bytes.
#[derive(Debug, Clone)]
pub struct Joining<'a> {
    /// Name for its file in the case's folder.
    pub file: &'a str,
    pub bytes: &'a [u8],
}

/// Writes the file of something that joins into a folder of the case, durable when this returns; it waits for the disk.
/// Returns the digest. Apart from the open case, so that no window has to wait.
///
/// # Errors
/// [`JoinError::Disk`].
pub fn keep_file(world: &World, case: &Path, image: bool, joining: &Joining<'_>) -> Result<String, JoinError> {
    let path = case.join(if image { IMAGES } else { REPORTS }).join(joining.file);
    world.disk.replace(&path, joining.bytes).map_err(|fault| JoinError::Disk { path, fault })?;
    Ok(Sum::of(joining.bytes).to_string())
}

/// The machine's events attributed to the steps of a case.
///
/// # Errors
/// [`JoinError`] if the journal is no history of the case, or the case names no time of opening.
pub fn reconciled(journal: &VerifiedJournal, case: &Case, report: &DoseReport) -> Result<Reconciliation, JoinError> {
    let team = team_sequence(journal, case)?;
    let opened_at = case.state().opened_at.ok_or(JoinError::NoOpening)?;
    Ok(reconcile::reconcile(&team, &MachineSequence::of(report, opened_at)))
}

impl OpenCase {
    /// Joins a report whose file is kept, and attributes its events. A report that had joined already is attributed
    /// anew: a crash may have come between the two.
    ///
    /// # Errors
    /// [`JoinError`]; what was logged before it stays.
    pub fn join_report(
        &mut self,
        joined: JoinedReport,
        report: &DoseReport,
        by: &Actor,
        logged_by: &Actor,
    ) -> Result<Vec<Event>, JoinError> {
        let (sha256, uid) = (joined.sha256.clone(), joined.uid.clone());
        let join = RadiationCommand::JoinReport { report: Box::new(joined) };
        let mut events = self.issue(by, logged_by, Command::Radiation(join))?;
        let same = |one: &JoinedReport| one.sha256 == sha256 || (uid.is_some() && one.uid == uid);
        let joined = self.case().state().radiation.reports.iter().find(|one| same(&one.what)).map(|one| one.seq);
        if let Some(seq) = joined {
            events.extend(self.reconcile_report(seq, report, by, logged_by)?);
        }
        Ok(events)
    }

    /// Attributes the events of a report that joined under that number, once more if the case went on since.
    ///
    /// # Errors
    /// [`JoinError`].
    pub fn reconcile_report(
        &mut self,
        seq: u64,
        report: &DoseReport,
        by: &Actor,
        logged_by: &Actor,
    ) -> Result<Vec<Event>, JoinError> {
        let brief = Brief::of(&reconciled(self.journal(), self.case(), report)?);
        let reconciled = Box::new(Reconciled { report: seq, brief });
        let command = Command::Radiation(RadiationCommand::Reconcile { reconciled });
        Ok(self.issue(by, logged_by, command)?)
    }

    /// Takes an image whose file is kept.
    ///
    /// # Errors
    /// [`JoinError`].
    pub fn take_image(&mut self, image: &TakenImage, by: &Actor, logged_by: &Actor) -> Result<Vec<Event>, JoinError> {
        let TakenImage { file, sha256, uid, made, poses, by_person } = image.clone();
        let pose = poses.pose.ok().map(|(primary_deg, secondary_deg)| StatedPose { primary_deg, secondary_deg });
        let (no_pose, frames) = (poses.pose.err(), (poses.frames > 1).then_some(poses.frames));
        let take = RadiationCommand::TakeImage { file, sha256, uid, made, pose, no_pose, frames, by_person };
        let command = Command::Radiation(take);
        Ok(self.issue(by, logged_by, command)?)
    }
}

/// An image whose file is kept in the case's folder.
#[derive(Debug, Clone)]
pub struct TakenImage {
    pub file: String,
    pub sha256: String,
    pub uid: Option<String>,
    pub made: Option<MachineTime>,
    pub poses: FramePoses,
    pub by_person: bool,
}
