//! The page "A first spec in eight questions". What is not known is left out and can be added later on the file's own
//! page.

use super::files::{gone_to, write_new};
use super::frame::{Here, Shared, in_turn, page as whole_page, rendered};
use super::tools::Tools;
use super::typing::{errors, warnings};
use crate::desk::address::encoded;
use crate::desk::document_form::{Field, form, in_words, pointer_of, with_field};
use crate::desk::folder::Name;
use crate::desk::judged::{Judged, Standing};
use crate::desk::live;
use crate::desk::refusal::refusal;
use askama::Template;
use axum::Form;
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Response};
use coilwright::Document;
use coilwright::files::spec;
use coilwright::questions::map::Detail;
use std::collections::BTreeMap;

/// A question: title, hint, and the pointers of the values that it asks for.
struct Question {
    title: &'static str,
    hint: &'static str,
    pointers: &'static [&'static str],
}

const fn question(title: &'static str, hint: &'static str, pointers: &'static [&'static str]) -> Question {
    Question { title, hint, pointers }
}

const QUESTIONS: [Question; 8] = [
    question("What is the pair called?", "As people in your house know it.", &["/title"]),
    question(
        "How large is the wound part of a coil?",
        "A ruler will do. The mean radius is a quarter of the inner and the outer diameter added up.",
        &["/winding/mean_radius", "/winding/width", "/winding/depth"],
    ),
    question("How far apart do the coils stand?", "", &["/spacing"]),
    question("How many turns has a coil?", "", &["/winding/turns", "/winding/layers"]),
    question(
        "What is it wound with?",
        "A stock size with its enamel, or the two diameters measured.",
        &[
            "/winding/wire/size",
            "/winding/wire/build",
            "/winding/wire/bare_diameter",
            "/winding/wire/overall_diameter",
        ],
    ),
    question("How are the two coils connected?", "", &["/connection"]),
    question(
        "What feeds them?",
        "The limits on its plate.",
        &["/supply/voltage_limit", "/supply/current_limit"],
    ),
    question(
        "Which tube stands between them?",
        "",
        &[
            "/tube/bulb_radius",
            "/tube/gun_exit/0",
            "/tube/gun_exit/1",
            "/tube/gun_exit/2",
            "/tube/gun_direction/0",
            "/tube/gun_direction/1",
            "/tube/gun_direction/2",
            "/tube/gun_voltage/0",
            "/tube/gun_voltage/1",
            "/tube/beam_radius/0",
            "/tube/beam_radius/1",
        ],
    ),
];

/// Name of the form field for the file name.
const NAME: &str = "name";
/// A spec in which nothing is filled in.
const BLANK: &str = "{\n}\n";

/// Names and values of the form.
type Filled = Vec<(String, String)>;

/// The form.
#[derive(Template)]
#[template(path = "first.html")]
struct First {
    questions: Vec<Asked>,
    name: String,
    name_is_wrong: String,
    so_far: String,
    /// What is wrong but belongs to no single field.
    wrong: Vec<String>,
}

/// A question with its fields, each with what is wrong with it.
struct Asked {
    number: usize,
    title: &'static str,
    hint: &'static str,
    fields: Vec<(Field, String)>,
}

/// The result of the answers so far.
#[derive(Template)]
#[template(path = "first_so_far.html")]
struct SoFar {
    verdict: String,
    picture: Option<String>,
    /// What is wrong or odd with each field, by its pointer, and whether it is only odd.
    wrong: Vec<(&'static str, String, bool)>,
    /// Whether this is part of the whole page. If not, the fields are on the page already, and only what is said about
    /// them is new.
    for_page: bool,
}

/// The answers as a spec.
struct Answers {
    text: String,
    judged: Judged,
    wrong: BTreeMap<String, String>,
    /// What is odd and may be so all the same.
    odd: BTreeMap<String, String>,
}

impl Answers {
    /// Makes a spec of the answers, with each value as it was typed.
    fn of(filled: &Filled) -> Self {
        let mut text = BLANK.to_owned();
        let typed = pointers().filter_map(|pointer| Some((pointer, said(filled, pointer)?)));
        for (pointer, value) in typed {
            text = with_field(Document::Spec, &text, pointer, value).unwrap_or(text);
        }
        let judged = Judged::as_kind(Document::Spec, "pair.json", &text);
        let mut wrong = errors(&text, &judged.problems);
        let mut odd = warnings(&text, &judged.problems);
        odd.retain(|pointer, _| pointers().any(|known| known == pointer));
        // An unknown value is left out. That is no error of its field, unless it is one place of a list.
        let counts = |pointer: &str| {
            said(filled, pointer).is_some() || pointer.ends_with(|it: char| it.is_ascii_digit())
        };
        wrong.retain(|pointer, _| pointers().any(|known| known == pointer) && counts(pointer));
        for (pointer, told) in wrong_alone(filled, &text) {
            wrong.entry(pointer).or_insert(told);
        }
        if let (Standing::Wrong(reason), true) = (&judged.standing, wrong.is_empty()) {
            wrong.extend(at_their_fields(filled, &text, reason));
        }
        Self { text, judged, wrong, odd }
    }

