//! The invented people of a demo script, with passcodes that are public.
//!
//! What it does not do: it never touches real people's passcodes; a script cannot sign as anybody but its own people.

use super::script::Cast;
use crate::people::{Passcode, PersonId, Role};
use crate::people::{PeopleStore, PeopleStoreError};
use crate::ports::Randomness;
use crate::strict_json::{self, ReadError};
use serde::Deserialize;
use std::collections::BTreeMap;
use thiserror::Error;

/// The format this program reads.
pub const FORMAT: u32 = 1;
/// The largest people file accepted, bytes.
pub const MAX_BYTES: u64 = 1 << 20;

/// Why a people file cannot be used.
#[derive(Debug, Error)]
pub enum CastError {
    #[error(transparent)]
    Unreadable(#[from] ReadError),
    #[error("people[{index}].passcode: {reason}")]
    Passcode { index: usize, reason: String },
    #[error("people[{index}].roles: the role {role} is held by somebody before")]
    RoleTwice { index: usize, role: Role },
    #[error("people[{index}].name: \"{name}\" stands twice")]
    NameTwice { index: usize, name: String },
}

/// A people file as written.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DemoPeople {
    /// Format version, 1.
    pub brimline_demo_people: u32,
    /// Says that these are invented.
    pub about: String,
    pub people: Vec<DemoPerson>,
}

/// One invented person.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DemoPerson {
    pub name: String,
    pub roles: Vec<Role>,
    /// Public: never used for anything real.
    pub passcode: String,
}

/// Reads a people file.
///
/// # Errors
/// [`CastError`] names the place.
pub fn read(bytes: &[u8]) -> Result<DemoPeople, CastError> {
    let file: DemoPeople = strict_json::read(bytes, "brimline_demo_people", FORMAT, MAX_BYTES)?;
    for (index, person) in file.people.iter().enumerate() {
        let before = &file.people[..index];
        Passcode::new(&person.passcode).map_err(|fault| CastError::Passcode { index, reason: fault.to_string() })?;
        if let Some(role) = person.roles.iter().find(|role| before.iter().any(|other| other.roles.contains(role))) {
            return Err(CastError::RoleTwice { index, role: *role });
        }
        if before.iter().any(|other| other.name == person.name) {
            return Err(CastError::NameTwice { index, name: person.name.clone() });
        }
    }
    Ok(file)
}

impl DemoPeople {
    /// Finds these people in a store's roster, adding those that are missing with a key of their own.
    ///
    /// # Errors
    /// [`PeopleStoreError`] names the file.
    pub fn enlist(&self, store: &PeopleStore<'_>, random: &dyn Randomness) -> Result<Cast, PeopleStoreError> {
        match store.init(random) {
            Ok(()) | Err(PeopleStoreError::RosterThere { .. }) => {}
            Err(fault) => return Err(fault),
        }
        let mut cast = Cast { team: BTreeMap::new(), by_name: BTreeMap::new() };
        for person in &self.people {
            let kid = person.kid(store, random)?;
            cast.by_name.insert(person.name.clone(), kid.clone());
            cast.team.extend(person.roles.iter().map(|role| (*role, kid.clone())));
        }
        Ok(cast)
    }

    /// The passcode of the person who holds a role.
    #[must_use]
    pub fn passcode(&self, role: Role) -> Option<Passcode> {
        let person = self.people.iter().find(|person| person.roles.contains(&role))?;
        Passcode::new(&person.passcode).ok()
    }
}

impl DemoPerson {
    /// The person's key in the store, made if it is not there yet.
    fn kid(&self, store: &PeopleStore<'_>, random: &dyn Randomness) -> Result<PersonId, PeopleStoreError> {
        let roster = store.roster()?;
        let known = roster.people().iter().find(|known| known.name() == self.name && !known.retired());
        if let Some(known) = known {
            return Ok(known.kid().clone());
        }
        let passcode = Passcode::new(&self.passcode).expect("passcodes are judged when the file is read");
        store.add(&self.name, &self.roles, &passcode, random)
    }
}
