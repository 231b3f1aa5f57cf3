//! Receiving: what is acknowledged is durable, once, and only from those who may send.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::memory_world::MemoryDisk;
use super::sender::{CAPTURE, ECHO, REPORT, Sender, capture, settings, start};
use super::simulated_disk::SimDisk;
use brimline::adapters::files::RealDisk;
use brimline::adapters::receiver::{DicomReceiver, FOLDER};
use brimline::ports::{ArrivalKind, Disk, Receiver, Told};
use brimline::settings::ReceiveSettings;
use dicom_ul::pdu::{AssociationRJSource, Pdu};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

/// Bytes of an object that is written while it comes.
const LARGE: usize = 1_500_000;

fn real() -> (tempfile::TempDir, Arc<dyn Disk>) {
    (tempfile::tempdir().unwrap(), Arc::new(RealDisk))
}

fn received(store: &Path) -> Vec<String> {
    RealDisk.list(&store.join(FOLDER)).unwrap()
}

/// [R-RECEIVE-2]
#[test]
fn what_is_acknowledged_is_a_file_byte_for_byte() {
    let (there, disk) = real();
    let station = start(settings(), disk, there.path()).unwrap();
    let mut sender = Sender::associated(station.running.port());
    assert_eq!(sender.command(1, 0x30, ECHO, "", None), Some(0));
    let data = capture("2.25.1", 500_000);
    assert_eq!(sender.command(5, 1, CAPTURE, "2.25.1", Some(&data)), Some(0));
    let report = std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/vectors/dose/small.dcm")).unwrap();
    // Behind preamble and meta information stands the data set.
    let begin = report.windows(4).position(|window| window == [8, 0, 0x16, 0]).unwrap();
    let uid = "2.25.90210.5.537";
    assert_eq!(sender.command(3, 1, REPORT, uid, Some(&report[begin..])), Some(0));
    sender.release();
    station.running.stop();
    let names = received(there.path());
    assert_eq!(names.len(), 2);
    let file = std::fs::read(there.path().join(FOLDER).join(&names[0])).unwrap();
    assert!(file.ends_with(&data), "the data set as it came");
    let waiting = DicomReceiver.waiting(&RealDisk, there.path()).unwrap();
    assert_eq!(waiting.iter().map(|a| a.kind).collect::<Vec<_>>(), [ArrivalKind::Capture, ArrivalKind::DoseReport]);
    assert_eq!(waiting[1].uid, uid);
    assert_eq!(waiting[1].patient_number.as_deref(), Some("MRN-0001"));
    assert_eq!(waiting[0].made.unwrap().local.to_string(), "2026-03-10 08:15:00");
    let kept = std::fs::read(there.path().join(FOLDER).join(&names[1])).unwrap();
    assert_eq!(brimline::adapters::dose_report::read(&kept).unwrap().events.len(), 2);
}

/// [R-RECEIVE-2]
#[test]
fn an_object_is_written_while_it_comes_and_has_its_name_only_as_a_whole() {
    let (there, disk) = real();
    let station = start(settings(), disk, there.path()).unwrap();
    let until = |what: &str, wanted: &dyn Fn(&[String]) -> bool| {
        let begun = Instant::now();
        while !wanted(&received(there.path())) {
            assert!(begun.elapsed() < Duration::from_secs(20), "{what}: {:?}", received(there.path()));
            std::thread::sleep(Duration::from_millis(5));
        }
    };
    let data = capture("2.25.6", LARGE);
    let mut broken = Sender::associated(station.running.port());
    let bytes = broken.encoded(5, 1, CAPTURE, "2.25.6", Some(&data));
    broken.stream.write_all(&bytes[..LARGE / 2]).unwrap();
    until("begun", &|names| matches!(names, [one] if one.starts_with("arriving-")));
    assert!(DicomReceiver.waiting(&RealDisk, there.path()).unwrap().is_empty(), "nobody sees it yet");
    drop(broken);
    until("given up", &|names| names.is_empty());
    let mut sender = Sender::associated(station.running.port());
    assert_eq!(sender.command(5, 1, CAPTURE, "2.25.6", Some(&data)), Some(0));
    sender.release();
    let waiting = DicomReceiver.waiting(&RealDisk, there.path()).unwrap();
    let file = std::fs::read(there.path().join(FOLDER).join(&waiting[0].file)).unwrap();
    assert!(file.ends_with(&data), "the data set as it came");
    assert_eq!(received(there.path()).len(), 1);
}

