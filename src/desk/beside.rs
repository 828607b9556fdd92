//! Lets a second call find the desk that already serves a folder, so that a click on the menu entry opens the one that
//! runs instead of starting another.
//!
//! A desk leaves a note in a folder that only its user can read, never in the folder that it serves: its process, its
//! port, and a secret of 128 bits. A caller proves that it knows the secret without sending it, and the desk proves the
//! same with its answer. So a stranger who takes the port of a desk that is gone learns nothing, and no browser is sent
//! to a stranger.

use super::secret::{Secret, same};
use coilwright::Result;
use sha2::{Digest, Sha256};
use std::fs::OpenOptions;
use std::io::{Read, Write};
use std::net::{Ipv4Addr, SocketAddr, TcpStream};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Header with the number that a caller chose and the proof that it knows the secret, joined by a point.
pub const PROOF_HEADER: &str = "x-desk-beside";
/// Where a caller asks for a new one-time token.
pub const NEW_TOKEN: &str = "/beside/token";
/// Where a caller asks whether the token is used.
pub const IS_USED: &str = "/beside/used";
/// Longest wait for an answer of the other desk.
const ANSWERS_WITHIN: Duration = Duration::from_secs(3);
/// Longest answer, in bytes.
const LONGEST_ANSWER: u64 = 4096;
/// Ending of a note.
const ENDING: &str = "desk";

/// The secret by which a desk and a second call know each other.
pub struct Bond(Secret);

impl Bond {
    /// A bond with a new secret.
    pub fn new() -> Result<Self> {
        Ok(Self(Secret::new()?))
    }

    /// The caller's number if a header proves that its sender knows the secret and means this address.
    pub fn number<'a>(&self, address: &str, header: &'a str) -> Option<&'a str> {
        let (number, proof) = header.split_once('.')?;
        same(&self.0.proof(&format!("asks {address} {number}")), proof).then_some(number)
    }

    /// The header of a caller who asks at this address, with its number.
    fn header(&self, address: &str) -> Option<(String, String)> {
        let number = Secret::new().ok()?.text();
        let proof = self.0.proof(&format!("asks {address} {number}"));
        Some((format!("{number}.{proof}"), number))
    }

    /// An answer to this number, with the proof that the answerer knows the secret.
    pub fn answer(&self, number: &str, said: &str) -> String {
        format!("{said} {}", self.0.proof(&format!("says {number} {said}")))
    }

    /// What a proven answer says.
    fn said<'a>(&self, number: &str, answer: &'a str) -> Option<&'a str> {
        let (said, proof) = answer.trim().rsplit_once(' ')?;
        same(&self.0.proof(&format!("says {number} {said}")), proof).then_some(said)
    }
}

/// The note of a running desk. It is removed when dropped.
pub struct Note(PathBuf);

impl Drop for Note {
    fn drop(&mut self) {
        // A newer desk may have left its own note in the place of this one.
        let is_own = std::fs::read_to_string(&self.0).is_ok_and(|text| {
            text.split_whitespace().next().is_some_and(|process| process == std::process::id().to_string())
        });
        if is_own {
            drop(std::fs::remove_file(&self.0));
        }
    }
}

/// Leaves the note of the desk that serves this folder on this port. `None` if there is no place for it; then a second
/// call starts a second desk.
pub fn leave(folder: &Path, port: u16, bond: &Bond) -> Option<Note> {
    let notes = notes(folder)?;
    forget_the_gone(&notes);
    let path = notes.join(name_of(folder));
    let mut file = tempfile::Builder::new().prefix(".note-").tempfile_in(&notes).ok()?;
    file.write_all(format!("{} {port} {}\n", std::process::id(), bond.0.text()).as_bytes()).ok()?;
    file.persist(&path).ok()?;
    Some(Note(path))
}

/// A desk that already serves a folder.
pub struct Running {
    port: u16,
    bond: Bond,
}

impl Running {
    /// Finds the desk on this folder. `None` if there is none that answers.
    pub fn on(folder: &Path) -> Option<Self> {
        let path = notes(&folder.canonicalize().ok()?)?.join(name_of(&folder.canonicalize().ok()?));
        let text = read_of_this_user(&path)?;
        let mut words = text.split_whitespace();
        let process: i32 = words.next()?.parse().ok()?;
        let port = words.next()?.parse().ok()?;
        let bond = Bond(Secret::said(words.next()?)?);
        is_there(process).then_some(Self { port, bond })
    }

    /// Asks for a new one-time token. Returns the address to open. `None` if the desk does not answer as it should.
    pub fn address(&self, page: Option<&str>) -> Option<String> {
        let token = self.asked(NEW_TOKEN)?;
        Some(super::session::entrance_at(self.port, &token, page))
    }

    /// Waits until the token is used, or is too old to be.
    pub fn is_entered(&self, within: Duration) {
        let begun = Instant::now();
        while begun.elapsed() < within && self.asked(IS_USED).is_some_and(|said| said == "no") {
            std::thread::sleep(Duration::from_millis(300));
        }
    }

