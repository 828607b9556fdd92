//! `check`: the specs it accepts, and the exact words and places of its errors.

use crate::program::{example_specs, run_in};
use std::fs;
use std::path::Path;

/// A small valid spec; each test spoils it in one way.
const PAIR: &str = r#"{
  "title": "Attic pair",
  "winding": {
    "mean_radius": "150 mm", "width": "17 mm", "depth": "9.4 mm", "turns": 136,
    "wire": { "bare_diameter": "0.95 mm", "overall_diameter": "1.04 mm" }
  },
  "spacing": "150 mm",
  "tube": {
    "bulb_radius": "80 mm", "gun_exit": ["45 mm", "0 mm", "0 mm"], "gun_direction": [0, 1, 0],
    "beam_radius": ["25 mm", "50 mm"]
  }
}
"#;

/// Output and status of `check` on the small spec after a change.
fn check_changed(from: &str, to: &str) -> (String, Option<i32>) {
    assert!(PAIR.contains(from), "{from}");
    check_bytes(PAIR.replacen(from, to, 1).as_bytes())
}

fn check_bytes(bytes: &[u8]) -> (String, Option<i32>) {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("pair.json"), bytes).unwrap();
    let run = run_in(folder.path(), &["check", "pair.json"]);
    (run.stdout + &run.stderr, run.status)
}

#[test]
fn the_examples_are_right_and_without_warnings() {
    let specs = example_specs();
    assert!(specs.len() >= 4);
    for spec in specs {
        let run = run_in(Path::new("."), &["check", spec.to_str().unwrap()]);
        assert_eq!(run.status, Some(0), "{run:?}");
        assert!(run.stdout.contains(": ok, no warnings\ntitle: Saltmarsh College, "), "{run:?}");
        assert_eq!(run.stderr, "");
    }
}

#[test]
fn a_right_file_gives_its_title_and_digest() {
    let (output, status) = check_changed("Attic pair", "Attic pair");
    // sha256sum of the text above.
    let head = "pair.json: ok, 1 warning\ntitle: Attic pair\ndigest: ba90d8a7690b\n";
    assert!(output.starts_with(head), "{output}");
    // 136 turns, 16 side by side: eight layers and eight turns.
    assert!(output.contains("the last of 9 layers holds 8"), "{output}");
    assert_eq!(status, Some(0));
    let with_crlf = format!("\u{feff}{}", PAIR.replace('\n', "\r\n"));
    assert_eq!(check_bytes(with_crlf.as_bytes()), (output, Some(0)));
}

