//! A payload before its first signature.

use super::canonical::{canonical, sha256_hex};
use super::disclosure::{Disclosure, conceal};
use super::envelope::{Envelope, EnvelopeSignature, Unprotected};
use super::signed::{Document, Signed, read_payload, signature};
use super::{Meaning, RecordError, Who};
use crate::people::{PersonKey, Role};
use crate::ports::Randomness;

/// A built payload with its disclosures, nobody's yet.
#[derive(Debug, Clone, PartialEq)]
pub struct Unsigned<D> {
    payload: Vec<u8>,
    disclosures: Vec<Disclosure>,
    document: D,
}

impl<D: Document> Unsigned<D> {
    /// Hides the claims and fixes the bytes; then reads them back as a verifier will.
    pub(super) fn new(document: &D, random: &dyn Randomness) -> Result<Self, RecordError> {
        let mut value = serde_json::to_value(document).map_err(|fault| RecordError::Unwritable(fault.to_string()))?;
        let disclosures = conceal(&mut value, random)?;
        let payload = canonical(&value);
        let document = read_payload(&payload, &disclosures)?;
        Ok(Self { payload, disclosures, document })
    }

    /// What will be signed, every claim disclosed.
    #[must_use]
    pub fn document(&self) -> &D {
        &self.document
    }

    /// Lower-case hex SHA-256 of the payload's bytes: what a signing event names.
    #[must_use]
    pub fn digest(&self) -> String {
        sha256_hex(&self.payload)
    }

    /// Whose signatures are asked for.
    #[must_use]
    pub fn signers(&self) -> &[Who] {
        self.document.signers()
    }

    /// Signs first. Any of the signers may be the first.
    ///
    /// # Errors
    /// [`RecordError::NotASigner`] if the record does not ask for this key in this role.
    pub fn sign(self, key: &PersonKey, role: Role, meaning: Meaning, signed_ms: u64) -> Result<Signed<D>, RecordError> {
        self.sign_as(key, Who { role, kid: key.person() }, meaning, signed_ms)
    }

    /// Signs first, for a signer the record asks for, by that person's present key.
    ///
    /// # Errors
    /// As [`Self::sign`].
    pub fn sign_as(
        self,
        key: &PersonKey,
        asked: Who,
        meaning: Meaning,
        signed_ms: u64,
    ) -> Result<Signed<D>, RecordError> {
        let payload = super::canonical::encode(&self.payload);
        let signed = signature(&self.document, &payload, key, asked, meaning, signed_ms)?;
        let header = Some(Unprotected { disclosures: self.disclosures });
        let envelope = Envelope { payload, signatures: vec![EnvelopeSignature { header, ..signed }] };
        Signed::from_envelope(envelope)
    }
}
