//! An object that goes to the disk while the rest of it still comes: receiving and writing overlap, and all that is left
//! to do behind the last byte is to make the file durable.
//!
//! Nothing here is acknowledged and nothing has its name yet: the keeper gives it one, once the whole is judged.

use super::keeper::Keeper;
use crate::ports::{Disk, Draft};
use std::path::Path;

/// Bytes that wait until they are worth a write; smaller objects are written as a whole.
///
/// Found by trying on one machine: at 128 KiB the starts of the writes cost what they save, at 512 KiB less is saved.
const STEP: usize = 256 << 10;
const PREFIX: &str = "arriving-";
const SUFFIX: &str = ".new";

/// Name of a file that is arriving. Two programs may receive into one store.
pub(super) fn draft_name(number: u64) -> String {
    format!("{PREFIX}{}-{number}{SUFFIX}", std::process::id())
}

/// Whether a file is one that was arriving.
pub(super) fn is_draft(name: &str) -> bool {
    let inside = name.strip_prefix(PREFIX).and_then(|rest| rest.strip_suffix(SUFFIX));
    let numbers = inside.and_then(|inside| inside.split_once('-'));
    numbers.is_some_and(|(process, number)| process.parse::<u32>().is_ok() && number.parse::<u64>().is_ok())
}

/// What of a file is written already.
#[derive(Default)]
pub(super) struct Written {
    pub draft: Option<Box<dyn Draft>>,
    pub bytes: usize,
}

/// Writes ahead for one association, an object at a time.
pub(super) struct Early<'a> {
    keeper: &'a Keeper,
    written: Written,
    /// The disk does not take this object so: it is written as a whole, and what is wrong is said then.
    given_up: bool,
}

impl<'a> Early<'a> {
    pub fn new(keeper: &'a Keeper) -> Self {
        Self { keeper, written: Written::default(), given_up: false }
    }

    /// Writes what has come of a file, if that is enough to be worth it.
    pub fn write(&mut self, so_far: &[u8]) {
        let Some(more) = so_far.get(self.written.bytes..).filter(|more| more.len() >= STEP) else { return };
        if self.given_up {
            return;
        }
        if self.written.draft.is_none() {
            self.written.draft = self.keeper.disk.draft(&self.keeper.draft()).ok().flatten();
        }
        let appended = self.written.draft.as_mut().is_some_and(|draft| draft.append(more).is_ok());
        if appended {
            self.written.bytes += more.len();
        } else {
            self.written = Written::default();
            self.given_up = true;
        }
    }

    /// Hands over what is written of an object whose last byte has come; the next object begins anew.
    pub fn take(&mut self) -> Written {
        self.given_up = false;
        std::mem::take(&mut self.written)
    }
}

impl Written {
    /// Writes the rest and gives the file its name, durably.
    pub fn keep(self, disk: &dyn Disk, path: &Path, whole: &[u8]) -> std::io::Result<()> {
        match self.draft {
            Some(draft) => draft.put(&whole[self.bytes..], path),
            None => disk.replace(path, whole),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_draft_is_known_by_its_name_and_nothing_else_is() {
        for number in [1, u64::MAX] {
            assert!(is_draft(&draft_name(number)), "{}", draft_name(number));
        }
        for name in ["arriving-1.new", "arriving-1-2", "arriving-x-2.new", "20260310T081500123Z-2.25.1.dcm", "note.new"]
        {
            assert!(!is_draft(name), "{name}");
        }
    }
}
