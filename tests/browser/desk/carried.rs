//! Tests of what follows the user from page to page, which is the chosen files, and of the tools that every page
//! offers.

use super::{Desk, js};
use serde_json::{Value, json};

fn chosen(desk: &mut Desk, field: &str) -> String {
    desk.text(&format!("document.querySelector('form.ask [name={field}]')?.value ?? ''"))
}

#[test]
fn links_between_questions_keep_the_chosen_files() {
    let mut desk =
        Desk::with(&["window-bench.json", "quote-thick.json", "lessons.json", "readings.csv", "runs.csv"]);
    desk.go("ask/sheet");
    assert_eq!(chosen(&mut desk, "spec"), "");
    // A file chosen in the page is carried to the next question.
    desk.page.evaluate("(() => { const it = document.querySelector('form.ask [name=spec]'); it.value = 'quote-thick.json'; it.dispatchEvent(new Event('change', { bubbles: true })); })()");
    desk.answered();
    desk.follow("Heat");
    assert_eq!(chosen(&mut desk, "spec"), "quote-thick.json");
    desk.go("ask/calibrate?spec=quote-thick.json&readings=readings.csv");
    // It is carried through a question that asks for no file, and through one that asks for another file.
    for title in ["Stock wires", "Choose a winding", "Calibration"] {
        desk.follow(title);
    }
    assert_eq!(chosen(&mut desk, "spec"), "quote-thick.json");
    assert_eq!(chosen(&mut desk, "readings"), "readings.csv");
    desk.follow("Class runs");
    assert_eq!(chosen(&mut desk, "spec"), "quote-thick.json");
    // It is also carried from a file's own page.
    desk.go("file/window-bench.json");
    desk.follow("What to hold");
    assert_eq!(chosen(&mut desk, "spec"), "window-bench.json");
    desk.is_quiet();
}

#[test]
fn every_page_can_be_packed_printed_typed_and_opened_again() {
    let mut desk = Desk::with(&[
        "window-bench.json",
        "lessons.json",
        "runs.csv",
        "window-bench.register",
        "readings.csv",
    ]);
    let questions =
        desk.page.evaluate("[...document.querySelectorAll('nav a')].map((it) => it.pathname.slice(1))");
    let mut pages: Vec<String> =
        questions.as_array().unwrap().iter().map(|it| it.as_str().unwrap().to_owned()).collect();
    pages.extend(
        [
            "",
            "first",
            "file/window-bench.json",
            "file/window-bench.json?see=beam",
            "file/runs.csv",
            "file/window-bench.register",
        ]
        .map(str::to_owned),
    );
    for path in pages {
        let path = if path.starts_with("ask/") { format!("{path}?spec=window-bench.json") } else { path };
        desk.go(&path);
        let again =
            desk.text("[...document.querySelectorAll('.tools [data-again] code')].at(-1)?.textContent ?? ''");
        let folder = desk.folder.path().to_str().unwrap().to_owned();
        assert!(again.starts_with("coilwright desk ") && again.contains(&folder), "{path}: {again}");
        let opens = again.split("--open ").nth(1).unwrap_or_default().trim_matches('\'').to_owned();
        assert!(path.is_empty() || opens.starts_with(path.split('?').next().unwrap()), "{path}: {again}");
        assert_eq!(
            desk.page.evaluate("!!document.querySelector('.tools [data-print]')"),
            json!(true),
            "{path}"
        );
        if path.starts_with("ask/") {
            let command =
                desk.text("[...document.querySelectorAll('.tools .command code')].at(0)?.textContent ?? ''");
            assert!(command.starts_with("coilwright "), "{path}: {command}");
        }
        let archive: Value = desk.page.evaluate(
            "(async () => { const link = document.querySelector('.tools a'); if (!link) return null; const answer = await fetch(link.href); \
             return [answer.status, (await answer.blob()).size]; })()",
        );
        if path != "first" {
            assert_eq!(archive[0], json!(200), "{path}: {archive}");
            assert!(archive[1].as_u64().unwrap() > 100, "{path}: {archive}");
        }
    }
    desk.is_quiet();
}

#[test]
fn the_archive_of_an_answer_holds_what_was_printed() {
    let mut desk = Desk::with(&["window-bench.json"]);
    let sheet = desk.ask("sheet", &[("spec", "window-bench.json")]);
    let bytes = desk.page.evaluate(
        "(async () => [...new Uint8Array(await (await fetch(document.querySelector('#answer .tools a').href)).arrayBuffer())])()",
    );
    let bytes: Vec<u8> = bytes.as_array().unwrap().iter().map(|it| it.as_u64().unwrap() as u8).collect();
    let mut archive = zip::ZipArchive::new(std::io::Cursor::new(bytes)).unwrap();
    let text = std::io::read_to_string(archive.by_name("answer.txt").unwrap()).unwrap();
    assert_eq!(super::words(&text), super::words(&sheet.text));
    desk.is_quiet();
}

#[test]
fn a_print_shows_the_answer_and_nothing_around_it() {
    let mut desk = Desk::with(&["window-bench.json"]);
    desk.ask("sheet", &[("spec", "window-bench.json")]);
    let printed = desk.page.printed(
        "['header', 'nav', 'footer', 'form.ask', '.tools', '#answer section.said'].map((it) => getComputedStyle(document.querySelector(it)).display !== 'none' \
         && document.querySelector(it).getBoundingClientRect().height > 0)",
    );
    assert_eq!(printed, json!([false, false, false, false, false, true]), "{}", js("print"));
    desk.is_quiet();
}

#[test]
fn the_budget_of_a_calibration_is_drawn_as_bars_and_told_in_words() {
    let mut desk = Desk::with(&["window-bench.json", "readings.csv"]);
    let answer = desk.ask(
        "calibrate",
        &[("spec", "window-bench.json"), ("readings", "readings.csv"), ("date", "2026-11-20")],
    );
    assert!(answer.files.iter().any(|name| name == "calibration-budget.svg"), "{:?}", answer.files);
    let told = desk.text("[...document.querySelectorAll('#answer figure img')].find((it) => it.src.endsWith('calibration-budget.svg')).alt");
    assert!(
        told.contains("Uncertainty budget") && told.contains("µT/A") && told.contains("together"),
        "{told}"
    );
    // Every picture has a description.
    let bare = desk.page.evaluate(
        "[...document.querySelectorAll('#answer figure img')].filter((it) => it.alt.length < 20).length",
    );
    assert_eq!(bare, json!(0));
    desk.is_quiet();
}
