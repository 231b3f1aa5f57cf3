//! `brimline perform`: a scripted case without a window, through the same open case as the tablet.
//!
//! Time is the script's own: a virtual clock jumps to each command. Run again on a case that is still open, it goes on
//! behind the last command whose events the journal holds.

mod progress;
mod virtual_clock;

use super::script::{self, Action, Cast, Script};
use super::{BAD_INPUT, COULD_NOT, NO, World, YES, cast};
use crate::case::{CaseKind, Configured, JoinedReport};
use crate::dose::{self, DoseReport};
use crate::open_case::{
    self, CreateCase, JoinError, Joining, OpenCase, OpenError, SaveState, SignError, keep_file, names,
};
use crate::people::PeopleStore;
use crate::people::{Actor, Role, Roster};
use crate::ports::{Disk, Randomness};
use crate::{pathway, plan};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;
use virtual_clock::VirtualClock;

/// Longest wait for the disk after a command.
const SAVE_WAIT: Duration = Duration::from_secs(20);

/// Perform a scripted case without a window.
#[derive(Debug, clap::Args)]
pub struct PerformArgs {
    /// The script.
    pub script: PathBuf,
    /// Stop after that many commands and leave the case open.
    #[arg(long, value_name = "N")]
    pub until: Option<usize>,
}

/// Ports that outlive the command's own borrow of the world.
#[derive(Clone)]
pub struct Ports {
    pub disk: Arc<dyn Disk>,
    pub randomness: Arc<dyn Randomness>,
}

/// Everything a script names, read and judged.
struct Loaded {
    script: Script,
    plan: Vec<u8>,
    pathway: Vec<u8>,
    people: cast::DemoPeople,
    /// Dose reports that the script names.
    reports: BTreeMap<String, Report>,
    /// First digits of the script's digest: names the case's folder.
    tag: String,
}

/// A dose report with the bytes it came from.
pub(super) struct Report {
    bytes: Vec<u8>,
    report: DoseReport,
}

/// Exit code 0: signed, closed, or stopped at `--until`; 1: refused; 2: a bad script; 3: disk or lock.
pub fn run(args: &PerformArgs, world: &mut World<'_>, ports: &Ports) -> u8 {
    perform(args, world, ports).unwrap_or_else(|code| code)
}

fn perform(args: &PerformArgs, world: &mut World<'_>, ports: &Ports) -> Result<u8, u8> {
    let loaded = load(&args.script, world)?;
    let store = world.store.clone();
    let people = PeopleStore::new(&*ports.disk, &store);
    let cast = loaded
        .people
        .enlist(&people, &*ports.randomness)
        .map_err(|fault| world.fail(COULD_NOT, format_args!("{fault}")))?;
    let actions = actions(&args.script, &loaded.script, &cast, world)?;
    let clock = Arc::new(VirtualClock::new(loaded.script.opened_at));
    let case_world =
        open_case::World { clock: clock.clone(), randomness: ports.randomness.clone(), disk: ports.disk.clone() };
    let roster = people.roster().map_err(|fault| world.fail(COULD_NOT, format_args!("{fault}")))?;
    let run = Run { loaded: &loaded, cast: &cast, roster: &roster, people: &people, clock: &clock, world: &case_world };
    let (open, from) = run.open_or_continue(&store, &actions).map_err(|fault| say(world, &fault))?;
    let upto = args.until.unwrap_or(actions.len()).min(actions.len());
    let open = run.play(open, &actions, from, upto).map_err(|fault| say(world, &fault))?;
    report(&open, world)
}

fn report(open: &OpenCase, world: &mut World<'_>) -> Result<u8, u8> {
    let signed = open.record().map_err(|fault| world.fail(COULD_NOT, format_args!("{fault}")))?.is_some();
    let state = open.case().state();
    world.say(format_args!(
        "{}: {}, {} shots, {} events",
        open.case().plan().label,
        state.status.word(),
        state.shots_total(),
        state.seq
    ))?;
    let last = if signed { open.record_path() } else { open.folder().join(names::JOURNAL) };
    world.say(format_args!("{}", last.display()))?;
    Ok(YES)
}

fn say(world: &mut World<'_>, stopped: &Stopped) -> u8 {
    world.fail(stopped.code, format_args!("{}", stopped.line))
}

