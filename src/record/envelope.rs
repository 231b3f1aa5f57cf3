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
        if envelope.is_written_as(bytes) { Ok(envelope) } else { Err(RecordError::NotCanonical) }
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
    /// Strings are written as they are: an envelope that was read holds base64url alone, or its bytes differ from these
    /// and it is refused, since an escape is longer than what it stands for.
    pub fn to_bytes(&self) -> Vec<u8> {
        let disclosed: usize = self.disclosures().iter().map(|disclosure| disclosure.len() + 3).sum();
        let mut out = Vec::with_capacity(self.payload.len() + disclosed + 512 * (self.signatures.len() + 1));
        self.write(&mut |part| out.extend_from_slice(part.as_bytes()));
        out
    }

    /// Whether the bytes are those of [`Self::to_bytes`], without putting them together.
    fn is_written_as(&self, bytes: &[u8]) -> bool {
        let mut rest = Some(bytes);
        self.write(&mut |part| rest = rest.and_then(|rest| rest.strip_prefix(part.as_bytes())));
        rest == Some(&[])
    }

    /// The file part by part.
    fn write(&self, out: &mut impl FnMut(&str)) {
        push(out, "{\"payload\":", &self.payload);
        let mut between = ",\"signatures\":[{";
        for EnvelopeSignature { header, protected, signature } in &self.signatures {
            out(between);
            if let Some(Unprotected { disclosures }) = header {
                out("\"header\":{\"disclosures\":[");
                for (position, disclosure) in disclosures.iter().enumerate() {
                    push(out, if position > 0 { "," } else { "" }, disclosure);
                }
                out("]},");
            }
            push(out, "\"protected\":", protected);
            push(out, ",\"signature\":", signature);
            between = "},{";
        }
        out(if self.signatures.is_empty() { ",\"signatures\":[]}" } else { "}]}" });
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

/// A string behind what comes before it.
fn push(out: &mut impl FnMut(&str), before: &str, text: &str) {
    out(before);
    out("\"");
    out(text);
    out("\"");
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bytes_are_what_the_library_writes() {
        let signature = |header| EnvelopeSignature { header, protected: "cA".to_owned(), signature: "c2".to_owned() };
        for disclosures in [vec![], vec!["YQ".to_owned()], vec!["YQ".to_owned(), "Yg".to_owned()]] {
            let first = signature(Some(Unprotected { disclosures }));
            for signatures in [vec![], vec![first.clone()], vec![first.clone(), signature(None), signature(None)]] {
                let envelope = Envelope { payload: "cGF5".to_owned(), signatures };
                assert_eq!(envelope.to_bytes(), serde_json::to_vec(&envelope).unwrap());
            }
        }
    }

    #[test]
    fn strings_with_escapes_and_members_that_are_null_are_not_canonical() {
        let good = r#"{"payload":"a","signatures":[{"header":{"disclosures":["b"]},"protected":"c","signature":"d"},{"protected":"e","signature":"f"}]}"#;
        assert!(Envelope::read(good.as_bytes(), 1 << 20).is_ok());
        let others = [
            good.replace("\"a\"", r#""\u0061""#),
            good.replace("\"b\"", r#""\"""#),
            good.replace("\"c\"", r#""\\""#),
            good.replace("{\"protected\":\"e\"", r#"{"header":null,"protected":"e""#),
            good.replace(':', ": "),
        ];
        for other in others {
            assert_ne!(other, good);
            assert_eq!(Envelope::read(other.as_bytes(), 1 << 20).unwrap_err(), RecordError::NotCanonical, "{other}");
        }
    }
}
