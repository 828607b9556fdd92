//! Locks on a register: one writer, or several readers.

use std::fs::File;
use std::io;

/// Waits until no other process writes.
pub(super) fn exclusive(file: &File) -> io::Result<()> {
    file.lock()
}

/// Waits until no process writes. If the disk does not support locks, the register is read without one; half-written
/// lines are recognised.
pub(super) fn shared(file: &File) -> io::Result<()> {
    match file.lock_shared() {
        Err(error) if error.kind() == io::ErrorKind::Unsupported => Ok(()),
        locked => locked,
    }
}
