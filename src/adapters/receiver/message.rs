//! DIMSE messages (PS3.7): fragments become messages, and answers become bytes.

use super::fragment::Fragment;
use crate::adapters::dataset::{Encoding, walk};
use dicom_dictionary_std::tags;
use dicom_ul::pdu::{PDataValue, PDataValueType, Pdu};
use thiserror::Error;

/// Bytes of a command set; real ones have a few hundred.
const COMMAND_MAX: usize = 16 << 10;
/// "No data set follows". Source: PS3.7, E.1.
const NO_DATA_SET: u16 = 0x0101;

pub(super) const STORE: u16 = 0x0001;
pub(super) const ECHO: u16 = 0x0030;
pub(super) const CANCEL: u16 = 0x0FFF;

/// Status codes. Source: PS3.7 Annex C; PS3.4, B.2.3.
pub(super) mod status {
    pub const SUCCESS: u16 = 0x0000;
    pub const PROCESSING_FAILURE: u16 = 0x0110;
    pub const INVALID_UID: u16 = 0x0117;
    pub const CLASS_NOT_SUPPORTED: u16 = 0x0122;
    pub const UNRECOGNIZED_OPERATION: u16 = 0x0211;
    pub const OUT_OF_RESOURCES: u16 = 0xA700;
    pub const DOES_NOT_MATCH: u16 = 0xA900;
    pub const CANNOT_UNDERSTAND: u16 = 0xC000;
}

/// What of a command set is used.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Command {
    pub field: u16,
    pub message_id: u16,
    pub class: Option<String>,
    pub instance: Option<String>,
    pub with_data: bool,
}

/// A whole message.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Whole {
    pub context: u8,
    pub command: Command,
    /// The data set, behind what [`Assembly::feed`] was told to begin it with. `None` if it was larger than accepted;
    /// the rest was read and dropped.
    pub data: Option<Vec<u8>>,
}

/// Larger buffers are not kept for the next object.
const KEPT_MAX: usize = 8 << 20;

/// Why fragments do not make a message. The association ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum MessageError {
    #[error("a command set of more than {COMMAND_MAX} bytes")]
    LongCommand,
    #[error("a command set that cannot be read")]
    BadCommand,
    #[error("a fragment out of its order")]
    OutOfOrder,
}

/// What a fragment made.
pub type Fed = Result<Option<Whole>, MessageError>;

/// Puts fragments together.
#[derive(Debug)]
pub struct Assembly {
    object_max: usize,
    command: Vec<u8>,
    /// A command that waits for its data set, and the context of both.
    waits: Option<(u8, Command)>,
    context: Option<u8>,
    data: Vec<u8>,
    /// Bytes that the data set has behind its begin.
    length: usize,
    too_large: bool,
}

impl Assembly {
    /// `object_max`: bytes of a data set that are kept at most.
    #[must_use]
    pub fn new(object_max: usize) -> Self {
        Self {
            object_max,
            command: Vec::new(),
            waits: None,
            context: None,
            data: Vec::new(),
            length: 0,
            too_large: false,
        }
    }

    /// Takes one fragment; a message once it is whole. `begin` writes what the data set of a command stands behind, the
    /// head of its file, so that the file need not be put together from two.
    ///
    /// # Errors
    /// [`MessageError`]; nothing may be fed after it.
    pub fn feed(&mut self, fragment: &Fragment<'_>, begin: &dyn Fn(u8, &Command, &mut Vec<u8>)) -> Fed {
        let context = fragment.context;
        match (fragment.command, &self.waits) {
            (true, None) => self.feed_command(context, fragment, begin),
            (false, Some((expected, _))) if *expected == context => Ok(self.feed_data(fragment)),
            _ => Err(MessageError::OutOfOrder),
        }
    }

    /// What has come of a data set that is not whole yet, behind what it was begun with; empty if it is too large.
    #[must_use]
    pub fn so_far(&self) -> &[u8] {
        &self.data
    }

    /// A buffer that is of no more use to its object, for the next one.
    pub fn take_back(&mut self, mut buffer: Vec<u8>) {
        if self.data.capacity() == 0 && buffer.capacity() <= KEPT_MAX {
            buffer.clear();
            self.data = buffer;
        }
    }

