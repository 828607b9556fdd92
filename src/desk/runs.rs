//! Runs: one process for each question asked, in a folder of its own.
//!
//! The files that a question reads are copied there first, so that the process never looks into the user's folder. It is
//! stopped when somebody asks for that, when a newer run takes its place, or when it takes too long; what it says and
//! writes is bounded.

use super::folder::{Folder, Name, Replaces};
use super::forms::Call;
use super::secret::Secret;
use coilwright::error::said_by_system;
use coilwright::{Error, Result};
use std::collections::VecDeque;
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;
use tempfile::TempDir;
use tokio::io::{AsyncBufReadExt, AsyncRead, AsyncReadExt, BufReader};
use tokio::process::{Child, Command};
use tokio::sync::{Notify, Semaphore, SemaphorePermit, watch};

/// Runs at the same time.
const AT_ONCE: usize = 2;
/// Runs waiting for their turn.
const WAITING: usize = 16;
/// Runs whose answers are kept.
const KEPT: usize = 24;
/// The longest time that a run may take.
const LONGEST: Duration = Duration::from_secs(20 * 60);
/// The longest text of a run, in bytes.
const LONGEST_TEXT: u64 = 4 << 20;
/// A register that another writes is asked for again after so long.
const FREE_AGAIN: Duration = Duration::from_millis(20);
/// The folder that a run's files go to.
const OUT: &str = "files";
/// The variable that makes the program tell its progress in lines.
pub const PROGRESS_VARIABLE: &str = "COILWRIGHT_PROGRESS_LINES";
/// How a line of progress begins.
pub const PROGRESS_MARK: &str = "progress\t";

/// All runs of the desk.
pub struct Runs {
    /// Removed when the desk ends.
    root: TempDir,
    program: PathBuf,
    runs: Mutex<VecDeque<Arc<Run>>>,
    turns: Arc<Semaphore>,
    queue: Arc<Semaphore>,
}

/// One run.
pub struct Run {
    /// A number that cannot be guessed.
    pub id: String,
    /// The command.
    pub question: String,
    /// The page that asked: a newer run of the same page takes its place.
    page: String,
    /// The words of the command, as one would type them.
    pub words: Vec<String>,
    folder: PathBuf,
    inputs: Vec<Name>,
    stage: watch::Sender<Stage>,
    stop: Notify,
}

/// How far a run is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Stage {
    Waiting,
    Working(Option<Progress>),
    Answered(Arc<Answer>),
    /// It was stopped, by hand or by a newer run.
    Stopped,
    /// The system refused it, or it took too long.
    Failed(String),
}

/// Steps done and to be done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Progress {
    pub done: u64,
    pub of: u64,
    pub doing: String,
}

/// What a run said and made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// The exit status.
    pub status: Option<i32>,
    /// What it printed.
    pub text: String,
    /// What it warned of, or why it failed.
    pub told: String,
    /// The names of the files that it made.
    pub files: Vec<String>,
}

/// Why no run was begun.
pub struct NotBegun(pub String);

impl Runs {
    /// No runs yet.
    ///
    /// # Errors
    /// There is no place for temporary files, or the program does not know where it is itself.
    pub fn new() -> Result<Self> {
        let refused = |error: std::io::Error| Error::Usage {
            message: format!("the desk has no place for its work: {}", said_by_system(&error)),
            hint: Some("it needs the system's folder for temporary files".into()),
        };
        Ok(Self {
            root: tempfile::Builder::new().prefix("coilwright-desk-").tempdir().map_err(refused)?,
            program: std::env::current_exe().map_err(refused)?,
            runs: Mutex::new(VecDeque::new()),
            turns: Arc::new(Semaphore::new(AT_ONCE)),
            queue: Arc::new(Semaphore::new(AT_ONCE + WAITING)),
        })
    }

