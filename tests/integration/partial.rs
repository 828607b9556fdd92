//! Specs whose optional parts are given in part: every command does what it can, states what it leaves out, and names
//! the missing part with an example that can be copied.

use crate::program::{data, example, number, run};
use coilwright::files::spec;
use serde_json::{Map, Value, json};
use std::path::Path;

fn window_bench() -> Value {
    serde_json::from_str(&std::fs::read_to_string(example("window-bench.json")).unwrap()).unwrap()
}

/// A spec with only the required parts.
fn bare() -> Value {
    let mut bench = window_bench();
    bench.as_object_mut().unwrap().retain(|key, _| ["title", "winding", "spacing"].contains(&key.as_str()));
    bench
}

/// Whether a command on a spec succeeds, and its standard output or error.
fn answer(folder: &Path, document: &Value, command: &str, more: &[&str]) -> (bool, String) {
    let path = folder.join("pair.json");
    std::fs::write(&path, document.to_string()).unwrap();
    let mut arguments = vec![command, path.to_str().unwrap()];
    arguments.extend(more);
    let output = run(&arguments);
    let said = if output.status.success() { output.stdout } else { output.stderr };
    (output.status.success(), String::from_utf8(said).unwrap())
}

#[test]
fn each_optional_key_may_be_left_out_on_its_own() {
    let whole = window_bench();
    let site = json!({
        "latitude": "51 deg", "longitude": "7 deg", "height": "90 m", "date": "2026-03-01", "axis_bearing": "75 deg"
    });
    let mut with_site = whole.clone();
    with_site["room"] = json!({ "temperature": "20 degC", "site": site });
    let mut with_resistance = whole.clone();
    with_resistance["as_built"] = json!({ "a": { "resistance": { "value": "4.2 ohm", "at": "21 degC" } } });
    let parts = |document: &Value| {
        let optional = |key: &&String| !["title", "winding", "spacing"].contains(&key.as_str());
        document.as_object().unwrap().keys().filter(optional).cloned().collect::<Vec<_>>()
    };
    let mut looked_at = 0;
    for document in [&whole, &with_site, &with_resistance] {
        for part in parts(document) {
            for path in key_paths(&document[&part], &format!("/{part}")) {
                let mut without = document.clone();
                let (parent, key) = path.rsplit_once('/').unwrap();
                without.pointer_mut(parent).unwrap().as_object_mut().unwrap().remove(key).unwrap();
                let read = spec::bench_from_text("pair.json", &without.to_string());
                assert!(read.is_ok(), "{path}: {}", read.unwrap_err());
                // The bench is the same after writing and reading it.
                let bench = read.unwrap();
                let again = spec::bench_from_text("again.json", &spec::spec_text(&bench)).unwrap();
                let said = |bench: coilwright::pair::Bench| {
                    format!("{:?}", coilwright::pair::Bench { digest: String::new(), ..bench })
                };
                assert_eq!(said(again), said(bench), "{path}");
                looked_at += 1;
            }
        }
    }
    assert!(looked_at > 80, "{looked_at}");
}

/// The pointers of all keys in an object and in the objects within it.
fn key_paths(value: &Value, path: &str) -> Vec<String> {
    let Value::Object(object) = value else { return Vec::new() };
    let below = |(key, value): (&String, &Value)| {
        let path = format!("{path}/{key}");
        let mut all = key_paths(value, &path);
        all.push(path);
        all
    };
    object.iter().flat_map(below).collect()
}

/// Writes the example of a hint at the place that the hint names.
fn follow(document: &mut Value, hint: &str) {
    let (place, written) = hint.strip_prefix("write it like this").unwrap().split_once(": ").unwrap();
    let entries: Map<String, Value> = serde_json::from_str(&format!("{{ {written} }}")).unwrap();
    let path = place.strip_prefix(" in `").map_or("", |place| place.trim_end_matches('`'));
    let mut at = document.as_object_mut().unwrap();
    for step in path.split('.').filter(|step| !step.is_empty()) {
        at = at.entry(step).or_insert_with(|| json!({})).as_object_mut().unwrap();
    }
    assert!(entries.keys().any(|key| !at.contains_key(key)), "{hint} repeats what is there");
    at.extend(entries);
}

