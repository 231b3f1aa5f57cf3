//! The pathways a case can be set up with: those built in, and the site's own copies in the store's `pathways` folder.
//!
//! A copy that is faulty is listed with its first fault and cannot be chosen. What it does not do: it changes no file,
//! and no copy takes a built-in pathway's place silently.

use super::questions::row;
use crate::open_case::World;
use crate::pathway::{self, Pathway, PathwayError};
use crate::plan::Plan;
use brimline_ui::PickRow;
use std::io::ErrorKind;
use std::path::Path;

/// Folder of the site's own pathways.
const PATHWAYS: &str = "pathways";

/// One pathway on offer.
pub(super) struct Offer {
    /// `built-in/` or `pathways/`, and the id or the file's name.
    pub key: String,
    /// The pathway and its bytes, or its first fault.
    pub found: Result<(Pathway, Vec<u8>), String>,
}

impl Offer {
    fn pathway(&self) -> Option<&Pathway> {
        self.found.as_ref().ok().map(|(pathway, _)| pathway)
    }

    fn is_built_in(&self) -> bool {
        self.key.starts_with("built-in/")
    }

    /// Where it comes from and its version.
    fn origin(&self) -> String {
        let from = self.key.strip_prefix("pathways/").map_or_else(|| "built in".to_owned(), str::to_owned);
        match &self.found {
            Ok((pathway, _)) => format!("{from}, version {}", pathway.version),
            Err(fault) => format!("cannot be chosen: {fault}"),
        }
    }
}

/// Everything on offer, built in first.
pub(super) fn offers(world: &World, store: &Path) -> Vec<Offer> {
    let built_in = pathway::built_in_ids().iter().filter_map(|id| {
        let bytes = pathway::built_in(id)?;
        Some(Offer { key: format!("built-in/{id}"), found: judge(bytes.to_vec()) })
    });
    let folder = store.join(PATHWAYS);
    let names = match world.disk.list(&folder) {
        Ok(names) => names,
        Err(fault) if fault.kind() == ErrorKind::NotFound => Vec::new(),
        Err(fault) => {
            let whole = Offer { key: PATHWAYS.to_owned(), found: Err(fault.to_string()) };
            return built_in.chain([whole]).collect();
        }
    };
    let files = names.into_iter().filter(|name| Path::new(name).extension().is_some_and(|ending| ending == "json"));
    let local = files.map(|name| {
        let read = world.disk.read(&folder.join(&name), pathway::MAX_BYTES);
        Offer { key: format!("{PATHWAYS}/{name}"), found: read.map_err(|fault| fault.to_string()).and_then(judge) }
    });
    built_in.chain(local).collect()
}

fn judge(bytes: Vec<u8>) -> Result<(Pathway, Vec<u8>), String> {
    match pathway::read(&bytes) {
        Ok(pathway) => Ok((pathway, bytes)),
        Err(PathwayError::Faulty { faults }) => {
            let first = faults.first().map(ToString::to_string).unwrap_or_default();
            Err(if faults.len() > 1 { format!("{first}, and {} more", faults.len() - 1) } else { first })
        }
        Err(PathwayError::Unreadable(fault)) => Err(fault.to_string()),
    }
}

/// The offer a plan begins with: the built-in one of its name, else the site's own.
pub(super) fn first(offers: &[Offer], plan: &Plan) -> Option<String> {
    let named = |offer: &&Offer| offer.pathway().is_some_and(|pathway| pathway.id == plan.pathway);
    offers.iter().find(named).map(|offer| offer.key.clone())
}

/// The offer of that key.
pub(super) fn of<'o>(offers: &'o [Offer], key: Option<&str>) -> Option<&'o (Pathway, Vec<u8>)> {
    offers.iter().find(|offer| Some(offer.key.as_str()) == key)?.found.as_ref().ok()
}

/// What stands beside the chosen pathway: where it comes from, and that there is another of its name.
pub(super) fn remark(offers: &[Offer], key: Option<&str>) -> (String, bool) {
    let Some(chosen) = offers.iter().find(|offer| Some(offer.key.as_str()) == key) else { return Default::default() };
    let id = chosen.pathway().map(|pathway| pathway.id.as_str());
    let same = |offer: &&Offer| offer.key != chosen.key && offer.pathway().map(|pathway| pathway.id.as_str()) == id;
    match offers.iter().find(same) {
        Some(other) if other.is_built_in() => (format!("{}, not the built-in one", chosen.origin()), true),
        Some(_) => (format!("{}; the site has its own", chosen.origin()), true),
        None => (chosen.origin(), false),
    }
}

/// All of them as rows to pick from.
pub(super) fn rows(offers: &[Offer], key: Option<&str>) -> Vec<PickRow> {
    let each = |offer: &Offer| {
        let title = offer.pathway().map_or_else(|| offer.key.clone(), |pathway| pathway.title.clone());
        let barred = offer.found.is_err();
        PickRow { barred, ..row(&offer.key, &title, &offer.origin(), Some(offer.key.as_str()) == key) }
    };
    offers.iter().map(each).collect()
}
