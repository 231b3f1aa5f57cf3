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

struct Canvas(Rc<MinimalSoftwareWindow>);

impl Platform for Canvas {
    fn create_window_adapter(&self) -> Result<Rc<dyn WindowAdapter>, PlatformError> {
        Ok(self.0.clone())
    }
}

pub fn measure() -> Figures {
    let canvas = MinimalSoftwareWindow::new(RepaintBufferType::ReusedBuffer);
    slint::platform::set_platform(Box::new(Canvas(canvas.clone()))).expect("the first platform of the process");
    let window = AppWindow::new().expect("the window opens");
    canvas.set_size(SIZE);
    window.show().expect("it shows");
    window.global::<Shell>().set_place(Place::Operate);
    let mut pixels = vec![PremultipliedRgbaColor::default(); (SIZE.width * SIZE.height) as usize];
    draw(&canvas, &mut pixels, true);
    let (mut fill, mut whole, mut shot) = (Vec::new(), Vec::new(), Vec::new());
    for round in 0..ROUNDS {
        let shade = PremultipliedRgbaColor { red: u8::try_from(round % 256).unwrap_or(0), ..Default::default() };
        fill.push(timed(|| black_box(&mut pixels).fill(shade)));
        whole.push(timed(|| draw(&canvas, &mut pixels, true)));
        let view = window.global::<CaseView>();
        let mut shots = view.get_shots();
        shots.here += 1;
        shots.case += 1;
        shot.push(timed(|| {
            view.set_shots(shots);
            draw(&canvas, &mut pixels, false);
        }));
    }
    assert!(pixels.iter().any(|pixel| pixel.red != pixels[0].red), "something is drawn");
    Figures { fill: median(fill), whole: median(whole), shot: median(shot) }
}

fn draw(canvas: &Rc<MinimalSoftwareWindow>, pixels: &mut [PremultipliedRgbaColor], whole: bool) {
    slint::platform::update_timers_and_animations();
    let kind = if whole { RepaintBufferType::NewBuffer } else { RepaintBufferType::ReusedBuffer };
    canvas.request_redraw();
    let drawn = canvas.draw_if_needed(|renderer| {
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

fn cpu_time() -> Duration {
    Duration::try_from(clock_gettime(ClockId::ThreadCPUTime)).expect("CPU time is never negative")
}
