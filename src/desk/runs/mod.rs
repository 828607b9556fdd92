//! Runs: each question asked is answered by a process of its own, in a folder of its own.
//!
//! The files that a question reads are copied to that folder first, so the process never sees the user's folder. A run
//! is stopped on request, when a newer run replaces it, or when it takes too long. The length of its output is limited.

mod home;
mod lending;
mod process;
mod run;

pub use run::{AFTER_A_LOOK, AFTER_A_POLL, Answer, NotBegun, OUT, Run, Stage};

use super::folder::{Folder, Name};
use super::forms::Call;
use super::progress_lines::VARIABLE;
use super::secret::Secret;
use coilwright::error::said_by_system;
use coilwright::{Error, Result};
use home::Home;
use lending::Lending;
use process::work;
use run::{Followed, no_room, unread};
use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};
use tokio::process::Command;
use tokio::sync::{Notify, Semaphore, watch};

/// Largest number of runs at the same time.
const AT_ONCE: usize = 2;
/// Largest number of runs that wait for their turn.
const WAITING: usize = 16;
/// How often a run that is under way is looked at, whether anybody still follows it.
const LOOKED_AFTER: Duration = Duration::from_secs(1);
/// Largest number of runs whose answers are kept.
const KEPT: usize = 24;

/// Who asks for a run.
pub struct Asked<'a> {
    /// Name of the command.
    pub question: &'a str,
    /// The page that asks.
    pub page: &'a str,
    /// The query that fills the question's form with the same values again.
    pub again: &'a str,
    /// Whether the command writes files.
    pub has_files: bool,
}

/// All runs of the desk.
pub struct Runs {
    /// Folder for the runs' files; removed when the desk ends.
    home: Home,
    program: PathBuf,
    runs: Mutex<VecDeque<Arc<Run>>>,
    turns: Arc<Semaphore>,
    queue: Arc<Semaphore>,
}

impl Runs {
    /// Starts without any runs.
    ///
    /// # Errors
    /// If there is no place for temporary files, or if the program's own path is not known.
    pub fn new() -> Result<Self> {
        let refused = |error: std::io::Error| Error::Usage {
            message: format!("the desk has no place for its work: {}", said_by_system(&error)),
            hint: Some("it needs the system's folder for temporary files".into()),
        };
        Ok(Self {
            home: Home::new().map_err(refused)?,
            program: std::env::current_exe().map_err(refused)?,
            runs: Mutex::new(VecDeque::new()),
            turns: Arc::new(Semaphore::new(AT_ONCE)),
            queue: Arc::new(Semaphore::new(AT_ONCE + WAITING)),
        })
    }

