//! A window without a display: real frames, mock time, one stage per test thread.

use brimline_ui::{AppWindow, Typing};
use i_slint_backend_testing::{
    AccessibleRole, ElementHandle, ElementQuery, TestingBackend, TestingBackendOptions, mock_elapsed_time,
};
use slint::platform::{PointerEventButton, WindowEvent};
use slint::{ComponentHandle, LogicalPosition, PhysicalSize, Rgba8Pixel, SharedPixelBuffer, SharedString};
use std::cell::RefCell;
use std::rc::Rc;
use std::time::Duration;

/// The two sizes of the tablet: physical pixels and scale factor. Both are 1280 × 800 in logical pixels.
pub const SIZES: [(u32, u32, f32); 2] = [(1280, 800, 1.0), (1920, 1200, 1.5)];

pub struct Stage {
    pub app: AppWindow,
    warnings: Rc<RefCell<Vec<String>>>,
}

impl Stage {
    /// Opens the window at a size. Each test runs in its own thread, and so has its own platform.
    pub fn open((width, height, scale): (u32, u32, f32)) -> Self {
        let backend = TestingBackend::new(TestingBackendOptions {
            mock_time: true,
            renderer_name: Some("software".into()),
            ..Default::default()
        });
        let warnings = backend.debug_logs.clone();
        slint::platform::set_platform(Box::new(backend)).expect("a test thread opens one stage");
        let app = AppWindow::new().expect("the window opens");
        app.window().dispatch_event(WindowEvent::ScaleFactorChanged { scale_factor: scale });
        app.window().set_size(PhysicalSize::new(width, height));
        app.global::<Typing>().on_shorter(|text| shorter(&text));
        app.global::<Typing>().on_clock(|digits| colon(&digits));
        app.show().expect("the window shows");
        app.window().dispatch_event(WindowEvent::WindowActiveChanged(true));
        Self { app, warnings }
    }

    /// What the window looks like now.
    pub fn frame(&self) -> SharedPixelBuffer<Rgba8Pixel> {
        self.app.window().take_snapshot().expect("the software renderer draws")
    }

    /// Warnings of the toolkit so far, for instance a binding that loops.
    pub fn warnings(&self) -> Vec<String> {
        self.warnings.borrow().clone()
    }

    pub fn press(&self, at: LogicalPosition) {
        let button = PointerEventButton::Left;
        self.app.window().dispatch_event(WindowEvent::PointerMoved { position: at });
        self.app.window().dispatch_event(WindowEvent::PointerPressed { position: at, button });
    }

    pub fn slide(&self, to: LogicalPosition) {
        self.app.window().dispatch_event(WindowEvent::PointerMoved { position: to });
    }

    pub fn release(&self, at: LogicalPosition) {
        let button = PointerEventButton::Left;
        self.app.window().dispatch_event(WindowEvent::PointerReleased { position: at, button });
    }

    pub fn tap(&self, at: LogicalPosition) {
        self.press(at);
        self.release(at);
    }

    /// The one element of that label that can be touched.
    pub fn touchable(&self, label: &str) -> ElementHandle {
        let wanted = label.to_owned();
        let mut found = ElementQuery::from_root(&self.app)
            .match_accessible_role(AccessibleRole::Button)
            .match_predicate(move |element| element.accessible_label().is_some_and(|label| label == wanted.as_str()))
            .find_all();
        assert_eq!(found.len(), 1, "elements labelled \"{label}\"");
        found.remove(0)
    }
}

/// Lets time pass.
pub fn wait(milliseconds: u64) {
    mock_elapsed_time(Duration::from_millis(milliseconds));
}

pub fn middle(element: &ElementHandle) -> LogicalPosition {
    let (at, size) = (element.absolute_position(), element.size());
    LogicalPosition::new(at.x + size.width / 2.0, at.y + size.height / 2.0)
}

/// As the program shows a time of day.
fn colon(digits: &SharedString) -> SharedString {
    let (hours, minutes) = digits.split_at(digits.len().saturating_sub(2));
    if hours.is_empty() { minutes.into() } else { slint::format!("{hours}:{minutes}") }
}

fn shorter(text: &SharedString) -> SharedString {
    let mut letters = text.chars();
    letters.next_back();
    letters.as_str().into()
}