#[test]
fn all_structural_problems_are_shown_together_in_the_order_of_the_file() {
    let text = PAIR
        .replace("\"width\": \"17 mm\"", "\"witdh\": \"17 mm\"")
        .replace("\"turns\": 136", "\"turns\": 136, \"turns\": 137")
        .replace("\"spacing\": \"150 mm\"", "\"spacing\": 150");
    let (output, status) = check_bytes(text.as_bytes());
    assert_eq!(status, Some(1));
    assert_eq!(
        output,
        r#"error: `winding` has no `width`
 --> pair.json:3:14
  |
3 |   "winding": {
  |              ^
  |
  = hint: write it like this: "width": "19 mm"

error: unknown key `witdh` in `winding`
 --> pair.json:4:30
  |
4 |     "mean_radius": "150 mm", "witdh": "17 mm", "depth": "9.4 mm", "turns": 136, "turns": 137,
  |                              ^^^^^^^
  |
  = hint: did you mean `width`? known here: `depth`, `filling`, `layers`, `mean_radius`, `packing`, `surface_emissivity`, `turns`, `turns_per_layer`, `width`, `wire`

error: `turns` in `winding` is written twice
 --> pair.json:4:81
  |
4 |     "mean_radius": "150 mm", "witdh": "17 mm", "depth": "9.4 mm", "turns": 136, "turns": 137,
  |                                                                   -------       ^^^^^^^ again here
  |                                                                   |
  |                                                                   first here
  |
  = hint: keep one of the two

error: `spacing` has no unit
 --> pair.json:7:14
  |
7 |   "spacing": 150,
  |              ^^^
  |
  = hint: write it as text with its unit: "150 mm" (units: mm, cm, m, km, um, in)

error: 4 problems in pair.json
"#
    );
}

#[test]
fn a_syntax_error_is_shown_alone() {
    let text = PAIR.replace("\"title\": \"Attic pair\",", "\"tittle\": \"Attic pair\" // the old one");
    let (output, status) = check_bytes(text.as_bytes());
    assert_eq!(status, Some(1));
    assert_eq!(
        output,
        r#"error: JSON has no comments
 --> pair.json:2:26
  |
2 |   "tittle": "Attic pair" // the old one
  |                          ^^^^^^^^^^^^^^
  |
  = hint: delete it, or say it in `title`

error: 1 problem in pair.json
"#
    );
}

#[test]
fn physical_problems_are_shown_once_the_structure_is_right() {
    let text = PAIR
        .replace("\"depth\": \"9.4 mm\"", "\"depth\": \"6.4 mm\"")
        .replace("[\"25 mm\", \"50 mm\"]", "[\"25 mm\", \"70 mm\"]");
    let (output, status) = check_bytes(text.as_bytes());
    assert_eq!(status, Some(1));
    assert_eq!(
        output,
        r#"error: 9 layers need 9.360 mm, and the section is 6.400 mm deep
 --> pair.json:4:57
  |
4 |     "mean_radius": "150 mm", "width": "17 mm", "depth": "6.4 mm", "turns": 136,
  |                                                         ^^^^^^^^
  |
  = hint: 136 turns of wire of 1.040 mm over its enamel, 16 to a layer

error: a beam circle of radius 70.00 mm leaves the bulb: it reaches 95.00 mm from the centre of a bulb of radius 80.00 mm
  --> pair.json:10:30
   |
10 |     "beam_radius": ["25 mm", "70 mm"]
   |                              ^^^^^^^
   |
   = hint: the largest circle from this gun exit that stays inside has a radius of 62.50 mm

error: 2 problems in pair.json
"#
    );
}

#[test]
fn each_physical_slip_is_named() {
    for (from, to, message, hint) in [
        ("\"Attic pair\"", "\"  \"", "`title` is blank", "people call this pair"),
        (
            "\"150 mm\", \"width\"",
            "\"-150 mm\", \"width\"",
            "`winding.mean_radius` is -150 mm",
            "1 mm to 10 m",
        ),
        ("\"turns\": 136", "\"turns\": 0", "`winding.turns` is 0", "0.25 to 1000000"),
        ("\"9.4 mm\"", "\"310 mm\"", "`winding.depth` is 310 mm", "less than twice the mean radius, 300 mm"),
        ("\"1.04 mm\"", "\"0.9 mm\"", "the wire is 0.9 mm over its enamel and 0.95 mm without", "larger"),
        (
            "\"spacing\": \"150 mm\"",
            "\"spacing\": \"12 mm\"",
            "the coils overlap: they are 17.00 mm wide and 12.00 mm apart",
            "more than 17.00 mm",
        ),
        (
            "\"80 mm\"",
            "\"170 mm\"",
            "the bulb of radius 170.0 mm hits coil a, 159.8 mm from its centre",
            "159.8 mm",
        ),
        ("[\"45 mm\"", "[\"85 mm\"", "the gun exit is 85 mm from the bulb's centre", "radius 80 mm"),
        ("[0, 1, 0]", "[0, 0, 0]", "`tube.gun_direction` has no direction", "[0, 1, 0]"),
        ("[0, 1, 0]", "[0, 0, 1]", "the gun points along the axis", "shoots upwards"),
        ("[0, 1, 0]", "[0, -1, 0]", "leaves the bulb", "at negative current"),
        (
            "[\"25 mm\", \"50 mm\"]",
            "[\"50 mm\", \"25 mm\"]",
            "`tube.beam_radius` goes from 50 mm down to 25 mm",
            "smaller value first",
        ),
        (
            "\"turns\": 136",
            "\"turns\": 136, \"layers\": 4, \"turns_per_layer\": 16",
            "4 layers of 16 turns hold 64 turns, not 136",
            "more layers",
        ),
        (
            "\"turns\": 136",
            "\"turns\": 136, \"turns_per_layer\": 20",
            "20 turns side by side need 20.80 mm, and the section is 17.00 mm wide",
            "at most 16",
        ),
        (
            "{ \"bare_diameter\": \"0.95 mm\", \"overall_diameter\": \"1.04 mm\" }",
            "{ \"size\": \"0.92 mm\", \"build\": \"grade 1\" }",
            "`0.92 mm` is not a stock size",
            "nearest: `0.9 mm`",
        ),
        (
            "\"spacing\": \"150 mm\",",
            "\"spacing\": \"150 mm\", \"as_built\": { \"a\": { \"offset\": [\"0 mm\", \"0 mm\", \"140 mm\"] } },",
            "the coils as built overlap by 7.000 mm",
            "`offset`",
        ),
        (
            "\"spacing\": \"150 mm\",",
            "\"spacing\": \"150 mm\", \"room\": { \"site\": { \"latitude\": \"99 deg\", \"longitude\": \"9 deg\", \"height\": \"1 m\", \"date\": \"2026-02-30\", \"axis_bearing\": \"0 deg\" } },",
            "2026-02 has no day 30",
            "1 to 28",
        ),
    ] {
        let (output, status) = check_changed(from, to);
        assert_eq!(status, Some(1), "{to}: {output}");
        assert!(output.contains(message), "{to}: {output}");
        assert!(output.contains(hint), "{to}: {output}");
    }
}

#[test]
fn a_half_empty_section_is_a_warning_that_shows_where_the_turns_would_sit() {
    let (output, status) = check_changed("\"9.4 mm\"", "\"14 mm\"");
    assert_eq!(status, Some(0));
    assert_eq!(
        output,
        r#"pair.json: ok, 2 warnings
title: Attic pair
digest: 909b17c00c7f
warning: the turns fill 62 % of the section
 --> pair.json:4:57
  |
4 |     "mean_radius": "150 mm", "width": "17 mm", "depth": "14 mm", "turns": 136,
  |                                                         ^^^^^^^
  |
  = hint: if they sit at its bottom, their mean radius is 147.4 mm, not 150.0 mm; width and depth describe the wound copper, not the channel

warning: with 16 turns side by side the last of 9 layers holds 8, and neither `layers` nor `turns_per_layer` says so
 --> pair.json:4:75
  |
4 |     "mean_radius": "150 mm", "width": "17 mm", "depth": "14 mm", "turns": 136,
  |                                                                           ^^^
  |
  = hint: state one of them: wound so, the middle of the turns is 0.3660 mm nearer to the axis, and the field counts it

"#
    );
}

#[test]
fn coils_against_each_other_are_a_warning() {
    let (output, status) =
        check_changed("\"tube\":", "\"as_built\": { \"b\": { \"sense\": -1 } }, \"tube\":");
    assert_eq!(status, Some(0));
    assert!(output.contains("2 warnings") && output.contains("coil b works against the other"), "{output}");
    assert!(output.contains("pair.json:8:33"), "{output}");
}

#[test]
fn a_slip_that_spoils_other_checks_is_shown_alone() {
    // A negative radius makes section, bulb and coils meaningless together.
    let (output, _) = check_changed("\"150 mm\", \"width\"", "\"-150 mm\", \"width\"");
    assert!(output.ends_with("error: 1 problem in pair.json\n"), "{output}");
}

#[test]
fn files_that_cannot_be_specs_are_refused_in_a_sentence() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    fs::write(at("large.json"), vec![b'['; 3 << 20]).unwrap();
    fs::write(at("deep.json"), "[".repeat(200_000)).unwrap();
    fs::write(at("latin.json"), b"{ \"title\": \"B\xe4nke\" }").unwrap();
    fs::write(at("empty.json"), b"").unwrap();
    fs::write(at("wide.json"), "\u{feff}{}".encode_utf16().flat_map(u16::to_le_bytes).collect::<Vec<_>>())
        .unwrap();
    for (name, wanted) in [
        ("absent.json", "error: cannot read absent.json: there is no such file\n"),
        (".", "error: cannot read .: it is a directory, not a file\n"),
        (
            "large.json",
            "error: cannot read large.json: it is larger than 1 MiB, the most that a spec may have\n",
        ),
        (
            "latin.json",
            "error: cannot read latin.json: line 1 is not UTF-8 text\nhint: save the file as UTF-8\n",
        ),
        ("empty.json", "error: cannot read empty.json: it is empty\n"),
        (
            "wide.json",
            "error: cannot read wide.json: it is UTF-16 (little-endian) text\nhint: save the file as UTF-8\n",
        ),
    ] {
        let run = run_in(folder.path(), &["check", name]);
        assert_eq!((run.stderr.as_str(), run.status), (wanted, Some(1)));
        assert_eq!(run.stdout, "");
    }
    let run = run_in(folder.path(), &["check", "deep.json"]);
    assert_eq!(run.status, Some(1));
    assert!(run.stderr.starts_with("error: more than 32 levels of brackets\n"), "{run:?}");
    assert!(run.stderr.len() < 2000, "the line is shown in part");
}

