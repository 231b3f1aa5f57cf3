//! The pathways that come with the program.

/// Identifiers of the built-in pathways.
#[must_use]
pub fn built_in_ids() -> &'static [&'static str] {
    &[]
}

/// The bytes of a built-in pathway.
#[must_use]
pub fn built_in(_id: &str) -> Option<&'static [u8]> {
    None
}
