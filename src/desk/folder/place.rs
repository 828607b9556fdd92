//! Files of an opened folder on Unix, opened by bare name from the folder's handle and never through a link.

use super::seen::{LARGEST_FILE, Look, Unwritten, Whereabouts};
use rustix::fs::{AtFlags, Dir, Mode, OFlags, RenameFlags};
use rustix::io::Errno;
use std::fs::{File, Permissions};
use std::io::{self, Read, Write};
use std::os::fd::OwnedFd;
use std::os::unix::fs::MetadataExt;
use std::path::Path;
use std::time::{Duration, SystemTime, UNIX_EPOCH};

/// Hidden folder for replaced contents.
const KEPT: &str = ".coilwright-desk";

/// An opened folder.
pub struct Place(OwnedFd);

impl Place {
    pub fn open(path: &Path) -> io::Result<Self> {
        let flags = OFlags::RDONLY | OFlags::DIRECTORY | OFlags::CLOEXEC;
        Ok(Self(rustix::fs::open(path, flags, Mode::empty())?))
    }

    /// Where the folder is now, compared with the path under which it was opened.
    pub fn whereabouts(&self, path: &Path) -> Whereabouts {
        let own = self.0.try_clone().and_then(|own| File::from(own).metadata());
        let Ok(own) = own else { return Whereabouts::Gone };
        if own.nlink() == 0 {
            return Whereabouts::Gone;
        }
        match std::fs::symlink_metadata(path) {
            Ok(there) if (there.dev(), there.ino()) == (own.dev(), own.ino()) => Whereabouts::There,
            _ => Whereabouts::Moved,
        }
    }

    /// All names in the folder that are valid text.
    pub fn names(&self) -> io::Result<Vec<String>> {
        let names = Dir::read_from(&self.0)?
            .filter_map(|entry| Some(entry.ok()?.file_name().to_str().ok()?.to_owned()));
        Ok(names.collect())
    }

    /// What the system says about a regular file. It stays equal as long as nobody writes to the file.
    pub fn look(&self, name: &str) -> io::Result<Look> {
        let found = self.regular(name, OFlags::RDONLY)?.metadata()?;
        Ok(Look {
            changed: found.modified().ok(),
            length: found.len(),
            number: (found.dev(), found.ino(), found.ctime(), found.ctime_nsec()),
        })
    }

    pub fn read(&self, name: &str, most: u64) -> io::Result<Vec<u8>> {
        let file = self.regular(name, OFlags::RDONLY)?;
        let mut bytes = Vec::new();
        file.take(most + 1).read_to_end(&mut bytes)?;
        match bytes.len() as u64 > most {
            true => Err(io::Error::new(io::ErrorKind::FileTooLarge, "the file is too large")),
            false => Ok(bytes),
        }
    }

    /// Opens a regular file. Links, folders and devices are refused, and opening a pipe does not wait.
    fn regular(&self, name: &str, how: OFlags) -> io::Result<File> {
        let flags = how | OFlags::NOFOLLOW | OFlags::NONBLOCK | OFlags::CLOEXEC;
        let file = File::from(rustix::fs::openat(&self.0, name, flags, Mode::empty())?);
        match file.metadata()?.is_file() {
            true => Ok(file),
            false => Err(io::Error::new(io::ErrorKind::InvalidInput, "it is no regular file")),
        }
    }

    pub fn open_to_append(&self, name: &str) -> io::Result<File> {
        let file = self.regular(name, OFlags::RDWR | OFlags::APPEND)?;
        file.try_lock()?;
        Ok(file)
    }

    /// Creates a file under a name that is free.
    pub fn put_new(&self, name: &str, bytes: &[u8]) -> Result<(), Unwritten> {
        let temporary = self.temporary(bytes, None)?;
        if let Err(error) = moved_if_free(&self.0, &temporary, &self.0, name) {
            self.drop_temporary(&temporary);
            return Err(Unwritten::from(&io::Error::from(error)));
        }
        self.sync();
        Ok(())
    }

    /// Replaces a file by one with the same permissions. The old file moves to the hidden folder. If its contents are
    /// not what `expected` accepts, or if it cannot be kept, everything is put back.
    pub fn replace(
        &self,
        name: &str,
        bytes: &[u8],
        expected: &dyn Fn(&[u8]) -> bool,
    ) -> Result<(), Unwritten> {
        let kept = self.kept()?;
        let rights = self.regular(name, OFlags::RDONLY)?.metadata()?.permissions();
        let temporary = self.temporary(bytes, Some(rights))?;
        let swapped = self.swap(&temporary, name);
        if let Err(error) = swapped {
            self.drop_temporary(&temporary);
            return Err(Unwritten::from(&error));
        }
        // The old file now has the temporary name.
        let was = self.read(&temporary, LARGEST_FILE);
        if !was.is_ok_and(|was| expected(&was)) {
            self.put_back(&temporary, &kept, name, bytes)?;
            return Err(Unwritten::Changed);
        }
        if let Err(error) = self.keep(&temporary, &kept, name) {
            self.put_back(&temporary, &kept, name, bytes)?;
            return Err(Unwritten::from(&error));
        }
        self.sync();
        Ok(())
    }

