//! A small sender of DICOM objects, and a receiver to send to, for tests and benches.

#![allow(clippy::unwrap_used, dead_code, reason = "helpers of tests, where a panic is the answer; each uses some")]

use brimline::adapters::clock::SystemClock;
use brimline::adapters::receiver::DicomReceiver;
use brimline::ports::{Disk, ReceiveError, Receiver, Receiving, Reception, Told};
use brimline::settings::ReceiveSettings;
use dicom_ul::pdu::{
    AssociationRQ, PDataValue, PDataValueType, Pdu, PresentationContextProposed, UserVariableItem, read_pdu, write_pdu,
};
use std::io::{Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::sync::{Arc, Mutex};
use std::time::Duration;

pub const REPORT: &str = "1.2.840.10008.5.1.4.1.1.88.67";
pub const CAPTURE: &str = "1.2.840.10008.5.1.4.1.1.7";
pub const ECHO: &str = "1.2.840.10008.1.1";
const EXPLICIT: &str = "1.2.840.10008.1.2.1";

/// Settings of a receiver on any free port that accepts `SENDER`.
pub fn settings() -> ReceiveSettings {
    ReceiveSettings { port: 0, peers: vec!["SENDER".parse().unwrap()], ..ReceiveSettings::default() }
}

/// A receiver, and what it told.
pub struct Station {
    pub running: Box<dyn Receiving>,
    pub told: Arc<Mutex<Vec<Told>>>,
}

/// Starts a receiver on that disk and store.
pub fn start(settings: ReceiveSettings, disk: Arc<dyn Disk>, store: &Path) -> Result<Station, ReceiveError> {
    let told = Arc::new(Mutex::new(Vec::new()));
    let tell = told.clone();
    let running = DicomReceiver.start(Reception {
        settings,
        store: store.to_owned(),
        disk,
        clock: Arc::new(SystemClock),
        tell: Arc::new(move |what| tell.lock().unwrap().push(what)),
    })?;
    Ok(Station { running, told })
}

/// One connection.
pub struct Sender {
    pub stream: TcpStream,
    next: u16,
}

impl Sender {
    pub fn connect(port: u16) -> Self {
        let stream = TcpStream::connect(("127.0.0.1", port)).unwrap();
        stream.set_nodelay(true).unwrap();
        // A test that waits longer has failed.
        stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
        Self { stream, next: 1 }
    }

    pub fn write(&mut self, pdu: &Pdu) {
        let mut bytes = Vec::new();
        write_pdu(&mut bytes, pdu).unwrap();
        self.stream.write_all(&bytes).unwrap();
    }

    /// The next PDU, or `None` once the receiver closed.
    pub fn read(&mut self) -> Option<Pdu> {
        let mut bytes = vec![0; 6];
        self.stream.read_exact(&mut bytes).ok()?;
        let length = u32::from_be_bytes(bytes[2..6].try_into().unwrap()) as usize;
        bytes.resize(6 + length, 0);
        self.stream.read_exact(&mut bytes[6..]).ok()?;
        read_pdu(&bytes[..], 1 << 20, false).unwrap()
    }

    /// Asks for contexts 1 (echo), 3 (dose report) and 5 (capture); returns the answer.
    pub fn ask(&mut self, calling: &str, called: &str) -> Pdu {
        let context = |id, class: &str| PresentationContextProposed {
            id,
            abstract_syntax: class.to_owned(),
            transfer_syntaxes: vec![EXPLICIT.to_owned()],
        };
        self.write(&Pdu::AssociationRQ(AssociationRQ {
            protocol_version: 1,
            calling_ae_title: calling.to_owned(),
            called_ae_title: called.to_owned(),
            application_context_name: "1.2.840.10008.3.1.1.1".to_owned(),
            presentation_contexts: vec![context(1, ECHO), context(3, REPORT), context(5, CAPTURE), context(7, "1.2.3")],
            user_variables: vec![UserVariableItem::MaxLength(16_384)],
        }));
        self.read().unwrap()
    }

    /// An association with a receiver that accepts.
    pub fn associated(port: u16) -> Self {
        let mut sender = Self::connect(port);
        let answer = sender.ask("SENDER", "BRIMLINE");
        assert!(matches!(answer, Pdu::AssociationAC(_)), "{answer:?}");
        sender
    }

    /// Sends a command, and a data set after it; returns the status of the answer.
    pub fn command(
        &mut self,
        context: u8,
        field: u16,
        class: &str,
        instance: &str,
        data: Option<&[u8]>,
    ) -> Option<u16> {
        let encoded = self.encoded(context, field, class, instance, data);
        self.send(&encoded)
    }

    /// The same as bytes, to be sent later with [`Self::send`].
    pub fn encoded(&mut self, context: u8, field: u16, class: &str, instance: &str, data: Option<&[u8]>) -> Vec<u8> {
        let command = command_set(field, self.next, class, instance, data.is_some());
        self.next += 1;
        let mut bytes = Vec::new();
        write_pdu(&mut bytes, &fragment(context, PDataValueType::Command, true, command)).unwrap();
        for (index, part) in data.unwrap_or_default().chunks(100_000).enumerate() {
            let last = (index + 1) * 100_000 >= data.unwrap_or_default().len();
            write_pdu(&mut bytes, &fragment(context, PDataValueType::Data, last, part.to_vec())).unwrap();
        }
        bytes
    }

    /// Sends encoded PDUs and returns the status of the answer; nothing if the receiver closed meanwhile.
    pub fn send(&mut self, encoded: &[u8]) -> Option<u16> {
        self.stream.write_all(encoded).ok()?;
        self.status()
    }

    pub fn status(&mut self) -> Option<u16> {
        match self.read()? {
            Pdu::PData { data } => {
                let mut rest = data[0].data.as_slice();
                // Element by element: a value may look like a tag.
                while let [_, _, low, high, a, b, c, d, values @ ..] = rest {
                    if u16::from_le_bytes([*low, *high]) == 0x0900 {
                        return Some(u16::from_le_bytes([values[0], values[1]]));
                    }
                    rest = &values[u32::from_le_bytes([*a, *b, *c, *d]) as usize..];
                }
                None
            }
            _ => None,
        }
    }

    /// Stores a small capture.
    pub fn store(&mut self, instance: &str) -> Option<u16> {
        self.command(5, 1, CAPTURE, instance, Some(&capture(instance, 2_000)))
    }

    pub fn release(mut self) {
        self.write(&Pdu::ReleaseRQ);
        assert_eq!(self.read(), Some(Pdu::ReleaseRP));
    }
}

pub fn fragment(context: u8, value_type: PDataValueType, is_last: bool, data: Vec<u8>) -> Pdu {
    Pdu::PData { data: vec![PDataValue { presentation_context_id: context, value_type, is_last, data }] }
}

/// A command set.
pub fn command_set(field: u16, id: u16, class: &str, instance: &str, with_data: bool) -> Vec<u8> {
    let mut set = Vec::new();
    let mut put = |element: u16, value: &[u8]| {
        set.extend_from_slice(&[0, 0]);
        set.extend_from_slice(&element.to_le_bytes());
        set.extend_from_slice(&u32::try_from(value.len() + value.len() % 2).unwrap().to_le_bytes());
        set.extend_from_slice(value);
        set.extend(std::iter::repeat_n(0, value.len() % 2));
    };
    put(0x0002, class.as_bytes());
    put(0x0100, &field.to_le_bytes());
    put(0x0110, &id.to_le_bytes());
    put(0x0800, &if with_data { 0_u16 } else { 0x0101 }.to_le_bytes());
    if !instance.is_empty() {
        put(0x1000, instance.as_bytes());
    }
    set
}

/// A data set of a capture of about that many bytes, explicit little endian.
pub fn capture(instance: &str, bytes: usize) -> Vec<u8> {
    let mut set = Vec::new();
    let mut put = |tag: [u8; 4], vr: &[u8; 2], value: &str| {
        set.extend_from_slice(&tag);
        set.extend_from_slice(vr);
        set.extend_from_slice(&u16::try_from(value.len() + value.len() % 2).unwrap().to_le_bytes());
        set.extend_from_slice(value.as_bytes());
        set.extend(std::iter::repeat_n(if vr == b"UI" { 0 } else { b' ' }, value.len() % 2));
    };
    put([8, 0, 0x16, 0], b"UI", CAPTURE);
    put([8, 0, 0x18, 0], b"UI", instance);
    put([8, 0, 0x23, 0], b"DA", "20260310");
    put([8, 0, 0x33, 0], b"TM", "081500");
    put([0x10, 0, 0x20, 0], b"LO", "MRN-0001");
    set.extend_from_slice(&[0xE0, 0x7F, 0x10, 0, b'O', b'B', 0, 0]);
    set.extend_from_slice(&u32::try_from(bytes).unwrap().to_le_bytes());
    set.extend(std::iter::repeat_n(0x5A, bytes));
    set
}
