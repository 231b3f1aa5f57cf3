//! Other people's senders against the receiver: DCMTK and pynetdicom, over loopback, with the receiver killed.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::python;
use std::collections::BTreeSet;
use std::io::{BufRead, BufReader};
use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

const SCRIPTS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/peers/receive");
/// By their whole paths: pynetdicom installs tools of the same names.
const STORESCU: &str = "/usr/bin/storescu";
const ECHOSCU: &str = "/usr/bin/echoscu";
/// Objects of each of the two senders.
const EACH: usize = 250;

/// A receiver in a process of its own; dropped, it is killed.
struct Receiver(Child);

impl Receiver {
    fn start(port: u16, store: &Path, settings: &[(&str, String)]) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_brimline"));
        command.arg("receive").arg("--store").arg(store).arg("--settings").arg(empty_settings(store));
        command.env("BRIMLINE_RECEIVE_PORT", port.to_string()).env("BRIMLINE_RECEIVE_PEERS", "SENDER");
        command.envs(settings.iter().map(|(name, value)| (*name, value)));
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::inherit()).spawn().unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let first = lines.next().unwrap().unwrap();
        assert!(first.contains("listens on"), "{first}");
        // What it says further is read, so that it never waits for a reader.
        std::thread::spawn(move || lines.for_each(drop));
        Self(child)
    }
}

impl Drop for Receiver {
    fn drop(&mut self) {
        self.0.kill().unwrap();
        self.0.wait().unwrap();
    }
}

/// A file of settings that sets nothing, so that those of whoever runs the tests do not matter.
fn empty_settings(store: &Path) -> PathBuf {
    let path = store.join("settings.toml");
    std::fs::write(&path, "brimline_settings = 1\n").unwrap();
    path
}

fn free_port() -> u16 {
    TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port()
}

fn objects(arguments: &[&str]) -> Output {
    Command::new(python()).arg(Path::new(SCRIPTS).join("objects.py")).args(arguments).output().unwrap()
}

fn make(folder: &Path, first: usize, count: usize) -> Vec<PathBuf> {
    let output = objects(&["make", folder.to_str().unwrap(), &first.to_string(), &count.to_string()]);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    (first..first + count).map(|number| folder.join(format!("{number}.dcm"))).collect()
}

fn storescu(port: u16, calling: &str, files: &[PathBuf]) -> Output {
    let mut command = Command::new(STORESCU);
    command.args(["-v", "-aet", calling, "-aec", "BRIMLINE", "127.0.0.1", &port.to_string()]).args(files);
    command.output().expect("dcmtk is installed")
}

/// Sends until all are acknowledged; returns the UIDs whose status was success.
fn send_with_storescu(port: u16, mut waiting: Vec<PathBuf>) -> BTreeSet<String> {
    let (mut acknowledged, begun) = (BTreeSet::new(), Instant::now());
    while !waiting.is_empty() {
        assert!(begun.elapsed() < Duration::from_mins(2), "{} files left", waiting.len());
        let output = storescu(port, "SENDER", &waiting);
        let said = String::from_utf8_lossy(&output.stdout) + String::from_utf8_lossy(&output.stderr);
        let success = said.matches("Received Store Response (Success)").count();
        for path in waiting.drain(..success) {
            acknowledged.insert(format!("2.25.4711.{}", path.file_stem().unwrap().to_str().unwrap()));
        }
        std::thread::sleep(Duration::from_millis(20));
    }
    acknowledged
}

fn send_with_pynetdicom(port: u16, files: &[PathBuf]) -> BTreeSet<String> {
    let script = Path::new(SCRIPTS).join("send.py");
    let output = Command::new(python()).arg(script).arg(port.to_string()).args(files).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8_lossy(&output.stdout).lines().map(str::to_owned).collect()
}

/// Kills the receiver after odd times and starts it again, until told to stop; returns how often.
fn kill_at_random(port: u16, store: &Path, done: &AtomicBool) -> usize {
    let mut chance: u64 = 20_260_310;
    let mut kills = 0;
    while !done.load(Ordering::Relaxed) {
        let receiver = Receiver::start(port, store, &[]);
        chance = chance.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        let life = Duration::from_millis(60 + (chance >> 33) % 500);
        let begun = Instant::now();
        while begun.elapsed() < life && !done.load(Ordering::Relaxed) {
            std::thread::sleep(Duration::from_millis(5));
        }
        kills += 1;
        drop(receiver);
    }
    kills
}

