//! Tests of the questions' pages beyond their forms: sliders, ticks, dropped files, errors at their fields, results
//! found again, and what is printed.

use super::{Desk, example, js};
use serde_json::json;

#[test]
fn current_and_time_of_the_heat_are_moved_with_sliders() {
    let mut desk = Desk::with(&["window-bench.json"]);
    desk.go("ask/heat?spec=window-bench.json");
    desk.answered();
    let told = "document.querySelector('[data-held] .held').innerText";
    desk.page.wait_for(&format!("{told}.includes('hottest surface')"));
    let slide = |desk: &mut Desk, id: &str, value: &str, kinds: &str| {
        desk.page.evaluate(&format!(
            "(() => {{ const it = document.querySelector('[data-slides={id}]'); it.value = '{value}'; for (const kind of {kinds}) \
             it.dispatchEvent(new Event(kind, {{ bubbles: true }})); }})()"
        ));
    };
    let celsius = |desk: &mut Desk| -> f64 {
        let text = desk.text("document.querySelector('[data-held] dd').textContent");
        text.split(' ').next().unwrap().parse().unwrap()
    };
    slide(&mut desk, "held-time", "0", "['input']");
    // At the start the copper has the room's temperature.
    desk.page.wait_for("document.querySelector('[data-held] dd').textContent.startsWith('21.5')");
    slide(&mut desk, "held-time", "60", "['input']");
    desk.page.wait_for("!document.querySelector('[data-held] dd').textContent.startsWith('21.5')");
    let hot = celsius(&mut desk);
    desk.page.keep_picture("heat-sliders");
    slide(&mut desk, "held-current", "1.5", "['input', 'change']");
    desk.page.wait_for("document.querySelector('form.ask [name=current]').value === '1.5 A'");
    desk.page.wait_for("document.querySelector('#answer')?.innerText.includes('1.5')");
    desk.page
        .wait_for(&format!("!document.querySelector('[data-held] dd').textContent.startsWith('{hot:.1}')"));
    assert!(celsius(&mut desk) < hot);
    desk.page.evaluate("(() => { const it = document.getElementById('held-time'); it.value = 'long'; it.dispatchEvent(new Event('input', { bubbles: true })); })()");
    desk.page.wait_for(&format!("{told}.includes('time: ')"));
    desk.is_quiet();
}

#[test]
fn runs_of_a_class_are_ticked_in_and_out() {
    let mut desk = Desk::with(&["window-bench.json", "runs.csv"]);
    desk.go("ask/weigh?spec=window-bench.json&runs=runs.csv&without=group%207");
    desk.page.wait_for("document.querySelectorAll('[data-run]').length === 12");
    assert_eq!(
        desk.page.evaluate(
            "[...document.querySelectorAll('[data-run]:not(:checked)')].map((it) => it.dataset.run)"
        ),
        json!(["group 7"])
    );
    desk.page.evaluate("document.querySelector('[data-run=\"group 9\"]').click()");
    desk.page.wait_for("document.querySelector('[name=without]').value === 'group 7\\ngroup 9'");
    desk.page.wait_for("[...document.querySelectorAll('#answer [data-copy]')].some((it) => it.textContent.includes('group 9'))");
    desk.page.keep_picture("ticks");
    desk.page.evaluate("document.querySelector('[data-run=\"group 7\"]').click()");
    desk.page.wait_for("document.querySelector('[name=without]').value === 'group 9'");
    desk.page.evaluate("(() => { const it = document.querySelector('[name=without]'); it.value = ''; it.dispatchEvent(new Event('change', { bubbles: true })); })()");
    assert_eq!(desk.page.evaluate("document.querySelectorAll('[data-run]:not(:checked)').length"), json!(0));
    desk.is_quiet();
}

#[test]
fn quotes_dropped_on_compare_are_taken_and_ticked_and_readings_are_no_quotes() {
    let mut desk =
        Desk::with(&["window-bench.json", "readings.csv", "runs.csv", "points.csv", "warm-up.csv"]);
    desk.go("ask/compare?quotes=window-bench.json");
    let offered = "[...document.querySelectorAll('[name=quotes]')].map((it) => it.value)";
    assert_eq!(desk.page.evaluate(offered), json!(["window-bench.json"]));
    let quote = std::fs::read_to_string(example("quote-thick.json")).unwrap();
    desk.page.evaluate(&format!(
        "(() => {{ const files = new DataTransfer(); files.items.add(new File([{}], \"Miller's quote – final.json\")); \
         for (const kind of ['dragover', 'drop']) document.body.dispatchEvent(new DragEvent(kind, {{ bubbles: true, cancelable: true, dataTransfer: files }})); }})()",
        js(&quote)
    ));
    desk.page.wait_for("document.querySelectorAll('[name=quotes]:checked').length === 2 && document.readyState === 'complete'");
    assert_eq!(desk.holds("Miller's quote – final.json"), quote);
    assert!(desk.press_ask().text.contains("Miller's quote – final"));
    desk.is_quiet();
}