/// [R-RECEIVE-2]
#[test]
fn the_same_object_again_is_acknowledged_and_kept_once() {
    let (there, disk) = real();
    let station = start(settings(), disk.clone(), there.path()).unwrap();
    let mut sender = Sender::associated(station.running.port());
    assert_eq!([sender.store("2.25.7"), sender.store("2.25.7")], [Some(0), Some(0)]);
    sender.release();
    station.running.stop();
    // Also for a receiver that starts anew.
    let station = start(settings(), disk, there.path()).unwrap();
    let mut sender = Sender::associated(station.running.port());
    assert_eq!(sender.store("2.25.7"), Some(0));
    sender.release();
    assert_eq!(*station.told.lock().unwrap(), [Told::Again { uid: "2.25.7".to_owned() }]);
    assert_eq!(received(there.path()).len(), 1);
}

/// [R-RECEIVE-3]
#[test]
fn a_full_disk_answers_out_of_resources() {
    let store = PathBuf::from("store");
    struct Full;
    impl Disk for Full {
        fn read(&self, path: &Path, max_bytes: u64) -> std::io::Result<Vec<u8>> {
            MemoryDisk::default().read(path, max_bytes)
        }
        fn replace(&self, _: &Path, _: &[u8]) -> std::io::Result<()> {
            Err(std::io::ErrorKind::StorageFull.into())
        }
        fn draft(&self, _: &Path) -> std::io::Result<Option<Box<dyn brimline::ports::Draft>>> {
            Err(std::io::ErrorKind::StorageFull.into())
        }
        fn create_folder(&self, _: &Path) -> std::io::Result<()> {
            Ok(())
        }
        fn list(&self, _: &Path) -> std::io::Result<Vec<String>> {
            Ok(Vec::new())
        }
        fn open_append(&self, path: &Path, new: bool) -> std::io::Result<Box<dyn brimline::ports::AppendFile>> {
            MemoryDisk::default().open_append(path, new)
        }
        fn lock(&self, path: &Path) -> std::io::Result<Box<dyn Send>> {
            MemoryDisk::default().lock(path)
        }
    }
    let station = start(settings(), Arc::new(Full), &store).unwrap();
    let mut sender = Sender::associated(station.running.port());
    assert_eq!(sender.store("2.25.9"), Some(0xA700));
    let large = capture("2.25.10", LARGE);
    assert_eq!(sender.command(5, 1, CAPTURE, "2.25.10", Some(&large)), Some(0xA700), "nor while it comes");
    assert_eq!(sender.command(1, 0x30, ECHO, "", None), Some(0), "the association goes on");
    sender.release();
    let told = station.told.lock().unwrap();
    assert!(
        matches!(&told[..], [Told::NotKept { why, .. }, Told::NotKept { .. }] if why.contains("no space")),
        "{told:?}"
    );
}

/// [R-RECEIVE-2] Whatever the disk does, what was acknowledged is there when the power comes back.
#[test]
fn nothing_acknowledged_is_lost_when_the_power_goes() {
    for seed in 0..48 {
        let disk = SimDisk::new(seed);
        let station = start(settings(), Arc::new(disk.clone()), Path::new("/store")).unwrap();
        let mut sender = Sender::associated(station.running.port());
        disk.power_goes_after(seed % 24 + 1);
        let mut acknowledged = Vec::new();
        for number in 0..10 {
            let uid = format!("2.25.{number}");
            let data = capture(&uid, if (seed + number) % 2 == 0 { 2_000 } else { LARGE });
            match sender.command(5, 1, CAPTURE, &uid, Some(&data)) {
                Some(0) => acknowledged.push((uid, data)),
                _ => break,
            }
        }
        station.running.stop();
        let disk = disk.next_process(true);
        let there = DicomReceiver.waiting(&disk, Path::new("/store")).unwrap();
        for (uid, data) in &acknowledged {
            let arrival = there.iter().find(|arrival| arrival.uid == *uid);
            let arrival = arrival.unwrap_or_else(|| panic!("seed {seed}: {uid} was acknowledged and is missing"));
            let file = disk.bytes(&Path::new("/store").join(FOLDER).join(&arrival.file));
            assert!(file.ends_with(data), "seed {seed}: {uid} was acknowledged and is not whole");
        }
    }
}

