//! One simulated file: what a reader sees, what would survive, and what is on its way.

use crate::small_world::Seeded;

/// A disk keeps or loses this much at once, bytes.
const SECTOR_BYTES: usize = 512;

#[derive(Debug, Clone)]
pub enum Change {
    Write { offset: usize, bytes: Vec<u8> },
    Cut { length: usize },
}

#[derive(Debug, Default)]
pub struct SimFile {
    /// What a reader sees.
    pub cache: Vec<u8>,
    /// What surely survives a crash.
    pub durable: Vec<u8>,
    /// Seen, not synced.
    pub pending: Vec<Change>,
}

impl SimFile {
    pub fn whole(bytes: &[u8]) -> Self {
        Self { cache: bytes.to_vec(), durable: bytes.to_vec(), pending: Vec::new() }
    }

    pub fn change(&mut self, change: Change) {
        apply(&mut self.cache, &change);
        self.pending.push(change);
    }

    pub fn sync(&mut self) {
        for change in self.pending.drain(..) {
            apply(&mut self.durable, &change);
        }
    }

    /// A sync that failed: some of it came to the disk, and the rest is never tried again although readers see it.
    pub fn fail_sync(&mut self, chance: &mut Seeded) {
        let pending = std::mem::take(&mut self.pending);
        survivors(&mut self.durable, &pending, chance);
    }

    /// The power went: what is left is what every reader sees from now on.
    pub fn crash(&mut self, chance: &mut Seeded) {
        self.fail_sync(chance);
        self.cache = self.durable.clone();
    }
}

fn apply(bytes: &mut Vec<u8>, change: &Change) {
    match change {
        Change::Cut { length } => bytes.truncate(*length),
        Change::Write { offset, bytes: new } => {
            let end = offset + new.len();
            if bytes.len() < end {
                bytes.resize(end, 0);
            }
            bytes[*offset..end].copy_from_slice(new);
        }
    }
}

/// Nothing, everything, everything up to a tear, or any sectors in any order.
fn survivors(durable: &mut Vec<u8>, pending: &[Change], chance: &mut Seeded) {
    match chance.below(4) {
        0 => {}
        1 => pending.iter().for_each(|change| apply(durable, change)),
        2 => {
            let keep = usize::try_from(chance.below(pending.len() as u64 + 1)).expect("few changes");
            pending[..keep].iter().for_each(|change| apply(durable, change));
            if let Some(Change::Write { offset, bytes }) = pending.get(keep) {
                let torn = usize::try_from(chance.below(bytes.len() as u64 + 1)).expect("a short write");
                apply(durable, &Change::Write { offset: *offset, bytes: bytes[..torn].to_vec() });
            }
        }
        _ => {
            for piece in pending.iter().flat_map(sectors) {
                if chance.one_in(2) {
                    apply(durable, &piece);
                }
            }
        }
    }
}

fn sectors(change: &Change) -> Vec<Change> {
    let Change::Write { offset, bytes } = change else { return vec![change.clone()] };
    let mut pieces = Vec::new();
    let (mut at, end) = (*offset, offset + bytes.len());
    while at < end {
        let next = ((at / SECTOR_BYTES + 1) * SECTOR_BYTES).min(end);
        pieces.push(Change::Write { offset: at, bytes: bytes[at - offset..next - offset].to_vec() });
        at = next;
    }
    pieces
}
