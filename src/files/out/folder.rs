//! Output files, each written whole or not at all.
//!
//! Every file is first written in a hidden folder beside its final place, and renamed into place once the whole set is
//! complete. A full disk, an error half way or an interrupt therefore leaves either the complete set or the old files,
//! and never a truncated file. A kill that cannot be caught, or a power cut, may leave the hidden folder; the next run
//! into the same folder removes it. During the renames it may leave a mixture of old and new files, each of them whole.
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

mod failure;
mod place;
mod staging;
mod swap;

use super::folder::failure::write_error;
use super::folder::place::{Found, look};
use super::folder::staging::{MadeFolders, Staging};
use super::folder::swap::Staged;
use crate::{Error, Result};
use std::fs::File;
use std::io;
use std::io::{BufWriter, Seek, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use tempfile::TempPath;

pub use super::folder::staging::abandon_all;

/// A file while it is filled. One can go back in it, for a count that is known only at the end.
pub trait Filled: Write + Seek + Send {}

impl<T: Write + Seek + Send> Filled for T {}

/// A folder and the set of files to be written there together.
///
/// If it is dropped without [`finish`](Self::finish), no file remains and no folder that it made.
///
/// The fields are dropped in order: the staged files first, the folders made for them last.
#[derive(Debug)]
#[must_use = "nothing appears in the folder until `finish` is called"]
pub struct OutputFolder {
    folder: PathBuf,
    replace: bool,
    /// The final paths of the files.
    announced: Vec<PathBuf>,
    staged: Vec<Staged>,
    /// How many files have been prepared.
    prepared: AtomicUsize,
    staging: Staging,
    _made: MadeFolders,
}

impl OutputFolder {
    /// Makes the folder if it is missing and checks that every name can be written there.
    ///
    /// Call it before long work starts. Unless `replace` is set, an existing file is an error. Anything other than a
    /// regular file is always an error: a folder, a link, a device. Leftovers of an earlier, killed run are removed.
    pub fn create(folder: &Path, replace: bool, names: &[&str]) -> Result<Self> {
        let made = MadeFolders::create(folder).map_err(|error| write_error(folder, &error))?;
        let announced: Vec<PathBuf> = names.iter().map(|name| folder.join(name)).collect();
        check_free(&announced, replace)?;
        // The only reliable test of write permission is to write.
        let staging = Staging::new(folder).map_err(|error| write_error(folder, &error))?;
        Ok(Self {
            folder: folder.to_owned(),
            replace,
            announced,
            staged: Vec::new(),
            prepared: AtomicUsize::new(0),
            staging,
            _made: made,
        })
    }

    /// Refuses a set in which a file would replace one that this run reads.
    pub fn apart_from(self, inputs: &[&Path]) -> Result<Self> {
        place::refuse_inputs(&self.announced, inputs)?;
        Ok(self)
    }

    /// Writes one whole file.
    pub fn write(&mut self, name: &str, bytes: &[u8]) -> Result<()> {
        self.write_with(name, |file| Ok(file.write_all(bytes)?))
    }

    /// Writes one file piece by piece, with constant memory.
    pub fn write_with(
        &mut self,
        name: &str,
        fill: impl FnOnce(&mut dyn Filled) -> std::result::Result<(), FillFailure>,
    ) -> Result<()> {
        let prepared = self.prepare(name, fill)?;
        self.add(prepared);
        Ok(())
    }

    /// Prepares one file of the set, to be added in its order; several can be prepared at a time.
    pub(crate) fn prepare(
        &self,
        name: &str,
        fill: impl FnOnce(&mut dyn Filled) -> std::result::Result<(), FillFailure>,
    ) -> Result<PreparedFile> {
        let target = self.folder.join(name);
        let number = self.prepared.fetch_add(1, Ordering::Relaxed);
        let path = self.staging.path().join(number.to_string());
        let (file, staged) = stage(&path).map_err(|error| write_error(&target, &error))?;
        let filled = (|| -> std::result::Result<(), FillFailure> {
            let mut buffered = BufWriter::with_capacity(1 << 16, &file);
            fill(&mut buffered)?;
            buffered.flush()?;
            // The contents must be on the disk before the name is; otherwise a power cut could leave an empty file.
            file.sync_all()?;
            Ok(())
        })();
        filled.map_err(|stopped| stopped.at(&target))?;
        let kept = path.with_extension("old");
        Ok(PreparedFile(Staged { file: staged, target, replace: self.replace, kept }))
    }

    /// The files of the set that are there from an earlier run and that this one does not make.
    pub fn left_from_before(&self) -> Vec<PathBuf> {
        let is_made = |path: &&PathBuf| self.staged.iter().any(|staged| staged.target == **path);
        self.announced.iter().filter(|path| !is_made(path) && path.is_file()).cloned().collect()
    }

    /// Adds a file that this folder has prepared.
    pub(crate) fn add(&mut self, prepared: PreparedFile) {
        self.staged.push(prepared.0);
    }

    /// Puts every file in its place and returns the paths in the order they were written.
    pub fn finish(self) -> Result<Vec<PathBuf>> {
        finish_together(vec![self])
    }

    /// Takes a step, such as an entry in a register, and puts every file in its place; an interrupt falls before or after
    /// both. If the step fails, no file appears. Returns what the step gives and the outcome of the files.
    pub fn finish_after<T>(self, step: impl FnOnce() -> Result<T>) -> Result<(T, Result<Vec<PathBuf>>)> {
        finished(vec![self], step)
    }
}

/// A file of a set, written whole, not yet in its place. Dropped, it is gone.
#[derive(Debug)]
pub(crate) struct PreparedFile(Staged);

/// Puts several sets in place together: all files of all sets, or none.
pub fn finish_together(sets: Vec<OutputFolder>) -> Result<Vec<PathBuf>> {
    finished(sets, || Ok(()))?.1
}

fn finished<T>(
    mut sets: Vec<OutputFolder>,
    step: impl FnOnce() -> Result<T>,
) -> Result<(T, Result<Vec<PathBuf>>)> {
    let staged: Vec<Staged> = sets.iter_mut().flat_map(|set| std::mem::take(&mut set.staged)).collect();
    place::refuse_shared(staged.iter().map(|file| &file.target))?;
    let both = staging::uninterrupted(|| Ok::<_, Error>((step()?, swap::swap(staged))))?;
    for set in &sets {
        // The names should be on the disk too. If a folder cannot be synchronised, the system does it later.
        drop(File::open(&set.folder).and_then(|folder| folder.sync_all()));
    }
    Ok(both)
}

/// Refuses sets in which two files have the same path. Call it before long work starts.
pub fn refuse_shared_places(sets: &[&OutputFolder]) -> Result<()> {
    place::refuse_shared(sets.iter().flat_map(|set| &set.announced))
}

/// A new file, removed when dropped unless it was put in place.
fn stage(path: &Path) -> io::Result<(File, TempPath)> {
    // No file is made any more once the unfinished ones are being removed.
    let file = staging::uninterrupted(|| File::create_new(path))?;
    Ok((file, TempPath::try_from_path(path)?))
}

/// Refuses existing names, unless the files there may be replaced.
fn check_free(paths: &[PathBuf], replace: bool) -> Result<()> {
    let mut taken = Vec::new();
    for path in paths {
        if look(path)? == Found::File && !replace {
            taken.push(path);
        }
    }
    match taken[..] {
        [] => Ok(()),
        [first, ..] => Err(Error::Write {
            path: first.clone(),
            reason: match taken.len() {
                1 => "the file exists already".into(),
                2 => format!("the file exists already, and so does {}", last_name(taken[1])),
                many => format!("the file exists already, and so do {} others of this set", many - 1),
            },
            hint: Some("add --force to replace what is there, or choose another place".into()),
        }),
    }
}

fn last_name(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().into_owned()
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

    /// Refuses a path from which this run reads.
    pub fn apart_from(mut self, inputs: &[&Path]) -> Result<Self> {
        self.folder = self.folder.apart_from(inputs)?;
        Ok(self)
    }

    /// The set that contains only this file.
    pub fn as_set(&self) -> &OutputFolder {
        &self.folder
    }

    /// Fills it, to be put in place together with other sets by [`finish_together`].
    pub fn filled(mut self, bytes: &[u8]) -> Result<OutputFolder> {
        self.folder.write(&self.name, bytes)?;
        Ok(self.folder)
    }

    /// Writes it.
    pub fn write(self, bytes: &[u8]) -> Result<()> {
        self.filled(bytes)?.finish().map(drop)
    }

    /// Writes it piece by piece, with constant memory.
    pub fn write_with(
        mut self,
        fill: impl FnOnce(&mut dyn Filled) -> std::result::Result<(), FillFailure>,
    ) -> Result<()> {
        self.folder.write_with(&self.name, fill)?;
        self.folder.finish().map(drop)
    }
}

/// Splits a path before its last name.
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

/// Why filling a file stopped: either the file could not be written, or its contents failed.
///
/// Both kinds convert with `?` inside the closure given to [`OutputFolder::write_with`].
#[derive(Debug)]
pub enum FillFailure {
    /// The file could not be written.
    Io(io::Error),
    /// The contents could not be made.
    Failed(Error),
}

impl FillFailure {
    fn at(self, path: &Path) -> Error {
        match self {
            Self::Io(error) => write_error(path, &error),
            Self::Failed(error) => error,
        }
    }
}

impl From<io::Error> for FillFailure {
    fn from(error: io::Error) -> Self {
        Self::Io(error)
    }
}

impl From<Error> for FillFailure {
    fn from(error: Error) -> Self {
        Self::Failed(error)
    }
}

impl From<csv::Error> for FillFailure {
    fn from(error: csv::Error) -> Self {
        Self::Io(error.into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;
    use std::io::ErrorKind;

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
