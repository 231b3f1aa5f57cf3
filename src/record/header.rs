//! The protected header of one signature.

use super::RecordError;
use super::canonical::{INTEGER_MAX, canonical, decode, encode};
use super::payload::Who;
use crate::people::{PersonId, Role, is_thumbprint};
use serde::{Deserialize, Serialize};
use std::fmt;

/// The algorithm written. Source: RFC 9864 section 2.2 names it; RFC 8037's `EdDSA` is accepted.
pub(super) const ALG: &str = "Ed25519";
/// The older, polymorphic name of the same algorithm for this curve.
const ALG_OLDER: &str = "EdDSA";

/// What a signature means, shown wherever the record is shown (21 CFR 11.50(a)(3)).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Meaning {
    /// Answers for what was done.
    Responsibility,
    /// Kept the record during the case.
    Authorship,
    /// Read it and found it right.
    Review,
    Approval,
}

impl Meaning {
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Responsibility => "responsibility",
            Self::Authorship => "authorship",
            Self::Review => "review",
            Self::Approval => "approval",
        }
    }
}

impl fmt::Display for Meaning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// The protected header. Its members stand in canonical order; there are no others.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Protected {
    pub alg: String,
    pub kid: PersonId,
    pub meaning: Meaning,
    /// The key of the same person that the record asks for, where it was replaced before this signature.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub replaces: Option<PersonId>,
    pub role: Role,
    /// Milliseconds since the case was opened: no absolute time.
    pub signed_ms: u64,
    pub typ: String,
}

/// A header of any JOSE kind: enough to name a foreign algorithm.
#[derive(Deserialize)]
struct AlgorithmOnly {
    alg: String,
}

impl Protected {
    /// The signer, as the record asks for it, that this signature stands for.
    #[must_use]
    pub fn asked(&self) -> Who {
        let kid = self.replaces.as_ref().unwrap_or(&self.kid).clone();
        Who { role: self.role, kid }
    }

    pub(super) fn to_base64url(&self) -> String {
        encode(canonical(self))
    }

    /// # Errors
    /// [`RecordError`] names the signature and what is wrong with its header.
    pub(super) fn read(index: usize, text: &str, typ: &str) -> Result<Self, RecordError> {
        let wrong = |reason: String| RecordError::Header { index, reason };
        let member = || RecordError::NotBase64Url { member: format!("signatures[{index}].protected") };
        let bytes = decode(text).ok_or_else(member)?;
        if let Ok(AlgorithmOnly { alg }) = serde_json::from_slice(&bytes)
            && alg != ALG
            && alg != ALG_OLDER
        {
            return Err(RecordError::Algorithm { index, alg });
        }
        let header: Self = serde_json::from_slice(&bytes).map_err(|fault| wrong(fault.to_string()))?;
        if header.signed_ms > INTEGER_MAX || canonical(&header) != bytes {
            return Err(wrong("not in canonical form".to_owned()));
        }
        if !is_thumbprint(&header.kid.0) {
            return Err(wrong("kid is not the thumbprint of a key".to_owned()));
        }
        if header.typ != typ {
            return Err(wrong(format!("typ is \"{}\", not \"{typ}\"", header.typ)));
        }
        Ok(header)
    }
}
