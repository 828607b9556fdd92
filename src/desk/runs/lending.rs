//! Registers that a run may add to: the run gets a copy, and its additions are copied back.

use super::run::{NotBegun, no_room, unread};
use crate::desk::folder::{Folder, LARGEST_FILE, Name, Replaces, Unwritten};
use coilwright::error::said_by_system;
use std::io::{ErrorKind, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A register that a run needs.
pub(super) struct Lending {
    pub name: Name,
    pub home: Arc<Folder>,
}

/// A register of the user's folder, lent to a run as a copy. What the run appends to the copy is appended to the
/// register, which stays locked against other writers meanwhile. A register that does not exist yet has no copy.
pub(super) struct Borrowed {
    name: Name,
    home: Arc<Folder>,
    file: Option<std::fs::File>,
    copy: PathBuf,
}

impl Lending {
    /// Lends the register. `None` while another writer has it locked.
    pub(super) fn lend(&self, folder: &Path) -> std::result::Result<Option<Borrowed>, NotBegun> {
        let said = |error: std::io::Error| unread(&self.name, &error);
        let copy = folder.join(self.name.as_str());
        let file = match self.home.open_to_append(&self.name) {
            Err(error) if error.kind() == ErrorKind::NotFound => None,
            Err(error) if error.kind() == ErrorKind::WouldBlock => return Ok(None),
            opened => Some(opened.map_err(said)?),
        };
        if let Some(file) = &file {
            std::fs::write(&copy, whole(file).map_err(said)?).map_err(|error| no_room(&error))?;
        }
        Ok(Some(Borrowed { name: self.name.clone(), home: Arc::clone(&self.home), file, copy }))
    }
}

impl Borrowed {
    /// Appends to the register what the run appended to the copy.
    pub(super) fn give_back(self) -> std::result::Result<(), String> {
        let failed = |reason: String| format!("Nothing was added to the register: {reason}.");
        let Ok(copy) = std::fs::read(&self.copy) else { return Ok(()) };
        let Some(mut file) = self.file else {
            if copy.is_empty() {
                return Ok(());
            }
            return match self.home.write(&self.name, &copy, &Replaces::Nothing) {
                Ok(_) => Ok(()),
                Err(Unwritten::Taken) => Err(failed("another run made it meanwhile: ask again".into())),
                Err(error) => Err(failed(error.to_string())),
            };
        };
        let before = whole(&file).map_err(|error| failed(said_by_system(&error)))?;
        let Some(added) = copy.strip_prefix(before.as_slice()) else {
            return Err(failed("it ends in a torn line, which the command moves aside".into()));
        };
        if added.is_empty() {
            return Ok(());
        }
        if !added.ends_with(b"\n") {
            return Err(failed("the run ended within an entry".into()));
        }
        let written = file.write_all(added).and_then(|()| file.sync_all());
        written.map_err(|error| {
            // A partial line would be no entry, but it is removed all the same.
            drop(file.set_len(before.len() as u64));
            failed(said_by_system(&error))
        })
    }
}

/// The whole file, if it is not larger than the desk accepts.
fn whole(mut file: &std::fs::File) -> std::io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    file.seek(SeekFrom::Start(0))?;
    file.take(LARGEST_FILE + 1).read_to_end(&mut bytes)?;
    match bytes.len() as u64 > LARGEST_FILE {
        true => Err(ErrorKind::FileTooLarge.into()),
        false => Ok(bytes),
    }
}
