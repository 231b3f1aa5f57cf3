//! People: their roles in the room, the roster of public keys, private keys under a passcode.
//!
//! What it does not do: no file of its own (all goes through the disk port), no names in journals or logs beyond the roster itself, no locking:
//! a wrong passcode slows the next try and nothing else.
//! What may never change: role codes, the thumbprint as a person's identifier (RFC 7638), the meaning of roster
//! format 1, and that a retired key stays readable for the records it signed.

mod actor;
mod keys;
mod passcode;
mod role;
mod roster;
mod store;
mod thumbprint;

pub use actor::{Actor, PersonId};
pub use keys::{DeviceSecret, KeyError, PersonKey};
pub use passcode::{Passcode, PasscodeDelay, PasscodeError};
pub use role::Role;
pub use roster::{FORMAT, MAX_BYTES, Person, Roster, RosterError};
pub use store::{PeopleStore, PeopleStoreError};
pub use thumbprint::{is_thumbprint, thumbprint};
