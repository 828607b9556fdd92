//! How the desk ends, and what does not end it.

use super::client::{Desk, under_way};
use std::io::Write;
use std::process::Command;
use std::time::Duration;

/// A run that takes longer than a test waits for: the most samples that the program allows.
pub const LONG: (&str, [(&str, &str); 3]) =
    ("calibrate", [("spec", "pair.json"), ("date", "2026-03-01"), ("monte_carlo", "20000000")]);

/// Tells the desk this signal.
pub fn signal(desk: &Desk, name: &str) {
    let told = Command::new("sh").args(["-c", &format!("kill -{name} {}", desk.process())]).status().unwrap();
    assert!(told.success());
}

/// The processes that the desk began and that have not ended.
#[cfg(target_os = "linux")]
pub fn children(desk: &Desk) -> Vec<u32> {
    let stat = |process: u32| std::fs::read_to_string(format!("/proc/{process}/stat")).unwrap_or_default();
    let is_child = |process: &u32| {
        let stat = stat(*process);
        let fields: Vec<_> = stat.rsplit(')').next().unwrap().split_whitespace().map(str::to_owned).collect();
        fields.len() > 1 && fields[0] != "Z" && fields[1] == desk.process().to_string()
    };
    let processes = std::fs::read_dir("/proc")
        .unwrap()
        .filter_map(|entry| entry.unwrap().file_name().to_str()?.parse().ok());
    processes.filter(is_child).collect()
}

/// Waits until it is so.
#[cfg(target_os = "linux")]
pub fn wait_until(mut is_so: impl FnMut() -> bool, what: &str) {
    let begun = std::time::Instant::now();
    while !is_so() {
        assert!(begun.elapsed() < Duration::from_secs(20), "{what}");
        std::thread::sleep(Duration::from_millis(10));
    }
}

#[cfg(target_os = "linux")]
#[test]
fn it_ends_within_six_seconds_and_leaves_nothing_behind() {
    for way in ["TERM", "INT", "HUP", "quit"] {
        let mut desk = Desk::new();
        let run = under_way(&desk.form(&format!("/do/ask/{}", LONG.0), &LONG.1).send().text()).expect(way);
        wait_until(|| children(&desk).len() == 1, "the run begins");
        let children = children(&desk);
        assert_eq!(std::fs::read_dir(desk.work()).unwrap().count(), 1);
        // Somebody listens to the progress, and somebody has said half of what he wants.
        let mut listening = desk.connection();
        listening.write_all(&desk.get(&format!("/told/{run}")).bytes()).unwrap();
        let mut half = desk.connection();
        half.write_all(b"GET / HTTP/1.1\r\n").unwrap();
        match way {
            "quit" => assert_eq!(desk.change("POST", "/do/quit", "").status(), 200),
            _ => signal(&desk, way),
        }
        let status = desk.ends_within(Duration::from_secs(6)).unwrap_or_else(|| panic!("{way}: it goes on"));
        assert!(status.success(), "{way}: {status}");
        wait_until(
            || !std::path::Path::new(&format!("/proc/{}", children[0])).exists(),
            "the run ends with the desk",
        );
        let left: Vec<_> = std::fs::read_dir(desk.work()).unwrap().map(|it| it.unwrap().path()).collect();
        assert!(left.is_empty(), "{way}: {left:?}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_run_that_is_stopped_ends_at_once() {
    let desk = Desk::new();
    let token = desk.page_token();
    let begin = || {
        let ask = desk.form(&format!("/do/ask/{}", LONG.0), &LONG.1).with("x-desk-page", &token);
        under_way(&ask.send().text()).unwrap()
    };
    let first = begin();
    wait_until(|| children(&desk).len() == 1, "the run begins");
    // A newer run of the same page takes its place.
    let second = begin();
    let state = |run: &str| desk.get(&format!("/do/run/{run}")).with("x-desk-page", &token).send().text();
    wait_until(|| state(&first).contains("Stopped."), "the older run is stopped");
    wait_until(|| children(&desk).len() == 1, "one process is left");
    assert!(desk.change("POST", &format!("/do/stop/{second}"), "").send().text().contains("Stopped."));
    wait_until(|| children(&desk).is_empty(), "the process is ended");
    wait_until(|| state(&second).contains("Stopped."), "the run is stopped");
    desk.assert_serves();
}

#[test]
fn connections_that_are_closed_do_not_end_it() {
    let mut desk = Desk::new();
    let page = desk.get("/").bytes();
    for cut in (0..page.len()).step_by(3) {
        let mut stream = desk.connection();
        stream.write_all(&page[..cut]).unwrap();
    }
    let save =
        desk.change("PUT", "/do/file/new.json", vec![b' '; 1 << 20]).with("if-none-match", "*").bytes();
    for part in 1..10 {
        let mut stream = desk.connection();
        stream.write_all(&save[..save.len() * part / 10]).unwrap();
    }
    let run = under_way(&desk.form(&format!("/do/ask/{}", LONG.0), &LONG.1).send().text()).unwrap();
    for _ in 0..20 {
        desk.connection().write_all(&desk.get(&format!("/told/{run}")).bytes()).unwrap();
    }
    desk.assert_serves();
    assert!(!desk.path("new.json").exists());
    assert!(desk.ends_within(Duration::from_millis(300)).is_none());
    assert_eq!(desk.change("POST", &format!("/do/stop/{run}"), "").status(), 200);
}

#[test]
fn a_write_that_is_under_way_is_finished_or_was_never_begun() {
    for round in 0..6 {
        let mut desk = Desk::new();
        let old = vec![b'a'; 4 << 20];
        let new = vec![b'b'; 4 << 20];
        desk.put("pair.json", &old);
        let page = desk.get("/file/pair.json").send().text();
        let tag = page.split("data-tag=\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
        let save = desk.change("PUT", "/do/file/pair.json", new.clone()).with("if-match", &tag).bytes();
        let mut stream = desk.connection();
        stream.write_all(&save).unwrap();
        std::thread::sleep(Duration::from_millis(2 * round));
        signal(&desk, "TERM");
        assert!(desk.ends_within(Duration::from_secs(6)).is_some());
        let found = std::fs::read(desk.path("pair.json")).unwrap();
        assert!(found == old || found == new, "{} bytes, first {:?}", found.len(), found.first());
        super::saving::assert_nothing_unfinished(&desk);
    }
}