    fn feed_command(
        &mut self,
        context: u8,
        fragment: &Fragment<'_>,
        begin: &dyn Fn(u8, &Command, &mut Vec<u8>),
    ) -> Fed {
        if *self.context.get_or_insert(context) != context {
            return Err(MessageError::OutOfOrder);
        }
        self.command.extend_from_slice(fragment.data);
        if self.command.len() > COMMAND_MAX {
            return Err(MessageError::LongCommand);
        }
        if !fragment.last {
            return Ok(None);
        }
        let command = read_command(&self.command).ok_or(MessageError::BadCommand)?;
        self.command.clear();
        self.context = None;
        if command.with_data {
            self.data.clear();
            begin(context, &command, &mut self.data);
            self.length = 0;
            self.waits = Some((context, command));
            return Ok(None);
        }
        Ok(Some(Whole { context, command, data: Some(Vec::new()) }))
    }

    fn feed_data(&mut self, fragment: &Fragment<'_>) -> Option<Whole> {
        self.length = self.length.saturating_add(fragment.data.len());
        self.too_large |= self.length > self.object_max;
        if self.too_large {
            self.data = Vec::new();
        } else {
            self.data.extend_from_slice(fragment.data);
        }
        let (context, command) = self.waits.take_if(|_| fragment.last)?;
        let data = std::mem::take(&mut self.data);
        let too_large = std::mem::take(&mut self.too_large);
        Some(Whole { context, command, data: (!too_large).then_some(data) })
    }
}

/// Command sets are implicit little endian, always (PS3.7, 6.3.1).
fn read_command(bytes: &[u8]) -> Option<Command> {
    let walked = walk(bytes, Encoding::ImplicitLittle, |tag| tag.0 == 0x0000, |tag| tag.0 != 0x0000).ok()?;
    let set = walked.dataset;
    if walked.truncated_at.is_some() {
        return None;
    }
    Some(Command {
        field: set.u16(tags::COMMAND_FIELD)?,
        message_id: set.u16(tags::MESSAGE_ID).or_else(|| set.u16(tags::MESSAGE_ID_BEING_RESPONDED_TO))?,
        class: set.uid(tags::AFFECTED_SOP_CLASS_UID).map(str::to_owned),
        instance: set.uid(tags::AFFECTED_SOP_INSTANCE_UID).map(str::to_owned),
        with_data: set.u16(tags::COMMAND_DATA_SET_TYPE)? != NO_DATA_SET,
    })
}

/// The answer to a command as one PDU.
pub(super) fn answer(whole: &Whole, status: u16, comment: &str) -> Pdu {
    let command = &whole.command;
    let mut set = Vec::new();
    let mut put = |element: u16, value: &[u8], padding: u8| {
        let odd = value.len() % 2;
        set.extend_from_slice(&[0, 0]);
        set.extend_from_slice(&element.to_le_bytes());
        set.extend_from_slice(&u32::try_from(value.len() + odd).unwrap_or(0).to_le_bytes());
        set.extend_from_slice(value);
        set.extend(std::iter::repeat_n(padding, odd));
    };
    if let Some(class) = &command.class {
        put(0x0002, class.as_bytes(), 0);
    }
    put(0x0100, &(command.field | 0x8000).to_le_bytes(), 0);
    put(0x0120, &command.message_id.to_le_bytes(), 0);
    put(0x0800, &NO_DATA_SET.to_le_bytes(), 0);
    put(0x0900, &status.to_le_bytes(), 0);
    if !comment.is_empty() {
        // Error Comment holds at most 64 characters.
        put(0x0902, comment.chars().filter(char::is_ascii).take(64).collect::<String>().as_bytes(), b' ');
    }
    if let Some(instance) = &command.instance {
        put(0x1000, instance.as_bytes(), 0);
    }
    let mut data = vec![0, 0, 0, 0, 4, 0, 0, 0];
    data.extend_from_slice(&u32::try_from(set.len()).unwrap_or(0).to_le_bytes());
    data.append(&mut set);
    Pdu::PData {
        data: vec![PDataValue {
            presentation_context_id: whole.context,
            value_type: PDataValueType::Command,
            is_last: true,
            data,
        }],
    }
}
