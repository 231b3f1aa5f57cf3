//! Case set-up: the plan read aloud and confirmed or made here, the team role by role, and the case opened.
//!
//! A plan that came as a file stays as it is where it lies; unchanged, the case keeps its very bytes.

use super::app::{self, Shared, window};
use super::case_view::model;
use super::pathways::{self, Offer};
use super::set_up_rows::{plan_rows, refusal, team_rows, together};
use super::shelf::CASES;
use super::touch;
use super::{around, home, keys, phrases, plan_view, questions, returning, set_up_change};
use crate::case::{CaseKind, Configured};
use crate::dose::{DoseConfigured, Position, TubeSide};
use crate::open_case::{CreateCase, OpenCase, OpenError};
use crate::pathway::{self, AntibioticCover, Pathway, Procedure};
use crate::people::{Actor, PersonId, Role, Roster};
use crate::plan::{self, Patient, Plan};
use crate::settings::{DoseSettings, LyingSetting, Settings, TubeSetting};
use brimline_ui::{AppWindow, Place, SetUp, SetUpPage, Shell};
use slint::{ComponentHandle, SharedString};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// A case being set up.
pub(super) struct Draft {
    pub plan: Plan,
    /// Pathways on offer, read when the set-up began.
    pub offers: Vec<Offer>,
    /// The one chosen, by its key.
    pub chosen: Option<String>,
    /// The bytes the plan came as, while nothing in it was changed.
    pub bytes: Option<Vec<u8>>,
    pub team: BTreeMap<Role, PersonId>,
    /// Who holds the tablet, by role.
    pub holder: Option<Role>,
}

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let screen = window.global::<SetUp>();
    let to = |does: fn(&Shared)| touch::plain(app, does);
    let with = |does: fn(&Shared, &str)| touch::named(app, does);
    screen.on_change(with(set_up_change::change));
    screen.on_change_team(with(set_up_change::change_team));
    screen.on_add_caution(to(set_up_change::ask_caution));
    screen.on_open(to(open));
    screen.on_leave(to(leave));
}

/// Sets up a case that nobody planned elsewhere.
pub(super) fn new(app: &Shared) {
    if draft_of_nobody(app) {
        enter_set_up(app);
    }
}

/// Begins a plan that names nobody yet.
pub(super) fn draft_of_nobody(app: &Shared) -> bool {
    let cases = {
        let app = app.borrow();
        app.world.disk.list(&app.store.join(CASES)).map_or(0, |names| names.len())
    };
    begin(app, empty(cases + 1), None);
    true
}

/// Sets up the case of a plan file.
pub(super) fn from_file(app: &Shared, path: &Path) {
    if draft_of_file(app, path) {
        enter_set_up(app);
    }
}

/// Begins with the plan of a file; says why where it cannot be read.
pub(super) fn draft_of_file(app: &Shared, path: &Path) -> bool {
    let read = app.borrow().world.disk.read(path, plan::MAX_BYTES);
    let read = read.map_err(|fault| fault.to_string());
    let plan = read.and_then(|bytes| match plan::read(&bytes) {
        Ok(plan) => Ok((plan, bytes)),
        Err(fault) => Err(fault.to_string()),
    });
    match plan {
        Ok((plan, bytes)) => {
            begin(app, plan, Some(bytes));
            return true;
        }
        Err(fault) => questions::tell(
            app,
            "The plan cannot be read",
            &format!("{}: {fault}", path.display()),
            "The file is left as it is; no case was opened.",
            "Have it corrected where it was made, or touch New case and plan here.",
        ),
    }
    false
}

/// A plan with nothing in it that is of this patient.
fn empty(number: usize) -> Plan {
    let pathway = pathway::built_in_ids().first().copied().unwrap_or_default().to_owned();
    let procedure = read_built_in(&pathway).map_or(Procedure::Primary, |(pathway, _)| pathway.procedure);
    Plan {
        brimline_plan: plan::FORMAT,
        label: format!("Case {number}"),
        pathway,
        procedure,
        patient: Patient { name: String::new(), number: String::new(), age: None, weight_kg: None, thickness_cm: None },
        sides: Vec::new(),
        nerves_monitored: false,
        antibiotic: AntibioticCover::Standard,
        compressing: false,
        transitional: false,
        c_arm: None,
        views: Vec::new(),
        cautions: Vec::new(),
        team: Vec::new(),
        eligibility: None,
        anatomy: None,
        tools: Vec::new(),
        graft: Vec::new(),
    }
}