    /// Whether the spec may be saved: it is right, or right as far as it goes.
    fn may_be_kept(&self) -> bool {
        self.text != BLANK && self.wrong.is_empty() && !matches!(self.judged.standing, Standing::Wrong(_))
    }

    fn verdict(&self) -> String {
        match &self.judged.standing {
            _ if !self.wrong.is_empty() => "Something cannot be right: it is told at its field.".into(),
            _ if self.text == BLANK => "Nothing is answered yet.".into(),
            Standing::Right => {
                let odd = match self.odd.is_empty() {
                    true => "",
                    false => " Something is unusual: it is told at its field. If it is so, make the spec.",
                };
                let bench = self.judged.bench.as_deref();
                let beam = match bench.map(|bench| bench.tube_with_beam().is_ok() && bench.supply.is_some()) {
                    Some(false) => {
                        " Beam, lesson and class runs need the tube with its gun and the supply as well: they can be filled in later, on \
                         the pair's own page."
                    }
                    _ => "",
                };
                format!("Everything that is needed for coils, field and heat is there.{odd}{beam}")
            }
            Standing::Unfinished(needed) => format!(
                "An unfinished spec. A whole one still needs {}. What is not known is left out; it can be filled in \
                 later, on the pair's own page.",
                needed.join(", ")
            ),
            Standing::Wrong(reason) => format!("This cannot be right: {}", in_labels(reason)),
        }
    }

    fn so_far(&self, for_page: bool) -> String {
        let picture = self.judged.bench.as_deref().and_then(|bench| live::map_of(bench, Detail::Coarse));
        let said_of = |pointer| {
            let told = self.wrong.get(pointer).or_else(|| self.odd.get(pointer));
            (pointer, told.cloned().unwrap_or_default(), !self.wrong.contains_key(pointer))
        };
        let so_far = SoFar {
            verdict: self.verdict(),
            picture: picture.map(|drawn| format!("data:image/svg+xml,{}", encoded(&drawn.figure.svg()))),
            wrong: pointers().map(said_of).collect(),
            for_page,
        };
        so_far.render().unwrap_or_default()
    }
}

/// What is wrong with answers that leave no pair possible, at the fields that were filled in. A reason that names a
/// quantity nobody filled in speaks of a value that was tried for it, so it is told without that value.
fn at_their_fields(filled: &Filled, text: &str, reason: &str) -> Vec<(String, String)> {
    let schema = form(Document::Spec, text);
    let known = |key: &&str| {
        let pointer = format!("/{}", key.replace('.', "/"));
        schema.field(&pointer).map(|field| (pointer.clone(), field.label.clone()))
    };
    let named: Vec<(String, String)> =
        reason.split('`').skip(1).step_by(2).filter_map(|key| known(&key)).collect();
    let (given, empty): (Vec<_>, Vec<_>) =
        named.into_iter().partition(|(pointer, _)| said(filled, pointer).is_some());
    let told = match empty.is_empty() {
        true => in_labels(reason),
        false => "no pair is possible with this and the other answers, whatever is not known".to_owned(),
    };
    let mut marked: Vec<String> = given.into_iter().map(|(pointer, _)| pointer).collect();
    if marked.is_empty() {
        // The reason names nothing that was filled in: every answered length may be the wrong one.
        const SIZES: [&str; 5] =
            ["/winding/mean_radius", "/winding/width", "/winding/depth", "/winding/turns", "/spacing"];
        marked = SIZES.iter().filter(|it| said(filled, it).is_some()).map(|it| (*it).to_owned()).collect();
    }
    marked.into_iter().map(|pointer| (pointer, told.clone())).collect()
}

/// A sentence with the keys of the file replaced by the labels of the form.
fn in_labels(sentence: &str) -> String {
    in_words(&form(Document::Spec, BLANK), sentence)
}

/// What is wrong with an answer alone, whatever the others are. A spec with gaps is not looked at so closely, so each
/// answer is checked in a complete spec. Values that are not known are replaced by the schema's own examples, and an
/// error that names another value is left out, because it may speak of such an example.
fn wrong_alone(filled: &Filled, text: &str) -> Vec<(String, String)> {
    const WHOLE: [&str; 7] = [
        "/title",
        "/winding/mean_radius",
        "/winding/width",
        "/winding/depth",
        "/winding/turns",
        "/winding/wire/build",
        "/spacing",
    ];
    let schema = form(Document::Spec, text);
    let is_wire =
        ["/winding/wire/size", "/winding/wire/bare_diameter"].iter().any(|it| said(filled, it).is_some());
    let wire = (!is_wire).then_some("/winding/wire/size");
    let mut whole = text.to_owned();
    for pointer in WHOLE.into_iter().chain(wire).filter(|pointer| said(filled, pointer).is_none()) {
        if pointer.ends_with("/build") && said(filled, "/winding/wire/bare_diameter").is_some() {
            continue;
        }
        let Some(field) = schema.field(pointer) else { continue };
        let example = field.choices.first().map_or(&field.example, |(name, _)| name);
        whole = with_field(Document::Spec, &whole, pointer, example).unwrap_or(whole);
    }
    let problems = Judged::by_key(Document::Spec, "pair.json", &whole).problems;
    let alone = problems.into_iter().filter(|problem| {
        let at = spec::pointer_at(&whole, problem.line, problem.column).unwrap_or_default();
        let named = problem.message.split('`').skip(1).step_by(2).filter_map(pointer_of);
        problem.severity == "error" && named.into_iter().all(|key| key == at)
    });
    let told = alone.filter_map(|problem| {
        let at = spec::pointer_at(&whole, problem.line, problem.column)?;
        let first = format!("{at}/0");
        let pointer =
            pointers().find(|it| *it == at || *it == first).filter(|it| said(filled, it).is_some())?;
        let hint =
            problem.hint.as_ref().map(|hint| format!(" ({})", in_words(&schema, hint))).unwrap_or_default();
        Some((pointer.to_owned(), in_words(&schema, &problem.message) + &hint))
    });
    told.collect()
}

fn pointers() -> impl Iterator<Item = &'static str> {
    QUESTIONS.iter().flat_map(|question| question.pointers.iter().copied())
}

