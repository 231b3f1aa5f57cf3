//! Creating a case.

use super::issue::moment;
use super::names::{self, IMAGES, LOCK, PATHWAY, PLAN, REPORTS};
use super::saving::{Notify, Saving};
use super::writer::{Repair, Target};
use super::{OpenCase, OpenError, World};
use crate::case::{Case, CaseKind, Configured, Did, Event, Exercise, FORMAT, Opening, Stamp};
use crate::journal::{self, Sum};
use crate::pathway::{self, Pathway};
use crate::people::{Actor, PersonId, Role};
use crate::plan::{self, Plan};
use crate::ports::AppendFile;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

/// The program's version as journals name it.
pub(super) const PROGRAM: &str = env!("CARGO_PKG_VERSION");

/// What a new case is made of.
pub struct CreateCase<'a> {
    /// Bytes of the pathway, kept as the case's own copy.
    pub pathway: &'a [u8],
    /// Bytes of the plan, kept as they are.
    pub plan: &'a [u8],
    pub kind: CaseKind,
    /// What a rehearsal on the synthetic machine rehearses.
    pub exercise: Option<Exercise>,
    pub site: Option<String>,
    /// Who holds which role; every role the pathway names must be held.
    pub team: BTreeMap<Role, PersonId>,
    pub configured: Configured,
    pub by: Actor,
    pub logged_by: Actor,
    pub notify: Notify,
}

impl OpenCase {
    /// Opens a new case in a folder that holds none. Its first line is durable when this returns.
    ///
    /// # Errors
    /// [`OpenError`]. Bad input is found before anything is written; a folder left without a journal is no case.
    pub fn create(world: &World, folder: &Path, new: CreateCase<'_>) -> Result<Self, OpenError> {
        let (pathway, plan) = documents(&new)?;
        let now = moment(world);
        let did = Did::CaseOpened(Box::new(opening(world, &new, &pathway)?));
        let stamp = Stamp { at: now.at, process: 1, boot_ms: now.boot_ms };
        let CreateCase { by, logged_by, notify, .. } = new;
        let event = Event { seq: 1, stamp, by, logged_by, did };
        let (file, path) = (names::JOURNAL.to_owned(), folder.join(names::JOURNAL));
        let case = Case::open(Arc::new(pathway), Arc::new(plan), &event)
            .map_err(|source| OpenError::NotHistory { file: file.clone(), source })?;
        let (line, _) = journal::encode(&event, &Sum::NONE).map_err(OpenError::Opening)?;
        let reading = journal::read(&line).map_err(|source| OpenError::Journal { file: file.clone(), source })?;
        let lock = prepare(world, folder, new.pathway, new.plan)?;
        let open = first_line(world, &path, &line).map_err(|source| OpenError::Disk { path: path.clone(), source })?;
        let target = Target { path, file: Some(open), good_bytes: reading.good_bytes, repair: Repair::default() };
        let mut open_case = Self::read_only(world, folder, file, (case, reading.journal), lock);
        open_case.process = 1;
        open_case.write_to(target, Saving::new(1, 0, notify))?;
        Ok(open_case)
    }
}

fn documents(new: &CreateCase<'_>) -> Result<(Pathway, Plan), OpenError> {
    let (pathway, plan) = parse(new.pathway, new.plan)?;
    if let Some(role) = pathway.team.iter().find(|role| !new.team.contains_key(role)) {
        return Err(OpenError::RoleMissing(*role));
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

fn opening(world: &World, new: &CreateCase<'_>, pathway: &Pathway) -> Result<Opening, OpenError> {
    let mut identifier = [0; 16];
    world.randomness.fill(&mut identifier).map_err(OpenError::Randomness)?;
    Ok(Opening {
        brimline_journal: FORMAT,
        program: PROGRAM.to_owned(),
        kind: new.kind,
        exercise: new.exercise,
        case: uuid::Builder::from_random_bytes(identifier).into_uuid().to_string(),
        pathway: pathway.id.clone(),
        pathway_version: pathway.version.clone(),
        pathway_digest: Sum::of(new.pathway).to_string(),
        plan_digest: Sum::of(new.plan).to_string(),
        nonce: nonce(world)?,
        site: new.site.clone(),
        team: new.team.clone(),
        configured: new.configured.clone(),
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
    let there = disk.list(folder).map_err(at(folder))?;
    if !names::journal_numbers(&there).is_empty() {
        return Err(OpenError::Exists { folder: folder.to_owned() });
    }
    for name in [IMAGES, REPORTS] {
        let path = folder.join(name);
        disk.create_folder(&path).map_err(at(&path))?;
    }
    for (name, bytes) in [(PATHWAY, pathway), (PLAN, plan)] {
        let path = folder.join(name);
        disk.replace(&path, bytes).map_err(at(&path))?;
    }
    Ok(lock)
}

pub(super) fn lock(world: &World, folder: &Path) -> Result<Box<dyn Send>, OpenError> {
    let path = folder.join(LOCK);
    world.disk.lock(&path).map_err(|source| match source.kind() {
        std::io::ErrorKind::WouldBlock => OpenError::InUse { folder: folder.to_owned() },
        _ => OpenError::Disk { path, source },
    })
}

fn first_line(world: &World, path: &Path, line: &[u8]) -> std::io::Result<Box<dyn AppendFile>> {
    let mut file = world.disk.open_append(path, true)?;
    file.append(line)?;
    file.sync()?;
    Ok(file)
}
