//! How an exercise ends in its case: what was not done is said, how it ended is answered, and the case is closed.
//!
//! What it does not do: it judges nothing (the score does), and a whole pathway ends as Operate ends it.

use super::app::{self, Shared, act_as_holder};
use super::around;
use super::exercise::{self, control};
use super::exercise_case::RESULT;
use crate::case::{Answer, Command, PlaceLayout, RadiationCommand, Task};
use crate::dose::{Moment, Shown};
use crate::pathway::{Check, CheckKind, Place};
use crate::rehearse::{Control, Score, Verdict};

/// Said of a view that the exercise asked for.
const NOT_ACCEPTED: &str = "not accepted in the exercise";
/// Said of incision and closure.
const NO_SKIN: &str = "a model has no skin";

fn task(app: &Shared) -> Option<Task> {
    around::of(app).rehearsing.borrow().as_ref().map(|running| running.session.exercise().task)
}

/// The trainee is done.
pub(super) fn finish(app: &Shared) {
    if task(app).is_some_and(|task| task != Task::Pathway) {
        end(app, Control::Finish);
    }
}

/// It is not safe to go on: an exercise ends, a whole pathway goes to its own Stop.
pub(super) fn stop(app: &Shared) {
    if task(app) == Some(Task::Pathway) {
        act_as_holder(app, Command::Stop { reason: "not safe to go on".to_owned() });
        return;
    }
    end(app, Control::StopUnsure);
}

fn end(app: &Shared, how: Control) {
    control(app, how);
    read_console(app, Moment::End);
    answer_open(app);
    act_as_holder(app, Command::Finish);
}

/// What the console shows becomes a reading of the case, as a live case has it.
pub(super) fn read_console(app: &Shared, moment: Moment) {
    let reading = around::of(app).rehearsing.borrow().as_ref().map(|running| running.session.reading(moment));
    let Some(reading) = reading else { return };
    let shown = Shown {
        kerma_area_product: reading.kerma_area_product,
        reference_air_kerma: reading.reference_air_kerma,
        fluoroscopy_time: reading.fluoroscopy_time,
        shots: reading.shots,
    };
    act_as_holder(
        app,
        Command::Radiation(RadiationCommand::ReadConsole {
            moment,
            machine: None,
            shown,
            confirmed: false,
            replaces: None,
        }),
    );
}

/// Views that were not accepted, and how it ended.
fn answer_open(app: &Shared) {
    let result = {
        let around = around::of(app);
        let running = around.rehearsing.borrow();
        let Some(running) = running.as_ref() else { return };
        let app = app.borrow();
        result(&Score::of(&running.session, app.case().map(crate::case::Case::state)).verdict)
    };
    let (by, places) = {
        let app = app.borrow();
        let (Some(case), Some(holder)) = (app.case(), app.holder.as_ref()) else { return };
        let of = |at: &PlaceLayout<'_>| {
            let open = case.open_checks(at).into_iter().cloned().collect::<Vec<_>>();
            (at.place.clone(), open, at.step.gate.is_some())
        };
        (holder.role, case.places().iter().map(of).collect::<Vec<_>>())
    };
    for (place, open, gate) in places {
        for check in open {
            act_as_holder(app, closing(place.clone(), &check, result));
        }
        // That the trainee ends the exercise releases the gate at its end.
        if gate {
            app::act(app, by, Command::ReleaseGate { place, role: by });
        }
    }
    if exercise::runs(app) {
        app::refresh(app);
    }
}

/// What closes a check that is still open.
fn closing(place: Place, check: &Check, result: &str) -> Command {
    let id = check.id.clone();
    match &check.ask {
        CheckKind::Choice { .. } if check.id == RESULT => {
            Command::Answer { place, check: id, answer: Answer::Chosen { option: result.to_owned() } }
        }
        CheckKind::View { .. } => Command::NotDone { place, check: id, reason: NOT_ACCEPTED.to_owned() },
        _ => Command::NotDone { place, check: id, reason: NO_SKIN.to_owned() },
    }
}

/// The id of how it ended.
fn result(verdict: &Verdict) -> &'static str {
    match verdict {
        Verdict::Passed => "passed",
        Verdict::Failed(_) => "failed",
        Verdict::StoppedUnsure => "stopped",
        Verdict::NotDone(_) => "not-done",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenter::exercise_case::RESULTS;

    #[test]
    fn every_verdict_is_one_of_the_results_that_the_pathway_offers() {
        for verdict in [Verdict::Passed, Verdict::Failed(vec![]), Verdict::StoppedUnsure, Verdict::NotDone(vec![])] {
            assert!(RESULTS.iter().any(|(id, _)| *id == result(&verdict)), "{verdict:?}");
        }
    }
}
