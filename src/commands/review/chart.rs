//! `brimline review chart`: one chart as a picture, its table or its words.

use super::super::{BAD_INPUT, COULD_NOT, World, YES};
use super::asked::{FilterArgs, known};
use super::{IndexArgs, ReviewPorts, open, refuse};
use crate::review::{Asked, ChartName, draw, svg};
use std::path::PathBuf;

/// Pixels to a unit of the scene in a PNG.
const PIXELS: f32 = 2.0;

/// Which chart, and where it goes.
#[derive(Debug, clap::Args)]
pub struct ChartArgs {
    /// steps, step-cost, shots, beside, dose, shift, learning, views, view-cost, training, care or ended.
    #[arg(value_parser = chart)]
    pub name: ChartName,
    #[command(flatten)]
    pub filter: FilterArgs,
    /// Whose rehearsals the training chart shows, by the key's thumbprint; the person with most if left out.
    #[arg(long, value_name = "KID")]
    pub person: Option<String>,
    /// The picture, by its ending: .svg or .png. Without it the table behind the chart is printed.
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
}

fn chart(text: &str) -> Result<ChartName, String> {
    let found = ChartName::ALL.into_iter().find(|name| name.word() == text);
    found.ok_or_else(|| format!("there are {}", ChartName::ALL.map(ChartName::word).join(", ")))
}

pub(super) fn run(args: &ChartArgs, which: &IndexArgs, world: &mut World<'_>, ports: &ReviewPorts) -> Result<u8, u8> {
    let ending = args.output.as_ref().map(|path| path.extension().and_then(|ending| ending.to_str()).unwrap_or(""));
    if let (Some(ending), Some(path)) = (ending, &args.output)
        && !matches!(ending, "svg" | "png")
    {
        return Err(world.fail(BAD_INPUT, format_args!("{}: a chart is written as .svg or .png", path.display())));
    }
    let cache = open(which, false, world, ports)?.cache().map_err(|fault| refuse(&fault, world))?;
    let asked = Asked { person: args.person.clone(), ..args.filter.asked() };
    known(&asked, &cache, world)?;
    let chart = draw(&cache, args.name, &asked);
    match (&args.output, ending) {
        (Some(path), Some("svg")) => world.write(path, svg(&chart.scene, &chart.title).as_bytes())?,
        (Some(path), _) => {
            let picture = ports.press.png(&chart.scene, &chart.title, PIXELS);
            let picture = picture.map_err(|fault| world.fail(COULD_NOT, format_args!("the picture: {fault}")))?;
            world.write(path, &picture)?;
        }
        (None, _) => world.say(format_args!("{}\n{}\n\n{}", chart.title, chart.note, chart.table.text()))?,
    }
    for signal in &chart.signals {
        world.say(format_args!("{}. {}", signal.title, signal.detail))?;
    }
    Ok(YES)
}
