//! A person's private key, and how it rests: PKCS#8 v1 under PBES2 with scrypt and AES-256-CBC.
//!
//! The password is the passcode, a colon, and the device's secret in hex. Six digits alone would fall to a guess on
//! a stolen file; with 256 bits of a separate file both are needed. Without Brimline, OpenSSL reads the file:
//! `openssl pkey -inform DER -in KID.p8 -passin file:PASSWORD`.
//! Pure functions on bytes; randomness is an argument.

use super::{Passcode, PersonId, thumbprint};
use crate::ports::Randomness;
use ed25519_dalek::pkcs8::{EncodePrivateKey, KeypairBytes};
use ed25519_dalek::{Signer, SigningKey};
use pkcs8::der::Decode;
use pkcs8::pkcs5::pbes2::{self, Kdf, Salt, ScryptParams};
use pkcs8::pkcs5::{EncryptionScheme, pbes2::EncryptionScheme as Cipher};
use pkcs8::{EncryptedPrivateKeyInfoRef, PrivateKeyInfoRef};
use std::fmt;
use std::io;
use thiserror::Error;
use zeroize::{Zeroize, Zeroizing};

/// scrypt cost. Source: OpenSSL 3.0 refuses more than 32 MiB of scrypt memory, 128·N·r bytes, so N stays below 32768.
const SCRYPT_N: u64 = 16_384;
/// scrypt block size. Source: RFC 7914 section 2, the usual 8.
const SCRYPT_R: u16 = 8;
/// scrypt parallelisation.
const SCRYPT_P: u16 = 1;
/// The largest key file accepted, bytes; ours hold about 240.
const MAX_BYTES: usize = 4_096;

/// Why a key could not be opened or sealed.
#[derive(Debug, Error)]
pub enum KeyError {
    /// A wrong passcode and the secret of another device cannot be told apart.
    #[error("the passcode is wrong, or the key belongs to another device")]
    WrongPasscode,
    #[error("the key file is damaged: {what}")]
    Damaged { what: &'static str },
    #[error("the key file holds another key, {found}, than its name {expected}")]
    OtherKey { found: PersonId, expected: PersonId },
    #[error("device secret: 64 lower-case hex digits are expected")]
    NotADeviceSecret,
    #[error("no unpredictable bytes: {0}")]
    Randomness(#[from] io::Error),
}

/// 256 bits that never leave the device.
pub struct DeviceSecret(Zeroizing<[u8; 32]>);

impl DeviceSecret {
    /// # Errors
    /// [`KeyError::Randomness`].
    pub fn generate(random: &dyn Randomness) -> Result<Self, KeyError> {
        let mut bytes = Zeroizing::new([0; 32]);
        random.fill(bytes.as_mut())?;
        Ok(Self(bytes))
    }

    /// Reads the file's content: hex, a line feed at the end allowed.
    ///
    /// # Errors
    /// [`KeyError::NotADeviceSecret`].
    pub fn parse(text: &[u8]) -> Result<Self, KeyError> {
        let text = text.strip_suffix(b"\n").unwrap_or(text);
        let mut bytes = Zeroizing::new([0; 32]);
        if text.len() != 64 {
            return Err(KeyError::NotADeviceSecret);
        }
        for (byte, pair) in bytes.iter_mut().zip(text.chunks(2)) {
            *byte = (hex_digit(pair[0])? << 4) | hex_digit(pair[1])?;
        }
        Ok(Self(bytes))
    }

    /// The file's content.
    #[must_use]
    pub fn to_text(&self) -> Zeroizing<String> {
        let mut text = Zeroizing::new(String::with_capacity(65));
        for byte in self.0.iter() {
            text.push(char::from(b"0123456789abcdef"[usize::from(byte >> 4)]));
            text.push(char::from(b"0123456789abcdef"[usize::from(byte & 15)]));
        }
        text
    }

    fn password(&self, passcode: &Passcode) -> Zeroizing<String> {
        let hex = self.to_text();
        let mut password = Zeroizing::new(String::with_capacity(128));
        password.push_str(passcode.digits());
        password.push(':');
        password.push_str(&hex);
        password
    }
}

impl fmt::Debug for DeviceSecret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("DeviceSecret(..)")
    }
}

fn hex_digit(digit: u8) -> Result<u8, KeyError> {
    match digit {
        b'0'..=b'9' => Ok(digit - b'0'),
        b'a'..=b'f' => Ok(digit - b'a' + 10),
        _ => Err(KeyError::NotADeviceSecret),
    }
}

