//! Shots per implant by the number of the case, with a curve that falls towards a plateau.

use super::super::cache::Cache;
use super::super::learning::{CASES_MIN, Within, learning};
use super::super::quantile::count;
use super::super::scene::{Anchor, Ink};
use super::super::table::{Table, TableCell, number};
use super::plot::{Plot, SMALL, above, nothing, titled};
use super::{Asked, Chart};

const TITLE: &str = "Learning";

pub(super) fn draw(cache: &Cache, asked: &Asked) -> Chart {
    let order = asked.filter.in_order(cache);
    if order.len() < CASES_MIN {
        return nothing(TITLE, asked, &format!("fewer than {CASES_MIN} cases with a date"));
    }
    let values: Vec<f64> =
        order.iter().map(|case| f64::from(cache.shots[*case]) / f64::from(cache.implants[*case].max(1))).collect();
    let curve = learning(&values);
    let whose = if asked.filter.surgeon.is_some() { "one surgeon" } else { "the whole site" };
    let said = match &curve {
        Some(curve) => format!(
            "The plateau is {}, the fall {}, half of it done after {} cases",
            range(curve.plateau()),
            range(curve.fall()),
            number(curve.half_after_cases())
        ),
        None => "No fall can be told from chance, or no curve fits".to_owned(),
    };
    let note = format!(
        "{}, {whose}. Shots per implant; a + b·exp(-c·(n - 1)) by least squares, with the 95 % interval of its mean. \
         {said}.",
        asked.title()
    );
    let mut scene = titled(TITLE, &note);
    let shown = values.len().min(super::SHOWN_MAX);
    let fitted: Vec<Within> = curve.iter().flat_map(|curve| (1..=shown).map(|case| curve.at(case))).collect();
    let highest = fitted.iter().map(|at| at.high).fold(0.0, f64::max);
    let high = above(values[..shown].iter().copied()).max(highest.min(2.0 * above(values[..shown].iter().copied())));
    let plot = Plot::whole((1.0, count(shown)), (0.0, high));
    let at = |n: usize, y: f64| plot.at(count(n + 1), y.clamp(0.0, high));
    if !fitted.is_empty() {
        let upper = fitted.iter().enumerate().map(|(n, within)| at(n, within.high));
        let lower = fitted.iter().enumerate().rev().map(|(n, within)| at(n, within.low));
        scene.area(upper.chain(lower).collect(), Ink::Soft);
        scene.path(fitted.iter().enumerate().map(|(n, within)| at(n, within.value)).collect(), Ink::Data, 2.5);
        let last = fitted.last().map_or(0.0, |within| within.value);
        plot.level(&mut scene, last, &number(last));
    }
    plot.axes(&mut scene, "number of the case", number);
    values[..shown].iter().enumerate().for_each(|(n, value)| scene.dot(at(n, *value), 4.0, Ink::Second));
    scene.words((plot.right, plot.top + 6.0), "dots: cases · line: curve · band: 95 %", SMALL, Ink::Quiet, Anchor::End);
    let titles = ["case", "number", "shots per implant", "curve", "from", "to"];
    let mut table = Table::with_room(&titles, order.len());
    for (at, (case, value)) in order.iter().zip(&values).enumerate() {
        let within = curve.as_ref().map(|curve| curve.at(at + 1));
        let part = |of: fn(Within) -> f64| TableCell::Number(within.map_or(f64::NAN, of));
        table.row([
            TableCell::from(cache.named(*case)),
            (at + 1).into(),
            (*value).into(),
            part(|within| within.value),
            part(|within| within.low),
            part(|within| within.high),
        ]);
    }
    Chart { title: TITLE.to_owned(), note, scene, table, signals: Vec::new() }
}

fn range(within: Within) -> String {
    format!("{} ({} to {})", number(within.value), number(within.low), number(within.high))
}
