//! Hostile titles, labels, paths and arguments are inert in every output.

use crate::program::{example, run, text};
use serde_json::Value;

/// Escape sequence, direction override, isolate, newline, noncharacter, NUL, markup, and a formula after a comma.
const HOSTILE: &str = "Bench,=1+1;@SUM(1)\u{1b}[31m\u{202e}\u{2066}\n\u{fffe}\0<blink>&\"";

/// The window bench under the hostile title, and the folder it lies in.
fn hostile_spec() -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let mut bench: Value =
        serde_json::from_str(&std::fs::read_to_string(example("window-bench.json")).unwrap()).unwrap();
    bench["title"] = HOSTILE.into();
    bench["former"]["material"] = format!("ply{HOSTILE}").into();
    let path = folder.path().join("pair.json");
    std::fs::write(&path, bench.to_string()).unwrap();
    let path = path.to_str().unwrap().to_owned();
    (folder, path)
}

fn assert_inert(what: &str, text: &str) {
    let harmful = text.chars().find(|c| *c != '\n' && !coilwright::units::inert::is_inert(*c));
    assert!(harmful.is_none(), "{what}: {harmful:?}");
}

#[test]
fn a_hostile_title_is_inert_in_every_file_and_page() {
    let (folder, spec) = hostile_spec();
    let out = folder.path().join("out");
    let out_text = out.to_str().unwrap();
    let runs = format!("{}/lab-files/runs.csv", env!("CARGO_MANIFEST_DIR"));
    for arguments in [
        &["sheet", &spec][..],
        &["sheet", &spec, "--json"],
        &["check", &spec],
        &["uniformity", &spec],
        &["heat", &spec, "--out", out_text],
        &["calibrate", &spec, "--out", out_text],
        &["orbit", &spec, "--gun-voltage", "200 V", "--current", "1.4 A", "--out", out_text],
        &["orbit", &spec, "--chart", "--out", out_text, "--force"],
        &["weigh", &spec, "--runs", &runs, "--out", out_text],
        &["lesson", &spec, "--out", out_text],
        &["compare", &spec, &example("quote-thick.json"), "--out", out_text],
        &["tolerance", &spec, "--builds", "20", "--out", out_text],
        &["build", &spec, "--out", out_text],
        &["map", &spec, "--out", out_text],
    ] {
        assert_inert(&arguments.join(" "), &text(arguments));
    }
    let mut looked_at = 0;
    for entry in std::fs::read_dir(&out).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap().to_owned();
        if name.ends_with(".png") || name.ends_with(".xlsx") {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        assert_inert(&name, &text);
        let is_markup = name.ends_with(".svg") || name.ends_with(".html");
        assert!(!(is_markup && text.contains("<blink>")), "{name}");
        if name.ends_with(".csv") {
            for line in text.lines() {
                for cell in line.split([',', ';']) {
                    let cell = cell.trim_start_matches([' ', '"']);
                    let number = cell.parse::<f64>().is_ok();
                    assert!(number || !cell.starts_with(['=', '@', '+', '-']), "{name}: {line}");
                }
            }
        }
        looked_at += 1;
    }
    assert!(looked_at > 20, "{looked_at}");
}

#[test]
fn hostile_paths_arguments_and_syntax_errors_are_inert_in_messages() {
    let folder = tempfile::tempdir().unwrap();
    let broken = folder.path().join("a\u{1b}[2J\u{202e}b.json");
    std::fs::write(&broken, "{ \"title\": \"\u{202e}x\u{1b}\", \u{9b}31m }").unwrap();
    let broken = broken.to_str().unwrap();
    let current = "2\u{1b}[31m\nhint: \u{202e}A";
    for arguments in [
        &["check", broken][..],
        &["sheet", "no\u{1b}[31m\u{202e}such.json"],
        &["heat", &example("window-bench.json"), "--current", current],
        &["\u{1b}[31mheat"],
        &["heat", &example("window-bench.json"), "--out", "/dev/null/\u{1b}[31m\u{202e}"],
    ] {
        let output = run(arguments);
        assert!(!output.status.success());
        let said = String::from_utf8(output.stderr).unwrap();
        assert_inert(&format!("{arguments:?}"), &said);
        assert!(said.lines().filter(|line| line.starts_with("hint: ")).count() <= 1, "{said}");
    }
}

#[test]
fn a_hostile_label_in_a_table_is_inert() {
    let folder = tempfile::tempdir().unwrap();
    let runs = folder.path().join("runs.csv");
    let sound =
        std::fs::read_to_string(format!("{}/lab-files/runs.csv", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let mark = if sound.lines().next().unwrap().contains(';') { ';' } else { ',' };
    let mut lines = sound.lines();
    let heading: Vec<&str> = lines.next().unwrap().split(mark).collect();
    let Some(label) = heading.iter().position(|name| name.trim() == "label") else {
        panic!("the example runs have no labels: {heading:?}");
    };
    let mut table = heading.join(&mark.to_string()) + "\n";
    for (number, line) in lines.enumerate() {
        let mut cells: Vec<String> = line.split(mark).map(str::to_owned).collect();
        cells[label] = format!("\"=cmd|{number}\u{1b}[31m\u{202e}\"");
        table += &(cells.join(&mark.to_string()) + "\n");
    }
    std::fs::write(&runs, table).unwrap();
    let out = folder.path().join("out");
    let (runs, out_text) = (runs.to_str().unwrap(), out.to_str().unwrap());
    assert_inert("page", &text(&["weigh", &example("window-bench.json"), "--runs", runs, "--out", out_text]));
    let csv = std::fs::read_to_string(out.join("weigh-runs.csv")).unwrap();
    assert_inert("csv", &csv);
    assert!(csv.contains("'=cmd|0\\u{1b}[31m\\u{202e}"), "{csv}");
}
