//! A run as its page shows it: under way, and answered.

use super::frame::{Here, Shared, alert_markup, page as whole_page};
use super::tools::Tools;
use super::{field_at, windings};
use crate::desk::address::encoded;
use crate::desk::forms::told_in_a_form;
use crate::desk::refusal::refusal;
use crate::desk::runs::{AFTER_A_LOOK, Answer, OUT, Run, Stage};
use crate::desk::state::State;
use askama::Template;
use axum::extract::{Path, RawQuery};
use axum::http::StatusCode;
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{Html, IntoResponse, Response};
use coilwright::paper::markup::escaped;
use futures_util::stream::{self, Stream};
use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

/// How long to wait for an answer before progress is shown.
const PATIENCE: Duration = Duration::from_millis(250);

/// A run that is under way.
#[derive(Template)]
#[template(path = "under_way.html")]
struct UnderWay<'a> {
    id: &'a str,
    /// The query that fills the form with the same values again.
    again: &'a str,
}

/// A run that is done.
#[derive(Template)]
#[template(path = "answered.html")]
struct Answered<'a> {
    id: &'a str,
    /// What stands above the pictures: the sections up to the verdict, if there is one.
    verdict: Vec<Section>,
    /// The rest of the printed text, cut into sections.
    sections: Vec<Section>,
    told: String,
    /// Names of the fields that the error is about, with blanks between.
    wrong: String,
    status: &'static str,
    /// Address and description of each picture.
    pictures: Vec<(String, String)>,
    files: Vec<FileRow>,
    /// Markup placed before the pictures and the text.
    beside: String,
    /// Markup of what the page offers.
    tools: String,
}

/// The heading of the section that decides: it stands above the pictures.
const VERDICT: &str = "Verdict";

/// A section of the printed text.
#[derive(Debug, PartialEq, Eq)]
struct Section {
    heading: String,
    text: String,
    /// The items of the text if it is nothing but a list. They are shown as wide as the window.
    items: Vec<String>,
    /// The facts of the text if it is nothing but names with values. They too are shown as wide as the window.
    facts: Vec<Fact>,
}

/// A name with its value.
#[derive(Debug, PartialEq, Eq)]
struct Fact {
    name: String,
    value: String,
    /// Whether it belongs to a fact above.
    is_part: bool,
}

struct FileRow {
    name: String,
    href: String,
    /// Whether the browser shows the file, in a sandbox.
    is_page: bool,
    /// Whether the file can be saved in the folder.
    can_be_kept: bool,
}

impl FileRow {
    /// Whether the file is a page to read and print.
    fn is_paper(&self) -> bool {
        self.name.ends_with(".html")
    }
}

impl Answered<'_> {
    fn has_papers(&self) -> bool {
        self.files.iter().any(FileRow::is_paper)
    }
}

/// Markup of a run. Waits a moment first, so that a short run is shown answered at once.
pub async fn shown(state: &State, run: &Arc<Run>, again: &str) -> Response {
    let mut watch = run.watch();
    let done = watch.wait_for(Stage::is_over);
    // Whether the run is done is looked up below.
    drop(tokio::time::timeout(PATIENCE, done).await);
    Html(markup(state, run, again)).into_response()
}

/// Markup of the run with this number.
pub async fn fragment(state: Shared, Path(id): Path<String>, RawQuery(again): RawQuery) -> Response {
    let again = again.map(|query| format!("?{query}")).unwrap_or_default();
    match state.runs.find(&id) {
        Some(run) => {
            run.keep_up(AFTER_A_LOOK);
            Html(markup(&state, &run, &again)).into_response()
        }
        None => refusal(StatusCode::NOT_FOUND, "The answer is not kept any more: ask again."),
    }
}

/// The page of a run: its progress, and its answer for as long as that is kept.
pub async fn page(state: Shared, Path(id): Path<String>) -> Response {
    let Some(run) = state.runs.find(&id) else {
        return super::missing(&state, "The answer is not kept any more: ask again.");
    };
    let title = state.questions.find(&run.question).map_or("Result", |question| question.title);
    let body = format!(
        "<p class=\"told\">Asked {}. <a href=\"/ask/{}{}\">Back to the question</a></p>\n<div id=\"answer\">{}</div>",
        run.age(),
        run.question,
        escaped(&run.again),
        markup(&state, &run, &run.again)
    );
    let here = Here { shows: Some(run.id.clone()), ..Here::at(&format!("ask/{}", run.question)) };
    whole_page(&state, title, &here, body)
}

