//! Work beside the window that nobody waits for: reading what was received, and the site's own records.
//!
//! Unlike the worker's one piece, several errands go side by side, each at most once at a time; nobody is told that
//! they run. What it does not do: no command, no question.

use super::app::Shared;
use slint::{Timer, TimerMode};
use std::cell::Cell;
use std::rc::Rc;
use std::sync::mpsc::{TryRecvError, sync_channel};
use std::time::Duration;

/// How often an errand is asked whether it is done, only while it runs.
const ASKED: Duration = Duration::from_millis(50);

/// One errand.
#[derive(Default)]
pub(super) struct Errand {
    timer: Rc<Timer>,
    runs: Rc<Cell<bool>>,
    again: Cell<bool>,
}

impl Errand {
    /// Whether it was asked for once more while it ran; asking forgets it.
    pub fn wanted_again(&self) -> bool {
        self.again.take()
    }

    /// Does `work` beside the window, then `then` on its thread. While it runs already it is noted to be wanted again.
    pub fn run<T: Send + 'static>(
        &self,
        app: &Shared,
        work: impl FnOnce() -> T + Send + 'static,
        then: impl FnOnce(&Shared, T) + 'static,
    ) {
        if self.runs.get() {
            self.again.set(true);
            return;
        }
        let (send, receive) = sync_channel(1);
        let started = std::thread::Builder::new().name("errand".to_owned()).spawn(move || {
            // Fails only once the window is gone, when nobody is left to be told.
            let _ = send.send(work());
        });
        if started.is_err() {
            return;
        }
        self.runs.set(true);
        let (weak, mut then) = (Rc::downgrade(app), Some(then));
        let (timer, runs) = (Rc::downgrade(&self.timer), self.runs.clone());
        self.timer.start(TimerMode::Repeated, ASKED, move || {
            let done = match receive.try_recv() {
                Err(TryRecvError::Empty) => return,
                Err(TryRecvError::Disconnected) => None,
                Ok(done) => Some(done),
            };
            if let Some(timer) = timer.upgrade() {
                timer.stop();
            }
            runs.set(false);
            if let (Some(app), Some(done), Some(then)) = (weak.upgrade(), done, then.take()) {
                then(&app, done);
            }
        });
    }
}
