//! Tests of the page "A first spec in eight questions".

use super::{Desk, js};
use serde_json::json;

/// Answers a question as a user does, and notifies the page.
fn answer(desk: &mut Desk, pointer: &str, value: &str) {
    let found = desk.page.evaluate(&format!(
        "(() => {{ const it = document.querySelector('#first [name=\"{pointer}\"]'); it.value = {}; \
         it.dispatchEvent(new Event('change', {{ bubbles: true }})); return it.value; }})()",
        js(value)
    ));
    assert_eq!(found, json!(value), "{pointer}");
}

const ANSWERS: [(&str, &str); 13] = [
    ("/title", "Pair of the north room"),
    ("/winding/mean_radius", "6.3 in"),
    ("/winding/width", "15 mm"),
    ("/winding/depth", "1 cm"),
    ("/winding/turns", "150"),
    ("/winding/wire/size", "0.9 mm"),
    ("/winding/wire/build", "grade 2"),
    ("/spacing", "16 cm"),
    ("/connection", "series"),
    ("/supply/current_limit", "2.8 A"),
    ("/tube/bulb_radius", "82 mm"),
    ("/tube/gun_voltage/0", "120 V"),
    ("/tube/gun_voltage/1", "280 V"),
];

fn make(desk: &mut Desk) {
    desk.page.evaluate("document.querySelector('#first button').click()");
}

#[test]
fn eight_questions_make_a_spec_and_its_page_in_the_units_that_were_typed() {
    let mut desk = Desk::empty();
    desk.follow("A first spec in eight questions");
    assert_eq!(desk.page.evaluate("document.querySelectorAll('#first fieldset.question').length"), json!(8));
    for (pointer, value) in ANSWERS {
        answer(&mut desk, pointer, value);
    }
    // The result of the answers is shown before anything is written.
    desk.page.wait_for("!!document.querySelector('#so-far img')");
    desk.page.wait_for("document.querySelector('#so-far').innerText.includes('Everything that is needed')");
    assert_eq!(std::fs::read_dir(desk.folder.path()).unwrap().count(), 0);
    make(&mut desk);
    desk.page.wait_for("document.querySelector('h1')?.textContent === 'pair-of-the-north-room.json' && document.readyState === 'complete'");
    assert!(desk.checked().contains("Right"), "{}", desk.checked());
    let held = desk.holds("pair-of-the-north-room.json");
    for part in ["\"6.3 in\"", "\"1 cm\"", "\"16 cm\"", "\"turns\": 150"] {
        assert!(held.contains(part), "{held}");
    }
    // What was not known is left out.
    assert!(!held.contains("beam_radius") && !held.contains("voltage_limit"), "{held}");
    desk.follow("Data sheet");
    assert!(desk.answered().text.contains("Pair of the north room"));
    desk.is_quiet();
}

#[test]
fn what_is_not_known_is_left_out_and_found_on_the_pairs_page() {
    let mut desk = Desk::empty();
    desk.go("first");
    answer(&mut desk, "/title", "Pair from the cupboard");
    answer(&mut desk, "/winding/turns", "150");
    make(&mut desk);
    desk.page.wait_for("document.querySelector('h1')?.textContent === 'pair-from-the-cupboard.json' && document.readyState === 'complete'");
    assert!(
        desk.checked().contains("Not finished: a whole spec still needs mean radius"),
        "{}",
        desk.checked()
    );
    // If the name exists already, that is reported at its field, and nothing is lost.
    desk.go("first");
    answer(&mut desk, "/title", "Pair from the cupboard");
    make(&mut desk);
    desk.page.wait_for(
        "document.getElementById('first-name-wrong').textContent.includes('there is a file of that name')",
    );
    assert_eq!(
        desk.text("document.querySelector('#first [name=\"/title\"]').value"),
        "Pair from the cupboard"
    );
    desk.is_quiet();
}

#[test]
fn wrong_input_at_every_field_is_told_there_and_nothing_is_written() {
    let mut desk = Desk::empty();
    desk.go("first");
    let fields = desk.page.evaluate(
        "[...document.querySelectorAll('#first input[name^=\"/\"]')].map((it) => it.name).filter((it) => it !== '/title')",
    );
    let fields: Vec<String> =
        fields.as_array().unwrap().iter().map(|it| it.as_str().unwrap().into()).collect();
    assert!(fields.len() > 15, "{fields:?}");
    for pointer in fields {
        desk.page.evaluate("localStorage.clear()");
        desk.go("first");
        answer(&mut desk, &pointer, "a few ells");
        let told = format!("document.getElementById({}).textContent", js(&format!("w{pointer}")));
        desk.page.wait_for(&format!("{told} !== ''"));
        make(&mut desk);
        let field = format!("document.querySelector('#first [name=\"{pointer}\"]')");
        desk.page.wait_for(&format!("{field}.getAttribute('aria-invalid') === 'true'"));
        let told = desk.text(&told);
        assert!(told.contains("a few ells") || told.contains("is text, not a"), "{pointer}: {told}");
        // The error is linked to its field for screen readers, and the field gets the focus.
        let described = desk.text(&format!("{field}.getAttribute('aria-describedby')"));
        assert!(described.split(' ').any(|id| id == format!("w{pointer}")), "{described}");
        // The focus moves once the answer is in the page.
        desk.page.wait_for("document.querySelector('#first [aria-invalid=true]') === document.activeElement");
    }
    assert_eq!(std::fs::read_dir(desk.folder.path()).unwrap().count(), 0);
    desk.is_quiet();
}

#[test]
fn a_first_spec_is_made_with_the_keyboard_alone() {
    let mut desk = Desk::empty();
    desk.go("first");
    desk.tab_to("it.name === '/title'");
    desk.page.insert("Pair");
    for (pointer, value) in ANSWERS
        .iter()
        .filter(|(pointer, _)| !["/title", "/connection", "/winding/wire/build"].contains(pointer))
    {
        desk.tab_round_to(&format!("it.name === '{pointer}'"));
        desk.page.insert(value);
    }
    desk.tab_round_to("it.textContent === 'Make the spec'");
    desk.page.press("Enter");
    desk.page.wait_for(
        "document.querySelector('h1')?.textContent === 'pair.json' && document.readyState === 'complete'",
    );
    assert!(desk.holds("pair.json").contains("\"6.3 in\""));
    desk.is_quiet();
}
