//! Reading `settings.toml` from bytes.

use super::{Layer, SettingsError};

/// The format this program writes and the newest it reads.
pub const FORMAT: u32 = 1;

/// The largest settings file accepted, bytes.
pub const MAX_BYTES: u64 = 64 << 10;

/// The version alone, so that a newer file is told from a broken one.
const VERSION: &str = "brimline_settings";

/// Reads a settings file.
///
/// # Errors
/// [`SettingsError`] with line and column, or the member, of the first fault.
pub fn read(bytes: &[u8]) -> Result<Layer, SettingsError> {
    let length = bytes.len() as u64;
    if length > MAX_BYTES {
        return Err(SettingsError::TooLarge { bytes: length, max: MAX_BYTES });
    }
    let text = std::str::from_utf8(bytes).map_err(|fault| SettingsError::NotUtf8 { at: fault.valid_up_to() })?;
    let table: toml::Table = toml::from_str(text).map_err(|fault| syntax(text, &fault))?;
    judge_version(&table)?;
    let layer: Layer = toml::from_str(text).map_err(|fault| syntax(text, &fault))?;
    layer.judge(str::to_owned)?;
    judge_store(&layer)?;
    Ok(layer)
}

/// A file does not know from where the program is started, so its path is absolute.
fn judge_store(layer: &Layer) -> Result<(), SettingsError> {
    let Some(store) = layer.store.as_ref().filter(|store| !store.is_absolute()) else { return Ok(()) };
    let reason = format!("\"{}\" is no absolute path", store.display());
    Err(SettingsError::Member { member: "store".to_owned(), reason })
}

fn judge_version(table: &toml::Table) -> Result<(), SettingsError> {
    let found = table.get(VERSION).and_then(toml::Value::as_integer).ok_or(SettingsError::NotSettings)?;
    match found {
        ..=0 => Err(SettingsError::NoVersion),
        found if found > i64::from(FORMAT) => Err(SettingsError::Newer { found, newest: FORMAT }),
        _ => Ok(()),
    }
}

/// Line and column, both from 1, of what the TOML reader objects to; its message cut to one line.
fn syntax(text: &str, fault: &toml::de::Error) -> SettingsError {
    let at = fault.span().map_or(0, |span| span.start.min(text.len()));
    let at = (0..=at).rev().find(|at| text.is_char_boundary(*at)).unwrap_or(0);
    let before = &text[..at];
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
    let reason = fault.message().split_whitespace().collect::<Vec<_>>().join(" ");
    SettingsError::Syntax { line, column, reason }
}