fn begin(app: &Shared, plan: Plan, bytes: Option<Vec<u8>>) {
    if let Err(fault) = keys::load(app) {
        let safe = "Nobody can be named for this case until it is readable.";
        questions::tell(app, "The roster cannot be read", &fault.to_string(), safe, "Have the named file looked at.");
    }
    let draft = {
        let app = app.borrow();
        let team = first_team(&plan, &app.roster);
        let holder = [Role::CirculatingNurse, Role::Surgeon].into_iter().find(|role| team.contains_key(role));
        let holder = holder.or_else(|| team.keys().next().copied());
        let offers = pathways::offers(&app.world, &app.store);
        let chosen = pathways::first(&offers, &plan);
        Draft { plan, offers, chosen, bytes, team, holder }
    };
    around::of(app).set_up.replace(Some(draft));
    fill(app);
}

fn enter_set_up(app: &Shared) {
    let Some(window) = window(app) else { return };
    window.global::<SetUp>().set_page(SetUpPage::Plan);
    window.global::<Shell>().set_place(Place::SetUp);
}

/// Who the plan names, else the only person who can take a role.
fn first_team(plan: &Plan, roster: &Roster) -> BTreeMap<Role, PersonId> {
    let mut team = BTreeMap::new();
    for role in Role::ALL {
        let able: Vec<&PersonId> = candidates(roster, role).collect();
        let named = plan.team.iter().find(|member| member.role == role).map(|member| &member.person);
        let person = match (named, able.as_slice()) {
            (Some(named), able) if able.contains(&named) => Some(named),
            (None, [only]) => Some(*only),
            _ => None,
        };
        if let Some(person) = person {
            team.insert(role, person.clone());
        }
    }
    team
}

/// People whose key is in use and who can take that role.
pub(super) fn candidates(roster: &Roster, role: Role) -> impl Iterator<Item = &PersonId> {
    let able = roster.people().iter().filter(move |person| !person.retired() && person.roles().contains(&role));
    able.map(crate::people::Person::kid)
}

/// A built-in pathway and its bytes; nothing if there is none of that name.
fn read_built_in(id: &str) -> Option<(Pathway, Vec<u8>)> {
    let bytes = pathway::built_in(id)?;
    let pathway = pathway::read(bytes).ok()?;
    Some((pathway, bytes.to_vec()))
}

/// The title of a built-in pathway, or the name it was asked for by.
pub(super) fn pathway_title(id: &str) -> String {
    read_built_in(id).map_or_else(|| id.to_owned(), |(pathway, _)| pathway.title)
}

/// The pathway of a case and the bytes it keeps: with the site's own signers, where the settings name some.
///
/// # Errors
/// Why there is none, in one line.
pub(super) fn pathway_of(draft: &Draft, settings: &Settings) -> Result<(Pathway, Vec<u8>), String> {
    let unknown = || format!("There is no pathway \"{}\", built in or of this site", draft.plan.pathway);
    let found = pathways::of(&draft.offers, draft.chosen.as_deref()).ok_or_else(unknown)?;
    let (mut pathway, bytes) = found.clone();
    let signers: Vec<Role> = settings.signers.iter().filter_map(|code| phrases::role_of(code)).collect();
    if signers.is_empty() || signers == pathway.signers {
        return Ok((pathway, bytes));
    }
    let missing: Vec<Role> = signers.iter().copied().filter(|role| !pathway.team.contains(role)).collect();
    pathway.team.extend(missing);
    pathway.signers = signers;
    let bytes = serde_json::to_vec_pretty(&pathway).map_err(|fault| fault.to_string())?;
    let pathway = pathway::read(&bytes).map_err(|fault| format!("With the signers of the settings: {fault}"))?;
    Ok((pathway, bytes))
}

/// Shows the draft.
pub(super) fn fill(app: &Shared) {
    let Some(window) = window(app) else { return };
    let around = around::of(app);
    let (side, patient, procedure, plan, team, cautions, refusal, remark) = {
        let (app, draft) = (app.borrow(), around.set_up.borrow());
        let Some(draft) = draft.as_ref() else { return };
        let pathway = pathway_of(draft, &app.settings);
        let title = pathway.as_ref().map_or_else(|_| draft.plan.pathway.clone(), |(pathway, _)| pathway.title.clone());
        let sign = app.settings.decimal_sign.character();
        let team = team_rows(draft, &app.roster, pathway.as_ref().ok().map(|(pathway, _)| pathway));
        let cautions: Vec<SharedString> = draft.plan.cautions.iter().map(SharedString::from).collect();
        (
            phrases::operated(&phrases::sides(&draft.plan)),
            phrases::whose(&draft.plan),
            title.clone(),
            plan_rows(draft, &title, sign),
            team,
            cautions,
            refusal(draft, pathway.as_ref().map(|(pathway, _)| pathway).map_err(String::as_str)),
            pathway.as_ref().map(|(pathway, _)| together(draft, &app.roster, pathway)).unwrap_or_default(),
        )
    };
    let screen = window.global::<SetUp>();
    screen.set_side(side);
    screen.set_patient(patient.into());
    screen.set_procedure(procedure.into());
    screen.set_plan(model(plan));
    screen.set_team(model(team));
    screen.set_cautions(model(cautions));
    screen.set_remark(remark.into());
    screen.set_ready(refusal.is_none());
    screen.set_refusal(refusal.unwrap_or_default().into());
    plan_view::fill(app);
}

