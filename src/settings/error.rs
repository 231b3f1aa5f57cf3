//! What can be wrong with settings.

use crate::strict_json::one_line;
use thiserror::Error;

/// Why settings are refused. One line; the caller puts the file's name before it.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum SettingsError {
    #[error("{bytes} bytes are more than the {max} accepted")]
    TooLarge { bytes: u64, max: u64 },
    #[error("not UTF-8 at byte {at}")]
    NotUtf8 { at: usize },
    /// No TOML, an unknown member, or a value of another kind.
    #[error("line {line}, column {column}: {}", one_line(.reason))]
    Syntax { line: usize, column: usize, reason: String },
    #[error("brimline_settings: missing, so this is not a settings file")]
    NotSettings,
    #[error("brimline_settings is {found}, newer than the {newest} this program reads; left untouched")]
    Newer { found: i64, newest: u32 },
    #[error("brimline_settings: versions begin at 1")]
    NoVersion,
    #[error("{member}: {value} is outside {from} to {to}")]
    OutOfRange { member: String, value: u64, from: u64, to: u64 },
    #[error("{}: {}", one_line(.member), one_line(.reason))]
    Member { member: String, reason: String },
}