    /// Begins a run; an older one of the same page is stopped.
    pub fn begin(
        &self,
        call: Call,
        question: &str,
        page: &str,
        has_files: bool,
        from: &Arc<Folder>,
    ) -> std::result::Result<Arc<Run>, NotBegun> {
        let said =
            |error: std::io::Error| NotBegun(format!("The run cannot begin: {}.", said_by_system(&error)));
        self.stop_those_of(page);
        let place = Arc::clone(&self.queue)
            .try_acquire_owned()
            .map_err(|_| NotBegun("Too many runs are waiting: stop one, or wait for it.".into()))?;
        let id = Secret::new().map_err(|error| NotBegun(error.to_string()))?.text();
        let folder = self.root.path().join(&id);
        std::fs::create_dir(&folder).map_err(said)?;
        let copied = tokio::task::block_in_place(|| copied(&call.reads, from, &folder));
        copied.inspect_err(|_| drop(std::fs::remove_dir_all(&folder)))?;
        let lending = call.register.clone().map(|name| Lending { name, home: Arc::clone(from) });
        let run = Arc::new(Run {
            id,
            question: question.into(),
            page: page.into(),
            words: call.words.clone(),
            inputs: call.reads.iter().cloned().chain(call.register).collect(),
            folder: folder.clone(),
            stage: watch::Sender::new(Stage::Waiting),
            stop: Notify::new(),
        });
        self.remember(Arc::clone(&run));
        let mut command = Command::new(&self.program);
        command.args(&call.words).current_dir(&folder).env(PROGRESS_VARIABLE, "1");
        if has_files {
            command.arg(format!("--out={OUT}"));
        }
        command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped()).kill_on_drop(true);
        let (begun, turns) = (Arc::clone(&run), Arc::clone(&self.turns));
        tokio::spawn(async move {
            let stage = tokio::select! {
                stage = work(command, &begun, &turns, lending) => stage,
                () = begun.stop.notified() => Stage::Stopped,
                () = tokio::time::sleep(LONGEST) => Stage::Failed("The run took too long and was stopped.".into()),
            };
            begun.stage.send_replace(stage);
            drop(place);
        });
        Ok(run)
    }

    /// The run of this number.
    pub fn find(&self, id: &str) -> Option<Arc<Run>> {
        self.all().iter().find(|run| run.id == id).cloned()
    }

    /// Stops every run.
    pub fn stop_all(&self) {
        self.all().iter().for_each(|run| run.stop());
    }

    fn stop_those_of(&self, page: &str) {
        self.all().iter().filter(|run| run.page == page).for_each(|run| run.stop());
    }

    /// Keeps the newest; the folders of the others are removed.
    fn remember(&self, run: Arc<Run>) {
        let mut runs = self.all();
        runs.push_back(run);
        while runs.len() > KEPT {
            if let Some(old) = runs.pop_front() {
                old.stop();
                drop(std::fs::remove_dir_all(&old.folder));
            }
        }
    }

    /// Removes the folders of all runs; their processes were told to end.
    pub fn remove_all(&self) {
        for _ in 0..50 {
            match std::fs::remove_dir_all(self.root.path()) {
                // A process that is just ending may still have written something.
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

impl Run {
    /// Stops it, if it is not done.
    pub fn stop(&self) {
        self.stop.notify_one();
    }

    /// How far it is, and how to hear of more.
    pub fn watch(&self) -> watch::Receiver<Stage> {
        self.stage.subscribe()
    }

    /// The files that it made, by name.
    pub fn files(&self) -> Vec<String> {
        match &*self.stage.borrow() {
            Stage::Answered(answer) => answer.files.clone(),
            _ => Vec::new(),
        }
    }

    /// The bytes of a file that it made.
    pub fn read(&self, name: &str) -> std::io::Result<Vec<u8>> {
        match self.files().iter().any(|made| made == name) {
            true => std::fs::read(self.path_of(name)),
            false => Err(std::io::ErrorKind::NotFound.into()),
        }
    }

    fn path_of(&self, name: &str) -> PathBuf {
        let written = self.folder.join(OUT).join(name);
        if written.exists() { written } else { self.folder.join(name) }
    }

    /// What stands in its folder now and was not put there.
    fn made(&self) -> Vec<String> {
        let names = |path: &Path| -> Vec<String> {
            let Ok(entries) = std::fs::read_dir(path) else { return Vec::new() };
            let files = entries.flatten().filter(|entry| entry.file_type().is_ok_and(|kind| kind.is_file()));
            files
                .filter_map(|entry| entry.file_name().into_string().ok())
                .filter(|name| !name.starts_with('.'))
                .collect()
        };
        let is_input = |name: &String| self.inputs.iter().any(|input| input.as_str() == name);
        let mut made: Vec<String> = names(&self.folder).into_iter().filter(|name| !is_input(name)).collect();
        made.extend(names(&self.folder.join(OUT)));
        made.sort();
        made.dedup();
        made
    }
}

/// Waits for a turn, lets the process run, and takes what it says.
async fn work(mut command: Command, run: &Run, turns: &Semaphore, lending: Option<Lending>) -> Stage {
    let (_turn, register) = match begun(run, turns, lending).await {
        Ok(begun) => begun,
        Err(stage) => return stage,
    };
    run.stage.send_replace(Stage::Working(None));
    let mut child = match command.spawn() {
        Ok(child) => child,
        Err(error) => return Stage::Failed(format!("The run cannot begin: {}.", said_by_system(&error))),
    };
    let (out, told) = (child.stdout.take(), child.stderr.take());
    let (text, told, status) = tokio::join!(text_of(out), told_by(told, run), ended(&mut child));
    let returned = register.map_or(Ok(()), Borrowed::give_back);
    if let Err(reason) = returned {
        return Stage::Failed(reason);
    }
    Stage::Answered(Arc::new(Answer { status, text, told, files: run.made() }))
}

/// Waits until there is a turn and the register, if one is needed, is free. Nobody who waits for the one holds the other.
async fn begun<'a>(
    run: &Run,
    turns: &'a Semaphore,
    lending: Option<Lending>,
) -> std::result::Result<(SemaphorePermit<'a>, Option<Borrowed>), Stage> {
    loop {
        let turn = turns.acquire().await.map_err(|_| Stage::Stopped)?;
        let Some(lending) = &lending else { return Ok((turn, None)) };
        match lending.lend(&run.folder) {
            Ok(Some(borrowed)) => return Ok((turn, Some(borrowed))),
            Ok(None) => drop(turn),
            Err(NotBegun(reason)) => return Err(Stage::Failed(reason)),
        }
        tokio::time::sleep(FREE_AGAIN).await;
    }
}

async fn ended(child: &mut Child) -> Option<i32> {
    child.wait().await.ok()?.code()
}

async fn text_of(out: Option<impl AsyncRead + Unpin>) -> String {
    let Some(mut out) = out else { return String::new() };
    let mut bytes = Vec::new();
    let taken = (&mut out).take(LONGEST_TEXT).read_to_end(&mut bytes).await;
    // The rest is read and dropped, so that the process can end.
    let more = tokio::io::copy(&mut out, &mut tokio::io::sink()).await.unwrap_or(0);
    let mut text = String::from_utf8_lossy(&bytes).into_owned();
    if taken.is_ok() && more > 0 {
        text.push_str("\n[The rest is left out here; the command prints all of it.]\n");
    }
    text
}

/// What is told on standard error; lines of progress are heard on the way.
async fn told_by(told: Option<impl AsyncRead + Unpin>, run: &Run) -> String {
    let Some(told) = told else { return String::new() };
    let mut told = told;
    let mut lines = BufReader::new((&mut told).take(LONGEST_TEXT)).lines();
    let mut text = String::new();
    while let Ok(Some(line)) = lines.next_line().await {
        match line.strip_prefix(PROGRESS_MARK).and_then(Progress::said) {
            Some(progress) => drop(run.stage.send_replace(Stage::Working(Some(progress)))),
            None => text += &(line + "\n"),
        }
    }
    drop(lines);
    // The rest is read and dropped, so that the process can end.
    drop(tokio::io::copy(&mut told, &mut tokio::io::sink()).await);
    text
}

impl Progress {
    fn said(line: &str) -> Option<Self> {
        let mut parts = line.splitn(3, '\t');
        let done = parts.next()?.parse().ok()?;
        let of = parts.next()?.parse().ok()?;
        Some(Self { done, of, doing: parts.next()?.to_owned() })
    }
}

fn unread(name: &Name, error: &std::io::Error) -> NotBegun {
    NotBegun(format!("{name} cannot be read: {}.", said_by_system(error)))
}

/// Copies the files that a run reads.
fn copied(names: &[Name], from: &Folder, to: &Path) -> std::result::Result<(), NotBegun> {
    for name in names {
        let (bytes, _) = from.read(name).map_err(|error| unread(name, &error))?;
        std::fs::write(to.join(name.as_str()), bytes).map_err(|error| unread(name, &error))?;
    }
    Ok(())
}

/// A register that a run asks for.
struct Lending {
    name: Name,
    home: Arc<Folder>,
}

/// A register of the user's folder, lent to a run as a copy. What the run adds to the copy is added to the register,
/// which no other writer can change meanwhile. One that is to be made has no copy yet.
struct Borrowed {
    name: Name,
    home: Arc<Folder>,
    file: Option<std::fs::File>,
    copy: PathBuf,
}

impl Lending {
    /// Lends it; `None` while another writes it.
    fn lend(&self, folder: &Path) -> std::result::Result<Option<Borrowed>, NotBegun> {
        let said = |error: std::io::Error| unread(&self.name, &error);
        let copy = folder.join(self.name.as_str());
        let file = match self.home.open_to_append(&self.name) {
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => None,
            Err(error) if error.kind() == std::io::ErrorKind::WouldBlock => return Ok(None),
            opened => Some(opened.map_err(said)?),
        };
        if let Some(file) = &file {
            std::fs::write(&copy, whole(file).map_err(said)?).map_err(said)?;
        }
        Ok(Some(Borrowed { name: self.name.clone(), home: Arc::clone(&self.home), file, copy }))
    }
}

impl Borrowed {
    /// Adds what the run added.
    fn give_back(self) -> std::result::Result<(), String> {
        let failed = |reason: String| format!("Nothing was added to the register: {reason}.");
        let Ok(copy) = std::fs::read(&self.copy) else { return Ok(()) };
        let Some(mut file) = self.file else {
            let written = self.home.write(&self.name, &copy, &Replaces::Nothing);
            return written.map(drop).map_err(|error| failed(error.to_string()));
        };
        let before = whole(&file).map_err(|error| failed(said_by_system(&error)))?;
        let Some(added) = copy.strip_prefix(before.as_slice()) else {
            return Err(failed("it ends in a torn line, which the command moves aside".into()));
        };
        if added.is_empty() {
            return Ok(());
        }
        let written = file.write_all(added).and_then(|()| file.sync_all());
        written.map_err(|error| {
            // A part of a line is no entry, but it is taken back all the same.
            drop(file.set_len(before.len() as u64));
            failed(said_by_system(&error))
        })
    }
}

fn whole(mut file: &std::fs::File) -> std::io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    file.seek(SeekFrom::Start(0))?;
    file.read_to_end(&mut bytes)?;
    Ok(bytes)
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;

    /// What becomes of a run of the system's shell in the program's place.
    fn run(script: &str) -> Stage {
        let home = tempfile::tempdir().unwrap();
        let folder = Arc::new(Folder::open(home.path()).unwrap());
        let runs = Runs { program: "sh".into(), ..Runs::new().unwrap() };
        let call = Call { words: vec!["-c".into(), script.into()], reads: Vec::new(), register: None };
        let runtime =
            tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
        runtime.block_on(async {
            let run = runs.begin(call, "sheet", "page", false, &folder).ok().unwrap();
            let mut watch = run.watch();
            let done = watch.wait_for(|stage| !matches!(stage, Stage::Waiting | Stage::Working(_)));
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
