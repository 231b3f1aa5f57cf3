//! `brimline review summary`: figures to read, or as JSON, CSV or Parquet.

use super::super::{BAD_INPUT, COULD_NOT, World, YES};
use super::asked::{FilterArgs, known};
use super::{IndexArgs, ReviewPorts, open, refuse};
use crate::review::{
    Asked, Cache, Care, CostFigures, Exported, Figure, Filter, Group, Line, Middle, Signal, Stream, Summary, Table,
    dictionary_text, export_cases, export_summary, signals, summary,
};
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// What to print.
#[derive(Debug, clap::Args)]
#[allow(clippy::struct_excessive_bools, reason = "each is a flag of the command line")]
pub struct SummaryArgs {
    #[command(flatten)]
    pub filter: FilterArgs,
    /// What to break the figures down by; may be given more than once.
    #[arg(long, value_name = "GROUP", value_parser = group)]
    pub by: Vec<Group>,
    /// Print as JSON, with signals.
    #[arg(long, group = "form")]
    pub json: bool,
    /// Export as CSV.
    #[arg(long, group = "form")]
    pub csv: bool,
    /// Export as Apache Parquet.
    #[arg(long, group = "form")]
    pub parquet: bool,
    /// Print what every exported column means.
    #[arg(long, group = "form")]
    pub dictionary: bool,
    /// Export a line per case instead of figures, always under Safe Harbor.
    #[arg(long, conflicts_with = "identified")]
    pub cases: bool,
    /// Keep sites, machines, months and small cells in exported figures: for the site's own use, not to leave it.
    #[arg(long)]
    pub identified: bool,
    /// Where an export goes; standard output if left out.
    #[arg(short, long, value_name = "FILE", default_value = "-")]
    pub output: PathBuf,
}

fn group(text: &str) -> Result<Group, String> {
    let found = Group::ALL.into_iter().find(|group| group.word() == text);
    found.ok_or_else(|| format!("there are {}", Group::ALL.map(Group::word).join(", ")))
}

pub(super) fn run(args: &SummaryArgs, which: &IndexArgs, world: &mut World<'_>, ports: &ReviewPorts) -> Result<u8, u8> {
    if args.dictionary {
        world.write(&args.output, dictionary_text().as_bytes())?;
        return Ok(YES);
    }
    if args.cases && !(args.csv || args.parquet) {
        return Err(world.fail(BAD_INPUT, format_args!("--cases: say --csv or --parquet")));
    }
    let cache = open(which, false, world, ports)?.cache().map_err(|fault| refuse(&fault, world))?;
    let asked = args.filter.asked();
    known(&asked, &cache, world)?;
    let groups = std::iter::once(Group::All).chain(args.by.iter().copied().filter(|group| *group != Group::All));
    let found = summary(&cache, &asked.filter, &groups.collect::<Vec<_>>(), asked.quantile);
    if args.csv || args.parquet {
        return export(args, &cache, &asked, &found, world, ports);
    }
    let signals = signals(&cache, &asked);
    if args.json {
        let text = format!("{}\n", as_json(&found, &signals));
        world.write(&args.output, text.as_bytes())?;
    } else {
        let text = as_text(&cache, &found, &signals);
        world.write(Path::new("-"), text.as_bytes())?;
    }
    Ok(YES)
}

fn export(
    args: &SummaryArgs,
    cache: &Cache,
    asked: &Asked,
    found: &Summary,
    world: &mut World<'_>,
    ports: &ReviewPorts,
) -> Result<u8, u8> {
    let exported: Exported =
        if args.cases { export_cases(cache, &asked.filter) } else { export_summary(found, args.identified) };
    let bytes = if args.csv {
        exported.to_csv().into_bytes()
    } else {
        ports.press.parquet(&exported).map_err(|fault| world.fail(COULD_NOT, format_args!("Parquet: {fault}")))?
    };
    world.write(&args.output, &bytes)?;
    Ok(YES)
}

