//! The state that every request can reach.

use super::beside::Bond;
use super::folder::Folder;
use super::forms::Questions;
use super::runs::Runs;
use super::session::Session;
use std::sync::Arc;
use tokio::sync::{Notify, Semaphore};

/// The state of a desk while it serves.
pub struct State {
    pub folder: Arc<Folder>,
    pub session: Session,
    /// By it a second call on the same folder is known.
    pub bond: Bond,
    pub questions: Questions,
    pub runs: Runs,
    /// Permits for making processor-heavy answers.
    pub turns: Arc<Semaphore>,
    /// Notified when the desk is asked to end.
    pub end: Notify,
}
