//! Output files, each written whole or not at all.
//!
//! Every file is first written beside its final place under a temporary name and put in place by one rename
//! when the whole set is complete. A full disk, an error half way or an interrupt therefore leaves either the
//! complete set or nothing new, and never a truncated file. After a power cut at worst a temporary file remains.
//!
//! ```
//! use coilwright::files::out::folder::OutputFolder;
//! use std::io::Write;
//!
//! let parent = tempfile::tempdir().unwrap();
//! let mut folder = OutputFolder::create(&parent.path().join("out"), false, &["a.txt", "b.csv"])?;
//! folder.write("a.txt", b"whole")?;
//! folder.write_with("b.csv", |file| {
//!     for row in 0..3 {
//!         writeln!(file, "{row}")?;
//!     }
//!     Ok(())
//! })?;
//! let paths = folder.finish()?;
//! assert_eq!(std::fs::read_to_string(&paths[1]).unwrap(), "0\n1\n2\n");
//! # Ok::<(), coilwright::Error>(())
//! ```

use crate::error::said_by_system;
use crate::{Error, Result};
use std::collections::BTreeSet;
use std::fs::File;
use std::io::{BufWriter, ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::{fs, io};
use tempfile::NamedTempFile;

/// What exists on disk but is not finished: temporary files, and folders that were made for them.
#[derive(Default)]
struct Unfinished {
    files: BTreeSet<PathBuf>,
    folders: BTreeSet<PathBuf>,
}

static UNFINISHED: Mutex<Unfinished> =
    Mutex::new(Unfinished { files: BTreeSet::new(), folders: BTreeSet::new() });

fn unfinished() -> MutexGuard<'static, Unfinished> {
    UNFINISHED.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Removes every temporary file, and the folders made for them that are still empty; for a program about to exit.
///
/// From then on no output file can be made or put in place: a thread that tries waits for ever.
pub fn abandon_all() {
    let unfinished = unfinished();
    for path in &unfinished.files {
        // What cannot be removed now cannot be helped: the program is on its way out.
        drop(fs::remove_file(path));
    }
    remove_empty(unfinished.folders.iter());
    std::mem::forget(unfinished);
}

/// Removes those folders that are empty, inner ones first.
fn remove_empty<'a>(folders: impl DoubleEndedIterator<Item = &'a PathBuf>) {
    for folder in folders.rev() {
        drop(fs::remove_dir(folder));
    }
}

/// A folder and the set of files to be written there together.
///
/// Dropped without [`finish`](Self::finish), it leaves nothing: no file, and no folder that it made.
#[derive(Debug)]
#[must_use = "nothing appears in the folder until `finish` is called"]
pub struct OutputFolder {
    folder: PathBuf,
    replace: bool,
    made: Vec<PathBuf>,
    staged: Vec<(NamedTempFile, PathBuf)>,
}

impl OutputFolder {
    /// Makes the folder if it is missing and checks that every name can be written there.
    ///
    /// Call it before long work starts. Unless `replace` is set, a name that is already taken is an error, and a
    /// folder in place of a file always is.
    pub fn create(folder: &Path, replace: bool, names: &[&str]) -> Result<Self> {
        let made = missing_ancestors(folder);
        unfinished().folders.extend(made.iter().cloned());
        let this = Self { folder: folder.to_owned(), replace, made, staged: Vec::new() };
        fs::create_dir_all(folder).map_err(|error| write_error(folder, &error))?;
        this.check_names(names)?;
        // The only sure test of the right to write is to write.
        forget(this.stage(folder)?);
        Ok(this)
    }

    /// Writes one whole file.
    pub fn write(&mut self, name: &str, bytes: &[u8]) -> Result<()> {
        self.write_with(name, |file| Ok(file.write_all(bytes)?))
    }

