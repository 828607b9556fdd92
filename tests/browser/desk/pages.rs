//! Tests of every kind of page: accessibility, use by keyboard alone, every width, and the browser's own buttons.

use super::{Desk, text_of};
use serde_json::json;

/// The kinds of page: name, address, and whether an answer comes without pressing a button.
const KINDS: [(&str, &str, bool); 20] = [
    ("folder", "", false),
    ("file", "file/window-bench.json", false),
    ("file-beam", "file/window-bench.json?see=beam", false),
    ("first", "first", false),
    ("ask-uniformity", "ask/uniformity?spec=window-bench.json", true),
    ("ask-size", "ask/size?wanted=lessons.json", false),
    ("file-wrong", "file/wrong.json", false),
    ("file-table", "file/runs.csv", false),
    ("no-file", "file/none.json", false),
    ("no-page", "none", false),
    ("ask", "ask/calibrate", false),
    ("ask-sheet", "ask/sheet?spec=window-bench.json", true),
    ("ask-map", "ask/map?spec=window-bench.json&with_room=on&current=1.4%20A", true),
    ("ask-beam", "ask/orbit?spec=window-bench.json&gun_voltage=200%20V&current=1.4%20A", true),
    ("ask-runs", "ask/weigh?spec=window-bench.json&runs=runs.csv&without=group%207", true),
    ("ask-error", "ask/heat?spec=wrong.json", true),
    ("ask-wires", "ask/wires", true),
    ("ask-heat", "ask/heat?spec=window-bench.json", true),
    ("file-readings", "file/readings.csv", false),
    ("ask-compare", "ask/compare?quotes=quote-unfinished.json", false),
];

fn desk() -> Desk {
    let files = [
        "window-bench.json",
        "quote-unfinished.json",
        "lessons.json",
        "runs.csv",
        "readings.csv",
        "window-bench.register",
        "words-de.json",
    ];
    let desk = Desk::with(&files);
    let wrong = text_of("window-bench.json").replace("\"spacing\": \"160 mm\"", "\"spacing\": \"160 mmm\"");
    std::fs::write(desk.path_of("wrong.json"), wrong).unwrap();
    desk
}

impl Desk {
    fn see(&mut self, path: &str, has_answer: bool) {
        self.go(path);
        if has_answer {
            self.answered();
            self.page.evaluate("Promise.all([...document.images].map((it) => it.decode()))");
        }
    }

    /// Presses Tab until an element is in focus, going around the whole page if necessary.
    pub(super) fn tab_round_to(&mut self, is_there: &str) {
        let is_it = format!("((it) => {is_there})(document.activeElement)");
        for _ in 0..180 {
            self.page.press("Tab");
            if self.page.evaluate(&is_it) == json!(true) {
                return;
            }
        }
        panic!("no Tab leads to {is_there}");
    }

    /// Presses Tab until an element is in focus, and checks that the focus is visible.
    pub(super) fn tab_to(&mut self, is_there: &str) {
        for _ in 0..90 {
            self.page.press("Tab");
            if self.page.evaluate(&format!("((it) => {is_there})(document.activeElement)")) == json!(true) {
                let outline = self.text("getComputedStyle(document.activeElement).outlineStyle");
                assert_ne!(outline, "none", "{is_there}");
                return;
            }
        }
        panic!("no Tab leads to {is_there}");
    }
}

#[test]
fn no_page_is_wider_than_its_window_whatever_the_width_and_the_zoom() {
    let mut desk = desk();
    // At a zoom of 200 %, a window of 1280 px is 640 px wide for the page.
    for (width, text) in [(1280, 100), (640, 100), (380, 100), (1280, 200)] {
        desk.page.resize(width, 900);
        for (name, path, has_answer) in KINDS {
            desk.see(path, has_answer);
            desk.page.evaluate(&format!("document.documentElement.style.fontSize = '{text}%'"));
            let over = desk
                .page
                .evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth");
            desk.page.keep_picture(&format!("{name}-{width}-{text}"));
            assert_eq!(over, json!(0), "{name} at {width} px, {text} %");
            // Nor is any row of buttons, so that none of them is out of sight.
            let rows = desk.page.evaluate(
                "[...document.querySelectorAll('.row')].filter((it) => it.scrollWidth > it.clientWidth).map((it) => it.textContent)",
            );
            assert_eq!(rows, json!([]), "{name} at {width} px, {text} %");
        }
    }
    assert!(desk.page.complaints().iter().all(|line| line.contains("404")), "{:?}", desk.page.complaints());
}

