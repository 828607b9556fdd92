//! Progress of long work, on standard error, only on a terminal and only after a moment.

#[cfg(feature = "desk")]
use crate::desk::progress_lines;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::sync::Once;
#[cfg(feature = "desk")]
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

/// Work shorter than this shows no progress.
const PATIENCE: Duration = Duration::from_millis(400);

/// Shortest time between two lines sent to the desk.
#[cfg(feature = "desk")]
const LINES_APART_MS: u64 = 100;

/// A progress bar that does not appear for short work or in pipes.
pub struct Progress {
    bar: ProgressBar,
    started: Instant,
    shown: Once,
    /// For the desk: the name of the work, and the time of the last line, in milliseconds after the start.
    #[cfg(feature = "desk")]
    told: Option<(&'static str, AtomicU64)>,
}

impl Progress {
    /// Progress towards a number of steps; `doing` names the work, such as "mapping points".
    pub fn towards(steps: u64, doing: &'static str) -> Self {
        let bar =
            ProgressBar::with_draw_target(Some(steps), ProgressDrawTarget::hidden()).with_message(doing);
        if let Ok(style) =
            ProgressStyle::with_template("{msg} {wide_bar} {human_pos} of {human_len}, {eta} left")
        {
            bar.set_style(style);
        }
        Self {
            bar,
            started: Instant::now(),
            shown: Once::new(),
            #[cfg(feature = "desk")]
            told: std::env::var_os(progress_lines::VARIABLE).map(|_| (doing, AtomicU64::new(0))),
        }
    }

    /// Adds steps done; any thread may call it.
    pub fn advance(&self, steps: u64) {
        if self.started.elapsed() > PATIENCE {
            // indicatif itself draws nothing if standard error is not a terminal.
            self.shown.call_once(|| self.bar.set_draw_target(ProgressDrawTarget::stderr()));
        }
        self.bar.inc(steps);
        #[cfg(feature = "desk")]
        self.tell_the_desk();
    }

    #[cfg(feature = "desk")]
    fn tell_the_desk(&self) {
        let Some((doing, last)) = &self.told else { return };
        let now = self.started.elapsed().as_millis() as u64;
        let before = last.load(Ordering::Relaxed);
        let is_due = now >= before + LINES_APART_MS;
        if is_due && last.compare_exchange(before, now, Ordering::Relaxed, Ordering::Relaxed).is_ok() {
            let (done, of) = (self.bar.position(), self.bar.length().unwrap_or(0));
            eprintln!("{}", progress_lines::Progress { done, of, doing: (*doing).into() }.line());
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}
