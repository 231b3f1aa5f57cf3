//! Signing the record of a closed case: built at the first signature, added to at the next.
//!
//! Reading, signing and writing are a job apart from the open case, so that no window waits for them. The record is
//! durable before the journal says that it was signed; a signature found in the record after a crash counts, whether
//! or not the journal still came to say so.

use super::{IssueError, OpenCase, World};
use crate::case::{Case, Command, Refused};
use crate::people::{Actor, PersonId, PersonKey, Role, Roster};
use crate::record::{self, Meaning, RecordError, SignedRecord, Who};
use std::io;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why a record could not be signed.
#[derive(Debug, Error)]
pub enum SignError {
    #[error("{path}: {fault}")]
    Disk { path: String, fault: io::Error },
    #[error("{path}: {fault}")]
    Record { path: String, fault: RecordError },
    #[error(transparent)]
    Issue(#[from] IssueError),
    #[error("the case is not closed")]
    NotClosed,
    #[error("that key is not the key of the {0} of this case, and did not take its place")]
    OtherKey(Role),
    #[error("that key of the {0} is retired and signs nothing new")]
    Retired(Role),
}

/// What a signature of that role says it means (21 CFR 11.50).
#[must_use]
pub fn meaning(role: Role) -> Meaning {
    match role {
        Role::Surgeon => Meaning::Responsibility,
        Role::CirculatingNurse | Role::ScrubNurse => Meaning::Authorship,
        Role::Assistant | Role::Radiographer | Role::Anaesthetist => Meaning::Review,
    }
}

/// One signature to be given, apart from the open case, which goes on meanwhile. A closed case changes no more, so
/// that what is signed is what the case holds.
pub struct SigningJob {
    world: World,
    case: Case,
    closing: record::ChainPoint,
    path: PathBuf,
    /// By whom the case knows the signer.
    asked: Who,
    overrides_confirmed: u32,
    signed_ms: u64,
}

/// A signature that stands in the record on disk; the journal has yet to say so.
pub struct Written {
    record: SignedRecord,
    asked: Who,
    key: PersonId,
    overrides_confirmed: u32,
}

impl Written {
    #[must_use]
    pub fn record(&self) -> &SignedRecord {
        &self.record
    }
}

impl SigningJob {
    /// Signs with a person's key and writes the record, durable when this returns. The key must be that of the signer,
    /// or by the roster have taken its place.
    ///
    /// # Errors
    /// [`SignError`]; the record on disk is then as it was.
    pub fn sign(self, key: &PersonKey, roster: &Roster) -> Result<Written, SignError> {
        let Self { world, case, closing, path, asked, overrides_confirmed, signed_ms } = self;
        let (kid, role) = (key.person(), asked.role);
        if kid != asked.kid && !roster.succeeds(&kid, &asked.kid) {
            return Err(SignError::OtherKey(role));
        }
        if roster.person(&kid).is_some_and(crate::people::Person::retired) {
            return Err(SignError::Retired(role));
        }
        let failed = |fault| SignError::Record { path: path.display().to_string(), fault };
        let record = match read(&world, &path)? {
            Some(record) => record.add_as(key, asked.clone(), meaning(role), signed_ms).map_err(failed)?,
            None => {
                let names = |kid: &PersonId| roster.person(kid).map(|person| person.name().to_owned());
                let unsigned = record::build(&case, &closing, &names, &*world.randomness).map_err(failed)?;
                unsigned.sign_as(key, asked.clone(), meaning(role), signed_ms).map_err(failed)?
            }
        };
        let written = world.disk.replace(&path, &record.to_bytes());
        written.map_err(|fault| SignError::Disk { path: path.display().to_string(), fault })?;
        Ok(Written { record, asked, key: kid, overrides_confirmed })
    }
}

impl OpenCase {
    /// One signature in that role, to be given apart from the case. `overrides_confirmed`: how many of the gates
    /// passed by spoken word the surgeon confirmed; must be all of them.
    ///
    /// # Errors
    /// [`SignError`] if the case would refuse the signature; nothing was written.
    pub fn signing(&self, role: Role, overrides_confirmed: u32) -> Result<SigningJob, SignError> {
        self.may_sign(role, overrides_confirmed)?;
        let kid = self.case().state().team.get(&role).cloned().ok_or(SignError::OtherKey(role))?;
        let closing = self.closing().ok_or(SignError::NotClosed)?;
        Ok(SigningJob {
            world: self.world().clone(),
            case: self.case().clone(),
            closing: record::ChainPoint { seq: closing.seq, sum: closing.sum.to_string() },
            path: self.record_path(),
            asked: Who { role, kid },
            overrides_confirmed,
            signed_ms: self.elapsed().ms,
        })
    }

    /// Lets the journal say that the record was signed.
    ///
    /// # Errors
    /// [`IssueError`]; the signature stands in the record all the same.
    pub fn note_signed(&mut self, written: &Written, logged_by: &Actor) -> Result<(), IssueError> {
        let Who { role, kid } = written.asked.clone();
        let key = (written.key != kid).then(|| written.key.clone());
        let (payload, overrides_confirmed) = (written.record.digest(), written.overrides_confirmed);
        let by = Actor::new(role, kid);
        self.issue(&by, logged_by, Command::Sign { role, payload, overrides_confirmed, key }).map(|_| ())
    }

    /// Signs the record with a person's key, and says so in the journal. It waits for the disk.
    ///
    /// # Errors
    /// [`SignError`]; the record on disk is then as it was.
    pub fn sign_record(
        &mut self,
        key: &PersonKey,
        role: Role,
        logged_by: &Actor,
        overrides_confirmed: u32,
        roster: &Roster,
    ) -> Result<SignedRecord, SignError> {
        let written = self.signing(role, overrides_confirmed)?.sign(key, roster)?;
        self.note_signed(&written, logged_by)?;
        Ok(written.record)
    }

    /// Refused before anything is written, if the case would refuse the signature.
    fn may_sign(&self, role: Role, overrides_confirmed: u32) -> Result<(), SignError> {
        let state = self.case().state();
        if state.outcome().is_none() {
            return Err(SignError::NotClosed);
        }
        let gates = u32::try_from(state.overrides().count()).unwrap_or(u32::MAX);
        if role == Role::Surgeon && overrides_confirmed != gates {
            let refused = Refused::OverridesNotConfirmed { confirmed: overrides_confirmed, gates };
            return Err(SignError::Issue(IssueError::Refused(refused)));
        }
        Ok(())
    }

    /// The record as it stands on disk, if there is one yet.
    ///
    /// # Errors
    /// [`SignError`] if it is there and cannot be read.
    pub fn record(&self) -> Result<Option<SignedRecord>, SignError> {
        read(self.world(), &self.record_path())
    }
}

fn read(world: &World, path: &Path) -> Result<Option<SignedRecord>, SignError> {
    match world.disk.read(path, record::MAX_BYTES) {
        Ok(bytes) => {
            let path = path.display().to_string();
            SignedRecord::read(&bytes).map(Some).map_err(|fault| SignError::Record { path, fault })
        }
        Err(fault) if fault.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(fault) => Err(SignError::Disk { path: path.display().to_string(), fault }),
    }
}
