//! Hiding claims behind salted digests and putting disclosed ones back (RFC 9901).
//!
//! Only members of objects are hidden, never elements of lists, and never one inside another. Digests of an object
//! are sorted, which takes away the order the claims stood in.

use super::RecordError;
use super::canonical::{canonical, decode, decode_into, encode};
use super::claim::is_claim;
use super::scan::plainly_canonical;
use crate::ports::Randomness;
use crate::strict_json;
use serde_json::{Map, Value};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// The member that holds an object's digests, and the one that names their algorithm.
pub(super) const SD: &str = "_sd";
pub(super) const SD_ALG: &str = "sha-256";
/// Source: RFC 9901 section 9.3 asks for at least 128 bits of salt.
const SALT_BYTES: usize = 16;
/// The largest disclosure accepted, bytes of base64url.
const DISCLOSURE_MAX: u64 = 1 << 20;

/// A disclosure: base64url of `[salt, name, value]`.
pub(super) type Disclosure = String;

/// The digest of a disclosure, as bytes.
pub(super) fn sha256(disclosure: &str) -> RawDigest {
    Sha256::digest(disclosure.as_bytes()).into()
}

/// The digest that stands in a payload, as bytes.
pub(super) fn raw_digest(text: &str) -> Option<RawDigest> {
    let mut bytes = [0; 33];
    (text.len() == 43 && decode_into(text, &mut bytes)? == 32).then(|| *bytes.first_chunk().expect("33 hold 32"))
}

/// Whether the text is a salt of at least 128 bits.
pub(super) fn is_salt(text: &str) -> bool {
    decode(text).is_some_and(|salt| salt.len() >= SALT_BYTES)
}

/// The digest of a disclosure: base64url of SHA-256 over its own base64url text.
///
/// Source: RFC 9901 section 4.2.3.
pub(super) fn digest(disclosure: &str) -> String {
    encode(sha256(disclosure))
}

/// Moves every claim of the tree behind a digest; returns the disclosures, sorted.
///
/// # Errors
/// [`RecordError::Randomness`].
pub(super) fn conceal(value: &mut Value, random: &dyn Randomness) -> Result<Vec<Disclosure>, RecordError> {
    let mut disclosures = Vec::new();
    conceal_into(value, random, &mut disclosures)?;
    disclosures.sort_unstable();
    Ok(disclosures)
}

fn conceal_into(value: &mut Value, random: &dyn Randomness, out: &mut Vec<Disclosure>) -> Result<(), RecordError> {
    match value {
        Value::Array(items) => items.iter_mut().try_for_each(|item| conceal_into(item, random, out)),
        Value::Object(members) => conceal_members(members, random, out),
        _ => Ok(()),
    }
}

fn conceal_members(
    members: &mut Map<String, Value>,
    random: &dyn Randomness,
    out: &mut Vec<Disclosure>,
) -> Result<(), RecordError> {
    let mut digests = Vec::new();
    for (name, value) in std::mem::take(members) {
        if is_claim(&name) {
            let disclosure = disclose(&name, &value, random)?;
            digests.push(digest(&disclosure));
            out.push(disclosure);
        } else {
            members.insert(name, value);
        }
    }
    for value in members.values_mut() {
        conceal_into(value, random, out)?;
    }
    if !digests.is_empty() {
        digests.sort_unstable();
        members.insert(SD.to_owned(), Value::from(digests));
    }
    Ok(())
}

fn disclose(name: &str, value: &Value, random: &dyn Randomness) -> Result<Disclosure, RecordError> {
    let mut salt = [0; SALT_BYTES];
    random.fill(&mut salt).map_err(|fault| RecordError::Randomness { reason: fault.to_string() })?;
    Ok(encode(canonical(&(encode(salt), name, value))))
}

/// A disclosure taken apart.
struct Opened {
    position: usize,
    name: String,
    value: Value,
}

/// SHA-256 of a disclosure, as bytes.
pub(super) type RawDigest = [u8; 32];

