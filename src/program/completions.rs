//! `completions SHELL` and `manual`: files that a packager installs with the program.

use super::output;
use clap_complete::Shell;
use coilwright::Result;

/// Prints the completion script of one shell.
pub fn completions(mut command: clap::Command, shell: Shell) -> Result<()> {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut command, "coilwright", &mut script);
    output::print(&String::from_utf8_lossy(&script))
}

/// Prints the manual page, commands and options included, in roff.
pub fn manual(command: &clap::Command) -> Result<()> {
    let mut page = Vec::new();
    let mut pages = command.get_subcommands().filter(|sub| !sub.is_hide_set());
    let written = clap_mangen::Man::new(command.clone())
        .render(&mut page)
        .and_then(|()| pages.try_for_each(|sub| clap_mangen::Man::new(sub.clone()).render(&mut page)));
    written.map_err(output::stdout_error)?;
    output::print(&String::from_utf8_lossy(&page))
}