fn as_json(found: &Summary, signals: &[Signal]) -> Value {
    let lines: Vec<Value> = found.lines.iter().map(line_json).collect();
    let steps: Vec<Value> = found
        .steps
        .iter()
        .map(|step| {
            json!({"id": step.id, "title": step.title, "shots": figure_json(&step.shots),
                   "stay_s": figure_json(&step.stay_s), "checks": step.care.map(|care| care.checks),
                   "gates_overridden": step.care.map(|care| care.gates_overridden),
                   "not_done": step.care.map(|care| care.not_done), "late": step.care.map(|care| care.late),
                   "burst": step.care.map(|care| care.burst)})
        })
        .collect();
    let views: Vec<Value> = found
        .views
        .iter()
        .map(|view| {
            json!({"id": view.id, "title": view.title, "shots": figure_json(&view.shots), "accepted": view.accepted,
                   "right_at_first": view.first_time})
        })
        .collect();
    let signals: Vec<Value> = signals
        .iter()
        .map(|signal| json!({"record": signal.digest, "title": signal.title, "detail": signal.detail}))
        .collect();
    let costs = |all: &[CostFigures]| all.iter().map(cost_json).collect::<Vec<_>>();
    json!({"step_costs": costs(&found.step_costs), "view_costs": costs(&found.view_costs), "stream": found.stream.to_string(), "quantile_type": found.quantile.to_string(), "cases": found.cases,
           "dose_left_out": found.dose_left_out, "figures": lines, "steps": steps, "views": views, "signals": signals})
}

fn line_json(line: &Line) -> Value {
    let (machine, size) = line.stratum.clone().unzip();
    json!({"group": line.group.word(), "value": line.of, "machine": machine, "size": size,
           "quantity": line.quantity.word(), "figure": figure_json(&line.figure)})
}

fn cost_json(cost: &CostFigures) -> Value {
    json!({"title": cost.title, "machine": cost.machine, "size": cost.size, "shots": figure_json(&cost.shots),
           "kerma_area_product_gy_cm2": cost.kerma_area_product.as_ref().map(figure_json),
           "reference_air_kerma_mgy": cost.air_kerma.as_ref().map(figure_json)})
}

fn figure_json(figure: &Figure) -> Value {
    let middle = figure.middle.map(|middle| {
        json!({"lower_quartile": middle.lower_quartile, "median": middle.median, "upper_quartile": middle.upper_quartile,
               "median_within": middle.median_within, "upper_quartile_within": middle.upper_quartile_within})
    });
    json!({"n": figure.n, "smallest": figure.smallest, "largest": figure.largest, "middle": middle})
}

fn as_text(cache: &Cache, found: &Summary, signals: &[Signal]) -> String {
    let apart = Stream::ALL.into_iter().filter(|stream| *stream != found.stream);
    let apart: Vec<String> = apart
        .map(|stream| (stream, Filter::of(stream).cases(cache).len()))
        .filter(|(_, n)| *n > 0)
        .map(|(stream, n)| stream.counted(n))
        .collect();
    let mut parts = vec![format!("{}, {} quantiles", found.stream.counted(found.cases), found.quantile)];
    if !apart.is_empty() {
        parts.push(format!("; in the index apart from these: {}", apart.join(", ")));
    }
    parts.push("\n\n".to_owned());
    parts.push(lines_table(&found.lines).text());
    if found.dose_left_out > 0 {
        let left_out = found.dose_left_out;
        parts.push(format!(
            "\nCases with a dose but no known machine or patient size, which stand in no figure of dose: {left_out}."
        ));
    }
    parts.push("\nWithin: 95 % by order statistics. One site's upper quartile is no reference level.\n\n".to_owned());
    parts.push(format!("{}\n\n{}\n\n", steps_table(found).text(), views_table(found).text()));
    for (what, costs) in [("Step", &found.step_costs), ("View", &found.view_costs)] {
        if !costs.is_empty() {
            parts.push(format!("{}\n\n", costs_table(what, costs).text()));
        }
    }
    parts.push(match signals.len() {
        0 => "No signal.\n".to_owned(),
        1 => "1 signal:\n".to_owned(),
        n => format!("{n} signals:\n"),
    });
    parts.extend(signals.iter().map(|signal| format!("- {}.\n  {}\n", signal.title, signal.detail)));
    parts.concat()
}

