//! The temporary folder of a desk, and the removal of folders left by desks that were killed.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// Start of the folders' names.
const PREFIX: &str = "coilwright-desk-";
/// The file that is locked as long as the desk runs.
const ALIVE: &str = "alive";

/// The folder, locked while the desk runs and removed when it ends.
pub(super) struct Home {
    folder: TempDir,
    _alive: File,
}

impl Home {
    /// Makes a new folder, and removes those of desks that were killed.
    pub(super) fn new() -> io::Result<Self> {
        remove_dead(&std::env::temp_dir());
        let folder = tempfile::Builder::new().prefix(PREFIX).tempdir()?;
        // The file is locked before it gets its name. A folder without a file of that name is not taken for a dead
        // desk's.
        let making = folder.path().join("making");
        let alive = File::create_new(&making)?;
        alive.lock()?;
        fs::rename(making, folder.path().join(ALIVE))?;
        Ok(Self { folder, _alive: alive })
    }

    pub(super) fn path(&self) -> &Path {
        self.folder.path()
    }
}

/// Removes the folders whose desk no longer runs. A folder whose lock file cannot be locked is left alone, and so is
/// one that belongs to another user.
fn remove_dead(place: &Path) {
    let Ok(entries) = fs::read_dir(place) else { return };
    let folders = entries.flatten().filter(|entry| entry.file_name().to_string_lossy().starts_with(PREFIX));
    for folder in folders.map(|entry| entry.path()).filter(is_dead) {
        // If it cannot be removed, the next desk tries again.
        drop(fs::remove_dir_all(folder));
    }
}

fn is_dead(folder: &PathBuf) -> bool {
    let is_folder = fs::symlink_metadata(folder).is_ok_and(|found| found.is_dir());
    let alive = || File::options().write(true).open(folder.join(ALIVE));
    is_folder && alive().is_ok_and(|file| file.try_lock().is_ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_folder_of_a_dead_desk_goes_and_that_of_a_living_one_stays() {
        let place = tempfile::tempdir().unwrap();
        let folder = |name: &str| {
            let path = place.path().join(name);
            fs::create_dir(&path).unwrap();
            (File::create_new(path.join(ALIVE)).unwrap(), path)
        };
        let (dead, gone) = folder("coilwright-desk-dead");
        let (alive, stays) = folder("coilwright-desk-alive");
        let (_other, other) = folder("another-program");
        alive.lock().unwrap();
        drop(dead);
        remove_dead(place.path());
        assert!(!gone.exists() && stays.exists() && other.exists());
    }
}
