//! Compares an output with the kept one: text exactly, numbers at full length to rounding.

use regex::Regex;
use std::collections::HashMap;
use std::sync::LazyLock;

/// Numbers with at least this many significant digits are compared as numbers, all others as text.
const FULL_LENGTH: usize = 12;
/// Relative change that another mathematical library may cause.
const RELATIVE: f64 = 1e-13;
/// Parts of the names of quantities that are small differences of nearly equal numbers. Fused multiply-add, tried
/// instead of `--portable`, changed most of these by a relative 1e-13 to 1e-11.
const DIFFERENCES: [&str; 8] =
    ["uncertainty", "sensitivity", "contribution", "drift", "bias", "residual", "chi_square", "error"];
const RELATIVE_OF_DIFFERENCES: f64 = 1e-10;

/// The first line that differs from the kept one.
#[derive(Debug, PartialEq)]
pub struct Difference {
    pub line: usize,
    pub got: String,
    pub wanted: String,
}

/// Compares a file's text with the kept text; the extension of its name gives its format.
///
/// A number at full length that is only a remainder of rounding has no scale of its own. It may differ by `RELATIVE` of
/// the largest number of the same quantity: under the same JSON key, in the same CSV column or in the same row of a
/// workbook, where the components of one vector count as one quantity. A key or column holds one quantity; a whole file
/// would mix tesla with metres.
pub fn difference(name: &str, got: &str, wanted: &str) -> Option<Difference> {
    if got == wanted {
        return None;
    }
    let (got_lines, wanted_lines) = (Lines::of(name, got), Lines::of(name, wanted));
    let largest = wanted_lines.largest_of_each_quantity();
    let count = got_lines.0.len().max(wanted_lines.0.len());
    (0..count).find_map(|index| {
        let (got, wanted) = (got_lines.0.get(index), wanted_lines.0.get(index));
        match (got, wanted) {
            (Some(got), Some(wanted)) if got.agrees(wanted, &largest) => None,
            _ => {
                let shown =
                    |line: Option<&Line>| line.map_or("(no such line)".into(), |line| line.text.into());
                Some(Difference { line: index + 1, got: shown(got), wanted: shown(wanted) })
            }
        }
    })
}

/// A file's lines, split into numbers and text.
struct Lines<'a>(Vec<Line<'a>>);

struct Line<'a> {
    text: &'a str,
    /// The text between the numbers.
    between: Vec<&'a str>,
    numbers: Vec<Number<'a>>,
}

struct Number<'a> {
    text: &'a str,
    value: f64,
    quantity: String,
}

impl<'a> Lines<'a> {
    fn of(name: &str, text: &'a str) -> Self {
        let mut naming = Naming::of(name, text);
        Self(text.split('\n').map(|line| Line::of(line, &mut naming)).collect())
    }

    fn largest_of_each_quantity(&self) -> HashMap<&str, f64> {
        let mut largest = HashMap::new();
        for number in self.0.iter().flat_map(|line| &line.numbers).filter(|number| number.is_full_length()) {
            let held: &mut f64 = largest.entry(number.quantity.as_str()).or_default();
            *held = held.max(number.value.abs());
        }
        largest
    }
}

impl<'a> Line<'a> {
    fn of(text: &'a str, naming: &mut Naming) -> Self {
        let (mut between, mut numbers, mut end) = (Vec::new(), Vec::new(), 0);
        for found in naming.number().find_iter(text) {
            let Ok(value) = found.as_str().replace(',', ".").parse() else { continue };
            between.push(&text[end..found.start()]);
            end = found.end();
            let quantity = naming.quantity(text, found.start());
            numbers.push(Number { text: found.as_str(), value, quantity });
        }
        between.push(&text[end..]);
        naming.read(text);
        Self { text, between, numbers }
    }

    fn agrees(&self, wanted: &Self, largest: &HashMap<&str, f64>) -> bool {
        self.text == wanted.text
            || (self.between == wanted.between
                && self.numbers.iter().zip(&wanted.numbers).all(|(got, wanted)| got.agrees(wanted, largest)))
    }
}

impl Number<'_> {
    fn is_full_length(&self) -> bool {
        let mantissa = self.text.split(['e', 'E']).next().unwrap_or_default();
        let digits = mantissa.bytes().filter(u8::is_ascii_digit);
        digits.skip_while(|digit| *digit == b'0').count() >= FULL_LENGTH
    }

    fn agrees(&self, wanted: &Self, largest: &HashMap<&str, f64>) -> bool {
        // A number next to a round one is written at full length, the round one is not.
        if !self.is_full_length() && !wanted.is_full_length() {
            return self.text == wanted.text;
        }
        let scale = largest.get(wanted.quantity.as_str()).copied().unwrap_or(0.0).max(wanted.value.abs());
        let is_difference = DIFFERENCES.iter().any(|part| wanted.quantity.contains(part));
        let relative = if is_difference { RELATIVE_OF_DIFFERENCES } else { RELATIVE };
        (self.value - wanted.value).abs() <= relative * scale
    }
}

/// The rule that gives the quantity of a number from its place.
enum Naming {
    /// By the last key before it.
    Json { key: String },
    /// By its column's heading.
    Csv { separator: char, headings: Vec<String> },
    /// By its row in the sheet.
    Workbook { sheet: String },
    /// Unknown: each number is a quantity of its own.
    Text,
}

