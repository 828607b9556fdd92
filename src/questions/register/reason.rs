//! Why a calibration has its state, with what the entries behind it say.

use super::history::{Entered, History, Standing, StandingReason};
use super::statement::{CalibrationEntry, EventKind};
use crate::numeric::calendar::Day;
use serde::{Serialize, Serializer};

/// Why a calibration is not in force. It is serialised as its sentence.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Reason {
    /// The calibration of this entry is later.
    Later(u64),
    /// Its certificate is replaced.
    Reissued {
        /// Number of the entry that replaces it.
        entry: u64,
        /// Its own certificate.
        certificate: Option<String>,
        /// The certificate that replaces it.
        by: Option<String>,
    },
    /// It was withdrawn.
    Withdrawn {
        /// Why.
        reason: String,
        /// By whom.
        by: String,
    },
    /// The next one was due on this day.
    Due(Day),
    /// The coils were changed.
    Changed {
        /// Number of the event's entry.
        entry: u64,
        /// What was done.
        event: EventKind,
        /// More about it.
        note: Option<String>,
    },
    /// The pair was adjusted before the calibration of this entry, which itself does not count.
    Adjusted(u64),
}

impl Reason {
    /// `None` if nothing speaks against it, or its day has not come.
    pub(super) fn of(history: &History, cause: &StandingReason) -> Option<Self> {
        match *cause {
            StandingReason::Latest | StandingReason::Day => None,
            StandingReason::Later(number) => Some(Self::Later(number)),
            StandingReason::Reissued { replaced, by } => {
                let certificate = |number| history.calibration(number)?.said.certificate.clone();
                Some(Self::Reissued { entry: by, certificate: certificate(replaced), by: certificate(by) })
            }
            StandingReason::Due(day) => Some(Self::Due(day)),
            StandingReason::Adjusted(number) => Some(Self::Adjusted(number)),
            StandingReason::Withdrawn(number) => {
                let withdrawal = history.withdrawals.iter().find(|entered| entered.number == number)?;
                let said = &withdrawal.said;
                Some(Self::Withdrawn { reason: said.reason.clone(), by: said.by.clone() })
            }
            StandingReason::Changed(number) => {
                let said = &history.events.iter().find(|entered| entered.number == number)?.said;
                Some(Self::Changed { entry: number, event: said.event, note: said.note.clone() })
            }
        }
    }

    /// In words.
    pub fn sentence(&self) -> String {
        match self {
            Self::Later(number) => format!("entry {number} is later"),
            Self::Reissued { entry, certificate, by } => {
                let own = certificate.as_ref().map_or(String::new(), |own| format!(" {own}"));
                let by = by.as_ref().map_or("that".to_owned(), |by| format!("{by}, that"));
                format!("its certificate{own} is no longer valid: {by} of entry {entry} takes its place")
            }
            Self::Withdrawn { reason, by } => format!("{reason} ({by})"),
            Self::Due(day) => format!("the next calibration was due on {day}"),
            Self::Changed { entry, event, note } => {
                let what = event.sentence();
                match note {
                    Some(note) => format!("{what} (entry {entry}: {note})"),
                    None => format!("{what} (entry {entry})"),
                }
            }
            Self::Adjusted(number) => {
                format!(
                    "the pair was adjusted before the calibration of entry {number}, which does not count"
                )
            }
        }
    }
}

/// What ended a calibration after the day for which states are given.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "how", rename_all = "snake_case")]
#[non_exhaustive]
pub enum EndedLater {
    /// It was withdrawn.
    Withdrawn {
        /// Number of the withdrawal's entry.
        entry: u64,
        /// Its day.
        #[serde(skip_serializing_if = "Option::is_none")]
        date: Option<Day>,
        /// Why.
        reason: String,
    },
    /// Its certificate was replaced.
    Reissued {
        /// Number of the entry that replaces it.
        entry: u64,
        /// The day of issue.
        date: Day,
        /// The certificate that replaces it.
        #[serde(skip_serializing_if = "Option::is_none")]
        certificate: Option<String>,
    },
}