/// [R-RECEIVE-1]
#[test]
fn an_unknown_sender_is_refused_with_the_reason() {
    let (there, disk) = real();
    let elsewhere = vec!["SENDER@10.9.8.7".parse().unwrap()];
    for (peers, calling, called, reason) in [
        (settings().peers, "STRANGER", "BRIMLINE", "calling AE title not recognized"),
        (settings().peers, "SENDER", "SOMEBODY", "called AE title not recognized"),
        (Vec::new(), "SENDER", "BRIMLINE", "calling AE title not recognized"),
        (elsewhere, "SENDER", "BRIMLINE", "calling AE title not recognized"),
    ] {
        let station = start(ReceiveSettings { peers, ..settings() }, disk.clone(), there.path()).unwrap();
        let mut sender = Sender::connect(station.running.port());
        match sender.ask(calling, called) {
            Pdu::AssociationRJ(rejection) => match rejection.source {
                AssociationRJSource::ServiceUser(why) => assert_eq!(why.to_string(), reason),
                other => panic!("{other:?}"),
            },
            other => panic!("{other:?}"),
        }
    }
    assert_eq!(received(there.path()), [""; 0]);
}

/// [R-RECEIVE-1] Only what is asked for: reports, runs, captures, and the echo.
#[test]
fn other_classes_are_refused_and_so_is_an_object_that_is_not_what_it_says() {
    let (there, disk) = real();
    let station = start(settings(), disk, there.path()).unwrap();
    let mut sender = Sender::connect(station.running.port());
    let Pdu::AssociationAC(accepted) = sender.ask("SENDER", "BRIMLINE") else { panic!("refused") };
    let reasons: Vec<String> =
        accepted.presentation_contexts.iter().map(|context| context.reason.to_string()).collect();
    assert_eq!(reasons, ["acceptance", "acceptance", "acceptance", "abstract syntax not supported"]);
    let data = capture("2.25.3", 100);
    assert_eq!(sender.command(3, 1, CAPTURE, "2.25.3", Some(&data)), Some(0x0122), "not the class of the context");
    assert_eq!(sender.command(5, 1, CAPTURE, "2.25.4", Some(&data)), Some(0xA900), "another UID inside");
    assert_eq!(sender.command(5, 1, CAPTURE, "../../etc", Some(&data)), Some(0x0117), "no UID");
    assert_eq!(sender.command(5, 1, CAPTURE, "2.25.3", Some(&data[..40])), Some(0xC000), "cut");
    assert_eq!(sender.command(5, 0x20, CAPTURE, "2.25.3", Some(&data)), Some(0x0211), "a query");
    sender.release();
    assert_eq!(received(there.path()), [""; 0]);
}

/// [R-RECEIVE-4]
#[test]
fn what_is_older_than_the_retention_is_removed_at_the_start() {
    let (there, disk) = real();
    let folder = there.path().join(FOLDER);
    std::fs::create_dir_all(&folder).unwrap();
    let now = chrono::Utc::now();
    let name = |days: i64, uid: &str| {
        format!("{}-{uid}.dcm", (now - chrono::TimeDelta::days(days)).format("%Y%m%dT%H%M%S%3fZ"))
    };
    let (old, young) = (name(8, "2.25.1"), name(6, "2.25.2"));
    for file in [old.as_str(), &young, &format!("{young}.new"), "arriving-4711-3.new", "notes.txt"] {
        std::fs::write(folder.join(file), "x").unwrap();
    }
    let station = start(ReceiveSettings { keep_days: 7, ..settings() }, disk, there.path()).unwrap();
    station.running.stop();
    assert_eq!(received(there.path()), [young, "notes.txt".to_owned()], "what is none of ours stays");
}