    /// Writes one file piece by piece, in memory that does not grow with it.
    pub fn write_with(
        &mut self,
        name: &str,
        fill: impl FnOnce(&mut dyn Write) -> std::result::Result<(), Stopped>,
    ) -> Result<()> {
        let path = self.folder.join(name);
        let staged = self.stage(&path)?;
        let filled = (|| -> std::result::Result<(), Stopped> {
            let mut buffered = BufWriter::with_capacity(1 << 16, staged.as_file());
            fill(&mut buffered)?;
            buffered.flush()?;
            // The contents must be on the disk before the name is, or a power cut could leave an empty file.
            staged.as_file().sync_all()?;
            Ok(())
        })();
        match filled {
            Ok(()) => {
                self.staged.push((staged, path));
                Ok(())
            }
            Err(stopped) => {
                forget(staged);
                Err(stopped.at(&path))
            }
        }
    }

    /// Puts every file in its place and returns the paths in the order they were written.
    pub fn finish(mut self) -> Result<Vec<PathBuf>> {
        let mut finished = Vec::new();
        let mut unfinished = unfinished();
        let mut staged = std::mem::take(&mut self.staged).into_iter();
        for (file, path) in staged.by_ref() {
            let temporary = file.path().to_owned();
            let placed = if self.replace { file.persist(&path) } else { file.persist_noclobber(&path) };
            // A file that could not be placed is removed as its handle is dropped.
            unfinished.files.remove(&temporary);
            if let Err(error) = placed.map(drop).map_err(|failed| write_error(&path, &failed.error)) {
                staged.for_each(|(rest, _)| {
                    unfinished.files.remove(rest.path());
                });
                return Err(error);
            }
            finished.push(path);
        }
        Ok(finished)
    }

    fn check_names(&self, names: &[&str]) -> Result<()> {
        let mut taken = Vec::new();
        for name in names {
            match fs::symlink_metadata(self.folder.join(name)) {
                Ok(found) if found.is_dir() => {
                    return Err(Error::Write {
                        path: self.folder.join(name),
                        reason: "a folder of that name is in the way".into(),
                        hint: Some("move it away, or choose another place".into()),
                    });
                }
                Ok(_) if !self.replace => taken.push(*name),
                _ => {}
            }
        }
        match taken[..] {
            [] => Ok(()),
            [first, ..] => Err(Error::Write {
                path: self.folder.join(first),
                reason: match taken.len() {
                    1 => "the file exists already".into(),
                    2 => format!("the file exists already, and so does {}", taken[1]),
                    many => format!("the file exists already, and so do {} others of this set", many - 1),
                },
                hint: Some("add --force to replace what is there, or choose another place".into()),
            }),
        }
    }

    /// A fresh temporary file in the folder, on the list of what an interrupt must remove.
    fn stage(&self, path: &Path) -> Result<NamedTempFile> {
        let mut unfinished = unfinished();
        let file = temporary_in(&self.folder).map_err(|error| write_error(path, &error))?;
        unfinished.files.insert(file.path().to_owned());
        Ok(file)
    }
}

impl Drop for OutputFolder {
    fn drop(&mut self) {
        self.staged.drain(..).for_each(|(file, _)| forget(file));
        remove_empty(self.made.iter());
        let mut unfinished = unfinished();
        for folder in &self.made {
            unfinished.folders.remove(folder);
        }
    }
}

/// Removes a temporary file and takes it off the list.
fn forget(file: NamedTempFile) {
    let path = file.path().to_owned();
    drop(file);
    unfinished().files.remove(&path);
}

/// One file at a path of the user's choice, to be written whole or not at all.
#[derive(Debug)]
#[must_use = "nothing appears until `write` is called"]
pub struct OutputFile {
    folder: OutputFolder,
    name: String,
}

impl OutputFile {
    /// Checks that the file can be written; call it before long work starts. See [`OutputFolder::create`].
    pub fn create(path: &Path, replace: bool) -> Result<Self> {
        let (folder, name) = folder_and_name(path)?;
        Ok(Self { folder: OutputFolder::create(folder, replace, &[name])?, name: name.to_owned() })
    }

