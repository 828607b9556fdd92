//! Whether a document is right, and what is wrong with it.

use askama::Template;
use coilwright::Error;
use coilwright::error::ProblemRecord;
use coilwright::files::spec;

/// What is wrong with a text.
#[derive(Template)]
#[template(path = "checked.html")]
struct Checked {
    verdict: String,
    problems: Vec<ProblemRecord>,
}

/// Whether a text is right, and what is wrong with it.
pub fn looked_at(name: &str, text: &str) -> (String, Vec<ProblemRecord>) {
    match spec::check_document_text(name, text) {
        Ok(spec::CheckedDocument::Spec(found)) => {
            let problems = found.warnings.records();
            let verdict = if problems.is_empty() { "Right." } else { "Right, with doubts:" };
            (verdict.to_owned(), problems)
        }
        Ok(_) => ("Right.".to_owned(), Vec::new()),
        Err(Error::Diagnosed { diagnosis, .. }) => {
            let verdict = match spec::quote_from_text(name, text) {
                Ok(_) => "Not finished: “Compare” takes it as it is, and asks for what is missing.",
                Err(_) => "Wrong:",
            };
            (verdict.to_owned(), diagnosis.records())
        }
        Err(error) => (format!("Wrong: {error}"), Vec::new()),
    }
}

/// The same as markup.
pub fn markup(verdict: String, problems: Vec<ProblemRecord>) -> String {
    Checked { verdict, problems }.render().unwrap_or_default()
}
