//! What arrived over the network finds its case, or waits for a person.
//!
//! An object joins by itself only where patient number and time agree with one case alone. Its file is durable in that
//! case's folder and the case's journal names it before it leaves the `received` folder; a crash between leaves it in
//! both, and the next pass finds that it joined. A signed case takes nothing in any more: there a report waits to become
//! an addendum. What was set aside stays in the folder, marked, until the retention removes it. What it does not do: it
//! runs no thread and touches no case that another process holds.

use super::arrivals::{CaseSpan, Joins, Why, joins};
use super::names::{self, RECEIVED};
use super::reports::{JoinError, Joining, TakenImage, keep_file};
use super::{OpenCase, SaveState, World, look};
use crate::case::{Case, JoinedReport, Status};
use crate::dose::DoseReport;
use crate::people::{Actor, Role};
use crate::ports::image::ImageReader;
use crate::ports::{Arrival, ArrivalKind, Receiver, ReportReader};
use chrono::TimeDelta;
use std::collections::BTreeSet;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

/// Ending of the mark beside a file that a person set aside.
pub const ASIDE: &str = ".aside";
/// Longest wait for a case's journal.
const SAVE_WAIT: Duration = Duration::from_secs(10);
/// Folder of cases in a store.
const CASES: &str = "cases";

/// What an intake works with.
#[derive(Clone)]
pub struct Intake {
    pub world: World,
    pub store: PathBuf,
    pub receiver: &'static dyn Receiver,
    pub reports: &'static dyn ReportReader,
    pub images: &'static dyn ImageReader,
    /// How far a machine's clock may be off.
    pub tolerance: TimeDelta,
    /// Largest object taken, bytes.
    pub bytes_max: u64,
}

/// The case that this process has open: its events are its owner's to issue.
#[derive(Debug, Clone)]
pub struct Ours {
    pub folder: PathBuf,
    /// UIDs of what it holds already, durable.
    pub holds: BTreeSet<String>,
}

/// Something whose file is kept in the open case, and that its owner now enters.
#[derive(Debug, Clone)]
pub enum Came {
    Report { joined: Box<JoinedReport>, report: Box<DoseReport> },
    Image(TakenImage),
}

/// Why something waits for a person.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Waits {
    Disagrees(Why),
    /// It agrees with this case, which is signed already: it can become an addendum.
    Signed(PathBuf),
    /// Its case could not take it in.
    NotTaken(String),
}

/// What one pass came to.
#[derive(Debug, Default)]
pub struct Taken {
    pub for_open: Vec<Came>,
    /// Cases that took something in.
    pub joined: Vec<PathBuf>,
    pub waiting: Vec<(Arrival, Waits)>,
}

/// A case of the store as far as an arrival is held against it.
struct Found {
    folder: PathBuf,
    span: CaseSpan,
    signed: bool,
    /// UIDs of what its journal on disk names already.
    holds: BTreeSet<String>,
}

/// Goes through everything that waits. It waits for the disk, so it has no place on a window's thread.
///
/// # Errors
/// What the system says of the folder of arrivals; what of one arrival fails leaves that one waiting.
pub fn take_in(intake: &Intake, ours: Option<&Ours>) -> io::Result<Taken> {
    let mut taken = Taken::default();
    let arrivals = waiting(intake)?;
    if arrivals.is_empty() {
        return Ok(taken);
    }
    let cases = cases(intake);
    let spans: Vec<CaseSpan> = cases.iter().map(|case| case.span.clone()).collect();
    for arrival in arrivals {
        let case = match joins(&arrival, &spans, intake.tolerance) {
            Joins::Case(at) => &cases[at],
            Joins::Waits(why) => {
                taken.waiting.push((arrival, Waits::Disagrees(why)));
                continue;
            }
        };
        let is_ours = ours.is_some_and(|ours| ours.folder == case.folder);
        if case.holds.contains(&arrival.uid) && !is_ours {
            forget(intake, &arrival)?;
            continue;
        }
        if case.signed {
            taken.waiting.push((arrival, Waits::Signed(case.folder.clone())));
            continue;
        }
        match give(intake, ours, &arrival, &case.folder, false) {
            Ok(Some(came)) => taken.for_open.push(came),
            Ok(None) => taken.joined.push(case.folder.clone()),
            Err(fault) => taken.waiting.push((arrival, Waits::NotTaken(fault.to_string()))),
        }
    }
    Ok(taken)
}

/// A person says which case something belongs to. What the owner of the open case is to enter; `None` if it joined.
///
/// # Errors
/// [`JoinError`]; it goes on waiting.
pub fn assign(intake: &Intake, ours: Option<&Ours>, arrival: &Arrival, case: &Path) -> Result<Option<Came>, JoinError> {
    give(intake, ours, arrival, case, true)
}

/// A person says that something belongs to no case here: it waits no more, and is removed with the retention.
///
/// # Errors
/// What the system says.
pub fn set_aside(intake: &Intake, arrival: &Arrival) -> io::Result<()> {
    let mark = intake.store.join(RECEIVED).join(format!("{}{ASIDE}", arrival.file));
    intake.world.disk.replace(&mark, b"")
}

/// Takes an arrival out of the folder: it stands in a case now.
///
/// # Errors
/// What the system says.
pub fn forget(intake: &Intake, arrival: &Arrival) -> io::Result<()> {
    intake.world.disk.remove(&intake.store.join(RECEIVED).join(&arrival.file))
}

/// Bytes of something that waits.
///
/// # Errors
/// What the system says.
pub fn bytes_of(intake: &Intake, arrival: &Arrival) -> io::Result<Vec<u8>> {
    intake.world.disk.read(&intake.store.join(RECEIVED).join(&arrival.file), intake.bytes_max)
}

