//! Somebody at a rehearsal who knows how far off he is: what a rehearsal notes serves to find the views, as no trainee
//! could.

use brimline::carm::{Joint, Point, Tube, ViewName};
use brimline::case::{Exercise, PersonKind, Task};
use brimline::pin::PinLine;
use brimline::rehearse::{Bone, Control, Refusal, Rehearsal, Score, Told, Truth};
use brimline::units::{Degrees, Side};

pub fn exercise(task: Task, seed: u32) -> Exercise {
    let (operated, stand) = (Side::Right, Side::Left);
    Exercise { task, person: PersonKind::Normal, operated, stand, tube: Tube::Under, seed }
}

/// A trainee.
#[derive(Clone)]
pub struct Trainee {
    pub rehearsal: Rehearsal,
    pub truth: Truth,
    pub ms: u64,
    /// Table or patient stood in the way of the last move.
    pub blocked: bool,
}

impl Trainee {
    pub fn at(task: Task, seed: u32) -> Self {
        Self::with(exercise(task, seed))
    }

    pub fn with(exercise: Exercise) -> Self {
        let rehearsal = Rehearsal::begin(exercise, None);
        let truth = Truth::of(&rehearsal.person().shape);
        Self { rehearsal, truth, ms: 0, blocked: false }
    }

    pub fn act(&mut self, control: Control) -> Result<Told, Refusal> {
        self.ms += 5_000;
        self.rehearsal.act(control, self.ms)
    }

    pub fn does(&mut self, control: Control) -> Told {
        self.act(control).unwrap_or_else(|refusal| panic!("{control:?}: {refusal}"))
    }

    pub fn shoot(&mut self, view: ViewName) -> [f64; 2] {
        self.does(Control::Expose { view: Some(view) });
        let off = self.rehearsal.shots().last().unwrap().off.unwrap();
        [off.head_foot, off.across]
    }

    /// Goes to a view, which this person can be shown.
    pub fn finds(&mut self, view: ViewName) {
        assert!(self.seeks(view), "{view}: {:?}", self.rehearsal.shots().last());
    }

    /// Goes to a view by what each move did to how far off it was; false if table or patient kept it out of reach.
    pub fn seeks(&mut self, view: ViewName) -> bool {
        self.centres();
        let lateral = view == ViewName::Lateral;
        let rough = |view| match view {
            ViewName::InletBody => (Joint::Tilt, -25.0),
            ViewName::OutletWorking => (Joint::Tilt, 43.0),
            _ => (Joint::Orbit, 90.0),
        };
        let now = self.rehearsal.readings();
        let (joint, to) = rough(view);
        for joint in [Joint::Wag, Joint::Tilt, Joint::Orbit] {
            self.drives(joint, -now.of(joint).0);
        }
        self.drives(joint, to);
        let joints = if lateral { [Joint::Wag, Joint::Orbit] } else { [Joint::Tilt, Joint::Orbit] };
        let mut signs = [1.0, 1.0];
        let mut off = self.shoot(view);
        for _ in 0..30 {
            let counts = if lateral { off[0].hypot(off[1]) } else { off[0].abs() };
            if counts < 1.2 {
                return true;
            }
            let axis = usize::from(lateral && off[1].abs() > off[0].abs());
            self.drives(joints[axis], signs[axis] * off[axis].abs().max(1.0).round());
            let next = self.shoot(view);
            if next[axis].abs() > off[axis].abs() {
                signs[axis] = -signs[axis];
            }
            off = next;
        }
        false
    }

    pub fn drives(&mut self, joint: Joint, by: f64) {
        if by != 0.0 {
            let told = self.does(Control::Drive { joint, by: Degrees(by) });
            self.blocked |= matches!(told, Told::Touched(_));
        }
    }

    /// Brings the central ray through the middle of S1 and S2.
    pub fn centres(&mut self) {
        self.does(Control::Expose { view: None });
        let pose = self.rehearsal.shots().last().unwrap().pose;
        let middle = self.truth.front_at(0.25);
        let beam = pose.beam().into_inner();
        let from_ray = (middle - pose.source) - beam * (middle - pose.source).dot(&beam);
        self.does(Control::Shift { by: [from_ray.x, from_ray.y, from_ray.z] });
    }

