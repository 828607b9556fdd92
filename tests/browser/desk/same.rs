//! Checks that a page shows what the command prints. The command is the one named on the page, run in a copy of the
//! folder.

use super::{Desk, Filled, words};
use std::collections::BTreeSet;
use std::path::Path;
use std::process::Command;

const FILES: [&str; 13] = [
    "window-bench.json",
    "quote-thick.json",
    "quote-used.json",
    "quote-unfinished.json",
    "lessons.json",
    "cupboard-pair.json",
    "delivery.json",
    "before-the-lesson.json",
    "supplier-limits.json",
    "readings.csv",
    "runs.csv",
    "points.csv",
    "window-bench.register",
];

const BENCH: (&str, &str) = ("spec", "window-bench.json");

const CASES: [(&str, Filled); 26] = [
    ("sheet", &[BENCH]),
    ("sheet", &[("spec", "quote-used.json"), ("nominal", "on")]),
    ("uniformity", &[BENCH, ("within", "0.5 %")]),
    ("map", &[BENCH, ("with_room", "on"), ("current", "1.4 A")]),
    ("heat", &[BENCH, ("current", "2.2 A")]),
    ("field", &[BENCH, ("points", "points.csv"), ("current", "1.4 A")]),
    ("tolerance", &[BENCH, ("builds", "500"), ("needs", "lessons.json")]),
    ("calibrate", &[BENCH, ("readings", "readings.csv"), ("same_ammeter", "on"), ("adopt", "combined")]),
    (
        "calibrate",
        &[
            BENCH,
            ("readings", "readings.csv"),
            ("register", "window-bench.register"),
            ("date", "2026-11-20"),
            ("by", "A. O'Neil"),
        ],
    ),
    ("register", &[("register", "window-bench.register")]),
    ("check", &[BENCH]),
    ("check", &[BENCH, ("measured", "before-the-lesson.json")]),
    ("orbit", &[BENCH, ("gun_voltage", "200 V"), ("current", "-1.4 A")]),
    ("lesson", &[BENCH, ("number_format", "comma")]),
    ("weigh", &[BENCH, ("runs", "runs.csv"), ("without", "group 1\ngroup 7")]),
    ("weigh", &[("spec", "quote-used.json"), ("runs", "runs.csv")]),
    ("size", &[("wanted", "lessons.json")]),
    ("identify", &[("measured", "cupboard-pair.json")]),
    ("build", &[BENCH, ("projection", "third"), ("waste", "10 %")]),
    ("tender", &[("wanted", "lessons.json"), ("date", "2026-11-20")]),
    (
        "compare",
        &[("quotes", "quote-thick.json"), ("quotes", "quote-unfinished.json"), ("needs", "lessons.json")],
    ),
    ("accept", &[BENCH, ("measured", "delivery.json"), ("supplier_limits", "supplier-limits.json")]),
    ("wires", &[]),
    // What the command refuses, the page refuses in the same words.
    ("heat", &[BENCH, ("current", "9 A")]),
    ("sheet", &[("spec", "quote-unfinished.json")]),
    ("orbit", &[BENCH, ("gun_voltage", "200 V"), ("current", "x")]),
];

/// A new folder with copies of the files.
fn copy_of(folder: &Path) -> tempfile::TempDir {
    let copy = tempfile::tempdir().unwrap();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() {
            std::fs::copy(&path, copy.path().join(path.file_name().unwrap())).unwrap();
        }
    }
    copy
}

#[test]
fn what_the_page_shows_is_what_the_command_prints_for_every_question() {
    let mut desk = Desk::with(&FILES);
    let listed = desk
        .page
        .evaluate("[...document.querySelectorAll('nav a')].map((it) => it.pathname.replace('/ask/', ''))");
    let listed: BTreeSet<_> =
        listed.as_array().unwrap().iter().map(|it| it.as_str().unwrap().to_owned()).collect();
    let asked: BTreeSet<_> = CASES.iter().map(|(command, _)| (*command).to_owned()).collect();
    assert_eq!(listed, asked);
    for (command, filled) in CASES {
        let copy = copy_of(desk.folder.path());
        let answer = desk.ask(command, filled);
        let typed = answer.command.strip_prefix("coilwright ").unwrap();
        // The page writes its files to a folder of its own, but names another one in the command.
        let typed = typed.replace("--out=papers", "--out=files");
        let printed = Command::new("sh")
            .args(["-c", &format!("\"$0\" {typed}"), env!("CARGO_BIN_EXE_coilwright")])
            .current_dir(copy.path())
            .output()
            .unwrap();
        let (out, told) =
            (String::from_utf8(printed.stdout).unwrap(), String::from_utf8(printed.stderr).unwrap());
        // The files that were written stand below the answer with their links.
        let out: String =
            out.lines().filter(|it| !it.starts_with("wrote files/")).map(|it| format!("{it}\n")).collect();
        assert_eq!(words(&answer.text), words(&out), "{typed}");
        // An option is called by its field's label, one of another page by its name, and how to call the command is left out.
        let told = [
            ("--current:", "“Current”:"),
            ("--adopt", "“Adopt”"),
            ("--event", "“event”"),
            ("is printed above", "is in the answer"),
        ]
        .iter()
        .fold(told, |told, (option, label)| told.replace(option, label));
        assert_eq!(words(&answer.told), words(&told), "{typed}");
        assert!(!out.is_empty() || !told.is_empty(), "{typed}");
        let written = std::fs::read_dir(copy.path().join("files")).map(|entries| {
            entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect::<BTreeSet<_>>()
        });
        let offered: BTreeSet<_> = answer.files.iter().cloned().collect();
        assert_eq!(offered, written.unwrap_or_default(), "{typed}");
        let register = desk.holds("window-bench.register");
        assert_eq!(
            register,
            std::fs::read_to_string(copy.path().join("window-bench.register")).unwrap(),
            "{typed}"
        );
    }
    desk.is_quiet();
}