fn waiting(intake: &Intake) -> io::Result<Vec<Arrival>> {
    let disk = &intake.world.disk;
    let arrivals = intake.receiver.waiting(&**disk, &intake.store)?;
    if arrivals.is_empty() {
        return Ok(arrivals);
    }
    let there: BTreeSet<String> = disk.list(&intake.store.join(RECEIVED))?.into_iter().collect();
    let stays = |arrival: &Arrival| !there.contains(&format!("{}{ASIDE}", arrival.file));
    Ok(arrivals.into_iter().filter(stays).collect())
}

/// Every case of the store that can be read; a rehearsal takes nothing in.
fn cases(intake: &Intake) -> Vec<Found> {
    let folder = intake.store.join(CASES);
    let names = intake.world.disk.list(&folder).unwrap_or_default();
    names.into_iter().filter_map(|name| found(intake, folder.join(name))).collect()
}

fn found(intake: &Intake, folder: PathBuf) -> Option<Found> {
    let on_disk = look(&intake.world, &folder).ok()?;
    let state = on_disk.case.state();
    let live = state.opening.kind == crate::case::CaseKind::Live && !is_void(&on_disk.case);
    let opened = state.opened_at.filter(|_| live)?;
    let closed = state.closed_seq.and_then(|seq| on_disk.journal.events().iter().find(|event| event.seq == seq));
    let until = closed.map_or_else(|| intake.world.clock.now().at, |event| event.stamp.at);
    let number = Some(on_disk.case.plan().patient.number.clone());
    let record = on_disk.names.iter().any(|name| name == names::RECORD);
    let signed = record || !state.signed.is_empty();
    let holds = state.radiation.uids().map(str::to_owned).collect();
    Some(Found { holds, folder, span: CaseSpan { patient_number: number, opened, until }, signed })
}

fn is_void(case: &Case) -> bool {
    matches!(case.state().status, Status::Closed(crate::case::Outcome::Void))
}

/// Puts an arrival into a case: into the open one by its owner, into another by opening it.
fn give(
    intake: &Intake,
    ours: Option<&Ours>,
    arrival: &Arrival,
    folder: &Path,
    by_person: bool,
) -> Result<Option<Came>, JoinError> {
    let disk_fault = |fault| JoinError::Disk { path: intake.store.join(RECEIVED).join(&arrival.file), fault };
    let ours = ours.filter(|ours| ours.folder == folder);
    if ours.is_some_and(|ours| ours.holds.contains(&arrival.uid)) {
        forget(intake, arrival).map_err(disk_fault)?;
        return Ok(None);
    }
    let came = kept(intake, arrival, folder, by_person)?;
    if ours.is_some() {
        return Ok(Some(came));
    }
    enter(intake, folder, came)?;
    forget(intake, arrival).map_err(disk_fault)?;
    Ok(None)
}

/// Its file kept in the case's folder.
fn kept(intake: &Intake, arrival: &Arrival, folder: &Path, by_person: bool) -> Result<Came, JoinError> {
    let from = || intake.store.join(RECEIVED).join(&arrival.file);
    let bytes = bytes_of(intake, arrival).map_err(|fault| JoinError::Disk { path: from(), fault })?;
    let file = format!("{}.dcm", arrival.uid);
    let joining = Joining { file: &file, bytes: &bytes };
    if arrival.kind == ArrivalKind::DoseReport {
        let report = intake.reports.read(&bytes).map_err(|fault| JoinError::Unreadable(fault.to_string()))?;
        let sha256 = keep_file(&intake.world, folder, false, &joining)?;
        let joined = Box::new(JoinedReport::of(&report, file.clone(), sha256, by_person));
        return Ok(Came::Report { joined, report: Box::new(report) });
    }
    let sha256 = keep_file(&intake.world, folder, true, &joining)?;
    let poses = intake.images.poses(&bytes);
    Ok(Came::Image(TakenImage { sha256, uid: Some(arrival.uid.clone()), made: arrival.made, poses, by_person, file }))
}

/// Enters something into a case that nobody has open, in the name of who answers for the machine.
fn enter(intake: &Intake, folder: &Path, came: Came) -> Result<(), JoinError> {
    let reopened = OpenCase::reopen(&intake.world, folder, Arc::new(|| {})).map_err(JoinError::Open)?;
    let mut case = reopened.case;
    let actor = machine_actor(case.case()).ok_or(JoinError::Nobody)?;
    came.enter(&mut case, &actor)?;
    match case.wait_saved(SAVE_WAIT) {
        SaveState::Saved => Ok(()),
        other => Err(JoinError::Unreadable(format!("the case's journal was not saved: {other:?}"))),
    }
}

/// Who answers for the machine in a case: the radiographer, else whoever holds the tablet.
#[must_use]
pub fn machine_actor(case: &Case) -> Option<Actor> {
    let team = &case.state().team;
    let role =
        [Role::Radiographer, Role::CirculatingNurse, Role::Surgeon].into_iter().find(|role| team.contains_key(role))?;
    Some(Actor::new(role, team[&role].clone()))
}

impl Came {
    /// Enters it into the case whose folder keeps its file.
    ///
    /// # Errors
    /// [`JoinError`].
    pub fn enter(self, case: &mut OpenCase, actor: &Actor) -> Result<(), JoinError> {
        match self {
            Self::Report { joined, report } => case.join_report(*joined, &report, actor, actor).map(|_| ()),
            Self::Image(image) => case.take_image(&image, actor, actor).map(|_| ()),
        }
    }
}