#[test]
fn following_the_hints_makes_every_command_work() {
    let folder = tempfile::tempdir().unwrap();
    let runs = format!("{}/lab-files/runs.csv", env!("CARGO_MANIFEST_DIR"));
    let points = format!("{}/lab-files/points.csv", env!("CARGO_MANIFEST_DIR"));
    let readings = data("readings_window_bench.csv");
    let out = folder.path().join("out");
    let out = out.to_str().unwrap();
    let mut hollow = bare();
    for part in ["leads", "former", "as_built", "build_tolerance", "tube", "supply", "ammeter", "voltmeter"] {
        hollow[part] = json!({});
    }
    for part in ["field_meter", "reading", "price"] {
        hollow[part] = json!({});
    }
    hollow["room"] = json!({ "site": {} });
    for (command, more) in [
        ("check", &[][..]),
        ("sheet", &["--with-room"]),
        ("uniformity", &["--with-room"]),
        ("field", &["--points", &points, "--with-room"]),
        ("map", &["--out", out, "--force", "--volume", "--grid", "5"]),
        ("heat", &["--current", "1 A"]),
        ("calibrate", &[]),
        ("calibrate", &["--readings", &readings, "--adopt", "fit"]),
        ("calibrate", &["--plan"]),
        ("orbit", &["--gun-voltage", "200 V", "--current", "1.4 A"]),
        ("orbit", &["--chart"]),
        ("orbit", &["--bias"]),
        ("orbit", &["--scale", "--out", out, "--force"]),
        ("weigh", &["--runs", &runs]),
        ("tolerance", &["--builds", "10"]),
    ] {
        for start in [bare(), hollow.clone()] {
            let mut document = start;
            for followed in 0.. {
                let (works, said) = answer(folder.path(), &document, command, more);
                if works {
                    break;
                }
                let hint = said.lines().find_map(|line| line.strip_prefix("hint: "));
                assert!(said.starts_with("error: the spec has no `"), "{command} {more:?}: {said}");
                assert!(followed < 6, "{command} {more:?}: {said}");
                follow(&mut document, hint.unwrap());
            }
        }
    }
}

#[test]
fn a_missing_key_is_named_with_why_and_how_to_write_it() {
    let folder = tempfile::tempdir().unwrap();
    let mut document = window_bench();
    document["tube"].as_object_mut().unwrap().remove("gun_direction");
    let (works, said) =
        answer(folder.path(), &document, "orbit", &["--gun-voltage", "200 V", "--current", "1 A"]);
    assert!(!works);
    assert_eq!(
        said,
        "error: the spec has no `tube.gun_direction`, and the beam leaves the gun along it\n\
         hint: write it like this in `tube`: \"gun_direction\": [0, 1, 0]\n"
    );
    let mut document = window_bench();
    document["room"] = json!({ "site": { "latitude": "51 deg", "longitude": "7 deg" } });
    let (works, said) = answer(folder.path(), &document, "sheet", &["--with-room"]);
    assert!(!works);
    assert_eq!(
        said,
        "error: the spec has no `room.site.date`, and the earth's field changes with the years\n\
         hint: write it like this in `room.site`: \"date\": \"2026-03-01\"\n"
    );
}

#[test]
fn a_beam_without_a_bulb_is_followed_all_the_same_and_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let orbit = |document: &Value, current: &str| -> Value {
        let setting = ["--gun-voltage", "200 V", "--current", current, "--json"];
        let (works, said) = answer(folder.path(), document, "orbit", &setting);
        assert!(works, "{said}");
        serde_json::from_str(&said).unwrap()
    };
    let mut open = window_bench();
    open["tube"].as_object_mut().unwrap().remove("bulb_radius");
    let (with, without) = (orbit(&window_bench(), "1.4 A"), orbit(&open, "1.4 A"));
    let radius = |record: &Value| number(record, "/read_radius_m");
    // The glass does not stop this beam, so the radius is the same.
    assert!((radius(&with) / radius(&without) - 1.0).abs() < 1e-9);
    // 0.8 A makes a circle of 71 mm, which reaches 96 mm from the middle: beyond a glass of 82 mm, clear of the coils.
    let (with, without) = (orbit(&window_bench(), "0.8 A"), orbit(&open, "0.8 A"));
    assert_eq!(with["halt"], "bulb");
    assert!((radius(&without) / 0.071 - 1.0).abs() < 0.05, "{}", radius(&without));
    let notes = without["notes"].to_string();
    // The nearest part of a former, its wall 5 mm thick: 150 mm from the axis, 67.5 mm along it.
    assert!(notes.contains("The spec has no `tube.bulb_radius`: the largest bulb"), "{notes}");
    assert!(notes.contains("of radius 164 mm"), "{notes}");
    assert!(!with["notes"].to_string().contains("bulb_radius"));
}

