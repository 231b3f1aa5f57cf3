//! What a command is given of the world, and the exit codes.

use crate::ports::{Disk, Randomness};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

/// Done, or yes.
pub const YES: u8 = 0;
/// No: invalid, refused, faults found.
pub const NO: u8 = 1;
/// Usage, or bad input.
pub const BAD_INPUT: u8 = 2;
/// Could not: disk, lock, network.
pub const COULD_NOT: u8 = 3;

/// What a command needs of the world.
pub struct World<'a> {
    pub disk: &'a dyn Disk,
    pub random: &'a dyn Randomness,
    /// The store's folder.
    pub store: PathBuf,
    pub input: &'a mut dyn Read,
    pub out: &'a mut dyn Write,
    pub err: &'a mut dyn Write,
}

impl World<'_> {
    /// Reads a file, or standard input for `-`, bounded.
    ///
    /// # Errors
    /// The exit code, after one line on standard error: 2 for a file that is missing or too large, 3 otherwise.
    pub fn read(&mut self, path: &Path, max_bytes: u64) -> Result<Vec<u8>, u8> {
        let read = if path == Path::new("-") { self.read_input(max_bytes) } else { self.disk.read(path, max_bytes) };
        read.map_err(|fault| {
            let code = match fault.kind() {
                io::ErrorKind::NotFound | io::ErrorKind::InvalidData | io::ErrorKind::IsADirectory => BAD_INPUT,
                _ => COULD_NOT,
            };
            self.fail(code, format_args!("{}: {fault}", path.display()))
        })
    }

    fn read_input(&mut self, max_bytes: u64) -> io::Result<Vec<u8>> {
        let mut bytes = Vec::new();
        self.input.take(max_bytes.saturating_add(1)).read_to_end(&mut bytes)?;
        if bytes.len() as u64 > max_bytes {
            return Err(io::Error::new(io::ErrorKind::InvalidData, format!("more than {max_bytes} bytes")));
        }
        Ok(bytes)
    }

    /// Writes a file as a whole, or standard output for `-`.
    ///
    /// # Errors
    /// Exit code 3, after one line on standard error.
    pub fn write(&mut self, path: &Path, bytes: &[u8]) -> Result<(), u8> {
        let written = if path == Path::new("-") { self.out.write_all(bytes) } else { self.disk.replace(path, bytes) };
        written.map_err(|fault| self.fail(COULD_NOT, format_args!("{}: {fault}", path.display())))
    }

    /// One line on standard output.
    ///
    /// # Errors
    /// Exit code 3 if it cannot be written.
    pub fn say(&mut self, line: std::fmt::Arguments<'_>) -> Result<(), u8> {
        writeln!(self.out, "{line}").map_err(|fault| self.fail(COULD_NOT, format_args!("standard output: {fault}")))
    }

    /// One line on standard error; returns the exit code.
    pub fn fail(&mut self, code: u8, line: std::fmt::Arguments<'_>) -> u8 {
        // Where not even standard error can be written, the exit code still tells.
        let _ = writeln!(self.err, "brimline: {line}");
        code
    }
}
