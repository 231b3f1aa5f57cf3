//! Canonical JSON (RFC 8785), base64url without padding, SHA-256 in hex: the bytes everything else stands on.

use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::fmt::Write;

/// Largest integer every JSON reader keeps exactly. Source: RFC 8785 section 3.2.2.3 and RFC 7493 section 2.2.
pub const INTEGER_MAX: u64 = (1 << 53) - 1;

/// Canonical bytes of a value.
///
/// # Panics
/// Never for the values of this module: string keys, finite numbers.
pub(super) fn canonical(value: &impl Serialize) -> Vec<u8> {
    serde_json_canonicalizer::to_vec(value).expect("string keys and finite numbers always have a canonical form")
}

pub(super) fn encode(bytes: impl AsRef<[u8]>) -> String {
    URL_SAFE_NO_PAD.encode(bytes)
}

/// Strict: no padding, no other alphabet, no bits left over.
pub(super) fn decode(text: &str) -> Option<Vec<u8>> {
    URL_SAFE_NO_PAD.decode(text).ok()
}

pub(super) fn sha256_hex(bytes: &[u8]) -> String {
    let mut hex = String::with_capacity(64);
    for byte in Sha256::digest(bytes) {
        let _ = write!(hex, "{byte:02x}");
    }
    hex
}

/// Whether the text is a lower-case hex SHA-256.
pub(super) fn is_digest(text: &str) -> bool {
    text.len() == 64 && text.bytes().all(|digit| matches!(digit, b'0'..=b'9' | b'a'..=b'f'))
}

/// A count or a time as JSON; beyond 2^53 - 1 as a string of digits.
pub(super) mod integer {
    use super::INTEGER_MAX;
    use serde::de::Error;
    use serde::{Deserialize, Deserializer, Serializer};

    #[derive(Deserialize)]
    #[serde(untagged)]
    enum Written {
        Number(u64),
        Digits(String),
    }

    #[allow(clippy::trivially_copy_pass_by_ref)] // the shape serde asks for
    pub fn serialize<S: Serializer>(value: &u64, serializer: S) -> Result<S::Ok, S::Error> {
        if *value <= INTEGER_MAX {
            serializer.serialize_u64(*value)
        } else {
            serializer.serialize_str(&value.to_string())
        }
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<u64, D::Error> {
        match Written::deserialize(deserializer)? {
            Written::Number(value) if value <= INTEGER_MAX => Ok(value),
            Written::Digits(digits) => match digits.parse::<u64>() {
                Ok(value) if value > INTEGER_MAX && value.to_string() == digits => Ok(value),
                _ => Err(D::Error::custom("an integer below 2^53 is written as a number, a larger one as digits")),
            },
            Written::Number(_) => Err(D::Error::custom("an integer from 2^53 on is written as a string of digits")),
        }
    }
}

/// The same for numbers that may be negative.
pub(super) mod signed_integer {
    use super::INTEGER_MAX;
    use serde::de::Error;
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    /// One number, in the written form.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub struct Signed(pub i64);

    #[derive(Deserialize)]
    #[serde(untagged)]
    enum Written {
        Number(i64),
        Digits(String),
    }

    impl Serialize for Signed {
        fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
            if self.0.unsigned_abs() <= INTEGER_MAX {
                serializer.serialize_i64(self.0)
            } else {
                serializer.serialize_str(&self.0.to_string())
            }
        }
    }

    impl<'de> Deserialize<'de> for Signed {
        fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
            match Written::deserialize(deserializer)? {
                Written::Number(value) if value.unsigned_abs() <= INTEGER_MAX => Ok(Self(value)),
                Written::Digits(digits) => match digits.parse::<i64>() {
                    Ok(value) if value.unsigned_abs() > INTEGER_MAX && value.to_string() == digits => Ok(Self(value)),
                    _ => Err(D::Error::custom("an integer below 2^53 is written as a number, a larger one as digits")),
                },
                Written::Number(_) => Err(D::Error::custom("an integer from 2^53 on is written as a string of digits")),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde::Deserialize;

    #[derive(Serialize, Deserialize)]
    struct Held {
        #[serde(with = "integer")]
        count: u64,
    }

    #[test]
    fn large_integers_are_written_as_digits_and_only_large_ones() {
        assert_eq!(canonical(&Held { count: INTEGER_MAX }), br#"{"count":9007199254740991}"#);
        assert_eq!(canonical(&Held { count: INTEGER_MAX + 1 }), br#"{"count":"9007199254740992"}"#);
        assert_eq!(serde_json::from_str::<Held>(r#"{"count":"9007199254740992"}"#).unwrap().count, INTEGER_MAX + 1);
        assert!(serde_json::from_str::<Held>(r#"{"count":"12"}"#).is_err());
        assert!(serde_json::from_str::<Held>(r#"{"count":9007199254740992}"#).is_err());
    }

    #[test]
    fn base64url_with_padding_or_left_over_bits_is_refused() {
        assert_eq!(decode("Zg"), Some(b"f".to_vec()));
        assert_eq!(decode("Zg=="), None);
        assert_eq!(decode("Zh"), None);
        assert_eq!(decode("+/+/"), None);
    }
}
