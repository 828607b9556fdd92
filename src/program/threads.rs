//! Runs work on all cores, or on this thread alone if no more threads can be made.

/// Runs `work` on as many threads as there are cores.
///
/// If the system refuses threads (a limit such as `ulimit -u`), everything runs on this one. The results are the same.
pub fn on_all_cores<T: Send>(work: impl FnOnce() -> T + Send) -> T {
    match rayon::ThreadPoolBuilder::new().build() {
        Ok(pool) => pool.install(work),
        Err(_) => {
            // Parallel parts need a pool: here one whose only thread is this one.
            drop(rayon::ThreadPoolBuilder::new().num_threads(1).use_current_thread().build_global());
            work()
        }
    }
}
