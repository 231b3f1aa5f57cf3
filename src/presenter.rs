//! The tablet: the only code that names the screens.
//!
//! Each screen has one file with a pure function from the core's state to the screen's rows, and one `connect` that
//! turns touches into commands. What it does not do: no rule, no arithmetic of the trade; it asks the core. No borrow
//! of the application is held while a screen is filled, since a filled model may call back.

mod about;
mod added;
mod addendum;
mod addendum_rows;
mod app;
mod around;
mod arrivals;
mod asked;
mod case_view;
mod clocks;
mod correct_draft;
mod correct_fields;
mod correct_touch;
mod correct_view;
mod count;
mod debrief;
mod dose;
mod dose_entry;
mod dose_rows;
mod draw;
mod errand;
mod exercise;
mod exercise_case;
mod exercise_end;
mod exercise_live;
mod exercise_picture;
mod exercise_rows;
mod first_start;
mod gate;
mod home;
mod keys;
mod late;
mod marked;
mod measure_draft;
mod measure_view;
mod more;
mod move_shots;
mod moved;
mod numbers;
mod operate;
mod operate_rows;
mod operate_touch;
mod outline;
mod pathways;
mod people;
mod people_change;
mod phrases;
mod picture;
mod pictures;
mod pin_draft;
mod pin_fields;
mod pin_rows;
mod pin_touch;
mod pin_view;
mod plan_anatomy;
mod plan_eligibility;
mod plan_form;
mod plan_graft;
mod plan_targets;
mod plan_view;
mod questions;
mod re_aim_draft;
mod re_aim_fields;
mod re_aim_touch;
mod re_aim_view;
mod reasons;
mod record;
mod rehearse_choose;
mod returning;
mod review;
mod review_case;
mod review_chart;
mod review_filter;
mod review_report;
mod review_rows;
mod ribbon;
mod say;
mod set_up;
mod set_up_change;
mod set_up_rows;
mod settings;
mod settings_change;
mod settings_site;
mod shelf;
mod sign_off;
mod stop;
mod summary;
mod target_model;
mod target_view;
mod touch;
mod usual;
mod view_known;
mod worker;

pub use app::{App, Shared};
pub use arrivals::port as receiver_port;
pub use exercise_live::LivePictures;

use crate::commands::{COULD_NOT, Start, YES};
use brimline_ui::{AppWindow, Shell, Typing};
use slint::{ComponentHandle, SharedString};

/// Opens the tablet and runs it until the window is closed; returns the exit code.
pub fn run(start: Start) -> u8 {
    if let Some(folder) = &start.draw {
        return draw::run(folder);
    }
    let window = match AppWindow::new() {
        Ok(window) => window,
        Err(fault) => {
            eprintln!("brimline: the window cannot be opened: {fault}");
            return COULD_NOT;
        }
    };
    let app = open(&window, start);
    let running = window.run();
    drop(app);
    match running {
        Ok(()) => YES,
        Err(fault) => {
            eprintln!("brimline: the window ended: {fault}");
            COULD_NOT
        }
    }
}

/// Binds every screen to a window and shows the first one. The value keeps the bindings alive.
#[must_use]
pub fn open(window: &AppWindow, start: Start) -> Shared {
    let app = App::new(window, start);
    let shell = window.global::<Shell>();
    shell.set_pedal_key(clocks::key_text(app.borrow().settings.pedal_key.name()));
    let typing = window.global::<Typing>();
    typing.set_decimal_sign(SharedString::from(app.borrow().settings.decimal_sign.character().to_string()));
    typing.on_shorter(|text| {
        let mut characters = text.chars();
        characters.next_back();
        characters.as_str().into()
    });
    typing.on_clock(|digits| clocks::typed(&digits).into());
    operate_touch::connect(window, &app);
    gate::connect(window, &app);
    stop::connect(window, &app);
    asked::connect(window, &app);
    clocks::connect(&app);
    first_start::connect(window, &app);
    home::connect(window, &app);
    set_up::connect(window, &app);
    returning::connect(window, &app);
    dose::connect(window, &app);
    sign_off::connect(window, &app);
    record::connect(window, &app);
    addendum::connect(window, &app);
    pin_view::connect(window, &app);
    correct_view::connect(window, &app);
    re_aim_view::connect(window, &app);
    target_view::connect(window, &app);
    rehearse_choose::connect(window, &app);
    exercise::connect(window, &app);
    debrief::connect(window, &app);
    plan_view::connect(window, &app);
    measure_view::connect(window, &app);
    people::connect(window, &app);
    settings::connect(window, &app);
    about::connect(window, &app);
    review::connect(window, &app);
    settings_change::in_force(&app);
    first_start::show(&app);
    usual::learn(&app);
    arrivals::start(window, &app);
    app
}
