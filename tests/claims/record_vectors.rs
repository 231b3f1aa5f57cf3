//! Published vectors that the record's parts must agree with.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use brimline::people::PersonKey;
use brimline::record::{RecordError, SignedRecord};
use sha2::{Digest, Sha256};
use std::fmt::Write;

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut hex, byte| {
        let _ = write!(hex, "{byte:02x}");
        hex
    })
}

/// [R-RECORD-6]
/// Source: RFC 8037 appendix A.4: the JWS of "Example of Ed25519 signing" under the key of A.1.
#[test]
fn the_signature_is_that_of_rfc_8037() {
    let seed = URL_SAFE_NO_PAD.decode("nWGxne_9WmC6hEr0kuwsxERJxWl7MmkZcDusAxyuf2A").unwrap();
    let key = PersonKey::from_seed(&seed.try_into().unwrap());
    let input = "eyJhbGciOiJFZERTQSJ9.RXhhbXBsZSBvZiBFZDI1NTE5IHNpZ25pbmc";
    let signature = "hgyY0il_MGCjP0JzlnLWG1PPOt7-09PGcvMg3AIbQR6dWbhijcNR4ki4iylGjg5BhVsPt9g7sVvpAr_MuM0KAg";
    assert_eq!(URL_SAFE_NO_PAD.encode(key.sign(input.as_bytes())), signature);
    assert_eq!(key.person().0, "kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k");
}

/// Source: RFC 7515 appendix A.2, an RS256 signature; here in the General form.
#[test]
fn an_rs256_signature_is_refused_by_its_algorithm() {
    let file = include_bytes!("../vectors/record/rfc7515-a2-general.json");
    assert_eq!(
        SignedRecord::read(file.trim_ascii_end()).unwrap_err(),
        RecordError::Algorithm { index: 0, alg: "RS256".to_owned() }
    );
}

/// Source: RFC 9901 section 4.2.3: the digest of the disclosure of the family name.
#[test]
fn the_digest_of_a_disclosure_is_that_of_rfc_9901() {
    let disclosure = "WyJfMjZiYzRMVC1hYzZxMktJNmNCVzVlcyIsICJmYW1pbHlfbmFtZSIsICJNw7ZiaXVzIl0";
    let digest = URL_SAFE_NO_PAD.encode(Sha256::digest(disclosure.as_bytes()));
    assert_eq!(digest, "X9yH0Ajrdm1Oij4tWso9UzzKJvPoDxwmuEcO3XAdRC0");
}

/// Source: FIPS 180-4 example values (NIST CSRC, SHA-256).
#[test]
fn sha256_gives_the_published_digests() {
    let vectors: [(&[u8], &str); 3] = [
        (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
        (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        (
            b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
        ),
    ];
    for (message, digest) in vectors {
        assert_eq!(hex(&Sha256::digest(message)), digest);
    }
    let million = "a".repeat(1_000_000);
    assert_eq!(hex(&Sha256::digest(million)), "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

/// [R-RECORD-6]
/// Source: RFC 8785 appendix B, IEEE 754 bits and their ECMAScript form; compared with the copy of that table in
/// `test/test_impl.py` of rfc8785 0.1.4 (`PyPI`, source archive).
#[test]
fn numbers_are_written_as_in_rfc_8785_appendix_b() {
    let vectors: [(u64, &str); 24] = [
        (0x0000_0000_0000_0000, "0"),
        (0x8000_0000_0000_0000, "0"),
        (0x0000_0000_0000_0001, "5e-324"),
        (0x8000_0000_0000_0001, "-5e-324"),
        (0x7fef_ffff_ffff_ffff, "1.7976931348623157e+308"),
        (0xffef_ffff_ffff_ffff, "-1.7976931348623157e+308"),
        (0x4340_0000_0000_0000, "9007199254740992"),
        (0xc340_0000_0000_0000, "-9007199254740992"),
        (0x4430_0000_0000_0000, "295147905179352830000"),
        (0x44b5_2d02_c7e1_4af5, "9.999999999999997e+22"),
        (0x44b5_2d02_c7e1_4af6, "1e+23"),
        (0x44b5_2d02_c7e1_4af7, "1.0000000000000001e+23"),
        (0x444b_1ae4_d6e2_ef4e, "999999999999999700000"),
        (0x444b_1ae4_d6e2_ef4f, "999999999999999900000"),
        (0x444b_1ae4_d6e2_ef50, "1e+21"),
        (0x3eb0_c6f7_a0b5_ed8c, "9.999999999999997e-7"),
        (0x3eb0_c6f7_a0b5_ed8d, "0.000001"),
        (0x41b3_de43_5555_5553, "333333333.3333332"),
        (0x41b3_de43_5555_5554, "333333333.33333325"),
        (0x41b3_de43_5555_5555, "333333333.3333333"),
        (0x41b3_de43_5555_5556, "333333333.3333334"),
        (0x41b3_de43_5555_5557, "333333333.33333343"),
        (0xbecb_f647_612f_3696, "-0.0000033333333333333333"),
        (0x4314_3ff3_c1cb_0959, "1424953923781206.2"),
    ];
    for (bits, text) in vectors {
        assert_eq!(serde_json_canonicalizer::to_string(&f64::from_bits(bits)).unwrap(), text, "{bits:016x}");
    }
    assert!(serde_json_canonicalizer::to_string(&f64::NAN).is_err());
    assert!(serde_json_canonicalizer::to_string(&f64::INFINITY).is_err());
}

/// Source: RFC 8785 section 3.2.3: members sorted by UTF-16 code units.
#[test]
fn members_are_sorted_as_in_rfc_8785() {
    let input = "{\"\\u20ac\":\"Euro Sign\",\"\\r\":\"Carriage Return\",\"\\ufb33\":\"Hebrew Letter Dalet With Dagesh\",\
                 \"1\":\"One\",\"\\ud83d\\ude00\":\"Emoji: Grinning Face\",\"\\u0080\":\"Control\",\
                 \"\\u00f6\":\"Latin Small Letter O With Diaeresis\"}";
    let sorted = serde_json_canonicalizer::pipe(input).unwrap();
    let order = ["Carriage", "One", "Control", "Latin", "Euro", "Emoji", "Hebrew"];
    let places: Vec<_> = order.iter().map(|word| sorted.find(word).unwrap()).collect();
    assert!(places.is_sorted(), "{sorted}");
}
