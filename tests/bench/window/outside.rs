//! The built program on a virtual display, measured from outside.

use super::median;
use std::fs::File;
use std::io::{BufRead, BufReader};
use std::os::unix::fs::FileExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

pub const STARTS: usize = 9;
/// How long nothing is touched.
pub const IDLE: Duration = Duration::from_secs(10);
/// What has not happened by then will not.
const PATIENCE: Duration = Duration::from_secs(30);
/// The picture is final once it stays so for that long, but for the clocks.
const STILL: Duration = Duration::from_millis(1_500);
/// Where the main action of every screen stands in a window of 1280 x 800.
const MAIN_ACTION: (&str, &str) = ("950", "735");
const PROGRAM: &str = env!("CARGO_BIN_EXE_brimline");
/// A unit of the CPU times in `/proc`, ms. Source: proc(5), `sysconf(_SC_CLK_TCK)` is 100 on Linux.
const TICK_MS: u64 = 10;

pub struct Starts {
    pub version: Duration,
    pub first: Duration,
    pub cpu: Duration,
}

pub struct Running {
    pub resident_mib: f64,
    /// Anonymous memory alone.
    pub own_mib: f64,
    pub idle_percent: f64,
}

/// A process that ends with the value.
struct Kept(Child);

impl Drop for Kept {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// A virtual display whose picture is a file.
struct Display {
    _server: Kept,
    name: String,
    picture: PathBuf,
    folder: tempfile::TempDir,
}

impl Display {
    fn open() -> Self {
        let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder");
        let mut server = Command::new("Xvfb")
            .args(["-displayfd", "1", "-screen", "0", "1280x800x24", "-nolisten", "tcp", "-noreset", "-fbdir"])
            .arg(folder.path())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("Xvfb is installed");
        let mut number = String::new();
        BufReader::new(server.stdout.take().expect("piped")).read_line(&mut number).expect("a display number");
        let (name, picture) = (format!(":{}", number.trim()), folder.path().join("Xvfb_screen0"));
        Self { _server: Kept(server), name, picture, folder }
    }

    fn program(&self, store: &Path) -> Kept {
        let mut command = Command::new(PROGRAM);
        command.arg("--store").arg(store).env("DISPLAY", &self.name).env("HOME", self.folder.path());
        command.env_remove("WAYLAND_DISPLAY").stdout(Stdio::null()).stderr(Stdio::null());
        Kept(command.spawn().expect("the program starts"))
    }

    fn xdotool(&self, words: &[&str]) {
        let done =
            Command::new("xdotool").args(words).env("DISPLAY", &self.name).status().expect("xdotool is installed");
        assert!(done.success(), "xdotool {words:?}");
    }

