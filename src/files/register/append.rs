//! Appends an entry: whole and on the disk, or not at all.

use super::chain::{self, Chain, Damage, End};
use super::line::{self, Digest, Written};
use super::lock;
use crate::error::said_by_system;
use crate::{Error, Result};
use std::ffi::OsString;
use std::fs::{self, File, OpenOptions};
use std::io::{self, ErrorKind, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// A register opened for one entry. No other process can write to it until this is dropped.
#[derive(Debug)]
#[must_use = "nothing is written until `append` is called"]
pub struct Register {
    path: PathBuf,
    file: File,
    chain: Chain,
    /// Whether opening made the file.
    was_made: bool,
}

/// An appended entry, on the disk.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Appended {
    /// Its number.
    pub number: u64,
    /// Its digest.
    pub digest: Digest,
    /// The torn line that was moved out of the way first, if any.
    pub torn: Option<Torn>,
}

/// A torn line that was moved out of a register.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Torn {
    /// The file it is in now.
    pub path: PathBuf,
    /// Its length.
    pub bytes: usize,
}

impl Register {
    /// Opens a register for an entry, waiting for other writers. A missing one is made, and goes again if no entry comes; an
    /// empty one is sound.
    ///
    /// # Errors
    /// It is damaged, because nothing is added to a register that cannot be relied on; it cannot be opened, locked or
    /// read; or it is not a regular file.
    pub fn open(path: &Path) -> Result<Self> {
        Self::opened(path, true)
    }

    /// Opens an existing register for an entry, so that a mistyped name makes no new one.
    ///
    /// # Errors
    /// As [`Self::open`]; or the file does not exist.
    pub fn open_existing(path: &Path) -> Result<Self> {
        Self::opened(path, false)
    }

    fn opened(path: &Path, may_be_made: bool) -> Result<Self> {
        if fs::metadata(path).is_ok_and(|found| !found.is_file()) {
            return Err(unwritten(path, "it is no regular file", "name the register's file"));
        }
        let (file, was_made) = locked(path, may_be_made)?;
        let chain = Chain::of(&chain::bytes(&file, path)?);
        let register = Self { path: path.to_owned(), file, chain, was_made };
        match register.chain.end {
            End::Damaged { line, damage } => Err(damaged(path, line, damage)),
            _ => Ok(register),
        }
    }

    /// Its contents so far.
    pub fn chain(&self) -> &Chain {
        &self.chain
    }

    /// Number and digest that this entry will have.
    pub fn announced(&self, content: &str) -> (u64, Digest) {
        (self.next_number(), self.written(content).digest)
    }

    /// Number of the next entry.
    pub fn next_number(&self) -> u64 {
        self.chain.entries.len() as u64 + 1
    }

    fn written(&self, content: &str) -> Written {
        line::written(self.next_number(), self.chain.last_digest(), content)
    }

    /// Appends an entry: one JSON object on one line, with at least one member. A torn line is first moved to a file of
    /// its own.
    ///
    /// # Errors
    /// The disk does not take it; the register is then as before.
    pub fn append(mut self, content: &str) -> Result<Appended> {
        self.must_be_named()?;
        let Written { line, digest } = self.written(content);
        let number = self.next_number();
        let torn = self.moved_torn()?;
        let before = self.chain.sound_bytes;
        let start = if self.chain.end == End::WithoutLineEnd { "\n" } else { "" };
        if let Err(error) = self.add(before, &format!("{start}{line}")) {
            // The half-written line is cut off. If even that fails, the next append finds it torn.
            drop(self.file.set_len(before).and_then(|()| self.file.sync_all()));
            return Err(failed(&self.path, &error));
        }
        sync_folder(&self.path);
        self.must_be_named()?;
        Ok(Appended { number, digest, torn })
    }

    /// An editor that saves under the same name puts another file there, which no lock prevents.
    fn must_be_named(&self) -> Result<()> {
        if is_named(&self.path, &self.file) {
            return Ok(());
        }
        let hint = "an editor or another program saved over it: look at both, and enter again";
        Err(unwritten(
            &self.path,
            "another file took its place while the entry was written, and lacks the entry",
            hint,
        ))
    }

