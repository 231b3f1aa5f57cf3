//! The people of the store, their keys and passcodes, as the screens need them.

use super::app::Shared;
use super::around;
use crate::people::PeopleStore;
use crate::people::{Passcode, PersonId, PersonKey};
use crate::ports::Randomness;

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

/// What became of a passcode.
pub(super) enum Opened {
    Key(PersonKey),
    /// Not taken: why, and the seconds until the next try is.
    Refused {
        why: String,
        wait_seconds: u64,
    },
}

/// Opens a person's key. A wrong passcode slows that person's next try and holds nothing else back.
pub(super) fn open(app: &Shared, kid: &PersonId, digits: &str) -> Opened {
    let around = around::of(app);
    let now_ms = app.borrow().world.clock.now().boot_ms;
    let wait_ms = around.delays.borrow().get(kid).map_or(0, |delay| delay.wait_ms(now_ms));
    if wait_ms > 0 {
        let seconds = wait_ms.div_ceil(1_000);
        let why = format!("The last passcode was wrong: the next try is taken in {seconds} s.");
        return Opened::Refused { why, wait_seconds: seconds };
    }
    let passcode = match Passcode::new(digits) {
        Ok(passcode) => passcode,
        Err(fault) => return Opened::Refused { why: super::say::capitalised(&fault.to_string()), wait_seconds: 0 },
    };
    match people(app, |people, _| people.open(kid, &passcode)) {
        Ok(key) => {
            around.delays.borrow_mut().remove(kid);
            Opened::Key(key)
        }
        Err(fault) if fault.is_wrong_passcode() => {
            let mut delays = around.delays.borrow_mut();
            let delay = delays.entry(kid.clone()).or_default();
            delay.wrong(now_ms);
            let wait_seconds = delay.wait_ms(now_ms).div_ceil(1_000);
            let why =
                format!("Wrong passcode, or the key of another tablet. The next try is taken in {wait_seconds} s.");
            Opened::Refused { why, wait_seconds }
        }
        Err(fault) => Opened::Refused { why: super::say::capitalised(&fault.to_string()), wait_seconds: 0 },
    }
}
