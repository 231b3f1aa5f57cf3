//! What the pedal does: a shot, or a run of them until it is let go.

use super::{RE_AIM_AFTER, Rehearsal};
use crate::carm::{Pose, ViewName};
use crate::case::Task;
use crate::rehearse::console::{Cost, RUN_MAX_S, SHOT_S};
use crate::rehearse::control::{InPicture, Noted, Refusal, Shot, Told};

/// Views that show how deep a pin stands, and how far a beam may be from one of them to do so: head-foot and across,
/// degrees. Common practice, no source.
const DEPTH_VIEWS: [ViewName; 5] = [
    ViewName::InletBody,
    ViewName::InletCanal,
    ViewName::OutletWorking,
    ViewName::OutletEndplate,
    ViewName::OutletEnFace,
];
const LOOK_DEG: [f64; 2] = [10.0, 20.0];

impl Rehearsal {
    pub(super) fn expose(&mut self, meant: Option<ViewName>) -> Result<Told, Refusal> {
        let shot = self.shown_now(self.console.shots + 1, meant)?;
        self.console.count(&shot.cost);
        let told = self.shows(&shot);
        self.shots.push(shot);
        self.note(Noted::Shot(self.shots.len() - 1));
        if self.exercise.task == Task::ReAim && self.console.shots == RE_AIM_AFTER {
            self.turn_pelvis();
        }
        Ok(told)
    }

    /// The whole run costs as its last moment did: where the machine moved meanwhile, that is an approximation.
    pub(super) fn let_go(&mut self, seconds: f64) -> Result<Told, Refusal> {
        let held = seconds.is_finite() && seconds > 0.0;
        let last = self.shots.last().filter(|_| held).ok_or(Refusal::NoRun)?;
        // No press is shorter than a shot, and the machine ends a longer one by itself.
        let seconds = seconds.clamp(SHOT_S, RUN_MAX_S);
        let mut shot = self.shown_now(last.number, last.meant)?;
        self.console.run(&shot.cost, seconds);
        let times = seconds / SHOT_S;
        shot.cost = Cost { air_kerma: shot.cost.air_kerma * times, kerma_area: shot.cost.kerma_area * times };
        (shot.at_ms, shot.seconds) = (last.at_ms, seconds);
        let told = self.shows(&shot);
        let run = self.shots.len() - 1;
        self.shots[run] = shot;
        Ok(told)
    }

    /// What the beam shows as things stand now, as a shot of that number; nothing is counted.
    ///
    /// # Errors
    /// [`Refusal::NotShown`].
    pub fn shown_now(&self, number: u32, meant: Option<ViewName>) -> Result<Shot, Refusal> {
        let pose = self.machine.pose();
        let off = match meant {
            Some(view) => Some(self.truth.off(view, &pose.beam()).ok_or(Refusal::NotShown { view })?),
            None => None,
        };
        let (girth, magnified) = (self.person.shape.girth, self.machine.magnified());
        let cost = Cost::of(&pose, &self.machine.isocentre(), girth, self.machine.build().half_field, magnified);
        let contents = self.contents();
        Ok(Shot {
            number,
            at_ms: self.now_ms,
            meant,
            readings: self.machine.readings(),
            pose,
            off,
            contents,
            half_field: self.machine.half_field(),
            seconds: SHOT_S,
            shows_depth: contents == InPicture::BoneAndPin && self.shows_depth(&pose),
            cost,
            pin: self.pin.clone(),
        })
    }

    /// A picture came: what was to be seen on it was seen.
    fn shows(&mut self, shot: &Shot) -> Told {
        if let Some(pin) = self.pin.as_mut().filter(|_| shot.shows_depth) {
            pin.seen();
        }
        self.stale = false;
        Told::Shown { number: shot.number, readings: shot.readings, contents: shot.contents }
    }

    /// Whether a beam is near enough to an inlet or an outlet to show how deep a pin stands: a lateral sees it end on.
    fn shows_depth(&self, pose: &Pose) -> bool {
        DEPTH_VIEWS
            .into_iter()
            .filter_map(|view| self.truth.off(view, &pose.beam()))
            .any(|off| off.head_foot.abs() <= LOOK_DEG[0] && off.across.abs() <= LOOK_DEG[1])
    }

    /// What lies in the field now.
    fn contents(&self) -> InPicture {
        let landmarks = [self.truth.front_at(0.0), self.truth.front_at(0.36), self.truth.s2_body()];
        if !landmarks.iter().any(|place| self.machine.in_field(place)) {
            return InPicture::Blank;
        }
        let tip = self.pin.as_ref().map(|pin| pin.at(pin.depth));
        if tip.is_some_and(|tip| self.machine.in_field(&tip)) { InPicture::BoneAndPin } else { InPicture::Bone }
    }
}
