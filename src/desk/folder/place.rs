//! Files of an opened folder on Unix: by bare name from the folder's own handle, and never through a link.

use super::Unwritten;
use rustix::fs::{AtFlags, Dir, FlockOperation, Mode, OFlags, RenameFlags};
use rustix::io::Errno;
use std::fs::File;
use std::io::{self, Read, Write};
use std::os::fd::OwnedFd;
use std::path::Path;
use std::time::{Duration, SystemTime, UNIX_EPOCH};

/// The hidden folder for what was replaced.
const KEPT: &str = ".coilwright-desk";

/// An opened folder.
pub struct Place(OwnedFd);

impl Place {
    pub fn open(path: &Path) -> io::Result<Self> {
        let flags = OFlags::RDONLY | OFlags::DIRECTORY | OFlags::CLOEXEC;
        Ok(Self(rustix::fs::open(path, flags, Mode::empty())?))
    }

    /// The names of everything in it that can be written as text.
    pub fn names(&self) -> io::Result<Vec<String>> {
        let names = Dir::read_from(&self.0)?
            .filter_map(|entry| Some(entry.ok()?.file_name().to_str().ok()?.to_owned()));
        Ok(names.collect())
    }

    /// When a regular file was last changed, where the system knows.
    pub fn changed(&self, name: &str) -> io::Result<Option<SystemTime>> {
        let file = self.regular(name, OFlags::RDONLY)?;
        Ok(file.metadata()?.modified().ok())
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

    /// Opens a regular file; a link, a folder or a device is none, and a pipe is not waited for.
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
        rustix::fs::flock(&file, FlockOperation::LockExclusive)?;
        Ok(file)
    }

    /// A new file under a name that is free.
    pub fn put_new(&self, name: &str, bytes: &[u8]) -> Result<(), Unwritten> {
        let temporary = self.temporary(bytes)?;
        // A link is made only where there is nothing of that name.
        let linked = rustix::fs::linkat(&self.0, &temporary, &self.0, name, AtFlags::empty());
        self.drop_temporary(&temporary);
        linked.map_err(io::Error::from)?;
        self.sync();
        Ok(())
    }

    /// Replaces a file. What was there goes to the hidden folder; if it is not what `expected` knows, everything is put
    /// back.
    pub fn replace(
        &self,
        name: &str,
        bytes: &[u8],
        expected: &dyn Fn(&[u8]) -> bool,
    ) -> Result<(), Unwritten> {
        let temporary = self.temporary(bytes)?;
        let swapped = self.swap(&temporary, name);
        if let Err(error) = swapped {
            self.drop_temporary(&temporary);
            return Err(Unwritten::from(&error));
        }
        // What was replaced stands under the temporary name now.
        let was = self.read(&temporary, super::LARGEST_FILE);
        if !was.is_ok_and(|was| expected(&was)) {
            let back = self.swap(&temporary, name);
            self.drop_temporary(&temporary);
            return Err(back.map_or_else(|error| Unwritten::from(&error), |()| Unwritten::Changed));
        }
        self.keep(&temporary, name)?;
        self.sync();
        Ok(())
    }

    fn swap(&self, one: &str, other: &str) -> io::Result<()> {
        #[cfg(target_os = "linux")]
        let swapped = rustix::fs::renameat_with(&self.0, one, &self.0, other, RenameFlags::EXCHANGE);
        #[cfg(not(target_os = "linux"))]
        let swapped = {
            let aside = format!("{one}.old");
            rustix::fs::renameat(&self.0, other, &self.0, &aside)
                .and_then(|()| rustix::fs::renameat(&self.0, one, &self.0, other))
                .and_then(|()| rustix::fs::renameat(&self.0, &aside, &self.0, one))
        };
        Ok(swapped?)
    }

    /// Moves what was replaced into the hidden folder, under its name and the time.
    fn keep(&self, temporary: &str, name: &str) -> io::Result<()> {
        match rustix::fs::mkdirat(&self.0, KEPT, Mode::RWXU) {
            Ok(()) | Err(Errno::EXIST) => {}
            Err(error) => return Err(error.into()),
        }
        let flags = OFlags::RDONLY | OFlags::DIRECTORY | OFlags::NOFOLLOW | OFlags::CLOEXEC;
        let kept = rustix::fs::openat(&self.0, KEPT, flags, Mode::empty())?;
        let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or(Duration::ZERO).as_millis();
        let free = (0..1000).map(|count| format!("{name}.{}", now + count)).find(|free| {
            rustix::fs::linkat(&self.0, temporary, &kept, free.as_str(), AtFlags::empty()).is_ok()
        });
        self.drop_temporary(temporary);
        match free {
            Some(_) => Ok(()),
            None => Err(io::Error::other("what was replaced could not be kept")),
        }
    }

    /// A file of its own with these bytes, on the disk; its name.
    fn temporary(&self, bytes: &[u8]) -> io::Result<String> {
        let mut number = [0; 8];
        getrandom::fill(&mut number).map_err(|_| io::Error::other("the system gives no random numbers"))?;
        let name = format!(".coilwright-desk-{:016x}.tmp", u64::from_ne_bytes(number));
        let flags = OFlags::WRONLY | OFlags::CREATE | OFlags::EXCL | OFlags::NOFOLLOW | OFlags::CLOEXEC;
        let mode = Mode::RUSR | Mode::WUSR | Mode::RGRP | Mode::ROTH;
        let mut file = File::from(rustix::fs::openat(&self.0, name.as_str(), flags, mode)?);
        let written = file.write_all(bytes).and_then(|()| file.sync_all());
        if let Err(error) = written {
            self.drop_temporary(&name);
            return Err(error);
        }
        Ok(name)
    }

    fn drop_temporary(&self, name: &str) {
        // Where even that fails nothing more can be done; the file bears our name and is hidden.
        let _: Result<(), Errno> = rustix::fs::unlinkat(&self.0, name, AtFlags::empty());
    }

    fn sync(&self) {
        // A folder that cannot be synced is on a filesystem that keeps its own order.
        let _: Result<(), Errno> = rustix::fs::fsync(&self.0);
    }
}
