//! The script of a case: timed commands that play through the same open case as the tablet's touches.
//!
//! What it does not do: it holds no keys and no passcodes; those stand in the people file it names.
//! What may never change: the meaning of format 1.

use crate::case::Command;
use crate::people::{Actor, PersonId, Role};
use crate::strict_json::{self, ReadError, one_line};
use chrono::{DateTime, FixedOffset};
use serde::Deserialize;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use thiserror::Error;

/// The format this program reads.
pub const FORMAT: u32 = 1;
/// The largest script accepted, bytes.
pub const MAX_BYTES: u64 = 4 << 20;
/// The longest wait before a command, seconds: a week.
const AFTER_MAX_S: f64 = 604_800.0;

/// Why bytes are not a script, or do not fit its people.
#[derive(Debug, Error)]
pub enum ScriptError {
    #[error(transparent)]
    Unreadable(#[from] ReadError),
    #[error("commands[{index}].after_s: {value} is not a time of 0 to {AFTER_MAX_S} s")]
    Time { index: usize, value: f64 },
    #[error("commands[{index}].do: {}", one_line(.reason))]
    Command { index: usize, reason: String },
    #[error("commands[{index}]: nobody of the people holds the role {role}")]
    RoleMissing { index: usize, role: Role },
    #[error("commands[{index}].do.to: nobody of the people is called \"{}\"", one_line(.name))]
    NameMissing { index: usize, name: String },
    #[error("{member}: \"{}\" must be the name of a file beside the script", one_line(.name))]
    FileName { member: &'static str, name: String },
}

/// A script as written.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Script {
    /// Format version, 1.
    pub brimline_script: u32,
    /// File name of the plan, beside the script.
    pub plan: String,
    /// File name of the people with their demo passcodes, beside the script.
    pub people: String,
    /// File name of the pathway, beside the script; a built-in one if left out.
    #[serde(default)]
    pub pathway: Option<String>,
    /// The wall clock when the case opens.
    pub opened_at: DateTime<FixedOffset>,
    pub commands: Vec<Line>,
}

/// One command of a script.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// Seconds after the command before.
    pub after_s: f64,
    pub by: Role,
    pub logged_by: Role,
    #[serde(rename = "do")]
    pub action: Value,
}

/// A command of a script with its people put in.
#[derive(Debug, Clone, PartialEq)]
pub enum Action {
    Case(Command),
    /// The program ends without warning and is started again.
    PowerCut,
    /// The person of that role signs with the passcode of the people file.
    Sign(Role),
}

/// Who is who: the team by role and everybody by name.
pub struct Cast {
    pub team: BTreeMap<Role, PersonId>,
    pub by_name: BTreeMap<String, PersonId>,
}

/// Reads a script and judges every command of it.
///
/// # Errors
/// [`ScriptError`] names the place.
pub fn read(bytes: &[u8]) -> Result<Script, ScriptError> {
    let script: Script = strict_json::read(bytes, "brimline_script", FORMAT, MAX_BYTES)?;
    file_name("plan", &script.plan)?;
    file_name("people", &script.people)?;
    if let Some(pathway) = &script.pathway {
        file_name("pathway", pathway)?;
    }
    for (index, line) in script.commands.iter().enumerate() {
        if !(0.0..=AFTER_MAX_S).contains(&line.after_s) {
            return Err(ScriptError::Time { index, value: line.after_s });
        }
        resolve(index, line, &|role| Ok(PersonId(role.word().to_owned())), &|_| Ok(PersonId("somebody".to_owned())))?;
    }
    Ok(script)
}

fn file_name(member: &'static str, name: &str) -> Result<(), ScriptError> {
    let plain = !name.is_empty() && !name.contains(['/', '\\', '\0']) && name != "." && name != "..";
    plain.then_some(()).ok_or_else(|| ScriptError::FileName { member, name: name.to_owned() })
}

impl Line {
    /// The command with the people of a cast put in.
    ///
    /// # Errors
    /// [`ScriptError`] if a role or a name is nobody's.
    pub fn action(&self, index: usize, cast: &Cast) -> Result<Action, ScriptError> {
        let by_role = |role: Role| cast.team.get(&role).cloned().ok_or(ScriptError::RoleMissing { index, role });
        let by_name = |name: &str| {
            let missing = || ScriptError::NameMissing { index, name: name.to_owned() };
            cast.by_name.get(name).cloned().ok_or_else(missing)
        };
        resolve(index, self, &by_role, &by_name)
    }
}

type ByRole<'a> = &'a dyn Fn(Role) -> Result<PersonId, ScriptError>;
type ByName<'a> = &'a dyn Fn(&str) -> Result<PersonId, ScriptError>;

fn resolve(index: usize, line: &Line, by_role: ByRole<'_>, by_name: ByName<'_>) -> Result<Action, ScriptError> {
    let mut action = line.action.clone();
    let bad = |reason: String| ScriptError::Command { index, reason };
    match action.get("do").and_then(Value::as_str) {
        Some("power-cut") => return Ok(Action::PowerCut),
        Some("sign") => {
            let role = action.get("role").cloned().unwrap_or_default();
            return serde_json::from_value(role).map(Action::Sign).map_err(|fault| bad(fault.to_string()));
        }
        Some("hand-over") => {
            if let Some(name) = action.get("to").and_then(Value::as_str).map(str::to_owned) {
                action["to"] = json!(by_name(&name)?);
            }
        }
        _ => {}
    }
    if let Some(second) = action.pointer_mut("/answer/second")
        && let Ok(role) = serde_json::from_value::<Role>(second.clone())
    {
        *second = json!(Actor::new(role, by_role(role)?));
    }
    let typed = serde_path_to_error::deserialize(action);
    typed.map(Action::Case).map_err(|fault| bad(format!("{}: {}", fault.path(), fault.inner())))
}