#[test]
fn json_holds_every_problem_with_its_place() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(
        folder.path().join("pair.json"),
        PAIR.replace("\"150 mm\",\n  \"tube\"", "\"2 A\",\n  \"tube\""),
    )
    .unwrap();
    let run = run_in(folder.path(), &["check", "pair.json", "--json"]);
    assert_eq!(run.status, Some(1));
    let document: serde_json::Value = serde_json::from_str(&run.stdout).unwrap();
    assert_eq!(document["ok"], false);
    assert_eq!(document["problems"][0]["line"], 7);
    assert_eq!(document["problems"][0]["column"], 14);
    assert_eq!(document["problems"][0]["message"], "`spacing`: `2 A` is a current, not a length");
}

#[test]
fn a_file_of_another_kind_is_told_as_what_it_is() {
    let lab_file = |name: &str| format!("{}/lab-files/{name}", env!("CARGO_MANIFEST_DIR"));
    let spec = crate::program::example("window-bench.json");
    for (arguments, message, hint) in [
        (vec!["heat", "lessons.json"], "this is a file of wishes, not a spec", "it is for `size`"),
        (
            vec!["sheet", "cupboard-pair.json"],
            "this is a file of measurements, not a spec",
            "it is for `identify`",
        ),
        (vec!["size", &spec], "this is a spec, not a file of wishes", "most commands take first"),
        (vec!["identify", "lessons.json"], "this is a file of wishes, not a file of measurements", "`size`"),
    ] {
        let arguments: Vec<String> = arguments
            .into_iter()
            .map(|word| if word.ends_with(".json") && word != spec { lab_file(word) } else { word.into() })
            .collect();
        let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
        let (status, said) = crate::program::failure(&arguments);
        assert_eq!(status, 1);
        assert!(said.starts_with(&format!("error: {message}\n")), "{said}");
        assert!(said.contains(hint), "{said}");
        assert!(said.ends_with(&format!("error: 1 problem in {}\n", arguments[1])), "{said}");
    }
}