static WITH_POINT: LazyLock<Regex> = LazyLock::new(|| Regex::new(r"-?\d+(\.\d+)?([eE][+-]?\d+)?").unwrap());
static WITH_COMMA: LazyLock<Regex> = LazyLock::new(|| Regex::new(r"-?\d+(,\d+)?([eE][+-]?\d+)?").unwrap());
static KEY: LazyLock<Regex> = LazyLock::new(|| Regex::new(r#""([^"]+)":"#).unwrap());
static ROW: LazyLock<Regex> = LazyLock::new(|| Regex::new(r"^[A-Z]+(\d+):").unwrap());
static COMPONENT: LazyLock<Regex> = LazyLock::new(|| Regex::new(r"^([a-z]?)[xyz]_").unwrap());

impl Naming {
    fn of(name: &str, text: &str) -> Self {
        if name.ends_with(".json") {
            return Self::Json { key: String::new() };
        }
        if name.ends_with(".xlsx.txt") {
            return Self::Workbook { sheet: String::new() };
        }
        let heading = text.lines().find(|line| !line.starts_with('#')).filter(|_| name.ends_with(".csv"));
        match heading {
            Some(heading) => {
                let separator = if heading.contains(';') { ';' } else { ',' };
                let headings = heading.split(separator).map(without_component).collect();
                Self::Csv { separator, headings }
            }
            None => Self::Text,
        }
    }

    fn number(&self) -> &'static Regex {
        match self {
            Self::Csv { separator: ';', .. } => &WITH_COMMA,
            _ => &WITH_POINT,
        }
    }

    fn quantity(&self, line: &str, place: usize) -> String {
        match self {
            Self::Json { key } => last_key(&line[..place]).unwrap_or_else(|| key.clone()),
            Self::Csv { separator, headings } => {
                let column = line[..place].matches(*separator).count();
                headings.get(column).cloned().unwrap_or_default()
            }
            Self::Workbook { sheet } => {
                format!("{sheet}, row {}", ROW.captures(line).map_or("", |row| row.get(1).unwrap().as_str()))
            }
            Self::Text => String::new(),
        }
    }

    /// Reads from a line the names that apply to the lines after it.
    fn read(&mut self, line: &str) {
        match self {
            Self::Json { key } => {
                if let Some(last) = last_key(line) {
                    *key = last;
                }
            }
            Self::Workbook { sheet } => {
                if let Some(name) = line.strip_prefix("sheet ") {
                    *sheet = name.into();
                }
            }
            Self::Csv { .. } | Self::Text => {}
        }
    }
}

fn last_key(text: &str) -> Option<String> {
    KEY.captures_iter(text).last().map(|key| without_component(&key[1]))
}

/// The name of a vector's component without the axis: `bx_tesla` and `by_tesla` are one quantity.
fn without_component(name: &str) -> String {
    COMPONENT.replace(name, "${1}_").into_owned()
}

#[test]
fn text_and_short_numbers_are_compared_exactly() {
    assert_eq!(difference("a.txt", "k = 0.8429\n", "k = 0.8429\n"), None);
    let found = difference("a.txt", "title\nk = 0.8430 mT/A\n", "title\nk = 0.8429 mT/A\n").unwrap();
    assert_eq!(
        (found.line, found.got.as_str(), found.wanted.as_str()),
        (2, "k = 0.8430 mT/A", "k = 0.8429 mT/A")
    );
    assert!(difference("a.txt", "one sentence", "one Sentence").is_some());
    assert!(difference("a.txt", "one\n", "one\n\n").is_some());
    assert!(difference("a.txt", "one 1", "one").is_some());
    // Exponents and leading zeros do not count as digits.
    assert!(difference("a.json", "0.00000000000012", "0.00000000000013").is_some());
}

#[test]
fn numbers_at_full_length_are_compared_to_rounding() {
    let json = |value: &str| format!("{{\n  \"slope_tesla\": {value}\n}}\n");
    let agree = |one: &str, other: &str| difference("a.json", &json(one), &json(other)).is_none();
    assert!(agree("0.00084292301477855123", "0.0008429230147785513"));
    assert!(!agree("0.0008429230147785", "0.0008429230147786"));
    assert!(!agree("-0.0008429230147785", "0.0008429230147785"));
    let drift = |value: &str| format!("\"field_drift_fraction\": {value}");
    assert!(
        difference("a.json", &drift("-0.0003388238110951791"), &drift("-0.0003388238110955122")).is_none()
    );
    assert!(
        difference("a.json", &drift("-0.0003388238111951791"), &drift("-0.0003388238110955122")).is_some()
    );
    // Next to a round number.
    assert!(agree("0.15000000000000002", "0.15"));
    assert!(!agree("0.15000000000002", "0.15"));
}

#[test]
fn noise_is_held_to_the_largest_number_of_its_own_quantity() {
    let table = |noise: &str| format!("x_m,bx_tesla,by_tesla\n0.1,{noise},0.00084292301477855\n");
    let agree = |one: &str, other: &str| difference("a.csv", &table(one), &table(other)).is_none();
    assert!(agree("7.106665574334217e-22", "0.0"));
    assert!(!agree("7.106665574334217e-12", "0.0"));
    // Not relative to a number of another quantity: the metres are larger.
    let keys = |noise: &str| format!("{{\"x_m\":123456.78901234567,\"b_tesla\":{noise}}}");
    assert!(difference("a.json", &keys("1.23456789012345e-13"), &keys("0.0")).is_some());
    // Arrays belong to the key before them; tables with semicolons have decimal commas.
    let array = |noise: &str| format!("\"place_m\": [\n  0.12345678901234567,\n  {noise}\n]");
    assert!(difference("a.json", &array("1.23456789012345e-19"), &array("0")).is_none());
    let commas = |value: &str| format!("x_m;y_m\n0,5;{value}\n");
    assert!(difference("a.csv", &commas("0,12345678901234567"), &commas("0,12345678901234566")).is_none());
}
