//! The people of the store, their keys and passcodes, as the screens need them.

use super::app::Shared;
use super::around;
use crate::open_case::World;
use crate::people::PeopleStore;
use crate::people::{Passcode, PersonId, PersonKey};
use crate::ports::Randomness;
use std::path::PathBuf;

pub(super) use crate::people::PeopleStoreError as KeysError;

/// Does something with the people of the store.
///
/// # Errors
/// [`KeysError`] names the file.
pub(super) fn people<T>(
    app: &Shared,
    work: impl FnOnce(&PeopleStore<'_>, &dyn Randomness) -> Result<T, KeysError>,
) -> Result<T, KeysError> {
    let (world, store) = {
        let app = app.borrow();
        (app.world.clone(), app.store.clone())
    };
    work(&PeopleStore::new(&*world.disk, &store), &*world.randomness)
}

/// Reads the roster into the application; a store without one gets an empty one.
///
/// # Errors
/// [`KeysError`] names the file; the roster read before stays.
pub(super) fn load(app: &Shared) -> Result<(), KeysError> {
    let roster = people(app, |people, random| match people.roster() {
        Err(KeysError::NoRoster { .. }) => people.init(random).and_then(|()| people.roster()),
        other => other,
    })?;
    app.borrow_mut().roster = roster;
    Ok(())
}

/// A passcode that was not taken: why, and the seconds until the next try is.
pub(super) struct Refused {
    pub why: String,
    pub wait_seconds: u64,
}

/// The people of the store, for a thread of their own.
pub(super) struct Elsewhere {
    world: World,
    store: PathBuf,
}

impl Elsewhere {
    pub(super) fn of(app: &Shared) -> Self {
        let app = app.borrow();
        Self { world: app.world.clone(), store: app.store.clone() }
    }

    /// Does something with the people of the store.
    ///
    /// # Errors
    /// [`KeysError`] names the file.
    pub(super) fn people<T>(
        &self,
        work: impl FnOnce(&PeopleStore<'_>, &dyn Randomness) -> Result<T, KeysError>,
    ) -> Result<T, KeysError> {
        work(&PeopleStore::new(&*self.world.disk, &self.store), &*self.world.randomness)
    }
}

/// A key that is about to be opened with what was typed; deriving it takes long on purpose.
pub(super) struct Opening {
    elsewhere: Elsewhere,
    kid: PersonId,
    passcode: Passcode,
}

impl Opening {
    /// Opens the key; not for the window's thread.
    ///
    /// # Errors
    /// [`KeysError`]; [`judge`] says what it means for the next try.
    pub(super) fn open(&self) -> Result<PersonKey, KeysError> {
        self.elsewhere.people(|people, _| people.open(&self.kid, &self.passcode))
    }
}

/// Takes what was typed, unless the last wrong passcode still slows this person.
///
/// # Errors
/// [`Refused`].
pub(super) fn opening(app: &Shared, kid: &PersonId, digits: &str) -> Result<Opening, Refused> {
    let around = around::of(app);
    let now_ms = app.borrow().world.clock.now().boot_ms;
    let wait_ms = around.delays.borrow().get(kid).map_or(0, |delay| delay.wait_ms(now_ms));
    if wait_ms > 0 {
        let seconds = wait_ms.div_ceil(1_000);
        let why = format!("The last passcode was wrong: the next try is taken in {seconds} s.");
        return Err(Refused { why, wait_seconds: seconds });
    }
    let passcode = Passcode::new(digits)
        .map_err(|fault| Refused { why: super::say::capitalised(&fault.to_string()), wait_seconds: 0 })?;
    Ok(Opening { elsewhere: Elsewhere::of(app), kid: kid.clone(), passcode })
}

/// What opening a key came to. A wrong passcode slows that person's next try and holds nothing else back.
///
/// # Errors
/// [`Refused`].
pub(super) fn judge<T>(app: &Shared, kid: &PersonId, opened: Result<T, KeysError>) -> Result<T, Refused> {
    let around = around::of(app);
    let mut delays = around.delays.borrow_mut();
    match opened {
        Ok(opened) => {
            delays.remove(kid);
            Ok(opened)
        }
        Err(fault) if fault.is_wrong_passcode() => {
            let now_ms = app.borrow().world.clock.now().boot_ms;
            let delay = delays.entry(kid.clone()).or_default();
            delay.wrong(now_ms);
            let wait_seconds = delay.wait_ms(now_ms).div_ceil(1_000);
            let why =
                format!("Wrong passcode, or the key of another tablet. The next try is taken in {wait_seconds} s.");
            Err(Refused { why, wait_seconds })
        }
        Err(fault) => Err(Refused { why: super::say::capitalised(&fault.to_string()), wait_seconds: 0 }),
    }
}
