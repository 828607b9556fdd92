//! The one folder whose files the desk sees: their names, their contents, and how they are replaced.
//!
//! A file is reached from the opened folder by its bare name, and never through a link. It is written whole or not at
//! all, and only over what the writer has seen: whoever changed it meanwhile loses nothing. What is replaced is kept.

mod kind;
mod name;
#[cfg(unix)]
mod place;
#[cfg(any(test, not(unix)))]
mod place_portable;
mod seen;

#[cfg(test)]
pub use kind::About;
pub use kind::{Health, Kind};
pub use name::Name;
pub use seen::{LARGEST_FILE, Unwritten};

use coilwright::{Error, Result};
use place::Place;
#[cfg(not(unix))]
use place_portable as place;
use seen::Look;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, SystemTime};

/// Files shown at most.
const MOST_FILES: usize = 500;
/// What a file is gets remembered once it is unchanged for this long.
const SETTLED: Duration = Duration::from_secs(2);

/// The folder, opened once.
pub struct Folder {
    path: PathBuf,
    place: Place,
    /// One writer at a time.
    writing: Mutex<()>,
    /// What is known of each file, by name, until it changes.
    known: Mutex<BTreeMap<Name, (Look, Kind)>>,
}

/// What a file holds, as a short digest: equal where the contents are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tag(String);

impl Tag {
    /// The tag of these bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).iter().take(16).map(|byte| format!("{byte:02x}")).collect())
    }

    /// A tag that a page sent back.
    pub fn said(text: &str) -> Self {
        Self(text.trim_matches('"').to_owned())
    }
}

impl fmt::Display for Tag {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.0)
    }
}

/// What a writer expects to replace.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Replaces {
    /// Nothing: a file of that name is left alone.
    Nothing,
    /// A file that holds what the writer has seen.
    Seen(Tag),
}

/// One file of the list.
#[derive(Clone, Debug)]
pub struct Entry {
    /// Its name.
    pub name: Name,
    /// What it is.
    pub kind: Kind,
    /// When it was last changed.
    pub changed: Option<SystemTime>,
}

impl Folder {
    /// Opens the folder.
    ///
    /// # Errors
    /// It is not there, or is no folder.
    pub fn open(path: &Path) -> Result<Self> {
        let refused = |reason: String| Error::Usage {
            message: format!("{} cannot be opened as a folder: {reason}", path.display()),
            hint: Some("name the folder that holds the specs; without one it is the current folder".into()),
        };
        let path = path.canonicalize().map_err(|error| refused(coilwright::error::said_by_system(&error)))?;
        let place = Place::open(&path).map_err(|error| refused(coilwright::error::said_by_system(&error)))?;
        Ok(Self { path, place, writing: Mutex::new(()), known: Mutex::new(BTreeMap::new()) })
    }

    /// Where it is, for people.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The files of known kinds, by name, and how many more there are than are shown.
    pub fn list(&self) -> std::io::Result<(Vec<Entry>, usize)> {
        away_from_others(|| self.listed())
    }

    fn listed(&self) -> std::io::Result<(Vec<Entry>, usize)> {
        let all = self.place.names()?;
        let mut names: Vec<Name> = all.iter().filter_map(|name| Name::of(name).ok()).collect();
        names.sort();
        let unusable =
            all.iter().filter(|name| name::has_known_ending(name) && Name::of(name).is_err()).count();
        let more = names.len().saturating_sub(MOST_FILES) + unusable;
        names.truncate(MOST_FILES);
        let shown = names.len();
        let entries: Vec<Entry> = names.into_iter().filter_map(|name| self.entry(name)).collect();
        let unread = shown - entries.len();
        Ok((entries, more + unread))
    }

    /// One file of the list; none where it is no regular file of a known kind.
    fn entry(&self, name: Name) -> Option<Entry> {
        let look = self.place.look(name.as_str()).ok()?;
        let changed = look.changed;
        let kind = self.kind(&name, look)?;
        Some(Entry { name, kind, changed })
    }

    fn kind(&self, name: &Name, look: Look) -> Option<Kind> {
        let known = || self.known.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, kind)) = known().get(name).filter(|(seen, _)| *seen == look) {
            return Some(kind.clone());
        }
        let is_read = Kind::needs_contents(name.as_str());
        let bytes = if is_read { self.place.read(name.as_str(), LARGEST_FILE).ok()? } else { Vec::new() };
        let kind = Kind::of(name.as_str(), &bytes);
        // What is changed twice within one tick of the system's clock may look the same: it is looked at again later.
        let is_settled = look.changed.and_then(|at| at.elapsed().ok()).is_some_and(|since| since > SETTLED);
        if is_settled {
            known().insert(name.clone(), (look, kind.clone()));
        }
        Some(kind)
    }

    /// The contents of a file and their tag.
    pub fn read(&self, name: &Name) -> std::io::Result<(Vec<u8>, Tag)> {
        let bytes = away_from_others(|| self.place.read(name.as_str(), LARGEST_FILE))?;
        let tag = Tag::of(&bytes);
        Ok((bytes, tag))
    }

    /// Writes a file whole, and on the disk, or leaves what was there. What is replaced is kept in a hidden folder.
    pub fn write(
        &self,
        name: &Name,
        bytes: &[u8],
        replaces: &Replaces,
    ) -> std::result::Result<Tag, Unwritten> {
        away_from_others(|| self.written(name, bytes, replaces))
    }

    fn written(&self, name: &Name, bytes: &[u8], replaces: &Replaces) -> std::result::Result<Tag, Unwritten> {
        let _one = self.writing.lock().unwrap_or_else(PoisonError::into_inner);
        match replaces {
            Replaces::Nothing => self.place.put_new(name.as_str(), bytes)?,
            Replaces::Seen(tag) => {
                let (now, _) = self.read(name).map_err(|error| Unwritten::from(&error))?;
                if Tag::of(&now) != *tag {
                    return Err(Unwritten::Changed);
                }
                self.place.replace(name.as_str(), bytes, &|there| Tag::of(there) == *tag)?;
            }
        }
        Ok(Tag::of(bytes))
    }

    /// Opens a file to add to its end, locked against other writers. While another has it: `WouldBlock`.
    pub fn open_to_append(&self, name: &Name) -> std::io::Result<std::fs::File> {
        self.place.open_to_append(name.as_str())
    }
}

