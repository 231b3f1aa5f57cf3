//! Receiving from senders that are slow, wrong or hostile: they are ended, and others are served meanwhile.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::sender::{CAPTURE, ECHO, Sender, capture, command_set, fragment, settings, start};
use brimline::adapters::files::RealDisk;
use brimline::ports::{ReceiveError, Told};
use brimline::settings::ReceiveSettings;
use dicom_ul::pdu::{AssociationRJResult, PDataValueType, Pdu};
use std::io::{Read, Write};
use std::sync::Arc;
use std::time::{Duration, Instant};

fn station(settings: ReceiveSettings) -> (tempfile::TempDir, super::sender::Station) {
    let there = tempfile::tempdir().unwrap();
    let station = start(settings, Arc::new(RealDisk), there.path()).unwrap();
    (there, station)
}

/// Whether the receiver ended the connection, by an abort or by closing.
fn ended(sender: &mut Sender) -> bool {
    matches!(sender.read(), None | Some(Pdu::AbortRQ { .. }))
}

/// [R-RECEIVE-5]
#[test]
fn a_pdu_that_claims_too_much_is_refused_before_it_is_read() {
    let (_there, station) = station(settings());
    for length in [131_073_u32, 1 << 24, u32::MAX] {
        let mut sender = Sender::connect(station.running.port());
        sender.stream.write_all(&[1, 0]).unwrap();
        sender.stream.write_all(&length.to_be_bytes()).unwrap();
        let begun = Instant::now();
        assert!(ended(&mut sender));
        assert!(begun.elapsed() < Duration::from_secs(5), "at once, not when it is idle");
    }
    Sender::associated(station.running.port()).release();
}

/// [R-RECEIVE-5]
#[test]
fn a_sender_that_says_nothing_or_one_byte_at_a_time_is_ended() {
    let (_there, station) = station(ReceiveSettings { idle_s: 1, deadline_s: 5, ..settings() });
    let mut silent = Sender::connect(station.running.port());
    let mut half_open = Sender::associated(station.running.port());
    let mut trickle = Sender::connect(station.running.port());
    let begun = Instant::now();
    // One byte in a third of a second never leaves it idle; the time until an association stands is bounded all the same.
    trickle.stream.write_all(&[1, 0, 0, 0, 1, 0]).unwrap();
    while begun.elapsed() < Duration::from_secs(4) && trickle.stream.write_all(&[0]).is_ok() {
        std::thread::sleep(Duration::from_millis(300));
    }
    assert!(ended(&mut trickle) && ended(&mut silent) && ended(&mut half_open));
    assert!(begun.elapsed() < Duration::from_secs(10));
    Sender::associated(station.running.port()).release();
}

/// [R-RECEIVE-5]
#[test]
fn an_association_has_a_deadline_as_a_whole() {
    let (_there, station) = station(ReceiveSettings { deadline_s: 5, ..settings() });
    let mut sender = Sender::associated(station.running.port());
    let begun = Instant::now();
    let mut answers = 0;
    while sender.command(1, 0x30, ECHO, "", None) == Some(0) {
        answers += 1;
        std::thread::sleep(Duration::from_millis(200));
        assert!(begun.elapsed() < Duration::from_secs(12), "busy beyond its deadline");
    }
    assert!(answers > 3);
}

/// [R-RECEIVE-5]
#[test]
fn objects_are_bounded_in_size_and_number() {
    let (_there, station) = station(ReceiveSettings { object_mib: 1, objects: 3, ..settings() });
    let mut sender = Sender::associated(station.running.port());
    let large = capture("2.25.1", 2 << 20);
    assert_eq!(sender.command(5, 1, CAPTURE, "2.25.1", Some(&large)), Some(0xA700));
    assert_eq!([sender.store("2.25.2"), sender.store("2.25.3")], [Some(0), Some(0)], "a small one still fits");
    assert_eq!(sender.store("2.25.4"), None, "the fourth ends the association");
    // What ended is told before its thread ends, and stopping waits for that.
    station.running.stop();
    let told = station.told.lock().unwrap();
    assert!(matches!(told.last(), Some(Told::Broken { why, .. }) if why == "more than 3 objects"), "{told:?}");
}

/// [R-RECEIVE-5]
#[test]
fn associations_at_a_time_are_bounded_and_silent_connections_take_no_place() {
    let (_there, station) = station(ReceiveSettings { associations: 1, ..settings() });
    let port = station.running.port();
    let _silent: Vec<Sender> = (0..10).map(|_| Sender::connect(port)).collect();
    let first = Sender::associated(port);
    let mut second = Sender::connect(port);
    match second.ask("SENDER", "BRIMLINE") {
        Pdu::AssociationRJ(rejection) => assert_eq!(rejection.result, AssociationRJResult::Transient),
        other => panic!("{other:?}"),
    }
    first.release();
    // The place is free as soon as the thread has ended.
    let begun = Instant::now();
    while !matches!(Sender::connect(port).ask("SENDER", "BRIMLINE"), Pdu::AssociationAC(_)) {
        assert!(begun.elapsed() < Duration::from_secs(5));
        std::thread::sleep(Duration::from_millis(20));
    }
}

