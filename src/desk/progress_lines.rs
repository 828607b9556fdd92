//! Progress as lines of text, by which a run tells the desk how far it is.

/// Environment variable that makes the program report its progress in such lines.
pub const VARIABLE: &str = "COILWRIGHT_PROGRESS_LINES";
/// Start of a progress line.
const MARK: &str = "progress\t";

/// Progress of a run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Progress {
    /// Steps done.
    pub done: u64,
    /// Total number of steps.
    pub of: u64,
    /// What is being done, such as "mapping points".
    pub doing: String,
}

impl Progress {
    /// The line that reports this progress.
    pub fn line(&self) -> String {
        format!("{MARK}{}\t{}\t{}", self.done, self.of, self.doing)
    }

    /// The progress that a line reports. `None` if it is another kind of line.
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
