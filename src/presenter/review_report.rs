//! A month's report as a PDF beside the index, written beside the window.
//!
//! The same pages as the command's, of the cases that are looked at. What it does not do: nothing leaves the store; a
//! report names cases by their labels and is for the site's own use.

use super::app::Shared;
use super::around::{self, AroundAsked};
use super::questions::{self, pick, row};
use super::review_filter::ReviewAsked;
use super::worker::{self, Work};
use super::{phrases, review};
use crate::review::{Month, Narrow, month_report};
use std::path::{Path, PathBuf};

/// Folder of the index and of what is written from it.
const FOLDER: &str = "review";

/// Asks which month.
pub(super) fn ask(app: &Shared) {
    let rows = {
        let around = around::of(app);
        let seen = around.review.borrow();
        let months = seen.cache.choices(&seen.asked.filter, Narrow::From).into_iter().rev();
        months.map(|(month, cases)| row(&month, &month, &phrases::several(cases as u64, "case"), false)).collect()
    };
    let hint = "Trends run over everything up to it. Names of cases stand in it: for this site alone.";
    pick(app, AroundAsked::Review(ReviewAsked::Report), "Report of which month", hint, rows);
}

/// The month was chosen.
pub(super) fn write(app: &Shared, word: &str) {
    around::close(app);
    let Some(month) = Month::of_word(word) else { return };
    let (world, store, ports) = review::outside(app);
    let (cache, asked) = {
        let around = around::of(app);
        let seen = around.review.borrow();
        (seen.cache.clone(), seen.asked.clone())
    };
    let path = store.join(FOLDER).join(format!("report-{month}.pdf"));
    let work = move || -> Result<PathBuf, String> {
        let title = format!("Brimline · Review of {month}");
        let bytes = ports.press.pdf(&title, &month_report(&cache, month, &asked))?;
        let kept = world.disk.create_folder(&store.join(FOLDER)).and_then(|()| world.disk.replace(&path, &bytes));
        kept.map(|()| path.clone()).map_err(|fault| format!("{}: {fault}", path.display()))
    };
    let started =
        worker::start_of(app, Work::OfReview, "Writing the report", work, |app, done: Result<PathBuf, String>| {
            match done {
                Ok(path) => told(app, &path),
                Err(why) => questions::tell(
                    app,
                    "The report was not written",
                    &why,
                    "The records and the figures are as they were.",
                    "Make room on the disk, or look at the charts here, then try again.",
                ),
            }
            review::fill(app);
        });
    if !started {
        questions::say(app, "A moment", "Records are being read", "Ask for the report again when they are.");
    }
    review::fill(app);
}

fn told(app: &Shared, path: &Path) {
    let words = format!("It lies at {}", path.display());
    questions::say(app, "The report is written", &words, "Cases stand in it by their labels: for this site's own use.");
}