#[test]
fn files_of_wishes_and_of_measurements_are_checked_as_what_they_are() {
    for (file, what) in [("lessons.json", "wishes"), ("cupboard-pair.json", "measurements")] {
        let path = format!("lab-files/{file}");
        let run = run_in(Path::new("."), &["check", &path]);
        assert_eq!(run.status, Some(0), "{run:?}");
        assert!(run.stdout.starts_with(&format!("{path}: ok, a file of {what}\ntitle: ")), "{run:?}");
    }
    let folder = tempfile::tempdir().unwrap();
    fs::write(
        folder.path().join("w.json"),
        r#"{ "title": "W", "clearence": "8 mm", "beam_deviation": "1 %" }"#,
    )
    .unwrap();
    let run = run_in(folder.path(), &["check", "w.json"]);
    assert_eq!(run.status, Some(1));
    assert!(run.stderr.contains("did you mean `clearance`?"), "{run:?}");
}

#[test]
fn a_spec_that_contradicts_itself_is_told_by_whatever_command_reads_it() {
    let folder = tempfile::tempdir().unwrap();
    let quote = PAIR.replacen(
        "\"spacing\": \"150 mm\",",
        "\"spacing\": \"150 mm\", \"as_built\": { \"a\": { \"resistance\": { \"value\": \"1.2 ohm\", \"at\": \"20 degC\" } }, \"b\": {} },",
        1,
    );
    fs::write(folder.path().join("pair.json"), quote).unwrap();
    for command in [
        &["sheet", "pair.json"][..],
        &["heat", "pair.json", "--current", "1 A"],
        &["uniformity", "pair.json"],
    ] {
        let run = run_in(folder.path(), command);
        assert_eq!(run.status, Some(0), "{run:?}");
        assert!(
            run.stderr.contains(
                "warning: pair.json: the spec contradicts itself: coil a is stated to have 1.200 Ω"
            ),
            "{run:?}"
        );
    }
}
