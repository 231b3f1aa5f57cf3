//! Who acted: a role and, where known, the person holding it.

use super::Role;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;

/// A person of the roster, named by the RFC 7638 thumbprint of the current key (base64url, 43 characters).
///
/// It pseudonymises; it does not make anonymous.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct PersonId(pub String);

impl fmt::Display for PersonId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// Who acted or who touched.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Actor {
    pub role: Role,
    pub person: PersonId,
}

impl Actor {
    #[must_use]
    pub fn new(role: Role, person: PersonId) -> Self {
        Self { role, person }
    }
}
