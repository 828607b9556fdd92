//! Tests of what is typed and not sent or saved yet: it is not lost, and nothing else is answered in its place.

use super::{Desk, js};
use serde_json::json;

/// Types into a field of a form, and leaves it.
fn type_into(desk: &mut Desk, selector: &str, value: &str) {
    desk.page.evaluate(&format!(
        "(() => {{ const it = document.querySelector({}); it.value = {}; for (const kind of ['input', 'change']) \
         it.dispatchEvent(new Event(kind, {{ bubbles: true }})); }})()",
        js(selector),
        js(value)
    ));
}

fn value(desk: &mut Desk, selector: &str) -> String {
    desk.text(&format!("document.querySelector({}).value", js(selector)))
}

fn press(desk: &mut Desk, selector: &str) {
    desk.page.evaluate(&format!("document.querySelector({}).click()", js(selector)));
}

const TITLE: &str = "form.first [name=\"/title\"]";
const TURNS: &str = "form.first [name=\"/winding/turns\"]";

#[test]
fn answers_of_the_first_spec_survive_reload_and_back_and_can_be_undone() {
    let mut desk = Desk::empty();
    desk.go("first");
    type_into(&mut desk, TITLE, "North room");
    type_into(&mut desk, TURNS, "150");
    desk.page.wait_for("document.getElementById('so-far').innerText.includes('An unfinished spec')");
    desk.page.load_anew("!!document.querySelector('form.first')");
    assert_eq!((value(&mut desk, TITLE), value(&mut desk, TURNS)), ("North room".into(), "150".into()));
    // What the answers make is told again as well.
    desk.page.wait_for("document.getElementById('so-far').innerText.includes('An unfinished spec')");
    desk.go("ask/wires");
    desk.page.back();
    desk.page.wait_for("!!document.querySelector('form.first') && document.readyState === 'complete'");
    assert_eq!(value(&mut desk, TURNS), "150");
    type_into(&mut desk, TURNS, "160");
    press(&mut desk, "[data-back]");
    assert_eq!(value(&mut desk, TURNS), "150");
    press(&mut desk, "[data-forth]");
    assert_eq!(value(&mut desk, TURNS), "160");
    press(&mut desk, "[data-clear]");
    assert_eq!(value(&mut desk, TITLE), "");
    press(&mut desk, "[data-back]");
    assert_eq!(value(&mut desk, TITLE), "North room");
    // A wrong answer keeps them, and a made spec ends them.
    type_into(&mut desk, TURNS, "many");
    press(&mut desk, "#first button:not([type])");
    desk.page.wait_for("document.querySelector('#first [aria-invalid=true]')?.name === '/winding/turns'");
    desk.page.load_anew("!!document.querySelector('form.first')");
    assert_eq!(value(&mut desk, TURNS), "many");
    type_into(&mut desk, TURNS, "160");
    press(&mut desk, "#first button:not([type])");
    desk.page.wait_for("document.querySelector('h1')?.textContent === 'north-room.json' && document.readyState === 'complete'");
    desk.go("first");
    assert_eq!(value(&mut desk, TITLE), "");
    desk.is_quiet();
}

#[test]
fn a_first_spec_with_a_title_alone_is_unfinished_everywhere() {
    let mut desk = Desk::empty();
    desk.go("first");
    type_into(&mut desk, TITLE, "North room");
    let told = "document.getElementById('so-far').innerText";
    desk.page
        .wait_for(&format!("{told}.includes('still needs mean radius, width, depth, turns, wire, spacing')"));
    press(&mut desk, "#first button:not([type])");
    desk.page.wait_for("document.querySelector('h1')?.textContent === 'north-room.json' && document.readyState === 'complete'");
    assert!(
        desk.checked().contains("Not finished: a whole spec still needs mean radius"),
        "{}",
        desk.checked()
    );
    desk.go("");
    assert_eq!(desk.text("document.querySelector('td.state').textContent"), "unfinished");
    assert!(
        desk.text("document.querySelector('main').innerText")
            .to_lowercase()
            .contains("unfinished spec or quote")
    );
    desk.is_quiet();
}

#[test]
fn what_is_pasted_for_a_new_file_survives_a_reload() {
    let mut desk = Desk::empty();
    type_into(&mut desk, "#new-text", "current_A,field_mT\n1,0.85\n");
    type_into(&mut desk, "#new-name", "readings.csv");
    desk.page.load_anew("!!document.getElementById('new-text')");
    assert_eq!(value(&mut desk, "#new-text"), "current_A,field_mT\n1,0.85\n");
    press(&mut desk, "[data-new] button");
    desk.page.wait_for(
        "document.querySelector('h1')?.textContent === 'readings.csv' && document.readyState === 'complete'",
    );
    desk.go("");
    assert_eq!(value(&mut desk, "#new-text"), "");
    desk.is_quiet();
}

#[test]
fn a_question_about_a_file_with_unsaved_edits_says_so_and_saves_if_wanted() {
    let mut desk = Desk::with(&["window-bench.json"]);
    desk.go("file/window-bench.json");
    assert!(desk.text("document.querySelector('.kind').innerText").contains("as it is saved"));
    let own = desk.text("document.getElementById('text').value").replace("\"turns\": 150", "\"turns\": 148");
    desk.write(&own);
    let ask =
        "[...document.querySelectorAll('.kind a.ask')].find((it) => it.textContent === 'Data sheet').click()";
    desk.page.evaluate(ask);
    let told = desk.text("document.getElementById('file-told').innerText");
    assert!(told.contains("unsaved edits") && told.contains("as it is saved"), "{told}");
    assert_eq!(desk.page.evaluate("location.pathname"), json!("/file/window-bench.json"));
    desk.page.keep_picture("unsaved");
    desk.page.evaluate("[...document.querySelectorAll('#file-told button')].find((it) => it.textContent === 'Save and ask').click()");
    desk.page.wait_for("location.pathname === '/ask/sheet' && document.readyState === 'complete'");
    assert!(desk.holds("window-bench.json").contains("\"turns\": 148"));
    desk.answered();
    // Without edits the link leads there at once.
    desk.go("file/window-bench.json");
    desk.page.evaluate(ask);
    desk.page.wait_for("location.pathname === '/ask/sheet' && document.readyState === 'complete'");
    desk.is_quiet();
}
