//! `brimline pathway`: the built-in pathways, a pathway's outline, its faults, and the schema.
//!
//! What it does not do: it never writes a file. A local team redirects `show --json` into a copy and edits it.

mod outline;

use super::{BAD_INPUT, COULD_NOT, NO, World, YES};
use crate::pathway::{self, Fault, Pathway, PathwayError};
use crate::ports::Disk;
use clap::{Args, Subcommand};
use serde_json::{Value, json};
use std::io::{self, Read, Write};
use std::path::Path;

/// Pathways: what must be done, as data.
#[derive(Debug, Args)]
pub struct PathwayArgs {
    #[command(subcommand)]
    pub verb: PathwayVerb,
}

#[derive(Debug, Subcommand)]
pub enum PathwayVerb {
    /// List the built-in pathways.
    List {
        /// Print JSON.
        #[arg(long)]
        json: bool,
    },
    /// Print the outline of a pathway.
    Show {
        /// Identifier of a built-in pathway, a file, or - for standard input.
        pathway: String,
        /// Print the document itself.
        #[arg(long)]
        json: bool,
    },
    /// Name every fault of pathway files, each with its place.
    Check {
        /// Files, or - for standard input.
        #[arg(required = true, value_name = "FILE")]
        files: Vec<String>,
        /// Print JSON.
        #[arg(long)]
        json: bool,
    },
    /// Print the JSON Schema of the pathway document.
    Schema,
}

/// Exit code 0: done, no fault; 1: faults found; 2: no readable pathway; 3: the result could not be written.
pub fn run(args: &PathwayArgs, world: &mut World<'_>) -> u8 {
    let done = match &args.verb {
        PathwayVerb::List { json } => list(*json, world.out),
        PathwayVerb::Show { pathway, json } => show(pathway, *json, world),
        PathwayVerb::Check { files, json } => check(files, *json, world),
        PathwayVerb::Schema => write!(world.out, "{}", pathway::SCHEMA).map(|()| YES),
    };
    done.unwrap_or_else(|fault| world.fail(COULD_NOT, format_args!("standard output: {fault}")))
}

/// The bytes of a file, or of standard input for `-`.
fn bytes(name: &str, disk: &dyn Disk, input: &mut dyn Read) -> io::Result<Vec<u8>> {
    if name != "-" {
        return disk.read(Path::new(name), pathway::MAX_BYTES);
    }
    let mut bytes = Vec::new();
    // One byte more than accepted, so that the reader sees that it is too much.
    input.take(pathway::MAX_BYTES + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

fn list(json: bool, out: &mut dyn Write) -> io::Result<u8> {
    let all: Vec<Pathway> = pathway::built_in_ids().iter().filter_map(|id| built_in(id)).collect();
    if json {
        let rows = all.iter().map(|pathway| {
            json!({
                "id": pathway.id,
                "version": pathway.version,
                "title": pathway.title,
                "procedure": pathway.procedure,
            })
        });
        print(&rows.collect::<Value>(), out)?;
        return Ok(YES);
    }
    let widest = all.iter().map(|pathway| pathway.id.len()).max().unwrap_or(0);
    for pathway in all {
        writeln!(out, "{:widest$}  {:>5}  {}", pathway.id, pathway.version, pathway.title)?;
    }
    Ok(YES)
}

fn built_in(id: &str) -> Option<Pathway> {
    pathway::built_in(id).and_then(|bytes| pathway::read(bytes).ok())
}

fn show(name: &str, json: bool, world: &mut World<'_>) -> io::Result<u8> {
    let read = match pathway::built_in(name) {
        Some(bytes) => judge(Ok(bytes.to_vec())),
        None => judge(bytes(name, world.disk, world.input)),
    };
    match read {
        Judged::Sound(pathway) if json => print(&serde_json::to_value(&*pathway)?, world.out).map(|()| YES),
        Judged::Sound(pathway) => outline::print(&pathway, world.out).map(|()| YES),
        Judged::Faulty(faults) => {
            for fault in faults {
                world.fail(NO, format_args!("{name}: {fault}"));
            }
            Ok(NO)
        }
        Judged::Unreadable(why) => Ok(world.fail(BAD_INPUT, format_args!("{name}: {why}"))),
    }
}

/// What became of a document.
enum Judged {
    Sound(Box<Pathway>),
    Faulty(Vec<Fault>),
    Unreadable(String),
}

fn judge(bytes: io::Result<Vec<u8>>) -> Judged {
    let bytes = match bytes {
        Ok(bytes) => bytes,
        Err(fault) => return Judged::Unreadable(fault.to_string()),
    };
    match pathway::read(&bytes) {
        Ok(pathway) => Judged::Sound(Box::new(pathway)),
        Err(PathwayError::Faulty { faults }) => Judged::Faulty(faults),
        Err(PathwayError::Unreadable(fault)) => Judged::Unreadable(fault.to_string()),
    }
}

fn check(files: &[String], json: bool, world: &mut World<'_>) -> io::Result<u8> {
    let mut worst = YES;
    let mut rows = Vec::new();
    for file in files {
        let judged = judge(bytes(file, world.disk, world.input));
        worst = worst.max(exit_of(&judged));
        if json {
            rows.push(row(file, &judged));
        }
        match &judged {
            Judged::Faulty(faults) if !json => {
                for fault in faults {
                    writeln!(world.out, "{file}: {fault}")?;
                }
            }
            Judged::Unreadable(why) => {
                world.fail(BAD_INPUT, format_args!("{file}: {why}"));
            }
            _ => {}
        }
    }
    if json {
        print(&Value::from(rows), world.out)?;
    }
    Ok(worst)
}

fn exit_of(judged: &Judged) -> u8 {
    match judged {
        Judged::Sound(_) => YES,
        Judged::Faulty(_) => NO,
        Judged::Unreadable(_) => BAD_INPUT,
    }
}

fn row(file: &str, judged: &Judged) -> Value {
    let faults = match judged {
        Judged::Faulty(faults) => faults.as_slice(),
        _ => &[],
    };
    let faults = faults.iter().map(|fault| json!({ "place": fault.place, "what": fault.what.to_string() }));
    let unreadable = match judged {
        Judged::Unreadable(why) => Some(why),
        _ => None,
    };
    json!({ "file": file, "faults": faults.collect::<Value>(), "unreadable": unreadable })
}

fn print(value: &Value, out: &mut dyn Write) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut *out, value)?;
    writeln!(out)
}
