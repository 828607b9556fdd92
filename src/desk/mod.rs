//! `desk`: the program in a browser window, for the user of this machine only.
//!
//! A filled form becomes the words of a command. The command runs as a separate process in a folder of its own, and the
//! pages show the text, pictures and files that it produces. So nothing is computed or worded a second time, a run can
//! be stopped at any time, and a crashing run does not stop the desk.
//!
//! - [`guard`]: decides which requests are answered.
//! - [`beside`]: lets a second call find the desk that runs.
//! - [`folder`]: the one folder whose files are visible, and how they are read and written.
//! - [`forms`]: forms made from the definitions of the command line, and commands made from filled forms.
//! - [`runs`]: the processes, their progress and their files.
//! - [`pages`]: the pages.

mod address;
mod beside;
mod document_form;
mod folder;
mod forms;
mod guard;
mod judged;
mod judged_data;
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

use beside::{Bond, Running};
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

/// Number of processor-heavy answers that are made at the same time.
const TURNS_AT_ONCE: usize = 2;

/// The settings of a desk.
pub struct Desk {
    /// The folder whose files are visible.
    pub folder: PathBuf,
    /// The port. `None` for any free one.
    pub port: Option<u16>,
    /// The page to open first, without its leading slash.
    pub open: Option<String>,
    /// Whether to start a browser.
    pub browser: bool,
    /// The definitions of the command line.
    pub commands: clap::Command,
    /// Registers what to do when the program is asked to end.
    pub ending: Ending,
}

/// A function that takes the desk's way of ending and calls it on a signal.
pub type Ending = fn(Box<dyn Fn() + Send + Sync>);

/// Serves until the program is asked to end.
///
/// # Errors
/// If the folder cannot be opened, the port is taken, or the system refuses what a server needs.
pub fn serve(desk: Desk) -> Result<()> {
    let folder = Folder::open(&desk.folder)?;
    // Whoever asks for a port, or reads the address from a script, wants a desk of his own.
    if desk.browser && desk.port.is_none() && opened_again(&desk)? {
        return Ok(());
    }
    let asked = (Ipv4Addr::LOCALHOST, desk.port.unwrap_or(0));
    let listener = TcpListener::bind(asked).map_err(|error| Error::Usage {
        message: format!("cannot listen on port {} of this machine: {}", asked.1, said_by_system(&error)),
        hint: Some("without --port a free one is taken".into()),
    })?;
    let port = listener.local_addr().map_err(|error| server::refused(&error))?.port();
    let session = Session::new(port)?;
    let bond = Bond::new()?;
    let note = beside::leave(folder.path(), port, &bond);
    let address = session.entrance(desk.open.as_deref())?;
    let state = Arc::new(State {
        folder: Arc::new(folder),
        session,
        bond,
        questions: Questions::of(&desk.commands),
        runs: Runs::new()?,
        turns: Arc::new(Semaphore::new(TURNS_AT_ONCE)),
        end: Notify::new(),
    });
    // The signal handler lives as long as the program. It must not keep the state alive, or the desk's work would not
    // be removed.
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
    drop((handed, note));
    served
}

/// Opens the desk that already serves the folder, if there is one.
fn opened_again(desk: &Desk) -> Result<bool> {
    let Some(running) = Running::on(&desk.folder) else { return Ok(false) };
    let Some(address) = running.address(desk.open.as_deref()) else { return Ok(false) };
    printed(&address)?;
    eprintln!("The desk on this folder is open already: the browser goes to it.");
    // The browser reads the address from a file that must be there until then.
    let handed = opening::open(&address);
    running.is_entered(session::ENTRANCE_IS_OPEN);
    drop(handed);
    Ok(true)
}

/// Prints the address as the first line, for scripts and for users whose browser does not open.
fn announce(address: &str) -> Result<()> {
    printed(address)?;
    eprintln!(
        "The desk is open to this machine alone; the address works once, within a minute. Ctrl-C ends it."
    );
    Ok(())
}

fn printed(address: &str) -> Result<()> {
    let mut stdout = std::io::stdout().lock();
    let written = writeln!(stdout, "{address}").and_then(|()| stdout.flush());
    written.map_err(|error| server::refused(&error))
}
