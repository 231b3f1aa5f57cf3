//! Judging in one pass, without building anything, whether text is canonical JSON (RFC 8785).
//!
//! It answers "yes" or "perhaps not": what is rare in a record (member names outside ASCII or with escapes, very deep
//! nesting) is left to the library that writes the canonical form. What may never change: a "yes" is always right.

use super::canonical::canonical;

/// Deeper than any record.
const DEPTH_MAX: u32 = 32;
/// Integers of so many digits are below 2^53 whatever they are.
const PLAIN_DIGITS_MAX: usize = 15;

/// What a scan tells of the members of the outermost value, at any depth of it.
pub(super) trait Members {
    /// A member begins: its name, where it begins with the comma before it, and how deep it lies, from 0.
    /// With `None` the scan ends; `Some(true)` hands the member's value to [`Members::take`].
    fn member(&mut self, name: &str, depth: u32) -> Option<bool>;

    /// The text of a value that was asked for, from `from` (the comma before the member, if any) to `to`.
    fn take(&mut self, name: &str, value: &str, from: usize, to: usize) -> Option<()>;
}

/// Takes notice of nothing.
pub(super) struct Unnoticed;

impl Members for Unnoticed {
    fn member(&mut self, _name: &str, _depth: u32) -> Option<bool> {
        Some(false)
    }

    fn take(&mut self, _name: &str, _value: &str, _from: usize, _to: usize) -> Option<()> {
        Some(())
    }
}

/// Whether the bytes are plainly canonical JSON.
pub(super) fn plainly_canonical(bytes: &[u8]) -> bool {
    str::from_utf8(bytes).is_ok_and(|text| scan(text, &mut Unnoticed).is_some())
}

/// Scans one whole value; `None` if it is not plainly canonical, or the members end the scan.
pub(super) fn scan(text: &str, members: &mut impl Members) -> Option<()> {
    let mut scan = Scan { text, at: 0 };
    scan.value(0, members)?;
    (scan.at == text.len()).then_some(())
}

struct Scan<'a> {
    text: &'a str,
    at: usize,
}

impl<'a> Scan<'a> {
    fn peek(&self) -> Option<u8> {
        self.text.as_bytes().get(self.at).copied()
    }

    fn take(&mut self, byte: u8) -> Option<()> {
        (self.peek()? == byte).then(|| self.at += 1)
    }

    fn word(&mut self, word: &str) -> Option<()> {
        self.text.as_bytes()[self.at..].starts_with(word.as_bytes()).then(|| self.at += word.len())
    }

    fn value(&mut self, depth: u32, members: &mut impl Members) -> Option<()> {
        match self.peek()? {
            b'"' => self.string().map(drop),
            b'{' => self.object(depth, members),
            b'[' => self.list(depth, members),
            b'n' => self.word("null"),
            b't' => self.word("true"),
            b'f' => self.word("false"),
            _ => self.number(),
        }
    }

    /// The text between the quotes, and whether it holds an escape.
    fn string(&mut self) -> Option<(&'a str, bool)> {
        self.take(b'"')?;
        let (from, mut escaped) = (self.at, false);
        loop {
            let rest = &self.text.as_bytes()[self.at..];
            let plain = rest.iter().position(|byte| matches!(byte, b'"' | b'\\' | 0..b' '))?;
            self.at += plain;
            match rest[plain] {
                b'"' => break,
                b'\\' => {
                    escaped = true;
                    self.escape()?;
                }
                _ => return None,
            }
        }
        let inner = &self.text[from..self.at];
        self.at += 1;
        Some((inner, escaped))
    }

    /// Only what must be escaped is, in its one form. Source: RFC 8785 section 3.2.2.2.
    fn escape(&mut self) -> Option<()> {
        let rest = &self.text.as_bytes()[self.at + 1..];
        match rest.first()? {
            b'"' | b'\\' | b'b' | b'f' | b'n' | b'r' | b't' => self.at += 2,
            b'u' => match rest.get(1..5)? {
                [b'0', b'0', b'0', b'0'..=b'7' | b'b' | b'e' | b'f']
                | [b'0', b'0', b'1', b'0'..=b'9' | b'a'..=b'f'] => {
                    self.at += 6;
                }
                _ => return None,
            },
            _ => return None,
        }
        Some(())
    }

    fn number(&mut self) -> Option<()> {
        let rest = &self.text[self.at..];
        let length = rest.bytes().position(|byte| !matches!(byte, b'0'..=b'9' | b'-' | b'+' | b'.' | b'e' | b'E'));
        let token = &rest[..length.unwrap_or(rest.len())];
        self.at += token.len();
        let digits = token.strip_prefix('-').unwrap_or(token);
        let whole = digits.bytes().all(|byte| byte.is_ascii_digit());
        if whole && digits.len() <= PLAIN_DIGITS_MAX && matches!(digits.as_bytes(), [b'1'..=b'9', ..]) || token == "0" {
            return Some(());
        }
        let number = token.parse::<f64>().ok().filter(|number| number.is_finite())?;
        (canonical(&number) == token.as_bytes()).then_some(())
    }

