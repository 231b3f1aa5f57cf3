//! Frames of Operate drawn without a window system.

use super::median;
use brimline_ui::{AppWindow, CaseView, Place, Shell};
use rustix::time::{ClockId, clock_gettime};
use slint::platform::software_renderer::{MinimalSoftwareWindow, PremultipliedRgbaColor, RepaintBufferType};
use slint::platform::{Platform, PlatformError, WindowAdapter};
use slint::{ComponentHandle, PhysicalSize};
use std::hint::black_box;
use std::rc::Rc;
use std::time::Duration;

pub const ROUNDS: usize = 201;
const SIZE: PhysicalSize = PhysicalSize { width: 1280, height: 800 };

/// CPU time.
pub struct Figures {
    pub fill: Duration,
    pub whole: Duration,
    /// Counting a shot, with everything that moves on screen for it.
    pub shot: Duration,
}

#[derive(Clone)]
pub struct Canvas(Rc<MinimalSoftwareWindow>);

impl Platform for Canvas {
    fn create_window_adapter(&self) -> Result<Rc<dyn WindowAdapter>, PlatformError> {
        Ok(self.0.clone())
    }
}

/// A window without a window system.
pub struct Stage {
    pub canvas: Canvas,
    pub window: AppWindow,
    pub pixels: Vec<PremultipliedRgbaColor>,
}

impl Stage {
    pub fn open() -> Self {
        let canvas = Canvas(MinimalSoftwareWindow::new(RepaintBufferType::ReusedBuffer));
        slint::platform::set_platform(Box::new(canvas.clone())).expect("the first platform of the process");
        let window = AppWindow::new().expect("the window opens");
        canvas.0.set_size(SIZE);
        window.show().expect("it shows");
        let pixels = vec![PremultipliedRgbaColor::default(); (SIZE.width * SIZE.height) as usize];
        Self { canvas, window, pixels }
    }
}

pub fn measure(stage: &mut Stage) -> Figures {
    let Stage { canvas, window, pixels } = stage;
    window.global::<Shell>().set_place(Place::Operate);
    draw(canvas, pixels, true);
    let (mut fill, mut whole, mut shot) = (Vec::new(), Vec::new(), Vec::new());
    for round in 0..ROUNDS {
        let shade = PremultipliedRgbaColor { red: u8::try_from(round % 256).unwrap_or(0), ..Default::default() };
        fill.push(timed(|| black_box(&mut *pixels).fill(shade)));
        whole.push(timed(|| draw(canvas, pixels, true)));
        let view = window.global::<CaseView>();
        let mut shots = view.get_shots();
        shots.here += 1;
        shots.case += 1;
        shot.push(timed(|| {
            view.set_shots(shots);
            draw(canvas, pixels, false);
        }));
    }
    assert!(pixels.iter().any(|pixel| pixel.red != pixels[0].red), "something is drawn");
    Figures { fill: median(fill), whole: median(whole), shot: median(shot) }
}

pub fn draw(canvas: &Canvas, pixels: &mut [PremultipliedRgbaColor], whole: bool) {
    slint::platform::update_timers_and_animations();
    let kind = if whole { RepaintBufferType::NewBuffer } else { RepaintBufferType::ReusedBuffer };
    canvas.0.request_redraw();
    let drawn = canvas.0.draw_if_needed(|renderer| {
        renderer.set_repaint_buffer_type(kind);
        renderer.render(pixels, SIZE.width as usize);
    });
    assert!(drawn, "a redraw was asked for");
}

fn timed(work: impl FnOnce()) -> Duration {
    let begun = cpu_time();
    work();
    cpu_time().saturating_sub(begun)
}

pub fn cpu_time() -> Duration {
    Duration::try_from(clock_gettime(ClockId::ThreadCPUTime)).expect("CPU time is never negative")
}
