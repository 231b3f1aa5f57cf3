//! One file per command of the program: arguments in, text and an exit code out.
//!
//! Results go to standard output, diagnostics to standard error. Exit: 0 done or yes; 1 no; 2 usage or bad input;
//! 3 could not.

pub mod pathway;
