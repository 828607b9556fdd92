//! Writers: only over what was seen, one at a time, and nothing of anybody is lost.

use super::client::{Answer, Desk, SPEC};
use crate::program::run_in;
use std::time::{Duration, Instant};

fn tag(answer: &Answer) -> String {
    answer.header("etag").unwrap_or_else(|| panic!("{answer:?}")).to_owned()
}

/// The tag of the file that a page shows.
fn shown_tag(desk: &Desk, name: &str) -> String {
    let page = desk.get(&format!("/file/{name}")).send().text();
    format!("\"{}\"", page.split("data-tag=\"").nth(1).unwrap().split('"').next().unwrap())
}

fn kept(desk: &Desk) -> Vec<Vec<u8>> {
    let Ok(entries) = std::fs::read_dir(desk.path(".coilwright-desk")) else { return Vec::new() };
    entries.map(|entry| std::fs::read(entry.unwrap().path()).unwrap()).collect()
}

/// Nothing that was begun and not finished.
pub fn assert_nothing_unfinished(desk: &Desk) {
    let names =
        std::fs::read_dir(desk.path("")).unwrap().map(|it| it.unwrap().file_name().into_string().unwrap());
    let left: Vec<_> = names.filter(|name| name.ends_with(".tmp") || name.ends_with(".old")).collect();
    assert!(left.is_empty(), "{left:?}");
}

#[test]
fn a_file_is_replaced_only_by_who_saw_what_it_holds() {
    let desk = Desk::new();
    let save =
        |text: &str, tag: &str| desk.change("PUT", "/do/file/pair.json", text).with("if-match", tag).send();
    let first = shown_tag(&desk, "pair.json");
    let saved = save("{\"one\": 1}", &first);
    assert_eq!(saved.status, 200, "{saved:?}");
    assert_eq!(kept(&desk), [SPEC.as_bytes()]);
    let late = save("{\"two\": 2}", &first);
    assert_eq!((late.status, late.text().as_str()), (412, "{\"one\": 1}"));
    assert_eq!(tag(&late), tag(&saved));
    assert!(late.header("content-type").unwrap().starts_with("text/plain"));
    // Another program writes.
    desk.put("pair.json", "{\"by hand\": 1}");
    let late = save("{\"two\": 2}", &tag(&saved));
    assert_eq!((late.status, late.text().as_str()), (412, "{\"by hand\": 1}"));
    assert_eq!(save("{\"two\": 2}", &tag(&late)).status, 200);
    for wrong in ["*", "", "\"\"", "W/\"0\"", "\"0\", \"1\""] {
        assert_eq!(save("{}", wrong).status, 412, "{wrong}");
    }
    let ask = desk.change("PUT", "/do/file/pair.json", "{}");
    assert_eq!(ask.status(), 428);
    assert_eq!(ask.clone().with("if-match", &tag(&saved)).with("if-none-match", "*").status(), 428);
    assert_eq!(ask.clone().with("if-none-match", "\"0\"").status(), 428);
    assert_eq!(ask.with("if-none-match", "*").status(), 412);
    assert_eq!(std::fs::read(desk.path("pair.json")).unwrap(), b"{\"two\": 2}");
    assert_eq!(kept(&desk).len(), 2);
    assert_nothing_unfinished(&desk);
}

#[test]
fn of_those_who_save_at_once_one_wins() {
    let desk = Desk::new();
    // No two texts are alike: who writes what is there already replaces nothing, and lets the next one win, too.
    let asks = |round: usize, name: &str, header: &str, value: &str| -> Vec<_> {
        (0..12)
            .map(|writer| {
                let text = format!(
                    "{{\"writer\": {writer}, \"round\": {round}, \"text\": \"{}\"}}",
                    "x".repeat(100_000)
                );
                desk.change("PUT", &format!("/do/file/{name}"), text).with(header, value)
            })
            .collect()
    };
    let mut replaced = 0;
    for round in 0..3 {
        let new = format!("new {round}.json");
        for (name, header, value) in
            [("pair.json", "if-match", shown_tag(&desk, "pair.json")), (&new, "if-none-match", "*".into())]
        {
            let asks = asks(round, &name.replace(' ', "%20"), header, &value);
            let statuses: Vec<u16> = std::thread::scope(|scope| {
                let writers: Vec<_> = asks.iter().map(|ask| scope.spawn(|| ask.status())).collect();
                writers.into_iter().map(|writer| writer.join().unwrap()).collect()
            });
            assert_eq!(statuses.iter().filter(|status| **status == 200).count(), 1, "{name} {statuses:?}");
            assert!(statuses.iter().all(|status| matches!(status, 200 | 412)), "{name} {statuses:?}");
            let winner = statuses.iter().position(|status| *status == 200).unwrap();
            let written = std::fs::read_to_string(desk.path(name)).unwrap();
            assert!(written.starts_with(&format!("{{\"writer\": {winner},")), "{winner} {}", &written[..40]);
        }
        replaced += 1;
        assert_eq!(kept(&desk).len(), replaced);
    }
    assert_nothing_unfinished(&desk);
}