    /// Starts a run. An older run of the same page is stopped.
    pub fn begin(
        &self,
        call: Call,
        asked: &Asked<'_>,
        from: &Arc<Folder>,
    ) -> std::result::Result<Arc<Run>, NotBegun> {
        let said =
            |error: std::io::Error| NotBegun(format!("The run cannot begin: {}.", said_by_system(&error)));
        let Asked { question, page, again, has_files } = *asked;
        self.stop_those_of(page);
        let place = Arc::clone(&self.queue)
            .try_acquire_owned()
            .map_err(|_| NotBegun("Too many runs are waiting: stop one, or wait for it.".into()))?;
        let id = Secret::new().map_err(|error| NotBegun(error.to_string()))?.text();
        let folder = self.home.path().join(&id);
        std::fs::create_dir(&folder).map_err(said)?;
        let copied = tokio::task::block_in_place(|| copied(&call.reads, from, &folder));
        copied.inspect_err(|_| drop(std::fs::remove_dir_all(&folder)))?;
        let lending = call.register.clone().map(|name| Lending { name, home: Arc::clone(from) });
        let run = Arc::new(Run {
            id,
            question: question.into(),
            page: page.into(),
            words: call.words.clone(),
            again: again.into(),
            registers: call.register.is_some(),
            since: Instant::now(),
            followed: Mutex::new(Followed::new()),
            inputs: call.reads.iter().cloned().chain(call.register).collect(),
            folder: folder.clone(),
            stage: watch::Sender::new(Stage::Waiting),
            stop: Notify::new(),
        });
        self.remember(Arc::clone(&run));
        let mut command = Command::new(&self.program);
        command.args(&call.words).current_dir(&folder).env(VARIABLE, "1");
        // What `register` enters has no files.
        let enters = call.words.first().is_some_and(|word| word == "register") && run.registers;
        if has_files && !enters {
            command.arg(format!("--out={OUT}"));
        }
        command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped()).kill_on_drop(true);
        let (begun, turns) = (Arc::clone(&run), Arc::clone(&self.turns));
        tokio::spawn(async move {
            let stage = tokio::select! {
                stage = work(command, &begun, &turns, lending) => stage,
                () = begun.stop.notified() => Stage::Stopped,
                () = forsaken(&begun) => Stage::Stopped,
            };
            begun.stage.send_replace(stage);
            drop(place);
        });
        Ok(run)
    }

    /// The run with this number.
    pub fn find(&self, id: &str) -> Option<Arc<Run>> {
        self.all().iter().find(|run| run.id == id).cloned()
    }

    /// The runs under way, oldest first.
    pub fn under_way(&self) -> Vec<Arc<Run>> {
        self.all().iter().filter(|run| !run.is_done()).cloned().collect()
    }

    /// The answered runs of a question, newest first.
    pub fn answered(&self, question: &str) -> Vec<Arc<Run>> {
        let runs = self.all();
        let answered = runs.iter().rev().filter(|run| run.question == question && run.answer().is_some());
        answered.cloned().collect()
    }

    /// Stops every run.
    pub fn stop_all(&self) {
        self.all().iter().for_each(|run| run.stop());
    }

    fn stop_those_of(&self, page: &str) {
        self.all().iter().filter(|run| run.page == page).for_each(|run| run.stop());
    }

    /// Keeps the newest runs and those under way. The folders of the others are removed.
    fn remember(&self, run: Arc<Run>) {
        let mut runs = self.all();
        runs.push_back(run);
        while runs.len() > KEPT {
            // A run under way is never dropped; the queue limits how many there are. Older answers of the same page are
            // dropped first, and last those that wrote to a register, because such a question is not asked twice.
            let older = runs.len() - 1;
            let page = runs[older].page.clone();
            let done = |may_go: &dyn Fn(&Run) -> bool| {
                runs.iter().take(older).position(|run| run.is_done() && may_go(run))
            };
            let first = done(&|run| !run.registers && run.page == page);
            let first = first.or_else(|| done(&|run| !run.registers)).or_else(|| done(&|_| true));
            let Some(old) = first.and_then(|at| runs.remove(at)) else { break };
            drop(std::fs::remove_dir_all(&old.folder));
        }
    }

    /// Removes the folders of all runs, whose processes have been told to end.
    pub fn remove_all(&self) {
        for _ in 0..50 {
            match std::fs::remove_dir_all(self.home.path()) {
                // A process that is just ending may still have written a file.
                Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
                    std::thread::sleep(Duration::from_millis(20));
                }
                _ => return,
            }
        }
    }

    fn all(&self) -> std::sync::MutexGuard<'_, VecDeque<Arc<Run>>> {
        self.runs.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Waits until nobody follows a run any more. A run that writes to a register is never left so.
async fn forsaken(run: &Run) {
    while run.registers || !run.is_forsaken() {
        tokio::time::sleep(LOOKED_AFTER).await;
    }
}

/// Copies the files that a run reads.
fn copied(names: &[Name], from: &Folder, to: &Path) -> std::result::Result<(), NotBegun> {
    for name in names {
        let (bytes, _) = from.read(name).map_err(|error| unread(name, &error))?;
        std::fs::write(to.join(name.as_str()), bytes).map_err(|error| no_room(&error))?;
    }
    Ok(())
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;

    /// The final stage of a run in which a shell script takes the program's place.
    fn run(script: &str) -> Stage {
        let home = tempfile::tempdir().unwrap();
        let folder = Arc::new(Folder::open(home.path()).unwrap());
        let runs = Runs { program: "sh".into(), ..Runs::new().unwrap() };
        let call = Call { words: vec!["-c".into(), script.into()], reads: Vec::new(), register: None };
        let runtime =
            tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
        let asked = Asked { question: "sheet", page: "page", again: "", has_files: false };
        runtime.block_on(async {
            let run = runs.begin(call, &asked, &folder).ok().unwrap();
            let mut watch = run.watch();
            let done = watch.wait_for(Stage::is_over);
            tokio::time::timeout(Duration::from_secs(20), done).await.expect("it ends").unwrap().clone()
        })
    }

    #[test]
    fn a_run_may_print_and_warn_more_than_is_kept() {
        for script in [
            "yes | head -c 9000000; echo end >&2",
            "yes | head -c 9000000 >&2; echo end",
            "head -c 9000000 /dev/zero >&2; echo end",
        ] {
            let Stage::Answered(answer) = run(script) else { panic!("{script}") };
            assert_eq!(answer.status, Some(0), "{script}");
            assert!(answer.text.len() < 5 << 20 && answer.told.len() < 5 << 20, "{script}");
            assert!(answer.text.ends_with("end\n") || answer.text.contains("left out here"), "{script}");
        }
    }

    #[test]
    fn lines_of_progress_are_no_warnings() {
        let Stage::Answered(answer) =
            run("printf 'progress\\t1\\t2\\tmapping\\nhot\\n' >&2; touch a.csv .hidden")
        else {
            panic!()
        };
        assert_eq!((answer.told.as_str(), answer.files.as_slice()), ("hot\n", &["a.csv".to_owned()][..]));
    }
}