    /// The straight way across the joint with most bone around it, among those that hold enough of the sacrum.
    pub fn best(&self) -> PinLine {
        let side = self.rehearsal.exercise().operated;
        let foramen = self.truth.foramen(side, 1)[0];
        let lateral = if side == Side::Left { 1.0 } else { -1.0 };
        let x = foramen.centre.x + lateral * (foramen.radius + 3.0);
        let axis = if side == Side::Left { -nalgebra::Vector3::x_axis() } else { nalgebra::Vector3::x_axis() };
        let places = (-3..=5).flat_map(|y| (-3..=7).map(move |z| (f64::from(y) * 5.0, f64::from(z) * 5.0)));
        let lines = places.map(|(y, z)| {
            let tip = Point::new(x, foramen.centre.y + y, foramen.centre.z + z);
            let line = PinLine { tip, axis };
            let holds = -self.truth.bone(side).enters_sacrum(&line, 60.0).unwrap_or(0.0) >= 12.0;
            (line, least(self.truth.bone(side), &line, 12.0) + if holds { 100.0 } else { 0.0 })
        });
        lines.max_by(|a, b| a.1.total_cmp(&b.1)).unwrap().0
    }

    /// The best way moved forward until a pin just leaves the bone in front.
    pub fn out_in_front(&self) -> PinLine {
        let (mut line, bone) = (self.best(), self.truth.bone(self.rehearsal.exercise().operated));
        let inside = |line: &PinLine| least(bone, line, 12.0) > -1.5;
        for _ in 0..40 {
            if !inside(&line) {
                break;
            }
            line.tip.y -= 1.0;
        }
        line
    }

    /// A straight way across the joint above the foramen, whatever bone is around it.
    pub fn some_way(&self) -> PinLine {
        let side = self.rehearsal.exercise().operated;
        let foramen = self.truth.foramen(side, 1)[0];
        let axis = if side == Side::Left { -nalgebra::Vector3::x_axis() } else { nalgebra::Vector3::x_axis() };
        PinLine { tip: foramen.centre + nalgebra::Vector3::new(0.0, -5.0, 18.0) - axis.into_inner() * 10.0, axis }
    }

    /// Looks whether inlet and outlet can be had at all, and puts a support under the pelvis until they can.
    pub fn prepares(&mut self) {
        let tilt = |view| {
            let line = self.truth.view(view).unwrap().line;
            line.z.atan2(-line.y).to_degrees()
        };
        let (inlet, outlet) = (tilt(ViewName::InletBody), tilt(ViewName::OutletWorking));
        for back in [0.0, 4.0, 8.0, 12.0, 16.0] {
            if back > 0.0 {
                self.does(Control::Support { back: Degrees(back) });
            }
            self.blocked = false;
            for to in [-outlet - back + 4.0, -inlet - back - 4.0, 0.0] {
                self.drives(Joint::Tilt, to - self.rehearsal.readings().tilt.0);
            }
            if !self.blocked {
                return;
            }
        }
    }

    /// Sets and drives the pin along a line, looked at every 8 mm on the outlet.
    pub fn drives_pin(&mut self, line: &PinLine, short_mm: f64) {
        self.prepares();
        self.finds(ViewName::Lateral);
        self.does(Control::Accept { view: ViewName::Lateral });
        let pose = self.rehearsal.shots().last().unwrap().pose;
        let at = pose.project(&line.at(-60.0)).unwrap();
        self.does(Control::SetPin { at });
        self.aims(line);
        self.seeks(ViewName::OutletWorking);
        self.watched(line, short_mm);
    }

    /// Turns the pin until it points from its entry to the line's tip.
    pub fn aims(&mut self, line: &PinLine) {
        for _ in 0..4 {
            let pin = self.rehearsal.pin().unwrap();
            let (now, wanted) = (pin.axis, (line.tip - pin.entry).normalize());
            let head = (wanted.z.asin() - now.z.asin()).to_degrees();
            let front = ((-wanted.y).asin() - (-now.y).asin()).to_degrees();
            self.does(Control::TurnPin { head: Degrees(head), front: Degrees(front) });
        }
    }

    pub fn watched(&mut self, line: &PinLine, short_mm: f64) {
        let whole = (line.tip - self.rehearsal.pin().unwrap().entry).norm() - short_mm;
        while self.rehearsal.pin().unwrap().depth < whole - 0.5 {
            let mm = (whole - self.rehearsal.pin().unwrap().depth).min(8.0);
            self.does(Control::Advance { mm });
            self.does(Control::Expose { view: None });
        }
    }

    pub fn accepts(&mut self, view: ViewName) {
        self.finds(view);
        self.does(Control::Accept { view });
    }

    pub fn score(&self) -> Score {
        Score::of(&self.rehearsal, None)
    }
}

fn least(bone: &Bone, line: &PinLine, length: f64) -> f64 {
    bone.margins(line, length, 3.2).into_values().fold(f64::INFINITY, f64::min)
}