fn said<'a>(filled: &'a Filled, id: &str) -> Option<&'a str> {
    filled.iter().find(|(key, _)| key == id).map(|(_, value)| value.trim()).filter(|value| !value.is_empty())
}

impl First {
    fn of(filled: &Filled, answers: &Answers, name_is_wrong: String) -> Self {
        let whole = form(Document::Spec, &answers.text);
        let questions = QUESTIONS.iter().zip(1..).map(|(question, number)| {
            let fields = question.pointers.iter().filter_map(|pointer| {
                let field = whole.field(pointer)?;
                // The value as typed, even if the spec could not take it.
                let value = said(filled, pointer).unwrap_or_default().to_owned();
                let wrong = answers.wrong.get(*pointer).cloned().unwrap_or_default();
                // The places of a list share one help, which is shown at the first.
                let is_later = pointer.ends_with(|it: char| it.is_ascii_digit()) && !pointer.ends_with('0');
                let help = if is_later { String::new() } else { field.help.clone() };
                Some((Field { value, help, ..field.clone() }, wrong))
            });
            Asked { number, title: question.title, hint: question.hint, fields: fields.collect() }
        });
        Self {
            questions: questions.collect(),
            name: said(filled, NAME).unwrap_or_default().to_owned(),
            name_is_wrong,
            so_far: answers.so_far(true),
            wrong: match &answers.judged.standing {
                Standing::Wrong(reason) if answers.wrong.is_empty() => vec![in_labels(reason)],
                _ => Vec::new(),
            },
        }
    }
}

/// The page with nothing filled in.
pub async fn page(state: Shared) -> Response {
    let nothing = Filled::new();
    let body = First::of(&nothing, &Answers::of(&nothing), String::new()).render();
    let here = Here { tools: Some(Tools::of(&state, "first")), ..Here::at("first") };
    match body {
        Ok(body) => whole_page(&state, "A first spec in eight questions", &here, body),
        Err(_) => refusal(StatusCode::INTERNAL_SERVER_ERROR, "The page could not be made."),
    }
}

