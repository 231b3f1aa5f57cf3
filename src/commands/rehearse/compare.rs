//! `brimline rehearse compare`: five strategies on the same model people, with intervals and what they depend on.

use super::report::{Report, Varied};
use super::report_text;
use crate::commands::{BAD_INPUT, World, YES};
use crate::rehearse::compare::{Doubt, ReAim, Run, Setting, Weighing, person};
use std::thread;

/// Who is compared.
#[derive(Debug, clap::Args)]
pub struct CompareArgs {
    /// Model people that every strategy meets, 20 to 100000.
    #[arg(long, value_name = "N", default_value_t = 1000)]
    pub people: u32,
    /// The same seed gives the same people for ever.
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    /// Print JSON.
    #[arg(long)]
    pub json: bool,
}

/// Fewest and most people.
const PEOPLE: std::ops::RangeInclusive<u32> = 20..=100_000;
/// Of the people of the comparison, the share that shows what it depends on.
const VARIED: u32 = 4;
/// Fewest of those.
const VARIED_MIN: u32 = 8;
/// Most threads.
const WORKERS_MAX: usize = 16;

pub(super) fn run(args: &CompareArgs, world: &mut World<'_>) -> Result<u8, u8> {
    if !PEOPLE.contains(&args.people) {
        let (from, to) = (PEOPLE.start(), PEOPLE.end());
        return Err(world.fail(BAD_INPUT, format_args!("--people: {} is not {from} to {to}", args.people)));
    }
    let base = Setting::default();
    let runs = meet(args.seed, args.people, &base);
    let fewer = (args.people / VARIED).max(VARIED_MIN).min(args.people);
    let varied = settings().into_iter().map(|(what, setting)| Varied {
        what,
        report: Report::of(&meet(args.seed, fewer, &setting)),
        people: fewer,
    });
    let varied: Vec<Varied> = varied.collect();
    let report = Report::of(&runs);
    if args.json {
        let value = report_text::json(args.people, args.seed, &base, &report, &varied);
        let text = serde_json::to_string_pretty(&value).expect("numbers and strings are JSON");
        world.say(format_args!("{text}"))?;
    } else {
        let text = report_text::text(args.people, args.seed, &base, &report, &varied);
        world.say(format_args!("{}", text.trim_end()))?;
    }
    Ok(YES)
}

/// Everybody, shared among the processor's cores; the order and the numbers do not depend on how many there are.
fn meet(seed: u64, people: u32, setting: &Setting) -> Vec<Vec<Run>> {
    let workers = thread::available_parallelism().map_or(1, usize::from).min(WORKERS_MAX);
    let numbers: Vec<u32> = (0..people).collect();
    let share = numbers.len().div_ceil(workers).max(1);
    thread::scope(|scope| {
        let one = |part: &[u32]| part.iter().map(|number| person(seed, *number, setting)).collect::<Vec<_>>();
        let parts: Vec<_> = numbers.chunks(share).map(|part| scope.spawn(move || one(part))).collect();
        parts.into_iter().flat_map(|part| part.join().expect("a team finds its way or gives up")).collect()
    })
}

/// What is varied, one at a time.
fn settings() -> Vec<(&'static str, Setting)> {
    let with = |change: fn(&mut Doubt)| {
        let mut setting = Setting::default();
        change(&mut setting.doubt);
        setting
    };
    vec![
        ("as above, on these people", Setting::default()),
        ("one turn from the cortical line for both views", Setting { re_aim: ReAim::OneTurn, ..Setting::default() }),
        (
            "each correction weighed against the re-aim by their doubts, which the program does not do",
            Setting { weighing: Weighing::AgainstAim, ..Setting::default() },
        ),
        ("planned less used: all misread, no turn", with(|doubt| doubt.turn_share = 0.0)),
        ("planned less used: all of the outlet's a turn", with(|doubt| doubt.turn_share = 1.0)),
        ("touches 1 mm at the patient, 1.54 mm at the detector", with(|doubt| doubt.touch = 1.54)),
        ("touches 0.5 mm at the detector", with(|doubt| doubt.touch = 0.5)),
        ("10 % of touches on a wrong landmark", with(|doubt| doubt.wrong.0 = 0.1)),
        ("no wrong landmark", with(|doubt| doubt.wrong.0 = 0.0)),
        ("an eye that is right to 10 %", with(|doubt| doubt.eye = 0.1)),
        ("joints with 3° of play", with(|doubt| doubt.play = 3.0)),
        (
            "people of the published spread, unwarped and straight",
            with(|doubt| {
                doubt.wider = (1.0, 0.0);
                doubt.askew = 0.0;
            }),
        ),
    ]
}