    /// One write call, so that a kill can hardly tear the line.
    fn add(&mut self, at: u64, text: &str) -> io::Result<()> {
        self.file.seek(SeekFrom::Start(at))?;
        self.file.write_all(text.as_bytes())?;
        self.file.sync_all()
    }

    /// Moves a torn line to `FILE.torn`, after any earlier ones there. It is removed from the register only after that.
    fn moved_torn(&mut self) -> Result<Option<Torn>> {
        let End::Torn { bytes } = self.chain.end else { return Ok(None) };
        let path = torn_path(&self.path);
        let mut torn = Vec::with_capacity(bytes);
        let read = self.file.seek(SeekFrom::Start(self.chain.sound_bytes));
        read.and_then(|_| self.file.read_to_end(&mut torn)).map_err(|error| failed(&self.path, &error))?;
        let kept = OpenOptions::new().append(true).create(true).open(&path).and_then(|mut file| {
            file.write_all(&torn)?;
            file.write_all(b"\n")?;
            file.sync_all()
        });
        kept.map_err(|error| failed(&path, &error))?;
        let cut = self.file.set_len(self.chain.sound_bytes).and_then(|()| self.file.sync_all());
        cut.map_err(|error| failed(&self.path, &error))?;
        self.chain.end = End::Sound;
        Ok(Some(Torn { path, bytes }))
    }
}

impl Drop for Register {
    /// A register that was made for an entry that did not come is removed, while it is still locked.
    fn drop(&mut self) {
        let is_empty = self.file.metadata().is_ok_and(|found| found.len() == 0);
        if self.was_made && is_empty && is_named(&self.path, &self.file) {
            // Where it cannot be removed an empty register stays, which is a sound one.
            drop(fs::remove_file(&self.path));
        }
    }
}

/// Times that a register may be removed while its lock is waited for.
const MOST_REMOVALS: usize = 1_000;

/// The file of this name, locked, and whether it was made just now.
fn locked(path: &Path, may_be_made: bool) -> Result<(File, bool)> {
    for _ in 0..MOST_REMOVALS {
        let (file, was_made) = there_or_made(path, may_be_made)?;
        if let Err(error) = lock::exclusive(&file) {
            if was_made {
                // Nobody can have written to it without a lock, and an empty register that stays is a sound one.
                drop(fs::remove_file(path));
            }
            let reason = format!("it cannot be locked against other writers: {}", said_by_system(&error));
            let hint = "keep the register on a disk of this machine, or on one that has file locks";
            return Err(unwritten(path, reason, hint));
        }
        // Whoever made it may have removed it while the lock was waited for.
        if is_named(path, &file) {
            return Ok((file, was_made));
        }
    }
    Err(unwritten(path, "another process removes it again and again", "find out which, and try once more"))
}

/// The file of this name, and whether it was made just now.
fn there_or_made(path: &Path, may_be_made: bool) -> Result<(File, bool)> {
    let how = || {
        let mut how = OpenOptions::new();
        how.read(true).write(true);
        how
    };
    if may_be_made {
        match how().create_new(true).open(path) {
            Ok(file) => return Ok((file, true)),
            Err(error) if error.kind() == ErrorKind::AlreadyExists => {}
            Err(error) => return Err(failed(path, &error)),
        }
    }
    // Made if it went just now; or a link that leads to no file yet.
    let opened = how().create(may_be_made).truncate(false).open(path);
    let file = opened.map_err(|error| match (may_be_made, error.kind()) {
        (false, ErrorKind::NotFound) => unwritten(
            path,
            "there is no such file",
            "`calibrate --register` makes one; check the name if there should be one already",
        ),
        _ => failed(path, &error),
    })?;
    Ok((file, false))
}

