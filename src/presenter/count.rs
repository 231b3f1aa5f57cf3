//! A count by two people.

use super::app::{Shared, act, close_overlay, window};
use super::asked::Asked;
use super::case_view::model;
use super::{phrases, reasons};
use crate::case::{Answer, Command};
use crate::pathway::{Check, CheckKind, Place};
use crate::people::{Actor, PersonId, Role};
use brimline_ui::{AppWindow, CountAsked, CountItem, Over, Shell};
use slint::ComponentHandle;

/// Largest number of one item.
const NUMBER_MAX: u32 = 9_999;

/// Binds the overlay.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let shown = window.global::<CountAsked>();
    let on = app.clone();
    shown.on_typed(move |entry| typed(&on, entry.item, &entry.text));
    let on = app.clone();
    shown.on_change_second(move || ask_second(&on));
    let on = app.clone();
    shown.on_accept(move || accept(&on));
    let on = app.clone();
    shown.on_cancel(move || close_overlay(&on));
}

/// Asks a count; a closing count begins with no number, so that it is counted and not copied.
pub(super) fn ask(app: &Shared, place: Place, check: &Check) {
    let CheckKind::Count { items, .. } = &check.ask else { return };
    let second = second(app, check);
    let numbers = vec![None; items.len()];
    app.borrow_mut().asked = Asked::Count { place, check: check.id.clone(), numbers, second };
    let Some(window) = window(app) else { return };
    window.global::<CountAsked>().set_chosen(0);
    window.global::<CountAsked>().set_title(check.text.as_str().into());
    fill(app);
    window.global::<Shell>().set_over(Over::Count);
}

/// The second person: of the roles that may count, the first that is not the one who answers.
fn second(app: &Shared, check: &Check) -> Option<(Role, PersonId)> {
    let app = app.borrow();
    let answerer = app.answerer(&check.by)?;
    let first = app.actor(answerer)?;
    let others = check.by.iter().chain(&Role::ALL).copied().filter_map(|role| app.actor(role));
    others.into_iter().find(|other| other.person != first.person).map(|other| (other.role, other.person))
}

fn fill(app: &Shared) {
    let Some(window) = window(app) else { return };
    let shown = window.global::<CountAsked>();
    let Some((items, second, complete, differing)) = rows(app) else { return };
    shown.set_items(model(items));
    shown.set_second(second.into());
    shown.set_complete(complete);
    shown.set_hint("Counted aloud by two people".into());
    shown.set_refusal(if differing { "Differs from the first count: count again".into() } else { "".into() });
}

fn rows(app: &Shared) -> Option<(Vec<CountItem>, String, bool, bool)> {
    let app = app.borrow();
    let Asked::Count { place, check, numbers, second } = &app.asked else { return None };
    let case = app.case()?;
    let CheckKind::Count { items, .. } = &case.check_at(place, check)?.ask else { return None };
    let earlier = case.earlier_count(place, check);
    let rows = items.iter().enumerate().map(|(index, item)| {
        let before = earlier.and_then(|earlier| earlier.get(index)).copied();
        let now = numbers.get(index).copied().flatten();
        CountItem {
            label: item.as_str().into(),
            value: now.map(|now| now.to_string()).unwrap_or_default().into(),
            earlier: before.map(|before| format!("before: {before}")).unwrap_or_default().into(),
            differs: before.is_some() && now.is_some() && before != now,
        }
    });
    let rows: Vec<CountItem> = rows.collect();
    let differing = rows.iter().any(|row| row.differs);
    let complete = second.is_some() && numbers.iter().all(Option::is_some);
    let second = second.as_ref().map_or_else(|| "nobody".to_owned(), |(role, _)| role.word().to_owned());
    Some((rows, second, complete, differing))
}

fn typed(app: &Shared, item: i32, text: &str) {
    let number = text.parse::<u32>().ok().filter(|number| *number <= NUMBER_MAX);
    if let Asked::Count { numbers, .. } = &mut app.borrow_mut().asked
        && let Some(slot) = usize::try_from(item).ok().and_then(|item| numbers.get_mut(item))
        && (number.is_some() || text.is_empty())
    {
        *slot = number;
    }
    fill(app);
}

fn ask_second(app: &Shared) {
    let rows = {
        let app = app.borrow();
        let Some(case) = app.case() else { return };
        let team = case.state().team.iter();
        team.map(|(role, person)| reasons::row(&phrases::role_code(*role), &app.name_of(person), role.word())).collect()
    };
    let asked = app.borrow().asked.clone();
    app.borrow_mut().counting = asked;
    reasons::pick(app, Asked::Second, "Who counts with you", "", 1, rows);
}

/// The second person was chosen: back to the count.
pub(super) fn second_picked(app: &Shared, id: &str) {
    let chosen = phrases::role_of(id).and_then(|role| app.borrow().actor(role));
    let mut asked = std::mem::take(&mut app.borrow_mut().counting);
    if let (Asked::Count { second, .. }, Some(actor)) = (&mut asked, chosen) {
        *second = Some((actor.role, actor.person));
    }
    back(app, asked);
}

/// Back to a count that waited.
pub(super) fn back(app: &Shared, asked: Asked) {
    app.borrow_mut().asked = asked;
    fill(app);
    if let Some(window) = window(app) {
        window.global::<Shell>().set_over(Over::Count);
    }
}

fn accept(app: &Shared) {
    let asked = app.borrow().asked.clone();
    let Asked::Count { place, check, numbers, second: Some((role, person)) } = asked else { return };
    let Some(numbers) = numbers.into_iter().collect::<Option<Vec<u32>>>() else { return };
    close_overlay(app);
    let by = app.borrow().case().and_then(|case| case.check_at(&place, &check).map(|check| check.by.clone()));
    let first = app.borrow().answerer(&by.unwrap_or_default());
    if let Some(first) = first {
        let answer = Answer::Counted { numbers, second: Actor::new(role, person) };
        act(app, first, Command::Answer { place, check, answer });
    }
}
