//! Puts a prepared set in place: all of it, or the old files again.
//!
//! First, every file that will be replaced gets a second name. Then each new file is renamed into place. If a rename
//! fails, the files placed so far are taken back, and the error says so; if even that fails, the error names the files
//! that are new. At every moment a reader sees an old or a new file, never a partial one.

use super::failure::write_error;
use super::place::{Found, look};
use crate::{Error, Result};
use std::path::{Path, PathBuf};
use std::{fs, io};
use tempfile::TempPath;

/// A file that is written but not yet in place.
#[derive(Debug)]
pub(super) struct Staged {
    pub(super) file: TempPath,
    pub(super) target: PathBuf,
    /// Whether an existing file may be replaced.
    pub(super) replace: bool,
    /// Path of the replaced file until the whole set is in place.
    pub(super) kept: PathBuf,
}

/// A file that is in place.
struct Placed {
    target: PathBuf,
    /// The file that it replaced.
    old: Option<PathBuf>,
}

/// Puts every file in place and returns the paths in order.
pub(super) fn swap(staged: Vec<Staged>) -> Result<Vec<PathBuf>> {
    let mut kept = Vec::with_capacity(staged.len());
    for file in &staged {
        // Nothing has changed yet: a failure here leaves the old set as it was.
        let old = match look(&file.target)? {
            Found::File if file.replace => {
                keep(&file.target, &file.kept).map_err(|error| write_error(&file.target, &error))?;
                Some(file.kept.clone())
            }
            _ => None,
        };
        kept.push(old);
    }
    let mut placed: Vec<Placed> = Vec::with_capacity(staged.len());
    for (Staged { file, target, replace, .. }, old) in staged.into_iter().zip(kept) {
        let renamed = if replace { file.persist(&target) } else { file.persist_noclobber(&target) };
        if let Err(failed) = renamed {
            return Err(taken_back(placed, write_error(&target, &failed.error)));
        }
        placed.push(Placed { target, old });
    }
    for file in &placed {
        file.old.as_ref().map(fs::remove_file);
    }
    Ok(placed.into_iter().map(|file| file.target).collect())
}

/// Gives a file a second name, or copies it if the file system has no second names.
fn keep(file: &Path, kept: &Path) -> io::Result<()> {
    if fs::hard_link(file, kept).is_ok() {
        return Ok(());
    }
    fs::copy(file, kept)?;
    fs::File::open(kept)?.sync_all()
}

/// Restores the old files and says in the error how that went.
fn taken_back(placed: Vec<Placed>, error: Error) -> Error {
    let mut still_new: Vec<PathBuf> = Vec::new();
    for Placed { target, old } in placed.into_iter().rev() {
        let back = match &old {
            Some(old) => fs::rename(old, &target),
            None => fs::remove_file(&target),
        };
        if back.is_err() {
            still_new.insert(0, target);
        }
    }
    let Error::Write { path, reason, hint } = error else { return error };
    match still_new.is_empty() {
        true => Error::Write { path, reason, hint },
        false => {
            let names: Vec<String> = still_new.iter().map(|path| path.display().to_string()).collect();
            Error::Write {
                path,
                reason: format!(
                    "{reason}; {} of this run are already in place and could not be taken back; every other file is \
                     as it was",
                    names.join(", ")
                ),
                hint: Some("remove these, or run again with --force when the cause is removed".into()),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Files `a`, `b` and `c`; `b` cannot be placed because it is missing from the staging folder.
    fn failing_set(folder: &Path, replace: bool) -> Vec<Staged> {
        ["a", "b", "c"]
            .iter()
            .map(|name| {
                let path = folder.join(format!("new-{name}"));
                if *name != "b" {
                    fs::write(&path, format!("new {name}")).unwrap();
                }
                Staged {
                    file: TempPath::try_from_path(&path).unwrap(),
                    target: folder.join(name),
                    replace,
                    kept: folder.join(format!("old-{name}")),
                }
            })
            .collect()
    }

    #[test]
    fn when_a_later_file_cannot_be_placed_the_old_set_stands_again() {
        for copied in [false, true] {
            let folder = tempfile::tempdir().unwrap();
            for name in ["a", "b"] {
                fs::write(folder.path().join(name), format!("old {name}")).unwrap();
            }
            let refused = swap(failing_set(folder.path(), true)).unwrap_err();
            assert!(refused.to_string().contains("/b: "), "{refused} {copied}");
            let read = |name: &str| fs::read_to_string(folder.path().join(name)).ok();
            assert_eq!(read("a").as_deref(), Some("old a"));
            assert_eq!(read("b").as_deref(), Some("old b"));
            assert_eq!(read("c"), None);
        }
    }

    #[test]
    fn of_a_set_that_replaces_nothing_nothing_stays_when_one_cannot_be_placed() {
        let folder = tempfile::tempdir().unwrap();
        swap(failing_set(folder.path(), false)).unwrap_err();
        assert!(!folder.path().join("a").exists() && !folder.path().join("c").exists());
    }

    #[test]
    fn what_cannot_be_taken_back_is_named() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        let placed =
            vec![Placed { target: at("a"), old: Some(at("gone")) }, Placed { target: at("b"), old: None }];
        fs::write(at("a"), "new").unwrap();
        fs::write(at("b"), "new").unwrap();
        let error = write_error(&at("c"), &io::Error::from(io::ErrorKind::StorageFull));
        let said = taken_back(placed, error).to_string();
        let named =
            format!("{} of this run are already in place and could not be taken back", at("a").display());
        assert!(said.contains(&named), "{said}");
        assert!(!at("b").exists());
    }
}
