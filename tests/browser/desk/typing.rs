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
    desk.page.evaluate("document.querySelectorAll('details').forEach((it) => { it.open = true; })");
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
fn the_help_of_a_field_is_seen_while_one_is_in_it_and_moves_nothing() {
    let mut desk = opened();
    let seen = |desk: &mut Desk, pointer: &str| {
        let told = desk.text(&format!("document.getElementById('h{pointer}').textContent"));
        !told.is_empty() && desk.text("document.getElementById('help').textContent") == told
    };
    let place = "document.getElementById('f/winding/turns').getBoundingClientRect().top.toString()";
    let before = desk.text(place);
    assert!(!seen(&mut desk, "/winding/mean_radius"));
    desk.page.evaluate("document.getElementById('f/winding/mean_radius').focus({ preventScroll: true })");
    assert!(seen(&mut desk, "/winding/mean_radius"));
    assert_eq!(desk.text(place), before);
    desk.page.evaluate("document.getElementById('f/winding/turns').focus({ preventScroll: true })");
    assert!(!seen(&mut desk, "/winding/mean_radius") && seen(&mut desk, "/winding/turns"));
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

#[test]
fn every_kind_of_file_is_checked_as_what_it_is() {
    let files = [
        "window-bench.json",
        "readings.csv",
        "runs.csv",
        "warm-up.csv",
        "points.csv",
        "window-bench.register",
        "words-de.json",
    ];
    let mut desk = Desk::with(&files);
    std::fs::write(desk.path_of("unknown.csv"), "a,b\n1,2\n").unwrap();
    for (file, told) in [
        ("readings.csv", "Right: readings of a calibration, 16 rows with the columns current_A, field_mT"),
        ("runs.csv", "Right: runs of a class, 12 runs"),
        ("warm-up.csv", "Right: a warm-up test"),
        ("points.csv", "Right: points"),
        ("window-bench.register", "Right: a register"),
        ("words-de.json", "Right: words of a lesson"),
        ("unknown.csv", "Not checked here"),
    ] {
        desk.go(&format!("file/{file}"));
        // As the page was made, and after the check that follows what is typed.
        assert!(desk.checked().contains(told), "{file}: {}", desk.checked());
        if file.ends_with(".register") {
            // It is shown and never edited.
            desk.page.wait_for("document.getElementById('text') === null");
            continue;
        }
        let same = text(&mut desk);
        desk.write(&same);
        assert!(desk.checked().contains(told), "{file}: {}", desk.checked());
    }
    desk.go("file/readings.csv");
    let typed = text(&mut desk).replace("-1.80,-1.5122", "-1.80,many");
    desk.write(&typed);
    assert!(
        desk.checked().contains("Wrong as readings of a calibration") && desk.checked().contains("line 3")
    );
    desk.is_quiet();
}

#[test]
fn the_fit_follows_the_readings_while_they_are_typed() {
    let mut desk = Desk::with(&["window-bench.json", "readings.csv"]);
    desk.go("file/readings.csv");
    // The only spec of the folder is chosen.
    desk.page.wait_for("document.getElementById('fit').innerText.includes('chi-square')");
    desk.page.wait_for("!document.getElementById('picture').hidden");
    let told = "document.getElementById('fit').innerText";
    let before = desk.text(told);
    assert!(before.contains("fitted slope") && before.contains("adopted from"), "{before}");
    desk.page.keep_picture("fit");
    let typed = text(&mut desk).replace("-2.40,-2.0206", "-2.40,-1.6206");
    desk.write(&typed);
    desk.page.wait_for(&format!("{told}.includes('no line is adopted')"));
    desk.page.evaluate(
        "(() => { const it = document.getElementById('fspec'); it.value = ''; it.dispatchEvent(new Event('input', { bubbles: true })); })()",
    );
    desk.page.wait_for(&format!("{told} === ''"));
    desk.is_quiet();
}

#[test]
fn one_drag_is_one_step_of_undo_however_long_it_is() {
    let mut desk = opened();
    let before = text(&mut desk);
    fill(&mut desk, "/winding/turns", "151");
    text_holds(&mut desk, "151");
    let typed = text(&mut desk);
    // Each move waits for its answer, so that each would be a step.
    for place in 1..12 {
        desk.page.evaluate(&format!(
            "(() => {{ const it = document.querySelector('[data-drags=\"f/spacing\"]'); it.value = {}; \
             it.dispatchEvent(new Event('input', {{ bubbles: true }})); }})()",
            5 * place
        ));
        text_holds(&mut desk, &format!("\"{:.1} mm\"", 160.0 + 32.0 * 5.0 * f64::from(place) / 100.0));
    }
    desk.page.evaluate(
        "document.querySelector('[data-drags=\"f/spacing\"]').dispatchEvent(new Event('change', { bubbles: true }))",
    );
    desk.page.evaluate("document.querySelector('[data-undo]').click()");
    assert_eq!(text(&mut desk), typed);
    desk.page.evaluate("document.querySelector('[data-undo]').click()");
    assert_eq!(text(&mut desk), before);
    desk.is_quiet();
}

#[test]
fn a_slider_let_go_where_it_was_taken_has_its_picture_in_full_and_its_sheet_again() {
    let mut desk = opened();
    desk.page.wait_for("document.querySelector('#sheet pre').textContent !== ''");
    let waits = "document.getElementById('sheet').classList.contains('waits')";
    let at = |desk: &mut Desk, event: &str, place: i32| {
        desk.page.evaluate(&format!(
            "(() => {{ const it = document.querySelector('[data-drags=\"f/spacing\"]'); it.value = {place}; \
             it.dispatchEvent(new Event('{event}', {{ bubbles: true }})); }})()"
        ));
    };
    at(&mut desk, "input", 10);
    desk.page.wait_for(waits);
    at(&mut desk, "input", 0);
    text_holds(&mut desk, "\"160.0 mm\"");
    // The browser tells no change, because the slider is where it was.
    at(&mut desk, "pointerup", 0);
    desk.page.wait_for(&format!("!{waits}"));
    desk.is_quiet();
}

#[test]
fn a_list_grows_and_shrinks_in_the_form_and_keeps_what_is_not_touched() {
    let mut desk = Desk::with(&["lessons.json"]);
    desk.go("file/lessons.json");
    desk.page.wait_for("!!document.querySelector('#checked .verdict')");
    desk.page.evaluate("document.querySelectorAll('details').forEach((it) => { it.open = true; })");
    fill(&mut desk, "/search/connection/0", "parallel");
    text_holds(&mut desk, "[\"parallel\", \"parallel\"]");
    fill(&mut desk, "/search/connection/0", "");
    text_holds(&mut desk, "[\"parallel\"]");
    desk.page.wait_for("!document.querySelector('[data-pointer=\"/search/connection/2\"]')");
    fill(&mut desk, "/search/connection/1", "series");
    text_holds(&mut desk, "[\"parallel\", \"series\"]");
    desk.page.wait_for("!!document.querySelector('[data-pointer=\"/search/connection/2\"]')");
    assert_eq!(field(&mut desk, "/search/connection/1"), "series");
    // The place where one types stays the same when the form gets another row.
    fill(&mut desk, "/purchase/rates/1/currency", "GBP");
    desk.page.wait_for("!!document.querySelector('[data-removes=\"/purchase/rates/1\"]')");
    assert_eq!(desk.text("document.activeElement.dataset.pointer"), "/purchase/rates/1/currency");
    desk.page.evaluate("document.querySelector('[data-removes=\"/purchase/rates/0\"]').click()");
    desk.page.wait_for("!document.getElementById('text').value.includes('USD')");
    assert_eq!(field(&mut desk, "/purchase/rates/0/currency"), "GBP");
    desk.is_quiet();
}

#[test]
fn a_text_that_cannot_be_read_locks_the_fields_and_says_so() {
    let mut desk = opened();
    let spacing = field(&mut desk, "/spacing");
    let broken = text(&mut desk).replace("\"spacing\":", "\"spacing\" 3 :");
    desk.write(&broken);
    desk.page
        .wait_for("!document.getElementById('unread').hidden && document.getElementById('fields').disabled");
    assert_eq!(field(&mut desk, "/spacing"), spacing);
    // The last picture stays and says so.
    assert_eq!(
        desk.text(
            "String(document.getElementById('picture').hidden || document.getElementById('stale').hidden)"
        ),
        "false"
    );
    desk.page.evaluate("document.querySelector('[data-undo]').click()");
    desk.page.wait_for("document.getElementById('unread').hidden && document.getElementById('stale').hidden");
    desk.is_quiet();
}

#[test]
fn an_offset_that_is_not_stated_is_dragged_from_zero() {
    let mut desk = opened();
    let bare =
        text(&mut desk).lines().filter(|line| !line.contains("as_built")).collect::<Vec<_>>().join("\n");
    assert!(serde_json::from_str::<serde_json::Value>(&bare).is_ok(), "{bare}");
    desk.write(&bare);
    desk.page.wait_for("document.querySelector('[data-pointer=\"/as_built/b/offset/1\"]').value === ''");
    desk.page.evaluate(
        "(() => { const it = document.querySelector('[data-drags=\"f/as_built/b/offset/1\"]'); it.value = 20; \
         it.dispatchEvent(new Event('input', { bubbles: true })); it.dispatchEvent(new Event('change', { bubbles: true })); })()",
    );
    desk.page.wait_for("document.querySelector('[data-pointer=\"/as_built/b/offset/0\"]').value === '0 mm'");
    assert_eq!(desk.text("document.querySelector('#checked .verdict').textContent"), "Right.");
    assert!(field(&mut desk, "/as_built/b/offset/1").starts_with('1'));
    assert_eq!(field(&mut desk, "/as_built/b/offset/0"), "0 mm");
    desk.is_quiet();
}

#[test]
fn a_file_that_another_program_changed_is_told_to_whoever_comes_back() {
    let mut desk = Desk::with(&["window-bench.json"]);
    desk.go("file/window-bench.json");
    let come_back = "window.dispatchEvent(new Event('focus'))";
    let told = "document.getElementById('file-told').textContent";
    desk.page.evaluate(come_back);
    let path = desk.folder.path().join("window-bench.json");
    let text = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, text.replace("\"spacing\": \"160 mm\"", "\"spacing\": \"161 mm\"")).unwrap();
    desk.page.evaluate(come_back);
    desk.page.wait_for(&format!("{told}.includes('Another program has changed this file')"));
    desk.is_quiet();
}