/// Work on the disk, during which the other requests are answered all the same.
fn away_from_others<T>(work: impl FnOnce() -> T) -> T {
    tokio::task::block_in_place(work)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder() -> (tempfile::TempDir, Folder) {
        let place = tempfile::tempdir().unwrap();
        let folder = Folder::open(place.path()).unwrap();
        (place, folder)
    }

    fn name(text: &str) -> Name {
        Name::of(text).unwrap()
    }

    #[test]
    fn a_file_is_replaced_only_by_who_has_seen_it_and_what_it_was_is_kept() {
        let (place, folder) = folder();
        let pair = name("pair.json");
        let first = folder.write(&pair, b"one", &Replaces::Nothing).unwrap();
        assert!(matches!(folder.write(&pair, b"two", &Replaces::Nothing), Err(Unwritten::Taken)));
        std::fs::write(place.path().join("pair.json"), "by another").unwrap();
        assert!(matches!(folder.write(&pair, b"two", &Replaces::Seen(first)), Err(Unwritten::Changed)));
        assert_eq!(folder.read(&pair).unwrap().0, b"by another");
        let seen = folder.read(&pair).unwrap().1;
        folder.write(&pair, b"two", &Replaces::Seen(seen)).unwrap();
        assert_eq!(folder.read(&pair).unwrap().0, b"two");
        let kept: Vec<_> = std::fs::read_dir(place.path().join(".coilwright-desk")).unwrap().collect();
        assert_eq!(kept.len(), 1);
        assert_eq!(std::fs::read(kept[0].as_ref().unwrap().path()).unwrap(), b"by another");
        // No temporary stays.
        let left = std::fs::read_dir(place.path()).unwrap().count();
        assert_eq!(left, 2);
    }

    #[cfg(unix)]
    #[test]
    fn links_and_devices_are_no_files() {
        let (place, folder) = folder();
        let outside = tempfile::NamedTempFile::new().unwrap();
        std::fs::write(outside.path(), "{}").unwrap();
        std::os::unix::fs::symlink(outside.path(), place.path().join("link.json")).unwrap();
        std::fs::create_dir(place.path().join("folder.json")).unwrap();
        assert!(folder.read(&name("link.json")).is_err() && folder.read(&name("folder.json")).is_err());
        assert_eq!(folder.list().unwrap().0.len(), 0);
        let tag = Tag::of(b"{}");
        assert!(matches!(
            folder.write(&name("link.json"), b"x", &Replaces::Seen(tag)),
            Err(Unwritten::Failed(_))
        ));
        assert!(matches!(folder.write(&name("link.json"), b"x", &Replaces::Nothing), Err(Unwritten::Taken)));
        assert_eq!(std::fs::read(outside.path()).unwrap(), b"{}");
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn a_file_that_becomes_a_link_between_look_and_write_takes_nothing_with_it() {
        let (place, folder) = folder();
        let outside = tempfile::NamedTempFile::new().unwrap();
        std::fs::write(outside.path(), "secret").unwrap();
        std::os::unix::fs::symlink(outside.path(), place.path().join("pair.json")).unwrap();
        // As if the check before had passed: the place itself finds out.
        let written = folder.place.replace("pair.json", b"new", &|there| there == b"secret");
        assert!(written.is_err());
        assert_eq!(std::fs::read(outside.path()).unwrap(), b"secret");
        assert!(std::fs::symlink_metadata(place.path().join("pair.json")).unwrap().is_symlink());
    }

    #[test]
    fn a_folder_that_is_gone_is_an_error_and_no_panic() {
        let (place, folder) = folder();
        folder.write(&name("pair.json"), b"one", &Replaces::Nothing).unwrap();
        drop(place);
        assert!(folder.read(&name("pair.json")).is_err());
        assert!(matches!(folder.write(&name("new.json"), b"one", &Replaces::Nothing), Err(Unwritten::Gone)));
        assert!(folder.list().is_ok_and(|(files, _)| files.is_empty()) || folder.list().is_err());
    }
}