/// Whether the path still leads to this file.
#[cfg(unix)]
fn is_named(path: &Path, file: &File) -> bool {
    use std::os::unix::fs::MetadataExt;
    let number = |found: fs::Metadata| (found.dev(), found.ino());
    let named = fs::metadata(path).map(number);
    named.is_ok_and(|named| file.metadata().is_ok_and(|own| number(own) == named))
}

/// An open file keeps its name.
#[cfg(not(unix))]
fn is_named(_: &Path, _: &File) -> bool {
    true
}

fn torn_path(path: &Path) -> PathBuf {
    let mut name: OsString = path.as_os_str().to_owned();
    name.push(".torn");
    name.into()
}

/// The new name should be on the disk too. If a folder cannot be synchronised, the system does it later.
fn sync_folder(path: &Path) {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    drop(File::open(folder).and_then(|folder| folder.sync_all()));
}

fn unwritten(path: &Path, reason: impl Into<String>, hint: impl Into<String>) -> Error {
    Error::Write { path: path.to_owned(), reason: reason.into(), hint: Some(hint.into()) }
}

fn failed(path: &Path, error: &io::Error) -> Error {
    let reason = match error.kind() {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => "no space is left there".into(),
        ErrorKind::NotFound => "there is no such folder".into(),
        _ => said_by_system(error),
    };
    unwritten(path, reason, "nothing was added to the register")
}

fn damaged(path: &Path, line: u64, damage: Damage) -> Error {
    let what = match damage {
        Damage::NotAnEntry => "is not an entry of a register",
        Damage::Changed => "was changed after it was written",
        Damage::OutOfPlace => "does not follow the line before it",
        Damage::LineEnd => "does not end as it was written",
    };
    unwritten(
        path,
        format!("line {line} {what}, and nothing is added to a damaged register"),
        "`register FILE` shows what is sound; put back the last good copy, or begin another file and keep this one",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    const CONTENT: &str = r#"{"kind":"note","text":"one"}"#;

    fn append(path: &Path) -> Appended {
        Register::open(path).unwrap().append(CONTENT).unwrap()
    }

    #[test]
    fn entries_form_a_chain() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("pair.register");
        let announced = Register::open(&path).unwrap().announced(CONTENT);
        let first = append(&path);
        assert_eq!((first.number, first.digest), announced);
        let second = append(&path);
        let chain = chain::read(&path).unwrap();
        assert!(chain.is_sound());
        assert_eq!(chain.entries[1].previous, first.digest);
        assert_eq!(chain.last_digest(), second.digest);
        assert_eq!(chain.entry_of(&first.digest.to_string()[..16]).unwrap().number, 1);
    }

    #[test]
    fn a_torn_line_is_moved_and_a_damaged_register_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("pair.register");
        append(&path);
        let whole = fs::read(&path).unwrap();
        append(&path);
        let both = fs::read(&path).unwrap();
        for length in whole.len() + 1..both.len() - 1 {
            fs::write(&path, &both[..length]).unwrap();
            let appended = append(&path);
            assert_eq!(appended.number, 2);
            assert_eq!(appended.torn.unwrap().bytes, length - whole.len());
            assert_eq!(fs::read(&path).unwrap(), both);
            let torn = fs::read(folder.path().join("pair.register.torn")).unwrap();
            assert!(torn.ends_with(&[&both[whole.len()..length], b"\n"].concat()));
        }
        let mut edited = both.clone();
        edited[20] ^= 1;
        fs::write(&path, &edited).unwrap();
        let refused = Register::open(&path).unwrap_err();
        assert!(refused.to_string().contains("line 1 was changed"), "{refused}");
        assert_eq!(fs::read(&path).unwrap(), edited);
    }

    #[test]
    fn a_whole_entry_without_its_line_end_stays_an_entry() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("pair.register");
        append(&path);
        let whole = fs::read(&path).unwrap();
        fs::write(&path, &whole[..whole.len() - 1]).unwrap();
        let second = append(&path);
        assert_eq!((second.number, second.torn), (2, None));
        assert!(chain::read(&path).unwrap().is_sound());
    }
}
