//! Locks on a register: one writer, or several readers.

use std::fs::{File, TryLockError};
use std::io;
use std::time::{Duration, Instant};

/// How long a lock is waited for, and how often it is tried: an entry takes some milliseconds.
const PATIENCE: Duration = Duration::from_secs(30);
const BETWEEN: Duration = Duration::from_millis(5);

/// Waits until no other process writes, and not for ever.
pub(super) fn exclusive(file: &File) -> io::Result<()> {
    waited(|| file.try_lock())
}

fn waited(mut attempt: impl FnMut() -> Result<(), TryLockError>) -> io::Result<()> {
    let begun = Instant::now();
    loop {
        match attempt() {
            Ok(()) => return Ok(()),
            Err(TryLockError::Error(error)) => return Err(error),
            Err(TryLockError::WouldBlock) if begun.elapsed() > PATIENCE => {
                let held = format!("another process has held it for {} s", PATIENCE.as_secs());
                return Err(io::Error::new(io::ErrorKind::WouldBlock, held));
            }
            Err(TryLockError::WouldBlock) => std::thread::sleep(BETWEEN),
        }
    }
}

/// Waits until no process writes. If the disk does not support locks, the register is read without one; half-written
/// lines are recognised.
pub(super) fn shared(file: &File) -> io::Result<()> {
    match waited(|| file.try_lock_shared()) {
        Err(error) if error.kind() == io::ErrorKind::Unsupported => Ok(()),
        locked => locked,
    }
}

/// Whether another process writes to this file now, so that reading or adding to it waits.
pub(super) fn is_written(file: &File) -> bool {
    matches!(file.try_lock_shared(), Err(TryLockError::WouldBlock))
}