/// A person's signing key, held only while it signs; wiped when dropped.
pub struct PersonKey(SigningKey);

impl PersonKey {
    /// # Errors
    /// [`KeyError::Randomness`].
    pub fn generate(random: &dyn Randomness) -> Result<Self, KeyError> {
        let mut seed = Zeroizing::new([0; 32]);
        random.fill(seed.as_mut())?;
        Ok(Self::from_seed(&seed))
    }

    /// The key of an RFC 8032 private key, for demo people and outside test vectors.
    #[must_use]
    pub fn from_seed(seed: &[u8; 32]) -> Self {
        Self(SigningKey::from_bytes(seed))
    }

    #[must_use]
    pub fn public(&self) -> [u8; 32] {
        self.0.verifying_key().to_bytes()
    }

    #[must_use]
    pub fn person(&self) -> PersonId {
        thumbprint(&self.public())
    }

    /// Ed25519 signature (RFC 8032, pure).
    #[must_use]
    pub fn sign(&self, message: &[u8]) -> [u8; 64] {
        self.0.sign(message).to_bytes()
    }

    /// The bytes of the key file.
    ///
    /// # Errors
    /// [`KeyError::Randomness`].
    ///
    /// # Panics
    /// Never: parameters and lengths are constants the encoder accepts.
    pub fn seal(
        &self,
        passcode: &Passcode,
        device: &DeviceSecret,
        random: &dyn Randomness,
    ) -> Result<Vec<u8>, KeyError> {
        let (mut salt, mut iv) = ([0; 16], [0; 16]);
        random.fill(&mut salt)?;
        random.fill(&mut iv)?;
        let mut pair = KeypairBytes { secret_key: self.0.to_bytes(), public_key: None };
        let plain = pair.to_pkcs8_der().expect("an Ed25519 key of 32 bytes always encodes");
        pair.secret_key.zeroize();
        let info = PrivateKeyInfoRef::try_from(plain.as_bytes()).expect("what was just encoded decodes");
        let kdf = ScryptParams {
            salt: Salt::new(salt).expect("16 bytes of salt fit"),
            cost_parameter: SCRYPT_N,
            block_size: SCRYPT_R,
            parallelization: SCRYPT_P,
            key_length: None,
        };
        let parameters = pbes2::Parameters { kdf: Kdf::Scrypt(kdf), encryption: Cipher::Aes256Cbc { iv } };
        let sealed = info
            .encrypt_with_params(parameters, device.password(passcode).as_bytes())
            .expect("scrypt and AES-256-CBC take these parameters");
        Ok(sealed.as_bytes().to_vec())
    }

    /// Opens a key file.
    ///
    /// # Errors
    /// [`KeyError::WrongPasscode`], or [`KeyError::Damaged`] naming what is not as this program writes it; a file
    /// whose parameters would cost more than ours is refused before any work.
    pub fn open(file: &[u8], passcode: &Passcode, device: &DeviceSecret) -> Result<Self, KeyError> {
        if file.len() > MAX_BYTES {
            return Err(KeyError::Damaged { what: "it is too long" });
        }
        let sealed = EncryptedPrivateKeyInfoRef::from_der(file)
            .map_err(|_| KeyError::Damaged { what: "it is not an encrypted PKCS#8 key" })?;
        if !parameters_are_ours(&sealed.encryption_algorithm) {
            return Err(KeyError::Damaged {
                what: "its encryption is not scrypt with N 16384, r 8, p 1 and AES-256-CBC",
            });
        }
        let password = device.password(passcode);
        let plain = sealed.decrypt(password.as_bytes()).map_err(|_| KeyError::WrongPasscode)?;
        let info = PrivateKeyInfoRef::try_from(plain.as_bytes()).map_err(|_| KeyError::WrongPasscode)?;
        let pair = KeypairBytes::try_from(info).map_err(|_| KeyError::Damaged { what: "it is not an Ed25519 key" })?;
        Ok(Self(SigningKey::from_bytes(&pair.secret_key)))
    }
}

impl fmt::Debug for PersonKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "PersonKey({})", self.person())
    }
}

fn parameters_are_ours(scheme: &EncryptionScheme) -> bool {
    let EncryptionScheme::Pbes2(pbes2::Parameters { kdf: Kdf::Scrypt(kdf), encryption: Cipher::Aes256Cbc { .. } }) =
        scheme
    else {
        return false;
    };
    kdf.cost_parameter == SCRYPT_N && kdf.block_size == SCRYPT_R && kdf.parallelization == SCRYPT_P
}