/// The result of the answers so far.
pub async fn so_far(state: Shared, Form(filled): Form<Filled>) -> Response {
    if is_too_long(&filled) {
        return refusal(StatusCode::PAYLOAD_TOO_LARGE, "The answers are longer than a spec.");
    }
    in_turn(&state, move |_| Html(Answers::of(&filled).so_far(false)).into_response()).await
}

/// Saves the file. If something is wrong, says so at its field.
pub async fn make(state: Shared, Form(filled): Form<Filled>) -> Response {
    if is_too_long(&filled) {
        return refusal(StatusCode::PAYLOAD_TOO_LARGE, "The answers are longer than a spec.");
    }
    in_turn(&state, move |desk| {
        let answers = Answers::of(&filled);
        let name = said(&filled, NAME).map(str::to_owned);
        let name = name.unwrap_or_else(|| name_of(said(&filled, "/title").unwrap_or("pair")));
        let written = answers.may_be_kept().then(|| write_new(desk, &name, answers.text.as_bytes()));
        match written {
            Some(Ok(name)) => gone_to(&format!("/file/{}?made=first", encoded(name.as_str()))),
            not => rendered(&First::of(&filled, &answers, not.and_then(Result::err).unwrap_or_default())),
        }
    })
    .await
}

/// Whether the answers are longer than anybody fills in by hand; each field takes at most 400 characters.
fn is_too_long(filled: &Filled) -> bool {
    filled.iter().map(|(key, value)| key.len() + value.len()).sum::<usize>()
        > super::typing::LONGEST_IN_A_FORM
}

