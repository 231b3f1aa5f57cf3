//! The roster: a JWK Set (RFC 7517, RFC 8037) of the public keys of a site's people, with their names and roles.
//!
//! A lost key is replaced, never shared; a retired key stays, because old records were signed with it. A role once
//! given to a key stays with it for the same reason: to take a role away, replace the key.

use super::{PersonId, Role, thumbprint};
use crate::strict_json::{self, ReadError};
use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use ed25519_dalek::VerifyingKey;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// The roster format this program writes and the newest it reads.
pub const FORMAT: u32 = 1;
/// The largest roster accepted, bytes.
pub const MAX_BYTES: u64 = 4 << 20;
/// Longest name, characters.
const NAME_MAX: usize = 80;

/// Why bytes are not a roster, or a change to it is refused.
#[derive(Debug, Error, PartialEq, Eq)]
pub enum RosterError {
    #[error(transparent)]
    Unreadable(#[from] ReadError),
    #[error("keys[{index}].{member}: {reason}")]
    Entry { index: usize, member: &'static str, reason: &'static str },
    #[error("keys[{index}].kid: {kid} stands in the roster already")]
    Twice { index: usize, kid: PersonId },
    #[error("name: 1 to {NAME_MAX} characters, none of them a control character")]
    Name,
    #[error("roles: at least one, each once")]
    Roles,
    #[error("public key: not a usable Ed25519 key")]
    PublicKey,
    #[error("{0} stands in the roster already")]
    KnownAlready(PersonId),
    #[error("{0} is not in the roster")]
    Unknown(PersonId),
    #[error("{0} is retired already")]
    RetiredAlready(PersonId),
}

/// One public key: a JWK with members of ours (`name`, `roles`, `retired`, `replaces`).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Person {
    kty: String,
    crv: String,
    x: String,
    kid: PersonId,
    #[serde(rename = "use")]
    usage: String,
    name: String,
    roles: Vec<Role>,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    retired: bool,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    replaces: Option<PersonId>,
}

impl Person {
    fn new(name: &str, roles: &[Role], public: &[u8; 32], replaces: Option<PersonId>) -> Result<Self, RosterError> {
        if usable(public).is_none() {
            return Err(RosterError::PublicKey);
        }
        if !good_name(name) {
            return Err(RosterError::Name);
        }
        if !good_roles(roles) {
            return Err(RosterError::Roles);
        }
        Ok(Self {
            kty: "OKP".to_owned(),
            crv: "Ed25519".to_owned(),
            x: URL_SAFE_NO_PAD.encode(public),
            kid: thumbprint(public),
            usage: "sig".to_owned(),
            name: name.to_owned(),
            roles: roles.to_vec(),
            retired: false,
            replaces,
        })
    }

    #[must_use]
    pub fn kid(&self) -> &PersonId {
        &self.kid
    }

    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    #[must_use]
    pub fn roles(&self) -> &[Role] {
        &self.roles
    }

    /// A retired key signs nothing new; what it signed stays valid.
    #[must_use]
    pub fn retired(&self) -> bool {
        self.retired
    }

    /// The key of the same person that this one took the place of.
    #[must_use]
    pub fn replaces(&self) -> Option<&PersonId> {
        self.replaces.as_ref()
    }

    /// # Panics
    /// Never: a roster holds only keys that were found usable.
    #[must_use]
    pub fn verifying_key(&self) -> VerifyingKey {
        self.key().expect("a key of a roster was found usable when it entered")
    }

    fn key(&self) -> Option<VerifyingKey> {
        let bytes = URL_SAFE_NO_PAD.decode(&self.x).ok()?;
        usable(&bytes.try_into().ok()?)
    }

    fn judge(&self, index: usize) -> Result<(), RosterError> {
        let fault = |member, reason| Err(RosterError::Entry { index, member, reason });
        if self.kty != "OKP" {
            return fault("kty", "only \"OKP\" is accepted");
        }
        if self.crv != "Ed25519" {
            return fault("crv", "only \"Ed25519\" is accepted");
        }
        if self.usage != "sig" {
            return fault("use", "only \"sig\" is accepted");
        }
        let Some(key) = self.key() else { return fault("x", "not a usable Ed25519 public key") };
        if thumbprint(key.as_bytes()) != self.kid {
            return fault("kid", "not the RFC 7638 thumbprint of the key");
        }
        if !good_name(&self.name) {
            return fault("name", "1 to 80 characters, none of them a control character");
        }
        if !good_roles(&self.roles) {
            return fault("roles", "at least one, each once");
        }
        Ok(())
    }
}

/// A point on the curve that is not of small order: one of small order would verify forged signatures.
fn usable(public: &[u8; 32]) -> Option<VerifyingKey> {
    VerifyingKey::from_bytes(public).ok().filter(|key| !key.is_weak())
}

fn good_name(name: &str) -> bool {
    (1..=NAME_MAX).contains(&name.chars().count()) && !name.chars().any(char::is_control) && name.trim() == name
}

fn good_roles(roles: &[Role]) -> bool {
    !roles.is_empty() && roles.iter().enumerate().all(|(index, role)| !roles[..index].contains(role))
}

/// Everybody whose signature a site knows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Roster {
    brimline_roster: u32,
    keys: Vec<Person>,
}