/// Stops a run.
pub async fn stop(state: Shared, Path(id): Path<String>) -> Response {
    if let Some(run) = state.runs.find(&id) {
        run.stop();
    }
    Html("<p class=\"told\" role=\"status\">Stopped.</p>").into_response()
}

/// Streams the progress of a run until it is done.
pub async fn progress(state: Shared, Path(id): Path<String>) -> Response {
    let Some(run) = state.runs.find(&id) else {
        return refusal(StatusCode::NOT_FOUND, "The answer is not kept any more: ask again.");
    };
    Sse::new(events(&run)).keep_alive(KeepAlive::default()).into_response()
}

/// One event for the stage now and one for each change. The last event is `done`. The run counts as followed meanwhile.
fn events(run: &Arc<Run>) -> impl Stream<Item = Result<Event, Infallible>> + use<> {
    let start = (run.watch(), run.follow(), true);
    stream::unfold(Some(start), |state| async {
        let (mut watch, following, is_first) = state?;
        if !is_first && watch.changed().await.is_err() {
            return None;
        }
        let stage = watch.borrow_and_update().clone();
        Some(match stage.step() {
            Some(step) => (Ok(Event::default().event("step").data(step)), Some((watch, following, false))),
            None => (Ok(Event::default().event("done").data("done")), None),
        })
    })
}

fn markup(state: &State, run: &Run, again: &str) -> String {
    let stage = run.watch().borrow().clone();
    match stage {
        Stage::Waiting | Stage::Working(_) => UnderWay { id: &run.id, again }.render().unwrap_or_default(),
        Stage::Stopped => "<p class=\"told\" role=\"status\">Stopped.</p>".into(),
        Stage::Failed(reason) => alert_markup(&reason),
        Stage::Answered(answer) => answered(state, run, &answer, again),
    }
}

fn answered(state: &State, run: &Run, answer: &Answer, again: &str) -> String {
    let has_files = state.questions.find(&run.question).is_some_and(|question| question.has_files);
    let ends = |name: &str, ending: &str| name.to_ascii_lowercase().ends_with(ending);
    let files = answer.files.iter().map(|name| FileRow {
        href: format!("/made/{}/{}", run.id, encoded(name)),
        is_page: [".html", ".svg", ".png"].iter().any(|ending| ends(name, ending)),
        can_be_kept: crate::desk::folder::Name::shown(name).is_ok(),
        name: name.clone(),
    });
    let windings = windings::markup(run, answer, 1);
    // `windings` shows the picture of the front itself.
    let is_shown = |name: &str| ends(name, ".svg") && !(windings.is_some() && name == windings::FRONT);
    let pictures = answer.files.iter().filter(|name| is_shown(name));
    let field = field_at::beside(&run.question, &run.words);
    let tools = Tools::of(state, &format!("ask/{}{again}", run.question)).of_run(&run.id);
    let (told, wrong) = match state.questions.find(&run.question) {
        Some(question) => told_in_a_form(question, &answer.told),
        None => (answer.told.clone(), Vec::new()),
    };
    // The files that were written are listed below with their links.
    let text = without_names_of_files(&answer.text);
    let mut verdict: Vec<Section> = sections(&text).into_iter().flat_map(apart).map(Section::of).collect();
    let end = verdict.iter().position(|section| section.heading == VERDICT).map_or(0, |last| last + 1);
    let sections = verdict.split_off(end);
    Answered {
        id: &run.id,
        verdict,
        sections,
        told: told.trim().to_owned(),
        wrong: wrong.join(" "),
        status: match answer.status {
            Some(0) => "done",
            _ => "failed",
        },
        pictures: pictures
            .map(|name| (format!("/made/{}/{}", run.id, encoded(name)), pictured(run, name)))
            .collect(),
        files: files.collect(),
        beside: windings.or(field).unwrap_or_default(),
        tools: tools.by(&command_of(&run.words, has_files)).markup(),
    }
    .render()
    .unwrap_or_default()
}

