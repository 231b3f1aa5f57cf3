//! The picture while the pedal is held: pulses come from a thread of their own, and the last image stays.
//!
//! The window asks for a pulse and takes what came; it never waits for one. What it does not do: nothing is counted here
//! but when the pedal is let go, and then by the rehearsal and the case.

use super::app::{Shared, act_as_holder, window};
use super::exercise::{self, with};
use super::{exercise_picture, exercise_rows};
use crate::case::{Command, RadiationCommand};
use crate::fluoro::Monitor;
use crate::pelvis::Pelvis;
use crate::rehearse::{Control, RUN_MAX_S, Shot, imaging, pulse};
use brimline_ui::{AppWindow, Exercise, Shell};
use slint::{ComponentHandle, Image, Rgb8Pixel, SharedPixelBuffer};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};

/// What a new pulse has of the picture: about four pulses are averaged. Common practice, no source.
const SHARE: f32 = 0.4;

/// A picture of one pulse as a window takes it, or why there is none.
type Drawn = Result<SharedPixelBuffer<Rgb8Pixel>, String>;

/// Pulses on a thread of their own; it ends when this is dropped.
pub struct LivePictures {
    ask: SyncSender<Shot>,
    drawn: Receiver<Drawn>,
}

impl LivePictures {
    /// Pictures of `solids`, `pixels` of the screen wide; `seed`: of the exercise, for the noise.
    ///
    /// # Errors
    /// What the system says if there is no thread to be had.
    pub fn start(solids: Arc<Pelvis>, seed: u32, pixels: u32) -> std::io::Result<Self> {
        let (ask, asked) = sync_channel::<Shot>(1);
        let (send, drawn) = sync_channel(1);
        let run = move || {
            let mut monitor = Monitor::new(SHARE);
            monitor.press();
            for shot in asked {
                let picture = one(&mut monitor, (&solids, seed), &shot, pixels);
                if send.send(picture).is_err() {
                    return;
                }
            }
        };
        std::thread::Builder::new().name("pulses".to_owned()).spawn(run)?;
        Ok(Self { ask, drawn })
    }

    /// Asks for a pulse of things as they stand in `shot`; false while the one asked for before is not begun.
    pub fn ask(&self, shot: Shot) -> bool {
        self.ask.try_send(shot).is_ok()
    }

    /// The picture of a pulse, if one came since.
    pub fn take(&self) -> Option<Drawn> {
        self.drawn.try_recv().ok()
    }
}

fn one(monitor: &mut Monitor, of: (&Pelvis, u32), shot: &Shot, pixels: u32) -> Drawn {
    let imaging = imaging(shot, exercise_picture::DETECTOR, 1);
    let signal = pulse(of, shot, monitor.pulses() + 1, &imaging).map_err(|fault| fault.to_string())?;
    monitor.pulse(signal);
    let picture = monitor.picture().ok_or("the pedal is up")?;
    exercise_picture::buffer(imaging.shown(picture), pixels)
}

/// Binds the pedal's and the key's holding.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let screen = window.global::<Exercise>();
    let on = app.clone();
    screen.on_run_begins(move |counted| begin(&on, counted));
    let on = app.clone();
    screen.on_pulse(move |held_ms| next(&on, held_ms));
    let on = app.clone();
    screen.on_let_go(move |ms| let_go(&on, f64::from(ms) / 1_000.0));
}

/// The pedal stays down; `counted`: the shot that the run begins with is counted already.
fn begin(app: &Shared, counted: bool) {
    if !counted && !super::operate_touch::count_shots(app, 1) {
        // Why it was refused is said; the run ends with it.
        if let Some(window) = window(app) {
            window.global::<Exercise>().set_live(false);
        }
        return;
    }
    let pixels = exercise_picture::pixels(app, exercise_picture::PANE);
    with(app, |running| {
        let seed = running.session.exercise().seed;
        // Without a thread the run is counted all the same, and its picture comes when the pedal is let go.
        running.live = LivePictures::start(running.solids.clone(), seed, pixels).ok();
    });
    exercise::fill(app);
}

/// Shows the pulse that came, and asks for the next.
fn next(app: &Shared, held_ms: i32) {
    let Some(window) = window(app) else { return };
    if f64::from(held_ms) / 1_000.0 >= RUN_MAX_S {
        // As a machine's own timer ends a run that was forgotten.
        window.global::<Shell>().set_pedal_down(false);
        window.global::<Exercise>().set_key_down(false);
    }
    with(app, |running| {
        let (Some(live), Some(last)) = (&running.live, running.session.shots().last()) else { return };
        let (number, meant) = (last.number, last.meant);
        if let Ok(shot) = running.session.shown_now(number, meant) {
            live.ask(shot);
        }
        match live.take() {
            Some(Ok(buffer)) => running.picture = Some((number, Image::from_rgb8(buffer))),
            Some(Err(fault)) => (running.told, running.heed) = (format!("No live picture: {fault}"), true),
            None => return,
        }
        window.global::<Exercise>().set_pane(exercise_rows::pane(running));
    });
}

/// The pedal is up: the run is counted by its length, in the rehearsal and in the case.
fn let_go(app: &Shared, seconds: f64) {
    with(app, |running| (running.live, running.picture) = (None, None));
    if held(app, seconds) {
        time_shot(app, seconds);
    }
    exercise_picture::want(app);
}

/// The machine is told how long its last shot lasted; true if it was a run.
pub(super) fn held(app: &Shared, seconds: f64) -> bool {
    exercise::runs(app) && exercise::control(app, Control::LetGo { seconds }).is_some()
}

/// The case is told how long its last shot lasted, unless it knows.
pub(super) fn time_shot(app: &Shared, seconds: f64) -> bool {
    let last = app.borrow().case().and_then(|case| case.state().shots.last().map(|shot| (shot.seq, shot.seconds)));
    let Some((shot, None)) = last else { return false };
    act_as_holder(app, Command::Radiation(RadiationCommand::TimeShot { shot, seconds }))
}