#[test]
fn axe_finds_no_violation_on_any_kind_of_page() {
    let Some(axe) = crate::axe() else { return };
    let mut desk = desk();
    for width in [380, 1280] {
        desk.page.resize(width, 900);
        for (name, path, has_answer) in KINDS {
            desk.see(path, has_answer);
            desk.page.evaluate("document.querySelectorAll('details').forEach((it) => { it.open = true; })");
            desk.page.evaluate(&format!("{axe}; 0"));
            let found = desk.page.evaluate(
                "(async () => (await axe.run(document)).violations.map((one) => [one.id, one.nodes.map((node) => node.html + node.failureSummary)]))()",
            );
            assert_eq!(found, json!([]), "{name} at {width} px");
        }
    }
}

#[test]
fn a_question_is_asked_and_answered_with_the_keyboard_alone() {
    let mut desk = Desk::with(&["window-bench.json", "lessons.json"]);
    // The first Tab stop leads past the navigation.
    desk.page.press("Tab");
    assert_eq!(desk.text("document.activeElement.textContent"), "To the page");
    desk.page.press("Enter");
    desk.page.press("Tab");
    assert_eq!(
        desk.page.evaluate("document.getElementById('main').contains(document.activeElement)"),
        json!(true)
    );
    desk.go("");
    desk.tab_to("it.textContent === 'Heat' && !!it.closest('nav')");
    desk.page.press("Enter");
    desk.page.wait_for(
        "document.querySelector('h1')?.textContent === 'Heat' && document.readyState === 'complete'",
    );
    assert_eq!(desk.text("document.querySelector('[name=spec]').value"), "window-bench.json");
    desk.tab_to("it.name === 'current'");
    desk.page.insert("2.2 A");
    desk.tab_to("it.tagName === 'SUMMARY'");
    desk.page.press("Enter");
    assert_eq!(desk.page.evaluate("document.activeElement.parentElement.open"), json!(true));
    desk.tab_to("it.textContent === 'Ask'");
    desk.page.evaluate("document.getElementById('answer').replaceChildren()");
    desk.page.press("Space");
    let answer = desk.answered();
    assert!(answer.command.contains("'--current=2.2 A'"), "{}", answer.command);
    // What is wider than the window can be scrolled, and everything below it can be reached.
    desk.tab_to("it.textContent === 'Download all (zip)'");
    desk.tab_to("it.textContent === 'Copy'");
    desk.is_quiet();
}

#[test]
fn back_and_reload_bring_the_filled_form_and_its_answer_back() {
    let mut desk = Desk::with(&["window-bench.json", "quote-thick.json"]);
    // A map takes longer than a moment, so its answer comes in a second step.
    let filled = [("spec", "quote-thick.json"), ("with_room", "on"), ("current", "1.4 A")];
    let first = desk.ask("map", &filled);
    desk.page.wait_for("location.search === '?spec=quote-thick.json&with_room=on&current=1.4%20A'");
    let values =
        "['spec', 'current'].map((it) => document.querySelector(`form.ask [name=${it}]`)?.value).join()";
    desk.page.load_anew("!!document.querySelector('form.ask')");
    assert_eq!(desk.text(values), "quote-thick.json,1.4 A");
    assert_eq!(desk.answered().text, first.text);
    desk.follow("Folder");
    assert_eq!(desk.title(), "Folder");
    desk.page.back();
    desk.page.wait_for(&format!("location.pathname === '/ask/map' && document.readyState === 'complete' && {values} === 'quote-thick.json,1.4 A'"));
    assert_eq!(desk.answered().text, first.text);
    desk.is_quiet();
}

#[test]
fn two_tabs_ask_at_the_same_time_and_each_gets_its_own_answer() {
    let mut desk = Desk::with(&["window-bench.json", "quote-thick.json"]);
    desk.go("ask/map");
    desk.fill(&[("spec", "window-bench.json")]);
    desk.page.evaluate("document.querySelector('form.ask .row button').click()");
    let first = desk.page.another_tab().unwrap();
    desk.go("ask/map");
    desk.fill(&[("spec", "quote-thick.json")]);
    let second = desk.press_ask();
    desk.page.turn_to(first);
    let first = desk.answered();
    assert!(
        first.command.contains("map window-bench.json") && first.text.contains("window bench"),
        "{}",
        first.text
    );
    assert!(
        second.command.contains("map quote-thick.json") && second.text.contains("quote 2"),
        "{}",
        second.text
    );
    desk.is_quiet();
}

#[test]
fn a_long_run_tells_its_progress_and_is_stopped() {
    let mut desk = Desk::with(&["window-bench.json"]);
    desk.go("ask/tolerance");
    desk.fill(&[("spec", "window-bench.json"), ("builds", "2000000")]);
    desk.page.evaluate("document.querySelector('form.ask .row button').click()");
    desk.page.wait_for("!!document.querySelector('#run progress')");
    desk.page.evaluate(
        "[...document.querySelectorAll('#run button')].find((it) => it.textContent === 'Stop').click()",
    );
    desk.page.wait_for("document.getElementById('answer').innerText.includes('Stopped')");
    desk.is_quiet();
}

