//! Work that would make the window wait: keys are opened and files written on a thread of their own.
//!
//! One piece at a time. Each carries a number; what comes back for a case that was left meanwhile is dropped, never
//! applied to another. What it does not do: no command of a running case goes this way, so that touches and shots
//! never queue behind it.

use super::app::Shared;
use super::{around, questions};
use slint::{Timer, TimerMode};
use std::cell::{Cell, RefCell};
use std::sync::mpsc::{TryRecvError, sync_channel};
use std::time::Duration;

/// How often a piece of work is asked whether it is done, only while there is one.
const ASKED: Duration = Duration::from_millis(30);

/// The one piece of work.
#[derive(Default)]
pub(super) struct Worker {
    generation: Cell<u64>,
    /// What is being done, in words, while something is.
    busy: RefCell<Option<String>>,
    asks: Timer,
}

/// What is being done, in words; empty: nothing.
pub(super) fn busy(app: &Shared) -> String {
    around::of(app).worker.busy.borrow().clone().unwrap_or_default()
}

/// What comes back of work in progress is wanted no more.
pub(super) fn forget(app: &Shared) {
    let around = around::of(app);
    around.worker.generation.set(around.worker.generation.get() + 1);
}

/// Does `work` beside the window, then `then` on its thread. False if something else is being done.
pub(super) fn start<T: Send + 'static>(
    app: &Shared,
    words: &str,
    work: impl FnOnce() -> T + Send + 'static,
    then: impl FnOnce(&Shared, T) + 'static,
) -> bool {
    let around = around::of(app);
    let worker = &around.worker;
    if worker.busy.borrow().is_some() {
        return false;
    }
    let (send, receive) = sync_channel(1);
    let started = std::thread::Builder::new().name("worker".to_owned()).spawn(move || {
        // Fails only once the window is gone, when nobody is left to be told.
        let _ = send.send(work());
    });
    if let Err(fault) = started {
        failed(app, &fault.to_string());
        return false;
    }
    let generation = worker.generation.get() + 1;
    worker.generation.set(generation);
    worker.busy.replace(Some(words.to_owned()));
    let (weak, mut then) = (std::rc::Rc::downgrade(app), Some(then));
    worker.asks.start(TimerMode::Repeated, ASKED, move || {
        let Some(app) = weak.upgrade() else { return };
        let done = match receive.try_recv() {
            Err(TryRecvError::Empty) => return,
            Err(TryRecvError::Disconnected) => None,
            Ok(done) => Some(done),
        };
        let wanted = {
            let around = around::of(&app);
            around.worker.asks.stop();
            around.worker.busy.take();
            around.worker.generation.get() == generation
        };
        match (done, then.take()) {
            (Some(done), Some(then)) if wanted => then(&app, done),
            (None, _) => failed(&app, "the work ended without an answer"),
            _ => {}
        }
    });
    true
}

fn failed(app: &Shared, why: &str) {
    questions::tell(
        app,
        "That could not be done",
        why,
        "What was saved before still stands.",
        "Try again. If it fails again, start the program anew: open cases are resumed.",
    );
}