/// [R-RECEIVE-5]
#[test]
fn fragments_out_of_their_order_end_the_association() {
    let (_there, station) = station(settings());
    let store = command_set(1, 1, CAPTURE, "2.25.1", true);
    let command = |last, bytes: &[u8]| fragment(5, PDataValueType::Command, last, bytes.to_vec());
    let sequences: [Vec<Pdu>; 6] = [
        vec![fragment(5, PDataValueType::Data, true, vec![0; 8])],
        vec![command(true, &store), command(true, &store)],
        vec![command(true, &store), fragment(3, PDataValueType::Data, true, vec![0; 8])],
        vec![fragment(99, PDataValueType::Command, true, store.clone())],
        vec![command(true, &store[..20])],
        vec![command(false, &vec![0; 20_000])],
    ];
    for pdus in sequences {
        let mut sender = Sender::associated(station.running.port());
        for pdu in &pdus {
            sender.write(pdu);
        }
        assert!(ended(&mut sender), "{pdus:?}");
    }
    for garbage in [&b"GET / HTTP/1.1\r\nHost: a\r\n\r\n"[..], &[0xFF; 64], &[5, 0, 0, 0, 0, 4, 0, 0, 0, 0]] {
        let mut sender = Sender::connect(station.running.port());
        sender.stream.write_all(garbage).unwrap();
        assert!(ended(&mut sender));
    }
    Sender::associated(station.running.port()).release();
}

/// [R-RECEIVE-5]
#[test]
fn stopping_ends_what_is_open_and_returns_soon() {
    let (_there, station) = station(settings());
    let mut open = Sender::associated(station.running.port());
    let begun = Instant::now();
    station.running.stop();
    assert!(begun.elapsed() < Duration::from_secs(3), "{:?}", begun.elapsed());
    assert!(ended(&mut open));
    assert_eq!(open.stream.read(&mut [0]).unwrap_or(0), 0);
}

/// [R-RECEIVE-1]
#[test]
fn certificates_that_do_not_do_are_named() {
    let there = tempfile::tempdir().unwrap();
    let path = |name: &str| Some(there.path().join(name));
    std::fs::write(there.path().join("empty.pem"), "no certificate").unwrap();
    for (certificate, key, clients, member) in [
        (path("absent.pem"), path("absent.pem"), None, "receive.certificate: "),
        (path("empty.pem"), path("empty.pem"), None, "receive.certificate: "),
        (path("empty.pem"), None, None, "receive.key: missing"),
        (None, None, path("empty.pem"), "receive.certificate: missing"),
    ] {
        let settings = ReceiveSettings { certificate, key, clients, ..settings() };
        let refused = start(settings, Arc::new(RealDisk), there.path()).err().unwrap();
        assert!(refused.to_string().starts_with(member), "{refused}");
    }
    let taken = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let port = taken.local_addr().unwrap().port();
    let refused = start(ReceiveSettings { port, ..settings() }, Arc::new(RealDisk), there.path()).err().unwrap();
    assert!(matches!(refused, ReceiveError::Listen { .. }), "{refused}");
}

/// A touch that returns within a frame of the screen delays nobody; on a machine that builds beside the test a thread
/// may lose a few of them.
const TOUCH_MAX: Duration = Duration::from_millis(100);

/// [R-RECEIVE-10] Senders that trickle, flood and break off, while the team confirms.
#[test]
fn slow_and_hostile_senders_leave_a_confirm_undelayed() {
    use super::small_world::{TestClock, create, note, saved, world};
    use brimline::open_case::SaveState;
    let (there, station) = station(settings());
    let port = station.running.port();
    let world = world(Arc::new(RealDisk), TestClock::new(), 3);
    let mut case = create(&world, &there.path().join("case")).unwrap();
    let done = Arc::new(std::sync::atomic::AtomicBool::new(false));
    let senders: Vec<_> = (0..8_u32)
        .map(|kind| {
            let done = done.clone();
            std::thread::spawn(move || hostile(port, kind, &done))
        })
        .collect();
    let mut times = Vec::new();
    for number in 0..200 {
        let begun = Instant::now();
        note(&mut case, &format!("note {number}"));
        times.push(begun.elapsed());
        std::thread::sleep(Duration::from_millis(5));
    }
    assert_eq!(saved(&case), SaveState::Saved);
    done.store(true, std::sync::atomic::Ordering::Relaxed);
    for sender in senders {
        sender.join().unwrap();
    }
    times.sort_unstable();
    let p95 = times[times.len() * 95 / 100];
    assert!(p95 < TOUCH_MAX, "{p95:?}");
}

fn hostile(port: u16, kind: u32, done: &std::sync::atomic::AtomicBool) {
    while !done.load(std::sync::atomic::Ordering::Relaxed) {
        let Ok(mut stream) = std::net::TcpStream::connect(("127.0.0.1", port)) else { return };
        let bytes: &[u8] = match kind % 4 {
            0 => &[1, 0, 0, 0, 1, 0],
            1 => &[1, 0, 255, 255, 255, 255],
            2 => &[4, 0, 0, 0, 0, 4, 0, 0, 0, 0],
            _ => &[0; 4_096],
        };
        for byte in bytes.chunks(if kind < 4 { 1 } else { 4_096 }) {
            if stream.write_all(byte).is_err() {
                break;
            }
            std::thread::sleep(Duration::from_millis(2));
        }
    }
}