fn leave(app: &Shared) {
    around::of(app).set_up.take();
    home::show(app);
}

/// What creating the case came to.
enum Created {
    Case(Box<OpenCase>, Actor),
    Refused(String),
    Fault(OpenError),
}

fn open(app: &Shared) {
    home::put_away(app);
    match create(app) {
        Created::Case(case, holder) => enter(app, *case, holder),
        Created::Refused(why) => questions::tell(
            app,
            "The case is not opened yet",
            &why,
            "Nothing was written.",
            "Put right what is named, then open the case.",
        ),
        Created::Fault(fault) => returning::not_opened(app, &fault),
    }
}

fn create(app: &Shared) -> Created {
    let around = around::of(app);
    let notify = app.borrow().notify();
    let (app, draft) = (app.borrow(), around.set_up.borrow());
    let Some(draft) = draft.as_ref() else { return Created::Refused("nothing is set up".to_owned()) };
    let (pathway, pathway_bytes) = match pathway_of(draft, &app.settings) {
        Ok(found) => found,
        Err(why) => return Created::Refused(why),
    };
    if let Some(why) = refusal(draft, Ok(&pathway)) {
        return Created::Refused(why);
    }
    let holder = draft.holder.and_then(|role| Some(Actor::new(role, draft.team.get(&role)?.clone())));
    let Some(holder) = holder else { return Created::Refused("Nobody holds the tablet".to_owned()) };
    let plan = match draft.bytes.clone().map_or_else(|| serde_json::to_vec_pretty(&draft.plan), Ok) {
        Ok(bytes) => bytes,
        Err(fault) => return Created::Refused(format!("The plan cannot be written: {fault}")),
    };
    let folder = match new_folder(&app.world, &app.store) {
        Ok(folder) => folder,
        Err(fault) => return Created::Fault(fault),
    };
    let entry = app.settings.entry;
    let new = CreateCase {
        pathway: &pathway_bytes,
        plan: &plan,
        kind: CaseKind::Live,
        exercise: None,
        site: app.settings.site.clone(),
        team: draft.team.clone(),
        configured: Configured {
            burst_ms: entry.burst_ms,
            burst_answers: entry.burst_answers,
            late_ms: entry.late_ms,
            dose: dose_configured(&app.settings.dose),
        },
        by: holder.clone(),
        logged_by: holder.clone(),
        notify,
    };
    match OpenCase::create(&app.world, &folder, new) {
        Ok(case) => Created::Case(Box::new(case), holder),
        Err(fault) => Created::Fault(fault),
    }
}

/// What the site's settings say of dose, with what it has not confirmed.
pub(super) fn dose_configured(settings: &DoseSettings) -> DoseConfigured {
    let position = match settings.position {
        LyingSetting::Prone => Position::Prone,
        LyingSetting::Supine => Position::Supine,
    };
    let tube = match settings.tube {
        TubeSetting::UnderTable => TubeSide::UnderTable,
        TubeSetting::AboveTable => TubeSide::AboveTable,
    };
    let (coefficients, levels) = (settings.coefficients.as_deref(), settings.levels.as_deref());
    DoseConfigured::of(coefficients, levels, &settings.confirmed, position, tube)
}

/// A folder of a random name, which tells nothing of the case.
pub(super) fn new_folder(world: &crate::open_case::World, store: &Path) -> Result<PathBuf, OpenError> {
    let mut bits = [0; 16];
    world.randomness.fill(&mut bits).map_err(OpenError::Randomness)?;
    let name = uuid::Builder::from_random_bytes(bits).into_uuid();
    Ok(store.join(CASES).join(format!("case-{name}")))
}

fn enter(app: &Shared, case: OpenCase, holder: Actor) {
    around::of(app).set_up.take();
    {
        let mut app = app.borrow_mut();
        app.holder = Some(holder);
        (app.page, app.marking, app.scale) = (0, false, None);
        app.open = Some(case);
    }
    if let Some(window) = window(app) {
        window.global::<Shell>().set_place(Place::Operate);
    }
    app::refresh(app);
}
