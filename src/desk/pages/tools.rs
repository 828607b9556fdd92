//! What every page offers: its files in one archive, a print, the command that does the same, and the way back to it.

use crate::desk::address::encoded;
use crate::desk::forms::typed;
use crate::desk::state::State;
use askama::Template;

/// What a page offers.
#[derive(Template)]
#[template(path = "tools.html")]
pub struct Tools {
    heading: &'static str,
    /// Where its files come from in one archive.
    archive: Option<String>,
    /// The command that does the same, as one would type it.
    command: Option<String>,
    /// The address of the page, without the leading slash.
    path: String,
    /// The command that opens the desk on the page.
    again: String,
}

impl Tools {
    /// Those of the page at this address, without its leading slash.
    pub fn of(state: &State, path: &str) -> Self {
        let folder = state.folder.path().display().to_string();
        let mut words = vec!["desk".to_owned(), folder];
        if !path.is_empty() {
            words.extend(["--open".to_owned(), path.to_owned()]);
        }
        Self { heading: "This page", archive: None, command: None, path: path.into(), again: typed(&words) }
    }

    /// Files of the folder that the page is about; all of them where none is named.
    pub fn about(mut self, names: &[String]) -> Self {
        let pairs: Vec<String> = names.iter().map(|name| format!("file={}", encoded(name))).collect();
        let query = if pairs.is_empty() { String::new() } else { format!("?{}", pairs.join("&")) };
        self.archive = Some(format!("/files.zip{query}"));
        self
    }

    /// The files of a run.
    pub fn of_run(mut self, id: &str) -> Self {
        self.heading = "This answer";
        self.archive = Some(format!("/made/{id}.zip"));
        self
    }

    /// The words of the command that does the same.
    pub fn by(mut self, words: &[String]) -> Self {
        self.command = Some(typed(words));
        self
    }

    /// As markup.
    pub fn markup(&self) -> String {
        self.render().unwrap_or_default()
    }
}
