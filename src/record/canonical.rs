//! Canonical JSON (RFC 8785), base64url without padding, SHA-256 in hex: the bytes everything else stands on.

use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::fmt::Write;

/// Largest integer every JSON reader keeps exactly. Source: RFC 8785 section 3.2.2.3 and RFC 7493 section 2.2.
pub const INTEGER_MAX: u64 = (1 << 53) - 1;

/// Why a number in another shape is refused.
const WRITTEN: &str = "an integer below 2^53 is written as a number, one from there on as a string of digits";

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

/// The same into a buffer; how many bytes.
pub(super) fn decode_into(text: &str, bytes: &mut [u8]) -> Option<usize> {
    URL_SAFE_NO_PAD.decode_slice(text, bytes).ok()
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
    use super::{INTEGER_MAX, WRITTEN};
    use serde::de::{Error, Visitor};
    use serde::{Deserializer, Serializer};
    use std::fmt;

    #[allow(clippy::trivially_copy_pass_by_ref)] // the shape serde asks for
    pub fn serialize<S: Serializer>(value: &u64, serializer: S) -> Result<S::Ok, S::Error> {
        if *value <= INTEGER_MAX {
            serializer.serialize_u64(*value)
        } else {
            serializer.serialize_str(&value.to_string())
        }
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<u64, D::Error> {
        deserializer.deserialize_any(Written)
    }

    struct Written;

    impl Visitor<'_> for Written {
        type Value = u64;

        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            f.write_str("a whole number not below zero")
        }

        fn visit_u64<E: Error>(self, value: u64) -> Result<u64, E> {
            if value <= INTEGER_MAX { Ok(value) } else { Err(E::custom(WRITTEN)) }
        }

        fn visit_str<E: Error>(self, digits: &str) -> Result<u64, E> {
            let value = digits.parse::<u64>().ok().filter(|value| *value > INTEGER_MAX && value.to_string() == digits);
            value.ok_or_else(|| E::custom(WRITTEN))
        }
    }
}

/// The same for numbers that may be negative.
pub(super) mod signed_integer {
    use super::{INTEGER_MAX, WRITTEN};
    use serde::de::{Error, Visitor};
    use serde::{Deserialize, Deserializer, Serialize, Serializer};
    use std::fmt;

    /// One number, in the written form.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub struct Signed(pub i64);

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
            deserializer.deserialize_any(Written)
        }
    }

    struct Written;

    impl Visitor<'_> for Written {
        type Value = Signed;

        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            f.write_str("a whole number")
        }

        fn visit_i64<E: Error>(self, value: i64) -> Result<Signed, E> {
            if value.unsigned_abs() <= INTEGER_MAX { Ok(Signed(value)) } else { Err(E::custom(WRITTEN)) }
        }

        fn visit_u64<E: Error>(self, value: u64) -> Result<Signed, E> {
            i64::try_from(value).map_err(|_| E::custom(WRITTEN)).and_then(|value| self.visit_i64(value))
        }

        fn visit_str<E: Error>(self, digits: &str) -> Result<Signed, E> {
            let large = |value: &i64| value.unsigned_abs() > INTEGER_MAX && value.to_string() == digits;
            let value = digits.parse::<i64>().ok().filter(large);
            value.map(Signed).ok_or_else(|| E::custom(WRITTEN))
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