    /// Writes it.
    pub fn write(mut self, bytes: &[u8]) -> Result<()> {
        self.folder.write(&self.name, bytes)?;
        self.folder.finish().map(drop)
    }
}

/// A path cut before its last name.
fn folder_and_name(path: &Path) -> Result<(&Path, &str)> {
    let no_name = || Error::Write {
        path: path.to_owned(),
        reason: "it does not end in a file name".into(),
        hint: Some("name a file, such as best.json".into()),
    };
    let name = path.file_name().ok_or_else(no_name)?;
    let name = name.to_str().ok_or_else(no_name)?;
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    Ok((folder, name))
}

/// Why the filling of a file stopped: the file could not take it, or what was to be written failed.
///
/// Both kinds convert with `?` inside the closure given to [`OutputFolder::write_with`].
#[derive(Debug)]
pub enum Stopped {
    /// The file could not be written.
    Io(io::Error),
    /// The contents could not be made.
    Failed(Error),
}

impl Stopped {
    fn at(self, path: &Path) -> Error {
        match self {
            Self::Io(error) => write_error(path, &error),
            Self::Failed(error) => error,
        }
    }
}

impl From<io::Error> for Stopped {
    fn from(error: io::Error) -> Self {
        Self::Io(error)
    }
}

impl From<Error> for Stopped {
    fn from(error: Error) -> Self {
        Self::Failed(error)
    }
}

impl From<csv::Error> for Stopped {
    fn from(error: csv::Error) -> Self {
        Self::Io(error.into())
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

/// A temporary file with the access that any new file of this user gets, not the private one of a secret.
fn temporary_in(folder: &Path) -> io::Result<NamedTempFile<File>> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".coilwright-").suffix(".part");
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    builder.tempfile_in(folder)
}

