//! The line B = k I that a command uses: from a calibration file, or the one in force from a register.

use super::output;
use super::register::{say_what_is_waited_for, warn_of_torn};
use super::today::today;
use coilwright::files::register::{End, read};
use coilwright::numeric::calendar::Day;
use coilwright::pair::Bench;
use coilwright::physics::beam::FieldLine;
use coilwright::questions::calibrate::{AdoptedLine, check_of_this_pair, read_adopted_line};
use coilwright::questions::register::{
    History, InForce, NotInForce, Reservation, check_same_pair, expected, in_force, of_another_pair,
    of_another_room, reservations, words,
};
use coilwright::{Error, Result};
use std::path::{Path, PathBuf};

/// Flatten it into the arguments of a command that uses a line, and call [`LineArgs::read`].
#[derive(clap::Args)]
pub struct LineArgs {
    /// Take the line B = k I from this calibration instead of the spec
    #[arg(long, value_name = "FILE", conflicts_with = "register", group = "a_line")]
    calibration: Option<PathBuf>,
    #[command(flatten)]
    register: RegisterLineArgs,
}

/// The arguments of a command that takes the line only from a register.
#[derive(clap::Args)]
pub struct RegisterLineArgs {
    /// Take the line in force from this register, on the day of --date (by default today)
    #[arg(long, value_name = "FILE", group = "a_line")]
    register: Option<PathBuf>,
    /// Use the latest line of --register even if it is expired or withdrawn
    #[arg(long, requires = "register")]
    even_if_not_in_force: bool,
    /// Fail unless an entry of --register has this digest, as a certificate prints it: a cut-off end lacks it
    #[arg(long, value_name = "DIGEST", requires = "register")]
    expect: Option<String>,
}

/// A line to use.
pub struct UsedLine {
    /// The line.
    pub line: AdoptedLine,
    /// Its place in the register, if it comes from one.
    pub in_force: Option<InForce>,
}

impl LineArgs {
    /// The chosen line; `None` if none is given, and the spec's is then used. `date` is that of `--date`.
    ///
    /// # Errors
    /// The file or the register cannot be read; the register is damaged, or belongs to another pair; or none of its
    /// lines is in force.
    pub fn read(&self, bench: &Bench, date: Option<Day>) -> Result<Option<UsedLine>> {
        let used = self.read_of_this_pair(bench, date, true)?;
        if let Some(used) = &used {
            warn_of(&of_another_pair(bench, &used.line));
        }
        Ok(used)
    }

    /// The chosen line. A line that is not this pair's is refused unless `or_another` allows it.
    pub fn read_of_this_pair(
        &self,
        bench: &Bench,
        date: Option<Day>,
        or_another: bool,
    ) -> Result<Option<UsedLine>> {
        let used = match &self.calibration {
            Some(path) => {
                let line = read_adopted_line(path)?;
                warn_of(&reservations(&line, None));
                Some(UsedLine { line, in_force: None })
            }
            None => self.register.used(bench, date)?,
        };
        if let Some(used) = used.as_ref().filter(|_| !or_another) {
            check_of_this_pair(bench, &used.line)?;
        }
        if let Some(used) = &used {
            warn_of(&of_another_room(bench, &used.line));
        }
        Ok(used)
    }

    /// The file that is read.
    pub fn input(&self) -> Option<&PathBuf> {
        self.calibration.as_ref().or(self.register.input())
    }
}

impl RegisterLineArgs {
    /// As [`LineArgs::read`].
    pub fn read(&self, bench: &Bench, date: Option<Day>) -> Result<Option<UsedLine>> {
        let used = self.used(bench, date)?;
        if let Some(used) = &used {
            warn_of(&of_another_pair(bench, &used.line));
        }
        Ok(used)
    }

    fn used(&self, bench: &Bench, date: Option<Day>) -> Result<Option<UsedLine>> {
        let Some(path) = &self.register else { return Ok(None) };
        let found = self.in_force(path, bench, date)?;
        warn_of(&reservations(&found.line, Some(&found)));
        Ok(Some(UsedLine { line: found.line.clone(), in_force: Some(found) }))
    }

    /// The file that is read.
    pub fn input(&self) -> Option<&PathBuf> {
        self.register.as_ref()
    }

    fn in_force(&self, path: &Path, bench: &Bench, date: Option<Day>) -> Result<InForce> {
        say_what_is_waited_for(path);
        let chain = read(path)?;
        warn_of_torn(path, chain.end);
        let damaged_line = match chain.end {
            End::Damaged { line, .. } => Some(line),
            _ => None,
        };
        if let Some(line) = damaged_line.filter(|_| !self.even_if_not_in_force) {
            return Err(Error::Unusable {
                path: path.to_owned(),
                reason: NotInForce::damaged(line).sentence(),
                hint: Some(
                    "`register FILE` shows what is sound; --even-if-not-in-force uses the latest sound calibration all the same"
                        .into(),
                ),
            });
        }
        if let Some(digest) = &self.expect {
            words::check_expected(&expected(&chain, digest)?)?;
        }
        let history = History::of(&chain)?;
        check_same_pair(&history, &bench.title, bench.paperwork.serial.as_deref())?;
        let on = match date {
            Some(day) => day,
            None => today_without_change(&history)?,
        };
        let found = in_force(&history, on, self.even_if_not_in_force)?;
        Ok(found.used_by(bench).of_damaged(damaged_line))
    }
}

impl UsedLine {
    /// The line for computing beams, with its origin.
    pub fn field_line(&self) -> FieldLine {
        let line = FieldLine::from(&self.line);
        match &self.in_force {
            Some(found) => FieldLine { register_entry: Some(words::origin(found)), ..line },
            None => line,
        }
    }
}

/// Tells what speaks against a line.
fn warn_of<'a>(reservations: impl IntoIterator<Item = &'a Reservation>) {
    for reservation in reservations {
        let told = words::warning(reservation);
        output::warn(&told.warning, told.hint);
    }
}

/// Today, if nothing in the register is still to come: else the clock would decide which line is used.
fn today_without_change(history: &History) -> Result<Day> {
    let today = today()?;
    match history.first_after(today) {
        None => Ok(today),
        Some((number, day)) => Err(Error::value_with_hint(
            format!(
                "entry {number} of the register is of {day}, still to come: what is used would change on that day"
            ),
            "say for which day: --date 2026-03-01",
        )),
    }
}
