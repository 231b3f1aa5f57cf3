//! Creating a case.

use super::issue::{Parts, moment};
use super::saving::Saving;
use super::writer::{Repair, Target};
use super::{IMAGES, OpenCase, OpenError, PATHWAY, PLAN, REPORTS, World, folder};
use crate::case::{Case, CaseKind, Configured, Did, Event, FORMAT, Opening, Stamp};
use crate::journal::{self, Sum};
use crate::pathway::{self, Pathway};
use crate::people::{Actor, PersonId, Role};
use crate::plan::{self, Plan};
use crate::ports::{AppendFile, Moment};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

/// The program's version as journals name it.
pub(super) const PROGRAM: &str = env!("CARGO_PKG_VERSION");

/// What a case is made of.
#[derive(Debug, Clone)]
pub struct CreateCase {
    /// Kept byte for byte as the case's own copy.
    pub pathway_bytes: Vec<u8>,
    /// Kept byte for byte.
    pub plan_bytes: Vec<u8>,
    /// Who holds which role; every role the pathway names must be held.
    pub team: BTreeMap<Role, PersonId>,
    pub kind: CaseKind,
    pub site: Option<String>,
    pub configured: Configured,
    pub by: Actor,
    pub logged_by: Actor,
}

impl OpenCase {
    /// Creates a case in a folder that holds none, and opens it. Its first line is durable when this returns.
    ///
    /// # Errors
    /// [`OpenError`]. Bad input is found before anything is written.
    pub fn create(world: &World, folder: &Path, wanted: CreateCase) -> Result<Self, OpenError> {
        let (pathway, plan) = documents(&wanted)?;
        let now = moment(world);
        let opening = opening(world, &wanted, &pathway)?;
        let stamp = Stamp { at: now.at, process: 1, boot_ms: now.boot_ms };
        let CreateCase { pathway_bytes, plan_bytes, by, logged_by, .. } = wanted;
        let event = Event { seq: 1, stamp, by, logged_by, did: Did::CaseOpened(Box::new(opening)) };
        let name = folder::journal_name(1);
        let case = Case::open(Arc::new(pathway), Arc::new(plan), &event)
            .map_err(|source| OpenError::NotHistory { file: name.clone(), source })?;
        let (line, _) = journal::encode(&event, &Sum::ZERO).map_err(OpenError::Opening)?;
        let lock = prepare(world, folder, &pathway_bytes, &plan_bytes)?;
        let path = folder::path(folder, &name);
        let file = first_line(world, &path, &line).map_err(|source| OpenError::Disk { path: path.clone(), source })?;
        let reading = journal::read(&line).map_err(|source| OpenError::Journal { file: name.clone(), source })?;
        let target =
            Target { path, file: Some(file), good_bytes: reading.good_bytes, repair: Repair::default(), lock };
        let journal = reading.journal;
        let parts = Parts { folder: folder.to_owned(), journal_file: name, case, journal, process: 1, now };
        Self::start(world, parts, target, Saving::new(1, 0))
    }
}

fn documents(wanted: &CreateCase) -> Result<(Pathway, Plan), OpenError> {
    let (pathway, plan) = parse(&wanted.pathway_bytes, &wanted.plan_bytes)?;
    if let Some(role) = pathway.team.iter().find(|role| !wanted.team.contains_key(role)) {
        return Err(OpenError::RoleUnfilled(*role));
    }
    Ok((pathway, plan))
}

/// The two documents of a case, fitting each other.
pub(super) fn parse(pathway_bytes: &[u8], plan_bytes: &[u8]) -> Result<(Pathway, Plan), OpenError> {
    let pathway =
        pathway::read(pathway_bytes).map_err(|source| OpenError::Pathway { file: PATHWAY.to_owned(), source })?;
    let plan = plan::read(plan_bytes).map_err(|source| OpenError::Plan { file: PLAN.to_owned(), source })?;
    if plan.pathway != pathway.id {
        return Err(OpenError::OtherPathway { file: PLAN.to_owned(), wanted: plan.pathway, found: pathway.id });
    }
    Ok((pathway, plan))
}

fn opening(world: &World, wanted: &CreateCase, pathway: &Pathway) -> Result<Opening, OpenError> {
    let mut identifier = [0; 16];
    world.randomness.fill(&mut identifier).map_err(OpenError::Randomness)?;
    Ok(Opening {
        brimline_journal: FORMAT,
        program: PROGRAM.to_owned(),
        kind: wanted.kind,
        case: uuid::Builder::from_random_bytes(identifier).into_uuid().to_string(),
        pathway: pathway.id.clone(),
        pathway_version: pathway.version.clone(),
        pathway_digest: Sum::of(&wanted.pathway_bytes).to_string(),
        plan_digest: Sum::of(&wanted.plan_bytes).to_string(),
        nonce: nonce(world)?,
        site: wanted.site.clone(),
        team: wanted.team.clone(),
        configured: wanted.configured.clone(),
        continues: None,
    })
}

/// 256 random bits in hex.
pub(super) fn nonce(world: &World) -> Result<String, OpenError> {
    use std::fmt::Write as _;
    let mut bits = [0; 32];
    world.randomness.fill(&mut bits).map_err(OpenError::Randomness)?;
    Ok(bits.iter().fold(String::with_capacity(64), |mut hex, byte| {
        write!(hex, "{byte:02x}").expect("writing to a string succeeds");
        hex
    }))
}

/// Makes the folder with everything but the journal; returns the lock.
fn prepare(world: &World, folder: &Path, pathway: &[u8], plan: &[u8]) -> Result<Box<dyn Send>, OpenError> {
    let disk = &world.disk;
    let at = |path: &Path| {
        let path = path.to_owned();
        move |source| OpenError::Disk { path, source }
    };
    disk.create_folder(folder).map_err(at(folder))?;
    let lock = lock(world, folder)?;
    let names = disk.list(folder).map_err(at(folder))?;
    if !folder::journal_numbers(&names).is_empty() {
        return Err(OpenError::Exists { folder: folder.to_owned() });
    }
    for name in [IMAGES, REPORTS] {
        let path = folder::path(folder, name);
        disk.create_folder(&path).map_err(at(&path))?;
    }
    for (name, bytes) in [(PATHWAY, pathway), (PLAN, plan)] {
        let path = folder::path(folder, name);
        disk.replace(&path, bytes).map_err(at(&path))?;
    }
    Ok(lock)
}

pub(super) fn lock(world: &World, folder: &Path) -> Result<Box<dyn Send>, OpenError> {
    let path = folder::path(folder, folder::LOCK);
    world.disk.lock(&path).map_err(|source| match source.kind() {
        std::io::ErrorKind::WouldBlock => OpenError::Locked { folder: folder.to_owned() },
        _ => OpenError::Disk { path, source },
    })
}

fn first_line(world: &World, path: &Path, line: &[u8]) -> std::io::Result<Box<dyn AppendFile>> {
    let mut file = world.disk.open_append(path, true)?;
    file.append(line)?;
    file.sync()?;
    Ok(file)
}

/// The process number of the next run on a journal.
pub(super) fn next_process(events: &[Event]) -> u32 {
    events.last().map_or(1, |event| event.stamp.process.saturating_add(1))
}

/// The clocks on opening.
pub(super) fn parts_of(
    world: &World,
    folder: &Path,
    journal_file: String,
    case: Case,
    journal: journal::VerifiedJournal,
) -> Parts {
    let now: Moment = moment(world);
    let process = next_process(journal.events());
    Parts { folder: folder.to_owned(), journal_file, case, journal, process, now }
}