/// Reads the script and all it names; nothing is written before all of it is sound.
fn load(path: &Path, world: &mut World<'_>) -> Result<Loaded, u8> {
    let bytes = world.read(path, script::MAX_BYTES)?;
    let bad = |world: &mut World<'_>, path: &Path, fault: &dyn std::fmt::Display| {
        world.fail(BAD_INPUT, format_args!("{}: {fault}", path.display()))
    };
    let script = script::read(&bytes).map_err(|fault| bad(world, path, &fault))?;
    let plan_path = path.with_file_name(&script.plan);
    let plan_bytes = world.read(&plan_path, plan::MAX_BYTES)?;
    let plan = plan::read(&plan_bytes).map_err(|fault| bad(world, &plan_path, &fault))?;
    let people_path = path.with_file_name(&script.people);
    let people_bytes = world.read(&people_path, cast::MAX_BYTES)?;
    let people = cast::read(&people_bytes).map_err(|fault| bad(world, &people_path, &fault))?;
    let pathway = match &script.pathway {
        Some(name) => {
            let pathway_path = path.with_file_name(name);
            let bytes = world.read(&pathway_path, pathway::MAX_BYTES)?;
            pathway::read(&bytes).map_err(|fault| bad(world, &pathway_path, &fault))?;
            bytes
        }
        None => {
            let unknown = format!("pathway: there is no built-in pathway \"{}\"", plan.pathway);
            pathway::built_in(&plan.pathway).ok_or_else(|| bad(world, &plan_path, &unknown))?.to_vec()
        }
    };
    let reports = reports(path, &script, world)?;
    let tag = crate::journal::Sum::of(&bytes).to_string().chars().take(12).collect();
    Ok(Loaded { script, plan: plan_bytes, pathway, people, reports, tag })
}

/// The dose reports that a script names, beside it.
fn reports(path: &Path, script: &Script, world: &mut World<'_>) -> Result<BTreeMap<String, Report>, u8> {
    let mut reports = BTreeMap::new();
    for name in script.reports() {
        let path = path.with_file_name(&name);
        let bytes = world.read(&path, dose::MAX_BYTES)?;
        let report = dose::read_report(&bytes)
            .map_err(|fault| world.fail(BAD_INPUT, format_args!("{}: {fault}", path.display())))?;
        reports.insert(name, Report { bytes, report });
    }
    Ok(reports)
}

/// One timed command, its people put in.
struct Timed {
    at_ms: i64,
    by: Role,
    logged_by: Role,
    action: Action,
}

fn actions(path: &Path, script: &Script, cast: &Cast, world: &mut World<'_>) -> Result<Vec<Timed>, u8> {
    let mut timed = Vec::new();
    let mut at_ms = 0;
    for (index, line) in script.commands.iter().enumerate() {
        let action = line
            .action(index, cast)
            .map_err(|fault| world.fail(BAD_INPUT, format_args!("{}: {fault}", path.display())))?;
        #[allow(clippy::cast_possible_truncation, reason = "reading a script bounds it to a week")]
        let after_ms = (line.after_s * 1_000.0).round() as i64;
        at_ms += after_ms;
        timed.push(Timed { at_ms, by: line.by, logged_by: line.logged_by, action });
    }
    Ok(timed)
}

/// Why a performance ended early, with its exit code.
struct Stopped {
    code: u8,
    line: String,
}

impl From<OpenError> for Stopped {
    fn from(fault: OpenError) -> Self {
        Self { code: if fault.is_bad_input() { BAD_INPUT } else { COULD_NOT }, line: fault.to_string() }
    }
}

/// One performance.
struct Run<'a> {
    loaded: &'a Loaded,
    cast: &'a Cast,
    roster: &'a Roster,
    people: &'a PeopleStore<'a>,
    clock: &'a Arc<VirtualClock>,
    world: &'a open_case::World,
}

