//! What every page offers: its files in one archive, printing, the equivalent command, and the command that opens the
//! page again.

use crate::desk::address::encoded;
use crate::desk::forms::typed;
use crate::desk::state::State;
use askama::Template;

/// What a page offers.
#[derive(Template)]
#[template(path = "tools.html")]
pub struct Tools {
    heading: &'static str,
    /// Address of the archive with the page's files.
    archive: Option<String>,
    /// The equivalent command, as a user would type it.
    command: Option<String>,
    /// Address of the page, without its leading slash.
    path: String,
    /// The command that opens the desk on this page.
    again: String,
}

impl Tools {
    /// The tools of the page at this address, given without its leading slash.
    pub fn of(state: &State, path: &str) -> Self {
        let folder = state.folder.path().display().to_string();
        let mut words = vec!["desk".to_owned(), folder];
        if !path.is_empty() {
            words.extend(["--open".to_owned(), path.to_owned()]);
        }
        Self { heading: "This page", archive: None, command: None, path: path.into(), again: typed(&words) }
    }

    /// Offers the files of the folder that the page is about, or all of them if none is named.
    pub fn about(mut self, state: &State, names: &[String]) -> Self {
        let names: std::collections::BTreeSet<&String> = names.iter().collect();
        let pairs: Vec<String> = names.iter().map(|name| format!("file={}", encoded(name))).collect();
        let query = if pairs.is_empty() { String::new() } else { format!("?{}", pairs.join("&")) };
        self.archive = Some(state.session.keyed(&format!("/files.zip{query}")));
        self
    }

    /// Offers the files of a run.
    pub fn of_run(mut self, id: &str) -> Self {
        self.heading = "This answer";
        self.archive = Some(format!("/made/{id}.zip"));
        self
    }

    /// Offers the equivalent command, given as its words.
    pub fn by(mut self, words: &[String]) -> Self {
        self.command = Some(typed(words));
        self
    }

    /// The tools as markup.
    pub fn markup(&self) -> String {
        self.render().unwrap_or_default()
    }
}
