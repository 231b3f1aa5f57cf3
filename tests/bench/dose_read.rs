//! A dose report of 1,000 events: this program against pydicom, one after the other in one run.
//!
//! `BRIMLINE_PEERS=.../python3 cargo bench --no-default-features --bench dose_read`. pydicom's time is of reading and
//! walking alone, without the start of Python. Exit 1 if the median is less than [`TIMES_MIN`] times faster. An
//! unoptimised build says so and proves nothing.

use brimline::adapters::dose_report::read;
use std::path::Path;
use std::process::{Command, ExitCode};
use std::time::{Duration, Instant};

const ROUNDS: usize = 3;
/// The target of the project.
const TIMES_MIN: f64 = 25.0;

fn main() -> ExitCode {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let file = root.join("tests/vectors/dose/thousand-events.dcm");
    let python = std::env::var_os("BRIMLINE_PEERS").expect("BRIMLINE_PEERS names the Python of the peers");
    let (mut ours, mut theirs) = (Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        let output =
            Command::new(&python).arg(root.join("tests/peers/dose/time_read.py")).arg(&file).output().expect("starts");
        let said = String::from_utf8(output.stdout).expect("text");
        let (seconds, events) = said.trim().split_once(' ').expect("seconds and events");
        assert_eq!(events, "1000");
        theirs.push(Duration::from_secs_f64(seconds.parse().expect("seconds")));
        let begun = Instant::now();
        let report = read(&std::fs::read(&file).expect("readable")).expect("a report");
        ours.push(begun.elapsed());
        assert_eq!((report.events.len(), report.faults.len()), (1_000, 0));
    }
    let (ours, theirs) = (median(ours), median(theirs));
    let times = theirs.as_secs_f64() / ours.as_secs_f64();
    println!("1,000 events, deflated, medians of {ROUNDS}");
    println!("pydicom:  {theirs:?}");
    println!("brimline: {ours:?}, {times:.0} times faster");
    println!("target {TIMES_MIN} times: {}", if times >= TIMES_MIN { "met" } else { "MISSED" });
    if cfg!(debug_assertions) {
        println!("unoptimised build: these figures prove nothing");
    }
    ExitCode::from(u8::from(times < TIMES_MIN))
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}
