//! Reading a payload with its claims put back in its text: what nearly every record goes through.
//!
//! The text is judged canonical in one pass, the digests in it replaced by the members that disclosures hold, and the
//! result read straight into its type, with no tree of values between. Whatever is at all unusual is not judged here
//! but by [`super::signed::read_payload`], member by member, with a fault that names the place. What may never change:
//! nothing is accepted here that is refused there.

use super::claim::is_claim;
use super::disclosure::{Disclosure, RawDigest, SD, is_salt, raw_digest, sha256};
use super::scan::{Members, Unnoticed, scan};
use super::signed::Document;

/// A disclosure found good, and the member it holds as text.
struct Held {
    digest: RawDigest,
    json: String,
    /// Where its name and its value stand in it.
    name: (usize, usize),
    value: usize,
    used: bool,
}

/// Reads a payload with these disclosures; `None` if it must be looked at more closely.
pub(super) fn read<D: Document>(payload: &[u8], disclosures: &[Disclosure]) -> Option<D> {
    let payload = str::from_utf8(payload).ok()?;
    let mut held = disclosures.iter().map(|disclosure| hold(disclosure)).collect::<Option<Vec<_>>>()?;
    held.sort_unstable_by_key(|held| held.digest);
    let text = String::with_capacity(payload.len());
    let mut back = PutBack {
        payload,
        version: D::VERSION,
        newest: D::NEWEST,
        held,
        text,
        copied: 0,
        seen: Vec::new(),
        dated: false,
    };
    scan(payload, &mut back)?;
    back.seen.sort_unstable();
    let each_once = back.seen.windows(2).all(|pair| pair[0] != pair[1]);
    if !(each_once && back.dated && back.held.iter().all(|held| held.used)) {
        return None;
    }
    back.text.push_str(&payload[back.copied..]);
    serde_json::from_str(&back.text).ok()
}

/// `[salt, name, value]`, canonical, of a claim.
fn hold(disclosure: &str) -> Option<Held> {
    let json = String::from_utf8(super::canonical::decode(disclosure)?).ok()?;
    scan(&json, &mut Unnoticed)?;
    let rest = json.strip_prefix("[\"")?;
    let (salt, rest) = rest.split_once("\",\"")?;
    let (name, value) = rest.split_once("\",")?;
    if !is_salt(salt) || !is_claim(name) {
        return None;
    }
    // The list must end with the value: one that holds more would not read as one value.
    let value = value.strip_suffix(']')?;
    scan(value, &mut Unnoticed)?;
    let value = json.len() - 1 - value.len();
    let name = (value - 2 - name.len(), value - 2);
    Some(Held { digest: sha256(disclosure), json, name, value, used: false })
}

impl Held {
    fn name(&self) -> &str {
        &self.json[self.name.0..self.name.1]
    }

    /// `"name":value`
    fn write(&self, out: &mut String) {
        out.push('"');
        out.push_str(self.name());
        out.push_str("\":");
        out.push_str(&self.json[self.value..self.json.len() - 1]);
    }
}

struct PutBack<'a> {
    payload: &'a str,
    version: &'static str,
    newest: u32,
    /// Sorted by digest.
    held: Vec<Held>,
    /// The payload so far, claims put back, and how far it was copied.
    text: String,
    copied: usize,
    seen: Vec<RawDigest>,
    /// The newest version was read.
    dated: bool,
}

impl Members for PutBack<'_> {
    fn member(&mut self, name: &str, depth: u32) -> Option<bool> {
        if is_claim(name) {
            return None;
        }
        Some(name == SD || depth == 0 && name == self.version)
    }

    fn take(&mut self, name: &str, value: &str, from: usize, to: usize) -> Option<()> {
        if name == self.version {
            self.dated = value.parse() == Ok(self.newest);
            return Some(());
        }
        self.text.push_str(&self.payload[self.copied..from]);
        let follows = self.payload.as_bytes()[from] == b',';
        let put = self.put(value, follows)?;
        let comma_behind = self.payload.as_bytes().get(to) == Some(&b',');
        self.copied = if !put && !follows && comma_behind { to + 1 } else { to };
        Some(())
    }
}