fn lines_table(lines: &[Line]) -> Table {
    let mut table = Table::of(&["", "n", "smallest", "Q1", "median", "Q3", "largest", "median within", "Q3 within"]);
    let within =
        |pair: Option<(f64, f64)>| pair.map_or_else(dash, |(low, high)| format!("{} to {}", number(low), number(high)));
    for line in lines {
        let (figure, middle) = (&line.figure, line.figure.middle);
        table.row(vec![
            name(line),
            figure.n.to_string(),
            number(figure.smallest),
            middle.map_or_else(dash, |middle| number(middle.lower_quartile)),
            middle.map_or_else(dash, |middle| number(middle.median)),
            middle.map_or_else(dash, |middle| number(middle.upper_quartile)),
            number(figure.largest),
            within(middle.and_then(|middle| middle.median_within)),
            within(middle.and_then(|middle| middle.upper_quartile_within)),
        ]);
    }
    table
}

fn name(line: &Line) -> String {
    let what = line.quantity.title();
    match (line.group, &line.stratum) {
        (Group::All, None) => what.to_owned(),
        _ => format!("{what} · {}", line.name()),
    }
}

fn steps_table(found: &Summary) -> Table {
    let mut table = Table::of(&[
        "Step",
        "places",
        "median shots",
        "Q3",
        "most",
        "median stay, s",
        "gates by word",
        "not done",
        "late",
        "burst",
    ]);
    for step in &found.steps {
        let middle = step.shots.middle;
        let care = |of: fn(Care) -> usize| step.care.map_or_else(dash, |care| of(care).to_string());
        table.row(vec![
            step.title.clone(),
            step.shots.n.to_string(),
            middle.map_or_else(dash, |middle| number(middle.median)),
            middle.map_or_else(dash, |middle| number(middle.upper_quartile)),
            number(step.shots.largest),
            step.stay_s.middle.map_or_else(dash, |middle| number(middle.median)),
            care(|care| care.gates_overridden),
            care(|care| care.not_done),
            care(|care| care.late),
            care(|care| care.burst),
        ]);
    }
    table
}

fn views_table(found: &Summary) -> Table {
    let mut table = Table::of(&["View", "accepted", "right at first", "median shots", "most"]);
    for view in &found.views {
        table.row(vec![
            view.title.clone(),
            view.accepted.to_string(),
            view.first_time.to_string(),
            view.shots.middle.map_or_else(dash, |middle| number(middle.median)),
            number(view.shots.largest),
        ]);
    }
    table
}

/// What steps or views cost a case, by the machine's own reports.
fn costs_table(what: &str, costs: &[CostFigures]) -> Table {
    let titles = [what, "machine", "size", "n", "median shots", "median Gy·cm²", "Q1", "Q3", "median mGy"];
    let mut table = Table::of(&titles);
    for cost in costs {
        let part = |of: Option<Figure>, part: fn(Middle) -> f64| {
            of.and_then(|of| of.middle).map_or_else(dash, |middle| number(part(middle)))
        };
        let dose = cost.kerma_area_product;
        table.row([
            cost.title.clone(),
            cost.machine.clone(),
            cost.size.clone(),
            cost.shots.n.to_string(),
            part(Some(cost.shots), |middle| middle.median),
            part(dose, |middle| middle.median),
            part(dose, |middle| middle.lower_quartile),
            part(dose, |middle| middle.upper_quartile),
            part(cost.air_kerma, |middle| middle.median),
        ]);
    }
    table
}

fn dash() -> String {
    "–".to_owned()
}

fn number(value: f64) -> String {
    crate::review::number(value)
}