    /// Every eighth row of what is on screen. Source of the layout: `XWDFile.h` of X11.
    fn rows(&self) -> Vec<u8> {
        let file = File::open(&self.picture).expect("the picture");
        let word = |at: u64| {
            let mut bytes = [0; 4];
            file.read_exact_at(&mut bytes, at).expect("a header");
            u64::from(u32::from_be_bytes(bytes))
        };
        let (header, height, per_row, colours) = (word(0), word(20), word(48), word(76));
        let row = usize::try_from(per_row).expect("a row in memory");
        let mut rows = vec![0; row * usize::try_from(height.div_ceil(8)).expect("few rows")];
        for (number, bytes) in rows.chunks_exact_mut(row).enumerate() {
            let at = header + colours * 12 + number as u64 * 8 * per_row;
            file.read_exact_at(bytes, at).expect("a row");
        }
        rows
    }
}

/// A store with a case of the demo, begun and not ended, whose cautions were read.
fn store(folder: &Path) -> (PathBuf, PathBuf) {
    let store = folder.join("store");
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-cases/02-dysmorphic-right/script.json");
    let done = Command::new(PROGRAM).arg("--store").arg(&store).args(["perform", "--until", "40"]).arg(script).output();
    let done = done.expect("the program starts");
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    let journal = String::from_utf8(done.stdout).expect("UTF-8").lines().last().map(PathBuf::from).expect("its path");
    std::fs::write(store.join("cautions-read.json"), "{}\n").expect("writes");
    (store, journal)
}

/// Starts the program again and again, each time until Home stands on screen.
pub fn starts() -> Starts {
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder");
    let (store, _) = store(folder.path());
    let (mut version, mut first, mut cpu) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..STARTS {
        let begun = Instant::now();
        Command::new(PROGRAM).arg("--version").output().expect("the program starts");
        version.push(begun.elapsed());
        let (wall, used) = start(&store);
        first.push(wall);
        cpu.push(used);
    }
    Starts { version: median(version), first: median(first), cpu: median(cpu) }
}

/// Wall and CPU time until what is on screen is, but for clocks, what stays there.
fn start(store: &Path) -> (Duration, Duration) {
    let display = Display::open();
    let empty = display.rows();
    let begun = Instant::now();
    let program = display.program(store);
    let mut seen: Vec<(Duration, Duration, Vec<u8>)> = Vec::new();
    loop {
        let rows = display.rows();
        let at = begun.elapsed();
        assert!(at < PATIENCE, "no picture came");
        let changed = rows != seen.last().map_or(&empty, |(_, _, last)| last)[..];
        if changed {
            seen.push((at, cpu_of(&program), rows));
        }
        if seen.first().is_some_and(|(first, ..)| at > *first + STILL) {
            break;
        }
        sleep(Duration::from_millis(1));
    }
    let last = &seen.last().expect("a picture came").2;
    assert!(alike(last, last) > alike(last, &empty), "the program drew something");
    let (wall, used, _) = seen.iter().find(|(_, _, rows)| alike(rows, last) > 0.99).expect("the last is like itself");
    (*wall, *used)
}

/// The part of the bytes that are the same.
#[allow(clippy::cast_precision_loss, reason = "half a million bytes are counted exactly")]
fn alike(left: &[u8], right: &[u8]) -> f64 {
    left.iter().zip(right).filter(|(left, right)| left == right).count() as f64 / left.len() as f64
}

/// Opens the case by touch and lets it lie.
pub fn running() -> Running {
    let display = Display::open();
    let (store, journal) = store(display.folder.path());
    let program = display.program(&store);
    sleep(Duration::from_secs(2));
    let (x, y) = MAIN_ACTION;
    display.xdotool(&["mousemove", x, y, "click", "1"]);
    sleep(Duration::from_secs(1));
    display.xdotool(&["mousemove", x, y, "mousedown", "1", "sleep", "1.5", "mouseup", "1"]);
    let begun = Instant::now();
    while !std::fs::read_to_string(&journal).expect("readable").contains("case-returned") {
        assert!(begun.elapsed() < PATIENCE, "the case was not returned to");
        sleep(Duration::from_millis(100));
    }
    sleep(Duration::from_secs(3));
    let (before, begun) = (cpu_of(&program), Instant::now());
    sleep(IDLE);
    let idle_percent = (cpu_of(&program) - before).as_secs_f64() / begun.elapsed().as_secs_f64() * 100.0;
    Running { resident_mib: status_mib(&program, "VmRSS:"), own_mib: status_mib(&program, "RssAnon:"), idle_percent }
}

fn of_process(program: &Kept, file: &str) -> String {
    std::fs::read_to_string(format!("/proc/{}/{file}", program.0.id())).expect("the program runs")
}

/// CPU time of all threads. Source: proc(5), fields 14 and 15 of `stat`.
fn cpu_of(program: &Kept) -> Duration {
    let stat = of_process(program, "stat");
    let fields = stat.rsplit_once(')').expect("a name").1.split_whitespace().skip(11).take(2);
    Duration::from_millis(fields.map(|ticks| ticks.parse::<u64>().expect("a number") * TICK_MS).sum())
}

#[allow(clippy::cast_precision_loss, reason = "kilobytes of one process are counted exactly")]
fn status_mib(program: &Kept, member: &str) -> f64 {
    let status = of_process(program, "status");
    let line = status.lines().find(|line| line.starts_with(member)).expect("the member");
    line.split_whitespace().nth(1).and_then(|kib| kib.parse::<u64>().ok()).expect("a number") as f64 / 1_024.0
}
