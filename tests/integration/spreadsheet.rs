//! What a spreadsheet program makes of a workbook's formulas, as far as the class sheet uses them.
//!
//! References within a sheet and to another, ranges, `^ * / + - & > < =`, and the functions in [`Sheets::call`]; anything else stops
//! the test. Written for the tests, because engines that know all functions bring more code than the program has.

use crate::outputs::workbook::cells_as_text;
use std::collections::BTreeMap;

/// The value of a cell or of a part of a formula.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    Blank,
    Number(f64),
    Text(String),
    Truth(bool),
}

/// A workbook: by sheet and place, what stands there before anything is computed.
pub struct Sheets {
    cells: BTreeMap<(String, String), String>,
    names: Vec<String>,
}

/// The place in a formula that is read next.
struct Formula<'a> {
    text: &'a str,
    sheet: &'a str,
}

impl Sheets {
    pub fn read(workbook: &[u8]) -> Self {
        let (mut cells, mut names) = (BTreeMap::new(), Vec::new());
        for line in cells_as_text(workbook).lines() {
            if let Some(name) = line.strip_prefix("sheet ") {
                names.push(name.to_owned());
            } else if let Some((place, content)) = line.split_once(": ") {
                let sheet = names.last().unwrap().clone();
                cells.insert((sheet, place.to_owned()), content.to_owned());
            }
        }
        Self { cells, names }
    }

    /// The name of the sheet at a place in the workbook's order.
    pub fn name(&self, index: usize) -> &str {
        &self.names[index]
    }

    /// What a cell shows once all is computed.
    pub fn value(&self, sheet: &str, place: &str) -> Cell {
        let Some(content) = self.cells.get(&(sheet.to_owned(), place.to_owned())) else { return Cell::Blank };
        match content.split_once(" = ") {
            Some((_, text)) => {
                let mut formula = Formula { text, sheet };
                let value = self.comparison(&mut formula);
                assert_eq!(formula.text, "", "the rest of {text}");
                value
            }
            None => content.parse().map_or_else(|_| Cell::Text(content.clone()), Cell::Number),
        }
    }

    pub fn number(&self, sheet: &str, place: &str) -> f64 {
        match self.value(sheet, place) {
            Cell::Number(number) => number,
            other => panic!("{sheet}!{place} is {other:?}"),
        }
    }

    /// From the weakest to the strongest: comparison, joining, sum, product, power.
    fn comparison(&self, formula: &mut Formula<'_>) -> Cell {
        let left = self.joined(formula);
        let Some(sign) = formula.take_any(&['>', '<', '=']) else { return left };
        let (left, right) = (left.number(), self.joined(formula).number());
        Cell::Truth(match sign {
            '>' => left > right,
            '<' => left < right,
            _ => left == right,
        })
    }

    fn joined(&self, formula: &mut Formula<'_>) -> Cell {
        let mut left = self.sum(formula);
        while formula.take_any(&['&']).is_some() {
            left = Cell::Text(left.text() + &self.sum(formula).text());
        }
        left
    }

    fn sum(&self, formula: &mut Formula<'_>) -> Cell {
        let mut left = self.product(formula);
        while let Some(sign) = formula.take_any(&['+', '-']) {
            let right = self.product(formula).number();
            left = Cell::Number(left.number() + if sign == '+' { right } else { -right });
        }
        left
    }

    fn product(&self, formula: &mut Formula<'_>) -> Cell {
        let mut left = self.power(formula);
        while let Some(sign) = formula.take_any(&['*', '/']) {
            let right = self.power(formula).number();
            left = Cell::Number(if sign == '*' { left.number() * right } else { left.number() / right });
        }
        left
    }

    fn power(&self, formula: &mut Formula<'_>) -> Cell {
        let mut left = self.part(formula);
        while formula.take_any(&['^']).is_some() {
            left = Cell::Number(left.number().powf(self.part(formula).number()));
        }
        left
    }

    /// A number, a text, what stands in brackets, a function or a cell.
    fn part(&self, formula: &mut Formula<'_>) -> Cell {
        if formula.take_any(&['(']).is_some() {
            let inside = self.comparison(formula);
            formula.expect(')');
            return inside;
        }
        if let Some(quoted) = formula.text.strip_prefix('"') {
            let (text, rest) = quoted.split_once('"').unwrap();
            formula.text = rest;
            return Cell::Text(text.to_owned());
        }
        if formula.text.starts_with(|c: char| c.is_ascii_digit()) {
            return Cell::Number(formula.take_number());
        }
        let word = formula.take_word();
        if formula.take_any(&['(']).is_some() {
            return self.call(&word, formula);
        }
        let mut found = self.cells_at(&word, formula);
        assert_eq!(found.len(), 1, "{word} stands where one value is wanted");
        found.remove(0)
    }

