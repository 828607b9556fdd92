//! Tests of wrong input: the page shows an alert with the program's own sentence.

use super::Desk;

const BENCH: (&str, &str) = ("spec", "window-bench.json");

#[test]
fn wrong_input_in_a_field_is_said_as_an_alert_in_the_page() {
    let mut desk =
        Desk::with(&["window-bench.json", "runs.csv", "readings.csv", "lessons.json", "points.csv"]);
    let cases: [(&str, super::Filled, &str); 13] = [
        ("sheet", &[BENCH, ("date", "yesterday")], "yesterday"),
        ("uniformity", &[BENCH, ("within", "1 furlong")], "1 furlong"),
        ("map", &[BENCH, ("current", "1.4 V")], "1.4 V"),
        ("heat", &[BENCH, ("current", "a lot")], "a lot"),
        ("field", &[BENCH, ("points", "runs.csv")], "runs.csv"),
        ("tolerance", &[BENCH, ("builds", "-3")], "-3"),
        ("calibrate", &[BENCH, ("readings", "runs.csv")], "runs.csv"),
        ("calibrate", &[BENCH, ("register", "../out.register")], "Register: "),
        ("orbit", &[BENCH, ("gun_voltage", "0 V"), ("current", "1.4 A")], "0"),
        ("orbit", &[BENCH, ("gun_voltage", "200 V"), ("current", "1,4 mm")], "1,4 mm"),
        ("weigh", &[BENCH, ("runs", "runs.csv"), ("without", "group 99")], "group 99"),
        ("size", &[("wanted", "lessons.json"), ("write", "a/b.json")], "Write: "),
        ("build", &[BENCH, ("reel", "two")], "two"),
    ];
    for (command, filled, said) in cases {
        desk.go(&format!("ask/{command}"));
        desk.fill(filled);
        let answer = desk.press_ask();
        assert!(answer.told.contains(said), "{command} {filled:?}: {} {}", answer.told, answer.text);
        let role = desk.text("document.querySelector('#answer .alert').getAttribute('role')");
        assert_eq!(role, "alert", "{command}");
        assert!(!desk.path_of("../out.register").exists());
    }
    desk.is_quiet();
}

#[test]
fn what_must_be_filled_in_is_asked_for_before_anything_runs() {
    let mut desk = Desk::with(&["window-bench.json", "quote-used.json"]);
    desk.go("ask/heat");
    desk.page.evaluate("document.querySelector('form.ask .row button').click()");
    std::thread::sleep(std::time::Duration::from_millis(600));
    assert_eq!(desk.text("document.getElementById('answer').innerText"), "");
    assert_eq!(desk.text("document.activeElement.name"), "spec");
    // Changing another field does not ask the question yet.
    desk.page.evaluate("(() => { const it = document.querySelector('form.ask [name=current]'); it.value = '1 A'; it.dispatchEvent(new Event('change', { bubbles: true })); })()");
    std::thread::sleep(std::time::Duration::from_millis(600));
    assert_eq!(desk.text("document.getElementById('answer').innerText"), "");
    desk.is_quiet();
}

#[test]
fn a_wrong_name_of_a_new_file_is_told_and_nothing_is_written() {
    let mut desk = Desk::empty();
    let cases = [
        ("pair.exe", "A name ends with one of"),
        ("../pair.json", "A name does not begin with a point"),
        ("a/b.json", "letters, digits"),
        ("con.json", "device"),
    ];
    for (name, said) in cases {
        desk.page.evaluate(&format!(
            "document.getElementById('new-told').replaceChildren(); document.getElementById('new-name').value = '{name}'; \
             document.getElementById('new-template').value = 'spec'; document.querySelector('[data-new] button').click()"
        ));
        desk.page.wait_for("!!document.querySelector('#new-told [role=alert]')");
        let told = desk.text("document.getElementById('new-told').innerText");
        assert!(told.contains(said), "{name}: {told}");
    }
    assert_eq!(std::fs::read_dir(desk.folder.path()).unwrap().count(), 0);
    desk.is_quiet();
}
