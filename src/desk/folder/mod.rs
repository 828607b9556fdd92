//! The one folder whose files the desk shows: names, contents, and safe replacement.
//!
//! A file is opened by its bare name from the folder's handle, never through a link. It is written completely or not at
//! all, and it replaces only contents that the writer has seen, so a change by somebody else is never lost. Replaced
//! contents are kept.

mod kind;
mod name;
#[cfg(unix)]
mod place;
#[cfg(any(test, not(unix)))]
mod place_portable;
mod seen;

#[cfg(test)]
pub use kind::About;
pub use kind::{Contents, Health, Kind, Table};
pub use name::{Name, ending};
pub use seen::{FIXED, LARGEST_FILE, Unwritten, Whereabouts};

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

/// Largest number of files shown.
const MOST_FILES: usize = 500;
/// The kind of a file is remembered once the file has been unchanged for this long.
const SETTLED: Duration = Duration::from_secs(2);

/// The folder, opened once.
pub struct Folder {
    path: PathBuf,
    place: Place,
    /// Held while a file is written: one writer at a time.
    writing: Mutex<()>,
    /// The kind of each file by name, valid as long as the file looks the same.
    known: Mutex<BTreeMap<Name, (Look, Kind)>>,
}

/// A short digest of a file's contents. Equal tags mean equal contents.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tag(String);

impl Tag {
    /// The tag of these bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).iter().take(16).map(|byte| format!("{byte:02x}")).collect())
    }

    /// A tag sent back by a page.
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
    /// Nothing: an existing file of that name is left alone.
    Nothing,
    /// A file with the contents that the writer has seen.
    Seen(Tag),
}

/// A file in the list.
#[derive(Clone, Debug)]
pub struct Entry {
    /// Its name.
    pub name: Name,
    /// Kind of the file.
    pub kind: Kind,
    /// Time of the last change.
    pub changed: Option<SystemTime>,
}

impl Folder {
    /// Opens the folder.
    ///
    /// # Errors
    /// If it does not exist or is not a folder.
    pub fn open(path: &Path) -> Result<Self> {
        let refused = |reason: String| Error::Usage {
            message: format!("{} cannot be opened as a folder: {reason}", path.display()),
            hint: Some("name the folder that holds the specs; without one it is the current folder".into()),
        };
        let path = path.canonicalize().map_err(|error| refused(coilwright::error::said_by_system(&error)))?;
        let place = Place::open(&path).map_err(|error| refused(coilwright::error::said_by_system(&error)))?;
        Ok(Self { path, place, writing: Mutex::new(()), known: Mutex::new(BTreeMap::new()) })
    }

    /// Path of the folder, to show to people.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Where the folder is now.
    pub fn whereabouts(&self) -> Whereabouts {
        self.place.whereabouts(&self.path)
    }

    /// The files of known kinds, sorted by name, and the number of files that are not shown.
    pub fn list(&self) -> std::io::Result<(Vec<Entry>, usize)> {
        away_from_others(|| self.listed())
    }

    fn listed(&self) -> std::io::Result<(Vec<Entry>, usize)> {
        let all = self.place.names()?;
        let mut names: Vec<Name> = all.iter().filter_map(|name| Name::shown(name).ok()).collect();
        names.sort();
        let unusable =
            all.iter().filter(|name| name::has_known_ending(name) && Name::shown(name).is_err()).count();
        let more = names.len().saturating_sub(MOST_FILES) + unusable;
        names.truncate(MOST_FILES);
        let shown = names.len();
        let entries: Vec<Entry> = names.into_iter().filter_map(|name| self.entry(name)).collect();
        let unread = shown - entries.len();
        Ok((entries, more + unread))
    }

