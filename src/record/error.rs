//! What can be wrong with a record.

use crate::people::{PersonId, Role};
use crate::strict_json::{ReadError, one_line};
use thiserror::Error;

/// Why a record could not be built, signed, read or verified. Each names what is at fault.
#[derive(Debug, PartialEq, Eq, Error)]
pub enum RecordError {
    /// The file is no record at all, or a newer one.
    #[error("not a readable record: {0}")]
    Unreadable(ReadError),
    #[error("the file is not in its canonical form")]
    NotCanonical,
    #[error("the payload is not in its canonical form")]
    PayloadNotCanonical,
    #[error("payload: {0}")]
    Payload(ReadError),
    #[error("{member}: not base64url without padding")]
    NotBase64Url { member: String },
    #[error("signatures: none")]
    NoSignature,
    #[error("signatures[{index}].protected: {}", one_line(.reason))]
    Header { index: usize, reason: String },
    #[error("signatures[{index}]: the algorithm \"{}\" is not accepted, only Ed25519", one_line(.alg))]
    Algorithm { index: usize, alg: String },
    #[error("signatures[{index}].header: {reason}")]
    UnprotectedHeader { index: usize, reason: &'static str },
    #[error("signatures[{index}], {role} {kid}: the signature does not match the payload and its header")]
    BadSignature { index: usize, role: Role, kid: PersonId },
    #[error("signatures[{index}], {role}: the key {kid} is not in the roster")]
    UnknownKey { index: usize, role: Role, kid: PersonId },
    #[error("signatures[{index}]: the roster does not know {kid} as {role}")]
    RoleNotHeld { index: usize, role: Role, kid: PersonId },
    #[error("signatures[{index}], {role}: the roster does not say that {kid} took the place of {replaces}")]
    NotSuccessor { index: usize, role: Role, kid: PersonId, replaces: PersonId },
    #[error("signatures[{index}]: {role} {kid} is not among the signers the record asks for, or out of their order")]
    NotASigner { index: usize, role: Role, kid: PersonId },
    #[error("incomplete: not signed yet by {}", missing.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "))]
    Incomplete { missing: Vec<super::Who> },
    #[error("disclosures[{position}]: {reason}")]
    DisclosureMalformed { position: usize, reason: &'static str },
    #[error("disclosures[{position}]: nothing in the payload matches this disclosure of \"{name}\"")]
    DisclosureUnmatched { position: usize, name: String },
    #[error("disclosures: not sorted, or one stands twice")]
    DisclosureOrder,
    #[error("payload: the digests of hidden claims: {reason}")]
    Digests { reason: &'static str },
    #[error("payload: the claim \"{name}\" stands open")]
    ClaimOpen { name: String },
    #[error("payload: the claim \"{name}\" is disclosed twice at one place")]
    ClaimTwice { name: String },
    #[error("\"{name}\" is not a claim that can be kept or dropped")]
    NoSuchClaim { name: String },
    #[error("the case is not closed yet, so there is nothing to sign")]
    NotClosed,
    #[error("the closing event is number {closed}, but the chain point is that of number {given}")]
    ClosingPoint { closed: u64, given: u64 },
    #[error("{what}: a lower-case hex SHA-256 is expected")]
    NotADigest { what: &'static str },
    #[error("nobody holds the role {0}, whose signature the pathway asks for")]
    SignerMissing(Role),
    #[error("\"{0}\" is not the thumbprint of a key, so it may not stand in a record")]
    NotAThumbprint(String),
    #[error("the record cannot be written: {0}")]
    Unwritable(String),
    #[error("{role} has signed already")]
    SignedAlready { role: Role },
    #[error("the two files have different payloads: {left} and {right}")]
    OtherPayload { left: String, right: String },
    #[error("the two files have different signatures by {role} {kid}")]
    TwoSignatures { role: Role, kid: PersonId },
    #[error("the addendum belongs to the record {names}, not to {given}")]
    OtherRecord { names: String, given: String },
    #[error("no unpredictable bytes: {reason}")]
    Randomness { reason: String },
}

impl RecordError {
    /// Whether the bytes are no record this program can read, as against a record that is not in order.
    #[must_use]
    pub fn is_unreadable(&self) -> bool {
        matches!(self, Self::Unreadable(_) | Self::Payload(ReadError::Newer { .. }))
    }
}