/// [R-RECEIVE-2]
/// Source: storescu of DCMTK and pynetdicom as senders, pydicom as judge of what arrived.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn of_five_hundred_objects_with_kills_nothing_acknowledged_is_missing() {
    let there = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let (sent, store) = (there.path().join("sent"), there.path().join("store"));
    std::fs::create_dir_all(&sent).unwrap();
    std::fs::create_dir_all(&store).unwrap();
    let (first, second) = (make(&sent, 1, EACH), make(&sent, 1 + EACH, EACH));
    let (port, done) = (free_port(), AtomicBool::new(false));
    let (kills, acknowledged) = std::thread::scope(|scope| {
        let killer = scope.spawn(|| kill_at_random(port, &store, &done));
        let other = scope.spawn(|| send_with_pynetdicom(port, &second));
        let mut acknowledged = send_with_storescu(port, first);
        acknowledged.extend(other.join().unwrap());
        done.store(true, Ordering::Relaxed);
        (killer.join().unwrap(), acknowledged)
    });
    assert_eq!(acknowledged.len(), 2 * EACH);
    assert!(kills >= 5, "{kills} kills");
    let received = store.join("received");
    let there: BTreeSet<String> = std::fs::read_dir(&received)
        .unwrap()
        .filter_map(|entry| {
            let name = entry.unwrap().file_name().into_string().unwrap();
            Some(name.split_once('-')?.1.strip_suffix(".dcm")?.to_owned())
        })
        .collect();
    let missing: Vec<&String> = acknowledged.difference(&there).collect();
    assert!(missing.is_empty(), "acknowledged and missing: {missing:?}");
    let compared = objects(&["compare", received.to_str().unwrap(), sent.to_str().unwrap()]);
    assert!(compared.status.success(), "{}", String::from_utf8_lossy(&compared.stdout));
}

/// [R-RECEIVE-1]
/// Source: storescu and echoscu of DCMTK.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn an_unknown_sender_is_told_so_and_a_known_one_gets_its_echo() {
    let there = tempfile::tempdir().unwrap();
    let port = free_port();
    let _receiver = Receiver::start(port, there.path(), &[]);
    let files = make(there.path(), 1, 1);
    let refused = storescu(port, "STRANGER", &files);
    let said = String::from_utf8_lossy(&refused.stderr) + String::from_utf8_lossy(&refused.stdout);
    assert!(!refused.status.success() && said.contains("Calling AE Title Not Recognized"), "{said}");
    let echo = Command::new(ECHOSCU)
        .args(["-aet", "SENDER", "-aec", "BRIMLINE", "127.0.0.1", &port.to_string()])
        .output()
        .unwrap();
    assert!(echo.status.success(), "{}", String::from_utf8_lossy(&echo.stderr));
    assert!(std::fs::read_dir(there.path().join("received")).unwrap().next().is_none());
}

/// [R-RECEIVE-6]
/// Source: echoscu of DCMTK over TLS, certificates by OpenSSL.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn with_certificates_every_connection_is_tls_and_senders_prove_themselves() {
    let there = tempfile::tempdir().unwrap();
    let at = |name: &str| there.path().join(name).to_str().unwrap().to_owned();
    let made = Command::new("sh").arg(Path::new(SCRIPTS).join("certificates.sh")).arg(there.path()).status().unwrap();
    assert!(made.success());
    let port = free_port();
    let settings = [
        ("BRIMLINE_RECEIVE_CERTIFICATE", at("receiver.pem")),
        ("BRIMLINE_RECEIVE_KEY", at("receiver.key")),
        ("BRIMLINE_RECEIVE_CLIENTS", at("ca.pem")),
    ];
    let _receiver = Receiver::start(port, there.path(), &settings);
    let echo = |tls: &[&str]| {
        let mut command = Command::new(ECHOSCU);
        command.args(tls).args(["-to", "5", "-aet", "SENDER", "-aec", "BRIMLINE", "localhost", &port.to_string()]);
        command.output().unwrap()
    };
    let (key, certificate, authority) = (at("sender.key"), at("sender.pem"), at("ca.pem"));
    let proven = echo(&["+tls", &key, &certificate, "+cf", &authority]);
    assert!(proven.status.success(), "{}", String::from_utf8_lossy(&proven.stderr));
    assert!(!echo(&["+tla", "+cf", &authority]).status.success(), "a sender without a certificate");
    assert!(!echo(&[]).status.success(), "a sender without TLS");
}