    /// The entry of a file. `None` if it cannot be read or is not a regular file.
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
        // Two changes within one tick of the system's clock can look alike. A recently changed file is therefore looked
        // at again later.
        let is_settled = look.changed.and_then(|at| at.elapsed().ok()).is_some_and(|since| since > SETTLED);
        if is_settled {
            known().insert(name.clone(), (look, kind.clone()));
        }
        Some(kind)
    }

    /// Contents and tag of a file.
    pub fn read(&self, name: &Name) -> std::io::Result<(Vec<u8>, Tag)> {
        let bytes = away_from_others(|| self.place.read(name.as_str(), LARGEST_FILE))?;
        let tag = Tag::of(&bytes);
        Ok((bytes, tag))
    }

    /// When the earlier contents of a file were replaced, in milliseconds since 1970, newest first.
    pub fn earlier(&self, name: &Name) -> Vec<u64> {
        let names = away_from_others(|| self.place.kept_names()).unwrap_or_default();
        let time = |kept: &String| kept.strip_prefix(name.as_str())?.strip_prefix('.')?.parse().ok();
        let mut times: Vec<u64> = names.iter().filter_map(time).collect();
        times.sort_unstable_by(|one, other| other.cmp(one));
        times
    }

    /// Contents of a file that were replaced at this time.
    pub fn read_earlier(&self, name: &Name, time: u64) -> std::io::Result<Vec<u8>> {
        away_from_others(|| self.place.read_kept(&format!("{name}.{time}"), LARGEST_FILE))
    }

    /// Writes a file completely and to the disk, or leaves the old contents. Replaced contents are kept in a hidden
    /// folder.
    pub fn write(
        &self,
        name: &Name,
        bytes: &[u8],
        replaces: &Replaces,
    ) -> std::result::Result<Tag, Unwritten> {
        let written = away_from_others(|| self.written(name, bytes, replaces));
        written.map_err(|error| match self.whereabouts() {
            Whereabouts::Gone => Unwritten::NoFolder,
            _ => error,
        })
    }

    fn written(&self, name: &Name, bytes: &[u8], replaces: &Replaces) -> std::result::Result<Tag, Unwritten> {
        let _one = self.writing.lock().unwrap_or_else(PoisonError::into_inner);
        match replaces {
            Replaces::Nothing if self.holds_alike(name)? => return Err(Unwritten::Taken),
            Replaces::Nothing => self.place.put_new(name.as_str(), bytes)?,
            Replaces::Seen(tag) => {
                let (now, _) = self.read(name).map_err(|error| Unwritten::from(&error))?;
                if Tag::of(&now) != *tag {
                    return Err(Unwritten::Changed);
                }
                if Kind::of(name.as_str(), &now) == Kind::Register {
                    return Err(Unwritten::Fixed);
                }
                self.place.replace(name.as_str(), bytes, &|there| Tag::of(there) == *tag)?;
            }
        }
        Ok(Tag::of(bytes))
    }

    /// Whether the folder holds a file whose name differs in nothing but capital letters. Some systems take the two for
    /// one.
    fn holds_alike(&self, name: &Name) -> std::io::Result<bool> {
        let wanted = name.as_str().to_lowercase();
        Ok(self.place.names()?.iter().any(|there| there.to_lowercase() == wanted))
    }

    /// Opens a file to append to it, locked against other writers. The error is `WouldBlock` if another writer holds
    /// the lock.
    pub fn open_to_append(&self, name: &Name) -> std::io::Result<std::fs::File> {
        self.place.open_to_append(name.as_str())
    }
}

/// Does work on the disk without delaying other requests.
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
        // No temporary file remains.
        let left = std::fs::read_dir(place.path()).unwrap().count();
        assert_eq!(left, 2);
    }

    #[test]
    fn no_file_is_made_beside_one_that_differs_in_capital_letters_alone() {
        let (place, folder) = folder();
        folder.write(&name("prüf.json"), b"one", &Replaces::Nothing).unwrap();
        for alike in ["PRÜF.JSON", "Prüf.json", "prüf.json"] {
            let written = folder.write(&name(alike), b"two", &Replaces::Nothing);
            assert!(matches!(written, Err(Unwritten::Taken)), "{alike}: {written:?}");
        }
        assert_eq!(std::fs::read_dir(place.path()).unwrap().count(), 1);
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
        // As if the earlier check had passed: `Place` itself must notice.
        let written = folder.place.replace("pair.json", b"new", &|there| there == b"secret");
        assert!(written.is_err());
        assert_eq!(std::fs::read(outside.path()).unwrap(), b"secret");
        assert!(std::fs::symlink_metadata(place.path().join("pair.json")).unwrap().is_symlink());
    }

    #[test]
    fn a_folder_that_is_gone_is_an_error_and_no_panic() {
        let (place, folder) = folder();
        folder.write(&name("pair.json"), b"one", &Replaces::Nothing).unwrap();
        assert_eq!(folder.whereabouts(), Whereabouts::There);
        drop(place);
        assert_eq!(folder.whereabouts(), Whereabouts::Gone);
        assert!(folder.read(&name("pair.json")).is_err());
        assert!(matches!(
            folder.write(&name("new.json"), b"one", &Replaces::Nothing),
            Err(Unwritten::NoFolder)
        ));
        assert!(folder.list().is_ok_and(|(files, _)| files.is_empty()) || folder.list().is_err());
    }
}