    fn list(&mut self, depth: u32, members: &mut impl Members) -> Option<()> {
        if depth == DEPTH_MAX {
            return None;
        }
        self.take(b'[')?;
        if self.take(b']').is_some() {
            return Some(());
        }
        loop {
            self.value(depth + 1, members)?;
            if self.take(b',').is_none() {
                return self.take(b']');
            }
        }
    }

    /// Names in ASCII order, which is their order by UTF-16 code units, each once.
    fn object(&mut self, depth: u32, members: &mut impl Members) -> Option<()> {
        if depth == DEPTH_MAX {
            return None;
        }
        self.take(b'{')?;
        if self.take(b'}').is_some() {
            return Some(());
        }
        let (mut before, mut from) = (None, self.at);
        loop {
            let (name, escaped) = self.string()?;
            if escaped || !name.is_ascii() || before.is_some_and(|before| before >= name) {
                return None;
            }
            self.take(b':')?;
            let wanted = members.member(name, depth)?;
            let value_from = self.at;
            self.value(depth + 1, members)?;
            if wanted {
                members.take(name, &self.text[value_from..self.at], from, self.at)?;
            }
            from = self.at;
            if self.take(b',').is_none() {
                return self.take(b'}');
            }
            before = Some(name);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::strict_json;
    use proptest::prelude::*;
    use serde_json::Value;

    fn values() -> impl Strategy<Value = Value> {
        let names = prop_oneof!["[a-c_]{0,3}", "[\u{e9}\u{20ac}\u{fb33}\u{1f600}a\"\\\\\n]{0,2}"];
        let numbers = prop_oneof![
            any::<u64>().prop_map(Value::from),
            any::<i64>().prop_map(Value::from),
            (0..1u64 << 54).prop_map(Value::from),
            any::<f64>().prop_filter("finite", |number| number.is_finite()).prop_map(Value::from),
            (-50..50i32).prop_map(|number| Value::from(f64::from(number) / 4.0)),
        ];
        let words = any::<String>().prop_map(Value::from);
        let leaf = prop_oneof![Just(Value::Null), any::<bool>().prop_map(Value::from), numbers, words];
        leaf.prop_recursive(4, 40, 5, move |inner| {
            let members = prop::collection::vec((names.clone(), inner.clone()), 0..5);
            prop_oneof![
                prop::collection::vec(inner, 0..5).prop_map(Value::from),
                members.prop_map(|members| Value::Object(members.into_iter().collect())),
            ]
        })
    }

    /// The library's word on it.
    fn is_canonical(bytes: &[u8]) -> bool {
        strict_json::value(bytes, 1 << 20).is_ok_and(|value| canonical(&value) == bytes)
    }

    proptest! {
        #[test]
        fn a_yes_is_always_right(value in values(), at in any::<usize>(), to in any::<u8>(), escape in "[\"\\\\/bfnrtu0-9a-fA-F]{1,6}") {
            let good = canonical(&value);
            let plain = serde_json::to_vec(&value).unwrap();
            let at = at % good.len();
            let mut changed = good.clone();
            changed[at] = to;
            let inside = [&good[..at], escape.as_bytes(), &good[at..]].concat();
            let short = good[..at].to_vec();
            let spaced = [&good[..], b" "].concat();
            for bytes in [good, plain, changed, inside, short, spaced] {
                prop_assert!(!plainly_canonical(&bytes) || is_canonical(&bytes), "{:?}", String::from_utf8_lossy(&bytes));
            }
        }
    }

    #[test]
    fn what_a_record_is_made_of_is_plainly_canonical_and_its_other_spellings_are_not() {
        for text in ["{}", "[]", "0", "-7", "900719925474099", "9007199254740992", "1e+21", "-0.25", "\"\u{7f}\u{e9}\""]
        {
            assert!(plainly_canonical(text.as_bytes()), "{text}");
        }
        for text in [r#"{"a":[{},[null,true,false]],"b":"\u0000\n\"\\"}"#, r#"["\u001f","\u000b"]"#] {
            assert!(plainly_canonical(text.as_bytes()), "{text}");
        }
        for text in
            ["-0", "00", "01", "1.0", "1e21", "+1", "-", "", "nul", "9007199254740993", "{\"a\":1,}", "[1,]", "[,1]"]
        {
            assert!(!plainly_canonical(text.as_bytes()), "{text}");
        }
        for text in [
            r#""\u000a""#,
            r#""\u001F""#,
            r#""\/""#,
            r#""\u0041""#,
            r#"{"b":1,"a":2}"#,
            r#"{"a":1,"a":2}"#,
            "1 ",
            "\"\t\"",
        ] {
            assert!(!plainly_canonical(text.as_bytes()), "{text}");
        }
    }
}
