//! People: their roles in the room, the roster of public keys, private keys under a passcode.
//!
//! What it does not do: no files (`adapters`), no names in journals or logs beyond the roster itself.
//! What may never change: role codes and the thumbprint as a person's identifier (RFC 7638).

mod actor;
mod role;

pub use actor::{Actor, PersonId};
pub use role::Role;