impl Run<'_> {
    /// The case of this script that is not signed to the end yet, or a new one; and the command to begin with.
    fn open_or_continue(&self, store: &Path, actions: &[Timed]) -> Result<(OpenCase, usize), Stopped> {
        for number in 1.. {
            let name = if number == 1 { self.loaded.tag.clone() } else { format!("{}-{number}", self.loaded.tag) };
            let folder = store.join("cases").join(format!("performed-{name}"));
            match self.world.disk.read(&folder.join(names::JOURNAL), crate::journal::FILE_BYTES_MAX) {
                Err(_) => return Ok((self.create(&folder)?, 0)),
                Ok(bytes) => {
                    let open = OpenCase::reopen(self.world, &folder, Arc::new(|| {}))?.case;
                    let done = progress::acknowledged(&open, &bytes, actions, self.cast);
                    if done < actions.len() {
                        return Ok((open, done));
                    }
                }
            }
        }
        unreachable!("numbers do not end before folders do")
    }

    fn create(&self, folder: &Path) -> Result<OpenCase, Stopped> {
        let holder = self.actor(Role::CirculatingNurse).or_else(|| self.actor(Role::Surgeon));
        let missing = || Stopped { code: BAD_INPUT, line: "people: nobody holds the tablet".to_owned() };
        let holder = holder.ok_or_else(missing)?;
        let new = CreateCase {
            pathway: &self.loaded.pathway,
            plan: &self.loaded.plan,
            kind: CaseKind::Live,
            exercise: None,
            site: None,
            team: self.cast.team.clone(),
            configured: Configured::default(),
            by: holder.clone(),
            logged_by: holder,
            notify: Arc::new(|| {}),
        };
        Ok(OpenCase::create(self.world, folder, new)?)
    }

    fn actor(&self, role: Role) -> Option<Actor> {
        self.cast.team.get(&role).map(|person| Actor::new(role, person.clone()))
    }

    fn play(&self, mut open: OpenCase, actions: &[Timed], from: usize, upto: usize) -> Result<OpenCase, Stopped> {
        for (index, timed) in actions.iter().enumerate().take(upto).skip(from) {
            self.clock.go_to(timed.at_ms);
            let refused = |line: String| Stopped { code: NO, line: format!("commands[{index}]: {line}") };
            let actor = |role| self.actor(role).ok_or_else(|| refused(format!("nobody is {role}")));
            let (by, logged_by) = (actor(timed.by)?, actor(timed.logged_by)?);
            match &timed.action {
                Action::PowerCut => open = self.cut_power(open)?,
                Action::Sign(role) => self.sign(&mut open, *role, &logged_by).map_err(|fault| match fault {
                    SignError::Disk { .. } => Stopped { code: COULD_NOT, line: fault.to_string() },
                    fault => refused(fault.to_string()),
                })?,
                Action::JoinReport(name) => {
                    self.join(&mut open, name, (&by, &logged_by)).map_err(|fault| refused(fault.to_string()))?;
                }
                Action::Case(command) => {
                    open.issue(&by, &logged_by, command.clone()).map_err(|fault| refused(fault.to_string()))?;
                }
            }
            let saved = open.wait_saved(SAVE_WAIT);
            if saved != SaveState::Saved {
                let path = open.folder().join(names::JOURNAL);
                return Err(Stopped { code: COULD_NOT, line: format!("{}: not saved: {saved:?}", path.display()) });
            }
        }
        Ok(open)
    }

    fn join(&self, open: &mut OpenCase, name: &str, (by, logged_by): (&Actor, &Actor)) -> Result<(), JoinError> {
        let Report { bytes, report } = &self.loaded.reports[name];
        let joining = Joining { file: name, bytes };
        let sha256 = keep_file(self.world, open.folder(), false, &joining)?;
        let joined = JoinedReport::of(report, name.to_owned(), sha256, true);
        open.join_report(joined, report, by, logged_by).map(|_| ())
    }

    fn cut_power(&self, open: OpenCase) -> Result<OpenCase, Stopped> {
        let folder = open.folder().to_owned();
        drop(open);
        self.clock.restart();
        Ok(OpenCase::reopen(self.world, &folder, Arc::new(|| {}))?.case)
    }

    fn sign(&self, open: &mut OpenCase, role: Role, logged_by: &Actor) -> Result<(), SignError> {
        let passcode = self.loaded.people.passcode(role).ok_or(SignError::OtherKey(role))?;
        let kid = self.cast.team.get(&role).ok_or(SignError::OtherKey(role))?;
        let key = self.people.open(kid, &passcode).map_err(|_| SignError::OtherKey(role))?;
        let gates = u32::try_from(open.case().state().overrides().count()).unwrap_or(u32::MAX);
        open.sign_record(&key, role, logged_by, gates, self.roster).map(|_| ())
    }
}
