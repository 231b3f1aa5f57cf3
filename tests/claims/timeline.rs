//! Time since opening, from two clocks.

use brimline::case::{Elapsed, Stamp, Timeline};
use chrono::{DateTime, TimeDelta};

fn stamp(wall_s: i64, process: u32, boot_s: u64) -> Stamp {
    let start = DateTime::parse_from_rfc3339("2026-03-10T08:00:00+01:00").unwrap();
    Stamp { at: start + TimeDelta::seconds(wall_s), process, boot_ms: boot_s * 1_000 }
}

/// [R-CASE-11]
#[test]
fn within_one_boot_the_boot_clock_counts_whatever_the_wall_clock_does() {
    let mut timeline = Timeline::default();
    assert_eq!(timeline.advance(&stamp(0, 1, 500)), Elapsed::default());
    let jumped = timeline.advance(&stamp(-3_600, 1, 560));
    assert_eq!(jumped, Elapsed { ms: 60_000, by_wall: false });
}

/// [R-CASE-11]
#[test]
fn a_program_started_again_in_the_same_boot_goes_on_by_the_boot_clock() {
    let mut timeline = Timeline::default();
    timeline.advance(&stamp(0, 1, 500));
    assert_eq!(timeline.advance(&stamp(90, 2, 590)), Elapsed { ms: 90_000, by_wall: false });
}

/// [R-CASE-11]
#[test]
fn a_gap_over_a_reboot_is_measured_by_the_wall_clock_and_marked_from_then_on() {
    let mut timeline = Timeline::default();
    timeline.advance(&stamp(0, 1, 500));
    assert_eq!(timeline.advance(&stamp(900, 2, 20)), Elapsed { ms: 900_000, by_wall: true });
    assert_eq!(timeline.advance(&stamp(905, 2, 25)), Elapsed { ms: 905_000, by_wall: true });
}
