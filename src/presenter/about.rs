//! About: the version, the formats, and where everything is kept.

use super::app::{Shared, window};
use super::home;
use crate::{case, pathway, plan, record};
use brimline_ui::{About, AppWindow, Place, Shell};
use slint::ComponentHandle;

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let weak = std::rc::Rc::downgrade(app);
    window.global::<About>().on_home(move || {
        if let Some(app) = weak.upgrade() {
            home::show(&app);
        }
    });
}

/// Shows the screen.
pub(super) fn show(app: &Shared) {
    let Some(window) = window(app) else { return };
    let store = app.borrow().store.display().to_string();
    let screen = window.global::<About>();
    screen.set_version(env!("CARGO_PKG_VERSION").into());
    screen.set_formats(formats().into());
    screen.set_store(store.into());
    window.global::<Shell>().set_place(Place::About);
}

/// The newest formats this program reads and writes.
fn formats() -> String {
    let (pathway, plan, journal, record) = (pathway::FORMAT, plan::FORMAT, case::FORMAT, record::FORMAT);
    format!("pathway {pathway} · plan {plan} · journal {journal} · record {record}")
}
