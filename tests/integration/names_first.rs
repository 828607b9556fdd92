//! Names and the right to write are checked before the question is asked.
//!
//! Each call asks something that the question itself refuses. Where a file stands in the way as well, that is told, so it
//! was looked at first.

use crate::outputs::{BARE, cancelling};
use crate::program::{Run, example, run_in};
use std::fs;
use std::path::Path;

const READINGS: &str = "current_A,field_mT\n1,0.84\n2,1.68\n3,2.52\n";
const RUNS: &str = "gun_voltage_V,current_A,radius_mm\n200,1.4,40\n";
/// Neither warms nor cools, so that nothing can be fitted.
const WARM_UP: &str =
    "time_min,voltage_V,current_A\n0,14.8,1.8\n5,14.8,1.8\n10,14.8,1.8\n15,14.8,1.8\n20,14.8,1.8\n";
/// Nothing says how large the coil is.
const UNMEASURED: &str = r#"{
  "title": "Without a ruler", "connection": "series",
  "resistance": { "value": "5.68 ohm", "uncertainty": "0.04 ohm", "at": "20.5 degC" }
}"#;
/// A field that no supply of a tenth of a volt makes.
const TOO_MUCH: &str = r#"{
  "title": "Too much", "largest_field": "1 mT",
  "tube": { "beam_radius": ["26 mm", "50 mm"] }, "supply": { "voltage_limit": "0.1 V", "current_limit": "2.5 A" },
  "search": { "mean_radius": ["150 mm", "160 mm"], "width": ["12 mm", "14 mm"], "depth": ["8 mm", "10 mm"],
    "spacing": "radius", "wires": [{ "size": "0.9 mm", "build": "grade 2" }] }
}"#;

/// A call whose question is refused, what the refusal says, and a file that it would make.
const CALLS: &[(&[&str], &str, &str)] = &[
    (&["map", "cancelling.json"], "cancel", "axial-plane.svg"),
    (&["calibrate", "bare.json"], "build_tolerance", "handout.html"),
    (
        &["calibrate", "bench.json", "--readings", "readings.csv", "--monte-carlo", "3"],
        "sample",
        "residuals.csv",
    ),
    (&["calibrate", "bench.json", "--plan", "--want", "70 %"], "0.001 %", "readings.csv"),
    (&["heat", "bench.json", "--warm-up", "warm-up.csv"], "does not rise", "heat-warm-up.csv"),
    (
        &["orbit", "bench.json", "--gun-voltage", "-200 V", "--current", "1.4 A"],
        "gun voltage",
        "orbit-plane.svg",
    ),
    (&["orbit", "bench.json", "--chart", "--gun-voltage", "-200 V"], "gun voltage", "beam-radius.svg"),
    (&["orbit", "bench.json", "--bias", "--gun-voltage", "-200 V"], "gun voltage", "bias.csv"),
    (&["orbit", "bench.json", "--scale", "--gun-voltage", "-200 V"], "gun voltage", "reading-scale.svg"),
    (
        &["weigh", "bench.json", "--runs", "runs.csv", "--scale-uncertainty", "150 %"],
        "scale uncertainty",
        "weigh.svg",
    ),
    (&["lesson", "bench.json", "--settings", "200 V 0.1 A", "--json"], "does not come round", "lesson.html"),
    (&["build", "bench.json", "--interlayer", "1 mm"], "insulation", "former.dxf"),
    (&["tolerance", "bare.json"], "build_tolerance", "tolerance.json"),
    (&["tolerance", "bench.json", "--builds", "1"], "build", "tolerance.json"),
    (&["compare", "cancelling.json", "bench.json"], "cancel", "compare.csv"),
];

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let put = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    put("bare.json", BARE);
    put("cancelling.json", &cancelling());
    put("readings.csv", READINGS);
    put("runs.csv", RUNS);
    put("warm-up.csv", WARM_UP);
    fs::copy(example("window-bench.json"), folder.path().join("bench.json")).unwrap();
    folder
}

