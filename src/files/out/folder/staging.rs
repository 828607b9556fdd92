//! The hidden folder in which a set of files is prepared, beside its final place.
//!
//! Its process holds a lock in it as long as it lives, so a later run can tell one that was left behind, by a killed
//! program or a power cut, from one that is in use: what can be locked belongs to nobody and is removed.

use std::collections::BTreeSet;
use std::fs::{File, TryLockError};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::{fs, io};

const PREFIX: &str = ".coilwright-";
const SUFFIX: &str = ".part";
const LOCK: &str = "lock";
/// Another run may take a folder for left behind in the moment before it is locked.
const ATTEMPTS: usize = 8;

/// What exists on disk but is not finished: staging folders, and folders that were made for the files.
#[derive(Default)]
struct Unfinished {
    staging: BTreeSet<PathBuf>,
    folders: BTreeSet<PathBuf>,
}

static UNFINISHED: Mutex<Unfinished> =
    Mutex::new(Unfinished { staging: BTreeSet::new(), folders: BTreeSet::new() });

fn unfinished() -> MutexGuard<'static, Unfinished> {
    UNFINISHED.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Removes every unfinished file, and the folders made for them that are still empty; for a program about to exit.
///
/// From then on no output file can be made or put in place: a thread that tries waits for ever.
pub fn abandon_all() {
    let unfinished = unfinished();
    for staging in &unfinished.staging {
        remove_flat(staging);
    }
    remove_empty(&unfinished.folders);
    std::mem::forget(unfinished);
}

/// Runs a step that an interrupt must not cut in two.
pub(super) fn uninterrupted<T>(step: impl FnOnce() -> T) -> T {
    let _held = unfinished();
    step()
}

/// A staging folder, removed with all that is in it when dropped.
#[derive(Debug)]
pub(super) struct Staging {
    folder: PathBuf,
    /// Held open for its lock.
    _lock: File,
}

impl Staging {
    /// A new one in `parent`, which is first freed of those left behind there.
    pub(super) fn new(parent: &Path) -> io::Result<Self> {
        remove_left_behind(parent);
        for _ in 0..ATTEMPTS {
            let mut unfinished = unfinished();
            let folder = tempfile::Builder::new().prefix(PREFIX).suffix(SUFFIX).tempdir_in(parent)?.keep();
            unfinished.staging.insert(folder.clone());
            drop(unfinished);
            match locked(&folder) {
                Ok(Some(lock)) => return Ok(Self { folder, _lock: lock }),
                Ok(None) => forget(&folder),
                Err(error) => {
                    forget(&folder);
                    return Err(error);
                }
            }
        }
        Err(io::Error::other("other runs keep taking the temporary folder away"))
    }

    pub(super) fn path(&self) -> &Path {
        &self.folder
    }
}

impl Drop for Staging {
    fn drop(&mut self) {
        forget(&self.folder);
    }
}

/// Removes a staging folder and takes it off the list.
fn forget(folder: &Path) {
    let mut unfinished = unfinished();
    remove_flat(folder);
    unfinished.staging.remove(folder);
}

/// The lock of a new staging folder. `None` if another run was faster and took the folder for left behind.
fn locked(folder: &Path) -> io::Result<Option<File>> {
    let path = folder.join(LOCK);
    let lock = match File::create_new(&path) {
        Ok(lock) => lock,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(error),
    };
    match lock.try_lock() {
        // Where files cannot be locked, nobody can take this one for left behind either.
        Ok(()) | Err(TryLockError::Error(_)) => Ok(path.exists().then_some(lock)),
        Err(TryLockError::WouldBlock) => Ok(None),
    }
}

/// Removes the staging folders that no living process holds.
fn remove_left_behind(parent: &Path) {
    let Ok(entries) = fs::read_dir(parent) else { return };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let ours = name.to_str().is_some_and(|name| name.starts_with(PREFIX) && name.ends_with(SUFFIX));
        if !ours || !entry.file_type().is_ok_and(|kind| kind.is_dir()) {
            continue;
        }
        match File::open(entry.path().join(LOCK)) {
            // Removed while locked, so that its maker cannot believe to hold it.
            Ok(lock) if lock.try_lock().is_ok() => remove_flat(&entry.path()),
            Ok(_) => {}
            // Killed before it had a lock: removed if empty.
            Err(_) => drop(fs::remove_dir(entry.path())),
        }
    }
}

/// Removes a folder with the files in it; what cannot be removed cannot be helped.
fn remove_flat(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    let mut lock = None;
    for entry in entries.flatten() {
        if entry.file_name() == LOCK {
            lock = Some(entry.path());
        } else {
            drop(fs::remove_file(entry.path()));
        }
    }
    // Last, so that a folder half removed can still be told as left behind.
    lock.map(fs::remove_file);
    drop(fs::remove_dir(folder));
}

/// Folders made for files; those still empty are removed when dropped.
#[derive(Debug)]
pub(super) struct MadeFolders(Vec<PathBuf>);

impl MadeFolders {
    /// Makes a folder and those it stands in that are missing.
    pub(super) fn create(folder: &Path) -> io::Result<Self> {
        let made = missing_ancestors(folder);
        unfinished().folders.extend(made.iter().cloned());
        let this = Self(made);
        fs::create_dir_all(folder)?;
        Ok(this)
    }
}

impl Drop for MadeFolders {
    fn drop(&mut self) {
        remove_empty(&self.0);
        let mut unfinished = unfinished();
        for folder in &self.0 {
            unfinished.folders.remove(folder);
        }
    }
}

/// Removes those folders that are empty, inner ones first.
fn remove_empty<'a, F>(folders: F)
where
    F: IntoIterator<Item = &'a PathBuf>,
    F::IntoIter: DoubleEndedIterator,
{
    for folder in folders.into_iter().rev() {
        drop(fs::remove_dir(folder));
    }
}

/// The folders on the way to this one that do not exist yet, outermost first.
fn missing_ancestors(folder: &Path) -> Vec<PathBuf> {
    let mut missing: Vec<PathBuf> = folder
        .ancestors()
        .take_while(|ancestor| !ancestor.as_os_str().is_empty() && !ancestor.exists())
        .map(Path::to_owned)
        .collect();
    missing.reverse();
    missing
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_killed_run_left_behind_goes_and_what_a_living_one_holds_stays() {
        let parent = tempfile::tempdir().unwrap();
        let dead = parent.path().join(".coilwright-dead.part");
        fs::create_dir(&dead).unwrap();
        fs::write(dead.join(LOCK), "").unwrap();
        fs::write(dead.join("0"), "half a file").unwrap();
        fs::create_dir(parent.path().join(".coilwright-empty.part")).unwrap();
        let foreign = parent.path().join(".coilwright-notes.part");
        fs::create_dir(&foreign).unwrap();
        fs::write(foreign.join("mine"), "no lock in here: not ours").unwrap();
        let living = Staging::new(parent.path()).unwrap();
        fs::write(living.path().join("0"), "in work").unwrap();
        let second = Staging::new(parent.path()).unwrap();
        assert!(!dead.exists() && !parent.path().join(".coilwright-empty.part").exists());
        assert!(foreign.join("mine").exists());
        assert!(living.path().join("0").exists() && second.path().exists());
        let path = living.path().to_owned();
        drop(living);
        assert!(!path.exists());
    }
}
