//! `brimline people`: the roster of a store and the keys of this device.
//!
//! A passcode comes from a file or standard input, never from an argument or a variable, where others could read it.

use super::{BAD_INPUT, COULD_NOT, NO, World, YES};
use crate::people::{KeyError, Passcode, Person, PersonId, Role};
use crate::people::{PeopleStore, PeopleStoreError};
use serde_json::json;
use std::io::Read;
use std::path::PathBuf;
use zeroize::Zeroizing;

/// Longest input that can hold two passcodes, bytes.
const PASSCODES_MAX: u64 = 1_024;

/// Keep the roster and the keys of a store.
#[derive(Debug, clap::Args)]
pub struct PeopleArgs {
    #[command(subcommand)]
    pub verb: PeopleVerb,
}

/// What to do with the people of a store.
#[derive(Debug, clap::Subcommand)]
pub enum PeopleVerb {
    /// Make an empty roster and this device's secret.
    Init,
    /// Add a person with a new key, or replace a person's lost key.
    Add(AddArgs),
    /// List the roster.
    List {
        /// Print it as JSON.
        #[arg(long)]
        json: bool,
    },
    /// Retire a key: it signs nothing new, and what it signed stays valid.
    Retire {
        /// The key's thumbprint.
        kid: String,
    },
    /// Seal a key under a new passcode: the old one first, the new one on the next line.
    ChangePasscode {
        /// The key's thumbprint.
        kid: String,
        #[command(flatten)]
        passcode: PasscodeSource,
    },
}

/// Who is added.
#[derive(Debug, clap::Args)]
pub struct AddArgs {
    /// The person's name; not needed when a key is replaced.
    #[arg(long, required_unless_present = "replaces")]
    pub name: Option<String>,
    /// A role the person may act and sign in; may be given more than once.
    #[arg(long, value_parser = role, required_unless_present = "replaces")]
    pub role: Vec<Role>,
    /// The lost key that the new one takes the place of; name and roles stay.
    #[arg(long, value_name = "KID", conflicts_with_all = ["name", "role"])]
    pub replaces: Option<String>,
    #[command(flatten)]
    pub passcode: PasscodeSource,
}

/// Where passcodes come from.
#[derive(Debug, clap::Args)]
pub struct PasscodeSource {
    /// A file that holds the passcode; standard input if none is named.
    #[arg(long, value_name = "FILE")]
    pub passcode_file: Option<PathBuf>,
}

fn role(text: &str) -> Result<Role, String> {
    let known = || Role::ALL.iter().map(|role| role.word().replace(' ', "-")).collect::<Vec<_>>().join(", ");
    let found = Role::ALL.into_iter().find(|role| role.word().replace(' ', "-") == text);
    found.ok_or_else(|| format!("the roles are {}", known()))
}

/// Exit code 0: done; 1: refused or a wrong passcode; 2: bad input; 3: the disk could not.
pub fn run(args: &PeopleArgs, world: &mut World<'_>) -> u8 {
    people(&args.verb, world).map_or_else(|code| code, |()| YES)
}

fn people(verb: &PeopleVerb, world: &mut World<'_>) -> Result<(), u8> {
    let (disk, random) = (world.disk, world.random);
    let store = PeopleStore::new(disk, &world.store);
    match verb {
        PeopleVerb::Init => {
            store.init(random).map_err(|fault| refuse(&fault, world))?;
            world.say(format_args!("{}", store.roster_path().display()))
        }
        PeopleVerb::Add(args) => add(args, &store, world),
        PeopleVerb::List { json } => {
            let roster = store.roster().map_err(|fault| refuse(&fault, world))?;
            list(roster.people(), *json, world)
        }
        PeopleVerb::Retire { kid } => store.retire(&PersonId(kid.clone())).map_err(|fault| refuse(&fault, world)),
        PeopleVerb::ChangePasscode { kid, passcode } => {
            let [old, new] = passcodes(passcode, world)?;
            let kid = PersonId(kid.clone());
            store.change_passcode(&kid, &old, &new, random).map_err(|fault| refuse(&fault, world))
        }
    }
}

fn add(args: &AddArgs, store: &PeopleStore<'_>, world: &mut World<'_>) -> Result<(), u8> {
    let [passcode] = passcodes(&args.passcode, world)?;
    let added = match (&args.replaces, &args.name) {
        (Some(old), _) => store.replace(&PersonId(old.clone()), &passcode, world.random),
        (None, Some(name)) => store.add(name, &args.role, &passcode, world.random),
        (None, None) => return Err(world.fail(BAD_INPUT, format_args!("--name or --replaces is needed"))),
    };
    let kid = added.map_err(|fault| refuse(&fault, world))?;
    world.say(format_args!("{kid}"))
}

fn list(people: &[Person], as_json: bool, world: &mut World<'_>) -> Result<(), u8> {
    if as_json {
        return world.say(format_args!("{}", json!({ "keys": people })));
    }
    for person in people {
        let roles = person.roles().iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
        let retired = if person.retired() { "  retired" } else { "" };
        world.say(format_args!("{}  {}  {roles}{retired}", person.kid(), person.name()))?;
    }
    Ok(())
}

/// Reads exactly `N` passcodes, one a line.
fn passcodes<const N: usize>(source: &PasscodeSource, world: &mut World<'_>) -> Result<[Passcode; N], u8> {
    let name = source.passcode_file.as_ref().map_or("standard input".to_owned(), |path| path.display().to_string());
    let bytes = if let Some(path) = &source.passcode_file {
        Zeroizing::new(world.read(path, PASSCODES_MAX)?)
    } else {
        let mut bytes = Zeroizing::new(Vec::new());
        let read = world.input.take(PASSCODES_MAX).read_to_end(&mut bytes);
        read.map_err(|fault| world.fail(COULD_NOT, format_args!("{name}: {fault}")))?;
        bytes
    };
    let text = std::str::from_utf8(&bytes).map_err(|_| world.fail(BAD_INPUT, format_args!("{name}: not UTF-8")))?;
    let mut passcodes = Vec::new();
    for (index, line) in text.lines().enumerate() {
        let passcode = Passcode::new(line.trim_end_matches('\r'));
        let line = index + 1;
        passcodes.push(passcode.map_err(|fault| world.fail(BAD_INPUT, format_args!("{name}, line {line}: {fault}")))?);
    }
    let found = passcodes.len();
    passcodes.try_into().map_err(|_| {
        world.fail(BAD_INPUT, format_args!("{name}: {N} lines with a passcode each are expected, not {found}"))
    })
}

fn refuse(fault: &PeopleStoreError, world: &mut World<'_>) -> u8 {
    let code = match fault {
        PeopleStoreError::Disk { .. } | PeopleStoreError::Key { fault: KeyError::Randomness(_), .. } => COULD_NOT,
        PeopleStoreError::Key { fault: KeyError::WrongPasscode, .. }
        | PeopleStoreError::RosterThere { .. }
        | PeopleStoreError::NoKeyHere { .. }
        | PeopleStoreError::Refused { .. } => NO,
        PeopleStoreError::NoRoster { .. }
        | PeopleStoreError::Roster { .. }
        | PeopleStoreError::Key { .. }
        | PeopleStoreError::NotAKid { .. } => BAD_INPUT,
    };
    world.fail(code, format_args!("{fault}"))
}
