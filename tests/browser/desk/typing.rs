//! Tests of a spec as form and text: each follows the other, and nothing typed is lost.

use super::{Desk, text_of};

/// Types into a field as a user does, and notifies the page.
fn fill(desk: &mut Desk, pointer: &str, value: &str) {
    desk.page.evaluate(&format!(
        "(() => {{ const it = document.querySelector('[data-pointer=\"{pointer}\"]'); it.focus(); it.value = {}; \
         it.dispatchEvent(new Event('input', {{ bubbles: true }})); }})()",
        serde_json::Value::from(value)
    ));
}

fn field(desk: &mut Desk, pointer: &str) -> String {
    desk.text(&format!("document.querySelector('[data-pointer=\"{pointer}\"]').value"))
}

fn text(desk: &mut Desk) -> String {
    desk.text("document.getElementById('text').value")
}

/// Waits until the text contains this part.
fn text_holds(desk: &mut Desk, part: &str) {
    let part = serde_json::Value::from(part);
    desk.page.wait_for(&format!("document.getElementById('text').value.includes({part})"));
}

fn opened() -> Desk {
    let mut desk = Desk::with(&["window-bench.json"]);
    desk.go("file/window-bench.json");
    desk.page.wait_for("!!document.querySelector('#picture img').src");
    desk
}

#[test]
fn a_field_changes_text_picture_and_sheet_and_the_text_the_field() {
    let mut desk = opened();
    let picture = desk.text("document.querySelector('#picture img').src");
    desk.page.evaluate("document.querySelector('#sheet').open = true");
    desk.page.wait_for("document.querySelector('#sheet pre').textContent.includes('field constant')");
    let sheet = desk.text("document.querySelector('#sheet pre').textContent");
    fill(&mut desk, "/spacing", "171 mm");
    text_holds(&mut desk, "\"spacing\": \"171 mm\"");
    assert_ne!(desk.text("document.querySelector('#picture img').src"), picture);
    assert_ne!(desk.text("document.querySelector('#sheet pre').textContent"), sheet);
    let typed = text(&mut desk).replace("171 mm", "169 mm");
    desk.page.evaluate("document.getElementById('text').focus()");
    desk.write(&typed);
    assert_eq!(field(&mut desk, "/spacing"), "169 mm");
    fill(&mut desk, "/spacing", "169");
    desk.page.wait_for(
        "document.querySelector('[data-pointer=\"/spacing\"]').getAttribute('aria-invalid') === 'true'",
    );
    assert!(desk.text("document.getElementById('w/spacing').textContent").contains("unit"));
    desk.is_quiet();
}

#[test]
fn two_fields_and_save_within_one_answer_all_arrive() {
    let mut desk = opened();
    fill(&mut desk, "/winding/mean_radius", "161 mm");
    fill(&mut desk, "/spacing", "161.5 mm");
    fill(&mut desk, "/winding/turns", "151");
    assert!(desk.save().contains("Saved"));
    let saved = desk.holds("window-bench.json");
    for part in ["\"161 mm\"", "\"161.5 mm\"", "151"] {
        assert!(saved.contains(part), "{part}: {saved}");
    }
    assert_eq!(field(&mut desk, "/spacing"), "161.5 mm");
    desk.is_quiet();
}

#[test]
fn one_value_of_a_list_is_cleared_and_typed_anew() {
    let mut desk = opened();
    let other = field(&mut desk, "/tube/gun_exit/1");
    let value = field(&mut desk, "/tube/gun_exit/0");
    fill(&mut desk, "/tube/gun_exit/0", "");
    text_holds(&mut desk, "[\"\",");
    assert_eq!(field(&mut desk, "/tube/gun_exit/1"), other);
    fill(&mut desk, "/tube/gun_exit/0", &value);
    desk.page.wait_for("document.querySelector('#checked .verdict').textContent === 'Right.'");
    assert_eq!(
        serde_json::from_str::<serde_json::Value>(&text(&mut desk)).unwrap(),
        serde_json::from_str::<serde_json::Value>(&text_of("window-bench.json")).unwrap()
    );
    desk.is_quiet();
}

#[test]
fn a_slider_moves_its_quantity_and_undo_reaches_back_through_an_empty_text() {
    let mut desk = opened();
    let before = text(&mut desk);
    desk.page.evaluate(
        "(() => { const it = document.querySelector('[data-drags=\"f/spacing\"]'); it.value = 50; \
         it.dispatchEvent(new Event('input', { bubbles: true })); it.dispatchEvent(new Event('change', { bubbles: true })); })()",
    );
    // 160 mm and half of a fifth of it, because the slider is half-way to its end.
    text_holds(&mut desk, "\"176.0 mm\"");
    desk.page.evaluate("document.querySelector('[data-undo]').click()");
    assert_eq!(text(&mut desk), before);
    desk.page.evaluate(
        "(() => { const it = document.getElementById('text'); it.value = ''; it.dispatchEvent(new Event('input', { bubbles: true })); })()",
    );
    desk.page.wait_for("document.querySelector('#checked .verdict').textContent.startsWith('Wrong')");
    desk.page.evaluate("(() => { const it = document.getElementById('text'); it.value = '{}'; it.dispatchEvent(new Event('input', { bubbles: true })); })()");
    for _ in 0..2 {
        desk.page.evaluate("document.querySelector('[data-undo]').click()");
    }
    assert_eq!(text(&mut desk), before);
    desk.is_quiet();
}
