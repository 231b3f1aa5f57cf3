//! One rehearsal as it runs: a control comes in with its time, what happened is noted, and the room is told what a room
//! would know.
//!
//! The same exercise and the same controls give the same rehearsal. What it does not do: no clock (times come in), no
//! journal (the case keeps that), no advice.

mod exposure;
mod pin_acts;

use super::bone::endangers;
use super::chance::Chance;
use super::console::Console;
use super::control::{Control, InPicture, Mishap, Note, Noted, Refusal, Shot, Told};
use super::driven::DrivenPin;
use super::machine::{Build, Machine, Moved};
use super::person::Person;
use super::score::tolerance;
use super::shown::Picture;
use super::truth::Truth;
use crate::carm::{Arm, Joint, Joints, Lying, Move, PatientPosition, Point, Vector, ViewName};
use crate::case::{Command, Exercise, RadiationCommand, Task};
use crate::dose::{Account, Moment, Reading, Shown};
use crate::pelvis::Pelvis;
use crate::pin::{EdgeName, Tool};
use crate::units::{Degrees, Millimetres};

/// A rehearsal.
#[derive(Debug, Clone)]
pub struct Rehearsal {
    exercise: Exercise,
    person: Person,
    truth: Truth,
    machine: Machine,
    console: Console,
    chance: Chance,
    pin: Option<DrivenPin>,
    tool: Tool,
    shots: Vec<Shot>,
    notes: Vec<Note>,
    plan: Mishaps,
    /// How far a support turns the pelvis back, degrees.
    supported: f64,
    /// Whether the machine moved since the last shot.
    stale: bool,
    over: bool,
    now_ms: u64,
}

