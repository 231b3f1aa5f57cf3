//! Members of `[receive]`: the receiver of dose reports and images.
//!
//! By default it listens to this machine alone and accepts nobody: a site names its peers. What may never change: no
//! member holds a secret; the key is a file of its own.

use super::SettingsError;
use core::net::{IpAddr, Ipv4Addr};
use serde::Deserialize;
use std::path::PathBuf;
use std::str::FromStr;

/// The receiver, complete.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReceiveSettings {
    /// The name it is called by, an application entity title.
    pub ae_title: String,
    /// The address it listens on.
    pub address: IpAddr,
    /// Source of the default: port 11112 is registered with IANA for DICOM.
    pub port: u16,
    /// Who may send; nobody by default.
    pub peers: Vec<Peer>,
    /// Certificate chain (PEM). With it and `key` every connection is TLS.
    pub certificate: Option<PathBuf>,
    /// Private key (PEM, PKCS#8).
    pub key: Option<PathBuf>,
    /// Certificates (PEM) of those who vouch for senders; with it a sender must show one of theirs.
    pub clients: Option<PathBuf>,
    /// Days that what was received is kept.
    pub keep_days: u32,
    /// The largest object, MiB.
    pub object_mib: u32,
    /// Objects in one association.
    pub objects: u32,
    /// Seconds without a byte.
    pub idle_s: u32,
    /// Seconds one association may last in all.
    pub deadline_s: u32,
    /// Associations at a time.
    pub associations: u32,
    /// Minutes by which a machine's clock may miss a case for what it sends to join that case.
    pub agree_min: u32,
}

impl Default for ReceiveSettings {
    fn default() -> Self {
        Self {
            ae_title: "BRIMLINE".to_owned(),
            address: IpAddr::V4(Ipv4Addr::LOCALHOST),
            port: 11_112,
            peers: Vec::new(),
            certificate: None,
            key: None,
            clients: None,
            // Common practice, no source: what waits longer than a month is not going to be asked for.
            keep_days: 30,
            // Common practice, no source: a long run of 1024 x 1024 x 16 bit frames is about this large.
            object_mib: 256,
            objects: 2_000,
            idle_s: 30,
            deadline_s: 900,
            associations: 4,
            agree_min: 15,
        }
    }
}

/// Who may send: a calling title, and the address it must come from if one is named.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(try_from = "String")]
pub struct Peer {
    pub ae_title: String,
    pub address: Option<IpAddr>,
}

impl FromStr for Peer {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (title, address) = match text.split_once('@') {
            Some((title, address)) => (title, Some(address)),
            None => (text, None),
        };
        judge_title(title)?;
        let address = address.map(|text| text.parse().map_err(|_| format!("\"{text}\" is no IP address")));
        Ok(Self { ae_title: title.to_owned(), address: address.transpose()? })
    }
}

impl TryFrom<String> for Peer {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        text.parse()
    }
}

impl std::fmt::Display for Peer {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.ae_title)?;
        self.address.map_or(Ok(()), |address| write!(f, "@{address}"))
    }
}

/// Members that one source sets.
#[derive(Debug, Clone, PartialEq, Eq, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReceiveLayer {
    pub ae_title: Option<String>,
    pub address: Option<IpAddr>,
    pub port: Option<u16>,
    pub peers: Option<Vec<Peer>>,
    pub certificate: Option<PathBuf>,
    pub key: Option<PathBuf>,
    pub clients: Option<PathBuf>,
    pub keep_days: Option<u32>,
    pub object_mib: Option<u32>,
    pub objects: Option<u32>,
    pub idle_s: Option<u32>,
    pub deadline_s: Option<u32>,
    pub associations: Option<u32>,
    pub agree_min: Option<u32>,
}

/// Names of the members with a number, and their ranges. Common practice, no source.
pub(super) const NUMBERS: [(&str, (u64, u64)); 7] = [
    ("receive.keep_days", (1, 3_650)),
    ("receive.object_mib", (1, 2_048)),
    ("receive.objects", (1, 100_000)),
    ("receive.idle_s", (1, 600)),
    ("receive.deadline_s", (5, 86_400)),
    ("receive.associations", (1, 32)),
    ("receive.agree_min", (0, 720)),
];

impl ReceiveLayer {
    /// What this layer sets, and for the rest what the other sets.
    #[must_use]
    pub fn over(self, below: Self) -> Self {
        Self {
            ae_title: self.ae_title.or(below.ae_title),
            address: self.address.or(below.address),
            port: self.port.or(below.port),
            peers: self.peers.or(below.peers),
            certificate: self.certificate.or(below.certificate),
            key: self.key.or(below.key),
            clients: self.clients.or(below.clients),
            keep_days: self.keep_days.or(below.keep_days),
            object_mib: self.object_mib.or(below.object_mib),
            objects: self.objects.or(below.objects),
            idle_s: self.idle_s.or(below.idle_s),
            deadline_s: self.deadline_s.or(below.deadline_s),
            associations: self.associations.or(below.associations),
            agree_min: self.agree_min.or(below.agree_min),
        }
    }

    /// Laid over the defaults.
    #[must_use]
    pub fn complete(self) -> ReceiveSettings {
        let default = ReceiveSettings::default();
        ReceiveSettings {
            ae_title: self.ae_title.unwrap_or(default.ae_title),
            address: self.address.unwrap_or(default.address),
            port: self.port.unwrap_or(default.port),
            peers: self.peers.unwrap_or(default.peers),
            certificate: self.certificate,
            key: self.key,
            clients: self.clients,
            keep_days: self.keep_days.unwrap_or(default.keep_days),
            object_mib: self.object_mib.unwrap_or(default.object_mib),
            objects: self.objects.unwrap_or(default.objects),
            idle_s: self.idle_s.unwrap_or(default.idle_s),
            deadline_s: self.deadline_s.unwrap_or(default.deadline_s),
            associations: self.associations.unwrap_or(default.associations),
            agree_min: self.agree_min.unwrap_or(default.agree_min),
        }
    }

    pub(super) fn numbers(&self) -> [Option<u64>; 7] {
        [self.keep_days, self.object_mib, self.objects, self.idle_s, self.deadline_s, self.associations, self.agree_min]
            .map(|value| value.map(u64::from))
    }

    /// Judges what is no number; `name` turns a member's path into how its source calls it.
    pub(super) fn judge(&self, name: fn(&str) -> String) -> Result<(), SettingsError> {
        let wrong = |member: &str, reason: String| SettingsError::Member { member: name(member), reason };
        if let Some(title) = &self.ae_title {
            judge_title(title).map_err(|reason| wrong("receive.ae_title", reason))?;
        }
        for (member, path) in
            [("receive.certificate", &self.certificate), ("receive.key", &self.key), ("receive.clients", &self.clients)]
        {
            if let Some(path) = path.as_ref().filter(|path| !path.is_absolute()) {
                return Err(wrong(member, format!("\"{}\" is no absolute path", path.display())));
            }
        }
        Ok(())
    }
}

/// An application entity title: 1 to 16 printable characters, no backslash, no space at its ends.
///
/// Source: PS3.5, 6.2, value representation AE. The sign "@" is left out, since it parts title and address here.
fn judge_title(title: &str) -> Result<(), String> {
    let printable = title.bytes().all(|byte| (b' '..=b'~').contains(&byte) && byte != b'\\' && byte != b'@');
    if printable && (1..=16).contains(&title.len()) && title.trim() == title {
        return Ok(());
    }
    Err(format!("\"{title}\" is no application entity title of 1 to 16 characters"))
}
