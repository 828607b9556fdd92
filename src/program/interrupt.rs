//! Signals: no temporary file remains, and the exit status names the signal as shells count it, 128 plus its number.
//!
//! SIGINT (Ctrl-C) 130, SIGTERM 143, SIGHUP 129. SIGXFSZ, which the system sends where a file-size limit is met, is taken
//! and passed over: the write then fails with an error that says so.

use coilwright::files::out::folder as files;
#[cfg(feature = "desk")]
use std::sync::OnceLock;

/// What is done at a signal instead of ending at once.
#[cfg(feature = "desk")]
static INSTEAD: OnceLock<Box<dyn Fn() + Send + Sync>> = OnceLock::new();

/// From here on a signal calls this, which brings the program to its own end.
#[cfg(feature = "desk")]
pub fn instead_of_ending(ending: Box<dyn Fn() + Send + Sync>) {
    // Only one command runs, so nothing else is set.
    drop(INSTEAD.set(ending));
}

/// Whether the signal is somebody else's to act upon.
fn is_taken() -> bool {
    #[cfg(feature = "desk")]
    if let Some(ending) = INSTEAD.get() {
        ending();
        return true;
    }
    false
}

/// From here on an interrupt, or a request to end, removes what is unfinished and ends the program.
#[cfg(unix)]
pub fn clean_up_on_interrupt() {
    use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM, SIGXFSZ};
    use std::sync::Arc;
    use std::sync::atomic::AtomicBool;

    // Where no handler can be set the system ends the program by itself; the next run removes what it left.
    drop(signal_hook::flag::register(SIGXFSZ, Arc::new(AtomicBool::new(false))));
    let Ok(mut signals) = signal_hook::iterator::Signals::new([SIGHUP, SIGINT, SIGTERM]) else { return };
    let handle = signals.handle();
    let waiting = std::thread::Builder::new().name("signals".into()).spawn(move || {
        for signal in signals.forever() {
            if !is_taken() {
                files::abandon_all();
                std::process::exit(128 + signal);
            }
        }
    });
    if waiting.is_err() {
        // No thread may be made, so nobody would hear: the signals do again what the system does with them.
        handle.close();
        for signal in [SIGHUP, SIGINT, SIGTERM] {
            drop(signal_hook::flag::register_conditional_default(signal, Arc::new(AtomicBool::new(true))));
        }
    }
}

/// From here on an interrupt, or a request to end, removes what is unfinished and ends the program.
#[cfg(not(unix))]
pub fn clean_up_on_interrupt() {
    const INTERRUPTED_STATUS: i32 = 130;
    // Where no handler can be set the system ends the program by itself; the next run removes what it left.
    drop(ctrlc::set_handler(|| {
        if !is_taken() {
            files::abandon_all();
            std::process::exit(INTERRUPTED_STATUS);
        }
    }));
}
