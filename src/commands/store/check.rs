//! `brimline store check`: journals, records, index.

use super::super::review::{Place, Proof, ReviewPorts, index_path, prove, refuse};
use super::super::{NO, World, YES};
use super::manifest::{FILE_MAX, files};
use crate::journal;
use crate::people::PeopleStore;
use crate::record;
use std::path::Path;

/// What was looked at and what is wrong.
#[derive(Default)]
struct Found {
    journals: usize,
    records: usize,
    faults: Vec<String>,
}

pub(super) fn run(world: &mut World<'_>, ports: &ReviewPorts) -> Result<u8, u8> {
    let cases = world.store.join("cases");
    let mut found = Found::default();
    for below in files(&cases, world)? {
        look(&cases.join(below), world, &mut found)?;
    }
    let indexed = index(world, ports, &mut found)?;
    let rows = indexed.map_or_else(|| "no index".to_owned(), |proof| format!("{} rows of the index", proof.records));
    world.say(format_args!("{} journals, {} records, {rows}", found.journals, found.records))?;
    for fault in &found.faults {
        world.fail(NO, format_args!("{fault}"));
    }
    if found.faults.is_empty() {
        world.say(format_args!("sound"))?;
    }
    Ok(if found.faults.is_empty() { YES } else { NO })
}

/// A journal is read to its end, a record verified against the store's roster.
fn look(path: &Path, world: &mut World<'_>, found: &mut Found) -> Result<(), u8> {
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let ending = path.extension().unwrap_or_default();
    let (is_journal, is_record) = (name.starts_with("journal") && ending == "jsonl", name == "record.json");
    if !is_journal && !is_record {
        return Ok(());
    }
    let bytes = world.read(path, FILE_MAX)?;
    let fault = if is_journal {
        found.journals += 1;
        journal::read(&bytes).err().map(|fault| fault.to_string())
    } else {
        found.records += 1;
        let roster = PeopleStore::new(world.disk, &world.store).roster();
        match roster {
            Ok(roster) => record::verify(&bytes, &roster).err().map(|fault| fault.to_string()),
            Err(fault) => Some(fault.to_string()),
        }
    };
    found.faults.extend(fault.map(|fault| format!("{}: {fault}", path.display())));
    Ok(())
}

fn index(world: &mut World<'_>, ports: &ReviewPorts, found: &mut Found) -> Result<Option<Proof>, u8> {
    let path = index_path(&world.store);
    let names = path.parent().map(|above| world.disk.list(above).unwrap_or_default()).unwrap_or_default();
    if !names.iter().any(|name| name == "index.sqlite") {
        return Ok(None);
    }
    let roster = match PeopleStore::new(world.disk, &world.store).roster() {
        Ok(roster) => roster,
        Err(fault) => {
            found.faults.push(fault.to_string());
            return Ok(None);
        }
    };
    let mut index =
        (ports.open)(&Place::File { path: path.clone(), create: false }).map_err(|fault| refuse(&fault, world))?;
    let fault = index.fault().map_err(|fault| refuse(&fault, world))?;
    found.faults.extend(fault.map(|fault| format!("{}: {fault}", path.display())));
    let proof = prove(&mut *index, &roster, false, world)?;
    let differed = proof.differed.iter().map(|digest| format!("row differs from its record: {digest}"));
    found.faults.extend(differed);
    found.faults.extend(proof.unsound.iter().map(|(digest, why)| format!("{digest}: {why}")));
    Ok(Some(proof))
}
