//! What is done to the pin: set on a lateral, turned, advanced, drawn back, drilled over; and what is thrown in meanwhile.

use super::{LATERAL, Mishap, PIN_MM, Rehearsal};
use crate::carm::{Direction, ImagePoint, Joint, Point, Vector};
use crate::pin::EdgeName;
use crate::rehearse::bone::least;
use crate::rehearse::control::{Control, Noted, Refusal, Told};
use crate::rehearse::driven::{DrivenPin, FREE_MM, PinRefusal};
use crate::rehearse::machine::Moved;
use crate::units::{Degrees, Side};

/// How far outside the body a start is looked from, mm.
const OUTSIDE_MM: f64 = 250.0;
/// A bow that a mishap gives, mm at 50 mm.
const BENT_MM: f64 = 6.0;
/// How far a knock turns the machine, degrees.
const KNOCK_DEG: [f64; 2] = [7.0, 5.0];

impl Rehearsal {
    pub(super) fn act_on_pin(&mut self, control: Control) -> Result<Told, Refusal> {
        match control {
            Control::SetPin { at } => return self.set_pin(at),
            Control::TurnPin { head, front } => self.turn_pin(head, front)?,
            Control::Advance { mm } => return self.advance(mm),
            Control::Withdraw { mm } => {
                self.standing()?.withdraw(mm)?;
            }
            Control::ReplacePin => self.replace_pin()?,
            Control::Drill { mm } => return self.drill(mm),
            _ => unreachable!("other controls are carried out by the rehearsal itself"),
        }
        self.stands()
    }

    fn standing(&mut self) -> Result<&mut DrivenPin, Refusal> {
        self.pin.as_mut().ok_or(Refusal::Pin(PinRefusal::NoPin))
    }

    fn stands(&self) -> Result<Told, Refusal> {
        let pin = self.pin.as_ref().ok_or(Refusal::Pin(PinRefusal::NoPin))?;
        Ok(Told::PinStands { mm: pin.depth })
    }

    fn set_pin(&mut self, at: ImagePoint) -> Result<Told, Refusal> {
        let (pose, half) = self.picture().map(|shot| (shot.pose, shot.half_field))?;
        let on_picture = at.across_mm.abs() <= half && at.down_mm.abs() <= half;
        if !on_picture {
            return Err(Refusal::OutsidePicture);
        }
        let ray = pose.ray(at);
        if ray.direction.x.abs() < LATERAL {
            return Err(Refusal::NotLateral);
        }
        let lateral = if self.exercise.operated == Side::Left { 1.0 } else { -1.0 };
        // The way into the patient from his operated side.
        let inward = if ray.direction.x * lateral < 0.0 { ray.direction } else { -ray.direction };
        let share = (lateral * OUTSIDE_MM - ray.origin.x) / ray.direction.x;
        let outside: Point = ray.origin + ray.direction.into_inner() * share;
        let bone = self.truth.bone(self.exercise.operated);
        let way = bone.meets_hip(&outside, &inward).filter(|way| *way < OUTSIDE_MM);
        let way = way.ok_or(Refusal::Pin(PinRefusal::OutsidePatient))?;
        self.pin = Some(DrivenPin::set(outside + inward.into_inner() * way, inward));
        self.note(Noted::PinSet);
        self.stands()
    }

    fn turn_pin(&mut self, head: Degrees, front: Degrees) -> Result<(), Refusal> {
        super::bounded(head.0, 60.0)?;
        super::bounded(front.0, 60.0)?;
        let after_mm = self.notes.iter().rev().map_while(|note| match note.what {
            Noted::Turned { .. } | Noted::PinSet => None,
            Noted::Advanced { mm, .. } => Some(mm),
            _ => Some(0.0),
        });
        let after_mm = after_mm.sum();
        let pin = self.standing()?;
        let about = |way: Vector| Direction::try_new(pin.axis.cross(&way), 1e-6);
        let (Some(to_head), Some(to_front)) = (about(Vector::z()), about(-Vector::y())) else {
            return Err(Refusal::ImpossibleMove { value: head.0 });
        };
        pin.turn([(to_head, head), (to_front, front)])?;
        self.note(Noted::Turned { after_mm });
        Ok(())
    }

