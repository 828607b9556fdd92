//! The process of a run, from waiting for its turn to its end.

use super::lending::{Borrowed, Lending};
use super::run::{Answer, NotBegun, Run, Stage};
use crate::desk::progress_lines::Progress;
use coilwright::error::said_by_system;
use std::sync::Arc;
use std::time::Duration;
use tokio::io::{AsyncBufReadExt, AsyncRead, AsyncReadExt, BufReader};
use tokio::process::{Child, Command};
use tokio::sync::{Semaphore, SemaphorePermit};

/// Longest time that a run may take.
const LONGEST: Duration = Duration::from_secs(20 * 60);
/// Longest output of a run, in bytes.
const LONGEST_TEXT: u64 = 4 << 20;
/// Time after which a locked register is tried again.
const FREE_AGAIN: Duration = Duration::from_millis(20);

/// Waits for a turn, runs the process, and collects its output.
pub(super) async fn work(
    mut command: Command,
    run: &Run,
    turns: &Semaphore,
    lending: Option<Lending>,
) -> Stage {
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
    let all = async { tokio::join!(text_of(out), told_by(told, run), ended(&mut child)) };
    let Ok((text, told, status)) = tokio::time::timeout(LONGEST, all).await else {
        return Stage::Failed("The run took too long and was stopped.".into());
    };
    if status.is_none() {
        return Stage::Failed("The system ended the run before it was done; it may need more memory.".into());
    }
    let returned = tokio::task::block_in_place(|| register.map_or(Ok(()), Borrowed::give_back));
    if let Err(reason) = returned {
        return Stage::Failed(reason);
    }
    Stage::Answered(Arc::new(Answer { status, text, told, files: run.made() }))
}

/// Waits for a turn and, if a register is needed, until it is free. A run that waits for a register holds no turn.
async fn begun<'a>(
    run: &Run,
    turns: &'a Semaphore,
    lending: Option<Lending>,
) -> std::result::Result<(SemaphorePermit<'a>, Option<Borrowed>), Stage> {
    loop {
        let turn = turns.acquire().await.map_err(|_| Stage::Stopped)?;
        let Some(lending) = &lending else { return Ok((turn, None)) };
        match tokio::task::block_in_place(|| lending.lend(&run.folder)) {
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

/// The text on standard error, without the progress lines, which update the run's stage.
async fn told_by(told: Option<impl AsyncRead + Unpin>, run: &Run) -> String {
    let Some(told) = told else { return String::new() };
    let mut told = told;
    let mut lines = BufReader::new((&mut told).take(LONGEST_TEXT)).lines();
    let mut text = String::new();
    while let Ok(Some(line)) = lines.next_line().await {
        match Progress::said(&line) {
            Some(progress) => drop(run.stage.send_replace(Stage::Working(Some(progress)))),
            None => text += &(line + "\n"),
        }
    }
    drop(lines);
    // The rest is read and dropped, so that the process can end.
    drop(tokio::io::copy(&mut told, &mut tokio::io::sink()).await);
    text
}
