//! Opening a new case: its folder, its documents, and line 1 of its journal.

use super::held::{Saving, stamp};
use super::{Notify, OpenCase, OpenError, World, names};
use crate::case::{Case, CaseKind, Configured, Did, Event, FORMAT, Opening};
use crate::journal::{self, ChainPoint};
use crate::pathway::{self, Pathway};
use crate::people::{Actor, PersonId, Role};
use crate::plan::{self, Plan};
use crate::ports::AppendFile;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::io;
use std::path::Path;
use std::sync::Arc;

/// What a new case is made of.
pub struct CreateCase<'a> {
    pub pathway: &'a [u8],
    pub plan: &'a [u8],
    pub kind: CaseKind,
    pub site: Option<String>,
    pub team: BTreeMap<Role, PersonId>,
    pub configured: Configured,
    pub by: Actor,
    pub logged_by: Actor,
    pub notify: Notify,
}

impl OpenCase {
    /// Opens a new case in a folder that does not exist yet; line 1 is durable when it returns.
    ///
    /// # Errors
    /// [`OpenError`]; a folder without a journal may be left, which is no case.
    pub fn create(world: &World, folder: &Path, new: CreateCase<'_>) -> Result<Self, OpenError> {
        let (pathway, plan) = documents(folder, &new)?;
        let disk = &*world.disk;
        let failed = |path: &Path| {
            let path = path.to_owned();
            move |fault: io::Error| OpenError::Disk { path, fault }
        };
        disk.create_folder(folder).map_err(failed(folder))?;
        let lock = lock(world, folder)?;
        for inner in [names::IMAGES, names::REPORTS] {
            disk.create_folder(&folder.join(inner)).map_err(failed(&folder.join(inner)))?;
        }
        for (name, bytes) in [(names::PATHWAY, new.pathway), (names::PLAN, new.plan)] {
            disk.replace(&folder.join(name), bytes).map_err(failed(&folder.join(name)))?;
        }
        let path = folder.join(names::JOURNAL);
        let event = first_event(world, &new, &pathway).map_err(failed(&path))?;
        let case = Case::open(Arc::new(pathway), Arc::new(plan), &event)
            .map_err(|fault| OpenError::Replay { path: path.clone(), fault })?;
        let (line, end) = journal::encode(&event, ChainPoint::NONE);
        let file = first_line(world, &path, &line).map_err(failed(&path))?;
        let saving = Saving::start(world, path, file, line.len() as u64, 1, new.notify);
        Ok(Self {
            world: world.clone(),
            folder: folder.to_owned(),
            case,
            process: 1,
            end,
            closing: None,
            last: event.stamp,
            saving: Some(saving),
            _lock: lock,
        })
    }
}

fn documents(folder: &Path, new: &CreateCase<'_>) -> Result<(Pathway, Plan), OpenError> {
    let pathway =
        pathway::read(new.pathway).map_err(|fault| OpenError::Pathway { path: folder.join(names::PATHWAY), fault })?;
    let plan = plan::read(new.plan).map_err(|fault| OpenError::Plan { path: folder.join(names::PLAN), fault })?;
    if plan.pathway != pathway.id {
        return Err(OpenError::OtherPathway { planned: plan.pathway, given: pathway.id });
    }
    if let Some(role) = pathway.team.iter().find(|role| !new.team.contains_key(role)) {
        return Err(OpenError::RoleMissing { pathway: pathway.id.clone(), role: *role });
    }
    Ok((pathway, plan))
}

/// Holds the case for this process.
pub(super) fn lock(world: &World, folder: &Path) -> Result<Box<dyn Send>, OpenError> {
    let path = folder.join(names::LOCK);
    world.disk.lock(&path).map_err(|fault| match fault.kind() {
        io::ErrorKind::WouldBlock => OpenError::InUse { folder: folder.to_owned() },
        _ => OpenError::Disk { path: path.clone(), fault },
    })
}

fn first_event(world: &World, new: &CreateCase<'_>, pathway: &Pathway) -> io::Result<Event> {
    let mut random = [0; 48];
    world.randomness.fill(&mut random)?;
    let (nonce, case) = random.split_at(32);
    let case = uuid::Builder::from_random_bytes(case.try_into().expect("48 less 32 is 16")).into_uuid();
    let opening = Opening {
        brimline_journal: FORMAT,
        program: env!("CARGO_PKG_VERSION").to_owned(),
        kind: new.kind,
        case: case.to_string(),
        pathway: pathway.id.clone(),
        pathway_version: pathway.version.clone(),
        pathway_digest: hex(&Sha256::digest(new.pathway)),
        plan_digest: hex(&Sha256::digest(new.plan)),
        nonce: hex(nonce),
        site: new.site.clone(),
        team: new.team.clone(),
        configured: new.configured.clone(),
        continues: None,
    };
    let stamp = stamp(&world.clock.now(), 1);
    let (by, logged_by) = (new.by.clone(), new.logged_by.clone());
    Ok(Event { seq: 1, stamp, by, logged_by, did: Did::CaseOpened(Box::new(opening)) })
}

/// Writes the first line of a journal that does not exist yet, durable on return.
pub(super) fn first_line(world: &World, path: &Path, line: &[u8]) -> io::Result<Box<dyn AppendFile>> {
    let mut file = world.disk.open_append(path, true)?;
    file.append(line)?;
    file.sync()?;
    Ok(file)
}

/// Lower-case hex.
pub(super) fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::with_capacity(bytes.len() * 2), |mut text, byte| {
        write!(text, "{byte:02x}").expect("a string takes all text");
        text
    })
}