/// What hangs on the screen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Image<'a> {
    /// Nothing was taken yet.
    None,
    /// The last image: machine, patient and pin stand as on it.
    Current(&'a Shot),
    /// The last image, held: something moved since.
    Held(&'a Shot),
}

/// What is thrown in, and when.
#[derive(Debug, Clone, Default)]
struct Mishaps {
    /// After that many advances.
    thrown_after: Option<(u32, Mishap)>,
    advances: u32,
    open: Option<Mishap>,
}

/// The guide pin, mm. Source: published sizes 2.8 to 3.2 mm.
pub const PIN_MM: f64 = 3.2;
/// The largest tool where no plan names one, mm. Source: 10 mm implants in the virtual implant study, BMC Musculoskelet
/// Disord 2019;20.
const TOOL_MM: f64 = 10.0;
/// Streams of draws.
const COURSE: u64 = 21;
/// Largest turn of one control, degrees, and way of one, mm.
const MOVE_MAX: [f64; 2] = [180.0, 500.0];
/// The thickest support, and how far one turns the pelvis otherwise than it says, one standard deviation, degrees. Common
/// practice, no source.
const SUPPORT_MAX_DEG: f64 = 25.0;
const SUPPORT_SD_DEG: f64 = 3.0;
/// A beam nearer to left and right than this cosine is a lateral.
const LATERAL: f64 = 0.8;

impl Rehearsal {
    /// Begins an exercise; `tool`: the largest planned along the pin, if a plan names one.
    #[must_use]
    pub fn begin(exercise: Exercise, tool: Option<Tool>) -> Self {
        let person = Person::of(exercise.person, exercise.operated, exercise.seed);
        let truth = Truth::of(&person.shape);
        let mut chance = Chance::of(u64::from(exercise.seed), COURSE);
        // How far the pelvis lies turned against its plan. Source: half of what planned and used outlets differ by
        // (Eastman and Routt 2015); the comparison's page says how.
        let turn = Degrees(chance.normal(2.9).clamp(-8.7, 8.7));
        let lying = Lying { position: PatientPosition::Prone, turn };
        let arm = Arm { lying, tube: exercise.tube, stand: exercise.stand, off_square: Degrees(chance.normal(2.0)) };
        let (joints, isocentre) = start(&mut chance);
        let machine = Machine::new(arm, Build::default(), person.thickness(), joints, isocentre);
        let plan = Mishaps::of(exercise.task, &mut chance);
        let tool = tool.unwrap_or(Tool { diameter: Millimetres(TOOL_MM), length: Millimetres(50.0) });
        Self {
            exercise,
            person,
            truth,
            machine,
            console: Console::default(),
            chance,
            pin: None,
            tool,
            shots: Vec::new(),
            notes: Vec::new(),
            plan,
            supported: 0.0,
            stale: true,
            over: false,
            now_ms: 0,
        }
    }

    /// Carries out one control at `at_ms` since the beginning.
    ///
    /// # Errors
    /// [`Refusal`], said plainly; nothing has changed then.
    pub fn act(&mut self, control: Control, at_ms: u64) -> Result<Told, Refusal> {
        if self.over {
            return Err(Refusal::Over);
        }
        self.now_ms = self.now_ms.max(at_ms);
        match control {
            Control::Drive { joint, by } => self.drive(joint, by),
            Control::Shift { by } => self.shift(by),
            Control::Support { back } => self.support(back),
            Control::Magnify { on } => Ok(self.magnify(on)),
            Control::Expose { view } => self.expose(view),
            Control::LetGo { seconds } => self.let_go(seconds),
            Control::Accept { view } => self.accept(view),
            Control::Reject { view } => self.reject(view),
            Control::Handle { mishap } => self.handle(mishap),
            Control::StopUnsure => Ok(self.end(Noted::StoppedUnsure)),
            Control::Finish => Ok(self.end(Noted::Finished)),
            pin => self.act_on_pin(pin),
        }
    }

    fn note(&mut self, what: Noted) {
        self.notes.push(Note { at_ms: self.now_ms, what });
    }

    fn drive(&mut self, joint: Joint, by: Degrees) -> Result<Told, Refusal> {
        bounded(by.0, MOVE_MAX[0])?;
        self.stale = true;
        match self.machine.drive(joint, by, &mut self.chance) {
            Moved::Done => Ok(Told::Moved),
            Moved::Touched(end) => {
                self.note(Noted::Collided(end));
                Ok(Told::Touched(end))
            }
        }
    }

    fn shift(&mut self, by: [f64; 3]) -> Result<Told, Refusal> {
        by.into_iter().try_for_each(|mm| bounded(mm, MOVE_MAX[1]))?;
        self.stale = true;
        self.machine.shift(Vector::from(by));
        Ok(Told::Moved)
    }

    fn support(&mut self, back: Degrees) -> Result<Told, Refusal> {
        let fits = (0.0..=SUPPORT_MAX_DEG).contains(&back.0) && self.pin.is_none();
        if !fits {
            return Err(Refusal::NoSupport { value: back.0 });
        }
        let really = back.0 + self.chance.normal(SUPPORT_SD_DEG);
        let more = really - std::mem::replace(&mut self.supported, really);
        self.machine.pelvis_turned(Degrees(more));
        self.stale = true;
        self.note(Noted::PelvisTurned(more));
        Ok(Told::Moved)
    }

    fn magnify(&mut self, on: bool) -> Told {
        self.stale |= on != self.machine.magnified();
        self.machine.magnify(on);
        Told::Moved
    }

    /// The last picture, if it still shows what is there.
    fn picture(&self) -> Result<&Shot, Refusal> {
        let shot = self.shots.last().filter(|_| !self.stale).ok_or(Refusal::NoPicture)?;
        if shot.contents == InPicture::Blank { Err(Refusal::Blank) } else { Ok(shot) }
    }

    fn accept(&mut self, view: ViewName) -> Result<Told, Refusal> {
        let pose = self.picture()?.pose;
        let off = self.truth.off(view, &pose.beam()).ok_or(Refusal::NotShown { view })?;
        let hides = self.hidden(view);
        self.note(Noted::Accepted { view, off: Some(off), hides });
        // A view found again is what a lost view asks for.
        if self.plan.open == Some(Mishap::LostView) && off.counts <= tolerance(view) {
            self.handle(Mishap::LostView)?;
        }
        Ok(Told::Accepted)
    }

    fn reject(&mut self, view: ViewName) -> Result<Told, Refusal> {
        let pose = self.picture()?.pose;
        let off = self.truth.off(view, &pose.beam()).ok_or(Refusal::NotShown { view })?;
        self.note(Noted::Rejected { view, off });
        Ok(Told::Rejected)
    }

    /// A breach by pin or drill that the last picture, taken for `view`, shows as bone.
    fn hidden(&self, view: ViewName) -> Option<EdgeName> {
        let (pin, shot) = (self.pin.as_ref()?, self.shots.last()?);
        let (line, length) = (pin.line(), self.within(pin)?);
        let diameter = self.diameter(pin);
        let picture = Picture { truth: &self.truth, side: self.exercise.operated, pose: &shot.pose };
        let apparent = picture.margins(view, &line, length, diameter);
        let bone = self.truth.bone(self.exercise.operated);
        let breached = bone
            .margins(&line, length, diameter)
            .into_iter()
            .filter(|(edge, margin)| endangers(*edge) && *margin < 0.0);
        breached.map(|(edge, _)| edge).find(|edge| apparent.iter().any(|one| one.edge == *edge && one.mm >= 0.0))
    }

    fn handle(&mut self, mishap: Mishap) -> Result<Told, Refusal> {
        if self.plan.open != Some(mishap) {
            return Err(Refusal::NothingToHandle);
        }
        self.plan.open = None;
        self.note(Noted::Handled(mishap));
        Ok(Told::Handled)
    }

    fn turn_pelvis(&mut self) {
        let by = self.chance.between(4.0, 10.0) * if self.chance.whether(0.5) { 1.0 } else { -1.0 };
        self.machine.pelvis_turned(Degrees(by));
        self.stale = true;
        self.note(Noted::PelvisTurned(by));
    }

    fn end(&mut self, how: Noted) -> Told {
        self.over = true;
        self.note(how);
        Told::Ended
    }

    #[must_use]
    pub fn exercise(&self) -> &Exercise {
        &self.exercise
    }

    #[must_use]
    pub fn person(&self) -> &Person {
        &self.person
    }

    #[must_use]
    pub fn shots(&self) -> &[Shot] {
        &self.shots
    }

    #[must_use]
    pub fn notes(&self) -> &[Note] {
        &self.notes
    }

    /// What hangs on the screen.
    #[must_use]
    pub fn image(&self) -> Image<'_> {
        match self.shots.last() {
            None => Image::None,
            Some(shot) if self.stale => Image::Held(shot),
            Some(shot) => Image::Current(shot),
        }
    }

    /// The console's running totals, as somebody at a live case would read them.
    #[must_use]
    pub fn reading(&self, moment: Moment) -> Reading {
        self.console.reading(moment, self.now_ms)
    }

    /// What the case is told when the console is read at that moment: the same command as at a live case.
    #[must_use]
    pub fn read_console(&self, moment: Moment) -> Command {
        let reading = self.reading(moment);
        let shown = Shown {
            kerma_area_product: reading.kerma_area_product,
            reference_air_kerma: reading.reference_air_kerma,
            fluoroscopy_time: reading.fluoroscopy_time,
            shots: reading.shots,
        };
        let machine = Some(reading.machine);
        Command::Radiation(RadiationCommand::ReadConsole { moment, machine, shown, confirmed: false, replaces: None })
    }

    /// Where the joints stand, in the room's moves from a vertical beam.
    #[must_use]
    pub fn moves(&self) -> Vec<Move> {
        Move::to(self.machine.arm(), &self.machine.readings())
    }

    /// What a turn of one joint is called in the room.
    #[must_use]
    pub fn move_of(&self, joint: Joint, by: Degrees) -> Move {
        Move::of(self.machine.arm(), joint, by)
    }

    #[must_use]
    pub fn magnified(&self) -> bool {
        self.machine.magnified()
    }

    #[must_use]
    pub fn over(&self) -> bool {
        self.over
    }

    #[must_use]
    pub fn pin(&self) -> Option<&DrivenPin> {
        self.pin.as_ref()
    }

    #[must_use]
    pub fn readings(&self) -> Joints {
        self.machine.readings()
    }

    /// The solids of this person, for pictures.
    #[must_use]
    pub fn solids(&self) -> Pelvis {
        self.person.solids()
    }

    /// What the console counted, by the account of a live case.
    #[must_use]
    pub fn dose(&self) -> Account {
        self.console.account(self.now_ms)
    }

    /// Milliseconds from the beginning to the last control.
    #[must_use]
    pub fn elapsed_ms(&self) -> u64 {
        self.now_ms
    }

    pub(super) fn truth(&self) -> &Truth {
        &self.truth
    }

    pub(super) fn tool(&self) -> &Tool {
        &self.tool
    }

    pub(super) fn open_mishap(&self) -> Option<Mishap> {
        self.plan.open
    }
}

