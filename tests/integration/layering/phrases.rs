//! No file that computes holds a finished phrase: what is concluded is a type with its numbers, and its sentence stands
//! beside it (`fn sentence`, of `Told` or of the enum) or in a file for words.
//!
//! A phrase is a text of four words or more. Messages of errors, docs, attributes and tests are none. An error is known by
//! the name of what takes its message ([`ERRORS`]), not by its type.

use proc_macro2::{TokenStream, TokenTree};
use syn::visit::{self, Visit};

use super::source::is_for_tests;
use super::sources_of_this_crate;
use super::tree::Sources;

/// A literal with at least so many words reads as a phrase that somebody could want to match on.
const WORDS: usize = 4;

/// Folders and files that hold what people read.
const FOR_PEOPLE: &[&str] = &["words", "sentences", "note", "notes", "picture", "files"];

/// The macros whose text only a failed test or a fault of the program shows.
const FOR_PROGRAMMERS: &[&str] =
    &["assert", "assert_eq", "assert_ne", "debug_assert", "debug_assert_eq", "panic", "unreachable"];

/// What makes an error: types, and the functions and methods that take its message or a part of it.
const ERRORS: &[&str] = &[
    "Err",
    "Error",
    "Refused",
    "expect",
    "map_err",
    "missing",
    "missing_in",
    "place",
    "positive",
    "refuse",
    "row_error",
    "unreadable",
    "wrong",
];

/// Functions whose text is the subject of the one sentence of a `SourceNote`, as in "the table is".
const SUBJECTS: &[&str] = &["left_out", "on_may_flow"];

/// A literal that reads as a phrase.
#[derive(Debug, PartialEq)]
struct Phrase {
    file: String,
    line: usize,
    text: String,
}

/// Whether a file computes: it lies in `pair`, `physics` or a question, and is none for people or tests.
fn computes(file: &str) -> bool {
    let parts: Vec<&str> = file.trim_end_matches(".rs").split('/').collect();
    ["pair", "physics", "questions"].contains(&parts[0])
        && !parts.iter().any(|part| FOR_PEOPLE.contains(part) || *part == "tests")
}

/// The number of words of a text; placeholders, keys and numbers are none.
fn words(text: &str) -> usize {
    let mut plain = String::new();
    let mut depth = 0;
    for letter in text.chars() {
        match letter {
            '{' => depth += 1,
            '}' => depth -= 1,
            _ if depth == 0 => plain.push(letter),
            _ => {}
        }
    }
    let is_word = |part: &&str| {
        let part = part.trim_matches(|letter: char| !letter.is_alphanumeric());
        !part.is_empty() && part.chars().all(|letter| letter.is_alphabetic() || "'-".contains(letter))
    };
    plain.split_whitespace().filter(is_word).count()
}

/// Walks one file.
struct Reader<'a> {
    file: &'a str,
    found: Vec<Phrase>,
}

impl Reader<'_> {
    fn read(&mut self, text: String, line: usize) {
        if words(&text) >= WORDS {
            self.found.push(Phrase { file: self.file.into(), line, text });
        }
    }

    /// The literals among the tokens of a macro, but those of an error or of another macro for programmers.
    fn tokens(&mut self, tokens: TokenStream) {
        let tokens: Vec<TokenTree> = tokens.into_iter().collect();
        let mut passes_over = false;
        for token in &tokens {
            match token {
                TokenTree::Ident(word) => {
                    let word = word.to_string();
                    passes_over |= is_of_errors(&word) || FOR_PROGRAMMERS.contains(&word.as_str());
                }
                TokenTree::Group(_) if std::mem::take(&mut passes_over) => {}
                TokenTree::Group(group) => self.tokens(group.stream()),
                TokenTree::Literal(literal) => {
                    if let Ok(text) = syn::parse_str::<syn::LitStr>(&literal.to_string()) {
                        self.read(text.value(), token.span().start().line);
                    }
                }
                TokenTree::Punct(_) => {}
            }
        }
    }
}

fn is_of_errors(word: &str) -> bool {
    ERRORS.contains(&word) || SUBJECTS.contains(&word)
}

fn names_an_error(path: &syn::Path) -> bool {
    path.segments.iter().any(|segment| is_of_errors(&segment.ident.to_string()))
}

/// Whether a function returns an error, and nothing else.
fn returns_an_error(signature: &syn::Signature) -> bool {
    match &signature.output {
        syn::ReturnType::Type(_, returned) => {
            matches!(&**returned, syn::Type::Path(path) if path.path.segments.last().is_some_and(|last| last.ident == "Error"))
        }
        syn::ReturnType::Default => false,
    }
}

