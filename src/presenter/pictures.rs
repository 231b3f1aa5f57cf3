//! Pictures of the open case: which lie in its folder, and reading one beside the window.

use super::app::Shared;
use super::picture::{OPENED, Picture};
use super::questions::row;
use super::{questions, worker};
use crate::ports::image::FILE_BYTES_MAX;
use brimline_ui::PickRow;
use chrono::{DateTime, FixedOffset, NaiveDateTime};
use std::path::PathBuf;

/// The folder of a case that holds its pictures.
const FOLDER: &str = "images";
/// Folders of the store that hold pictures for plans.
const PLAN_FOLDERS: [&str; 2] = ["plans/images", "received"];
/// How a received file's name begins.
const RECEIVED: &str = "%Y%m%dT%H%M%S%3fZ";

fn folder(app: &Shared) -> Option<PathBuf> {
    Some(app.borrow().open.as_ref()?.folder().join(FOLDER))
}

/// Pictures to choose from, the newest first, and the way to have none.
pub(super) fn rows(app: &Shared, chosen: Option<&str>) -> Vec<PickRow> {
    let (folder, now) = (folder(app), app.borrow().world.clock.now().at);
    let disk = app.borrow().world.disk.clone();
    let mut names = folder.and_then(|folder| disk.list(&folder).ok()).unwrap_or_default();
    names.reverse();
    let mut rows: Vec<PickRow> = names.iter().map(|name| named(name, name, &now, chosen == Some(name))).collect();
    rows.push(row("", "No picture", "numbers are typed instead", chosen.is_none()));
    rows
}

/// A picture by when it was received, its file beside it; one of another name by that name.
fn named(id: &str, name: &str, now: &DateTime<FixedOffset>, chosen: bool) -> PickRow {
    let when = when(name, now);
    if when.starts_with(OPENED) {
        return row(id, name, "", chosen);
    }
    row(id, &format!("Received {when}"), name, chosen)
}

/// When a picture came, as its name says it, else when it is opened.
fn when(name: &str, now: &DateTime<FixedOffset>) -> String {
    let received = name.split_once('-').and_then(|(at, _)| NaiveDateTime::parse_from_str(at, RECEIVED).ok());
    match received {
        Some(at) => at.and_utc().with_timezone(now.offset()).format("%H:%M").to_string(),
        None => format!("{OPENED} {}", now.format("%H:%M")),
    }
}

/// Pictures for a plan: in the folder of plans, and what was received and waits; each with its path below the store.
pub(super) fn rows_for_plans(app: &Shared) -> Vec<PickRow> {
    let app = app.borrow();
    let now = app.world.clock.now().at;
    let of = |folder: &&str| {
        let names = app.world.disk.list(&app.store.join(folder)).unwrap_or_default();
        let row_of = |name: &String| named(&format!("{folder}/{name}"), name, &now, false);
        names.iter().rev().map(row_of).collect::<Vec<_>>()
    };
    PLAN_FOLDERS.iter().flat_map(of).collect()
}

/// Reads a picture of a plan, by its path below the store.
pub(super) fn load_for_plan(app: &Shared, below: &str, then: impl FnOnce(&Shared, Picture) + 'static) {
    let known = PLAN_FOLDERS.iter().any(|folder| below.strip_prefix(folder).is_some_and(|rest| rest.starts_with('/')));
    let (path, name) = (app.borrow().store.join(below), below.rsplit('/').next().unwrap_or(below).to_owned());
    if known {
        load_path(app, path, &name, then);
    }
}

/// Reads a picture of the case beside the window; `then` gets it on the window's thread.
pub(super) fn load(app: &Shared, name: &str, then: impl FnOnce(&Shared, Picture) + 'static) {
    let Some(path) = folder(app).map(|folder| folder.join(name)) else { return };
    load_path(app, path, name, then);
}

fn load_path(app: &Shared, path: PathBuf, name: &str, then: impl FnOnce(&Shared, Picture) + 'static) {
    let (world, images) = (app.borrow().world.clone(), app.borrow().images);
    let (name, when) = (name.to_owned(), when(name, &world.clock.now().at));
    let work = move || {
        let bytes = world.disk.read(&path, FILE_BYTES_MAX).map_err(|fault| fault.to_string())?;
        images.read(&bytes).map_err(|fault| fault.to_string())
    };
    worker::start(app, "The picture is being opened", work, move |app, read| match read {
        Ok(image) => then(app, Picture::new(image, name, when)),
        Err(fault) => questions::tell(
            app,
            "The picture cannot be used",
            &format!("{name}: {fault}"),
            "Nothing changed. The file stays where it is.",
            "Choose another picture, or type what is seen.",
        ),
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_received_picture_says_when_it_came_in_the_room_s_time() {
        let now = DateTime::parse_from_rfc3339("2026-03-10T11:02:00+01:00").expect("a time");
        assert_eq!(when("20260310T094600000Z-2.25.7.dcm", &now), "10:46");
        assert_eq!(when("outlet.png", &now), "opened 11:02");
    }
}