#[test]
fn no_stop_of_the_keyboard_lies_under_what_stays_in_sight() {
    let mut desk = Desk::with(&["window-bench.json"]);
    for (width, height) in [(640, 425), (400, 800), (1280, 850)] {
        desk.page.resize(width, height);
        desk.go("file/window-bench.json");
        desk.page.wait_for("!!document.querySelector('#picture img').src");
        desk.page.evaluate("document.querySelector('.tools button').focus()");
        for _ in 0..40 {
            desk.page.press("Shift+Tab");
            // Found where it is drawn, or in what is drawn there.
            let hidden = desk.text(
                "(() => { const it = document.activeElement; if (!it.closest('[aria-label=form]')) return ''; const box = it.getBoundingClientRect(); \
                 const there = document.elementFromPoint(box.left + box.width / 2, box.top + Math.min(box.height, 20) / 2); \
                 return there && (it.contains(there) || there.contains(it)) ? '' : it.id + ' ' + box.top + ' under ' + there?.outerHTML.slice(0, 80); })()",
            );
            assert_eq!(hidden, "", "{width} px");
        }
        let picture = desk.page.evaluate(
            "(() => { const box = document.querySelector('#picture img').getBoundingClientRect(); return [box.width, box.height]; })()",
        );
        let side = |place: usize| picture[place].as_f64().unwrap();
        assert!(side(0) > 120.0 && side(1) > 100.0, "{width} px: {picture}");
    }
}

#[test]
fn the_text_stands_beside_the_form_where_there_is_room() {
    let mut desk = Desk::with(&["window-bench.json", "readings.csv"]);
    let beside = "(() => { const box = (it) => document.querySelector(it).getBoundingClientRect(); \
                  return box('#text').left >= box('#picture').right && box('#picture').left >= box('#fields').right; })()";
    desk.page.resize(1280, 850);
    desk.go("file/readings.csv");
    desk.page.wait_for("!!document.getElementById('fspec')");
    let columns = "(() => { const box = (it) => document.querySelector(it).getBoundingClientRect(); \
                   return box('#text').right <= box('#fspec').left || box('#fspec').right <= box('#text').left; })()";
    assert_eq!(desk.page.evaluate(columns), json!(true));
    desk.go("file/window-bench.json");
    desk.page
        .wait_for("!!document.querySelector('#picture img')?.src && !!document.getElementById('fields')");
    assert_eq!(desk.page.evaluate("document.getElementById('as-text').open"), json!(false));
    desk.page.resize(1920, 1000);
    desk.page.wait_for("document.getElementById('as-text').open");
    assert_eq!(desk.page.evaluate(beside), json!(true));
    desk.page.keep_picture("file-1920");
}

#[test]
fn quit_in_one_tab_is_told_in_the_others() {
    let mut desk = Desk::with(&["window-bench.json"]);
    desk.go("file/window-bench.json");
    let first = desk.page.another_tab().unwrap();
    desk.go("");
    desk.page.evaluate("setTimeout(() => document.querySelector('header button').click()); 0");
    desk.page.wait_for("document.querySelector('main').innerText.includes('The desk is closed')");
    desk.page.turn_to(first);
    desk.page.wait_for("document.querySelector('.closed')?.textContent.includes('has ended')");
}

#[test]
fn quit_asks_first_and_ends_the_program() {
    let mut desk = Desk::with(&["window-bench.json"]);
    assert_eq!(
        desk.text("getComputedStyle(document.querySelector('header button')).color"),
        "rgb(255, 255, 255)"
    );
    // Whoever says no goes on; edits that are not saved are named.
    desk.go("file/window-bench.json");
    desk.page.evaluate(
        "(() => { const it = document.getElementById('text'); it.value += ' '; it.dispatchEvent(new Event('input', { bubbles: true })); })()",
    );
    desk.page.answer_dialogs(false);
    let press = "setTimeout(() => document.querySelector('header button').click()); 0";
    desk.page.evaluate(press);
    let begun = std::time::Instant::now();
    while desk.page.asked().is_empty() {
        assert!(begun.elapsed().as_secs() < 10, "nothing is asked");
        desk.page.evaluate("0");
    }
    assert!(
        desk.page.asked()[0].contains("not saved may be lost: window-bench.json"),
        "{:?}",
        desk.page.asked()
    );
    assert!(desk.program.try_wait().unwrap().is_none());
    desk.page.answer_dialogs(true);
    desk.page.evaluate(press);
    desk.page.wait_for("document.querySelector('main').innerText.includes('The desk is closed')");
    assert_eq!(desk.page.asked().len(), 2);
    let begun = std::time::Instant::now();
    let status = loop {
        match desk.program.try_wait().unwrap() {
            Some(status) => break status,
            None => assert!(begun.elapsed().as_secs() < 10, "the program goes on"),
        }
        std::thread::sleep(std::time::Duration::from_millis(20));
    };
    assert!(status.success(), "{status}");
}