    fn replace_pin(&mut self) -> Result<(), Refusal> {
        let pin = self.standing()?;
        if pin.depth > FREE_MM {
            return Err(PinRefusal::Buried { depth_mm: pin.depth }.into());
        }
        *pin = DrivenPin::set(pin.entry, pin.axis);
        if self.plan.open == Some(Mishap::BentPin) {
            self.handle(Mishap::BentPin)?;
        }
        Ok(())
    }

    fn advance(&mut self, mm: f64) -> Result<Told, Refusal> {
        let ignored = self.plan.open;
        let mut chance = self.chance.clone();
        self.standing()?.advance(mm, &mut chance)?;
        self.chance = chance;
        self.note_ignored(ignored);
        let unseen = self.pin.as_ref().map_or(0.0, |pin| pin.unseen);
        let breach = self.breach();
        self.note(Noted::Advanced { mm, unseen, breach });
        self.plan.advances += 1;
        self.throw()
    }

    fn note_ignored(&mut self, ignored: Option<Mishap>) {
        // A bent pin shows on the next picture; going on before it could be seen is another fault.
        if let Some(mishap) = ignored.filter(|mishap| *mishap != Mishap::BentPin) {
            self.note(Noted::Ignored(mishap));
        }
    }

    fn drill(&mut self, mm: f64) -> Result<Told, Refusal> {
        let ignored = self.plan.open;
        let mut chance = self.chance.clone();
        let pin = self.standing()?;
        let bent = pin.bent();
        let carried = pin.drill(mm, &mut chance)?;
        let unseen = pin.drilled_unseen;
        self.chance = chance;
        self.note_ignored(ignored);
        if bent {
            self.note(Noted::Ignored(Mishap::BentPin));
        }
        let breach = self.breach();
        self.note(Noted::Drilled { mm, carried, unseen, bent, breach });
        // The pin's own scale is covered by the drill: what it was carried is not told.
        let pin = self.standing()?;
        Ok(Told::PinStands { mm: pin.depth - carried })
    }

    /// Throws the mishap once its time has come.
    fn throw(&mut self) -> Result<Told, Refusal> {
        let due = self.plan.thrown_after.filter(|(after, _)| *after == self.plan.advances);
        let Some((_, mishap)) = due else { return self.stands() };
        self.plan.thrown_after = None;
        self.plan.open = Some(mishap);
        self.note(Noted::Thrown(mishap));
        match mishap {
            Mishap::Bleeding => Ok(Told::Happened(mishap)),
            Mishap::LostView => {
                for (joint, by) in [Joint::Tilt, Joint::Orbit].into_iter().zip(KNOCK_DEG) {
                    let way = if self.chance.whether(0.5) { by } else { -by };
                    if self.machine.turn(joint, way) != Moved::Done {
                        self.machine.turn(joint, -way);
                    }
                }
                self.stale = true;
                Ok(Told::Happened(mishap))
            }
            Mishap::BentPin => {
                let aside = self.chance.between(0.0, std::f64::consts::TAU);
                let pin = self.standing()?;
                let one = Direction::new_normalize(pin.axis.cross(&Vector::z()));
                let other = pin.axis.cross(&one);
                pin.bow = one.into_inner() * (BENT_MM * aside.cos()) + other * (BENT_MM * aside.sin());
                // Nobody is told: it shows on the picture.
                self.stands()
            }
        }
    }

    /// How much of the pin, from its tip back, lies in the sacrum and across the joint; nothing before it meets them.
    pub(in crate::rehearse) fn within(&self, pin: &DrivenPin) -> Option<f64> {
        let bone = self.truth.bone(self.exercise.operated);
        let enters = bone.enters_sacrum(&pin.line(), pin.depth)?;
        (enters < 0.0).then_some(-enters)
    }

    /// Of what runs along the pin now.
    pub(in crate::rehearse) fn diameter(&self, pin: &DrivenPin) -> f64 {
        if pin.drilled > 0.0 { self.tool().diameter.0 } else { PIN_MM }
    }

    /// The worst breach of pin or drill, mm outside.
    pub(in crate::rehearse) fn breach(&self) -> Option<(EdgeName, f64)> {
        let pin = self.pin.as_ref()?;
        let length = self.within(pin)?;
        let bone = self.truth.bone(self.exercise.operated);
        let margins = bone.margins(&pin.line(), length, self.diameter(pin));
        least(&margins).filter(|(_, margin)| *margin < 0.0)
    }
}