impl Default for Roster {
    fn default() -> Self {
        Self { brimline_roster: FORMAT, keys: Vec::new() }
    }
}

impl Roster {
    /// Reads a roster.
    ///
    /// # Errors
    /// [`RosterError`] names the entry and its member.
    pub fn read(bytes: &[u8]) -> Result<Self, RosterError> {
        let roster: Self = strict_json::read(bytes, "brimline_roster", FORMAT, MAX_BYTES)?;
        for (index, person) in roster.keys.iter().enumerate() {
            person.judge(index)?;
            if roster.keys[..index].iter().any(|earlier| earlier.kid == person.kid) {
                return Err(RosterError::Twice { index, kid: person.kid.clone() });
            }
            if person.replaces.as_ref().is_some_and(|old| !roster.keys[..index].iter().any(|key| key.kid == *old)) {
                let reason = "names a key that does not stand before this one";
                return Err(RosterError::Entry { index, member: "replaces", reason });
            }
        }
        Ok(roster)
    }

    /// The bytes of the roster's file.
    ///
    /// # Panics
    /// Never: a roster holds strings, booleans and lists only.
    #[must_use]
    pub fn to_bytes(&self) -> Vec<u8> {
        let mut bytes = serde_json::to_vec_pretty(self).expect("a roster is plain JSON");
        bytes.push(b'\n');
        bytes
    }

    #[must_use]
    pub fn people(&self) -> &[Person] {
        &self.keys
    }

    #[must_use]
    pub fn person(&self, kid: &PersonId) -> Option<&Person> {
        self.keys.iter().find(|person| person.kid == *kid)
    }

    /// Whether the key `new` took the place of `old`, directly or over several keys of the same person.
    #[must_use]
    pub fn succeeds(&self, new: &PersonId, old: &PersonId) -> bool {
        self.earlier(new).any(|earlier| earlier == old)
    }

    /// The keys that this one took the place of, the latest first.
    fn earlier<'r>(&'r self, kid: &PersonId) -> impl Iterator<Item = &'r PersonId> {
        // A roster names a replaced key before its successor, so that this ends.
        std::iter::successors(self.person(kid).and_then(Person::replaces), |kid| {
            self.person(kid).and_then(Person::replaces)
        })
    }

    /// Whether two keys are of one person: the same, or both come from one first key.
    #[must_use]
    pub fn same_person(&self, one: &PersonId, other: &PersonId) -> bool {
        let first = |kid| self.earlier(kid).last();
        first(one).unwrap_or(one) == first(other).unwrap_or(other)
    }

    /// The key that signs now for the person of this key: itself unless it was replaced; none if the person signs no
    /// more.
    #[must_use]
    pub fn present(&self, kid: &PersonId) -> Option<&Person> {
        let own = |person: &&Person| person.kid == *kid || self.succeeds(&person.kid, kid);
        self.keys.iter().rev().filter(|person| !person.retired).find(own)
    }

    /// Roles that one person holds together, in pairs: signatures in both are not independent of each other.
    #[must_use]
    pub fn held_together(&self, held: &[(Role, PersonId)]) -> Vec<(Role, Role)> {
        let pairs =
            held.iter().enumerate().flat_map(|(index, one)| held[index + 1..].iter().map(move |two| (one, two)));
        pairs.filter(|(one, two)| self.same_person(&one.1, &two.1)).map(|(one, two)| (one.0, two.0)).collect()
    }

    /// Adds a person.
    ///
    /// # Errors
    /// [`RosterError`] if name, roles or key are not acceptable, or the key is known already.
    pub fn add(&mut self, name: &str, roles: &[Role], public: &[u8; 32]) -> Result<PersonId, RosterError> {
        let person = Person::new(name, roles, public, None)?;
        self.enter(person)
    }

    fn enter(&mut self, person: Person) -> Result<PersonId, RosterError> {
        if self.person(&person.kid).is_some() {
            return Err(RosterError::KnownAlready(person.kid));
        }
        let kid = person.kid.clone();
        self.keys.push(person);
        Ok(kid)
    }

    /// Retires a key: it signs nothing new and stays for what it signed.
    ///
    /// # Errors
    /// [`RosterError::Unknown`] or [`RosterError::RetiredAlready`].
    pub fn retire(&mut self, kid: &PersonId) -> Result<(), RosterError> {
        let person = self.keys.iter_mut().find(|person| person.kid == *kid);
        let person = person.ok_or_else(|| RosterError::Unknown(kid.clone()))?;
        if person.retired {
            return Err(RosterError::RetiredAlready(kid.clone()));
        }
        person.retired = true;
        Ok(())
    }

    /// Gives a person a new key, with the same name and roles, and retires the old one.
    ///
    /// # Errors
    /// [`RosterError`]; nothing has changed then.
    pub fn replace(&mut self, old: &PersonId, public: &[u8; 32]) -> Result<PersonId, RosterError> {
        let person = self.person(old).ok_or_else(|| RosterError::Unknown(old.clone()))?;
        let new = Person::new(&person.name, &person.roles, public, Some(old.clone()))?;
        let kid = self.enter(new)?;
        if let Some(person) = self.keys.iter_mut().find(|person| person.kid == *old) {
            person.retired = true;
        }
        Ok(kid)
    }
}
