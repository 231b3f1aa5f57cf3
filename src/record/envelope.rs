//! The bytes of a record file: JWS General JSON Serialization, in one canonical form.
//!
//! Every string in it is base64url, so nothing is ever escaped and the canonical form is the members in order.

use super::RecordError;
use super::canonical::decode;
use super::disclosure::Disclosure;
use crate::strict_json::{self, ReadError};
use serde::{Deserialize, Serialize};

/// A whole file. Members stand in canonical (RFC 8785) order.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Envelope {
    pub payload: String,
    pub signatures: Vec<EnvelopeSignature>,
}

/// One signature. Only the first has an unprotected header.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct EnvelopeSignature {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub header: Option<Unprotected>,
    pub protected: String,
    pub signature: String,
}

/// The unprotected header: the disclosures, sorted. Source: RFC 9901 section 8 (JWS JSON serialization).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Unprotected {
    pub disclosures: Vec<Disclosure>,
}

impl Envelope {
    /// Reads a file: bounded, canonical, no unknown member, disclosures sorted and each once.
    ///
    /// # Errors
    /// [`RecordError`] names the member at fault.
    pub fn read(bytes: &[u8], max_bytes: u64) -> Result<Self, RecordError> {
        if bytes.len() as u64 > max_bytes {
            let fault = ReadError::TooLarge { bytes: bytes.len() as u64, max: max_bytes };
            return Err(RecordError::Unreadable(fault));
        }
        let envelope: Self = serde_json::from_slice(bytes).map_err(|_| fault_of(bytes, max_bytes))?;
        envelope.judge()?;
        if envelope.to_bytes() == bytes { Ok(envelope) } else { Err(RecordError::NotCanonical) }
    }

    fn judge(&self) -> Result<(), RecordError> {
        let Some(first) = self.signatures.first() else { return Err(RecordError::NoSignature) };
        let Some(header) = &first.header else {
            return Err(RecordError::UnprotectedHeader { index: 0, reason: "it is missing" });
        };
        if let Some(index) = self.signatures.iter().skip(1).position(|signature| signature.header.is_some()) {
            let reason = "disclosures stand with the first signature only";
            return Err(RecordError::UnprotectedHeader { index: index + 1, reason });
        }
        if header.disclosures.windows(2).all(|pair| pair[0] < pair[1]) {
            Ok(())
        } else {
            Err(RecordError::DisclosureOrder)
        }
    }

    /// The file's bytes.
    ///
    /// # Panics
    /// Never: strings and lists only.
    pub fn to_bytes(&self) -> Vec<u8> {
        serde_json::to_vec(self).expect("an envelope is plain JSON")
    }

    pub fn disclosures(&self) -> &[Disclosure] {
        let header = self.signatures.first().and_then(|first| first.header.as_ref());
        header.map(|header| header.disclosures.as_slice()).unwrap_or_default()
    }

    pub fn payload_bytes(&self) -> Result<Vec<u8>, RecordError> {
        decode(&self.payload).ok_or_else(|| RecordError::NotBase64Url { member: "payload".to_owned() })
    }
}

impl EnvelopeSignature {
    /// The 64 bytes of the signature.
    pub fn bytes(&self, index: usize) -> Result<[u8; 64], RecordError> {
        let bytes = decode(&self.signature).and_then(|bytes| bytes.try_into().ok());
        bytes.ok_or_else(|| RecordError::NotBase64Url { member: format!("signatures[{index}].signature") })
    }
}

/// What exactly is wrong with bytes that are no envelope.
fn fault_of(bytes: &[u8], max_bytes: u64) -> RecordError {
    let value = match strict_json::value(bytes, max_bytes) {
        Ok(value) => value,
        Err(fault) => return RecordError::Unreadable(fault),
    };
    for member in ["payload", "signatures"] {
        if value.get(member).is_none() {
            return RecordError::Unreadable(ReadError::NotThisKind { member });
        }
    }
    match strict_json::typed::<Envelope>(value) {
        Err(fault) => RecordError::Unreadable(fault),
        Ok(_) => RecordError::NotCanonical,
    }
}