/// Whether a method tells its own value: `sentence`, of `Told` or beside an enum.
fn tells(signature: &syn::Signature) -> bool {
    signature.ident == "sentence" && signature.receiver().is_some()
}

impl<'a> Visit<'a> for Reader<'_> {
    fn visit_item_fn(&mut self, item: &'a syn::ItemFn) {
        if !is_for_tests(&item.attrs) && !returns_an_error(&item.sig) {
            visit::visit_item_fn(self, item);
        }
    }

    fn visit_impl_item_fn(&mut self, item: &'a syn::ImplItemFn) {
        if !is_for_tests(&item.attrs) && !returns_an_error(&item.sig) && !tells(&item.sig) {
            visit::visit_impl_item_fn(self, item);
        }
    }

    fn visit_item_mod(&mut self, item: &'a syn::ItemMod) {
        if !is_for_tests(&item.attrs) {
            visit::visit_item_mod(self, item);
        }
    }

    fn visit_expr_call(&mut self, call: &'a syn::ExprCall) {
        let is_error = matches!(&*call.func, syn::Expr::Path(path) if names_an_error(&path.path));
        if !is_error {
            visit::visit_expr_call(self, call);
        }
    }

    fn visit_expr_struct(&mut self, value: &'a syn::ExprStruct) {
        if !names_an_error(&value.path) {
            visit::visit_expr_struct(self, value);
        }
    }

    fn visit_expr_method_call(&mut self, call: &'a syn::ExprMethodCall) {
        if is_of_errors(&call.method.to_string()) {
            self.visit_expr(&call.receiver);
        } else {
            visit::visit_expr_method_call(self, call);
        }
    }

    fn visit_macro(&mut self, call: &'a syn::Macro) {
        let is_for_programmers = FOR_PROGRAMMERS.iter().any(|name| call.path.is_ident(name));
        if !is_for_programmers {
            self.tokens(call.tokens.clone());
        }
    }

    fn visit_lit_str(&mut self, literal: &'a syn::LitStr) {
        self.read(literal.value(), literal.span().start().line);
    }

    /// Docs, and the attributes of serde and clap, are no texts of the program.
    fn visit_attribute(&mut self, _: &'a syn::Attribute) {}
}

/// The phrases of all files that compute.
fn phrases(sources: &Sources) -> Vec<Phrase> {
    let of_file = |(file, source): (&String, &String)| {
        let parsed = syn::parse_file(source).unwrap_or_else(|error| panic!("src/{file}: {error}"));
        let mut reader = Reader { file, found: vec![] };
        reader.visit_file(&parsed);
        reader.found
    };
    sources.iter().filter(|(file, _)| computes(file)).flat_map(of_file).collect()
}

/// What remains: a file, how many phrases it holds at most, and why.
const REMAINING: &[(&str, usize, &str)] = &[
    ("pair/needed.rs", 10, "what a missing part is needed for, in the error that names it"),
    ("pair/wire_limits.rs", 6, "sources of limits, cited as they are"),
    ("pair/wires.rs", 10, "sources of tables, cited as they are"),
    ("physics/beam/bias.rs", 1, "a name in a table of parts"),
    ("physics/heat/section.rs", 2, "names of surfaces"),
    ("physics/slope.rs", 1, "what a missing part is needed for, in the error that names it"),
    ("physics/test_limits.rs", 2, "sources of a limit, cited as they are"),
    ("questions/calibrate/beam_correction.rs", 1, "the message of an error, without its radius"),
    ("questions/calibrate/fit/lines.rs", 1, "the hint of two errors"),
    ("questions/calibrate/mod.rs", 2, "the subject of a note on what the spec lacks"),
    ("questions/calibrate/plan.rs", 1, "what a missing part is needed for, in the error that names it"),
    ("questions/calibrate/reading.rs", 10, "names and ranges of the error that refuses a value"),
    ("questions/calibrate/record.rs", 1, "the place that a line holds for, a name"),
    ("questions/compare/figures.rs", 4, "names in a table of figures"),
    ("questions/heat/warm_up/readings.rs", 4, "messages and hints of errors"),
    ("questions/heat/warm_up/rows.rs", 2, "the message and the hint of an error"),
    ("questions/map/written.rs", 1, "a comment line of an exported table"),
    ("questions/register/before_and_after.rs", 1, "the name of a kind of event"),
    ("questions/register/history.rs", 1, "the name of a state"),
    ("questions/register/in_force.rs", 1, "the hint of an error"),
    (
        "questions/register/statement.rs",
        3,
        "consequences of events in the help of an option, and the hint of an error",
    ),
    ("questions/weigh/runs.rs", 1, "the hint of an error"),
    ("questions/weigh/shared.rs", 2, "names in a table of sources"),
];