/// A file name made from a title: its letters and digits in lower case, joined by hyphens.
fn name_of(title: &str) -> String {
    let words: Vec<String> = title
        .split(|it: char| !it.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .collect();
    let name: String = words.join("-").chars().take(60).collect();
    let name = format!("{}.json", name.trim_end_matches('-'));
    if Name::of(&name).is_ok() { name } else { "pair.json".into() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn filled(pairs: &[(&str, &str)]) -> Filled {
        pairs.iter().map(|(id, value)| ((*id).to_owned(), (*value).to_owned())).collect()
    }

    const WHOLE: [(&str, &str); 9] = [
        ("/title", "Pair of the \"north\" room"),
        ("/winding/mean_radius", "6.5 in"),
        ("/winding/width", "15 mm"),
        ("/winding/depth", "1 cm"),
        ("/winding/turns", "150"),
        ("/winding/wire/size", "0.9 mm"),
        ("/winding/wire/build", "grade 2"),
        ("/spacing", "16.5 cm"),
        ("/connection", "series"),
    ];

    #[test]
    fn every_question_is_about_fields_of_a_spec() {
        let whole = form(Document::Spec, BLANK);
        for pointer in pointers() {
            assert!(whole.field(pointer).is_some(), "{pointer}");
        }
    }

    #[test]
    fn the_answers_make_a_spec_in_the_units_that_were_typed() {
        let answers = Answers::of(&filled(&WHOLE));
        assert_eq!(answers.judged.standing, Standing::Right, "{}", answers.text);
        for part in ["\"6.5 in\"", "\"1 cm\"", "\"16.5 cm\"", "\"turns\": 150"] {
            assert!(answers.text.contains(part), "{part}: {}", answers.text);
        }
        assert!(answers.so_far(true).contains("data:image/svg+xml"));
        // Laid out as a person would: the braces of the spec, and one line for each value.
        assert!(
            answers.text.starts_with("{\n  \"title\"") && answers.text.lines().count() > 8,
            "{}",
            answers.text
        );
    }

    #[test]
    fn what_is_not_known_is_left_out_and_may_be_kept() {
        let answers =
            Answers::of(&filled(&[("/title", "North room"), ("/spacing", " "), ("/winding/turns", "150")]));
        assert!(answers.may_be_kept() && answers.wrong.is_empty(), "{:?}", answers.wrong);
        assert!(!answers.text.contains("spacing"), "{}", answers.text);
        assert!(matches!(answers.judged.standing, Standing::Unfinished(_)));
        let answers = Answers::of(&filled(&[("/title", "North room")]));
        assert!(
            answers.verdict().starts_with("An unfinished spec. A whole one still needs mean radius, width")
        );
        assert!(answers.may_be_kept());
    }

    #[test]
    fn what_is_only_unusual_is_told_at_its_field_and_may_be_kept() {
        // Half of the channel is empty: a notebook often gives the former's channel.
        let mut pairs = filled(&WHOLE);
        for (id, value) in &mut pairs {
            match id.as_str() {
                "/winding/depth" => *value = "3 cm".into(),
                "/winding/width" => *value = "20 mm".into(),
                _ => {}
            }
        }
        let answers = Answers::of(&pairs);
        assert!(answers.wrong.is_empty() && !answers.odd.is_empty(), "{:?}", answers.wrong);
        assert!(answers.may_be_kept() && answers.verdict().contains("unusual"), "{}", answers.verdict());
        assert!(answers.so_far(false).contains("Look again: "), "{}", answers.so_far(false));
    }

    #[test]
    fn what_cannot_be_is_told_at_a_field_that_was_filled_in_and_in_its_words() {
        for answered in [
            &[
                ("/title", "North room"),
                ("/winding/mean_radius", "165 mm"),
                ("/spacing", "1 mm"),
                ("/winding/width", "40 mm"),
            ][..],
            &[("/winding/mean_radius", "5 mm"), ("/winding/width", "20 mm"), ("/winding/turns", "90000")],
            &[("/winding/mean_radius", "10 mm"), ("/winding/depth", "40 mm")],
        ] {
            let pairs = filled(answered);
            let answers = Answers::of(&pairs);
            let page = First::of(&pairs, &answers, String::new()).render().unwrap();
            for (pointer, told) in &answers.wrong {
                assert!(said(&pairs, pointer).is_some(), "{pointer}: {told}");
                assert!(!told.contains('`') && !told.contains("winding."), "{told}");
            }
            let is_wrong = matches!(answers.judged.standing, Standing::Wrong(_));
            assert_eq!(is_wrong, page.contains("aria-invalid"), "{answered:?}: {}", answers.verdict());
            assert!(!page.contains("winding.depth"), "{}", answers.verdict());
        }
    }

    #[test]
    fn wrong_input_is_told_at_its_field() {
        for (pointer, value, told) in [
            ("/spacing", "165", "unit"),
            ("/winding/mean_radius", "6 furlong", "furlong"),
            ("/winding/turns", "many", "not a number"),
            ("/winding/wire/build", "thick", "thick"),
            ("/winding/wire/size", "0.91 ells", "0.91 ells"),
            ("/supply/current_limit", "-3 A", "-3"),
            ("/tube/gun_exit/0", "46", "unit"),
            ("/winding/depth", "-3 mm", "-3 mm"),
            ("/spacing", "0 mm", "0 mm"),
        ] {
            let mut pairs = filled(&WHOLE);
            pairs.retain(|(id, _)| id != pointer);
            pairs.push((pointer.into(), value.into()));
            let answers = Answers::of(&pairs);
            assert!(!answers.may_be_kept(), "{pointer}");
            assert!(
                answers.wrong.get(pointer).is_some_and(|it| it.contains(told)),
                "{pointer}: {:?}",
                answers.wrong
            );
            let again = First::of(&pairs, &answers, String::new()).render().unwrap();
            assert!(again.contains("aria-invalid=\"true\""), "{again}");
            // What was typed in other fields is still there.
            assert_eq!(again.contains("value=\"6.5 in\""), pointer != "/winding/mean_radius");
        }
    }

    #[test]
    fn an_answer_that_cannot_be_is_told_while_the_others_are_not_known() {
        for (answered, at) in [
            (&[("/winding/depth", "-3 mm")][..], "/winding/depth"),
            (&[("/spacing", "0 mm")], "/spacing"),
            (&[("/tube/gun_voltage/0", "300 V"), ("/tube/gun_voltage/1", "100 V")], "/tube/gun_voltage/0"),
            (&[("/winding/wire/size", "9,5 mm")], "/winding/wire/size"),
        ] {
            let answers = Answers::of(&filled(answered));
            assert!(answers.wrong.contains_key(at), "{answered:?}: {:?}", answers.wrong);
            assert!(answers.so_far(false).contains(&format!("class=\"wrong\" id=\"w{at}\"")));
        }
        // An example that stands for what is not known is no reproach.
        for (pointer, value) in
            [("/winding/mean_radius", "6 mm"), ("/winding/turns", "4000"), ("/winding/wire/size", "0.2 mm")]
        {
            let answers = Answers::of(&filled(&[(pointer, value)]));
            assert!(answers.wrong.is_empty(), "{pointer}: {:?}", answers.wrong);
        }
    }

    #[test]
    fn a_title_makes_a_name() {
        assert_eq!(name_of("Saltmarsh College, window bench"), "saltmarsh-college-window-bench.json");
        assert_eq!(name_of("../.."), "pair.json");
        assert_eq!(name_of("con"), "pair.json");
    }
}