/// The shot after which the pelvis turns in an exercise of re-aiming.
const RE_AIM_AFTER: u32 = 3;

/// A random start: nowhere near a view, within reach of the table.
fn start(chance: &mut Chance) -> (Joints, Point) {
    let joints = Joints {
        wag: Degrees(chance.between(-8.0, 8.0).round()),
        tilt: Degrees(chance.between(-12.0, 12.0).round()),
        orbit: Degrees(chance.between(-15.0, 15.0).round()),
    };
    let place = |chance: &mut Chance| chance.between(-40.0, 40.0);
    (joints, Point::new(place(chance), place(chance) + 20.0, place(chance) - 15.0))
}

impl Mishaps {
    fn of(task: Task, chance: &mut Chance) -> Self {
        if task != Task::Pathway {
            return Self::default();
        }
        let which = Mishap::ALL[if chance.whether(1.0 / 3.0) { 0 } else { 1 + usize::from(chance.whether(0.5)) }];
        let after = 2 + u32::from(chance.whether(0.5));
        Self { thrown_after: Some((after, which)), advances: 0, open: None }
    }
}

fn bounded(value: f64, most: f64) -> Result<(), Refusal> {
    if value.abs() <= most { Ok(()) } else { Err(Refusal::ImpossibleMove { value }) }
}
