//! `brimline store check`: journals, records, addenda, index.

use super::super::review::{Place, Proof, ReviewPorts, index_path, prove, refuse};
use super::super::{NO, World, YES};
use super::manifest::{FILE_MAX, files};
use crate::journal;
use crate::people::PeopleStore;
use crate::record::{self, VerifiedRecord};
use std::path::Path;

/// What was looked at and what is wrong.
#[derive(Default)]
struct Found {
    journals: usize,
    records: usize,
    addenda: usize,
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
    world.say(format_args!(
        "{} journals, {} records, {} addenda, {rows}",
        found.journals, found.records, found.addenda
    ))?;
    for fault in &found.faults {
        world.fail(NO, format_args!("{fault}"));
    }
    if found.faults.is_empty() {
        world.say(format_args!("sound"))?;
    }
    Ok(if found.faults.is_empty() { YES } else { NO })
}

/// A journal is read to its end, a record verified against the store's roster, an addendum against its record.
fn look(path: &Path, world: &mut World<'_>, found: &mut Found) -> Result<(), u8> {
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let ending = path.extension().unwrap_or_default();
    let fault = if name.starts_with("journal") && ending == "jsonl" {
        found.journals += 1;
        journal::read(&world.read(path, FILE_MAX)?).err().map(|fault| fault.to_string())
    } else if name == "record.json" {
        found.records += 1;
        let bytes = world.read(path, FILE_MAX)?;
        verified(&bytes, world).err()
    } else if name.starts_with("addendum-") && ending == "json" {
        found.addenda += 1;
        let record = world.read(&path.with_file_name("record.json"), FILE_MAX)?;
        let bytes = world.read(path, FILE_MAX)?;
        addendum(&record, &bytes, world).err()
    } else {
        None
    };
    found.faults.extend(fault.map(|fault| format!("{}: {fault}", path.display())));
    Ok(())
}

fn verified(bytes: &[u8], world: &World<'_>) -> Result<VerifiedRecord, String> {
    let roster = PeopleStore::new(world.disk, &world.store).roster().map_err(|fault| fault.to_string())?;
    record::verify(bytes, &roster).map_err(|fault| fault.to_string())
}

fn addendum(record: &[u8], bytes: &[u8], world: &World<'_>) -> Result<(), String> {
    let roster = PeopleStore::new(world.disk, &world.store).roster().map_err(|fault| fault.to_string())?;
    let record = record::verify(record, &roster).map_err(|fault| format!("its record: {fault}"))?;
    record::verify_addendum(bytes, &record, &roster).map(|_| ()).map_err(|fault| fault.to_string())
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
