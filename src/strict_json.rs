//! Strict reading of a JSON document of ours: bounded in size and depth, UTF-8, versioned, no duplicate or
//! unknown member, and one line that names the place.
//!
//! What it does not do: no canonical form (that is `record`), no file access.

use serde::de::DeserializeOwned;
use serde_json::Value;
use std::borrow::Cow;
use thiserror::Error;

/// Why bytes are not the document wanted.
#[derive(Debug, Error, PartialEq, Eq)]
pub enum ReadError {
    #[error("{bytes} bytes are more than the {max} accepted")]
    TooLarge { bytes: u64, max: u64 },
    #[error("not UTF-8 at byte {at}")]
    NotUtf8 { at: usize },
    #[error("line {line}, column {column}: {}", one_line(.reason))]
    Syntax { line: usize, column: usize, reason: String },
    #[error("{member}: missing, so this is not a document of that kind")]
    NotThisKind { member: &'static str },
    #[error("{member} is {found}, newer than the {newest} this program reads; left untouched")]
    Newer { member: &'static str, found: u64, newest: u32 },
    #[error("{}: {}", one_line(.place), one_line(.reason))]
    Content { place: String, reason: String },
}

/// Text from a document as it may stand in a message: control characters escaped, so that a message stays one line and
/// moves no cursor.
#[must_use]
pub fn one_line(text: &str) -> Cow<'_, str> {
    if !text.chars().any(char::is_control) {
        return Cow::Borrowed(text);
    }
    let shown = |letter: char| if letter.is_control() { letter.escape_default().to_string() } else { letter.into() };
    Cow::Owned(text.chars().map(shown).collect())
}

/// Reads a document whose member `version` holds its integer format version.
///
/// # Errors
/// [`ReadError`]; nothing is kept of a document that is refused.
pub fn read<T: DeserializeOwned>(
    bytes: &[u8],
    version: &'static str,
    newest: u32,
    max_bytes: u64,
) -> Result<T, ReadError> {
    let value = value(bytes, max_bytes)?;
    let found = value.get(version).and_then(Value::as_u64).ok_or(ReadError::NotThisKind { member: version })?;
    if found > u64::from(newest) {
        return Err(ReadError::Newer { member: version, found, newest });
    }
    if found == 0 {
        return Err(ReadError::Content { place: version.to_owned(), reason: "versions begin at 1".to_owned() });
    }
    typed(value)
}

/// Parses bytes to a JSON value: bounded, UTF-8, nested at most 128 deep, no member named twice.
///
/// # Errors
/// [`ReadError`] with line and column of the fault.
pub fn value(bytes: &[u8], max_bytes: u64) -> Result<Value, ReadError> {
    let length = bytes.len() as u64;
    if length > max_bytes {
        return Err(ReadError::TooLarge { bytes: length, max: max_bytes });
    }
    let text = std::str::from_utf8(bytes).map_err(|fault| ReadError::NotUtf8 { at: fault.valid_up_to() })?;
    let unique: no_duplicates::Unique = serde_json::from_str(text).map_err(|fault| syntax(&fault))?;
    Ok(unique.0)
}

/// Turns a JSON value into a typed document, naming the place of what does not fit.
///
/// # Errors
/// [`ReadError::Content`].
pub fn typed<T: DeserializeOwned>(value: Value) -> Result<T, ReadError> {
    serde_path_to_error::deserialize(value).map_err(|fault| ReadError::Content {
        place: match fault.path().to_string().as_str() {
            "." => "document".to_owned(),
            path => path.to_owned(),
        },
        reason: fault.inner().to_string(),
    })
}

fn syntax(fault: &serde_json::Error) -> ReadError {
    let reason = fault.to_string();
    let reason = reason.split(" at line ").next().unwrap_or(&reason).to_owned();
    ReadError::Syntax { line: fault.line(), column: fault.column(), reason }
}

mod no_duplicates {
    //! A JSON value that refuses a member named twice, which `serde_json::Value` would silently overwrite.

    use serde::de::{Deserialize, Deserializer, Error, MapAccess, SeqAccess, Visitor};
    use serde_json::map::Entry;
    use serde_json::{Map, Number, Value};
    use std::fmt;

    pub struct Unique(pub Value);

    impl<'de> Deserialize<'de> for Unique {
        fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
            deserializer.deserialize_any(Build).map(Self)
        }
    }

    struct Build;

    impl<'de> Visitor<'de> for Build {
        type Value = Value;

        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            f.write_str("a JSON value")
        }

        fn visit_bool<E>(self, value: bool) -> Result<Value, E> {
            Ok(Value::Bool(value))
        }

        fn visit_i64<E>(self, value: i64) -> Result<Value, E> {
            Ok(Value::from(value))
        }

        fn visit_u64<E>(self, value: u64) -> Result<Value, E> {
            Ok(Value::from(value))
        }

        fn visit_f64<E: Error>(self, value: f64) -> Result<Value, E> {
            Number::from_f64(value).map(Value::Number).ok_or_else(|| E::custom("a number that is not finite"))
        }

        fn visit_str<E>(self, value: &str) -> Result<Value, E> {
            Ok(Value::String(value.to_owned()))
        }

        fn visit_string<E>(self, value: String) -> Result<Value, E> {
            Ok(Value::String(value))
        }

        fn visit_unit<E>(self) -> Result<Value, E> {
            Ok(Value::Null)
        }

        fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Value, A::Error> {
            let mut list = Vec::new();
            while let Some(Unique(item)) = items.next_element()? {
                list.push(item);
            }
            Ok(Value::Array(list))
        }

        fn visit_map<A: MapAccess<'de>>(self, mut members: A) -> Result<Value, A::Error> {
            let mut map = Map::new();
            while let Some(name) = members.next_key::<String>()? {
                match map.entry(name) {
                    Entry::Vacant(free) => free.insert(members.next_value::<Unique>()?.0),
                    Entry::Occupied(there) => {
                        return Err(A::Error::custom(format!("the member \"{}\" stands twice", there.key())));
                    }
                };
            }
            Ok(Value::Object(map))
        }
    }
}
