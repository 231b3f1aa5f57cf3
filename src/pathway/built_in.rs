//! The pathways that come with the program, embedded as the documents they are.
//!
//! A local team edits a copy; these never change under a running case, which keeps its own copy.

/// Identifier and bytes of each built-in pathway, in the order they are offered.
const BUILT_IN: [(&str, &[u8]); 2] = [
    ("primary-lateral-prone", include_bytes!("primary-lateral-prone.json")),
    ("revision-loosening", include_bytes!("revision-loosening.json")),
];

/// Identifiers of the built-in pathways.
#[must_use]
pub fn built_in_ids() -> &'static [&'static str] {
    const IDS: [&str; BUILT_IN.len()] = [BUILT_IN[0].0, BUILT_IN[1].0];
    &IDS
}

/// The bytes of a built-in pathway.
#[must_use]
pub fn built_in(id: &str) -> Option<&'static [u8]> {
    BUILT_IN.iter().find(|(known, _)| *known == id).map(|(_, bytes)| *bytes)
}
