//! One run: how far it is, what it said and made.

use crate::desk::folder::Name;
use crate::desk::progress_lines::Progress;
use coilwright::error::said_by_system;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use tokio::sync::{Notify, watch};

/// The folder that a run's files go to.
pub(super) const OUT: &str = "files";

/// One run.
pub struct Run {
    /// A number that cannot be guessed.
    pub id: String,
    /// The command.
    pub question: String,
    /// The page that asked: a newer run of the same page takes its place.
    pub(super) page: String,
    /// The words of the command, as one would type them.
    pub words: Vec<String>,
    pub(super) folder: PathBuf,
    pub(super) inputs: Vec<Name>,
    pub(super) stage: watch::Sender<Stage>,
    pub(super) stop: Notify,
}

/// How far a run is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Stage {
    Waiting,
    Working(Option<Progress>),
    Answered(Arc<Answer>),
    /// It was stopped, by hand or by a newer run.
    Stopped,
    /// The system refused it, or it took too long.
    Failed(String),
}

/// What a run said and made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// The exit status.
    pub status: Option<i32>,
    /// What it printed.
    pub text: String,
    /// What it warned of, or why it failed.
    pub told: String,
    /// The names of the files that it made.
    pub files: Vec<String>,
}

/// Why no run was begun.
pub struct NotBegun(pub String);

impl Stage {
    /// Whether nothing more comes.
    pub fn is_over(&self) -> bool {
        !matches!(self, Self::Waiting | Self::Working(_))
    }
}

impl Run {
    /// Stops it, if it is not done.
    pub fn stop(&self) {
        self.stop.notify_one();
    }

    /// Whether nothing more comes of it.
    pub fn is_done(&self) -> bool {
        self.stage.borrow().is_over()
    }

    /// How far it is, and how to hear of more.
    pub fn watch(&self) -> watch::Receiver<Stage> {
        self.stage.subscribe()
    }

    /// The files that it made, by name.
    pub fn files(&self) -> Vec<String> {
        self.answer().map(|answer| answer.files.clone()).unwrap_or_default()
    }

    /// What it said and made, once it is done.
    pub fn answer(&self) -> Option<Arc<Answer>> {
        match &*self.stage.borrow() {
            Stage::Answered(answer) => Some(Arc::clone(answer)),
            _ => None,
        }
    }

    /// The bytes of a file that it made.
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

    /// What stands in its folder now and was not put there.
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

/// A file that a run needs and that cannot be read.
pub(super) fn unread(name: &Name, error: &std::io::Error) -> NotBegun {
    NotBegun(format!("{name} cannot be read: {}.", said_by_system(error)))
}

/// The run's own folder cannot be written to.
pub(super) fn no_room(error: &std::io::Error) -> NotBegun {
    let place = std::env::temp_dir();
    NotBegun(format!(
        "The run has no room for its files in {}, the system's folder for temporary files: {}.",
        place.display(),
        said_by_system(error)
    ))
}
