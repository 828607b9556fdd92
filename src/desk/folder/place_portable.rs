//! Files of a folder on systems without folder handles: opened by path after a check of what is there.

use super::seen::{LARGEST_FILE, Look, Unwritten, Whereabouts};
use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

/// Hidden folder for replaced contents.
const KEPT: &str = ".coilwright-desk";

/// A folder, by its path.
pub struct Place(PathBuf);

impl Place {
    pub fn open(path: &Path) -> io::Result<Self> {
        match fs::metadata(path)?.is_dir() {
            true => Ok(Self(path.to_owned())),
            false => Err(io::ErrorKind::NotADirectory.into()),
        }
    }

    /// Whether the folder is still under its path. Without handles a renamed one cannot be told from a removed one.
    pub fn whereabouts(&self, path: &Path) -> Whereabouts {
        if path.is_dir() { Whereabouts::There } else { Whereabouts::Gone }
    }

    pub fn names(&self) -> io::Result<Vec<String>> {
        Ok(fs::read_dir(&self.0)?.filter_map(|entry| entry.ok()?.file_name().into_string().ok()).collect())
    }

    pub fn look(&self, name: &str) -> io::Result<Look> {
        let found = self.regular(name)?;
        Ok(Look { changed: found.modified().ok(), length: found.len(), number: (0, 0, 0, 0) })
    }

    fn regular(&self, name: &str) -> io::Result<fs::Metadata> {
        let found = fs::symlink_metadata(self.0.join(name))?;
        match found.is_file() {
            true => Ok(found),
            false => Err(io::Error::new(io::ErrorKind::InvalidInput, "it is no regular file")),
        }
    }

    pub fn read(&self, name: &str, most: u64) -> io::Result<Vec<u8>> {
        self.regular(name)?;
        let mut bytes = Vec::new();
        File::open(self.0.join(name))?.take(most + 1).read_to_end(&mut bytes)?;
        match bytes.len() as u64 > most {
            true => Err(io::Error::new(io::ErrorKind::FileTooLarge, "the file is too large")),
            false => Ok(bytes),
        }
    }

    pub fn open_to_append(&self, name: &str) -> io::Result<File> {
        self.regular(name)?;
        let file = OpenOptions::new().read(true).append(true).open(self.0.join(name))?;
        file.try_lock()?;
        Ok(file)
    }

    pub fn put_new(&self, name: &str, bytes: &[u8]) -> Result<(), Unwritten> {
        let temporary = self.temporary(bytes)?;
        let linked = fs::hard_link(&temporary, self.0.join(name));
        drop(fs::remove_file(&temporary));
        Ok(linked?)
    }

    pub fn replace(
        &self,
        name: &str,
        bytes: &[u8],
        expected: &dyn Fn(&[u8]) -> bool,
    ) -> Result<(), Unwritten> {
        if !expected(&self.read(name, LARGEST_FILE)?) {
            return Err(Unwritten::Changed);
        }
        let kept = self.0.join(KEPT);
        fs::create_dir_all(&kept)?;
        let rights = self.regular(name)?.permissions();
        let temporary = self.temporary(bytes)?;
        fs::set_permissions(&temporary, rights)?;
        let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or(Duration::ZERO).as_millis();
        let replaced = fs::hard_link(self.0.join(name), kept.join(format!("{name}.{now}")))
            .and_then(|()| fs::rename(&temporary, self.0.join(name)));
        if replaced.is_err() {
            drop(fs::remove_file(&temporary));
        }
        Ok(replaced?)
    }

    /// The names in the hidden folder; none if there is no such folder.
    pub fn kept_names(&self) -> io::Result<Vec<String>> {
        let kept = Self(self.0.join(KEPT));
        if kept.0.is_dir() { kept.names() } else { Ok(Vec::new()) }
    }

    pub fn read_kept(&self, name: &str, most: u64) -> io::Result<Vec<u8>> {
        Self(self.0.join(KEPT)).read(name, most)
    }

    fn temporary(&self, bytes: &[u8]) -> io::Result<PathBuf> {
        let mut number = [0; 8];
        getrandom::fill(&mut number).map_err(|_| io::Error::other("the system gives no random numbers"))?;
        let path = self.0.join(format!(".coilwright-desk-{:016x}.tmp", u64::from_ne_bytes(number)));
        let mut file = OpenOptions::new().write(true).create_new(true).open(&path)?;
        let written = file.write_all(bytes).and_then(|()| file.sync_all());
        if written.is_err() {
            drop(fs::remove_file(&path));
        }
        written.map(|()| path)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_made_once_and_replaced_only_by_who_has_seen_it() {
        let folder = tempfile::tempdir().unwrap();
        let place = Place::open(folder.path()).unwrap();
        assert!(place.put_new("pair.json", b"one").is_ok());
        assert!(matches!(place.put_new("pair.json", b"two"), Err(Unwritten::Taken)));
        let look = place.look("pair.json").unwrap();
        assert!(matches!(
            place.replace("pair.json", b"two", &|was| was == b"other"),
            Err(Unwritten::Changed)
        ));
        assert_eq!(place.read("pair.json", 10).unwrap(), b"one");
        assert!(place.replace("pair.json", b"three", &|was| was == b"one").is_ok());
        assert_eq!(place.read("pair.json", 10).unwrap(), b"three");
        assert!(place.read("pair.json", 4).is_err());
        assert_ne!(place.look("pair.json").unwrap(), look);
        let kept: Vec<_> = fs::read_dir(folder.path().join(KEPT)).unwrap().flatten().collect();
        assert_eq!(kept.len(), 1);
        assert_eq!(fs::read(kept[0].path()).unwrap(), b"one");
        let names = place.kept_names().unwrap();
        assert_eq!(place.read_kept(&names[0], 100).unwrap(), b"one");
        let mut names = place.names().unwrap();
        names.sort();
        assert_eq!(names, [KEPT, "pair.json"]);
        place.open_to_append("pair.json").unwrap().write_all(b", four").unwrap();
        assert_eq!(place.read("pair.json", 20).unwrap(), b"three, four");
        fs::create_dir(folder.path().join("folder.json")).unwrap();
        assert!(
            place.read("folder.json", 10).is_err() && Place::open(&folder.path().join("pair.json")).is_err()
        );
    }

    #[test]
    fn a_folder_that_is_gone_is_told() {
        let place = tempfile::tempdir().unwrap();
        let folder = Place::open(place.path()).unwrap();
        assert_eq!(folder.whereabouts(place.path()), Whereabouts::There);
        let path = place.path().to_owned();
        drop(place);
        assert_eq!(folder.whereabouts(&path), Whereabouts::Gone);
    }
}