/// The text without its lines that say which files were written into the run's own folder.
fn without_names_of_files(text: &str) -> String {
    let is_told = |line: &&str| !line.starts_with(&format!("wrote {OUT}/"));
    text.lines().filter(is_told).map(|line| format!("{line}\n")).collect()
}

/// A section with what follows its list, if it has one, as a section of its own: a list is then shown as such.
fn apart((heading, text): (String, String)) -> Vec<(String, String)> {
    match text.rsplit_once("\n\n") {
        Some((list, after))
            if items(list).is_some_and(|items| !items.is_empty()) && items(after).is_none() =>
        {
            vec![(heading, list.to_owned()), (String::new(), after.to_owned())]
        }
        _ => vec![(heading, text)],
    }
}

impl Section {
    fn of((heading, text): (String, String)) -> Self {
        Self {
            heading,
            items: items(&text).unwrap_or_default(),
            facts: facts(&text).unwrap_or_default(),
            text,
        }
    }
}

impl Section {
    /// Whether the text has no columns, so that its lines may be broken anywhere.
    fn is_prose(&self) -> bool {
        self.text.lines().all(|line| !line.starts_with(' ') && !line.contains("  "))
    }
}

/// The facts of a text whose lines each have a name and a value, with the values in one column. `None` for any other
/// text.
fn facts(text: &str) -> Option<Vec<Fact>> {
    let lines: Vec<Vec<char>> =
        text.lines().filter(|line| !line.trim().is_empty()).map(|line| line.chars().collect()).collect();
    let first: String = lines.first()?.iter().collect();
    let name = first.strip_prefix("  ")?.trim_start().split("  ").next()?.to_owned();
    let after_name = first.find(&name)? + name.len();
    let gap = first[after_name..].chars().take_while(|it| *it == ' ').count();
    let column = first[..after_name].chars().count() + gap;
    let mut facts: Vec<Fact> = Vec::new();
    for line in lines {
        let (name, value) = line.split_at_checked(column)?;
        let (name, value) = (name.iter().collect::<String>(), value.iter().collect::<String>());
        if !name.starts_with("  ") || !name.ends_with("  ") || value.starts_with(' ') || value.contains("  ")
        {
            return None;
        }
        let is_part = name.starts_with("    ");
        let name = name.trim().to_owned();
        match facts.last_mut() {
            Some(fact) if name.is_empty() => fact.value += &format!(" {value}"),
            _ => facts.push(Fact { name, value, is_part }),
        }
    }
    Some(facts)
}

/// The items of a text, each joined to one line. `None` if the text is more than a list.
fn items(text: &str) -> Option<Vec<String>> {
    let mut items: Vec<String> = Vec::new();
    for line in text.lines().filter(|line| !line.trim().is_empty()) {
        match (line.strip_prefix("- "), line.strip_prefix("  ")) {
            (Some(item), _) => items.push(item.to_owned()),
            (None, Some(more)) if !more.starts_with(' ') => *items.last_mut()? += &format!(" {more}"),
            _ => return None,
        }
    }
    Some(items)
}

/// The description of a picture, for readers who cannot see it.
fn pictured(run: &Run, name: &str) -> String {
    let drawn = run.read(name).unwrap_or_default();
    described(&String::from_utf8_lossy(&drawn))
        .unwrap_or_else(|| format!("picture: {}", name.trim_end_matches(".svg").replace('-', " ")))
}

/// Title and description of an SVG drawn by the program.
fn described(svg: &str) -> Option<String> {
    let part = |name: &str| {
        let (_, rest) = svg.split_once(&format!("<{name} id="))?;
        let (text, _) = rest.split_once('>')?.1.split_once('<')?;
        Some(plain(text))
    };
    let (title, description) = (part("title")?, part("desc")?);
    Some(if description.contains(&title) { description } else { format!("{title}. {description}") })
}

/// The text that markup without tags stands for.
fn plain(markup: &str) -> String {
    markup.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&")
}

