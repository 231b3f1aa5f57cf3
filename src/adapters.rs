//! Adapters: the ports on a real machine. All input and output of the program lives here.
//!
//! What they do not do: no decision about a case, and nothing a test cannot replace by its own port.

mod clock;
mod files;
mod randomness;

pub use clock::SystemClock;
pub use files::RealDisk;
pub use randomness::SystemRandomness;
