//! The JSON Schema of the pathway document, generated from its types and shipped beside them.
//!
//! It tells an editor which members exist. What it cannot tell (a condition that looks ahead, a gate nobody can
//! release) is judged by [`faults`](super::faults).

use super::Pathway;

/// The schema as it ships; a test holds it against [`generated_schema`].
pub const SCHEMA: &str = include_str!("pathway.schema.json");

/// The schema of the types as they are, pretty-printed, with a newline at the end.
///
/// # Panics
/// Never: a schema is plain JSON.
#[must_use]
pub fn generated_schema() -> String {
    let schema = schemars::schema_for!(Pathway);
    let text = serde_json::to_string_pretty(&schema).expect("a schema is plain JSON");
    text + "\n"
}
