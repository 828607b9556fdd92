//! Parses text into a syntax tree with positions. Strict JSON, without any leniency.

use crate::error::diagnosis::Problem;
use jsonc_parser::ast::{ObjectProp, Value};
use jsonc_parser::common::{Range as Place, Ranged};
use jsonc_parser::errors::{ParseError, ParseErrorKind};
use jsonc_parser::{CollectOptions, ParseOptions, ParseStringErrorKind};
use serde::de::IgnoredAny;
use std::ops::Range;

/// Deepest nesting of objects and arrays; the format needs five.
const DEEPEST: usize = 32;

const STRICT: ParseOptions = ParseOptions {
    allow_comments: false,
    allow_loose_object_property_names: false,
    allow_trailing_commas: false,
    allow_missing_commas: false,
    allow_single_quoted_strings: false,
    allow_hexadecimal_numbers: false,
    allow_unary_plus_numbers: false,
    allow_bare_decimal_point_numbers: false,
    allow_non_finite_numbers: false,
    allow_extended_string_escapes: false,
};

/// The tree of a text, or the first thing in it that is not JSON.
pub(super) fn tree(text: &str) -> Result<Value<'_>, Box<Problem>> {
    bounded(text)?;
    begins_as_json(text)?;
    let parsed = jsonc_parser::parse_to_ast(text, &CollectOptions::default(), &STRICT)
        .map_err(|error| described(&error, text))?;
    // A second parser must agree that this is JSON; it also refuses things that the first one accepts.
    serde_json::from_str::<IgnoredAny>(text).map_err(|error| {
        let end = offset_of(text, error.line(), error.column());
        Problem::error(end..end, "this is not JSON")
            .hint("check the quotes, commas and escapes before this place")
    })?;
    parsed.value.ok_or_else(|| Box::new(Problem::error(0..0, "the file holds no JSON value")))
}

/// The range of a node.
pub(super) fn span(node: &impl Ranged) -> Range<usize> {
    let Place { start, end } = node.range();
    start..end
}

/// The range of a property's key.
pub(super) fn key_span(property: &ObjectProp) -> Range<usize> {
    span(&property.name)
}

/// Refuses a text that begins with a word: a table, a note, or something else.
fn begins_as_json(text: &str) -> Result<(), Box<Problem>> {
    let start = text.len() - text.trim_start().len();
    if text[start..].starts_with(|c: char| c.is_alphabetic() || c == '#') {
        let line_end = text[start..].find('\n').map_or(text.len(), |newline| start + newline);
        return Err(Problem::error(start..line_end, "the file does not begin with `{`")
            .hint("this is not JSON; a table of readings or runs goes after the option of its name")
            .into());
    }
    Ok(())
}

/// Refuses too deep nesting and raw control characters inside texts, before any recursion.
fn bounded(text: &str) -> Result<(), Box<Problem>> {
    let (mut depth, mut inside_text, mut escaped) = (0_usize, false, false);
    for (at, byte) in text.bytes().enumerate() {
        if inside_text {
            match byte {
                _ if escaped => escaped = false,
                b'\\' => escaped = true,
                b'"' => inside_text = false,
                b'\n' => {
                    return Err(Problem::error(at..at, "the text does not end on its line")
                        .hint("close it with a quotation mark")
                        .into());
                }
                0..0x20 => {
                    return Err(Problem::error(at..at + 1, "a control character stands inside a text")
                        .hint("write it as an escape, such as `\\t`, or leave it out")
                        .into());
                }
                _ => {}
            }
            continue;
        }
        match byte {
            b'"' => inside_text = true,
            b'{' | b'[' => depth += 1,
            b'}' | b']' => depth = depth.saturating_sub(1),
            _ => {}
        }
        if depth > DEEPEST {
            return Err(Problem::error(at..at + 1, format!("more than {DEEPEST} levels of brackets"))
                .hint("no spec needs more than five")
                .into());
        }
    }
    Ok(())
}