    /// Undoes a swap. The new contents are removed. If somebody else has written to the file meanwhile, their contents
    /// are kept in the hidden folder.
    fn put_back(&self, temporary: &str, kept: &OwnedFd, name: &str, bytes: &[u8]) -> io::Result<()> {
        self.swap(temporary, name)?;
        match self.read(temporary, LARGEST_FILE) {
            Ok(ours) if ours == bytes => {
                self.drop_temporary(temporary);
                Ok(())
            }
            _ => self.keep(temporary, kept, name),
        }
    }

    fn swap(&self, one: &str, other: &str) -> io::Result<()> {
        #[cfg(any(target_os = "linux", target_vendor = "apple"))]
        match rustix::fs::renameat_with(&self.0, one, &self.0, other, RenameFlags::EXCHANGE) {
            Err(error) if is_unknown(error) => {}
            swapped => return Ok(swapped?),
        }
        let aside = format!("{one}.old");
        let swapped = rustix::fs::renameat(&self.0, other, &self.0, &aside)
            .and_then(|()| rustix::fs::renameat(&self.0, one, &self.0, other))
            .and_then(|()| rustix::fs::renameat(&self.0, &aside, &self.0, one));
        Ok(swapped?)
    }

    /// The hidden folder; created if it is missing.
    fn kept(&self) -> io::Result<OwnedFd> {
        match rustix::fs::mkdirat(&self.0, KEPT, Mode::RWXU) {
            Ok(()) | Err(Errno::EXIST) => {}
            Err(error) => return Err(error.into()),
        }
        let flags = OFlags::RDONLY | OFlags::DIRECTORY | OFlags::NOFOLLOW | OFlags::CLOEXEC;
        Ok(rustix::fs::openat(&self.0, KEPT, flags, Mode::empty())?)
    }

    /// The names in the hidden folder; none if there is no such folder.
    pub fn kept_names(&self) -> io::Result<Vec<String>> {
        match self.kept_if_there()? {
            Some(kept) => kept.names(),
            None => Ok(Vec::new()),
        }
    }

    pub fn read_kept(&self, name: &str, most: u64) -> io::Result<Vec<u8>> {
        self.kept_if_there()?.ok_or(io::ErrorKind::NotFound)?.read(name, most)
    }

    fn kept_if_there(&self) -> io::Result<Option<Self>> {
        let flags = OFlags::RDONLY | OFlags::DIRECTORY | OFlags::NOFOLLOW | OFlags::CLOEXEC;
        match rustix::fs::openat(&self.0, KEPT, flags, Mode::empty()) {
            Ok(kept) => Ok(Some(Self(kept))),
            Err(Errno::NOENT) => Ok(None),
            Err(error) => Err(error.into()),
        }
    }

    /// Moves a replaced file to the hidden folder. Its new name is the old one with the time appended.
    fn keep(&self, temporary: &str, kept: &OwnedFd, name: &str) -> io::Result<()> {
        let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or(Duration::ZERO).as_millis();
        let mut moved = Ok(());
        for count in 0..1000 {
            moved = moved_if_free(&self.0, temporary, kept, &format!("{name}.{}", now + count));
            if moved != Err(Errno::EXIST) {
                break;
            }
        }
        Ok(moved?)
    }

    /// Creates a temporary file with these contents, synced to the disk. Returns its name.
    fn temporary(&self, bytes: &[u8], rights: Option<Permissions>) -> io::Result<String> {
        let mut number = [0; 8];
        getrandom::fill(&mut number).map_err(|_| io::Error::other("the system gives no random numbers"))?;
        let name = format!(".coilwright-desk-{:016x}.tmp", u64::from_ne_bytes(number));
        let flags = OFlags::WRONLY | OFlags::CREATE | OFlags::EXCL | OFlags::NOFOLLOW | OFlags::CLOEXEC;
        let mode = match rights {
            Some(_) => Mode::RUSR | Mode::WUSR,
            None => Mode::RUSR | Mode::WUSR | Mode::RGRP | Mode::ROTH,
        };
        let mut file = File::from(rustix::fs::openat(&self.0, name.as_str(), flags, mode)?);
        let written = file
            .write_all(bytes)
            .and_then(|()| rights.map_or(Ok(()), |rights| file.set_permissions(rights)))
            .and_then(|()| file.sync_all());
        if let Err(error) = written {
            self.drop_temporary(&name);
            return Err(error);
        }
        Ok(name)
    }

    fn drop_temporary(&self, name: &str) {
        // If even this fails, nothing more can be done. The file is hidden and has a name of ours.
        let _: Result<(), Errno> = rustix::fs::unlinkat(&self.0, name, AtFlags::empty());
    }

    fn sync(&self) {
        // A folder that cannot be synced is on a filesystem that keeps its own order.
        let _: Result<(), Errno> = rustix::fs::fsync(&self.0);
    }
}

/// Moves a file to a free name: in one step if the filesystem supports that, otherwise by a second link.
fn moved_if_free(from: &OwnedFd, name: &str, to: &OwnedFd, free: &str) -> Result<(), Errno> {
    #[cfg(any(target_os = "linux", target_vendor = "apple"))]
    match rustix::fs::renameat_with(from, name, to, free, RenameFlags::NOREPLACE) {
        Err(error) if is_unknown(error) => {}
        moved => return moved,
    }
    rustix::fs::linkat(from, name, to, free, AtFlags::empty())?;
    rustix::fs::unlinkat(from, name, AtFlags::empty())
}

/// Whether the filesystem or the system does not support the operation.
fn is_unknown(error: Errno) -> bool {
    matches!(error, Errno::INVAL | Errno::NOSYS | Errno::NOTSUP)
}
