//! How far long work has come: on standard error, only when that is a terminal, only after a moment.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::sync::Once;
use std::time::{Duration, Instant};

/// Work shorter than this shows no progress.
const PATIENCE: Duration = Duration::from_millis(400);

/// A progress bar that stays away from short work and from pipes.
pub struct Progress {
    bar: ProgressBar,
    started: Instant,
    shown: Once,
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
        Self { bar, started: Instant::now(), shown: Once::new() }
    }

    /// So many more steps are done; any thread may say so.
    pub fn advance(&self, steps: u64) {
        if self.started.elapsed() > PATIENCE {
            // indicatif itself draws nothing where standard error is not a terminal.
            self.shown.call_once(|| self.bar.set_draw_target(ProgressDrawTarget::stderr()));
        }
        self.bar.inc(steps);
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}
