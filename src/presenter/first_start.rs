//! First start: the cautions, read once for each store.

use super::app::{Shared, window};
use super::{home, questions};
use brimline_ui::{AppWindow, FirstStart, Place, Shell};
use serde_json::json;
use slint::ComponentHandle;
use std::io;
use std::path::PathBuf;

/// Says under the store that the cautions were read, and of which version.
const MARKER: &str = "cautions-read.json";
/// The largest marker read, bytes.
const MARKER_BYTES_MAX: u64 = 4_096;

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let screen = window.global::<FirstStart>();
    screen.set_version(env!("CARGO_PKG_VERSION").into());
    let weak = std::rc::Rc::downgrade(app);
    screen.on_accept(move || {
        if let Some(app) = weak.upgrade() {
            accept(&app);
        }
    });
}

/// Shows the cautions, or Home where they were read before.
pub(super) fn show(app: &Shared) {
    let read = {
        let app = app.borrow();
        app.world.disk.read(&app.store.join(MARKER), MARKER_BYTES_MAX).is_ok()
    };
    if read {
        home::show(app);
    } else if let Some(window) = window(app) {
        window.global::<Shell>().set_place(Place::FirstStart);
    }
}

fn accept(app: &Shared) {
    let (path, written) = mark(app);
    home::show(app);
    if let Err(fault) = written {
        questions::tell(
            app,
            "The store cannot be written",
            &format!("{}: {fault}", path.display()),
            "Nothing is lost: no case is open.",
            "Make room on the disk or set another folder, then start again. The cautions will be shown once more.",
        );
    }
}

fn mark(app: &Shared) -> (PathBuf, io::Result<()>) {
    let (world, store) = {
        let app = app.borrow();
        (app.world.clone(), app.store.clone())
    };
    let path = store.join(MARKER);
    let marker = json!({
        "brimline_cautions": 1,
        "program": env!("CARGO_PKG_VERSION"),
        "read_at": world.clock.now().at.to_rfc3339(),
    });
    let written = world.disk.create_folder(&store);
    let written = written.and_then(|()| world.disk.replace(&path, format!("{marker}\n").as_bytes()));
    (path, written)
}