/// Cuts a text page into sections. A heading is a line followed by a line of hyphens or equals signs.
fn sections(text: &str) -> Vec<(String, String)> {
    let mut sections = vec![(String::new(), String::new())];
    let lines: Vec<&str> = text.lines().collect();
    let is_rule =
        |line: &str| line.len() > 2 && (line.chars().all(|it| it == '-') || line.chars().all(|it| it == '='));
    let mut at = 0;
    while at < lines.len() {
        match lines.get(at + 1).filter(|below| is_rule(below) && !lines[at].trim().is_empty()) {
            Some(_) => {
                sections.push((lines[at].trim().to_owned(), String::new()));
                at += 2;
            }
            None => {
                if let Some((_, body)) = sections.last_mut() {
                    *body += lines[at];
                    *body += "\n";
                }
                at += 1;
            }
        }
    }
    sections.retain(|(heading, body)| !heading.is_empty() || !body.trim().is_empty());
    sections.iter_mut().for_each(|(_, body)| *body = body.trim_matches('\n').to_owned());
    sections
}

/// The words of the command that gives the same answer.
pub fn command_of(words: &[String], has_files: bool) -> Vec<String> {
    let mut words = words.to_vec();
    if has_files {
        words.push("--out=papers".into());
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_is_described_in_its_own_words() {
        let figure = coilwright::paper::Figure::new(10.0, 10.0, "A & B <1>", "Lines \"here\".");
        assert_eq!(described(&figure.svg()).unwrap(), "A & B <1>. Lines \"here\".");
        assert_eq!(described("<svg></svg>"), None);
    }

    #[test]
    fn a_list_is_told_from_a_table() {
        let list = "- hot: mind\n  the coils.\n- glass\n";
        assert_eq!(items(list).unwrap(), ["hot: mind the coils.".to_owned(), "glass".into()]);
        for other in ["a  1\n- b\n", "  a  1\n", "- a\n    x  1\n", "- a\nb\n"] {
            assert_eq!(items(other), None, "{other}");
        }
        assert_eq!(items("").unwrap().len(), 0);
    }

    #[test]
    fn a_list_is_told_from_what_follows_it_and_from_the_names_of_files() {
        let text = without_names_of_files("- hot\n- glass\nwrote files/a.csv\nwrote files/b.csv\n");
        assert_eq!(text, "- hot\n- glass\n");
        let cut = |text: &str| apart(("Cautions".into(), text.into()));
        assert_eq!(
            cut("- hot\n- glass\n\nentered as entry 1"),
            [("Cautions".into(), "- hot\n- glass".into()), (String::new(), "entered as entry 1".to_owned())]
        );
        for whole in ["- hot\n\n- glass", "a\n\nb", "a  1\n"] {
            assert_eq!(cut(whole), [("Cautions".to_owned(), whole.to_owned())]);
        }
    }

    #[test]
    fn names_with_values_are_told_from_a_table() {
        let text = "  field, ±     1 mT\n    part of it 2 %\n               at most\n";
        assert_eq!(facts(text), None, "a name that touches its value");
        let text = "  field, ±      1 mT\n    part of it  2 %\n                at most\n";
        let found = facts(text).unwrap();
        let fact =
            |name: &str, value: &str, is_part| Fact { name: name.into(), value: value.into(), is_part };
        assert_eq!(found, [fact("field, ±", "1 mT", false), fact("part of it", "2 % at most", true)]);
        for other in
            ["", "a  1\n", "  a  1  2\n", "  a  1\nb\n", "  a\n", "- a\n  b  1\n", "  a   1\n  b  1\n"]
        {
            assert_eq!(facts(other).unwrap_or_default(), [], "{other}");
        }
    }

    #[test]
    fn a_text_is_cut_at_its_headings_and_nothing_is_lost() {
        let text = "Pair\n====\nfirst  1\n\nCautions\n--------\n- hot\n\n- x\n";
        let cut = sections(text);
        assert_eq!(cut, [("Pair".into(), "first  1".into()), ("Cautions".into(), "- hot\n\n- x".into())]);
        assert_eq!(sections("a\n---\n").len(), 1);
        assert_eq!(sections("x_m,y_m\n0,0\n"), [(String::new(), "x_m,y_m\n0,0".to_owned())]);
    }
}
