//! One case against what is usual: its shots at each step beside the middle half of the cases it is compared with.

use super::super::cache::Cache;
use super::super::figure::Figure;
use super::super::quantile::count;
use super::super::scene::{Anchor, Ink, Scene};
use super::super::steps::{StepFigures, step_figures};
use super::super::table::{Table, number};
use super::plot::{BODY, SMALL, WIDTH, above, titled, weightiest};
use super::steps::{NAMES, across_of, ground, middle_half};
use super::{Asked, Chart, several};

/// One step of the case: the shots at each of its places, and what is usual at one.
struct Here<'a> {
    usual: &'a StepFigures,
    shots: Vec<u32>,
    stay_s: u32,
}

/// The case of that digest beside the filtered cases; nothing if the cache does not hold it.
///
/// The cases it is compared with are those of the filter, whatever stream the case itself is of.
#[must_use]
pub fn draw_case(cache: &Cache, asked: &Asked, digest: &str) -> Option<Chart> {
    let case = cache.digests.iter().position(|known| known.as_ref() == digest)?;
    let others = asked.filter.cases(cache);
    let usual = step_figures(cache, &others, asked.quantile);
    let steps: Vec<Here<'_>> = usual.iter().filter_map(|step| here(cache, case, step)).collect();
    let title = format!("Case {}", cache.name(case));
    let weights: Vec<f64> = steps.iter().map(|step| f64::from(step.shots.iter().sum::<u32>())).collect();
    let (mut shown, more) = weightiest(&weights, "step");
    // Where nobody ever needs a shot there is nothing to see; the table holds it.
    shown.retain(|at| weights[*at] > 0.0 || steps[*at].usual.shots.largest > 0.0);
    let note = format!(
        "{}. Each dot: its shots at a step, once for each side or implant; bar and stroke: middle half and median of {}, \
         {} quantiles, none below 5.{more}",
        several(cache.shots[case] as usize, "shot"),
        asked.filter.stream.counted(others.len()),
        asked.quantile
    );
    let mut scene = titled(&title, &note);
    if !shown.is_empty() {
        rows(&mut scene, &shown.iter().map(|at| &steps[*at]).collect::<Vec<_>>());
    }
    Some(Chart { title, note, scene, table: table(&steps), signals: Vec::new() })
}

fn here<'a>(cache: &Cache, case: usize, usual: &'a StepFigures) -> Option<Here<'a>> {
    let code = cache.steps.find(&usual.id)?;
    let places: Vec<usize> = cache.places(case).filter(|place| u32::from(cache.place_step[*place]) == code).collect();
    let shots = places.iter().map(|place| cache.place_shots[*place]).collect();
    let stay_s = places.iter().map(|place| cache.place_stay_s[*place]).fold(0, u32::saturating_add);
    (!places.is_empty()).then_some(Here { usual, shots, stay_s })
}

fn rows(scene: &mut Scene, steps: &[&Here<'_>]) {
    let own = steps.iter().flat_map(|step| step.shots.iter().map(|shots| f64::from(*shots)));
    let usual = steps.iter().filter_map(|step| step.usual.shots.middle).map(|middle| middle.upper_quartile);
    let plot = across_of(above(own.chain(usual)), 270.0);
    let step_high = (plot.bottom - plot.top) / count(steps.len());
    for (at, step) in steps.iter().enumerate() {
        let y = plot.top + step_high * (count(at) + 0.5);
        scene.words((NAMES - 16.0, y + 6.0), &step.usual.title, BODY, Ink::Text, Anchor::End);
        let usual = match step.usual.shots.middle {
            Some(middle) => {
                middle_half(scene, &plot, middle, y, step_high);
                format!("{} to {}", number(middle.lower_quartile), number(middle.upper_quartile))
            }
            None => format!("n = {}", step.usual.shots.n),
        };
        for shots in &step.shots {
            scene.dot((plot.at(f64::from(*shots), 0.0).0, y), 7.0, Ink::Text);
        }
        let all = step.shots.iter().map(u32::to_string).collect::<Vec<_>>().join(" + ");
        scene.bold((plot.right + 110.0, y + 6.0), &all, BODY, Ink::Text, Anchor::End);
        scene.words((WIDTH - 20.0, y + 6.0), &usual, SMALL, Ink::Quiet, Anchor::End);
    }
    ground(scene, &plot, "shots · dot: this case · bar and stroke: middle half and median of the others");
    scene.words((plot.right + 110.0, plot.bottom + 20.0), "here", SMALL, Ink::Quiet, Anchor::End);
    scene.words((WIDTH - 20.0, plot.bottom + 20.0), "middle half", SMALL, Ink::Quiet, Anchor::End);
}

fn table(steps: &[Here<'_>]) -> Table {
    let mut table = Table::of(&[
        "step",
        "shots here",
        "lower quartile",
        "median",
        "upper quartile",
        "stay here, s",
        "median stay, s",
    ]);
    for step in steps {
        let part =
            |figure: &Figure, of: fn(super::super::figure::Middle) -> f64| number(figure.middle.map_or(f64::NAN, of));
        let shots = &step.usual.shots;
        table.row(vec![
            step.usual.title.clone(),
            step.shots.iter().map(u32::to_string).collect::<Vec<_>>().join(" + "),
            part(shots, |middle| middle.lower_quartile),
            part(shots, |middle| middle.median),
            part(shots, |middle| middle.upper_quartile),
            step.stay_s.to_string(),
            part(&step.usual.stay_s, |middle| middle.median),
        ]);
    }
    table
}
