//! People on disk: `people/roster.json`, `people/keys/KID.p8`, `people/device.secret` under the store.
//!
//! It goes through the disk port only and knows no passcode longer than it takes to open or seal a key.

use super::{
    DeviceSecret, KeyError, MAX_BYTES, Passcode, PersonId, PersonKey, Role, Roster, RosterError, is_thumbprint,
};
use crate::ports::{Disk, Randomness};
use std::io;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// The largest key or secret file read, bytes.
const SMALL_FILE_MAX: u64 = 4_096;

/// Why the people of a store could not be read or changed.
#[derive(Debug, Error)]
pub enum PeopleStoreError {
    #[error("{}: {fault}", path.display())]
    Disk { path: PathBuf, fault: io::Error },
    #[error("{}: there is a roster already", path.display())]
    RosterThere { path: PathBuf },
    #[error("{}: no roster; `brimline people init` makes one", path.display())]
    NoRoster { path: PathBuf },
    #[error("{}: {fault}", path.display())]
    Roster { path: PathBuf, fault: RosterError },
    #[error("{fault}")]
    Refused { fault: RosterError },
    #[error("{}: {fault}", path.display())]
    Key { path: PathBuf, fault: KeyError },
    #[error("{kid}: no private key on this device")]
    NoKeyHere { kid: PersonId },
    #[error("\"{text}\" is not the thumbprint of a key")]
    NotAKid { text: String },
}

impl PeopleStoreError {
    /// Whether the passcode was wrong, as against anything else.
    #[must_use]
    pub fn is_wrong_passcode(&self) -> bool {
        matches!(self, Self::Key { fault: KeyError::WrongPasscode, .. })
    }
}

type Stored<T> = Result<T, PeopleStoreError>;

/// The people of one store.
pub struct PeopleStore<'a> {
    disk: &'a dyn Disk,
    folder: PathBuf,
}

impl<'a> PeopleStore<'a> {
    #[must_use]
    pub fn new(disk: &'a dyn Disk, store: &Path) -> Self {
        Self { disk, folder: store.join("people") }
    }

    #[must_use]
    pub fn roster_path(&self) -> PathBuf {
        self.folder.join("roster.json")
    }

    fn secret_path(&self) -> PathBuf {
        self.folder.join("device.secret")
    }

    fn key_path(&self, kid: &PersonId) -> Stored<PathBuf> {
        // A kid becomes a file name, so nothing but a thumbprint may pass.
        if !is_thumbprint(&kid.0) {
            return Err(PeopleStoreError::NotAKid { text: kid.0.clone() });
        }
        Ok(self.folder.join("keys").join(format!("{kid}.p8")))
    }

    /// Makes the folders, an empty roster and the device's secret.
    ///
    /// # Errors
    /// [`PeopleStoreError::RosterThere`] if there is one; nothing is written then.
    pub fn init(&self, random: &dyn Randomness) -> Stored<()> {
        let path = self.roster_path();
        match self.disk.read(&path, MAX_BYTES) {
            Ok(_) => return Err(PeopleStoreError::RosterThere { path }),
            Err(fault) if fault.kind() == io::ErrorKind::NotFound => {}
            Err(fault) => return Err(PeopleStoreError::Disk { path, fault }),
        }
        let keys = self.folder.join("keys");
        self.disk.create_folder(&keys).map_err(|fault| PeopleStoreError::Disk { path: keys, fault })?;
        self.device_or_new(random)?;
        self.write_roster(&Roster::default())
    }

    /// The roster.
    ///
    /// # Errors
    /// [`PeopleStoreError`] names the file.
    pub fn roster(&self) -> Stored<Roster> {
        let path = self.roster_path();
        match self.disk.read(&path, MAX_BYTES) {
            Ok(bytes) => Roster::read(&bytes).map_err(|fault| PeopleStoreError::Roster { path, fault }),
            Err(fault) if fault.kind() == io::ErrorKind::NotFound => Err(PeopleStoreError::NoRoster { path }),
            Err(fault) => Err(PeopleStoreError::Disk { path, fault }),
        }
    }

    fn write_roster(&self, roster: &Roster) -> Stored<()> {
        let path = self.roster_path();
        self.disk.replace(&path, &roster.to_bytes()).map_err(|fault| PeopleStoreError::Disk { path, fault })
    }

    fn device(&self) -> Stored<Option<DeviceSecret>> {
        let path = self.secret_path();
        match self.disk.read(&path, SMALL_FILE_MAX) {
            Ok(text) => DeviceSecret::parse(&text).map(Some).map_err(|fault| PeopleStoreError::Key { path, fault }),
            Err(fault) if fault.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(fault) => Err(PeopleStoreError::Disk { path, fault }),
        }
    }

