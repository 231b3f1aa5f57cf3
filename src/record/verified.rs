//! Verification: the only way to a [`Verified`].

use super::addendum::Addendum;
use super::payload::Record;
use super::signed::{Document, Signed, of};
use super::{Meaning, RecordError, Who};
use crate::people::{PersonId, Roster};
use ed25519_dalek::Signature;

/// A signature that holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VerifiedSignature {
    pub who: Who,
    /// The name in the roster it was verified with.
    pub name: String,
    pub meaning: Meaning,
    /// Milliseconds since the case was opened.
    pub signed_ms: u64,
    /// The key has been retired since; what it signed stays valid.
    pub retired: bool,
}

/// A file whose every required signature holds. Review and export accept nothing else.
#[derive(Debug, Clone, PartialEq)]
pub struct Verified<D> {
    document: D,
    digest: String,
    signatures: Vec<VerifiedSignature>,
}

impl<D> Verified<D> {
    /// What was signed, with the claims the file disclosed.
    #[must_use]
    pub fn document(&self) -> &D {
        &self.document
    }

    /// Lower-case hex SHA-256 of the payload's bytes: what an addendum names.
    #[must_use]
    pub fn digest(&self) -> &str {
        &self.digest
    }

    #[must_use]
    pub fn signatures(&self) -> &[VerifiedSignature] {
        &self.signatures
    }
}

/// Verifies a record.
///
/// # Errors
/// [`RecordError`] names the signature, key, signer, digest or member at fault; [`RecordError::Incomplete`] if all
/// that stands there holds but a required signature is missing.
pub fn verify(bytes: &[u8], roster: &Roster) -> Result<Verified<Record>, RecordError> {
    Signed::read(bytes)?.verify(roster)
}

/// Verifies an addendum to a verified record.
///
/// # Errors
/// As [`verify`]; [`RecordError::OtherRecord`] if it names another record.
pub fn verify_addendum(
    bytes: &[u8],
    record: &Verified<Record>,
    roster: &Roster,
) -> Result<Verified<Addendum>, RecordError> {
    let addendum: Verified<Addendum> = Signed::read(bytes)?.verify(roster)?;
    if addendum.document.of != record.digest {
        let names = addendum.document.of.clone();
        return Err(RecordError::OtherRecord { names, given: record.digest.clone() });
    }
    Ok(addendum)
}

impl<D: Document> Signed<D> {
    /// Verifies every signature against the roster, then that none is missing.
    ///
    /// # Errors
    /// As [`verify`].
    pub fn verify(self, roster: &Roster) -> Result<Verified<D>, RecordError> {
        let signatures = self.check(roster)?;
        let missing = self.missing();
        if !missing.is_empty() {
            return Err(RecordError::Incomplete { missing });
        }
        Ok(Verified { digest: self.digest(), signatures, document: self.into_document() })
    }

    /// Verifies the signatures that are there, however many.
    ///
    /// # Errors
    /// [`RecordError::UnknownKey`], [`RecordError::RoleNotHeld`] or [`RecordError::BadSignature`].
    pub fn check(&self, roster: &Roster) -> Result<Vec<VerifiedSignature>, RecordError> {
        (0..self.signatures().len()).map(|index| self.check_one(index, roster)).collect()
    }

    fn check_one(&self, index: usize, roster: &Roster) -> Result<VerifiedSignature, RecordError> {
        let signature = &self.signatures()[index];
        let who = of(signature);
        let (role, kid): (_, PersonId) = (who.role, who.kid.clone());
        let Some(person) = roster.person(&kid) else { return Err(RecordError::UnknownKey { index, role, kid }) };
        if !person.roles().contains(&role) {
            return Err(RecordError::RoleNotHeld { index, role, kid });
        }
        let bytes = Signature::from_bytes(&signature.bytes);
        if person.verifying_key().verify_strict(&self.signing_input(index), &bytes).is_err() {
            return Err(RecordError::BadSignature { index, role, kid });
        }
        Ok(VerifiedSignature {
            who,
            name: person.name().to_owned(),
            meaning: signature.header.meaning,
            signed_ms: signature.header.signed_ms,
            retired: person.retired(),
        })
    }
}
