//! A pathway as an outline to read.

use crate::pathway::{Check, CheckKind, Condition, Interval, OutcomeList, Pathway, Scope, Step};
use crate::people::Role;
use std::io::{self, Write};

/// Prints the outline.
///
/// # Errors
/// What writing says.
pub fn print(pathway: &Pathway, out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "{} ({}, version {})", pathway.title, pathway.id, pathway.version)?;
    writeln!(out, "Team: {}. Signed by: {}.", roles(&pathway.team, ", "), roles(&pathway.signers, ", "))?;
    for phase in &pathway.phases {
        writeln!(out, "\n{}", phase.title.to_uppercase())?;
        for step in &phase.steps {
            print_step(step, out)?;
        }
    }
    writeln!(out, "\nIF THE CASE STOPS")?;
    for (_, list) in pathway.stops.named() {
        print_list(list, out)?;
    }
    Ok(())
}

fn print_step(step: &Step, out: &mut dyn Write) -> io::Result<()> {
    let per = match step.per {
        Scope::Case => "",
        Scope::Side => ", each side",
        Scope::Implant => ", each implant",
    };
    writeln!(out, "  {}{per}{}", step.title, only(step.when.as_ref()))?;
    for check in &step.checks {
        print_check(check, out)?;
    }
    if let Some(gate) = &step.gate {
        writeln!(out, "    == {}: released by {}", gate.title, roles(&gate.release, " and "))?;
    }
    Ok(())
}

fn print_list(list: &OutcomeList, out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "  {}", list.title)?;
    list.checks.iter().try_for_each(|check| print_check(check, out))
}

fn print_check(check: &Check, out: &mut dyn Write) -> io::Result<()> {
    let held = if check.held { " (held)" } else { "" };
    writeln!(out, "    - {}{held}{}{}", check.text, asked(&check.ask), only(check.when.as_ref()))?;
    if let CheckKind::View { criteria, .. } | CheckKind::Pin { criteria, .. } = &check.ask {
        criteria.iter().try_for_each(|criterion| writeln!(out, "        {criterion}"))?;
    }
    for caution in &check.cautions {
        writeln!(out, "      ! {}{}", caution.text, only(caution.when.as_ref()))?;
    }
    Ok(())
}

fn asked(ask: &CheckKind) -> String {
    match ask {
        CheckKind::Confirm => String::new(),
        CheckKind::Choice { options } => {
            let options = options.iter().map(|option| option.text.as_str()).collect::<Vec<_>>();
            format!(": {}", options.join(" / "))
        }
        CheckKind::Measure { unit, expected: Interval { from, to }, .. } => {
            format!(": {} (expected {from} to {to})", unit.symbol())
        }
        CheckKind::Count { items, .. } => format!(": {}", items.join(", ")),
        CheckKind::View { view, .. } => format!(" [{view}]"),
        CheckKind::Pin { views, .. } => {
            let views = views.iter().map(ToString::to_string).collect::<Vec<_>>();
            format!(" [{}]", views.join("; "))
        }
        CheckKind::Timer { bounds } => {
            let minutes = bounds.iter().map(|bound| format!("{} min{}", bound.minutes, only(bound.when.as_ref())));
            format!(": {}", minutes.collect::<Vec<_>>().join(", "))
        }
        CheckKind::Scan { what } => format!(": {what}"),
        CheckKind::Note => ": in words".to_owned(),
    }
}

/// The condition in words, or nothing.
fn only(when: Option<&Condition>) -> String {
    let Some(when) = when else { return String::new() };
    let serde_json::Value::Object(members) = serde_json::to_value(when).unwrap_or_default() else {
        return String::new();
    };
    let word = |name: &str, value: &serde_json::Value| match value {
        serde_json::Value::String(text) => format!("{} {text}", name.replace('_', " ")),
        serde_json::Value::Bool(true) => name.replace('_', " "),
        serde_json::Value::Bool(false) => format!("not {}", name.replace('_', " ")),
        other => other.to_string(),
    };
    let plan = members.iter().filter(|(name, _)| *name != "answers").map(|(name, value)| word(name, value));
    let answers = when.answers.iter().map(|(check, option)| format!("{check} is {option}"));
    format!(" <only if {}>", plan.chain(answers).collect::<Vec<_>>().join(", "))
}

fn roles(roles: &[Role], between: &str) -> String {
    roles.iter().map(|role| role.word()).collect::<Vec<_>>().join(between)
}