#[test]
fn an_error_is_told_in_the_forms_words_at_its_field_and_the_date_is_there() {
    let mut desk = Desk::with(&["window-bench.json"]);
    desk.go("ask/calibrate");
    let date = "document.querySelector('form.ask > .field [name=date]').value";
    let today = desk.text("new Date().toISOString().slice(0, 10)");
    assert_eq!(desk.text(date), today, "visible and filled in");
    let answer = desk.ask("calibrate", &[("register", "bench.register"), ("date", "")]);
    assert!(answer.told.contains("“Date” is missing"), "{}", answer.told);
    assert!(!answer.told.contains("--") && !answer.told.contains("call it like this"), "{}", answer.told);
    assert_eq!(desk.page.evaluate("document.querySelector('[name=date]').ariaInvalid"), json!("true"));
    desk.page.keep_picture("error-in-form");
    let answer = desk.ask("heat", &[("current", "300")]);
    assert!(answer.told.contains("“Current”") && !answer.told.contains("--"), "{}", answer.told);
    assert_eq!(
        desk.page.evaluate("document.querySelector('form.ask [name=current]').ariaInvalid"),
        json!("true")
    );
    let answer = desk.ask("heat", &[("current", "2 A")]);
    assert_eq!(answer.told, "");
    assert_eq!(
        desk.page.evaluate("document.querySelector('form.ask [name=current]').ariaInvalid"),
        json!("false")
    );
    desk.is_quiet();
}

#[test]
fn a_result_is_found_again_after_a_reload_and_its_certificate_is_kept() {
    let mut desk = Desk::with(&["window-bench.json"]);
    let answer = desk.ask("calibrate", &[("register", "bench.register"), ("by", "A. Weber")]);
    assert!(answer.files.contains(&"certificate.html".to_owned()), "{:?} {}", answer.files, answer.told);
    assert!(!answer.text.contains("wrote files/"), "{}", answer.text);
    desk.page.load_anew("!!document.querySelector('.results a')");
    desk.page.keep_picture("results");
    desk.page.evaluate("document.querySelector('.results a').click()");
    desk.page.wait_for("location.pathname.startsWith('/result/') && document.readyState === 'complete'");
    desk.answered();
    desk.page.keep_picture("result");
    desk.keep("certificate.html");
    assert!(desk.holds("certificate.html").contains("Weber"));
    // Pictures of both kinds open in a tab of their own.
    let opens = desk.page.evaluate(
        "[...document.querySelectorAll('#answer .made li > a')].filter((it) => /\\.(png|svg|html)$/.test(it.textContent)).every((it) => it.target === '_blank')",
    );
    assert_eq!(opens, json!(true));
    desk.go("file/certificate.html");
    assert!(
        desk.text("document.querySelector('main a.button').href").contains("/kept/certificate.html?key=")
    );
    desk.page.keep_picture("kept-page");
    desk.is_quiet();
}

#[test]
fn a_table_is_printed_whole_and_nothing_is_cut_off() {
    let mut desk = Desk::with(&["readings.csv", "window-bench.json"]);
    for file in ["readings.csv", "window-bench.json"] {
        desk.go(&format!("file/{file}"));
        desk.page.wait_for("!document.getElementById('picture').hidden || location.pathname.endsWith('csv')");
        let printed = desk.page.printed(
            "[document.querySelector('.printed').innerText, getComputedStyle(document.querySelector('.beside')).maxHeight, \
             getComputedStyle(document.querySelector('.beside')).overflowY, \
             getComputedStyle(document.querySelector('#as-text')).display, document.querySelector('#sheet pre').offsetHeight > 0]",
        );
        assert!(printed[0].as_str().unwrap().trim() == desk.holds(file).trim(), "{file}: {printed}");
        assert_eq!((&printed[1], &printed[2]), (&json!("none"), &json!("visible")), "{file}");
        // A spec is printed as its data sheet, a table as its text.
        let is_spec = file.ends_with("json");
        assert_eq!(printed[3] == json!("none"), is_spec, "{file}: {printed}");
        assert_eq!(printed[4], json!(is_spec), "{file}: {printed}");
    }
    assert_eq!(desk.text("getComputedStyle(document.querySelector('.printed')).display"), "none");
    desk.is_quiet();
}

#[test]
fn a_long_word_widens_no_page_and_the_questions_are_a_link_away() {
    let mut desk = Desk::with(&["window-bench.json"]);
    let long = "Feldkonstante".repeat(20);
    let text = desk.holds("window-bench.json").replace("Saltmarsh College, window bench", &long);
    std::fs::write(desk.path_of("window-bench.json"), text).unwrap();
    desk.page.resize(380, 800);
    for path in [
        "",
        "file/window-bench.json",
        "ask/sheet?spec=window-bench.json",
        "ask/compare?quotes=window-bench.json",
    ] {
        desk.go(path);
        if path.contains("sheet") {
            desk.answered();
        }
        let over =
            desk.page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth");
        assert_eq!(over, json!(0), "{path}");
        assert_ne!(desk.text("getComputedStyle(document.querySelector('.to-questions')).display"), "none");
    }
    desk.page.evaluate("document.querySelector('.to-questions').click()");
    desk.page.wait_for("document.getElementById('questions').getBoundingClientRect().top < innerHeight");
    desk.page.resize(1280, 800);
    assert_eq!(desk.text("getComputedStyle(document.querySelector('.to-questions')).display"), "none");
    desk.is_quiet();
}
