//! What the system says of a file, and why it refuses one.

use coilwright::error::said_by_system;
use std::fmt;
use std::io::ErrorKind;
use std::time::SystemTime;

/// The largest file that is read or written here, in bytes.
pub const LARGEST_FILE: u64 = 16 << 20;
/// What the system says of a file without its being read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Look {
    pub changed: Option<SystemTime>,
    pub length: u64,
    /// The device, the file's number there, and when either was last changed, where the system has such.
    pub number: (u64, u64, i64, i64),
}

/// Why a file was not written.
#[derive(Debug)]
pub enum Unwritten {
    /// There is a file of that name.
    Taken,
    /// The file holds something else than the writer has seen.
    Changed,
    /// The file to be replaced, or the folder, is not there any more.
    Gone,
    /// It is larger than may be written.
    TooLarge,
    /// The disk is full.
    NoRoom,
    /// The system refuses.
    Failed(String),
}

impl fmt::Display for Unwritten {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Taken => out.write_str("there is a file of that name"),
            Self::Changed => out.write_str("the file was changed meanwhile"),
            Self::Gone => out.write_str("the file is gone"),
            Self::TooLarge => out.write_str("it is larger than may be written"),
            Self::NoRoom => out.write_str("no space is left on the device"),
            Self::Failed(reason) => out.write_str(reason),
        }
    }
}

impl Unwritten {
    pub fn from(error: &std::io::Error) -> Self {
        match error.kind() {
            ErrorKind::AlreadyExists => Self::Taken,
            ErrorKind::NotFound => Self::Gone,
            ErrorKind::FileTooLarge => Self::TooLarge,
            ErrorKind::StorageFull | ErrorKind::QuotaExceeded => Self::NoRoom,
            _ => Self::Failed(said_by_system(error)),
        }
    }
}

impl From<std::io::Error> for Unwritten {
    fn from(error: std::io::Error) -> Self {
        Self::from(&error)
    }
}