fn refused(folder: &Path, call: &[&str], more: &[&str]) -> String {
    let Run { stdout, stderr, status } = run_in(folder, &[call, more].concat());
    assert_eq!((status, stdout.as_str()), (Some(1), ""), "{call:?} {more:?}: {stderr}");
    stderr
}

#[test]
fn a_file_in_the_way_is_told_before_the_question_is_asked() {
    for (call, question_says, file) in CALLS {
        let folder = folder();
        let needs_out = call[0] == "map" || call.contains(&"--scale");
        let alone = if needs_out { &["--out", "free"][..] } else { &[] };
        let said = refused(folder.path(), call, alone);
        assert!(said.contains(question_says), "{call:?}: {said}");
        fs::create_dir(folder.path().join("out")).unwrap();
        fs::write(folder.path().join("out").join(file), "old").unwrap();
        let said = refused(folder.path(), call, &["--out", "out"]);
        assert!(said.contains(&format!("{file}: the file exists already")), "{call:?}: {said}");
        let said = refused(folder.path(), call, &["--out", "out", "--force"]);
        assert!(said.contains(question_says), "{call:?}: {said}");
        assert_eq!(fs::read_to_string(folder.path().join("out").join(file)).unwrap(), "old");
    }
}

#[test]
fn a_place_that_cannot_be_written_to_is_told_before_the_question_is_asked() {
    for (call, _, _) in CALLS {
        let folder = folder();
        fs::write(folder.path().join("file"), "").unwrap();
        let said = refused(folder.path(), call, &["--out", "file/below"]);
        assert!(said.contains("file/below: a file is where a folder should be"), "{call:?}: {said}");
    }
}

#[test]
fn a_spec_to_be_written_is_looked_at_before_the_search() {
    let folder = tempfile::tempdir().unwrap();
    let put = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    put("taken.json", "old");
    put("measured.json", UNMEASURED);
    put("wishes.json", TOO_MUCH);
    for (command, asked, question_says) in [
        ("identify", "measured.json", "inner_diameter"),
        ("size", "wishes.json", "there is no best to write"),
    ] {
        let said = refused(folder.path(), &[command, asked], &["--write", "free.json"]);
        assert!(said.contains(question_says), "{command}: {said}");
        let said = refused(folder.path(), &[command, asked], &["--write", "taken.json"]);
        assert!(said.contains("taken.json: the file exists already"), "{command}: {said}");
        assert!(!folder.path().join("free.json").exists());
    }
}

/// What `--help` tells of `--out` is what is written.
#[test]
fn the_help_names_every_file_that_is_written() {
    for (call, question) in [
        (&["map", "bench.json", "--grid", "5"][..], "map"),
        (&["heat", "bench.json", "--duty", "10 min/20 min"], "heat"),
        (&["orbit", "bench.json", "--scale"], "orbit"),
        (&["orbit", "bench.json", "--bias", "--gun-voltage", "200 V", "--current", "1.4 A"], "orbit"),
        (&["calibrate", "bench.json"], "calibrate"),
        (&["calibrate", "bench.json", "--plan"], "calibrate"),
        (&["lesson", "bench.json"], "lesson"),
        (&["tolerance", "bench.json", "--builds", "20"], "tolerance"),
        (&["compare", "bench.json", "bench.json"], "compare"),
    ] {
        let folder = folder();
        let run = run_in(folder.path(), &[call, &["--out", "out"]].concat());
        assert_eq!(run.status, Some(0), "{call:?}: {}", run.stderr);
        let help = run_in(folder.path(), &[question, "--help"]).stdout;
        let written = fs::read_dir(folder.path().join("out")).unwrap();
        let names: Vec<String> =
            written.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        assert!(!names.is_empty());
        for name in names {
            assert!(help.contains(&name), "{call:?}: {name} is not in\n{help}");
        }
    }
}
