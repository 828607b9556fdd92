//! The temporary folder of one desk, and what dead desks left.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// How the folders are called.
const PREFIX: &str = "coilwright-desk-";
/// The file whose lock says that the desk lives.
const ALIVE: &str = "alive";

/// The folder, locked while the desk lives and removed when it ends.
pub(super) struct Home {
    folder: TempDir,
    _alive: File,
}

impl Home {
    /// A new folder. Those of desks that were killed are removed.
    pub(super) fn new() -> io::Result<Self> {
        remove_dead(&std::env::temp_dir());
        let folder = tempfile::Builder::new().prefix(PREFIX).tempdir()?;
        // Locked before it bears its name: without it a folder does not count as a dead desk's.
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

/// Removes the folders whose desk does not live. One whose lock cannot be had is left alone, and so is one that is not ours.
fn remove_dead(place: &Path) {
    let Ok(entries) = fs::read_dir(place) else { return };
    let folders = entries.flatten().filter(|entry| entry.file_name().to_string_lossy().starts_with(PREFIX));
    for folder in folders.map(|entry| entry.path()).filter(is_dead) {
        // Where it cannot be removed the next desk tries again.
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
