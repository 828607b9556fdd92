//! `calibrate` as a user types it.

use std::path::Path;
use std::process::{Command, Output};

const BENCH: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/coil-specs/window-bench.json");

fn calibrate(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_coilwright")).arg("calibrate").args(arguments).output().unwrap()
}

fn json(arguments: &[&str]) -> serde_json::Value {
    let output = calibrate(arguments);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

fn number(record: &serde_json::Value, path: &str) -> f64 {
    record.pointer(path).and_then(serde_json::Value::as_f64).unwrap_or_else(|| panic!("no number at {path}"))
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

#[test]
fn the_computed_calibration_has_the_keys_scripts_rely_on() {
    let record = json(&[BENCH, "--json"]);
    assert_eq!(record["adopted_from"], "computed");
    let slope = number(&record, "/slope_tesla_per_ampere");
    assert!(number(&record, "/slope_standard_uncertainty_tesla_per_ampere") > 0.0);
    assert_eq!(number(&record, "/intercept_tesla"), 0.0);
    let rows = record["table"].as_array().unwrap();
    // 2.8 A at 0.01 A: 29 rows of 0.1 A, while 0.05 A would make 57.
    assert_eq!(rows.len(), 29);
    for (n, row) in rows.iter().enumerate() {
        let current = number(row, "/current_ampere");
        assert!((current - 0.1 * n as f64).abs() < 1e-12);
        assert!((number(row, "/coil_field_tesla") - slope * current).abs() < 1e-18);
        assert!(number(row, "/expanded_uncertainty_tesla") > 0.0);
        assert_eq!(number(row, "/coverage_factor"), 2.0);
    }
}

#[test]
fn the_step_is_the_users_where_one_is_given() {
    let record = json(&[BENCH, "--json", "--step", "0.7 A"]);
    assert_eq!(record["table"].as_array().unwrap().len(), 5);
    let refused = calibrate(&[BENCH, "--step", "-0.1 A"]);
    assert_eq!(refused.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("the step -0.1 A"));
}

#[test]
fn files_are_written_whole_carry_their_provenance_and_are_kept_without_force() {
    let parent = tempfile::tempdir().unwrap();
    let out = parent.path().join("labs");
    let folder = out.to_str().unwrap();
    let first = calibrate(&[BENCH, "--out", folder, "--date", "2026-03-01"]);
    assert!(first.status.success(), "{}", String::from_utf8_lossy(&first.stderr));
    for name in ["calibration.csv", "calibration.json", "calibration.svg", "calibration.png", "current.csv"] {
        assert!(names(&out).contains(&name.to_owned()), "{name} in {:?}", names(&out));
    }
    let csv = std::fs::read_to_string(out.join("calibration.csv")).unwrap();
    assert!(csv.starts_with("# coilwright "), "{csv}");
    assert!(csv.contains("2026-03-01") && csv.contains("window bench"));
    // Every step of the ammeter: 0 A to 2.8 A at 0.01 A.
    assert_eq!(csv.lines().filter(|line| line.starts_with(|c: char| c.is_ascii_digit())).count(), 281);
    let again = calibrate(&[BENCH, "--out", folder]);
    assert_eq!(again.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&again.stderr).contains("--force"));
    assert!(calibrate(&[BENCH, "--out", folder, "--force", "--number-format", "comma"]).status.success());
    let csv = std::fs::read_to_string(out.join("calibration.csv")).unwrap();
    assert!(csv.contains("current_ampere;coil_field_tesla"), "{csv}");
    assert!(csv.lines().any(|line| line.starts_with("0,01;")), "{csv}");
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let parent = tempfile::tempdir().unwrap();
    let written = |name: &str| {
        let out = parent.path().join(name);
        assert!(calibrate(&[BENCH, "--out", out.to_str().unwrap()]).status.success());
        names(&out).iter().map(|name| std::fs::read(out.join(name)).unwrap()).collect::<Vec<_>>()
    };
    assert_eq!(written("one"), written("two"));
}

#[test]
fn a_date_that_is_none_is_refused() {
    let refused = calibrate(&[BENCH, "--date", "2026-02-30"]);
    assert_eq!(refused.status.code(), Some(1));
    let stderr = String::from_utf8_lossy(&refused.stderr);
    assert!(stderr.contains("error: the date `2026-02-30`") && stderr.contains("hint:"), "{stderr}");
}
