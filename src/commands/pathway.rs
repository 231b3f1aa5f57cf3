//! `brimline pathway`: the built-in pathways, a pathway's outline, its faults, and the schema.
//!
//! What it does not do: it never writes a file. A local team redirects `show --json` into a copy and edits it.

mod outline;

use crate::pathway::{self, Fault, Pathway, PathwayError};
use crate::ports::Disk;
use clap::{Args, Subcommand};
use serde_json::{Value, json};
use std::io::{self, Read, Write};
use std::path::Path;

/// Yes, or done.
const DONE: u8 = 0;
/// Faults were found.
const FAULTS: u8 = 1;
/// The document cannot be read, or is no pathway.
const BAD_INPUT: u8 = 2;
/// The result could not be written.
const COULD_NOT: u8 = 3;

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

/// Runs the command. `input`: standard input. Returns the exit code.
pub fn run(
    args: &PathwayArgs,
    disk: &dyn Disk,
    input: &mut dyn Read,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> u8 {
    let done = match &args.verb {
        PathwayVerb::List { json } => list(*json, out),
        PathwayVerb::Show { pathway, json } => show(pathway, *json, &mut Source { disk, input }, out, err),
        PathwayVerb::Check { files, json } => check(files, *json, &mut Source { disk, input }, out, err),
        PathwayVerb::Schema => write!(out, "{}", pathway::SCHEMA).map(|()| DONE),
    };
    done.unwrap_or_else(|fault| {
        // Standard error may be gone as well; the exit code still tells.
        let _ = writeln!(err, "cannot write the result: {fault}");
        COULD_NOT
    })
}

/// Where documents come from.
struct Source<'a> {
    disk: &'a dyn Disk,
    input: &'a mut dyn Read,
}

impl Source<'_> {
    fn bytes(&mut self, name: &str) -> io::Result<Vec<u8>> {
        if name != "-" {
            return self.disk.read(Path::new(name), pathway::MAX_BYTES);
        }
        let mut bytes = Vec::new();
        // One byte more than accepted, so that the reader sees that it is too much.
        self.input.take(pathway::MAX_BYTES + 1).read_to_end(&mut bytes)?;
        Ok(bytes)
    }
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
        print(&Value::from_iter(rows), out)?;
        return Ok(DONE);
    }
    let widest = all.iter().map(|pathway| pathway.id.len()).max().unwrap_or(0);
    for pathway in all {
        writeln!(out, "{:widest$}  {:>5}  {}", pathway.id, pathway.version, pathway.title)?;
    }
    Ok(DONE)
}

fn built_in(id: &str) -> Option<Pathway> {
    pathway::built_in(id).and_then(|bytes| pathway::read(bytes).ok())
}

fn show(
    name: &str,
    json: bool,
    source: &mut Source<'_>,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> io::Result<u8> {
    let read = match pathway::built_in(name) {
        Some(bytes) => judge(Ok(bytes.to_vec())),
        None => judge(source.bytes(name)),
    };
    match read {
        Judged::Sound(pathway) if json => print(&serde_json::to_value(&*pathway)?, out).map(|()| DONE),
        Judged::Sound(pathway) => outline::print(&pathway, out).map(|()| DONE),
        Judged::Faulty(faults) => {
            for fault in faults {
                writeln!(err, "{name}: {fault}")?;
            }
            Ok(FAULTS)
        }
        Judged::Unreadable(why) => {
            writeln!(err, "{name}: {why}")?;
            Ok(BAD_INPUT)
        }
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

fn check(
    files: &[String],
    json: bool,
    source: &mut Source<'_>,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> io::Result<u8> {
    let mut worst = DONE;
    let mut rows = Vec::new();
    for file in files {
        let judged = judge(source.bytes(file));
        worst = worst.max(exit_of(&judged));
        if json {
            rows.push(row(file, &judged));
        }
        match &judged {
            Judged::Faulty(faults) if !json => {
                for fault in faults {
                    writeln!(out, "{file}: {fault}")?;
                }
            }
            Judged::Unreadable(why) => writeln!(err, "{file}: {why}")?,
            _ => {}
        }
    }
    if json {
        print(&Value::from(rows), out)?;
    }
    Ok(worst)
}

fn exit_of(judged: &Judged) -> u8 {
    match judged {
        Judged::Sound(_) => DONE,
        Judged::Faulty(_) => FAULTS,
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
    json!({ "file": file, "faults": Value::from_iter(faults), "unreadable": unreadable })
}

fn print(value: &Value, out: &mut dyn Write) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut *out, value)?;
    writeln!(out)
}
