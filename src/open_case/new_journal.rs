//! Continuing a damaged case.
//!
//! Invariant: the damaged journal is never changed. The new one stands alone, so that no later fault of the damaged
//! file can reach the case again.

use super::create::{PROGRAM, nonce};
use super::saving::{Notify, Saving};
use super::writer::{Repair, Target};
use super::{OpenCase, OpenError, look, names};
use crate::case::{Case, Continues, Did, Event, FORMAT};
use crate::journal::{self, ChainPoint, JournalReading, Sum};
use std::path::PathBuf;

impl OpenCase {
    /// Continues a case that is open to read only in a new journal: it repeats the good events, with their times, and
    /// its first line names the damaged journal's last good `{seq, sum}`. Durable as a whole when this returns; who
    /// continues is asked and logged by the command that follows, as after every return to a case.
    ///
    /// # Errors
    /// [`OpenError`]; the case stays open to read only then.
    pub fn continue_in_new_journal(&mut self, notify: Notify) -> Result<PathBuf, OpenError> {
        let (_, numbers) = look::journals(self.world(), self.folder())?;
        let file = names::journal(numbers.last().map_or(1, |newest| newest + 1));
        let bytes = self.repeated()?;
        let reading = journal::read(&bytes).map_err(|source| OpenError::Journal { file: file.clone(), source })?;
        let JournalReading { journal, good_bytes, .. } = reading;
        let case = Case::replay(self.case().pathway().clone(), self.case().plan().clone(), journal.events())
            .map_err(|source| OpenError::NotHistory { file: file.clone(), source })?;
        let path = self.folder().join(&file);
        let disk = &self.world().disk;
        let open = disk.replace(&path, &bytes).and_then(|()| disk.open_append(&path, false));
        let open = open.map_err(|source| OpenError::Disk { path: path.clone(), source })?;
        let target = Target { path: path.clone(), file: Some(open), good_bytes, repair: Repair::default() };
        let saving = Saving::new(journal.last().seq, 0, notify);
        self.move_to(file, case, journal);
        self.write_to(target, saving)?;
        Ok(path)
    }

    /// The good events behind an opening that names where they come from.
    fn repeated(&self) -> Result<Vec<u8>, OpenError> {
        let good = self.journal();
        let ChainPoint { seq, sum } = good.last();
        let mut opening = good.opening().clone();
        opening.brimline_journal = FORMAT;
        PROGRAM.clone_into(&mut opening.program);
        opening.nonce = nonce(self.world())?;
        opening.continues = Some(Continues { seq, sum: sum.to_string() });
        let first = Event { did: Did::CaseOpened(Box::new(opening)), ..good.events()[0].clone() };
        let (mut bytes, mut prev) = journal::encode(&first, &Sum::NONE).map_err(OpenError::Opening)?;
        for event in &good.events()[1..] {
            let (line, sum) = journal::encode(event, &prev).map_err(OpenError::Opening)?;
            bytes.extend_from_slice(&line);
            prev = sum;
        }
        Ok(bytes)
    }
}
