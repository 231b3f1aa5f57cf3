//! Data elements, little endian with explicit types, in the order in which they are put.
//!
//! Source: DICOM PS3.5, 7.1.2 (explicit VR), 6.2 (padding to even length).

/// Elements put one after another.
#[derive(Default)]
pub struct Elements {
    bytes: Vec<u8>,
    /// The last tag, so that order is kept.
    last: u32,
}

impl Elements {
    /// Text, padded to an even length: a UID by a null, anything else by a space.
    pub fn text(&mut self, group: u16, element: u16, kind: [u8; 2], text: &str) {
        let mut value = text.as_bytes().to_vec();
        if value.len() % 2 == 1 {
            value.push(if kind == *b"UI" { 0 } else { b' ' });
        }
        self.put(group, element, kind, &value);
    }

    /// A decimal string.
    pub fn number(&mut self, group: u16, element: u16, number: f64) {
        self.numbers(group, element, &[number]);
    }

    /// Decimal strings, at most 16 characters each.
    pub fn numbers(&mut self, group: u16, element: u16, numbers: &[f64]) {
        let texts: Vec<String> = numbers.iter().map(|number| decimal(*number)).collect();
        self.text(group, element, *b"DS", &texts.join("\\"));
    }

    /// An unsigned number of 16 bits.
    pub fn short(&mut self, group: u16, element: u16, number: u16) {
        self.put(group, element, *b"US", &number.to_le_bytes());
    }

    /// An unsigned number of 32 bits.
    pub fn long(&mut self, group: u16, element: u16, number: u32) {
        self.put(group, element, *b"UL", &number.to_le_bytes());
    }

    /// Bytes, padded by a null.
    pub fn bytes(&mut self, group: u16, element: u16, kind: [u8; 2], bytes: &[u8]) {
        let mut value = bytes.to_vec();
        value.resize(value.len().next_multiple_of(2), 0);
        self.put(group, element, kind, &value);
    }

    fn put(&mut self, group: u16, element: u16, kind: [u8; 2], value: &[u8]) {
        let tag = u32::from(group) << 16 | u32::from(element);
        assert!(tag > self.last || self.bytes.is_empty(), "elements are put in ascending order");
        self.last = tag;
        self.bytes.extend(group.to_le_bytes());
        self.bytes.extend(element.to_le_bytes());
        self.bytes.extend(kind);
        let length = u32::try_from(value.len()).expect("a picture is smaller than 4 GB");
        if kind == *b"OB" {
            self.bytes.extend([0, 0]);
            self.bytes.extend(length.to_le_bytes());
        } else {
            self.bytes.extend(u16::try_from(length).expect("text is shorter than 64 KB").to_le_bytes());
        }
        self.bytes.extend(value);
    }

    pub fn into_bytes(self) -> Vec<u8> {
        self.bytes
    }
}

/// As precise as 16 characters allow. Source: PS3.5, 6.2, DS.
fn decimal(number: f64) -> String {
    let exact = format!("{number}");
    if exact.len() <= 16 { exact } else { format!("{number:.9}") }
}
