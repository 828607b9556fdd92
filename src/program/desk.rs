//! `desk`: the program in a browser window.

use super::interrupt;
use crate::desk::{self, Desk};
use coilwright::Result;
use coilwright::error::shown;
use std::path::PathBuf;

/// The arguments of `desk`.
#[derive(clap::Args)]
pub struct DeskArgs {
    /// The folder with the specs, readings, runs and registers
    #[arg(default_value = ".")]
    folder: PathBuf,
    /// The port to listen on; any free one by default
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u16).range(1..))]
    port: Option<u16>,
    /// Print the address instead of opening a browser
    #[arg(long)]
    no_browser: bool,
    /// Open this page first, given by its path in the desk
    #[arg(long, value_name = "PATH")]
    open: Option<String>,
    /// Write an entry for the system's menu that opens the desk on this folder, then exit
    #[arg(long, conflicts_with_all = ["port", "no_browser", "open"])]
    menu_entry: bool,
}

/// Serves the desk until it is asked to end; `commands` are the definitions of the whole command line.
pub fn run(arguments: &DeskArgs, commands: clap::Command) -> Result<()> {
    if arguments.menu_entry {
        let path = desk::write_desktop_entry(&arguments.folder)?;
        return super::output::print(&format!("wrote {}\n", shown(&path)));
    }
    desk::serve(Desk {
        folder: arguments.folder.clone(),
        port: arguments.port,
        open: arguments.open.clone(),
        browser: !arguments.no_browser,
        commands,
        ending: interrupt::instead_of_ending,
    })
}
