//! Verification: the only way to a [`Verified`].

use super::addendum::Addendum;
use super::envelope::Envelope;
use super::payload::Record;
use super::signed::{Document, MAX_BYTES, SignatureOf, Signed, signatures_of, signing_input};
use super::{Meaning, RecordError, Who};
use crate::people::{PersonId, Roster};
use ed25519_dalek::Signature;

/// A signature that holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VerifiedSignature {
    /// The role and the key that signed.
    pub who: Who,
    /// The retired key of the same person that the record asks for, if `who` took its place before signing.
    pub replaces: Option<PersonId>,
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

/// Verifies a record. Nothing of a payload is read before the signatures over it hold.
///
/// # Errors
/// [`RecordError`] names the signature, key, signer, digest or member at fault; [`RecordError::Incomplete`] if all
/// that stands there holds but a required signature is missing.
pub fn verify(bytes: &[u8], roster: &Roster) -> Result<Verified<Record>, RecordError> {
    verify_any(bytes, roster)
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
    let addendum: Verified<Addendum> = verify_any(bytes, roster)?;
    if addendum.document.of != record.digest {
        let names = addendum.document.of.clone();
        return Err(RecordError::OtherRecord { names, given: record.digest.clone() });
    }
    Ok(addendum)
}

fn verify_any<D: Document>(bytes: &[u8], roster: &Roster) -> Result<Verified<D>, RecordError> {
    let envelope = Envelope::read(bytes, MAX_BYTES)?;
    let stated = signatures_of(&envelope, D::TYPE)?;
    let signatures = check_all(&envelope, &stated, roster)?;
    Signed::from_parts(envelope, stated)?.complete(signatures)
}

impl<D: Document> Signed<D> {
    /// Verifies every signature against the roster, then that none is missing.
    ///
    /// # Errors
    /// As [`verify`].
    pub fn verify(self, roster: &Roster) -> Result<Verified<D>, RecordError> {
        let signatures = self.check(roster)?;
        self.complete(signatures)
    }

    /// Verifies the signatures that are there, however many.
    ///
    /// # Errors
    /// [`RecordError::UnknownKey`], [`RecordError::RoleNotHeld`] or [`RecordError::BadSignature`].
    pub fn check(&self, roster: &Roster) -> Result<Vec<VerifiedSignature>, RecordError> {
        check_all(self.envelope(), self.signatures(), roster)
    }

    fn complete(self, signatures: Vec<VerifiedSignature>) -> Result<Verified<D>, RecordError> {
        let missing = self.missing();
        if !missing.is_empty() {
            return Err(RecordError::Incomplete { missing });
        }
        Ok(Verified { digest: self.digest(), signatures, document: self.into_document() })
    }
}

fn check_all(
    envelope: &Envelope,
    stated: &[SignatureOf],
    roster: &Roster,
) -> Result<Vec<VerifiedSignature>, RecordError> {
    let check = |(index, signature)| check_one(index, signature, envelope, roster);
    stated.iter().enumerate().map(check).collect()
}

fn check_one(
    index: usize,
    stated: &SignatureOf,
    envelope: &Envelope,
    roster: &Roster,
) -> Result<VerifiedSignature, RecordError> {
    let (role, kid) = (stated.header.role, stated.header.kid.clone());
    let Some(person) = roster.person(&kid) else { return Err(RecordError::UnknownKey { index, role, kid }) };
    if !person.roles().contains(&role) {
        return Err(RecordError::RoleNotHeld { index, role, kid });
    }
    let replaces = stated.header.replaces.clone();
    if let Some(old) = replaces.as_ref().filter(|old| !took_the_place(roster, &kid, old)) {
        return Err(RecordError::NotSuccessor { index, role, kid, replaces: old.clone() });
    }
    let input = signing_input(&envelope.signatures[index].protected, &envelope.payload);
    if person.verifying_key().verify_strict(&input, &Signature::from_bytes(&stated.bytes)).is_err() {
        return Err(RecordError::BadSignature { index, role, kid });
    }
    Ok(VerifiedSignature {
        who: Who { role, kid },
        replaces,
        name: person.name().to_owned(),
        meaning: stated.header.meaning,
        signed_ms: stated.header.signed_ms,
        retired: person.retired(),
    })
}

/// Only the roster says that one key took the place of another; the one replaced signs nothing any more.
fn took_the_place(roster: &Roster, new: &PersonId, old: &PersonId) -> bool {
    roster.succeeds(new, old) && roster.person(old).is_some_and(crate::people::Person::retired)
}
