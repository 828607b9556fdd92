//! Problems of a file drawn under the lines they stand in.

use super::diagnosis::{Diagnosis, Problem, Severity};
use crate::units::inert;
use annotate_snippets::{AnnotationKind, Level, Origin, Renderer, Snippet};
use std::borrow::Cow;
use std::ops::Range;

/// At most this many problems are drawn; the others are counted.
const MOST_DRAWN: usize = 40;
/// At most this many bytes of a line are drawn to each side of a problem.
const MARGIN: usize = 400;
/// A second place farther away than this many bytes is not drawn.
const FARTHEST_OTHER: usize = 4000;

impl Diagnosis {
    /// The problems drawn one under the other, each with its lines; with escape sequences for colour if asked.
    pub fn draw(&self, colour: bool) -> String {
        let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
        let mut drawn: Vec<String> =
            self.problems.iter().take(MOST_DRAWN).map(|problem| self.drawn(problem, &renderer)).collect();
        if let Some(more) = self.problems.len().checked_sub(MOST_DRAWN).filter(|more| *more > 0) {
            drawn.push(format!("and {more} more"));
        }
        drawn.join("\n\n")
    }

    fn drawn(&self, problem: &Problem, renderer: &Renderer) -> String {
        let level = match problem.severity {
            Severity::Error => Level::ERROR,
            Severity::Warning => Level::WARNING,
        };
        let window = self.window(problem);
        let inside = |span: &Range<usize>| {
            let start = span.start.clamp(window.start, window.end);
            start - window.start..span.end.clamp(start, window.end) - window.start
        };
        let mut marked = AnnotationKind::Primary.span(inside(&problem.span));
        if let Some(label) = &problem.label {
            marked = marked.label(inert::line(label));
        }
        let (first_line, _) = self.line_and_column(window.start);
        let mut snippet =
            Snippet::source(shown(&self.text[window.clone()])).line_start(first_line).annotation(marked);
        if let Some((span, label)) = problem.other.as_ref().filter(|(span, _)| window.contains(&span.start)) {
            snippet =
                snippet.annotation(AnnotationKind::Context.span(inside(span)).label(inert::line(label)));
        }
        let path = crate::error::shown(self.path());
        let title = level.primary_title(inert::line(&problem.message));
        let whole_lines = window.start == 0 || self.text.as_bytes()[window.start - 1] == b'\n';
        let mut group = if whole_lines {
            title.element(snippet.path(path))
        } else {
            // The drawn part does not begin at its line's first column, so the place is given apart.
            let (line, column) = self.line_and_column(problem.span.start);
            title.element(Origin::path(path).line(line).char_column(column)).element(snippet)
        };
        if let Some(hint) = &problem.hint {
            group = group.element(Level::HELP.with_name("hint").message(inert::line(hint)));
        }
        renderer.render(&[group])
    }

    /// The lines that a problem stands on; only a part of them where they are very long, for a file may be one
    /// line of a megabyte.
    fn window(&self, problem: &Problem) -> Range<usize> {
        let mut span = problem.span.clone();
        if let Some((other, _)) = &problem.other {
            let both = span.start.min(other.start)..span.end.max(other.end);
            if both.len() <= FARTHEST_OTHER {
                span = both;
            }
        }
        let start = self.text[..span.start].rfind('\n').map_or(0, |newline| newline + 1);
        let end = self.text[span.end..].find('\n').map_or(self.text.len(), |newline| span.end + newline);
        let start = start.max(span.start.saturating_sub(MARGIN));
        let end = end.min(span.end + MARGIN).min(span.start + FARTHEST_OTHER + MARGIN);
        self.boundary(start)..self.boundary(end)
    }

    /// The last character boundary at or before a byte.
    fn boundary(&self, mut at: usize) -> usize {
        while !self.text.is_char_boundary(at) {
            at -= 1;
        }
        at
    }

    /// Line and column of a byte, both from 1, the column in characters.
    fn line_and_column(&self, at: usize) -> (usize, usize) {
        let before = &self.text[..at.min(self.text.len())];
        let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
        (1 + before.matches('\n').count(), 1 + before[line_start..].chars().count())
    }
}

/// A part of the file as it is drawn: what must not be shown is replaced, byte for byte, so that every place stays.
fn shown(text: &str) -> Cow<'_, str> {
    let stays = |c: char| matches!(c, '\n' | '\t') || inert::is_inert(c);
    if text.chars().all(stays) {
        return Cow::Borrowed(text);
    }
    let replaced = text.chars().flat_map(|c| match (stays(c), c.len_utf8()) {
        (true, _) => [Some(c), None],
        (false, 1) => [Some('?'), None],
        (false, 2) => [Some('¿'), None],
        (false, 3) => [Some('\u{fffd}'), None],
        (false, _) => [Some('\u{fffd}'), Some('?')],
    });
    Cow::Owned(replaced.flatten().collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_drawn_of_a_hostile_file_keeps_every_place() {
        let hostile = "a\u{1b}b\u{9b}c\u{202e}d\u{e0041}e\n";
        let drawn = shown(hostile);
        assert_eq!(drawn, "a?b¿c\u{fffd}d\u{fffd}?e\n");
        assert_eq!(drawn.len(), hostile.len());
    }
}
