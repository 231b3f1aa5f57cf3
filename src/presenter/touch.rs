//! What a touch is bound to. A binding holds the application weakly, so that the window does not keep it alive.

use super::app::Shared;
use slint::SharedString;

/// A touch that names nothing.
pub(super) fn plain(app: &Shared, does: fn(&Shared)) -> impl Fn() + 'static {
    let weak = std::rc::Rc::downgrade(app);
    move || {
        if let Some(app) = weak.upgrade() {
            does(&app);
        }
    }
}

/// A touch that names what was touched.
pub(super) fn named(app: &Shared, does: fn(&Shared, &str)) -> impl Fn(SharedString) + 'static {
    let weak = std::rc::Rc::downgrade(app);
    move |id| {
        if let Some(app) = weak.upgrade() {
            does(&app, &id);
        }
    }
}