/// Puts disclosed claims back where their digests stand and drops the digests.
///
/// # Errors
/// A disclosure that is not canonical, names no claim, or matches no digest; a digest that stands twice or out of
/// order; a claim that stands open.
pub(super) fn reveal(value: &mut Value, disclosures: &[Disclosure]) -> Result<(), RecordError> {
    let mut by_digest = BTreeMap::new();
    for (position, disclosure) in disclosures.iter().enumerate() {
        by_digest.insert(sha256(disclosure), open(position, disclosure)?);
    }
    let mut walk = Walk { by_digest, seen: Vec::new() };
    walk.reveal(value)?;
    walk.seen.sort_unstable();
    if walk.seen.windows(2).any(|pair| pair[0] == pair[1]) {
        return Err(RecordError::Digests { reason: "one stands at two places" });
    }
    match walk.by_digest.into_values().min_by_key(|opened| opened.position) {
        Some(Opened { position, name, .. }) => Err(RecordError::DisclosureUnmatched { position, name }),
        None => Ok(()),
    }
}

/// The claim a disclosure is about.
pub(super) fn name_of(position: usize, disclosure: &str) -> Result<String, RecordError> {
    open(position, disclosure).map(|opened| opened.name)
}

fn open(position: usize, disclosure: &str) -> Result<Opened, RecordError> {
    let malformed = |reason| RecordError::DisclosureMalformed { position, reason };
    let bytes = decode(disclosure).ok_or_else(|| malformed("not base64url without padding"))?;
    let value = strict_json::value(&bytes, DISCLOSURE_MAX).map_err(|_| malformed("not JSON"))?;
    if !(plainly_canonical(&bytes) || canonical(&value) == bytes) {
        return Err(malformed("not in canonical form"));
    }
    let Value::Array(parts) = value else { return Err(malformed("not a list")) };
    let Ok([Value::String(salt), Value::String(name), value]) = <[Value; 3]>::try_from(parts) else {
        return Err(malformed("not a list of salt, name and value"));
    };
    if !is_salt(&salt) {
        return Err(malformed("its salt is shorter than 128 bits"));
    }
    if !is_claim(&name) {
        return Err(malformed("it discloses what is no claim of a record"));
    }
    Ok(Opened { position, name, value })
}

struct Walk {
    by_digest: BTreeMap<RawDigest, Opened>,
    /// Every digest met, to see afterwards whether one stands twice.
    seen: Vec<RawDigest>,
}

impl Walk {
    fn reveal(&mut self, value: &mut Value) -> Result<(), RecordError> {
        match value {
            Value::Array(items) => items.iter_mut().try_for_each(|item| self.reveal(item)),
            Value::Object(members) => self.reveal_members(members),
            _ => Ok(()),
        }
    }

    fn reveal_members(&mut self, members: &mut Map<String, Value>) -> Result<(), RecordError> {
        if let Some(name) = members.keys().find(|name| is_claim(name)) {
            return Err(RecordError::ClaimOpen { name: name.clone() });
        }
        let digests = members.remove(SD);
        for value in members.values_mut() {
            self.reveal(value)?;
        }
        let Some(digests) = digests else { return Ok(()) };
        for digest in raw_digests(&digests)? {
            self.seen.push(digest);
            if let Some(opened) = self.by_digest.remove(&digest)
                && members.insert(opened.name.clone(), opened.value).is_some()
            {
                return Err(RecordError::ClaimTwice { name: opened.name });
            }
        }
        Ok(())
    }
}

/// The digests of one object: at least one, sorted as text, each once.
fn raw_digests(value: &Value) -> Result<Vec<RawDigest>, RecordError> {
    let list = value.as_array().map(|items| items.iter().map(Value::as_str).collect::<Option<Vec<_>>>());
    let list = list.flatten().ok_or(RecordError::Digests { reason: "not a list of strings" })?;
    if list.is_empty() || !list.windows(2).all(|pair| pair[0] < pair[1]) {
        return Err(RecordError::Digests { reason: "not sorted, or one stands twice" });
    }
    list.into_iter()
        .map(raw_digest)
        .collect::<Option<_>>()
        .ok_or(RecordError::Digests { reason: "not a SHA-256 in base64url" })
}
