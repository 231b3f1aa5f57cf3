//! Pictures of the open case: which lie in its folder, and reading one beside the window.

use super::app::Shared;
use super::picture::Picture;
use super::questions::row;
use super::{questions, worker};
use crate::ports::image::FILE_BYTES_MAX;
use brimline_ui::PickRow;
use chrono::{DateTime, FixedOffset, NaiveDateTime};
use std::path::PathBuf;

/// The folder of a case that holds its pictures.
const FOLDER: &str = "images";
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
    let mut rows: Vec<PickRow> =
        names.iter().map(|name| row(name, name, &when(name, &now), chosen == Some(name))).collect();
    rows.push(row("", "No picture", "numbers are typed instead", chosen.is_none()));
    rows
}

/// When a picture came, as its name says it, else when it is opened.
fn when(name: &str, now: &DateTime<FixedOffset>) -> String {
    let received = name.split_once('-').and_then(|(at, _)| NaiveDateTime::parse_from_str(at, RECEIVED).ok());
    match received {
        Some(at) => at.and_utc().with_timezone(now.offset()).format("%H:%M").to_string(),
        None => format!("opened {}", now.format("%H:%M")),
    }
}

/// Reads a picture beside the window; `then` gets it on the window's thread.
pub(super) fn load(app: &Shared, name: &str, then: impl FnOnce(&Shared, Picture) + 'static) {
    let Some(path) = folder(app).map(|folder| folder.join(name)) else { return };
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
            "Nothing of the case changed. The file stays where it is.",
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
