//! The hidden folder in which a set of files is prepared, beside its final place.
//!
//! Its process holds a lock in it for as long as it runs. A later run can therefore distinguish a leftover of a killed
//! program or a power cut from a folder in use: if the lock can be taken, the folder belongs to nobody and is removed.

use std::collections::BTreeSet;
use std::fs::{File, TryLockError};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::{fs, io};

const PREFIX: &str = ".coilwright-";
const SUFFIX: &str = ".part";
const LOCK: &str = "lock";
/// Another run may take a folder for a leftover in the moment before it is locked.
const ATTEMPTS: usize = 8;

/// Unfinished things on the disk: staging folders, and folders made for the files.
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

/// Removes every unfinished file, and the folders made for them that are still empty. For a program about to exit.
///
/// Afterwards no output file can be made or put in place: a thread that tries waits for ever.
pub fn abandon_all() {
    let unfinished = unfinished();
    for staging in &unfinished.staging {
        remove_flat(staging);
    }
    remove_empty(&unfinished.folders);
    std::mem::forget(unfinished);
}

/// Runs a step that an interrupt must not split.
pub(super) fn uninterrupted<T>(step: impl FnOnce() -> T) -> T {
    let _held = unfinished();
    step()
}

/// A staging folder. Dropping it removes it with its contents.
#[derive(Debug)]
pub(super) struct Staging {
    folder: PathBuf,
    /// Kept open for its lock.
    _lock: File,
}

impl Staging {
    /// A new staging folder in `parent`, after removing leftovers there.
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

/// Removes a staging folder and its entry in the list.
fn forget(folder: &Path) {
    let mut unfinished = unfinished();
    remove_flat(folder);
    unfinished.staging.remove(folder);
}

/// The lock of a new staging folder; `None` if another run took the folder for a leftover first.
fn locked(folder: &Path) -> io::Result<Option<File>> {
    let path = folder.join(LOCK);
    let lock = match File::create_new(&path) {
        Ok(lock) => lock,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(error),
    };
    match lock.try_lock() {
        // If files cannot be locked here, nobody can take this folder for a leftover either.
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
            // Removed while locked, so that its maker cannot believe that it holds it.
            Ok(lock) if lock.try_lock().is_ok() => remove_flat(&entry.path()),
            Ok(_) => {}
            // Its program was killed before it had a lock, or after it had removed it: removed if nothing else is in it.
            Err(_) if holds_only_ours(&entry.path()) => remove_flat(&entry.path()),
            Err(_) => {}
        }
    }
}

/// Whether a folder holds nothing but what a set of files is prepared as: numbers, and replaced files beside them.
fn holds_only_ours(folder: &Path) -> bool {
    let is_ours = |name: &str| {
        let number = name.strip_suffix(".old").unwrap_or(name);
        !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit())
    };
    fs::read_dir(folder)
        .is_ok_and(|entries| entries.flatten().all(|entry| entry.file_name().to_str().is_some_and(is_ours)))
}

/// Removes a folder with its files; files that cannot be removed stay.
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
    // The lock goes last, so that a half-removed folder can still be recognised as a leftover.
    lock.map(fs::remove_file);
    drop(fs::remove_dir(folder));
}

/// Folders made for files. Dropping this removes those still empty.
#[derive(Debug)]
pub(super) struct MadeFolders(Vec<PathBuf>);

impl MadeFolders {
    /// Makes a folder and its missing parents.
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

/// Removes the empty ones of these folders, inner ones first.
fn remove_empty<'a, F>(folders: F)
where
    F: IntoIterator<Item = &'a PathBuf>,
    F::IntoIter: DoubleEndedIterator,
{
    for folder in folders.into_iter().rev() {
        drop(fs::remove_dir(folder));
    }
}

/// The missing folders on this path, outermost first.
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
        let without_lock = parent.path().join(".coilwright-half.part");
        fs::create_dir(&without_lock).unwrap();
        fs::write(without_lock.join("3"), "written while the folder was removed").unwrap();
        fs::write(without_lock.join("3.old"), "").unwrap();
        let foreign = parent.path().join(".coilwright-notes.part");
        fs::create_dir(&foreign).unwrap();
        fs::write(foreign.join("mine"), "no lock in here: not ours").unwrap();
        let living = Staging::new(parent.path()).unwrap();
        fs::write(living.path().join("0"), "in work").unwrap();
        let second = Staging::new(parent.path()).unwrap();
        assert!(!dead.exists() && !parent.path().join(".coilwright-empty.part").exists());
        assert!(!without_lock.exists());
        assert!(foreign.join("mine").exists());
        assert!(living.path().join("0").exists() && second.path().exists());
        let path = living.path().to_owned();
        drop(living);
        assert!(!path.exists());
    }
}
