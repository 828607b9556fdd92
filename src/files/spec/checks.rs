//! The problems found so far in a file, and the values refused.

use super::limits::{LONGEST_TITLE, Limits};
use super::place::place;
use crate::error::diagnosis::Problem;
use crate::units::brief;
use jsonc_parser::ast::Value;

/// The problems found so far, and the values refused.
pub(super) struct Checks<'t> {
    tree: &'t Value<'t>,
    pub problems: Vec<Problem>,
    refused: Vec<String>,
}

impl<'t> Checks<'t> {
    pub(super) fn new(tree: &'t Value<'t>) -> Self {
        Self { tree, problems: Vec::new(), refused: Vec::new() }
    }

    /// Whether none of these values, nor any part of them, is refused.
    pub(super) fn sound(&self, paths: &[&str]) -> bool {
        let within = |refused: &str, path: &str| {
            refused.strip_prefix(path).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
        };
        !self.refused.iter().any(|refused| paths.iter().any(|path| within(refused, path)))
    }

    /// Adds an error at a value, which then counts as refused.
    pub(super) fn refuse(&mut self, path: &str, message: impl Into<String>, hint: impl Into<String>) {
        self.refused.push(path.into());
        self.problems.push(Problem::error(place(self.tree, path), message).hint(hint));
    }

    /// Adds an error at a value that is possible in itself but contradicts others. Checks that need the value continue.
    pub(super) fn disagree(&mut self, path: &str, message: impl Into<String>, hint: impl Into<String>) {
        self.problems.push(Problem::error(place(self.tree, path), message).hint(hint));
    }

    /// Adds a warning at a value.
    pub(super) fn warn(&mut self, path: &str, message: impl Into<String>, hint: impl Into<String>) {
        self.problems.push(Problem::warning(place(self.tree, path), message).hint(hint));
    }

    /// Refuses a value outside its limits.
    pub(super) fn within(&mut self, path: &str, si: f64, limits: Limits) {
        if !limits.allow(si) {
            let message = format!("`{path}` is {}", brief(si, limits.dimension));
            self.refuse(path, message, format!("allowed: {}", limits.text()));
        }
    }

    /// As [`Self::within`] for a value that may be left out.
    pub(crate) fn within_if(&mut self, path: &str, si: Option<f64>, limits: Limits) {
        if let Some(si) = si {
            self.within(path, si, limits);
        }
    }

    pub(crate) fn each_within(&mut self, path: &str, values: &[f64], limits: Limits) {
        for (at, value) in values.iter().enumerate() {
            self.within(&format!("{path}[{at}]"), *value, limits);
        }
    }

    /// Refuses a range with an end outside the limits or with its ends exchanged.
    pub(super) fn range(&mut self, path: &str, range: Option<[f64; 2]>, limits: Limits) {
        let Some([low, high]) = range else { return };
        self.each_within(path, &[low, high], limits);
        if self.sound(&[path]) && low > high {
            let [low, high] = [low, high].map(|value| brief(value, limits.dimension));
            let message = format!("`{path}` goes from {low} down to {high}");
            self.refuse(path, message, "write the smaller value first");
        }
    }

    /// Refuses a text that is blank or too long for a certificate.
    pub(super) fn short_text(&mut self, path: &str, text: Option<&str>) {
        let Some(text) = text else { return };
        if text.trim().is_empty() {
            self.refuse(path, format!("`{path}` is blank"), "write it in words, or leave it out");
        } else if text.chars().count() > 200 {
            self.refuse(path, format!("`{path}` is longer than 200 characters"), "shorten it");
        } else if text.chars().any(char::is_control) {
            self.refuse(
                path,
                format!("`{path}` holds a control character"),
                "write it on one line, without tabs",
            );
        }
    }

    pub(super) fn title(&mut self, title: &str) {
        if title.trim().is_empty() {
            self.refuse("title", "`title` is blank", "write what people call this pair");
        } else if title.chars().count() > LONGEST_TITLE {
            self.refuse("title", format!("`title` is longer than {LONGEST_TITLE} characters"), "shorten it");
        } else if title.chars().any(char::is_control) {
            self.refuse("title", "`title` holds a control character", "write it on one line, without tabs");
        }
    }
}
