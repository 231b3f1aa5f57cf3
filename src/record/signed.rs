//! A payload with at least one signature. What stands here is well formed and agrees with itself; whether the
//! signatures hold is a question to a roster, answered by [`super::verify`].

use super::canonical::{INTEGER_MAX, canonical, encode, sha256_hex};
use super::disclosure::{Disclosure, SD_ALG, reveal};
use super::envelope::{Envelope, EnvelopeSignature};
use super::header::ALG;
use super::put_back;
use super::scan::plainly_canonical;
use super::{Meaning, Protected, RecordError, Who};
use crate::people::{PersonKey, Role, is_thumbprint};
use crate::strict_json::{self, ReadError};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;

/// The largest record accepted, bytes.
pub const MAX_BYTES: u64 = 64 << 20;

/// What a payload must offer to be signed and verified here.
pub trait Document: Serialize + DeserializeOwned {
    /// The `typ` of the protected headers.
    const TYPE: &'static str;
    /// The member that holds the format version.
    const VERSION: &'static str;
    /// The newest version this program reads.
    const NEWEST: u32;

    /// Whose signatures make it complete, in the order they stand.
    fn signers(&self) -> &[Who];

    /// The algorithm of the hidden claims' digests.
    fn sd_alg(&self) -> &str;
}

/// A signature as the file states it, unverified.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignatureOf {
    pub header: Protected,
    pub bytes: [u8; 64],
}

/// A file that is well formed and agrees with itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Signed<D> {
    envelope: Envelope,
    payload: Vec<u8>,
    signatures: Vec<SignatureOf>,
    document: D,
}

impl<D: Document> Signed<D> {
    /// Reads a file under the strict profile; verifies no signature.
    ///
    /// # Errors
    /// [`RecordError`] names the member at fault.
    pub fn read(bytes: &[u8]) -> Result<Self, RecordError> {
        Self::from_envelope(Envelope::read(bytes, MAX_BYTES)?)
    }

    pub(super) fn from_envelope(envelope: Envelope) -> Result<Self, RecordError> {
        let signatures = signatures_of(&envelope, D::TYPE)?;
        Self::from_parts(envelope, signatures)
    }

    /// From an envelope and what its signatures state.
    pub(super) fn from_parts(envelope: Envelope, signatures: Vec<SignatureOf>) -> Result<Self, RecordError> {
        let payload = envelope.payload_bytes()?;
        let document: D = read_payload(&payload, envelope.disclosures())?;
        in_order(document.signers(), &signatures)?;
        Ok(Self { envelope, payload, signatures, document })
    }

    /// Adds a signature at its place.
    ///
    /// # Errors
    /// [`RecordError::NotASigner`] or [`RecordError::SignedAlready`].
    pub fn add(self, key: &PersonKey, role: Role, meaning: Meaning, signed_ms: u64) -> Result<Self, RecordError> {
        self.add_as(key, Who { role, kid: key.person() }, meaning, signed_ms)
    }

    /// Adds a signature for a signer the record asks for, by that person's present key.
    ///
    /// # Errors
    /// As [`Self::add`].
    pub fn add_as(self, key: &PersonKey, asked: Who, meaning: Meaning, signed_ms: u64) -> Result<Self, RecordError> {
        let role = asked.role;
        if self.signatures.iter().any(|signature| signature.header.role == role) {
            return Err(RecordError::SignedAlready { role });
        }
        let signed = signature(&self.document, &self.envelope.payload, key, asked, meaning, signed_ms)?;
        self.with(vec![signed], Vec::new())
    }

    /// The same payload with more signatures and disclosures, in canonical order.
    pub(super) fn with(self, more: Vec<EnvelopeSignature>, claims: Vec<Disclosure>) -> Result<Self, RecordError> {
        let Self { mut envelope, document, .. } = self;
        let mut disclosures = envelope.disclosures().to_vec();
        disclosures.extend(claims);
        envelope.signatures.extend(more);
        arrange(&mut envelope, document.signers(), D::TYPE, disclosures)?;
        Self::from_envelope(envelope)
    }

    /// The same payload and signatures with these disclosures only.
    pub(super) fn with_disclosures(self, disclosures: Vec<Disclosure>) -> Result<Self, RecordError> {
        let Self { mut envelope, document, .. } = self;
        arrange(&mut envelope, document.signers(), D::TYPE, disclosures)?;
        Self::from_envelope(envelope)
    }

    /// The file's bytes.
    #[must_use]
    pub fn to_bytes(&self) -> Vec<u8> {
        self.envelope.to_bytes()
    }

    /// What was signed, with the claims this file discloses.
    #[must_use]
    pub fn document(&self) -> &D {
        &self.document
    }

    /// The payload's bytes, hidden claims as digests.
    #[must_use]
    pub fn payload(&self) -> &[u8] {
        &self.payload
    }

    /// Lower-case hex SHA-256 of the payload's bytes.
    #[must_use]
    pub fn digest(&self) -> String {
        sha256_hex(&self.payload)
    }

    #[must_use]
    pub fn signatures(&self) -> &[SignatureOf] {
        &self.signatures
    }

    /// Required signers who have not signed.
    #[must_use]
    pub fn missing(&self) -> Vec<Who> {
        let signed = |who: &&Who| self.signatures.iter().any(|signature| of(signature) == **who);
        self.document.signers().iter().filter(|who| !signed(who)).cloned().collect()
    }

