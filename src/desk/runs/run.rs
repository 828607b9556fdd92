//! A run: its stage, its output and the files that it made.

use crate::desk::folder::Name;
use crate::desk::progress_lines::Progress;
use coilwright::error::said_by_system;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};
use tokio::sync::{Notify, watch};

/// Folder for the files that a run makes.
pub const OUT: &str = "files";

/// A run.
pub struct Run {
    /// A random number that cannot be guessed.
    pub id: String,
    /// Name of the command.
    pub question: String,
    /// The page that asked. A newer run of the same page replaces this one.
    pub(super) page: String,
    /// The words of the command, as a user would type them.
    pub words: Vec<String>,
    /// The query that fills the question's form with the same values again.
    pub again: String,
    /// Whether it writes to a register, and therefore goes on when nobody follows it.
    pub(super) registers: bool,
    pub(super) since: Instant,
    pub(super) followed: Mutex<Followed>,
    pub(super) folder: PathBuf,
    pub(super) inputs: Vec<Name>,
    pub(super) stage: watch::Sender<Stage>,
    pub(super) stop: Notify,
}

/// The stage that a run has reached.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Stage {
    Waiting,
    Working(Option<Progress>),
    Answered(Arc<Answer>),
    /// It was stopped by the user or by a newer run.
    Stopped,
    /// The system refused it, or it took too long.
    Failed(String),
}

/// Output and files of a run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// Exit status of the process. `None` if a signal ended it.
    pub status: Option<i32>,
    /// Text on standard output.
    pub text: String,
    /// Warnings, or the reason for a failure, from standard error.
    pub told: String,
    /// Names of the files that it made.
    pub files: Vec<String>,
}

/// Why a run could not be started, as a sentence.
pub struct NotBegun(pub String);

/// Who follows a run: open streams of its progress, and until when it goes on without any.
pub(super) struct Followed {
    streams: usize,
    until: Instant,
}

impl Followed {
    /// Followed by nobody yet, but by the page that has just asked.
    pub(super) fn new() -> Self {
        Self { streams: 0, until: Instant::now() + AFTER_A_LOOK }
    }
}

/// How long a run goes on after its page was looked at or left: a page that is loaded again comes back within that.
pub const AFTER_A_LOOK: Duration = Duration::from_secs(10);
/// How long it goes on after a page listed it. A page in the background asks once a minute only.
pub const AFTER_A_POLL: Duration = Duration::from_secs(90);

/// As long as this exists, the run is followed.
pub struct Following(Arc<Run>);

impl Drop for Following {
    fn drop(&mut self) {
        self.0.followed().streams -= 1;
        self.0.keep_up(AFTER_A_LOOK);
    }
}

impl Stage {
    /// Whether the run has ended.
    pub fn is_over(&self) -> bool {
        !matches!(self, Self::Waiting | Self::Working(_))
    }

    /// How far the run is, in a few words. `None` once it has ended.
    pub fn step(&self) -> Option<String> {
        match self {
            Self::Waiting => Some("waiting for its turn".into()),
            Self::Working(None) => Some("working".into()),
            Self::Working(Some(it)) => {
                let percent = (100.0 * it.done as f64 / it.of.max(1) as f64).min(100.0);
                Some(format!("{percent:.0} %, {}", it.doing))
            }
            Self::Answered(_) | Self::Stopped | Self::Failed(_) => None,
        }
    }
}

impl Run {
    /// Stops the run if it has not ended.
    pub fn stop(&self) {
        self.stop.notify_one();
    }

    /// Follows the run until the returned value is dropped.
    pub fn follow(self: &Arc<Self>) -> Following {
        self.followed().streams += 1;
        Following(Arc::clone(self))
    }

    /// Lets the run go on for this time at least, whether or not anybody follows it.
    pub fn keep_up(&self, time: Duration) {
        let mut followed = self.followed();
        followed.until = followed.until.max(Instant::now() + time);
    }

    /// Whether nobody has followed the run for so long that it may be stopped.
    pub(super) fn is_forsaken(&self) -> bool {
        let followed = self.followed();
        followed.streams == 0 && Instant::now() > followed.until
    }

    fn followed(&self) -> MutexGuard<'_, Followed> {
        self.followed.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// How long ago it was asked for, in words.
    pub fn age(&self) -> String {
        match self.since.elapsed().as_secs() {
            seconds @ 0..120 => format!("{seconds} s ago"),
            seconds @ 120..7200 => format!("{} min ago", seconds / 60),
            seconds => format!("{} h ago", seconds / 3600),
        }
    }

    /// Whether the run has ended.
    pub fn is_done(&self) -> bool {
        self.stage.borrow().is_over()
    }

    /// The current stage and its later changes.
    pub fn watch(&self) -> watch::Receiver<Stage> {
        self.stage.subscribe()
    }

    /// Names of the files that the run made.
    pub fn files(&self) -> Vec<String> {
        self.answer().map(|answer| answer.files.clone()).unwrap_or_default()
    }

    /// Output and files. `None` unless the run was answered.
    pub fn answer(&self) -> Option<Arc<Answer>> {
        match &*self.stage.borrow() {
            Stage::Answered(answer) => Some(Arc::clone(answer)),
            _ => None,
        }
    }

    /// Contents of a file that the run made.
    pub fn read(&self, name: &str) -> std::io::Result<Vec<u8>> {
        match self.files().iter().any(|made| made == name) {
            true => std::fs::read(self.path_of(name)),
            false => Err(std::io::ErrorKind::NotFound.into()),
        }
    }

    fn path_of(&self, name: &str) -> PathBuf {
        let written = self.folder.join(OUT).join(name);
        if written.exists() { written } else { self.folder.join(name) }
    }

    /// Names of the files now in the run's folders, without its inputs.
    pub(super) fn made(&self) -> Vec<String> {
        let names = |path: &Path| -> Vec<String> {
            let Ok(entries) = std::fs::read_dir(path) else { return Vec::new() };
            let files = entries.flatten().filter(|entry| entry.file_type().is_ok_and(|kind| kind.is_file()));
            files
                .filter_map(|entry| entry.file_name().into_string().ok())
                .filter(|name| !name.starts_with('.'))
                .collect()
        };
        let is_input = |name: &String| self.inputs.iter().any(|input| input.as_str() == name);
        let mut made: Vec<String> = names(&self.folder).into_iter().filter(|name| !is_input(name)).collect();
        made.extend(names(&self.folder.join(OUT)));
        made.sort();
        made.dedup();
        made
    }
}

/// The reason given if a file that a run needs cannot be read.
pub(super) fn unread(name: &Name, error: &std::io::Error) -> NotBegun {
    NotBegun(format!("{name} cannot be read: {}.", said_by_system(error)))
}

/// The reason given if the run's own folder cannot be written to.
pub(super) fn no_room(error: &std::io::Error) -> NotBegun {
    let place = std::env::temp_dir();
    NotBegun(format!(
        "The run has no room for its files in {}, the system's folder for temporary files: {}.",
        place.display(),
        said_by_system(error)
    ))
}
