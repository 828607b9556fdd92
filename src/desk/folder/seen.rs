//! What the system says about a file, and why a file was not written.

use coilwright::error::said_by_system;
use std::fmt;
use std::io::ErrorKind;
use std::time::SystemTime;

/// Largest file that is read or written, in bytes.
pub const LARGEST_FILE: u64 = 16 << 20;
/// What the system says about a file without reading it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Look {
    pub changed: Option<SystemTime>,
    pub length: u64,
    /// Device, inode number, and time of the last change to contents or attributes (seconds and nanoseconds). All zero
    /// on systems without them.
    pub number: (u64, u64, i64, i64),
}

/// Where an opened folder is now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Whereabouts {
    /// Where it was opened.
    There,
    /// Renamed or moved, and another one or none in its place.
    Moved,
    /// Removed.
    Gone,
}

impl Whereabouts {
    /// What is to be told about it. `None` as long as the folder is where it was.
    pub fn sentence(self) -> Option<&'static str> {
        match self {
            Self::There => None,
            Self::Moved => Some(
                "This folder was renamed or moved. The desk still reads and writes it where it is now; start the desk \
                 anew on it to see its new place.",
            ),
            Self::Gone => Some(
                "This folder was removed. Nothing can be saved in it: copy your text, and start the desk on another \
                 folder.",
            ),
        }
    }
}

/// Why a file was not written.
#[derive(Debug)]
pub enum Unwritten {
    /// A file of that name exists.
    Taken,
    /// The file no longer has the contents that the writer has seen.
    Changed,
    /// The file is a register, which only grows.
    Fixed,
    /// The file to replace, or the folder, does not exist any more.
    Gone,
    /// The folder was removed.
    NoFolder,
    /// The contents are larger than allowed.
    TooLarge,
    /// The disk is full.
    NoRoom,
    /// The system refuses, for this reason.
    Failed(String),
}

/// Why a register is only shown.
pub const FIXED: &str = "a register is never edited: “Calibration” and “Register” add to it, and a wrong entry is withdrawn there";

impl fmt::Display for Unwritten {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Taken => out.write_str("there is a file of that name"),
            Self::Changed => out.write_str("the file was changed meanwhile"),
            Self::Fixed => out.write_str(FIXED),
            Self::Gone => out.write_str("the file is gone"),
            Self::NoFolder => out.write_str("the folder was removed"),
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
