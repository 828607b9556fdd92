//! What every request can reach.

use super::folder::Folder;
use super::forms::Questions;
use super::runs::Runs;
use super::session::Session;
use std::sync::Arc;
use tokio::sync::{Notify, Semaphore};

/// The desk as it is while it serves.
pub struct State {
    pub folder: Arc<Folder>,
    pub session: Session,
    pub questions: Questions,
    pub runs: Runs,
    /// Turns to make an answer that takes processor time.
    pub turns: Arc<Semaphore>,
    /// Told when the desk is asked to end.
    pub end: Notify,
}