impl PutBack<'_> {
    /// Writes the members whose digests stand in the list; whether there were any.
    fn put(&mut self, list: &str, follows: bool) -> Option<bool> {
        let list = list.strip_prefix("[\"")?.strip_suffix("\"]")?;
        let (mut before, mut put) = ("", Vec::new());
        for digest in list.split("\",\"") {
            if digest <= before {
                return None;
            }
            before = digest;
            let raw = raw_digest(digest)?;
            self.seen.push(raw);
            let Ok(found) = self.held.binary_search_by_key(&raw, |held| held.digest) else { continue };
            self.held[found].used = true;
            if put.iter().any(|other: &usize| self.held[*other].name() == self.held[found].name()) {
                return None;
            }
            if follows || !put.is_empty() {
                self.text.push(',');
            }
            self.held[found].write(&mut self.text);
            put.push(found);
        }
        Some(!put.is_empty())
    }
}

#[cfg(test)]
mod tests {
    use super::super::signed::read_closely;
    use super::super::{Record, SignedRecord};
    use super::*;
    use proptest::prelude::*;

    fn whole() -> (Vec<u8>, Vec<Disclosure>) {
        let signed = SignedRecord::read(include_bytes!("../../tests/fuzz/corpus/record/whole")).unwrap();
        (signed.payload().to_vec(), signed.envelope().disclosures().to_vec())
    }

    /// Nothing is accepted that a close look refuses, and both read the same.
    fn agree(payload: &[u8], disclosures: &[Disclosure]) -> bool {
        let read = read::<Record>(payload, disclosures);
        if let Some(read) = &read {
            assert_eq!(read_closely::<Record>(payload, disclosures).as_ref(), Ok(read));
        }
        read.is_some()
    }

    #[test]
    fn whole_redacted_and_half_disclosed_payloads_read_as_they_do_closely() {
        let (payload, disclosures) = whole();
        assert!(disclosures.len() > 4);
        for step in 1..=disclosures.len() {
            let some: Vec<_> = disclosures.iter().step_by(step).cloned().collect();
            assert!(agree(&payload, &some), "every {step}th disclosure");
        }
        assert!(agree(&payload, &[]));
    }

    #[test]
    fn what_is_wrong_with_disclosures_is_left_to_a_close_look() {
        let (payload, disclosures) = whole();
        let with = |more: &str| [&disclosures[..], &[more.to_owned()]].concat();
        for json in [
            r#"["AAAAAAAAAAAAAAAAAAAAAA","site","elsewhere"]"#,
            r#"["AAAAAAAAAAAAAAAAAAAAAA","site","elsewhere",1]"#,
            r#"["AAAA","site","elsewhere"]"#,
            r#"["AAAAAAAAAAAAAAAAAAAAAA","shots",1]"#,
            r#"["AAAAAAAAAAAAAAAAAAAAAA", "site","elsewhere"]"#,
        ] {
            let foreign = super::super::canonical::encode(json);
            assert!(read::<Record>(&payload, &with(&foreign)).is_none(), "{json}");
            assert!(read_closely::<Record>(&payload, &with(&foreign)).is_err(), "{json}");
        }
        assert!(read::<Record>(&payload, &with(&disclosures[0])).is_none());
    }

    proptest! {
        #[test]
        fn a_changed_payload_is_never_read_where_a_close_look_refuses(at in any::<usize>(), to in 0x20..0x7fu8, cut in any::<usize>()) {
            let (mut payload, disclosures) = whole();
            let at = at % payload.len();
            let cut = at + cut % 40;
            if cut < payload.len() && cut % 2 == 0 {
                let _ = agree(&[&payload[..at], &payload[cut..]].concat(), &disclosures);
            }
            payload[at] = to;
            let _ = agree(&payload, &disclosures);
            let _ = agree(&payload, &[]);
        }
    }
}