#[test]
fn half_a_supply_limits_what_it_can() {
    let folder = tempfile::tempdir().unwrap();
    let sheet = |supply: Value| -> Value {
        let mut document = window_bench();
        document["supply"] = supply;
        let (works, said) = answer(folder.path(), &document, "sheet", &["--json"]);
        assert!(works, "{said}");
        serde_json::from_str(&said).unwrap()
    };
    let current_alone = sheet(json!({ "current_limit": "2 A" }));
    assert_eq!(number(&current_alone, "/current_limit_ampere"), 2.0);
    assert_eq!(number(&current_alone, "/drives/0/largest_current_ampere"), 2.0);
    assert_eq!(current_alone["drives"][0]["reaches_current_limit"], Value::Null);
    assert!(current_alone["notes"].to_string().contains("`supply.voltage_limit`"), "{current_alone}");
    let voltage_alone = sheet(json!({ "voltage_limit": "10 V" }));
    let ohm = number(&voltage_alone, "/drives/0/resistance_ohm");
    let largest = number(&voltage_alone, "/drives/0/largest_current_ampere");
    assert!((largest * ohm - 10.0).abs() < 1e-9, "{largest} A through {ohm} ohm");
    assert_eq!(voltage_alone["current_limit_ampere"], Value::Null);
    assert!(voltage_alone["notes"].to_string().contains("`supply.current_limit`"), "{voltage_alone}");
}

#[test]
fn a_meter_of_which_little_is_known_counts_with_what_is_known() {
    let folder = tempfile::tempdir().unwrap();
    let bias = |ammeter: Value| -> Value {
        let mut document = window_bench();
        document["ammeter"] = ammeter;
        let setting = ["--bias", "--gun-voltage", "200 V", "--current", "2 A", "--json"];
        let (works, said) = answer(folder.path(), &document, "orbit", &setting);
        assert!(works, "{said}");
        serde_json::from_str(&said).unwrap()
    };
    let share = |record: &Value| number(record, "/rows/0/bias/ammeter_standard_uncertainty_fraction");
    // 2 u(I)/I: 2 × 1 %/√3 for 1 % of reading; 2 × 0.25 %/√3 for half a digit of 10 mA at 2 A.
    let gain = bias(json!({ "accuracy_of_reading": "1 %" }));
    assert!((share(&gain) - 0.02 / 3f64.sqrt()).abs() < 1e-12, "{}", share(&gain));
    assert!(gain["notes"].to_string().contains("no `ammeter.resolution`"), "{}", gain["notes"]);
    let digits = bias(json!({ "resolution": "0.01 A" }));
    assert!((share(&digits) - 0.005 / 3f64.sqrt()).abs() < 1e-12, "{}", share(&digits));
    assert!(digits["notes"].to_string().contains("no `ammeter.accuracy_of_reading`"), "{}", digits["notes"]);
}

#[test]
fn wishes_without_a_bulb_or_a_voltage_limit_are_sized_and_say_what_was_not_asked() {
    let folder = tempfile::tempdir().unwrap();
    let wishes = json!({
        "title": "Some wishes", "largest_field": "1 mT",
        "tube": { "beam_radius": ["26 mm", "50 mm"] }, "supply": { "current_limit": "2.5 A" },
        "search": {
            "mean_radius": ["150 mm", "160 mm"], "width": ["12 mm", "14 mm"], "depth": ["8 mm", "10 mm"],
            "spacing": "radius", "wires": [{ "size": "0.9 mm", "build": "grade 2" }]
        }
    });
    let (works, said) = answer(folder.path(), &wishes, "size", &[]);
    assert!(works, "{said}");
    for left_out in [
        "The file of wishes has no `tube.bulb_radius`: room for the bulb is left out.",
        "The file of wishes has no `tube.gun_exit`: the deviation over the beam is left out.",
        "The file of wishes has no `supply.voltage_limit`: a largest voltage is left out.",
    ] {
        assert!(said.contains(left_out), "{said}");
    }
    let mut with_deviation = wishes.clone();
    with_deviation["beam_deviation"] = json!("0.5 %");
    let (works, said) = answer(folder.path(), &with_deviation, "size", &[]);
    assert!(!works);
    assert!(said.starts_with("error: the file of wishes has no `tube.gun_exit`"), "{said}");
}