    fn asked(&self, address: &str) -> Option<String> {
        let (header, number) = self.bond.header(address)?;
        let place = SocketAddr::from((Ipv4Addr::LOCALHOST, self.port));
        let mut stream = TcpStream::connect_timeout(&place, ANSWERS_WITHIN).ok()?;
        stream.set_read_timeout(Some(ANSWERS_WITHIN)).ok()?;
        stream.set_write_timeout(Some(ANSWERS_WITHIN)).ok()?;
        let request = format!(
            "POST {address} HTTP/1.1\r\nhost: 127.0.0.1:{}\r\n{PROOF_HEADER}: {header}\r\ncontent-length: 0\r\n\
             connection: close\r\n\r\n",
            self.port
        );
        stream.write_all(request.as_bytes()).ok()?;
        let mut answer = String::new();
        stream.take(LONGEST_ANSWER).read_to_string(&mut answer).ok()?;
        let (_, body) = answer.split_once("\r\n\r\n")?;
        self.bond.said(&number, body).map(str::to_owned)
    }
}

fn name_of(folder: &Path) -> String {
    let digest = Sha256::digest(folder.as_os_str().as_encoded_bytes());
    let digits: String = digest.iter().take(16).map(|byte| format!("{byte:02x}")).collect();
    format!("{digits}.{ENDING}")
}

/// The folder of the notes, which only the user can read. `None` if there is none, or if it is the served folder.
#[cfg(unix)]
fn notes(folder: &Path) -> Option<PathBuf> {
    use std::os::unix::fs::{DirBuilderExt, MetadataExt};
    let named = |name: &str| std::env::var_os(name).map(PathBuf::from).filter(|path| path.is_absolute());
    let home = || named("HOME").map(|home| home.join(".local/state"));
    let place = named("XDG_RUNTIME_DIR").filter(|path| path.is_dir());
    let notes = place.or_else(|| named("XDG_STATE_HOME")).or_else(home)?.join("coilwright-desk");
    std::fs::DirBuilder::new().recursive(true).mode(0o700).create(&notes).ok()?;
    let about = std::fs::symlink_metadata(&notes).ok()?;
    let is_own =
        about.is_dir() && about.uid() == rustix::process::geteuid().as_raw() && about.mode() & 0o077 == 0;
    (is_own && notes.canonicalize().ok()? != folder).then_some(notes)
}

/// Elsewhere nothing says who can read a file.
#[cfg(not(unix))]
fn notes(_folder: &Path) -> Option<PathBuf> {
    None
}

/// A note that only this user could write or read.
#[cfg(unix)]
fn read_of_this_user(path: &Path) -> Option<String> {
    use std::os::unix::fs::{MetadataExt, OpenOptionsExt};
    let no_link = rustix::fs::OFlags::NOFOLLOW.bits() as i32;
    let file = OpenOptions::new().read(true).custom_flags(no_link).open(path).ok()?;
    let about = file.metadata().ok()?;
    let is_own =
        about.is_file() && about.uid() == rustix::process::geteuid().as_raw() && about.mode() & 0o077 == 0;
    let mut text = String::new();
    is_own.then_some(())?;
    file.take(LONGEST_ANSWER).read_to_string(&mut text).ok()?;
    Some(text)
}

#[cfg(not(unix))]
fn read_of_this_user(path: &Path) -> Option<String> {
    let mut text = String::new();
    OpenOptions::new().read(true).open(path).ok()?.take(LONGEST_ANSWER).read_to_string(&mut text).ok()?;
    Some(text)
}

/// Whether there is a process of this number. It may be another one that has taken the number.
#[cfg(unix)]
fn is_there(process: i32) -> bool {
    rustix::process::Pid::from_raw(process)
        .is_some_and(|process| rustix::process::test_kill_process(process).is_ok())
}

#[cfg(not(unix))]
fn is_there(_process: i32) -> bool {
    true
}

/// Removes the notes of desks that are gone.
fn forget_the_gone(notes: &Path) {
    let entries = std::fs::read_dir(notes).into_iter().flatten().flatten().take(1000);
    for path in entries.map(|entry| entry.path()) {
        let is_note = path.extension().is_some_and(|ending| ending == ENDING);
        let process = || read_of_this_user(&path)?.split_whitespace().next()?.parse().ok();
        if is_note && process().is_some_and(|process| !is_there(process)) {
            drop(std::fs::remove_file(&path));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_who_knows_the_secret_is_heard_and_believed() {
        let (bond, other) = (Bond::new().unwrap(), Bond::new().unwrap());
        let (header, number) = bond.header(NEW_TOKEN).unwrap();
        assert_eq!(bond.number(NEW_TOKEN, &header), Some(number.as_str()));
        assert!(bond.number(IS_USED, &header).is_none() && other.number(NEW_TOKEN, &header).is_none());
        let answer = bond.answer(&number, "0af");
        assert_eq!(bond.said(&number, &answer), Some("0af"));
        assert!(other.said(&number, &answer).is_none() && bond.said("1", &answer).is_none());
        assert!(bond.said(&number, &answer.replace("0af", "0ae")).is_none());
        assert!(!header.contains(&bond.0.text()) && !answer.contains(&bond.0.text()));
    }
}