    pub(super) fn envelope(&self) -> &Envelope {
        &self.envelope
    }

    pub(super) fn into_document(self) -> D {
        self.document
    }
}

/// What every signature of a file states.
pub(super) fn signatures_of(envelope: &Envelope, typ: &str) -> Result<Vec<SignatureOf>, RecordError> {
    let stated = envelope.signatures.iter().enumerate().map(|(index, signature)| {
        let header = Protected::read(index, &signature.protected, typ)?;
        Ok(SignatureOf { header, bytes: signature.bytes(index)? })
    });
    stated.collect()
}

/// Whose signature, as the record asks for it, a signature says it is.
pub(super) fn of(signature: &SignatureOf) -> Who {
    signature.header.asked()
}

/// Signatures stand in the order of the signers, none twice, none by anybody else.
fn in_order(signers: &[Who], signatures: &[SignatureOf]) -> Result<(), RecordError> {
    let mut rest = signers.iter();
    for (index, signature) in signatures.iter().enumerate() {
        let who = of(signature);
        if !rest.any(|signer| *signer == who) {
            return Err(RecordError::NotASigner { index, role: who.role, kid: who.kid });
        }
    }
    Ok(())
}

/// Sorts signatures by signer and puts the disclosures, sorted, with the first.
fn arrange(
    envelope: &mut Envelope,
    signers: &[Who],
    typ: &str,
    mut disclosures: Vec<Disclosure>,
) -> Result<(), RecordError> {
    let mut placed = Vec::new();
    for (index, mut signature) in std::mem::take(&mut envelope.signatures).into_iter().enumerate() {
        let header = Protected::read(index, &signature.protected, typ)?;
        let who = header.asked();
        let place = signers.iter().position(|signer| *signer == who);
        let place = place.ok_or(RecordError::NotASigner { index, role: who.role, kid: who.kid })?;
        signature.header = None;
        placed.push((place, signature));
    }
    placed.sort_by_key(|(place, _)| *place);
    disclosures.sort_unstable();
    disclosures.dedup();
    envelope.signatures = placed.into_iter().map(|(_, signature)| signature).collect();
    if let Some(first) = envelope.signatures.first_mut() {
        first.header = Some(super::envelope::Unprotected { disclosures });
    }
    Ok(())
}

/// The bytes a signature covers. Source: RFC 7515 section 5.1.
pub(super) fn signing_input(protected: &str, payload: &str) -> Vec<u8> {
    [protected.as_bytes(), b".", payload.as_bytes()].concat()
}

/// One signature over a payload in base64url, for the signer that the record asks for.
pub(super) fn signature<D: Document>(
    document: &D,
    payload: &str,
    key: &PersonKey,
    asked: Who,
    meaning: Meaning,
    signed_ms: u64,
) -> Result<EnvelopeSignature, RecordError> {
    if !document.signers().contains(&asked) {
        return Err(RecordError::NotASigner { index: 0, role: asked.role, kid: asked.kid });
    }
    let kid = key.person();
    let header = Protected {
        alg: ALG.to_owned(),
        replaces: (asked.kid != kid).then_some(asked.kid),
        kid,
        meaning,
        role: asked.role,
        signed_ms: signed_ms.min(INTEGER_MAX),
        typ: D::TYPE.to_owned(),
    };
    let protected = header.to_base64url();
    let signature = encode(key.sign(&signing_input(&protected, payload)));
    Ok(EnvelopeSignature { header: None, protected, signature })
}

/// Reads a payload: canonical, versioned, claims put back, no unknown member.
pub(super) fn read_payload<D: Document>(payload: &[u8], disclosures: &[Disclosure]) -> Result<D, RecordError> {
    let document = match put_back::read(payload, disclosures) {
        Some(document) => document,
        None => read_closely(payload, disclosures)?,
    };
    judge(document)
}

/// The same by way of a tree of values, so that what is wrong is named with its place.
pub(super) fn read_closely<D: Document>(payload: &[u8], disclosures: &[Disclosure]) -> Result<D, RecordError> {
    let mut value = strict_json::value(payload, MAX_BYTES).map_err(RecordError::Payload)?;
    let version = value.get(D::VERSION).and_then(Value::as_u64);
    let found = version.ok_or(RecordError::Payload(ReadError::NotThisKind { member: D::VERSION }))?;
    if found > u64::from(D::NEWEST) {
        return Err(RecordError::Payload(ReadError::Newer { member: D::VERSION, found, newest: D::NEWEST }));
    }
    if !(plainly_canonical(payload) || canonical(&value) == payload) {
        return Err(RecordError::PayloadNotCanonical);
    }
    reveal(&mut value, disclosures)?;
    strict_json::typed(value).map_err(RecordError::Payload)
}

fn judge<D: Document>(document: D) -> Result<D, RecordError> {
    if document.sd_alg() != SD_ALG {
        return Err(RecordError::Digests { reason: "their algorithm is not sha-256" });
    }
    let reason = match document.signers() {
        [] => "a record asks for at least one signature",
        signers if !signers.iter().all(|who| is_thumbprint(&who.kid.0)) => "a kid is not the thumbprint of a key",
        _ => return Ok(document),
    };
    Err(RecordError::Payload(ReadError::Content { place: "signers".to_owned(), reason: reason.to_owned() }))
}
