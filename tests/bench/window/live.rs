//! The screen of an exercise while the pedal is held: pictures from their own thread, frames in this one.

use super::frame::{Stage, cpu_time, draw};
use brimline::carm::{Joint, Tube, ViewName};
use brimline::case::{Exercise as Task, PersonKind};
use brimline::presenter::LivePictures;
use brimline::rehearse::{Control, Rehearsal};
use brimline::units::{Degrees, Side};
use brimline_ui::{Exercise, Place, Shell};
use slint::{ComponentHandle, Image};
use std::sync::Arc;
use std::time::{Duration, Instant};

/// How long the pedal is held.
pub const HELD: Duration = Duration::from_secs(10);
/// From one pulse to the next, as the screen's timer has it.
pub const PULSE: Duration = Duration::from_millis(33);
/// A side of the picture on the screen, pixels.
const PANE: u32 = 494;

/// Wall time of frames that had a new picture to show, from taking it to its last pixel.
pub struct Live {
    pub pictures: usize,
    pub median: Duration,
    pub nearly_all: Duration,
    pub slowest: Duration,
    /// CPU time of this thread for the median frame.
    pub cpu: Duration,
}

pub fn measure(stage: &mut Stage) -> Live {
    let Stage { canvas, window, pixels } = stage;
    window.global::<Shell>().set_place(Place::Exercise);
    draw(canvas, pixels, true);
    let exercise = Task {
        task: brimline::case::Task::View(ViewName::InletBody),
        person: PersonKind::Normal,
        operated: Side::Right,
        tube: Tube::Under,
        stand: Side::Left,
        seed: 1,
    };
    let mut rehearsal = Rehearsal::begin(exercise, None);
    let solids = Arc::new(rehearsal.solids());
    rehearsal.act(Control::Expose { view: Some(ViewName::InletBody) }, 0).expect("a shot");
    let live = LivePictures::start(solids, 1, PANE).expect("a thread");
    let (mut frames, mut cpu) = (Vec::new(), Vec::new());
    let begun = Instant::now();
    let mut next = begun;
    while begun.elapsed() < HELD {
        // The machine moves meanwhile, so that every picture is another.
        let by = if frames.len() % 60 < 30 { 1.0 } else { -1.0 };
        let _ = rehearsal.act(Control::Drive { joint: Joint::Tilt, by: Degrees(by) }, 0);
        live.ask(rehearsal.shown_now(1, Some(ViewName::InletBody)).expect("a view of the model"));
        let (wall, work) = (Instant::now(), cpu_time());
        if let Some(picture) = live.take() {
            let screen = window.global::<Exercise>();
            let mut pane = screen.get_pane();
            (pane.picture, pane.filled) = (Image::from_rgb8(picture.expect("a picture")), true);
            screen.set_pane(pane);
            draw(canvas, pixels, false);
            frames.push(wall.elapsed());
            cpu.push(cpu_time().saturating_sub(work));
        }
        next += PULSE;
        std::thread::sleep(next.saturating_duration_since(Instant::now()));
    }
    frames.sort_unstable();
    let at = |percent: usize| frames[(frames.len() - 1) * percent / 100];
    Live { pictures: frames.len(), median: at(50), nearly_all: at(99), slowest: at(100), cpu: super::median(cpu) }
}
