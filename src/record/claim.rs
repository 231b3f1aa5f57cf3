//! Selectively disclosable claims: which members of a payload they are, and what became of one in a given file.

use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// The names once, as a list and as a question that is answered without a search.
macro_rules! claims {
    ($($name:literal)*) => {
        /// Every disclosable member name. A member of one of these names never stands open in a payload, wherever it
        /// is; no other member is ever hidden. The set is fixed: a claim without content is hidden as `null` all the
        /// same, so that the number of digests says nothing.
        pub const CLAIMS: [&str; 17] = [$($name),*];

        /// Whether a member of this name is hidden behind a digest.
        #[must_use]
        pub fn is_claim(name: &str) -> bool {
            matches!(name, $($name)|*)
        }
    };
}

claims! {
    "c_arm_name"
    "case_id"
    "cautions"
    "label"
    "level"
    "note"
    "opened_at"
    "other_case"
    "patient_age"
    "patient_name"
    "patient_number"
    "patient_weight_kg"
    "plan_digest"
    "reason"
    "site"
    "staff_name"
    "words"
}

/// A disclosable claim as one file shows it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Claim<T> {
    /// Its disclosure is not in this file.
    #[default]
    Withheld,
    /// Disclosed; `None`: nothing was entered.
    Disclosed(Option<T>),
}

impl<T> Claim<T> {
    #[must_use]
    pub fn of(value: Option<T>) -> Self {
        Self::Disclosed(value)
    }

    #[must_use]
    pub fn is_withheld(&self) -> bool {
        matches!(self, Self::Withheld)
    }

    /// The content, if it is disclosed and there is one.
    #[must_use]
    pub fn value(&self) -> Option<&T> {
        match self {
            Self::Disclosed(value) => value.as_ref(),
            Self::Withheld => None,
        }
    }
}

impl<T: Serialize> Serialize for Claim<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.value().serialize(serializer)
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Claim<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Option::deserialize(deserializer).map(Self::Disclosed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn claims_are_sorted_and_each_is_known_as_one() {
        assert!(CLAIMS.is_sorted());
        assert!(CLAIMS.iter().all(|claim| is_claim(claim)));
        assert!(!is_claim("title"));
    }
}
