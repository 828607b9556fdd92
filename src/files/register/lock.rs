//! Locks on a register: one writer alone, or readers together.

use std::fs::File;
use std::io;

/// Waits until no other process writes.
pub(super) fn exclusive(file: &File) -> io::Result<()> {
    file.lock()
}

/// Waits until no process writes. A disk that knows no locks is read without one: what is half written shows.
pub(super) fn shared(file: &File) -> io::Result<()> {
    match file.lock_shared() {
        Err(error) if error.kind() == io::ErrorKind::Unsupported => Ok(()),
        locked => locked,
    }
}