impl EndedLater {
    /// `None` if nothing ended it since, or what did was known already.
    pub(super) fn of(
        history: &History,
        known: &History,
        entered: &Entered<CalibrationEntry>,
    ) -> Option<Self> {
        if known.withdrawal_of(entered.number).is_some() || known.replacement_of(entered).is_some() {
            return None;
        }
        if let Some(withdrawal) = history.withdrawal_of(entered.number) {
            let (date, reason) = (withdrawal.said.date, withdrawal.said.reason.clone());
            return Some(Self::Withdrawn { entry: withdrawal.number, date, reason });
        }
        let by = history.calibration(history.replacement_of(entered)?)?;
        let (date, certificate) = (by.said.date, by.said.certificate.clone());
        Some(Self::Reissued { entry: by.number, date, certificate })
    }

    /// In words.
    pub fn sentence(&self) -> String {
        match self {
            Self::Withdrawn { entry, date, reason } => {
                let day = date.map_or(String::new(), |date| format!(", on {date}"));
                format!("withdrawn later{day} (entry {entry}: {reason})")
            }
            Self::Reissued { entry, date, certificate } => {
                let by = certificate.as_ref().map_or("that".to_owned(), |by| format!("{by}, that"));
                format!("its certificate is replaced later, on {date}, by {by} of entry {entry}")
            }
        }
    }
}

impl Serialize for Reason {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.sentence())
    }
}

/// A calibration that is not in force, and why.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Against {
    /// Number of its entry.
    pub entry: u64,
    /// Why.
    pub reason: Option<Reason>,
}

impl Against {
    pub(super) fn of(history: &History, entered: &Entered<CalibrationEntry>, standing: &Standing) -> Self {
        Self { entry: entered.number, reason: Reason::of(history, &standing.cause) }
    }

    fn sentence(&self) -> String {
        let entry = self.entry;
        match &self.reason {
            Some(Reason::Due(day)) => format!("entry {entry} expired on {day}"),
            Some(why @ Reason::Withdrawn { .. }) => format!("entry {entry} is withdrawn: {}", why.sentence()),
            Some(why) => format!("entry {entry} no longer holds: {}", why.sentence()),
            None => format!("entry {entry} no longer holds"),
        }
    }
}

/// Why no line of a register is in force. It is serialised as its sentence.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct NotInForce {
    /// The line of the file from which on it is damaged, so that later entries are not known.
    pub damaged_line: Option<u64>,
    /// The latest calibration, and where that is withdrawn the last that counts before it.
    pub against: Vec<Against>,
}

impl NotInForce {
    /// The register is damaged from this line on.
    pub fn damaged(line: u64) -> Self {
        Self { damaged_line: Some(line), against: Vec::new() }
    }

    /// In words.
    pub fn sentence(&self) -> String {
        let damage = self.damaged_line.map(|line| {
            format!("the register is damaged at line {line}, and what came after it is not known")
        });
        let against: Vec<String> = self.against.iter().map(Against::sentence).collect();
        let against = Some(against.join("; before it, ")).filter(|against| !against.is_empty());
        damage.into_iter().chain(against).collect::<Vec<_>>().join("; ")
    }
}

impl Serialize for NotInForce {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.sentence())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn damage_comes_first_and_a_withdrawn_one_before_the_one_that_it_left() {
        let withdrawn = Reason::Withdrawn { reason: "wrong probe".into(), by: "A".into() };
        let mut why = NotInForce {
            damaged_line: None,
            against: vec![
                Against { entry: 4, reason: Some(withdrawn) },
                Against { entry: 3, reason: Some(Reason::Due(Day::parse("2025-03-01").unwrap())) },
            ],
        };
        let told = "entry 4 is withdrawn: wrong probe (A); before it, entry 3 expired on 2025-03-01";
        assert_eq!(why.sentence(), told);
        why.damaged_line = Some(7);
        let damaged = "the register is damaged at line 7, and what came after it is not known";
        assert_eq!(why.sentence(), format!("{damaged}; {told}"));
        assert_eq!(NotInForce::damaged(7).sentence(), damaged);
        assert_eq!(serde_json::to_string(&NotInForce::damaged(7)).unwrap(), format!("\"{damaged}\""));
    }
}
