//! Ctrl-C: no temporary file remains, exit status 130.

use coilwright::files::out::folder as files;

/// 128 plus the number of the interrupt signal, as shells count it.
const INTERRUPTED_STATUS: i32 = 130;

/// From here on an interrupt, or a request to end, removes what is unfinished and ends the program.
pub fn clean_up_on_interrupt() {
    // Where no handler can be set the system ends the program by itself; at worst a temporary file stays.
    drop(ctrlc::set_handler(|| {
        files::abandon_all();
        std::process::exit(INTERRUPTED_STATUS);
    }));
}
