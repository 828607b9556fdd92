//! How far long work has come: on standard error, only when that is a terminal, only after a moment.

#[cfg(feature = "desk")]
use crate::desk::progress_lines;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::sync::Once;
#[cfg(feature = "desk")]
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

/// Work shorter than this shows no progress.
const PATIENCE: Duration = Duration::from_millis(400);

/// Least time between two lines that the desk hears.
#[cfg(feature = "desk")]
const LINES_APART_MS: u64 = 100;

/// A progress bar that stays away from short work and from pipes.
pub struct Progress {
    bar: ProgressBar,
    started: Instant,
    shown: Once,
    /// Where the desk listens: what is done, and when it last heard, in milliseconds after the start.
    #[cfg(feature = "desk")]
    told: Option<(&'static str, AtomicU64)>,
}

impl Progress {
    /// Progress towards a number of steps; `doing` says what is done, such as "mapping points".
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

    /// So many more steps are done; any thread may say so.
    pub fn advance(&self, steps: u64) {
        if self.started.elapsed() > PATIENCE {
            // indicatif itself draws nothing where standard error is not a terminal.
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
