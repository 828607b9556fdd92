//! Results and runs that outlive the page that asked: they are found again, and nothing goes on unseen.

use super::client::{Desk, made, under_way};
use super::ending::{LONG, children, wait_until};
use std::io::{Read, Write};
use std::time::Duration;

/// The first events of a run's progress.
fn told(desk: &Desk, run: &str, until: &str) -> String {
    let mut stream = desk.connection();
    stream.write_all(&desk.get(&format!("/told/{run}")).bytes()).unwrap();
    let mut text = String::new();
    let mut bytes = [0; 1024];
    while !text.contains(until) {
        let count = stream.read(&mut bytes).unwrap();
        assert!(count > 0, "{text}");
        text += &String::from_utf8_lossy(&bytes[..count]);
    }
    text
}

fn begun(desk: &Desk) -> String {
    under_way(&desk.form(&format!("/do/ask/{}", LONG.0), &LONG.1).send().text()).unwrap()
}

#[test]
fn a_registered_certificate_is_found_again_and_may_be_kept() {
    let desk = Desk::new();
    let asked =
        [("spec", "pair.json"), ("register", "bench.register"), ("date", "2026-03-01"), ("by", "A. Weber")];
    let markup = desk.answered("calibrate", &asked);
    let made = made(&markup);
    let certificate = made.iter().find(|path| path.ends_with("/certificate.html"));
    let certificate = certificate.unwrap_or_else(|| panic!("{markup}"));
    let run = certificate.split('/').nth(2).unwrap();
    // As after a reload: the question's page lists the result, and the result has the same files.
    let page = desk.get("/ask/calibrate").send().text();
    assert!(
        page.contains("Results of this session") && page.contains(&format!("href=\"/result/{run}\"")),
        "{page}"
    );
    let result = desk.get(&format!("/result/{run}")).send().text();
    assert!(result.contains(certificate.as_str()) && result.contains("answer done"), "{result}");
    assert!(!desk.get("/ask/sheet").send().text().contains("/result/"), "another question");
    // Answers of other questions do not push it out.
    for _ in 0..26 {
        desk.answered("wires", &[]);
    }
    assert_eq!(desk.get(certificate).send().status, 200);
    let keep =
        |name: &str| desk.form(&certificate.replace("/made/", "/do/keep/"), &[("name", name)]).send().text();
    for wrong in ["certificate.json", "certificate.svg", "../certificate.html", "certificate.js"] {
        assert!(keep(wrong).starts_with("<p class=\"alert\""), "{wrong}");
    }
    assert!(keep("bench 2026.html").contains("Kept in the folder"));
    assert_eq!(std::fs::read(desk.path("bench 2026.html")).unwrap(), desk.get(certificate).send().body);
    let shown = desk.data("/kept/bench%202026.html").send();
    assert_eq!(shown.status, 200);
    assert!(shown.header("content-security-policy").unwrap().starts_with("sandbox"), "{shown:?}");
    assert!(!shown.header("content-security-policy").unwrap().contains("allow-scripts"));
    let page = desk.get("/file/bench%202026.html").send().text();
    assert!(page.contains("href=\"/kept/bench%202026.html?key=") && !page.contains("<textarea"), "{page}");
    assert!(desk.get("/").send().text().contains("page or picture"));
}

#[test]
fn a_run_that_nobody_follows_is_stopped_and_one_that_is_followed_goes_on() {
    let desk = Desk::new();
    let _left = begun(&desk);
    wait_until(|| children(&desk).len() == 1, "the run begins");
    let followed = begun(&desk);
    let mut stream = desk.connection();
    stream.write_all(&desk.get(&format!("/told/{followed}")).bytes()).unwrap();
    wait_until(|| children(&desk).len() == 2, "both run");
    std::thread::sleep(Duration::from_secs(8));
    wait_until(|| children(&desk).len() == 1, "the one that nobody follows is stopped");
    drop(stream);
    wait_until(|| children(&desk).is_empty(), "its page was closed");
}

#[test]
fn every_page_lists_the_runs_under_way_and_stops_them() {
    let desk = Desk::new();
    let run = begun(&desk);
    wait_until(|| children(&desk).len() == 1, "the run begins");
    for page in ["/", "/file/pair.json", "/ask/sheet", "/first", "/none"] {
        let text = desk.get(page).send().text();
        assert!(text.contains(&format!("href=\"/result/{run}\"")), "{page}: {text}");
        assert!(text.contains(&format!("hx-post=\"/do/stop/{run}\"")), "{page}: {text}");
    }
    // Its own page shows the run itself.
    let own = desk.get(&format!("/result/{run}")).send().text();
    assert!(own.contains(&format!("data-told=\"/told/{run}\"")) && !own.contains("id=\"running\""), "{own}");
    assert_eq!(desk.change("POST", &format!("/do/stop/{run}"), "").status(), 200);
    wait_until(|| children(&desk).is_empty(), "it is stopped");
    let list =
        desk.get(&format!("/do/running?run={run}")).with("x-desk-page", &desk.page_token()).send().text();
    assert!(list.contains("is done") && !list.contains("hx-trigger"), "{list}");
    assert!(!desk.get("/").send().text().contains("id=\"running\""));
}

#[test]
fn a_run_that_waits_says_so_at_once() {
    let desk = Desk::new();
    let [first, _second, third] = [begun(&desk), begun(&desk), begun(&desk)];
    wait_until(|| children(&desk).len() == 2, "two runs");
    assert!(told(&desk, &third, "data: ").contains("waiting for its turn"));
    assert!(told(&desk, &first, "data: ").contains("event: step"));
}

#[test]
fn the_command_of_a_page_names_the_file_that_was_chosen_as_the_only_one() {
    let desk = Desk::new();
    let page = desk.get("/ask/sheet").send().text();
    assert!(page.contains("<code data-copy>coilwright sheet pair.json</code>"), "{page}");
    assert!(page.contains("ask/sheet?spec=pair.json"), "{page}");
}