    /// A secret once written is never replaced: every key of the device would be lost with it.
    fn device_or_new(&self, random: &dyn Randomness) -> Stored<DeviceSecret> {
        if let Some(secret) = self.device()? {
            return Ok(secret);
        }
        let path = self.secret_path();
        let secret = DeviceSecret::generate(random);
        let secret = secret.map_err(|fault| PeopleStoreError::Key { path: path.clone(), fault })?;
        let text = secret.to_text();
        self.disk.replace(&path, text.as_bytes()).map_err(|fault| PeopleStoreError::Disk { path, fault })?;
        Ok(secret)
    }

    /// Adds a person with a new key under that passcode. The key is written before the roster names it.
    ///
    /// # Errors
    /// [`PeopleStoreError`]; the roster is unchanged then.
    pub fn add(&self, name: &str, roles: &[Role], passcode: &Passcode, random: &dyn Randomness) -> Stored<PersonId> {
        let mut roster = self.roster()?;
        let key = self.new_key(random)?;
        let kid = roster.add(name, roles, &key.public()).map_err(|fault| PeopleStoreError::Refused { fault })?;
        self.write_key(&key, passcode, random)?;
        self.write_roster(&roster)?;
        Ok(kid)
    }

    /// Gives a person a new key; the old one is retired and stays in the roster.
    ///
    /// # Errors
    /// [`PeopleStoreError`]; the roster is unchanged then.
    pub fn replace(&self, old: &PersonId, passcode: &Passcode, random: &dyn Randomness) -> Stored<PersonId> {
        let mut roster = self.roster()?;
        let key = self.new_key(random)?;
        let kid = roster.replace(old, &key.public()).map_err(|fault| PeopleStoreError::Refused { fault })?;
        self.write_key(&key, passcode, random)?;
        self.write_roster(&roster)?;
        Ok(kid)
    }

    /// Retires a key.
    ///
    /// # Errors
    /// [`PeopleStoreError`]; the roster is unchanged then.
    pub fn retire(&self, kid: &PersonId) -> Stored<()> {
        let mut roster = self.roster()?;
        roster.retire(kid).map_err(|fault| PeopleStoreError::Refused { fault })?;
        self.write_roster(&roster)
    }

    fn new_key(&self, random: &dyn Randomness) -> Stored<PersonKey> {
        PersonKey::generate(random).map_err(|fault| PeopleStoreError::Key { path: self.folder.join("keys"), fault })
    }

    fn write_key(&self, key: &PersonKey, passcode: &Passcode, random: &dyn Randomness) -> Stored<()> {
        let path = self.key_path(&key.person())?;
        let device = self.device_or_new(random)?;
        let sealed = key.seal(passcode, &device, random);
        let sealed = sealed.map_err(|fault| PeopleStoreError::Key { path: path.clone(), fault })?;
        self.disk.replace(&path, &sealed).map_err(|fault| PeopleStoreError::Disk { path, fault })
    }

    /// Opens a person's key.
    ///
    /// # Errors
    /// [`PeopleStoreError`]; [`PeopleStoreError::is_wrong_passcode`] tells a wrong passcode.
    pub fn open(&self, kid: &PersonId, passcode: &Passcode) -> Stored<PersonKey> {
        let path = self.key_path(kid)?;
        let file = match self.disk.read(&path, SMALL_FILE_MAX) {
            Ok(file) => file,
            Err(fault) if fault.kind() == io::ErrorKind::NotFound => {
                return Err(PeopleStoreError::NoKeyHere { kid: kid.clone() });
            }
            Err(fault) => return Err(PeopleStoreError::Disk { path, fault }),
        };
        let wrong = |fault| PeopleStoreError::Key { path: path.clone(), fault };
        let device = self.device()?.ok_or_else(|| PeopleStoreError::NoKeyHere { kid: kid.clone() })?;
        let key = PersonKey::open(&file, passcode, &device).map_err(wrong)?;
        let found = key.person();
        if found == *kid { Ok(key) } else { Err(wrong(KeyError::OtherKey { found, expected: kid.clone() })) }
    }

    /// Seals a person's key under another passcode.
    ///
    /// # Errors
    /// [`PeopleStoreError`]; the old passcode still holds then.
    pub fn change_passcode(
        &self,
        kid: &PersonId,
        old: &Passcode,
        new: &Passcode,
        random: &dyn Randomness,
    ) -> Stored<()> {
        let key = self.open(kid, old)?;
        self.write_key(&key, new, random)
    }
}
