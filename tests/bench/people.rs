//! The people of the benches, one for each role.

use brimline::people::{Actor, PersonId, Role};
use std::collections::BTreeMap;

pub fn actor(role: Role) -> Actor {
    Actor::new(role, PersonId(format!("person-{}", role.word().replace(' ', "-"))))
}

pub fn team() -> BTreeMap<Role, PersonId> {
    Role::ALL.into_iter().map(|role| (role, actor(role).person)).collect()
}