/// The user's words for a failed write, with what to do about it.
fn write_error(path: &Path, error: &io::Error) -> Error {
    let elsewhere = "choose another place";
    let (reason, hint) = match error.kind() {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => (
            "no space is left there",
            format!("free some space, or {elsewhere}; no part of the file was kept"),
        ),
        ErrorKind::FileTooLarge => {
            ("the file would be larger than is allowed there", format!("write less, or {elsewhere}"))
        }
        ErrorKind::PermissionDenied => {
            ("permission denied", format!("{elsewhere}, one that you may write to"))
        }
        ErrorKind::ReadOnlyFilesystem => ("nothing can be written on that disk", elsewhere.to_owned()),
        ErrorKind::NotFound => ("nothing can be made there", elsewhere.to_owned()),
        ErrorKind::NotADirectory => ("a file is where a folder should be", elsewhere.to_owned()),
        ErrorKind::AlreadyExists if path.is_dir() => {
            ("a folder of that name is in the way", elsewhere.to_owned())
        }
        ErrorKind::AlreadyExists => ("a file of that name is in the way", elsewhere.to_owned()),
        _ => {
            return Error::Write {
                path: path.to_owned(),
                reason: said_by_system(error),
                hint: Some(format!("nothing was written; {elsewhere} if it stays so")),
            };
        }
    };
    Error::Write { path: path.to_owned(), reason: reason.into(), hint: Some(hint) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entries(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn a_finished_set_is_exactly_the_files_written() {
        let parent = tempfile::tempdir().unwrap();
        let out = parent.path().join("deep/out");
        let mut folder = OutputFolder::create(&out, false, &["a", "b"]).unwrap();
        folder.write("a", b"one").unwrap();
        folder.write("b", b"two").unwrap();
        assert_eq!(folder.finish().unwrap(), [out.join("a"), out.join("b")]);
        assert_eq!(entries(&out), ["a", "b"]);
        assert_eq!(fs::read(out.join("b")).unwrap(), b"two");
    }

    #[test]
    fn a_failure_half_way_leaves_neither_files_nor_the_folders_made() {
        let parent = tempfile::tempdir().unwrap();
        let out = parent.path().join("deep/out");
        let mut folder = OutputFolder::create(&out, false, &["a", "b"]).unwrap();
        folder.write("a", b"one").unwrap();
        let failed = folder.write_with("b", |file| {
            file.write_all(&[0; 100_000])?;
            Err(Error::value("half way"))?
        });
        assert_eq!(failed.unwrap_err().to_string(), "half way");
        drop(folder);
        assert!(entries(parent.path()).is_empty());
    }

    #[test]
    fn a_full_disk_is_told_in_words_and_nothing_stays() {
        let parent = tempfile::tempdir().unwrap();
        let mut folder = OutputFolder::create(parent.path(), false, &["a"]).unwrap();
        let failed = folder.write_with("a", |_| Err(io::Error::from(ErrorKind::StorageFull))?).unwrap_err();
        assert!(failed.to_string().ends_with("/a: no space is left there"), "{failed}");
        assert!(failed.hint().unwrap().contains("free some space"));
        drop(folder);
        assert!(entries(parent.path()).is_empty());
    }

    #[test]
    fn a_taken_name_is_refused_at_once_and_replaced_only_when_asked() {
        let parent = tempfile::tempdir().unwrap();
        fs::write(parent.path().join("a"), "old").unwrap();
        let refused = OutputFolder::create(parent.path(), false, &["b", "a"]).unwrap_err();
        assert!(refused.to_string().contains("exists already"), "{refused}");
        assert!(refused.hint().unwrap().contains("--force"));
        let mut folder = OutputFolder::create(parent.path(), true, &["a"]).unwrap();
        folder.write("a", b"new").unwrap();
        assert_eq!(fs::read(parent.path().join("a")).unwrap(), b"old", "nothing moves before finish");
        folder.finish().unwrap();
        assert_eq!(fs::read(parent.path().join("a")).unwrap(), b"new");
    }

    #[test]
    fn a_name_taken_meanwhile_is_not_overwritten() {
        let parent = tempfile::tempdir().unwrap();
        let mut folder = OutputFolder::create(parent.path(), false, &["a"]).unwrap();
        folder.write("a", b"ours").unwrap();
        fs::write(parent.path().join("a"), "theirs").unwrap();
        assert!(folder.finish().is_err());
        assert_eq!(fs::read(parent.path().join("a")).unwrap(), b"theirs");
        assert_eq!(entries(parent.path()), ["a"]);
    }

    #[test]
    fn a_file_in_place_of_the_folder_and_a_folder_in_place_of_a_file_are_refused() {
        let parent = tempfile::tempdir().unwrap();
        fs::write(parent.path().join("file"), "").unwrap();
        for out in ["file", "file/deeper"] {
            let refused = OutputFolder::create(&parent.path().join(out), true, &[]).unwrap_err();
            assert!(matches!(refused, Error::Write { .. }), "{refused:?}");
            assert!(refused.to_string().contains("a file"), "{refused}");
        }
        fs::create_dir(parent.path().join("folder")).unwrap();
        let refused = OutputFolder::create(parent.path(), true, &["folder"]).unwrap_err();
        assert!(refused.to_string().contains("a folder of that name is in the way"), "{refused}");
    }

    #[cfg(unix)]
    #[test]
    fn a_new_file_has_the_access_of_any_new_file() {
        use std::os::unix::fs::PermissionsExt;
        let parent = tempfile::tempdir().unwrap();
        let mode = |name: &str| fs::metadata(parent.path().join(name)).unwrap().permissions().mode();
        fs::write(parent.path().join("plain"), "").unwrap();
        OutputFile::create(&parent.path().join("ours"), false).unwrap().write(b"").unwrap();
        assert_eq!(mode("ours"), mode("plain"));
    }
}