const DATE: &str = "2026-03-01";

#[test]
fn a_register_is_shown_and_never_replaced() {
    let desk = Desk::new();
    let made =
        run_in(&desk.path(""), &["calibrate", "pair.json", "--register", "pair.register", "--date", DATE]);
    assert_eq!(made.status, Some(0), "{}", made.stderr);
    let before = std::fs::read(desk.path("pair.register")).unwrap();
    let page = desk.get("/file/pair.register").send().text();
    assert!(!page.contains("<textarea") && page.contains("A register is never edited"), "{page}");
    // The tag of what it holds, as `If-Match` carries it: a refusal tells it.
    let seen = desk.change("PUT", "/do/file/pair.register", "gone").with("if-match", "\"0\"").send();
    assert_eq!(seen.status, 412);
    let seen = seen.header("etag").unwrap().to_owned();
    let refused = desk.change("PUT", "/do/file/pair.register", "gone").with("if-match", &seen).send();
    assert_eq!(refused.status, 403);
    assert!(refused.text().contains("a register is never edited"), "{}", refused.text());
    assert_eq!(std::fs::read(desk.path("pair.register")).unwrap(), before);
    // What happened to the pair is entered by its page.
    for filled in [("event", "moved"), ("due_every", "12 months"), ("withdraw", "1")] {
        let by = [("register", "pair.register"), ("date", "2026-06-01"), ("by", "A"), filled];
        let reason = if filled.0 == "withdraw" { &[("reason", "slipped")][..] } else { &[] };
        let markup = desk.answered("register", &[&by[..], reason].concat());
        assert!(markup.contains("entered as entry"), "{filled:?}: {markup}");
    }
    assert_eq!(std::fs::read_to_string(desk.path("pair.register")).unwrap().lines().count(), 4);
}

#[test]
fn a_register_gains_every_entry_once_whoever_adds() {
    const EACH: usize = 20;
    let desk = Desk::new();
    let by_hand = |count: usize| {
        for _ in 0..count {
            let run = run_in(
                &desk.path(""),
                &["calibrate", "pair.json", "--register", "pair.register", "--date", DATE],
            );
            assert_eq!(run.status, Some(0), "{}", run.stderr);
        }
    };
    by_hand(1);
    let in_desk = |count: usize| {
        for _ in 0..count {
            let filled = [("spec", "pair.json"), ("register", "pair.register"), ("date", DATE)];
            let markup = desk.answered("calibrate", &filled);
            assert!(markup.contains("class=\"answer done\""), "{markup}");
        }
    };
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| by_hand(EACH / 2));
        }
        for _ in 0..4 {
            scope.spawn(|| in_desk(EACH / 4));
        }
    });
    let run = run_in(&desk.path(""), &["register", "pair.register", "--json"]);
    assert_eq!(run.status, Some(0), "{}", run.stderr);
    let lines = std::fs::read_to_string(desk.path("pair.register")).unwrap();
    assert_eq!(lines.lines().count(), 2 * EACH + 1, "{lines}");
    assert_eq!(run.stderr, "");
    assert_nothing_unfinished(&desk);
}

#[test]
fn a_register_that_another_program_holds_keeps_nobody_else_waiting() {
    let mut desk = Desk::new();
    let first =
        run_in(&desk.path(""), &["calibrate", "pair.json", "--register", "pair.register", "--date", DATE]);
    assert_eq!(first.status, Some(0), "{}", first.stderr);
    let held = std::fs::File::open(desk.path("pair.register")).unwrap();
    held.lock().unwrap();
    let filled = [("spec", "pair.json"), ("register", "pair.register"), ("date", DATE)];
    let begun = Instant::now();
    let waiting: Vec<_> = (0..6).map(|_| desk.form("/do/ask/calibrate", &filled).send().text()).collect();
    desk.assert_serves();
    assert!(desk.answered("sheet", &[("spec", "pair.json")]).contains("answer done"));
    assert!(begun.elapsed() < Duration::from_secs(15), "{:?}", begun.elapsed());
    // Those that wait can be stopped; one is let through.
    let runs: Vec<_> = waiting.iter().map(|markup| super::client::under_way(markup).unwrap()).collect();
    for run in &runs[1..] {
        assert_eq!(desk.change("POST", &format!("/do/stop/{run}"), "").status(), 200);
    }
    held.unlock().unwrap();
    let begun = Instant::now();
    loop {
        let now =
            desk.get(&format!("/do/run/{}", runs[0])).with("x-desk-page", &desk.page_token()).send().text();
        if now.contains("answer done") {
            break;
        }
        assert!(begun.elapsed() < Duration::from_secs(30), "{now}");
        std::thread::sleep(Duration::from_millis(30));
    }
    assert_eq!(std::fs::read_to_string(desk.path("pair.register")).unwrap().lines().count(), 2);
    assert!(desk.ends_within(Duration::ZERO).is_none());
}