/// A syntax error in our words, with a hint.
fn described(error: &ParseError, text: &str) -> Problem {
    use ParseErrorKind as Kind;
    if let Some(problem) = broken_number(text, error) {
        return problem;
    }
    let (message, hint) = match error.kind() {
        Kind::CommentsNotAllowed | Kind::UnterminatedCommentBlock => {
            ("JSON has no comments", "delete it, or say it in `title`")
        }
        Kind::TrailingCommasNotAllowed => ("a comma before the closing bracket", "delete the comma"),
        Kind::ExpectedComma => ("a comma is missing here", "put a comma between two entries"),
        Kind::ExpectedColonAfterObjectKey => ("a colon is missing after the key", "write `\"key\": value`"),
        Kind::ExpectedObjectValue => ("the key has no value", "write `\"key\": value`"),
        Kind::ExpectedStringObjectProperty => ("a key must stand in double quotes", "write `\"key\": value`"),
        Kind::SingleQuotedStringsNotAllowed => ("text in single quotes", "use double quotes"),
        Kind::UnterminatedObject => ("this `{` is never closed", "close it with `}`"),
        Kind::UnterminatedArray => ("this `[` is never closed", "close it with `]`"),
        Kind::String(ParseStringErrorKind::UnterminatedStringLiteral) => {
            ("the text never ends", "close it with a quotation mark")
        }
        Kind::String(_) => ("an escape that JSON does not know", "write a backslash itself as `\\\\`"),
        Kind::NonFiniteNumbersNotAllowed => ("not a finite number", "write a finite decimal number"),
        Kind::HexadecimalNumbersNotAllowed
        | Kind::UnaryPlusNumbersNotAllowed
        | Kind::BareDecimalPointNumbersNotAllowed
        | Kind::ExpectedDigit
        | Kind::ExpectedDigitFollowingNegativeSign
        | Kind::ExpectedPlusMinusOrDigitInNumberLiteral => {
            ("not a number as JSON writes it", "write it like 0.5 or -3 or 5e-6, and quantities as text")
        }
        Kind::MultipleRootJsonValues => ("something stands after the end", "a spec is one `{ ... }`"),
        Kind::UnexpectedCloseBrace | Kind::UnexpectedCloseBracket if follows_a_colon(text, error) => {
            ("the key has no value", "write `\"key\": value`")
        }
        Kind::UnexpectedCloseBrace | Kind::UnexpectedCloseBracket => {
            ("a bracket that matches none before it", "end every `{` with `}` and every `[` with `]`")
        }
        Kind::UnexpectedComma | Kind::UnexpectedColon => ("a mark too many", "delete it"),
        Kind::UnexpectedWord | Kind::UnexpectedToken if starts_a_word(text, error) => {
            ("a bare word", "put text in double quotes; numbers must be finite")
        }
        _ => ("this is not JSON", "check the quotes, commas and brackets before this place"),
    };
    let Place { start, end } = error.range();
    let start = start.min(text.len());
    let line_end = text[start..].find('\n').map_or(text.len(), |newline| start + newline);
    let end = match error.kind() {
        // Only the bracket, because what it encloses may be the whole file.
        Kind::UnterminatedObject | Kind::UnterminatedArray => start + 1,
        _ => end,
    };
    Problem::error(start..end.clamp(start, line_end), message).hint(hint)
}

/// The problem with a number at which the parser stopped, if it was one.
fn broken_number(text: &str, error: &ParseError) -> Option<Problem> {
    let mut at = error.range().start.min(text.len());
    if matches!(error.kind(), ParseErrorKind::ExpectedComma) {
        // The text in place of the comma, not the blank before it.
        at += text.as_bytes()[at..].iter().take_while(|byte| **byte == b' ').count();
    }
    let within = |byte: &u8| byte.is_ascii_alphanumeric() || b"+-._".contains(byte);
    let before = &text.as_bytes()[..at];
    let start = at - before.iter().rev().take_while(|byte| within(byte)).count();
    let end = at + text.as_bytes()[at..].iter().take_while(|byte| within(byte)).count();
    let token = &text[start..end];
    let digits = token.trim_start_matches(['-', '+', '.']);
    if !digits.starts_with(|c: char| c.is_ascii_digit()) {
        return None;
    }
    let after_a_digit = |mark: u8| {
        let [.., digit, last] = text.as_bytes()[..start] else { return false };
        last == mark && digit.is_ascii_digit()
    };
    let is_json = serde_json::from_str::<serde_json::Number>(token).is_ok();
    let problem =
        |start: usize, message: &str, hint: &str| Some(Problem::error(start..end, message).hint(hint));
    let with_leading_zero = digits.len() > 1 && digits.bytes().all(|byte| byte.is_ascii_digit());
    if after_a_digit(b' ') {
        problem(
            start,
            "two numbers with a space between",
            "write thousands without a mark, or a comma between two entries",
        )
    } else if after_a_digit(b',') && is_json {
        problem(
            start,
            "a number where a key belongs",
            "write decimals after a point, as in 8.5, and thousands without a mark",
        )
    } else if with_leading_zero && digits.starts_with('0') {
        problem(start, "a number that starts with a zero too many", "leave out the zeros before it")
    } else if !is_json {
        problem(
            start,
            "not a number as JSON writes it",
            "write it like 0.5 or -3 or 5e-6, and quantities as text",
        )
    } else {
        None
    }
}

