//! One association from its request to its release.

use super::early::{Early, Written};
use super::keeper::{Keeper, Kept};
use super::listener::Counted;
use super::message::{self, Assembly, Command, Whole, status};
use super::negotiate::{Agreed, negotiate};
use super::object;
use super::wire::{Body, Heard, Stream, Wire, WireError};
use crate::adapters::dataset::{self, is_uid};
use crate::ports::Told;
use crate::settings::ReceiveSettings;
use dicom_dictionary_std::tags;
use dicom_ul::pdu::{
    AbortRQServiceProviderReason, AbortRQSource, AssociationRJ, AssociationRJResult,
    AssociationRJServiceProviderPresentationReason, AssociationRJSource, AssociationRQ, Pdu,
};
use std::io;
use std::net::{IpAddr, TcpStream};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize};
use std::time::Duration;

/// What every connection works with.
#[derive(Clone)]
pub(super) struct Shared {
    pub settings: ReceiveSettings,
    pub tell: Arc<dyn Fn(Told) + Send + Sync>,
    pub stop: Arc<AtomicBool>,
    pub keeper: Arc<Keeper>,
    pub associations: Arc<AtomicUsize>,
}

pub(super) struct Association<'a> {
    shared: &'a Shared,
    wire: Wire,
    from: IpAddr,
    /// Calling title and address, for reports.
    peer: String,
    sender: String,
}

/// How an association ends.
enum End {
    Released,
    Refused(String),
    /// The sender is told by an abort.
    Abort(AbortRQServiceProviderReason, String),
    Broken(String),
}

impl From<WireError> for End {
    fn from(fault: WireError) -> Self {
        use AbortRQServiceProviderReason as Reason;
        match fault {
            WireError::Malformed(_) | WireError::TooLong(_) => {
                Self::Abort(Reason::InvalidPduParameter, fault.to_string())
            }
            WireError::Idle(_) | WireError::Deadline(_) | WireError::Stopping => {
                Self::Abort(Reason::ReasonNotSpecified, fault.to_string())
            }
            WireError::Closed | WireError::Io(_) => Self::Broken(fault.to_string()),
        }
    }
}

impl<'a> Association<'a> {
    pub fn new(shared: &'a Shared, stream: Box<dyn Stream>, socket: &TcpStream, from: IpAddr) -> io::Result<Self> {
        let idle = Duration::from_secs(u64::from(shared.settings.idle_s));
        let wire = Wire::new(stream, socket, idle, shared.stop.clone())?;
        Ok(Self { shared, wire, from, peer: from.to_string(), sender: String::new() })
    }

    /// Serves the connection to its end, and reports how it ended unless by release.
    pub fn run(mut self) {
        let Err(end) = self.serve();
        let peer = self.peer.clone();
        match end {
            End::Released => {}
            End::Refused(why) => (self.shared.tell)(Told::Refused { peer, why }),
            End::Broken(why) => (self.shared.tell)(Told::Broken { peer, why }),
            End::Abort(reason, why) => {
                // A sender that does not take the abort is gone already.
                let _ = self.wire.write(&Pdu::AbortRQ { source: AbortRQSource::ServiceProvider(reason) });
                (self.shared.tell)(Told::Broken { peer, why });
            }
        }
    }

    fn serve(&mut self) -> Result<std::convert::Infallible, End> {
        let mut body = Body::default();
        self.wire.read(&mut body)?;
        let request = match body.heard()? {
            Heard::Other(Pdu::AssociationRQ(request)) => request,
            Heard::Other(Pdu::AbortRQ { .. }) => return Err(End::Released),
            _ => return Err(unexpected()),
        };
        let agreed = self.agree(&request)?;
        let Some(_place) = Counted::below(&self.shared.associations, self.shared.settings.associations as usize) else {
            let reason = AssociationRJServiceProviderPresentationReason::LocalLimitExceeded;
            let source = AssociationRJSource::ServiceProviderPresentation(reason);
            return Err(self.reject(AssociationRJ { result: AssociationRJResult::Transient, source }));
        };
        self.wire.deadline(Duration::from_secs(u64::from(self.shared.settings.deadline_s)));
        self.wire.write(&Pdu::AssociationAC(agreed.answer.clone()))?;
        self.messages(&agreed, &mut body)
    }

    fn agree(&mut self, request: &AssociationRQ) -> Result<Agreed, End> {
        let title: String = request.calling_ae_title.trim().chars().filter(|c| (' '..='~').contains(c)).collect();
        self.peer = format!("{title}@{}", self.from);
        self.sender = title;
        negotiate(request, &self.shared.settings, self.from).map_err(|rejection| self.reject(rejection))
    }

    fn reject(&mut self, rejection: AssociationRJ) -> End {
        let why = match &rejection.source {
            AssociationRJSource::ServiceUser(reason) => reason.to_string(),
            AssociationRJSource::ServiceProviderASCE(reason) => reason.to_string(),
            AssociationRJSource::ServiceProviderPresentation(reason) => reason.to_string(),
        };
        match self.wire.write(&Pdu::AssociationRJ(rejection)) {
            Ok(()) => End::Refused(why),
            Err(fault) => End::Broken(fault.to_string()),
        }
    }

