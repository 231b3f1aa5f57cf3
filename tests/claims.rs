//! What the program promises, one claim a test.

#[path = "claims/memory_world.rs"]
mod memory_world;
#[path = "claims/people_commands.rs"]
mod people_commands;
#[path = "claims/people_keys.rs"]
mod people_keys;
#[path = "claims/record_commands.rs"]
mod record_commands;
#[path = "claims/record_fixture.rs"]
mod record_fixture;
#[path = "claims/record_sign.rs"]
mod record_sign;
#[path = "claims/record_strict.rs"]
mod record_strict;
#[path = "claims/record_vectors.rs"]
mod record_vectors;