    fn call(&self, name: &str, formula: &mut Formula<'_>) -> Cell {
        if name == "IF" {
            return self.choice(formula);
        }
        let arguments = self.arguments(formula);
        let numbers = || -> Vec<f64> {
            let counted = arguments.iter().filter_map(|one| match one {
                Cell::Number(number) => Some(*number),
                _ => None,
            });
            counted.collect()
        };
        let mean = |numbers: &[f64]| numbers.iter().sum::<f64>() / numbers.len() as f64;
        match name {
            "AND" => Cell::Truth(arguments.iter().all(|one| *one == Cell::Truth(true))),
            "ISNUMBER" => Cell::Truth(matches!(arguments[..], [Cell::Number(_)])),
            "ABS" => Cell::Number(arguments[0].number().abs()),
            "SQRT" => Cell::Number(arguments[0].number().sqrt()),
            "COUNT" => Cell::Number(numbers().len() as f64),
            "AVERAGE" => Cell::Number(mean(&numbers())),
            "STDEV" => {
                let numbers = numbers();
                let mean = mean(&numbers);
                let squares: f64 = numbers.iter().map(|number| (number - mean).powi(2)).sum();
                Cell::Number((squares / (numbers.len() as f64 - 1.0)).sqrt())
            }
            other => panic!("the function {other} is not known here"),
        }
    }

    /// `IF`: only what is chosen is computed.
    fn choice(&self, formula: &mut Formula<'_>) -> Cell {
        let holds = self.comparison(formula) == Cell::Truth(true);
        formula.expect(',');
        let mut first = Formula { ..*formula };
        formula.skip_argument();
        formula.expect(',');
        let mut second = Formula { ..*formula };
        formula.skip_argument();
        formula.expect(')');
        self.comparison(if holds { &mut first } else { &mut second })
    }

    /// The values of all arguments, those of ranges one by one.
    fn arguments(&self, formula: &mut Formula<'_>) -> Vec<Cell> {
        let mut values = Vec::new();
        loop {
            let start = formula.text;
            let word = formula.take_word();
            if !word.is_empty() && formula.text.starts_with(':') {
                values.extend(self.cells_at(&word, formula));
            } else {
                formula.text = start;
                values.push(self.comparison(formula));
            }
            if formula.take_any(&[',']).is_none() {
                break;
            }
        }
        formula.expect(')');
        values
    }

    /// The cell named, or those down to the one after a colon, in one column.
    fn cells_at(&self, word: &str, formula: &mut Formula<'_>) -> Vec<Cell> {
        let (sheet, place) = word.split_once('!').unwrap_or((formula.sheet, word));
        if formula.take_any(&[':']).is_none() {
            return vec![self.value(sheet, place)];
        }
        let last = formula.take_word();
        let column = |place: &str| place.trim_end_matches(|c: char| c.is_ascii_digit()).to_owned();
        let row = |place: &str| place[column(place).len()..].parse::<u32>().unwrap();
        assert_eq!(column(place), column(&last));
        (row(place)..=row(&last)).map(|row| self.value(sheet, &format!("{}{row}", column(place)))).collect()
    }
}

impl Cell {
    fn number(&self) -> f64 {
        match self {
            Self::Number(number) => *number,
            Self::Blank => 0.0,
            other => panic!("{other:?} is no number"),
        }
    }

    fn text(self) -> String {
        match self {
            Self::Text(text) => text,
            Self::Blank => String::new(),
            Self::Number(number) => number.to_string(),
            Self::Truth(truth) => truth.to_string().to_uppercase(),
        }
    }
}

impl Formula<'_> {
    fn take_any(&mut self, signs: &[char]) -> Option<char> {
        let sign = self.text.chars().next().filter(|sign| signs.contains(sign))?;
        self.text = &self.text[1..];
        Some(sign)
    }

    fn expect(&mut self, sign: char) {
        assert_eq!(self.take_any(&[sign]), Some(sign), "before {}", self.text);
    }

    /// The name of a function or of a cell, without the `$` of a fixed one; empty where neither stands.
    fn take_word(&mut self) -> String {
        let end = self.text.find(|c: char| !c.is_ascii_alphanumeric() && !"$!".contains(c));
        let (word, rest) = self.text.split_at(end.unwrap_or(self.text.len()));
        self.text = rest;
        word.replace('$', "")
    }

    fn take_number(&mut self) -> f64 {
        let of_number = |(i, c): (usize, char)| {
            let signed = i > 0 && "+-".contains(c) && self.text[..i].ends_with(['e', 'E']);
            c.is_ascii_digit() || ".eE".contains(c) || signed
        };
        let end = self.text.char_indices().find(|one| !of_number(*one)).map_or(self.text.len(), |(i, _)| i);
        let (number, rest) = self.text.split_at(end);
        self.text = rest;
        number.parse().unwrap()
    }

    /// Passes over one argument, up to its comma or bracket.
    fn skip_argument(&mut self) {
        let (mut depth, mut quoted) = (0, false);
        let ends = |c: char| {
            match c {
                '"' => quoted = !quoted,
                '(' if !quoted => depth += 1,
                ')' if !quoted && depth > 0 => depth -= 1,
                ',' | ')' if !quoted && depth == 0 => return true,
                _ => {}
            }
            false
        };
        self.text = &self.text[self.text.find(ends).unwrap()..];
    }
}
