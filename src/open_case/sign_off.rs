//! Signing the record of a closed case: built at the first signature, added to at the next.
//!
//! The record is durable before the journal says that it was signed; a signature found in the record after a crash
//! counts, whether or not the journal still came to say so.

use super::{IssueError, OpenCase};
use crate::case::{Command, Refused};
use crate::people::{Actor, PersonKey, Role};
use crate::record::{self, Meaning, Names, RecordError, SignedRecord};
use std::io;
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
    #[error("that key is not the key of the {0} of this case")]
    OtherKey(Role),
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

impl OpenCase {
    /// Signs the record with a person's key. `overrides_confirmed`: how many of the gates passed by spoken word the
    /// surgeon confirmed; must be all of them.
    ///
    /// # Errors
    /// [`SignError`]; the record on disk is then as it was.
    pub fn sign_record(
        &mut self,
        key: &PersonKey,
        role: Role,
        logged_by: &Actor,
        overrides_confirmed: u32,
        names: Names<'_>,
    ) -> Result<SignedRecord, SignError> {
        let by = Actor::new(role, key.person());
        if self.case().state().team.get(&role) != Some(&by.person) {
            return Err(SignError::OtherKey(role));
        }
        self.may_sign(role, overrides_confirmed)?;
        let path = self.record_path().display().to_string();
        let failed = |fault| SignError::Record { path: path.clone(), fault };
        let signed_ms = self.elapsed().ms;
        let signed = match self.record()? {
            Some(record) => record.add(key, role, meaning(role), signed_ms).map_err(failed)?,
            None => {
                let closing = self.closing().ok_or(SignError::NotClosed)?;
                let closing = record::ChainPoint { seq: closing.seq, sum: closing.sum.to_string() };
                let unsigned =
                    record::build(self.case(), &closing, names, &*self.world().randomness).map_err(failed)?;
                unsigned.sign(key, role, meaning(role), signed_ms).map_err(failed)?
            }
        };
        self.write_record(&signed.to_bytes()).map_err(|fault| SignError::Disk { path: path.clone(), fault })?;
        let command = Command::Sign { role, payload: signed.digest(), overrides_confirmed };
        self.issue(&by, logged_by, command)?;
        Ok(signed)
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
        let path = self.record_path();
        match self.world().disk.read(&path, record::MAX_BYTES) {
            Ok(bytes) => {
                let path = path.display().to_string();
                SignedRecord::read(&bytes).map(Some).map_err(|fault| SignError::Record { path, fault })
            }
            Err(fault) if fault.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(fault) => Err(SignError::Disk { path: path.display().to_string(), fault }),
        }
    }
}
