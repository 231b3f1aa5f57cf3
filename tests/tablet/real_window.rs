//! The program in a real window on a virtual display, touched by real pointer and key events of the X server.

use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

/// Where the main action of every screen stands in a window of 1280 × 800.
const MAIN_ACTION: (&str, &str) = ("950", "735");
const PATIENCE: Duration = Duration::from_secs(40);

/// A process that ends with the test, whatever happens.
struct Kept(Child);

impl Drop for Kept {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// A virtual display. It does not reset when its last client leaves: each question of `xdotool` is a client that comes
/// and goes, and a reset while the program connects would throw the program off.
fn display() -> (Kept, String) {
    let mut server = Command::new("Xvfb")
        .args(["-displayfd", "1", "-screen", "0", "1280x800x24", "-nolisten", "tcp", "-noreset"])
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("Xvfb is installed");
    let mut number = String::new();
    BufReader::new(server.stdout.take().expect("piped")).read_line(&mut number).expect("a display number");
    assert!(!number.trim().is_empty(), "Xvfb ended without a display: {:?}", server.wait());
    (Kept(server), format!(":{}", number.trim()))
}

fn xdotool(display: &str, words: &[&str]) {
    let done = Command::new("xdotool").args(words).env("DISPLAY", display).output().expect("xdotool is installed");
    assert!(done.status.success(), "xdotool {words:?}: {}", String::from_utf8_lossy(&done.stderr));
}

/// Waits until something holds.
fn until(what: &str, mut holds: impl FnMut() -> bool) {
    let begun = Instant::now();
    while !holds() {
        assert!(begun.elapsed() < PATIENCE, "waited in vain: {what}");
        sleep(Duration::from_millis(100));
    }
}

fn events(journal: &Path, event: &str) -> usize {
    let text = std::fs::read_to_string(journal).unwrap_or_default();
    text.lines().filter(|line| line.contains(&format!("\"did\":{{\"{event}\""))).count()
}

/// A demo case performed to its fortieth command, in a store of its own.
fn begun_case(store: &Path) -> PathBuf {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-cases/02-dysmorphic-right/script.json");
    let done = Command::new(env!("CARGO_BIN_EXE_brimline"))
        .arg("--store")
        .arg(store)
        .args(["perform", "--until", "40"])
        .arg(script)
        .output()
        .unwrap();
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    PathBuf::from(String::from_utf8(done.stdout).unwrap().lines().last().unwrap())
}

/// [R-TABLET-7]
#[test]
fn real_pointer_and_key_events_reach_the_case() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("store");
    let journal = begun_case(&store);
    let (_server, display) = display();
    let said = folder.path().join("said");
    let mut program = Kept(
        Command::new(env!("CARGO_BIN_EXE_brimline"))
            .arg("--store")
            .arg(&store)
            .env("DISPLAY", &display)
            .env("HOME", folder.path())
            .env_remove("WAYLAND_DISPLAY")
            .stdout(Stdio::null())
            .stderr(File::create(&said).unwrap())
            .spawn()
            .unwrap(),
    );
    until("the window opens", || {
        let ended = program.0.try_wait().unwrap();
        assert!(ended.is_none(), "the program ended with {ended:?}: {}", std::fs::read_to_string(&said).unwrap());
        let found = Command::new("xdotool").args(["search", "--name", "Brimline"]).env("DISPLAY", &display).output();
        found.is_ok_and(|found| found.status.success())
    });
    // The first frame follows the window; a touch before it would meet nothing.
    sleep(Duration::from_secs(3));
    let (x, y) = MAIN_ACTION;
    let marker = store.join("cautions-read.json");
    xdotool(&display, &["mousemove", x, y, "click", "1"]);
    until("the cautions are marked as read", || marker.exists());
    sleep(Duration::from_secs(1));
    xdotool(&display, &["mousemove", x, y, "click", "1"]);
    sleep(Duration::from_secs(2));
    assert_eq!(events(&journal, "case-returned"), 0, "a brush of the held action does nothing");
    xdotool(&display, &["mousemove", x, y, "mousedown", "1", "sleep", "1.5", "mouseup", "1"]);
    until("the case was returned to", || events(&journal, "case-returned") == 1);
    // Without a window manager nobody else gives the keyboard to the window.
    xdotool(&display, &["search", "--name", "Brimline", "windowfocus"]);
    sleep(Duration::from_secs(1));
    let before = events(&journal, "shots-counted");
    xdotool(&display, &["key", "F9", "sleep", "0.2", "key", "F9"]);
    until("two presses count twice", || events(&journal, "shots-counted") == before + 2);
    xdotool(&display, &["keydown", "F9", "sleep", "2", "keyup", "F9"]);
    until("a held key counts", || events(&journal, "shots-counted") > before + 2);
    sleep(Duration::from_secs(1));
    assert_eq!(events(&journal, "shots-counted"), before + 3, "a held key counts once");
}
