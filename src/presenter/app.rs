//! The application's own state: which case is open, who holds the tablet, what is being asked.

use super::around::Around;
use super::asked::Asked;
use super::{case_view, correct_view, exercise, gate, operate, pin_view, re_aim_view, say, stop, target_view};
use crate::case::{Case, Command, Event, Status};
use crate::commands::review::ReviewPorts;
use crate::commands::{Start, Station};
use crate::open_case::{Notify, OpenCase, World};
use crate::people::{Actor, PersonId, Role, Roster};
use crate::ports::image::ImageReader;
use crate::settings::Settings;
use brimline_ui::{AppWindow, Over, Place, Shell};
use slint::{ComponentHandle, Weak};
use std::cell::RefCell;
use std::path::PathBuf;
use std::rc::Rc;
use std::sync::Arc;

/// The application, shared by the bindings of all screens. All of it lives on the window's thread.
pub type Shared = Rc<RefCell<App>>;

/// What the tablet knows beside the case itself.
pub struct App {
    pub(super) window: Weak<AppWindow>,
    pub settings: Settings,
    pub settings_path: PathBuf,
    pub store: PathBuf,
    pub world: World,
    pub(super) review: ReviewPorts,
    /// What receives and reads reports.
    pub(super) station: Option<Station>,
    /// Reads pictures.
    pub images: &'static dyn ImageReader,
    pub open: Option<OpenCase>,
    /// Who holds the tablet: logs every touch.
    pub(super) holder: Option<Actor>,
    pub(super) roster: Roster,
    /// What the lines of the step on screen say.
    pub(super) lines_shown: Vec<String>,
    /// Page of checks turned to.
    pub(super) page: usize,
    /// The team is choosing which check was not done.
    pub(super) marking: bool,
    /// What the overlay on screen is for.
    pub(super) asked: Asked,
    /// A count that waits while its second person is chosen.
    pub(super) counting: Asked,
    /// The machine's scale and the floor mark noted for a view that is not accepted yet.
    pub(super) scale: Option<(String, f64, Option<String>)>,
    /// The screens around a case.
    pub(super) around: Rc<Around>,
    /// Keeps the clock of the screens going.
    pub(super) tick: slint::Timer,
}

impl App {
    /// The application of a window, with no case open.
    pub(super) fn new(window: &AppWindow, start: Start) -> Shared {
        Rc::new(RefCell::new(Self {
            window: window.as_weak(),
            settings: start.settings,
            settings_path: start.settings_path,
            store: start.store,
            world: start.world,
            review: start.review,
            station: start.station,
            images: start.images,
            open: None,
            holder: None,
            roster: Roster::default(),
            lines_shown: Vec::new(),
            page: 0,
            marking: false,
            asked: Asked::Nothing,
            counting: Asked::Nothing,
            scale: None,
            around: Rc::default(),
            tick: slint::Timer::default(),
        }))
    }

    pub(super) fn case(&self) -> Option<&Case> {
        self.open.as_ref().map(OpenCase::case)
    }

    /// The name of a person, or the beginning of the key where the roster does not know it.
    pub(super) fn name_of(&self, person: &PersonId) -> String {
        let known = self.roster.person(person).map(|person| person.name().to_owned());
        known.unwrap_or_else(|| person.0.chars().take(8).collect())
    }

    /// Who acts in a role in this case.
    pub(super) fn actor(&self, role: Role) -> Option<Actor> {
        let person = self.case()?.state().team.get(&role)?;
        Some(Actor::new(role, person.clone()))
    }

    /// Who answers a check: whoever holds the tablet if they may, else the first of its roles that is held.
    pub(super) fn answerer(&self, roles: &[Role]) -> Option<Role> {
        let holder = self.holder.as_ref()?.role;
        if roles.is_empty() || roles.contains(&holder) {
            return Some(holder);
        }
        roles.iter().copied().find(|role| self.actor(*role).is_some())
    }

    /// Wakes the window when the save state changes; called from the writer's thread.
    pub(super) fn notify(&self) -> Notify {
        let window = self.window.clone();
        Arc::new(move || {
            // Fails only once the window is gone, when nobody is left to be told.
            let _ = window.upgrade_in_event_loop(|window| window.global::<Shell>().invoke_saving_changed());
        })
    }

    fn issue(&mut self, by: Role, command: Command) -> Result<Vec<Event>, String> {
        let by = self.actor(by).ok_or("nobody holds that role in this case")?;
        let holder = self.holder.clone().ok_or("nobody holds the tablet")?;
        let open = self.open.as_mut().ok_or("no case is open")?;
        open.issue(&by, &holder, command).map_err(|fault| fault.to_string())
    }
}

/// Issues a command and shows what came of it. True if it was not refused.
pub(super) fn act(app: &Shared, by: Role, command: Command) -> bool {
    let answers = matches!(command, Command::Answer { .. } | Command::AnswerLate { .. } | Command::NotDone { .. });
    let outcome = app.borrow_mut().issue(by, command);
    let done = match outcome {
        Ok(_) => true,
        Err(refusal) => {
            say::refused(app, &refusal);
            false
        }
    };
    if done && answers {
        super::operate_touch::move_on(app);
    }
    refresh(app);
    done
}

/// Issues a command as whoever holds the tablet.
pub(super) fn act_as_holder(app: &Shared, command: Command) -> bool {
    let role = app.borrow().holder.as_ref().map(|holder| holder.role);
    role.is_some_and(|role| act(app, role, command))
}

/// Fills the screens of the case from its state, and turns to the one its status asks for.
pub(super) fn refresh(app: &Shared) {
    let Some(window) = app.borrow().window.upgrade() else { return };
    let Some(status) = app.borrow().case().map(|case| case.state().status) else { return };
    case_view::fill(&window, app);
    let shell = window.global::<Shell>();
    let shown = shell.get_place();
    if shown == Place::Dose && status != Status::Stopped {
        return super::dose::fill(app);
    }
    let pictures = matches!(shown, Place::Pin | Place::Correct | Place::ReAim | Place::Target);
    let of_case = pictures
        || matches!(shown, Place::Operate | Place::Gate | Place::Stop | Place::Ending | Place::Dose | Place::Exercise);
    if !of_case {
        return;
    }
    match status {
        Status::Running | Status::Paused => match shown {
            Place::Gate => gate::fill(&window, app),
            Place::Pin => pin_view::fill(app),
            Place::Correct => correct_view::fill(app),
            Place::ReAim => re_aim_view::fill(app),
            Place::Target => target_view::fill(app),
            Place::Exercise => exercise::fill(app),
            _ => {
                shell.set_place(Place::Operate);
                operate::fill(&window, app);
            }
        },
        Status::Stopped => {
            stop::fill(&window, app);
            shell.set_place(Place::Stop);
        }
        Status::Ending(_) => {
            shell.set_place(Place::Ending);
            operate::fill(&window, app);
        }
        Status::Closed(_) => {
            if !exercise::ended(app) {
                super::sign_off::show(app);
            }
        }
    }
}

/// Closes the overlay on screen.
pub(super) fn close_overlay(app: &Shared) {
    app.borrow_mut().asked = Asked::Nothing;
    if let Some(window) = app.borrow().window.upgrade() {
        window.global::<Shell>().set_over(Over::Nothing);
    }
}

/// The window, while it is there.
pub(super) fn window(app: &Shared) -> Option<AppWindow> {
    app.borrow().window.upgrade()
}
