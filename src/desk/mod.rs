//! `desk`: the program in a browser window, on this machine only.
//!
//! A page asks, the program itself answers: what a form says becomes the words of a command, the command runs as a
//! process of its own in a folder of its own, and its sentences, pictures and files are shown. So nothing is computed or
//! worded twice, a run can be stopped at any time, and none can take the desk down with it.
//!
//! - [`guard`]: which requests are answered at all.
//! - [`folder`]: the one folder whose files are seen, and how they are read and written.
//! - [`forms`]: from the command line's own definitions to forms, and from a filled form to a command.
//! - [`runs`]: the processes, their progress and their files.
//! - [`pages`]: what is shown.

mod address;
mod document_form;
mod folder;
mod forms;
mod guard;
mod judged;
mod live;
mod opening;
mod pages;
mod peer;
pub mod progress_lines;
mod refusal;
mod runs;
mod secret;
mod server;
mod session;
mod state;

pub use opening::write_desktop_entry;

use coilwright::error::said_by_system;
use coilwright::{Error, Result};
use folder::Folder;
use forms::Questions;
use runs::Runs;
use session::Session;
use state::State;
use std::io::Write;
use std::net::{Ipv4Addr, TcpListener};
use std::path::PathBuf;
use std::sync::Arc;
use tokio::sync::{Notify, Semaphore};

/// Answers that take processor time made at the same time.
const TURNS_AT_ONCE: usize = 2;

/// What the desk is asked to do.
pub struct Desk {
    /// The folder whose files it shows.
    pub folder: PathBuf,
    /// The port; any free one without.
    pub port: Option<u16>,
    /// The page to begin with, without its leading slash.
    pub open: Option<String>,
    /// Whether a browser is started.
    pub browser: bool,
    /// The definitions of the command line.
    pub commands: clap::Command,
    /// How the desk hears that the program is asked to end.
    pub ending: Ending,
}

/// Hands the desk's own way of ending to whoever hears the signals.
pub type Ending = fn(Box<dyn Fn() + Send + Sync>);

/// Serves until the program is asked to end.
///
/// # Errors
/// The folder cannot be opened, the port is taken, or the system refuses what a server needs.
pub fn serve(desk: Desk) -> Result<()> {
    let folder = Folder::open(&desk.folder)?;
    let asked = (Ipv4Addr::LOCALHOST, desk.port.unwrap_or(0));
    let listener = TcpListener::bind(asked).map_err(|error| Error::Usage {
        message: format!("cannot listen on port {} of this machine: {}", asked.1, said_by_system(&error)),
        hint: Some("without --port a free one is taken".into()),
    })?;
    let port = listener.local_addr().map_err(|error| server::refused(&error))?.port();
    let session = Session::new(port)?;
    let address = session.entrance(desk.open.as_deref())?;
    let state = Arc::new(State {
        folder: Arc::new(folder),
        session,
        questions: Questions::of(&desk.commands),
        runs: Runs::new()?,
        turns: Arc::new(Semaphore::new(TURNS_AT_ONCE)),
        end: Notify::new(),
    });
    // What hears the signals lives as long as the program, and must not keep the desk's work from being removed.
    let ended = Arc::downgrade(&state);
    (desk.ending)(Box::new(move || {
        if let Some(state) = ended.upgrade() {
            state.end.notify_one();
        }
    }));
    announce(&address)?;
    let handed = match desk.browser {
        true => opening::open(&address),
        false => None,
    };
    let served = server::run(listener, Arc::clone(&state));
    drop(handed);
    served
}

/// The address is the first line, for scripts and for people whose browser does not open.
fn announce(address: &str) -> Result<()> {
    let mut stdout = std::io::stdout().lock();
    let written = writeln!(stdout, "{address}").and_then(|()| stdout.flush());
    written.map_err(|error| server::refused(&error))?;
    eprintln!(
        "The desk is open to this machine alone; the address works once, within a minute. Ctrl-C ends it."
    );
    Ok(())
}
