//! Progress in lines: how a run tells the desk how far it is.

/// The variable that makes the program tell its progress so.
pub const VARIABLE: &str = "COILWRIGHT_PROGRESS_LINES";
/// How such a line begins.
const MARK: &str = "progress\t";

/// Steps done and to be done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Progress {
    /// Steps done.
    pub done: u64,
    /// Steps in all.
    pub of: u64,
    /// What is done, such as "mapping points".
    pub doing: String,
}

impl Progress {
    /// The line that tells it.
    pub fn line(&self) -> String {
        format!("{MARK}{}\t{}\t{}", self.done, self.of, self.doing)
    }

    /// What a line tells; `None` if it tells something else.
    pub fn said(line: &str) -> Option<Self> {
        let mut parts = line.strip_prefix(MARK)?.splitn(3, '\t');
        let done = parts.next()?.parse().ok()?;
        let of = parts.next()?.parse().ok()?;
        Some(Self { done, of, doing: parts.next()?.to_owned() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_told_is_heard() {
        let progress = Progress { done: 3, of: 12, doing: "mapping points".into() };
        assert_eq!(Progress::said(&progress.line()), Some(progress));
        for other in ["", "warning: hot", "progress", "progress\t1\t2", "progress\tx\t2\tmapping"] {
            assert_eq!(Progress::said(other), None, "{other}");
        }
    }
}
