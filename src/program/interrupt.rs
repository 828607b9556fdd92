//! Signals: no temporary file remains, and the exit status is 128 plus the number of the signal, as in shells.
//!
//! SIGINT (Ctrl-C) 130, SIGTERM 143, SIGHUP 129. SIGXFSZ, which the system sends at a file-size limit, is ignored, so
//! that the write fails with an error message.

use coilwright::files::out::folder as files;
#[cfg(feature = "desk")]
use std::sync::OnceLock;

/// Called at a signal instead of exiting.
#[cfg(feature = "desk")]
static INSTEAD: OnceLock<Box<dyn Fn() + Send + Sync>> = OnceLock::new();

/// Makes signals call this from now on; it must bring the program to its end.
#[cfg(feature = "desk")]
pub fn instead_of_ending(ending: Box<dyn Fn() + Send + Sync>) {
    // Only one command runs, so nothing else is set.
    drop(INSTEAD.set(ending));
}

/// Whether the signal was handled by such a function.
fn is_taken() -> bool {
    #[cfg(feature = "desk")]
    if let Some(ending) = INSTEAD.get() {
        ending();
        return true;
    }
    false
}

/// From now on, an interrupt or a termination request removes unfinished files and ends the program.
#[cfg(unix)]
pub fn clean_up_on_interrupt() {
    use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM, SIGXFSZ};
    use std::sync::Arc;
    use std::sync::atomic::AtomicBool;

    // If no handler can be set, the system ends the program itself, and the next run removes its leftovers.
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
        // If no thread can be made, nobody would notice a signal: the system's default action is restored.
        handle.close();
        for signal in [SIGHUP, SIGINT, SIGTERM] {
            drop(signal_hook::flag::register_conditional_default(signal, Arc::new(AtomicBool::new(true))));
        }
    }
}

/// From now on, an interrupt or a termination request removes unfinished files and ends the program.
#[cfg(not(unix))]
pub fn clean_up_on_interrupt() {
    const INTERRUPTED_STATUS: i32 = 130;
    // If no handler can be set, the system ends the program itself, and the next run removes its leftovers.
    drop(ctrlc::set_handler(|| {
        if !is_taken() {
            files::abandon_all();
            std::process::exit(INTERRUPTED_STATUS);
        }
    }));
}
