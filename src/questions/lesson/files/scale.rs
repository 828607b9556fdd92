//! The true-size scale for the settings of a lesson, one page for each direction of the current.

use super::on_paper::{LessonOnPaper, Words};
use crate::questions::orbit::picture;
use crate::{Error, Result};
use askama::Template;

/// What the page shows; every text is escaped by the template, the pictures are whole.
#[derive(Template)]
#[template(path = "lesson/files/scale.html")]
struct Scales<'a> {
    w: Words<'a>,
    title: &'a str,
    scales: Vec<String>,
}

/// The page as HTML.
pub(super) fn html(on_paper: &LessonOnPaper) -> Result<String> {
    let page = Scales {
        w: Words(&on_paper.words),
        title: &on_paper.lesson.provenance.spec_title,
        scales: on_paper
            .scales
            .iter()
            .enumerate()
            .map(|(i, scale)| own_names(&picture::scale::svg(scale), i))
            .collect(),
    };
    page.render().map_err(|error| Error::value(format!("cannot write the scale: {error}")))
}

/// The picture with names of its own, so that two of them can stand on one page.
fn own_names(svg: &str, number: usize) -> String {
    ["title", "check-bar"].iter().fold(svg.to_owned(), |svg, name| {
        svg.replace(&format!("id=\"{name}\""), &format!("id=\"{name}-{number}\""))
            .replace(&format!("aria-labelledby=\"{name}\""), &format!("aria-labelledby=\"{name}-{number}\""))
    })
}
