//! What every command begins with: the settings in force, the store, the standard streams.

use super::arguments::{Arguments, CommandName};
use super::review::ReviewPorts;
use super::{
    BAD_INPUT, COULD_NOT, World, YES, dose, pathway, people, perform, plan, receive, redact, rehearse, review, show,
    store, verify,
};
use crate::open_case;
use crate::ports::image::ImageReader;
use crate::ports::picture::PictureWriter;
use crate::ports::{Receiver, ReportReader};
use crate::settings::{self, Layer, Settings};
use clap::CommandFactory;
use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};

/// What the tablet is opened with.
pub struct Start {
    pub settings: Settings,
    /// Where the settings file lies, or would lie.
    pub settings_path: PathBuf,
    pub store: PathBuf,
    pub world: open_case::World,
    pub review: ReviewPorts,
    pub images: &'static dyn ImageReader,
    /// Draw the screens into this folder instead of opening a window.
    pub draw: Option<PathBuf>,
    /// What receives and reads reports; `None` where nothing is received.
    pub station: Option<Station>,
}

/// The outside as far as the tablet receives from it.
#[derive(Clone, Copy)]
pub struct Station {
    pub receiver: &'static dyn Receiver,
    pub reports: &'static dyn ReportReader,
    pub images: &'static dyn ImageReader,
}

/// What else of the outside commands are handed.
pub struct Outside {
    pub reports: &'static dyn ReportReader,
    pub images: &'static dyn ImageReader,
    pub receiver: &'static dyn Receiver,
    pub review: ReviewPorts,
    pub pictures: &'static dyn PictureWriter,
}

/// Runs a command, or the tablet if none is named; returns the exit code.
pub fn run(
    arguments: &Arguments,
    environment: &BTreeMap<String, String>,
    ports: &open_case::World,
    outside: &Outside,
    tablet: fn(Start) -> u8,
) -> u8 {
    let start = match start(arguments, environment, ports, &outside.review, outside.images) {
        Ok(start) => start,
        Err((code, line)) => {
            eprintln!("brimline: {line}");
            return code;
        }
    };
    let Some(command) = &arguments.command else {
        let station = Some(Station { receiver: outside.receiver, reports: outside.reports, images: outside.images });
        return tablet(Start { station, ..start });
    };
    let (mut input, mut out, mut err) = (io::stdin().lock(), io::stdout().lock(), io::stderr().lock());
    let mut world = World {
        disk: &*ports.disk,
        random: &*ports.randomness,
        store: start.store.clone(),
        input: &mut input,
        out: &mut out,
        err: &mut err,
    };
    match command {
        CommandName::Perform(args) => {
            let ports = perform::Ports { disk: ports.disk.clone(), randomness: ports.randomness.clone() };
            perform::run(args, &mut world, &ports)
        }
        CommandName::Verify(args) => verify::run(args, &mut world),
        CommandName::Show(args) => show::run(args, &mut world),
        CommandName::Redact(args) => redact::run(args, &mut world),
        CommandName::Pathway(args) => pathway::run(args, &mut world),
        CommandName::Plan(args) => plan::run(args, &mut world, &start.settings),
        CommandName::Dose(args) => dose::run(args, &mut world, ports, outside.reports),
        CommandName::Receive(args) => receive::run(args, &mut world, ports, &start.settings, outside.receiver),
        CommandName::People(args) => people::run(args, &mut world),
        CommandName::Rehearse(args) => rehearse::run(args, &mut world, outside.pictures),
        CommandName::Review(args) => review::run(args, &mut world, &start.review),
        CommandName::Store(args) => store::run(args, &mut world, &outside.review),
        CommandName::Completions { shell } => completions(*shell, &mut world),
        CommandName::Man => man(&mut world),
    }
}

fn completions(shell: clap_complete::Shell, world: &mut World<'_>) -> u8 {
    let mut text = Vec::new();
    clap_complete::generate(shell, &mut Arguments::command(), "brimline", &mut text);
    world.write(Path::new("-"), &text).map_or_else(|code| code, |()| YES)
}

fn man(world: &mut World<'_>) -> u8 {
    let mut text = Vec::new();
    match clap_mangen::Man::new(Arguments::command()).render(&mut text) {
        Ok(()) => world.write(Path::new("-"), &text).map_or_else(|code| code, |()| YES),
        Err(fault) => world.fail(COULD_NOT, format_args!("the manual page: {fault}")),
    }
}

/// Settings in force: flag over variable over file over default.
fn start(
    arguments: &Arguments,
    environment: &BTreeMap<String, String>,
    ports: &open_case::World,
    review: &ReviewPorts,
    images: &'static dyn ImageReader,
) -> Result<Start, (u8, String)> {
    let settings_path = arguments
        .settings
        .clone()
        .unwrap_or_else(|| platform(environment, "XDG_CONFIG_HOME", ".config").join("settings.toml"));
    let file = match ports.disk.read(&settings_path, settings::MAX_BYTES) {
        Ok(bytes) => {
            settings::read(&bytes).map_err(|fault| (BAD_INPUT, format!("{}: {fault}", settings_path.display())))?
        }
        Err(fault) if fault.kind() == io::ErrorKind::NotFound && arguments.settings.is_none() => Layer::default(),
        Err(fault) => return Err((BAD_INPUT, format!("{}: {fault}", settings_path.display()))),
    };
    let variables = settings::from_environment(environment).map_err(|fault| (BAD_INPUT, fault.to_string()))?;
    let mut flags = Layer::default();
    flags.store.clone_from(&arguments.store);
    let flags = flags.from_flags().map_err(|fault| (BAD_INPUT, fault.to_string()))?;
    let settings = Settings::of(flags, variables, file);
    let store = settings.store.clone().unwrap_or_else(|| platform(environment, "XDG_DATA_HOME", ".local/share"));
    let review = ReviewPorts { service: settings.review_index.clone(), ..review.clone() };
    let (world, draw) = (ports.clone(), arguments.draw.clone());
    Ok(Start { settings, settings_path, store, world, review, images, draw, station: None })
}

/// The program's folder under one of the platform's base folders.
fn platform(environment: &BTreeMap<String, String>, variable: &str, under_home: &str) -> PathBuf {
    let base = environment.get(variable).filter(|base| Path::new(base).is_absolute()).map(PathBuf::from);
    let home = || environment.get("HOME").map(PathBuf::from).unwrap_or_default().join(under_home);
    base.unwrap_or_else(home).join("brimline")
}
