//! Rows of the plan: what each asks, how its value is shown, and what an answer becomes.
//!
//! A value is JSON as the plan's document has it, so that one table serves every part. What it does not do: it judges
//! no value; reading the plan does.

use super::app::{App, Shared};
use super::around::AroundAsked;
use super::questions::{self, NumberOf, row};
use brimline_ui::{FieldLine, PickRow};
use serde_json::{Value, json};

/// What a row takes. Codes are those of the plan's document.
#[derive(Clone, Copy)]
pub(super) enum Takes {
    Number {
        unit: &'static str,
        from: f64,
        to: f64,
    },
    /// One of these, or nothing.
    One(&'static [(&'static str, &'static str)]),
    /// Any of these.
    Some(&'static [(&'static str, &'static str)]),
    /// Yes, no, or not asked.
    YesNo(&'static str, &'static str),
}

/// One row.
pub(super) struct Asks {
    pub id: String,
    pub label: String,
    pub takes: Takes,
    pub hint: &'static str,
    /// It should be filled in.
    pub wanted: bool,
}

impl Asks {
    pub fn new(id: impl Into<String>, label: impl Into<String>, takes: Takes) -> Self {
        Self { id: id.into(), label: label.into(), takes, hint: "", wanted: false }
    }

    pub fn hint(self, hint: &'static str) -> Self {
        Self { hint, ..self }
    }

    pub fn wanted(self) -> Self {
        Self { wanted: true, ..self }
    }

    /// The row with its value.
    pub fn line(&self, app: &App, value: Option<&Value>) -> FieldLine {
        let shown = value.map(|value| self.shown(app, value)).unwrap_or_default();
        FieldLine {
            id: self.id.as_str().into(),
            label: self.label.as_str().into(),
            heed: self.wanted && shown.is_empty(),
            value: shown.into(),
            detail: self.hint.into(),
            locked: false,
        }
    }

    fn shown(&self, app: &App, value: &Value) -> String {
        let words = |list: &[(&str, &str)], code: &str| {
            list.iter()
                .find(|(known, _)| *known == code)
                .map_or_else(|| code.to_owned(), |(_, words)| (*words).to_owned())
        };
        match (self.takes, value) {
            (Takes::Number { unit, .. }, Value::Number(number)) => {
                let number = number.as_f64().unwrap_or_default();
                format!("{}{}{unit}", app.decimal(number), if unit == "°" { "" } else { " " }).trim_end().to_owned()
            }
            (Takes::One(list), Value::String(code)) => words(list, code),
            (Takes::Some(list), Value::Array(codes)) => {
                let said: Vec<String> = codes.iter().filter_map(Value::as_str).map(|code| words(list, code)).collect();
                if said.is_empty() { "none".to_owned() } else { said.join(", ") }
            }
            (Takes::YesNo(yes, no), Value::Bool(value)) => if *value { yes } else { no }.to_owned(),
            _ => String::new(),
        }
    }

    /// Asks for the value.
    pub fn ask(&self, app: &Shared, value: Option<&Value>, refusal: &str) {
        let asked = AroundAsked::Plan(self.id.clone());
        let rows: Vec<PickRow> = match self.takes {
            Takes::Number { unit, from, to } => {
                let range = format!("{from} to {to} {unit}");
                let (title, hint) = (self.label.as_str(), self.hint);
                let number = NumberOf { title, hint, unit, range: &range, negatives: from < 0.0, refusal };
                return questions::number(app, asked, &number);
            }
            Takes::One(list) => {
                let is = |code: &str| value.and_then(Value::as_str) == Some(code);
                list.iter().map(|(code, words)| row(code, words, "", is(code))).chain([nothing()]).collect()
            }
            Takes::Some(list) => {
                let chosen = |code: &str| {
                    value.and_then(Value::as_array).is_some_and(|codes| codes.iter().any(|known| known == code))
                };
                let done = row("done", "That is all", "", false);
                list.iter().map(|(code, words)| row(code, words, "", chosen(code))).chain([done, nothing()]).collect()
            }
            Takes::YesNo(yes, no) => {
                let is = |of: bool| value.and_then(Value::as_bool) == Some(of);
                vec![row("yes", yes, "", is(true)), row("no", no, "", is(false)), nothing()]
            }
        };
        questions::pick(app, asked, &self.label, self.hint, rows);
    }

    /// What a chosen row makes of the value, and whether more is to be chosen.
    pub fn chosen(&self, value: Option<&Value>, id: &str) -> (Option<Value>, bool) {
        match (self.takes, id) {
            (_, "nothing") => (None, false),
            (Takes::YesNo(..), id) => (Some(json!(id == "yes")), false),
            (Takes::Some(_), "done") => (value.cloned().or_else(|| Some(json!([]))), false),
            (Takes::Some(_), id) => {
                let mut codes = value.and_then(Value::as_array).cloned().unwrap_or_default();
                match codes.iter().position(|code| code == id) {
                    Some(at) => drop(codes.remove(at)),
                    None => codes.push(json!(id)),
                }
                (Some(Value::Array(codes)), true)
            }
            (_, id) => (Some(json!(id)), false),
        }
    }

    /// A typed number, if it is one that the row takes.
    pub fn typed(&self, app: &Shared, text: &str) -> Result<Value, String> {
        let Takes::Number { unit, from, to } = self.takes else { return Err(String::new()) };
        let value = super::numbers::parse(app, text).filter(|value| (from..=to).contains(value));
        value.map(|value| json!(value)).ok_or_else(|| format!("Between {from} and {to} {unit}"))
    }
}

fn nothing() -> PickRow {
    row("nothing", "Not known", "left out of the plan", false)
}

/// The code of a value, as the document has it.
pub(super) fn code(value: impl serde::Serialize) -> String {
    match serde_json::to_value(value) {
        Ok(Value::String(code)) => code,
        _ => String::new(),
    }
}

/// A value of the document from its JSON; nothing where it does not fit.
pub(super) fn of<T: serde::de::DeserializeOwned>(value: Option<&Value>) -> Option<T> {
    serde_json::from_value(value?.clone()).ok()
}
