//! Tests of files that somebody else changes meanwhile, and of edits that are not saved.

use super::{Desk, js, text_of};

#[test]
fn a_file_changed_meanwhile_is_shown_beside_the_own_edits_and_none_is_lost() {
    let mut desk = Desk::with(&["window-bench.json"]);
    desk.go("file/window-bench.json");
    let before = text_of("window-bench.json");
    let (own, others) = (
        before.replace("\"turns\": 150", "\"turns\": 148"),
        before.replace("\"turns\": 150", "\"turns\": 155"),
    );
    desk.write(&own);
    std::fs::write(desk.path_of("window-bench.json"), &others).unwrap();
    let said = desk.save();
    assert!(said.contains("changed meanwhile"), "{said}");
    assert_eq!(desk.holds("window-bench.json"), others);
    assert_eq!(desk.text("document.getElementById('text').value"), own);
    assert_eq!(desk.text("document.querySelector('#file-told textarea').value"), others);
    assert!(desk.page.complaints().iter().all(|line| line.contains("412")), "{:?}", desk.page.complaints());
    // Saving again replaces the other version, which is kept.
    assert!(desk.save().contains("Saved"));
    assert_eq!(desk.holds("window-bench.json"), own);
    let kept = std::fs::read_dir(desk.path_of(".coilwright-desk")).unwrap();
    let kept: Vec<String> = kept.map(|it| std::fs::read_to_string(it.unwrap().path()).unwrap()).collect();
    assert_eq!(kept, [others]);
}

#[test]
fn unsaved_edits_survive_a_closed_tab_and_a_changed_file_is_told_with_them() {
    let mut desk = Desk::with(&["window-bench.json"]);
    let before = text_of("window-bench.json");
    let own = before.replace("\"turns\": 150", "\"turns\": 148");
    let first = desk.page.another_tab().unwrap();
    desk.go("file/window-bench.json");
    desk.write(&own);
    desk.page.close_and_turn_to(first);
    desk.go("file/window-bench.json");
    assert_eq!(desk.text("document.getElementById('text').value"), own);
    assert!(
        desk.text("document.getElementById('file-told').innerText").contains("Your unsaved edits are back")
    );
    assert_eq!(desk.holds("window-bench.json"), before);

    let others = before.replace("\"turns\": 150", "\"turns\": 155");
    std::fs::write(desk.path_of("window-bench.json"), &others).unwrap();
    desk.page.load_anew("!!document.querySelector('#file-told textarea')");
    assert_eq!(desk.text("document.getElementById('text').value"), own);
    assert_eq!(desk.text("document.querySelector('#file-told textarea').value"), others);
    desk.page.evaluate("document.querySelector('[data-undo]').click()");
    assert_eq!(desk.text("document.getElementById('text').value"), others);
    desk.page.load_anew("!!document.getElementById('text')");
    assert_eq!(desk.text("document.getElementById('file-told').innerText"), "");
    desk.is_quiet();
}

#[test]
fn undo_takes_typing_back_and_saving_knows_the_newest_text() {
    let mut desk = Desk::with(&["lessons.json"]);
    desk.go("file/lessons.json");
    let before = desk.text("document.getElementById('text').value");
    desk.page.evaluate(
        "(() => { document.getElementById('as-text').open = true; const it = document.getElementById('text'); it.focus(); it.setSelectionRange(0, 0); })()",
    );
    desk.page.insert("// of the north room\n");
    assert_eq!(desk.text("document.getElementById('text').value"), format!("// of the north room\n{before}"));
    desk.page.evaluate("document.querySelector('[data-undo]').click()");
    assert_eq!(desk.text("document.getElementById('text').value"), before);
    desk.write(&before.replace("12 weeks", "10 weeks"));
    assert!(desk.save().contains("Saved"));
    desk.write(&before.replace("12 weeks", "9 weeks"));
    assert!(desk.save().contains("Saved"), "a second save needs no new page");
    assert!(desk.holds("lessons.json").contains("9 weeks"));
    desk.is_quiet();
}

#[test]
fn a_duplicate_has_a_name_of_its_own_and_a_download_is_the_file() {
    let mut desk = Desk::with(&["lessons.json"]);
    desk.go("file/lessons.json");
    desk.page.evaluate(
        "[...document.querySelectorAll('main button')].find((it) => it.textContent === 'Duplicate').click()",
    );
    desk.page.wait_for("document.querySelector('h1')?.textContent === 'lessons 2.json' && document.readyState === 'complete'");
    assert_eq!(desk.holds("lessons 2.json"), text_of("lessons.json"));
    let bytes = desk.text("(async () => (await fetch([...document.querySelectorAll('main a')].find((it) => it.textContent === 'Download').href)).text())()");
    assert_eq!(js(&bytes), js(&text_of("lessons.json")));
    desk.is_quiet();
}

#[test]
fn each_window_keeps_its_own_edits_whatever_another_saves() {
    let mut desk = Desk::with(&["window-bench.json"]);
    let before = text_of("window-bench.json");
    let with = |turns: u32| before.replace("\"turns\": 150", &format!("\"turns\": {turns}"));
    desk.go("file/window-bench.json");
    let first = desk.page.another_tab().unwrap();
    desk.go("file/window-bench.json");
    let second = desk.page.turn_to(first);
    desk.write(&with(148));
    let first = desk.page.turn_to(second);
    desk.write(&with(155));
    assert!(desk.save().contains("Saved"));
    let second = desk.page.turn_to(first);
    desk.page.close_and_turn_to(second);
    let closed = desk.page.another_tab().unwrap();
    desk.go("file/window-bench.json");
    assert_eq!(desk.text("document.getElementById('text').value"), with(148));
    assert_eq!(desk.text("document.querySelector('#file-told textarea').value"), with(155));
    assert_eq!(desk.holds("window-bench.json"), with(155));
    desk.page.close_and_turn_to(closed);
    desk.is_quiet();
}

#[test]
fn what_is_typed_while_a_save_is_under_way_is_not_lost_and_a_second_click_saves_once() {
    let mut desk = Desk::with(&["lessons.json"]);
    desk.go("file/lessons.json");
    let before = desk.text("document.getElementById('text').value");
    let (sent, typed) = (before.replace("12 weeks", "10 weeks"), before.replace("12 weeks", "9 weeks"));
    desk.write(&sent);
    // As on a slow disk, the answer comes late.
    desk.page.evaluate(
        "(() => { const quick = window.fetch; window.fetch = async (address, how) => { const answer = await quick(address, how); \
         if (how && how.method === 'PUT') { window.puts = (window.puts || 0) + 1; await new Promise((it) => setTimeout(it, 700)); } \
         return answer; }; const save = document.querySelector('form[data-file] button:not([type])'); save.click(); save.click(); })()",
    );
    desk.page.wait_for("window.puts === 1");
    desk.write(&typed);
    desk.page.wait_for("document.getElementById('file-told').innerText.includes('Saved')");
    let said = desk.text("document.getElementById('file-told').innerText");
    assert!(said.contains("What you typed meanwhile is not"), "{said}");
    assert_eq!(desk.text("String(window.puts)"), "1");
    assert_eq!(desk.holds("lessons.json"), sent);
    desk.page.load_anew("!!document.getElementById('text')");
    assert_eq!(desk.text("document.getElementById('text').value"), typed);
    desk.is_quiet();
}