/// The phrases beyond what remains, and files of the list that hold fewer.
fn faults(sources: &Sources, remaining: &[(&str, usize, &str)]) -> Vec<String> {
    let found = phrases(sources);
    let of = |file: &str| found.iter().filter(|phrase| phrase.file == file).count();
    let allowed =
        |file: &str| remaining.iter().find(|(name, ..)| *name == file).map_or(0, |(_, most, _)| *most);
    let new = found.iter().filter(|phrase| of(&phrase.file) > allowed(&phrase.file));
    let fewer = remaining.iter().filter(|(file, most, _)| of(file) < *most);
    new.map(|Phrase { file, line, text }| format!("src/{file}:{line}: {text:?}"))
        .chain(fewer.map(|(file, most, _)| format!("src/{file}: phrases: {}, in the list: {most}", of(file))))
        .collect()
}

#[test]
fn no_file_that_computes_holds_a_phrase_for_people() {
    let faults = faults(&sources_of_this_crate(), REMAINING);
    assert!(
        faults.is_empty(),
        "{} faults. Make it an enum variant with its numbers, and write its phrase beside the enum in `fn sentence`, or in \
         `sentences.rs` or `words`:\n{}",
        faults.len(),
        faults.join("\n")
    );
}

/// The faults of a tree that holds one source.
fn of_one(file: &str, source: &str, remaining: &[(&str, usize, &str)]) -> Vec<String> {
    faults(&Sources::from([(file.to_string(), source.to_string())]), remaining)
}

#[test]
fn a_phrase_is_told_wherever_it_is_written() {
    for source in [
        "fn f() -> String { \"the coil is too hot\".into() }",
        "const WHY: &str =\n    \"the coil is too hot\";",
        "fn f(x: f64) -> String { format!(\"the coil is {x} too hot\") }",
        "fn f() -> Vec<String> { vec![String::from(\"the coil is too hot\")] }",
        "fn f() -> Note { Note { why: \"the coil is \\\n too hot\".into() } }",
        "impl fmt::Display for Coil { fn fmt(&self) { write!(f, \"the coil is too hot\") } }",
        "fn sentence(coil: &Coil) -> String { \"the coil is too hot\".into() }",
    ] {
        for file in ["pair/coil.rs", "physics/heat/mod.rs", "questions/heat/record.rs"] {
            assert_eq!(of_one(file, source, &[]).len(), 1, "{file}: {source}");
        }
    }
}

#[test]
fn words_of_errors_of_tests_and_for_people_are_left_alone() {
    for (file, source) in [
        ("questions/heat/words.rs", "const A: &str = \"the coil is too hot\";"),
        ("questions/heat/words/mod.rs", "const A: &str = \"the coil is too hot\";"),
        ("questions/heat/notes.rs", "const A: &str = \"the coil is too hot\";"),
        ("files/spec.rs", "const A: &str = \"the coil is too hot\";"),
        ("pair/coil.rs", "/// The coil is too hot.\nconst A: &str = \"too hot\";"),
        ("pair/coil.rs", "const A: &str = \"winding.wire.bare_diameter of the coil\";"),
        ("pair/coil.rs", "#[serde(rename = \"the coil is too hot\")]\nstruct A;"),
        ("pair/coil.rs", "fn f() -> Result<()> { Err(Error::value(\"the coil is too hot\")) }"),
        ("pair/coil.rs", "fn f() -> Error { let why = \"the coil is too hot\"; Error::value(why) }"),
        ("pair/coil.rs", "fn f() { let x = y.map_err(|_| wrap(\"the coil is too hot\")); }"),
        ("pair/coil.rs", "fn f() { assert!(cold, \"the coil is too hot\"); }"),
        ("pair/coil.rs", "#[cfg(test)]\nmod tests { const A: &str = \"the coil is too hot\"; }"),
        (
            "pair/coil.rs",
            "impl Told for A { fn sentence(&self) -> String { \"the coil is too hot\".into() } }",
        ),
    ] {
        assert_eq!(of_one(file, source, &[]), Vec::<String>::new(), "{file}: {source}");
    }
}

#[test]
fn the_list_of_what_remains_holds_no_more_than_there_is() {
    let source = "const A: &str = \"the coil is too hot\";";
    let listed = |most: usize| of_one("pair/coil.rs", source, &[("pair/coil.rs", most, "a name")]);
    assert_eq!((listed(0).len(), listed(1).len()), (1, 0));
    assert_eq!(listed(2), ["src/pair/coil.rs: phrases: 1, in the list: 2"]);
}