    fn messages(&mut self, agreed: &Agreed, body: &mut Body) -> Result<std::convert::Infallible, End> {
        let object_max = (self.shared.settings.object_mib as usize) << 20;
        let mut assembly = Assembly::new(object_max);
        let sender = self.sender.clone();
        let begin = |context: u8, command: &Command, file: &mut Vec<u8>| {
            if let (Some(context), Some(instance)) = (agreed.contexts.get(&context), valid_instance(command)) {
                object::begin(context, instance, &sender, file);
            }
        };
        let mut early = Early::new(&self.shared.keeper);
        let mut objects = 0;
        loop {
            self.wire.read(body)?;
            let fragments = match body.heard()? {
                Heard::Fragments(fragments) => fragments,
                Heard::Other(Pdu::ReleaseRQ) => {
                    self.wire.write(&Pdu::ReleaseRP)?;
                    return Err(End::Released);
                }
                Heard::Other(Pdu::AbortRQ { .. }) => return Err(End::Broken("aborted by the sender".to_owned())),
                Heard::Other(_) => return Err(unexpected()),
            };
            for fragment in &fragments {
                if !agreed.contexts.contains_key(&fragment.context) {
                    return Err(unexpected());
                }
                let fed = assembly.feed(fragment, &begin).map_err(|fault| {
                    End::Abort(AbortRQServiceProviderReason::UnexpectedPduParameter, fault.to_string())
                })?;
                let Some(whole) = fed else {
                    early.write(assembly.so_far());
                    continue;
                };
                objects += u32::from(whole.command.field == message::STORE);
                if objects > self.shared.settings.objects {
                    let why = format!("more than {} objects", self.shared.settings.objects);
                    return Err(End::Abort(AbortRQServiceProviderReason::ReasonNotSpecified, why));
                }
                if let Some(buffer) = self.act(agreed, whole, early.take())? {
                    assembly.take_back(buffer);
                }
            }
        }
    }

    /// Answers a message; gives back the buffer of its data set.
    fn act(&mut self, agreed: &Agreed, whole: Whole, written: Written) -> Result<Option<Vec<u8>>, End> {
        let (status, comment) = match whole.command.field {
            message::ECHO => (status::SUCCESS, String::new()),
            message::STORE => self.store(agreed, &whole, written),
            message::CANCEL => return Ok(None),
            // An answer to what was never asked.
            field if field & 0x8000 != 0 => return Err(unexpected()),
            _ => (status::UNRECOGNIZED_OPERATION, "only C-ECHO and C-STORE are served".to_owned()),
        };
        if status != status::SUCCESS {
            let why = format!("{comment} (status {status:04X})");
            (self.shared.tell)(Told::NotKept { peer: self.peer.clone(), why });
        }
        let answer = message::answer(&whole, status, &comment);
        self.wire.write(&answer)?;
        Ok(whole.data)
    }

    /// Judges an object, has it kept, and says with which status to answer.
    fn store(&self, agreed: &Agreed, whole: &Whole, written: Written) -> (u16, String) {
        let context = &agreed.contexts[&whole.context];
        let command = &whole.command;
        if command.class.as_deref() != Some(&context.class) {
            return (status::CLASS_NOT_SUPPORTED, "not the class of the presentation context".to_owned());
        }
        let Some(instance) = valid_instance(command) else {
            return (status::INVALID_UID, "no SOP Instance UID".to_owned());
        };
        if !command.with_data {
            return (status::CANNOT_UNDERSTAND, "no data set".to_owned());
        }
        let Some(file) = &whole.data else {
            let max = self.shared.settings.object_mib;
            return (status::OUT_OF_RESOURCES, format!("larger than {max} MiB"));
        };
        match said_to_be(file) {
            Err(fault) => return (status::CANNOT_UNDERSTAND, fault),
            Ok(said) if said != (Some(context.class.clone()), Some(instance.to_owned())) => {
                return (status::DOES_NOT_MATCH, "class or UID differ from the command's".to_owned());
            }
            Ok(_) => {}
        }
        match self.shared.keeper.keep(instance, file, written) {
            Kept::Durable | Kept::Again => (status::SUCCESS, String::new()),
            Kept::NoSpace => (status::OUT_OF_RESOURCES, "no space left".to_owned()),
            Kept::Failed(why) => (status::PROCESSING_FAILURE, why),
        }
    }
}

/// The SOP Instance UID of a command, if it is one.
fn valid_instance(command: &Command) -> Option<&str> {
    command.instance.as_deref().filter(|uid| is_uid(uid))
}

/// Class and UID that the data set itself states.
fn said_to_be(file: &[u8]) -> Result<(Option<String>, Option<String>), String> {
    let opened = dataset::open(file).map_err(|fault| fault.to_string())?;
    let walked = opened.walk(object::keep).map_err(|fault| fault.to_string())?;
    if let Some(at) = walked.truncated_at {
        return Err(format!("the data set ends early, at byte {at}"));
    }
    let uid = |tag| walked.dataset.uid(tag).map(str::to_owned);
    Ok((uid(tags::SOP_CLASS_UID), uid(tags::SOP_INSTANCE_UID)))
}

fn unexpected() -> End {
    End::Abort(AbortRQServiceProviderReason::UnexpectedPdu, "a PDU out of its order".to_owned())
}
