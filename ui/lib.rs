//! The screens, compiled once. Everything here is generated from the `.slint` files; there is no other code.

slint::include_modules!();
