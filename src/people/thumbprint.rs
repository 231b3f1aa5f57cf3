//! The RFC 7638 thumbprint of an Ed25519 public key.

use super::PersonId;
use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use sha2::{Digest, Sha256};

/// The thumbprint: base64url of SHA-256 over the required members in lexicographic order, without white space.
///
/// Source: RFC 7638 section 3; the members of an OKP key are `crv`, `kty`, `x` (RFC 8037 section 2).
#[must_use]
pub fn thumbprint(public: &[u8; 32]) -> PersonId {
    let x = URL_SAFE_NO_PAD.encode(public);
    let members = format!(r#"{{"crv":"Ed25519","kty":"OKP","x":"{x}"}}"#);
    PersonId(URL_SAFE_NO_PAD.encode(Sha256::digest(members.as_bytes())))
}

/// Whether the text has the shape of a thumbprint, so that it cannot be a name or a number in disguise.
#[must_use]
pub fn is_thumbprint(text: &str) -> bool {
    text.len() == 43 && URL_SAFE_NO_PAD.decode(text).is_ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: RFC 8037 appendices A.2 (the key) and A.3 (its thumbprint).
    #[test]
    fn thumbprint_is_that_of_rfc_8037() {
        let x = URL_SAFE_NO_PAD.decode("11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo").unwrap();
        let print = thumbprint(&x.try_into().unwrap());
        assert_eq!(print.0, "kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k");
        assert!(is_thumbprint(&print.0));
    }

    #[test]
    fn a_name_is_not_a_thumbprint() {
        assert!(!is_thumbprint("surgeon"));
        assert!(!is_thumbprint("Dr Anna Example of the Invented Clinic, Yes"));
    }
}