/// Whether a colon is the last character before an error.
fn follows_a_colon(text: &str, error: &ParseError) -> bool {
    text.get(..error.range().start).is_some_and(|before| before.trim_end().ends_with(':'))
}

/// Whether a letter is at the place of an error.
fn starts_a_word(text: &str, error: &ParseError) -> bool {
    text.get(error.range().start..).is_some_and(|rest| rest.starts_with(char::is_alphabetic))
}

/// The byte offset of a line and column, both counted from 1, the column in bytes.
pub(super) fn offset_of(text: &str, line: usize, column: usize) -> usize {
    let before: usize = text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum();
    let mut at = (before + column.saturating_sub(1)).min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_syntax_error_marks_its_place_and_no_more() {
        for (text, marked, message) in [
            ("{\n\"a\": 1\n", "{", "this `{` is never closed"),
            ("{ \"a\": [1, 2 }", "}", "a bracket that matches none before it"),
            ("{ \"a\": 1 \"b\": 2 }", " \"b\"", "a comma is missing here"),
            ("{ \"a\": 1, }", ",", "a comma before the closing bracket"),
            ("{ \"a\": NaN }", "NaN", "a bare word"),
            ("{ 'a': 5 }", "'", "text in single quotes"),
            ("{ a: 5 }", "a", "a key must stand in double quotes"),
            ("{ \"a\": \"b\n\" }", "", "the text does not end on its line"),
            ("{ \"a\": \"b\tc\" }", "\t", "a control character stands inside a text"),
            ("\nx_m,y_m\n0,0\n", "x_m,y_m", "the file does not begin with `{`"),
            ("{} {}", "{", "something stands after the end"),
            ("{ /* b */ }", "/* b */", "JSON has no comments"),
            ("{ \"a\": 01 }", "01", "a number that starts with a zero too many"),
            ("{ \"a\": -007, \"b\": 1 }", "-007", "a number that starts with a zero too many"),
            ("{ \"a\": 1,5 }", "5", "a number where a key belongs"),
            ("{ \"a\": 1 000 }", "000", "two numbers with a space between"),
            ("{ \"a\": 1_000 }", "1_000", "not a number as JSON writes it"),
            ("{ \"a\": 1. }", "1.", "not a number as JSON writes it"),
            ("{ \"a\": .5 }", ".5", "not a number as JSON writes it"),
            ("{ \"a\": 2e }", "2e", "not a number as JSON writes it"),
            ("{ \"a\": 0x1F }", "0x1F", "not a number as JSON writes it"),
            ("{ \"a\": 12mm }", "12mm", "not a number as JSON writes it"),
            ("{ \"a\": [1 2] }", "2", "two numbers with a space between"),
            ("{ \"a\": 1 \"b\": 2 }", " \"b\"", "a comma is missing here"),
            ("{ \"a\": }", "}", "the key has no value"),
        ] {
            let problem = tree(text).expect_err(text);
            assert_eq!(problem.message, message, "{text}");
            assert!(text[problem.span.start..].starts_with(marked), "{text}: {:?}", problem.span);
            assert!(problem.hint.is_some());
        }
    }
}
