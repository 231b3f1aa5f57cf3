//! `brimline receive`: the receiver of dose reports and images, and the list of what waits.
//!
//! What it does not do: it joins nothing to a case and prints no patient's number beside an arrival; `--waiting` does,
//! since it is asked for by a person who must tell the arrivals apart.

use super::{COULD_NOT, World, YES};
use crate::open_case;
use crate::ports::{Arrival, ArrivalKind, Receiver, Reception, Told};
use crate::settings::Settings;
use clap::Args;
use serde_json::json;
use std::sync::Arc;
use std::sync::mpsc::sync_channel;

/// Receive dose reports and images over DICOM until interrupted, or list what waits.
#[derive(Debug, Args)]
pub struct ReceiveArgs {
    /// List what was received and waits for a case, and end.
    #[arg(long)]
    pub waiting: bool,
    /// Print JSON, one document a line.
    #[arg(long)]
    pub json: bool,
}

/// Lines that wait to be printed; the receiver waits with them.
const QUEUE: usize = 64;

/// Exit code 0: listed; 3: could not listen, or the store cannot be read. Receiving ends when it is interrupted.
pub fn run(
    args: &ReceiveArgs,
    world: &mut World<'_>,
    ports: &open_case::World,
    settings: &Settings,
    receiver: &dyn Receiver,
) -> u8 {
    let done = if args.waiting { list(args, world, receiver) } else { receive(args, world, ports, settings, receiver) };
    done.map_or_else(|code| code, |()| YES)
}

fn list(args: &ReceiveArgs, world: &mut World<'_>, receiver: &dyn Receiver) -> Result<(), u8> {
    let waiting = receiver.waiting(world.disk, &world.store);
    let store = world.store.clone();
    let waiting = waiting.map_err(|fault| world.fail(COULD_NOT, format_args!("{}: {fault}", store.display())))?;
    for arrival in waiting {
        if args.json {
            world.say(format_args!("{}", as_json(&arrival)))?;
            continue;
        }
        let patient = arrival.patient_number.as_deref().unwrap_or("no patient number");
        let made = arrival.made.map_or("no time".to_owned(), |made| made.local.to_string());
        world.say(format_args!(
            "{}  {}  {patient}  made {made}  {}",
            arrival.received,
            word(arrival.kind),
            arrival.file
        ))?;
    }
    Ok(())
}

fn as_json(arrival: &Arrival) -> serde_json::Value {
    json!({"received": arrival.received, "kind": word(arrival.kind), "uid": arrival.uid, "file": arrival.file,
           "patient_number": arrival.patient_number, "made": arrival.made})
}

fn word(kind: ArrivalKind) -> &'static str {
    match kind {
        ArrivalKind::DoseReport => "dose report",
        ArrivalKind::Image => "image",
        ArrivalKind::Capture => "capture",
        ArrivalKind::Unknown => "unknown",
    }
}

fn receive(
    args: &ReceiveArgs,
    world: &mut World<'_>,
    ports: &open_case::World,
    settings: &Settings,
    receiver: &dyn Receiver,
) -> Result<(), u8> {
    let (send, told) = sync_channel(QUEUE);
    let reception = Reception {
        settings: settings.receive.clone(),
        store: world.store.clone(),
        disk: ports.disk.clone(),
        clock: ports.clock.clone(),
        // Who prints is gone only when the program ends.
        tell: Arc::new(move |told| drop(send.send(told))),
    };
    let running = receiver.start(reception).map_err(|fault| world.fail(COULD_NOT, format_args!("{fault}")))?;
    let chosen = &settings.receive;
    let (title, address, port) = (&chosen.ae_title, chosen.address, running.port());
    let peers = if chosen.peers.is_empty() { "nobody".to_owned() } else { format!("{} peers", chosen.peers.len()) };
    let tls = if chosen.certificate.is_some() { ", TLS" } else { "" };
    let days = chosen.keep_days;
    world.say(format_args!("{title} listens on {address} port {port}{tls}, accepts {peers}, keeps {days} days"))?;
    flush(world)?;
    for told in told {
        line(args, &told, world)?;
        flush(world)?;
    }
    running.stop();
    Ok(())
}

fn flush(world: &mut World<'_>) -> Result<(), u8> {
    let flushed = world.out.flush();
    flushed.map_err(|fault| world.fail(COULD_NOT, format_args!("standard output: {fault}")))
}

fn line(args: &ReceiveArgs, told: &Told, world: &mut World<'_>) -> Result<(), u8> {
    if args.json {
        let document = match told {
            Told::Arrived(arrival) => json!({"told": "arrived", "uid": arrival.uid, "kind": word(arrival.kind)}),
            Told::Again { uid } => json!({"told": "again", "uid": uid}),
            Told::Refused { peer, why } => json!({"told": "refused", "peer": peer, "why": why}),
            Told::NotKept { peer, why } => json!({"told": "not-kept", "peer": peer, "why": why}),
            Told::Broken { peer, why } => json!({"told": "broken", "peer": peer, "why": why}),
        };
        return world.say(format_args!("{document}"));
    }
    match told {
        Told::Arrived(arrival) => world.say(format_args!("arrived  {}  {}", word(arrival.kind), arrival.uid)),
        Told::Again { uid } => world.say(format_args!("again    {uid}")),
        Told::Refused { peer, why } => world.say(format_args!("refused  {peer}: {why}")),
        Told::NotKept { peer, why } => world.say(format_args!("not kept {peer}: {why}")),
        Told::Broken { peer, why } => world.say(format_args!("broken   {peer}: {why}")),
    }
}
