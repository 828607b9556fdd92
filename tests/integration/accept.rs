//! `accept`: nothing measured is ignored, the verdict is that of `check`, and the protocol can be signed.

use crate::program::{example, json, run_in};
use coilwright::files::spec::{measured_from_text, read_bench, supplier_limits_from_text};
use coilwright::judgement::limit::{Acceptance, Rule};
use coilwright::numeric::random::SampleGenerator;
use coilwright::pair::Bench;
use coilwright::questions::accept::{Delivery, JointOrWhy, Request, accept};
use coilwright::questions::check::lesson_check;
use serde_json::{Map, Value, json};
use std::path::Path;

fn delivery() -> Value {
    serde_json::from_str(include_str!("../../lab-files/delivery.json")).unwrap()
}

fn bench() -> Bench {
    read_bench(example("window-bench.json")).unwrap()
}

fn accepted(file: &Value) -> Delivery {
    let measured = measured_from_text("delivery.json", &file.to_string()).unwrap();
    accept(&bench(), &measured, &Request::default()).unwrap()
}

/// The record without the digest of the file, or what is wrong with the file.
fn said(file: &Value) -> Value {
    let measured = match measured_from_text("delivery.json", &file.to_string()) {
        Ok(measured) => measured,
        Err(error) => return json!(error.to_string()),
    };
    let mut record = serde_json::to_value(accept(&bench(), &measured, &Request::default()).unwrap()).unwrap();
    record.as_object_mut().unwrap().remove("measured_digest");
    record
}

/// Every measurement of a file by its path: an object with a value.
fn readings(file: &Value, path: &str, found: &mut Vec<String>) {
    match file {
        Value::Object(keys) if keys.contains_key("value") => found.push(path.into()),
        Value::Object(keys) => {
            keys.iter().for_each(|(key, entry)| readings(entry, &format!("{path}/{key}"), found))
        }
        Value::Array(entries) => {
            entries.iter().enumerate().for_each(|(at, it)| readings(it, &format!("{path}/{at}"), found))
        }
        _ => {}
    }
}

/// The file without what stands at a pointer.
fn without(file: &Value, pointer: &str) -> Value {
    let mut file = file.clone();
    let (parent, key) = pointer.rsplit_once('/').unwrap();
    match file.pointer_mut(parent).unwrap() {
        Value::Object(keys) => drop(keys.remove(key)),
        Value::Array(entries) => drop(entries.remove(key.parse().unwrap())),
        _ => panic!("{pointer}"),
    }
    file
}

/// The example with the keys that it lacks.
fn full() -> Value {
    let mut file = delivery();
    let keys = file.as_object_mut().unwrap();
    for (key, entry) in [
        ("inner_diameter", json!({ "value": "310.1 mm", "uncertainty": "0.2 mm" })),
        ("outer_diameter", json!({ "value": "330.1 mm", "uncertainty": "0.2 mm" })),
        ("width", json!({ "value": "15.1 mm", "uncertainty": "0.1 mm" })),
        ("field", json!({ "value": "1.686 mT", "uncertainty": "0.002 mT", "current": "2 A" })),
        (
            "warm_voltage",
            json!({ "value": "16.6 V", "uncertainty": "0.02 V", "current": "2 A", "after": "30 min", "room": "22 degC" }),
        ),
        ("spacing_difference", json!({ "value": "0.3 mm", "uncertainty": "0.05 mm", "across": "360 mm" })),
        ("rim_step", json!({ "value": "0.2 mm", "uncertainty": "0.05 mm" })),
        ("wound_from", json!("several_reels")),
    ] {
        keys.insert(key.into(), entry);
    }
    for coil in ["coil_a", "coil_b"] {
        let coil = keys[coil].as_object_mut().unwrap();
        coil.insert("mass".into(), json!({ "value": "0.853 kg", "uncertainty": "0.003 kg", "of": "copper" }));
        coil.insert("inductance".into(), json!({ "value": "15.5 mH", "uncertainty": "0.1 mH" }));
        coil.insert(
            "inductance_drop".into(),
            json!({ "value": "0.1 %", "uncertainty": "0.1 %", "from": "100 Hz", "to": "1 kHz" }),
        );
        coil["turns"]["uncertainty"] = json!(0.1);
        coil["resistance"]["at_uncertainty"] = json!("0.3 K");
        for (key, value) in
            [("offset_x", "0.1 mm"), ("offset_y", "-0.2 mm"), ("tilt_x", "0.05 deg"), ("tilt_y", "-0.02 deg")]
        {
            let u = if key.starts_with("offset") { "0.05 mm" } else { "0.03 deg" };
            coil.insert(key.into(), json!({ "value": value, "uncertainty": u }));
        }
    }
    file
}

#[test]
fn each_measurement_has_a_row_of_its_own() {
    let file = full();
    let mut paths = Vec::new();
    readings(&file, "", &mut paths);
    // Nine of the pair, twelve of each coil, three fields, surface, voltage, two of the rims and insulation; from the diameters follow mean radius and
    // depth of the pair and of each coil.
    assert_eq!(paths.len(), 9 + 24 + 3 + 5);
    let all = accepted(&file);
    assert_eq!(all.quantities.len(), paths.len() + 6);
    let mut names: Vec<&str> = all.quantities.iter().map(|it| it.name.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), paths.len() + 6);
    for path in paths {
        let fewer = accepted(&without(&file, &path));
        let gone = if path.contains("diameter") && !path.contains("wire") { 3 } else { 1 };
        assert_eq!(fewer.quantities.len() + gone, all.quantities.len(), "{path}");
    }
}

/// A quantity written in a file, as a number of its unit times a factor.
fn scale(file: &mut Value, pointer: &str, factor: f64) {
    let value = file.pointer_mut(pointer).unwrap_or_else(|| panic!("{pointer}"));
    *value = match &*value {
        Value::Number(number) => json!(number.as_f64().unwrap() * factor),
        Value::String(text) => {
            let (number, unit) = text.split_once(' ').unwrap();
            json!(format!("{:.6} {unit}", number.parse::<f64>().unwrap() * factor))
        }
        other => panic!("{other}"),
    };
}

/// Four of 150 turns missing on one coil, all that goes with turns read accordingly.
fn four_turns_missing(coil: &str) -> Value {
    let mut file = full();
    let part: f64 = 146.0 / 150.0;
    for (key, power) in [("turns", 1), ("resistance", 1), ("mass", 1), ("inductance", 2)] {
        scale(&mut file, &format!("/{coil}/{key}/value"), part.powi(power));
    }
    for key in ["resistance", "warm_voltage", "mass", "field", "fields/0", "fields/1", "fields/2"] {
        scale(&mut file, &format!("/{key}/value"), 0.5 * (1.0 + part));
    }
    scale(&mut file, "/inductance/value", (0.5 * (1.0 + part)).powi(2));
    file
}

#[test]
fn the_coil_that_has_other_turns_is_named_and_no_mean_is_said_of_each() {
    for (coil, name, counted) in
        [("coil_a", "coil b has", true), ("coil_b", "coil b has", true), ("coil_b", "coil b has", false)]
    {
        let mut file = four_turns_missing(coil);
        if !counted {
            file = without(&without(&file, "/coil_a/turns"), "/coil_b/turns");
        }
        let delivery = accepted(&file);
        let unlike = delivery.check.unlike_coils.as_ref().expect("coils that differ");
        let turns = unlike.turns.unwrap_or_else(|| panic!("{unlike:?}"));
        let wanted = if coil == "coil_a" { 4.0 } else { -4.0 };
        assert!((turns.value - wanted).abs() <= 2.0 * turns.standard_uncertainty, "{coil}: {turns:?}");
        if counted {
            assert_eq!(
                format!("{:?}", unlike.coil),
                format!("Some({})", &coil[5..].to_uppercase()),
                "{unlike:?}"
            );
        }
        let page = coilwright::questions::accept::words::text(&delivery);
        let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(page.contains(name), "{page}");
        // The mean of both is not called that of each; where each has its own, it is right.
        assert!(!page.contains("turns in each coil"), "{page}");
        if let Some([a, b]) = delivery.turns_of_each.as_ref().and_then(|each| each.fitted) {
            let wound = if coil == "coil_a" { [146.0, 150.0] } else { [150.0, 146.0] };
            for (each, wound) in [a, b].iter().zip(wound) {
                assert!((each.turns - wound).abs() <= 2.0 * each.standard_uncertainty, "{coil}: {a:?} {b:?}");
            }
        }
        assert_eq!(delivery.verdict, Acceptance::Fail);
    }
}

#[test]
fn leads_in_the_resistance_are_no_reason_to_believe_nothing() {
    let mut bench = bench();
    for (stated, added) in [(Some(0.25), 0.25), (Some(0.25), 0.0), (None, 0.4)] {
        bench.lead_resistance_ohm = stated;
        let mut file = full();
        file["resistance"]["value"] = json!(format!("{} ohm", 8.172 + added));
        let measured = measured_from_text("delivery.json", &file.to_string()).unwrap();
        let delivery = accept(&bench, &measured, &Request::default()).unwrap();
        let JointOrWhy::Found(joint) = &delivery.joint else { panic!("{:?}", delivery.joint) };
        let page = coilwright::questions::accept::words::text(&delivery);
        assert!(!page.contains("believe none"), "{stated:?}, {added}: {page}");
        assert!(joint.probability_of_spec_turns > 0.1, "{stated:?}, {added}: {:?}", joint.turns);
        if let Some(leads) = joint.leads {
            assert_eq!(leads.probability > 0.5, added > 0.0, "{leads:?}");
        }
        assert_eq!(joint.leads.is_some(), stated.is_some());
    }
}

#[test]
fn what_was_measured_is_not_told_as_not_measured() {
    let mut file = delivery();
    let fields = file["fields"].as_array_mut().unwrap();
    fields.truncate(1);
    let found = accepted(&file);
    assert!(!found.not_measured.contains(&"field") && !found.not_measured.contains(&"fields"));
    assert!(found.not_measured.contains(&"field_off_the_centre"), "{:?}", found.not_measured);
    assert!(!accepted(&full()).not_measured.iter().any(|key| key.contains("field") || key.contains("tilt")));
}

#[test]
fn limits_are_those_of_the_test_sheet() {
    let folder = tempfile::tempdir().unwrap();
    let spec = example("window-bench.json");
    let built = run_in(
        folder.path(),
        &["build", &spec, "--model", "nominal", "--out", "papers", "--test-current", "2 A"],
    );
    let built = match built.status {
        Some(0) => built,
        _ => run_in(folder.path(), &["build", &spec, "--out", "papers", "--test-current", "2 A"]),
    };
    assert_eq!(built.status, Some(0), "{}", built.stderr);
    let papers: Value =
        serde_json::from_str(&std::fs::read_to_string(folder.path().join("papers/build.json")).unwrap())
            .unwrap();
    let test = &papers["test"];
    let designed = bench().as_designed();
    let mut file = full();
    for coil in ["coil_a", "coil_b"] {
        file[coil]["resistance"]["at"] = json!("20 degC");
        // The sheet asks for a reading with both ends of 0.5 m.
        file[coil]["resistance"]["free_ends"] = json!("1 m");
    }
    let measured = measured_from_text("delivery.json", &file.to_string()).unwrap();
    let found = accept(&designed, &measured, &Request::default()).unwrap();
    let at_20 = test["coil_resistance"].as_array().unwrap().iter().find(|it| it["celsius"] == 20.0).unwrap();
    for (name, sheet) in [
        ("coil_a_resistance_ohm", &at_20["ohm"]),
        ("coil_b_resistance_ohm", &at_20["ohm"]),
        ("coil_a_inductance_henry", &test["inductance"]["coil_henry"][0]),
        ("inductance_henry", &test["inductance"]["series_henry"]),
        ("fields_1_tesla", &test["field"]["field_tesla"]),
    ] {
        let quantity = found.quantities.iter().find(|it| it.name == name).unwrap_or_else(|| panic!("{name}"));
        for (limit, key) in [(quantity.lower_limit, "low"), (quantity.upper_limit, "high")] {
            let (limit, printed) = (limit.unwrap(), sheet[key].as_f64().unwrap());
            // Leads that the spec states may be in the pair's resistance alone, which the sheet does not list.
            assert!((limit / printed - 1.0).abs() < 1e-8, "{name}, {key}: {limit}, {printed}");
        }
    }
}

#[test]
fn a_coil_askew_beyond_its_limit_is_undecided_until_each_coil_is_measured() {
    // The drawing has the limits by which a delivery is judged.
    let folder = tempfile::tempdir().unwrap();
    let built = run_in(folder.path(), &["build", &example("window-bench.json"), "--out", "papers"]);
    assert_eq!(built.status, Some(0), "{}", built.stderr);
    let text = std::fs::read_to_string(folder.path().join("papers/build.json")).unwrap();
    let assembly = serde_json::from_str::<Value>(&text).unwrap()["assembly"].clone();
    // One coil at 0.47°, where 0.25° are allowed: 3.02 mm over 368 mm.
    let across = assembly["squareness"]["over_diameter_m"].as_f64().unwrap();
    let difference = |degrees: f64| {
        let mut file = delivery();
        file["spacing_difference"] = json!({
            "value": format!("{:.3} mm", 1e3 * across * degrees.to_radians().tan()),
            "uncertainty": "0.05 mm",
            "across": format!("{} mm", 1e3 * across)
        });
        file
    };
    let judged = |file: &Value| {
        let found = accepted(file);
        let it = found.quantities.iter().find(|it| it.name == "spacing_difference_m").unwrap().clone();
        (it, found)
    };
    let (askew, record) = judged(&difference(0.47));
    assert_eq!((askew.verdict, record.verdict), (Acceptance::Undecided, Acceptance::Undecided));
    for (limit, key) in [(askew.upper_limit, "limit_m"), (askew.fails_above, "both_coils_m")] {
        let drawn = assembly["squareness"][key].as_f64().unwrap();
        assert!((limit.unwrap() / drawn - 1.0).abs() < 1e-9, "{key}");
    }
    let words = |record: &Delivery| {
        let text = coilwright::questions::accept::words::text(record);
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let text = words(&record);
    assert!(text.contains("measure the squareness of each coil by itself"), "{text}");
    assert!(text.contains("tilt_x and tilt_y of coil_a and coil_b in the file"), "{text}");
    // What passes does so for what shows between the coils, in no more digits than its U of 0.10 mm has.
    let (square, record) = judged(&difference(0.2));
    assert_eq!(square.verdict, Acceptance::Pass);
    let text = words(&record);
    assert!(text.contains("A tilt or an offset that both share does not show in them"), "{text}");
    assert!(text.contains(" 1.28 mm") || text.contains(" 1.29 mm"), "{text}");
    assert!(!text.contains("1.285 mm"), "{text}");
    assert_eq!(judged(&difference(0.8)).0.verdict, Acceptance::Fail);
    // Each coil's own tilt decides, either way.
    let with_tilts = |a: &str| {
        let mut file = difference(0.47);
        for (coil, tilt) in [("coil_a", a), ("coil_b", "-0.23 deg")] {
            let zero = json!({ "value": "0 deg", "uncertainty": "0.005 deg" });
            file[coil]["tilt_x"] = json!({ "value": tilt, "uncertainty": "0.005 deg" });
            file[coil]["tilt_y"] = zero;
        }
        judged(&file)
    };
    let (square, record) = with_tilts("0.24 deg");
    assert_eq!(square.verdict, Acceptance::Pass);
    assert!(!words(&record).contains("that both share"));
    let (_, record) = with_tilts("0.47 deg");
    assert_eq!(record.verdict, Acceptance::Fail);
}

#[test]
fn a_temperature_that_decides_is_asked_for_and_one_that_is_stated_counts() {
    let found = accepted(&delivery());
    let limit =
        found.quantities.iter().find(|it| it.name == "coil_a_resistance_ohm").unwrap().upper_limit.unwrap();
    // Three quarters of what 1 K makes of it below the limit, read to a ten-thousandth.
    let mut file = delivery();
    file["coil_a"]["resistance"]["value"] =
        json!(format!("{:.5} ohm", limit * (1.0 - 0.75 * 2.0 * 0.003_915)));
    file["coil_a"]["resistance"]["uncertainty"] = json!("0.0004 ohm");
    let says =
        |delivery: &Delivery| coilwright::questions::accept::words::text(delivery).contains("at_uncertainty");
    let verdict = |delivery: &Delivery| {
        delivery.quantities.iter().find(|it| it.name == "coil_a_resistance_ohm").unwrap().verdict
    };
    let careless = accepted(&file);
    assert!(verdict(&careless) == Acceptance::Pass && says(&careless), "{:?}", careless.check.notes);
    file["coil_a"]["resistance"]["at_uncertainty"] = json!("1 K");
    let careful = accepted(&file);
    assert!(verdict(&careful) == Acceptance::Undecided && !says(&careful), "{:?}", careful.check.notes);
    assert!(!says(&found), "{:?}", found.check.notes);
}

#[test]
fn each_key_of_the_file_changes_what_is_said() {
    let file = full();
    let before = said(&file);
    let mut changes = Vec::new();
    leaves(&file, "", &mut changes);
    assert!(changes.len() > 70, "{}", changes.len());
    for path in changes {
        let mut changed = file.clone();
        let leaf = changed.pointer_mut(&path).unwrap();
        *leaf = other(leaf, &path);
        assert!(said(&changed) != before, "{path} is ignored");
    }
}

fn leaves(value: &Value, path: &str, found: &mut Vec<String>) {
    match value {
        Value::Object(keys) => {
            keys.iter().for_each(|(key, entry)| leaves(entry, &format!("{path}/{key}"), found))
        }
        Value::Array(entries) => {
            entries.iter().enumerate().for_each(|(at, it)| leaves(it, &format!("{path}/{at}"), found))
        }
        _ => found.push(path.into()),
    }
}

/// Another value of the same kind.
fn other(value: &Value, path: &str) -> Value {
    match value {
        Value::Number(number) => json!(number.as_f64().unwrap() + 0.25),
        Value::String(text) => match text.as_str() {
            "copper" => json!("aluminium"),
            "series" => json!("parallel"),
            "several_reels" => json!("one_reel"),
            // From 250 V on the limit of the insulation is another.
            "250 V" => json!("500 V"),
            _ if path == "/title" => json!("Another title"),
            quantity => {
                let (number, unit) = quantity.split_once(' ').unwrap();
                let number: f64 = number.parse().unwrap();
                json!(format!("{} {unit}", if number == 0.0 { 1.0 } else { 1.01 * number }))
            }
        },
        _ => panic!("{path}"),
    }
}

/// A file with some of the measurements, off by a ten-thousandth to a hundredth.
fn random_file(case: u64) -> Value {
    let mut random = SampleGenerator::new(31, case);
    let scatter = 10f64.powf(random.rectangular(1.0) - 3.0);
    let mut file = full();
    let mut paths = Vec::new();
    readings(&file, "", &mut paths);
    // From the end, so that the places in lists stay.
    for path in paths.into_iter().rev() {
        if random.unit() < 0.5 {
            file = without(&file, &path);
            continue;
        }
        let reading = file.pointer_mut(&path).unwrap();
        let factor = 1.0 + random.normal(scatter);
        let value = &mut reading["value"];
        *value = match &*value {
            Value::Number(number) => json!(number.as_f64().unwrap() * factor),
            Value::String(text) => {
                let (number, unit) = text.split_once(' ').unwrap();
                json!(format!("{} {unit}", number.parse::<f64>().unwrap() * factor))
            }
            _ => panic!("{path}"),
        };
    }
    let keys: &mut Map<String, Value> = file.as_object_mut().unwrap();
    keys.retain(|_, entry| entry.as_array().is_none_or(|entries| !entries.is_empty()));
    keys.insert("width".into(), json!({ "value": "15.1 mm", "uncertainty": "0.1 mm" }));
    file
}

#[test]
fn accept_and_check_say_the_same_of_the_same_file() {
    let bench = bench();
    let mut verdicts = [0; 3];
    for case in 0..40 {
        let text = random_file(case).to_string();
        let measured = measured_from_text("delivery.json", &text).unwrap();
        let rule = if case % 4 == 0 { Rule::Simple } else { Rule::default() };
        let request = Request { decision: rule, ..Request::default() };
        let delivered = accept(&bench, &measured, &request).unwrap();
        let checked = lesson_check(&bench, &measured, &request).unwrap();
        assert_eq!(delivered.verdict, checked.verdict, "{text}");
        for (quantity, checked) in delivered.quantities.iter().zip(&checked.quantities) {
            let limits = (quantity.lower_limit, quantity.upper_limit);
            assert_eq!(limits, (checked.limits.low, checked.limits.high), "{text}");
            assert_eq!(quantity.verdict, checked.verdict, "{text}");
        }
        assert_eq!(delivered.quantities.len(), checked.quantities.len());
        verdicts[delivered.verdict as usize] += 1;
    }
    assert!(verdicts[Acceptance::Fail as usize] > 5, "{verdicts:?}");
    assert!(
        verdicts[Acceptance::Undecided as usize] + verdicts[Acceptance::Pass as usize] > 5,
        "{verdicts:?}"
    );
}

#[test]
fn the_suppliers_limits_replace_those_that_follow_from_the_spec() {
    let limits = supplier_limits_from_text(
        "letter.json",
        r#"{
            "title": "Letter",
            "resistance": { "at_least": "8.0 ohm", "at_most": "8.1 ohm", "at": "20 degC" },
            "coil": { "width": { "within": "10 %" } },
            "insulation_resistance": { "at_least": "400 Mohm" }
        }"#,
    )
    .unwrap();
    let measured = measured_from_text("delivery.json", &delivery().to_string()).unwrap();
    let found =
        accept(&bench(), &measured, &Request { supplier: Some(&limits), ..Request::default() }).unwrap();
    let quantity = |name: &str| found.quantities.iter().find(|it| it.name == name).unwrap();
    // 8 Ω at 20 °C is 8 × (1 + 0.00393) Ω at 21 °C.
    let resistance = quantity("resistance_ohm");
    assert!((resistance.lower_limit.unwrap() - 8.0 * 1.00393).abs() < 1e-9);
    assert_eq!(resistance.verdict, Acceptance::Fail);
    let width = quantity("coil_b_width_m");
    assert!((width.upper_limit.unwrap() - 1.1 * 0.015).abs() < 1e-12);
    assert_eq!(width.verdict, Acceptance::Pass);
    let insulation = quantity("insulation_resistance_ohm");
    assert_eq!((insulation.lower_limit, insulation.verdict), (Some(400e6), Acceptance::Fail));
    assert_eq!(found.verdict, Acceptance::Fail);
}

#[test]
fn where_a_supplier_sets_one_end_the_other_stays_the_specs() {
    let ohm = |value: &str| json!({ "title": "D", "coil_a": { "resistance": { "value": value, "uncertainty": "0.001 ohm", "at": "20 degC" } } });
    let judged = |resistance: &str, promise: &str| {
        let limits = format!(
            r#"{{ "title": "Letter", "coil": {{ "resistance": {{ {promise}, "at": "20 degC" }} }} }}"#
        );
        let limits = supplier_limits_from_text("letter.json", &limits).unwrap();
        let measured = measured_from_text("d.json", &ohm(resistance).to_string()).unwrap();
        let request = Request { supplier: Some(&limits), ..Request::default() };
        let found = accept(&bench(), &measured, &request).unwrap();
        found.quantities.iter().find(|it| it.name == "coil_a_resistance_ohm").unwrap().clone()
    };
    let expected = judged("4 ohm", r#""within": "50 %""#).expected.unwrap();
    let of_spec = {
        let measured = measured_from_text("d.json", &ohm("4 ohm").to_string()).unwrap();
        let found = accept(&bench(), &measured, &Request::default()).unwrap();
        found.quantities.iter().find(|it| it.name == "coil_a_resistance_ohm").unwrap().clone()
    };
    // Half the resistance is no better for being below what the supplier promises.
    let half =
        judged(&format!("{} ohm", 0.5 * expected), &format!(r#""at_most": "{} ohm""#, 1.01 * expected));
    assert_eq!((half.lower_limit, half.verdict), (of_spec.lower_limit, Acceptance::Fail));
    assert!((half.upper_limit.unwrap() - 1.01 * expected).abs() < 1e-9);
    let twice =
        judged(&format!("{} ohm", 2.0 * expected), &format!(r#""at_least": "{} ohm""#, 0.99 * expected));
    assert_eq!((twice.upper_limit, twice.verdict), (of_spec.upper_limit, Acceptance::Fail));
    // A promise beyond the spec's other end leaves nothing between the two and stands alone.
    let beyond = judged("3 ohm", r#""at_most": "3.2 ohm""#);
    assert_eq!((beyond.lower_limit, beyond.verdict), (None, Acceptance::Pass));
}

#[test]
fn an_undecided_quantity_says_how_well_it_must_be_measured_and_that_decides_it() {
    let before = accepted(&delivery());
    assert_eq!(before.verdict, Acceptance::Undecided);
    let undecided: Vec<_> = before.quantities.iter().filter(|it| it.deciding.is_some()).collect();
    assert!(undecided.iter().any(|it| it.name == "coil_b_width_m"), "{undecided:?}");
    let wanted = undecided.iter().find(|it| it.name == "coil_b_width_m").unwrap();
    let u = wanted.deciding.unwrap().standard_uncertainty.unwrap();
    // 15.2 mm lies 0.2 mm inside: U = 0.2 mm.
    assert!((u - 0.1e-3).abs() < 1e-9, "{u}");
    let mut file = delivery();
    file["coil_b"]["width"]["uncertainty"] = json!(format!("{} mm", 0.999 * 1e3 * u));
    let after = accepted(&file);
    let decided = after.quantities.iter().find(|it| it.name == "coil_b_width_m").unwrap();
    assert_eq!(decided.verdict, Acceptance::Pass);
}

#[test]
fn all_readings_together_find_the_turns_of_the_spec() {
    let JointOrWhy::Found(joint) = accepted(&delivery()).joint else { panic!() };
    assert!(joint.fits && joint.spec_turns == 150.0, "{joint:?}");
    assert!((f64::from(joint.turns[0].turns) - 150.0).abs() <= 1.0, "{joint:?}");
    assert!(joint.probability_of_spec_turns > 0.2, "{joint:?}");
}

#[test]
fn the_error_rates_of_the_rule_are_stated() {
    let rates = accepted(&delivery()).error_rates;
    // Φ(−2), and 1 − 2 Φ(−2).
    assert!((rates.wrong_pass_at_most - 0.022_750).abs() < 1e-6);
    assert!((rates.pass_at_2_u_inside_at_least - 0.954_500).abs() < 1e-6);
    let measured = measured_from_text("delivery.json", &delivery().to_string()).unwrap();
    let simple =
        accept(&bench(), &measured, &Request { decision: Rule::Simple, ..Request::default() }).unwrap();
    assert_eq!((simple.error_rates.wrong_pass_at_most, simple.verdict), (0.5, Acceptance::Pass));
}

#[test]
fn the_exit_status_follows_the_verdict_and_the_protocol_is_written_whatever_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let spec = example("window-bench.json");
    for (name, width, status, word) in [
        ("pass", "\"15.1 mm\", \"uncertainty\": \"0.05 mm\"", 0, "PASS"),
        ("undecided", "\"15.4 mm\", \"uncertainty\": \"0.05 mm\"", 1, "UNDECIDED"),
        ("fail", "\"15.9 mm\", \"uncertainty\": \"0.05 mm\"", 1, "FAIL"),
    ] {
        let file = folder.path().join(format!("{name}.json"));
        std::fs::write(&file, format!("{{ \"title\": \"D\", \"width\": {{ \"value\": {width} }} }}"))
            .unwrap();
        let file = file.display().to_string();
        let found = run_in(
            Path::new(folder.path()),
            &["accept", &spec, "--measured", &file, "--json", "--out", name],
        );
        assert_eq!(found.status, Some(status), "{found:?}");
        let record: Value = serde_json::from_str(&found.stdout).unwrap();
        assert_eq!(record["verdict"], name);
        assert_eq!(record["quantities"][0]["name"], "width_m");
        let page = std::fs::read_to_string(folder.path().join(name).join("protocol.html")).unwrap();
        assert!(page.contains(&format!("<b>{word}</b>")) && page.contains("signature"), "{page}");
        let kept = std::fs::read_to_string(folder.path().join(name).join("accept.json")).unwrap();
        assert_eq!(kept, found.stdout);
    }
}

#[test]
fn a_file_of_another_kind_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let spec = example("window-bench.json");
    let found = run_in(folder.path(), &["accept", &spec, "--measured", &spec]);
    assert!(found.stderr.contains("this is a spec, not a file of measurements"), "{found:?}");
    let schema = json(&["schema", "supplier-limits"]);
    assert_eq!(schema["title"], "coilwright supplier limits");
}

/// The sections of both coils by their diameters, in mm, each within 0.02 mm.
fn with_sections(diameters: [[f64; 2]; 2]) -> Value {
    let mut file = json!({ "title": "Sections" });
    for (coil, [inner, outer]) in ["coil_a", "coil_b"].into_iter().zip(diameters) {
        let length = |value: f64| json!({ "value": format!("{value} mm"), "uncertainty": "0.02 mm" });
        file[coil] = json!({ "inner_diameter": length(inner), "outer_diameter": length(outer) });
    }
    file
}

#[test]
fn a_section_beside_its_tolerance_fails_though_both_diameters_lie_within_theirs() {
    // The spec: 160 mm ± 0.4 mm, 10 mm ± 0.4 mm deep; so each diameter may be off by 1.2 mm.
    let verdict = |inner: f64, outer: f64| accepted(&with_sections([[inner, outer], [310.0, 330.0]]));
    for (inner, outer, name) in [
        (311.1, 331.1, "coil_a_mean_radius_m"),
        (308.9, 328.9, "coil_a_mean_radius_m"),
        (309.0, 331.0, "coil_a_depth_m"),
        (311.0, 329.0, "coil_a_depth_m"),
    ] {
        let found = verdict(inner, outer);
        assert_eq!(found.verdict, Acceptance::Fail, "{inner} {outer}");
        let failing: Vec<&str> = found
            .quantities
            .iter()
            .filter(|it| it.verdict == Acceptance::Fail)
            .map(|it| it.name.as_str())
            .collect();
        assert_eq!(failing, [name], "{inner} {outer}");
    }
    assert_eq!(verdict(310.6, 330.6).verdict, Acceptance::Pass);
    // A supplier who promises more is held to it.
    let limits = r#"{ "title": "Letter", "coil": { "mean_radius": { "at_least": "159.9 mm", "at_most": "160.1 mm" } } }"#;
    let supplier = coilwright::files::spec::supplier_limits_from_text("letter.json", limits).unwrap();
    let measured = measured_from_text("d.json", &with_sections([[310.6, 330.6], [310.0, 330.0]]).to_string());
    let request = Request { supplier: Some(&supplier), ..Request::default() };
    assert_eq!(accept(&bench(), &measured.unwrap(), &request).unwrap().verdict, Acceptance::Fail);
}

#[test]
fn readings_of_one_thing_that_cannot_both_be_right_pass_nothing() {
    let ohm =
        |value: f64| json!({ "value": format!("{value} ohm"), "uncertainty": "0.001 ohm", "at": "20 degC" });
    let resistances = |pair: f64, a: f64, b: f64| {
        accepted(&json!({
            "title": "Resistances", "resistance": ohm(pair),
            "coil_a": { "resistance": ohm(a) }, "coil_b": { "resistance": ohm(b) },
        }))
    };
    for (pair, contradicts) in [(8.20, false), (8.22, false), (8.16, false), (7.95, true), (8.45, true)] {
        let found = resistances(pair, 4.1, 4.1);
        assert_eq!(
            !found.check.contradictions.is_empty(),
            contradicts,
            "{pair}: {:?}",
            found.check.contradictions
        );
        if contradicts {
            assert_eq!(found.verdict, Acceptance::Undecided, "{pair}");
        }
    }
    let length = |value: f64| json!({ "value": format!("{value} mm"), "uncertainty": "0.02 mm" });
    let outer = |pair: f64| {
        accepted(&json!({
            "title": "Outer", "outer_diameter": length(pair),
            "coil_a": { "outer_diameter": length(329.5) }, "coil_b": { "outer_diameter": length(330.5) },
        }))
    };
    assert!(outer(330.0).check.contradictions.is_empty());
    assert_eq!((outer(330.6).verdict, outer(330.6).check.contradictions.len()), (Acceptance::Undecided, 1));
    let field = |value: f64, current: f64| {
        json!({ "value": format!("{} mT", value * current), "uncertainty": "0.0005 mT", "current": format!("{current} A"),
            "at": ["0 mm", "0 mm", "0 mm"] })
    };
    let fields = |two: f64, current: f64| {
        accepted(&json!({ "title": "Fields", "fields": [field(0.8400, 2.0), field(two, current)] }))
    };
    let contradicts = |two: f64, current: f64| fields(two, current).check.contradictions.len();
    // The ammeter's last digit may move 2 A twice by 0.2 %; its zero, 0.02 A at the most, does more to 0.5 A than to 2 A.
    assert_eq!([contradicts(0.8440, 2.0), contradicts(0.8459, 2.0)], [0, 1]);
    assert_eq!([contradicts(0.8650, 0.5), contradicts(0.9650, 0.5)], [0, 1]);
    let beside = |own: f64| {
        let mut file = json!({ "title": "Centre", "fields": [field(0.8400, 2.0)] });
        file["field"] = field(own, 2.0);
        file["field"].as_object_mut().unwrap().remove("at");
        accepted(&file).check.contradictions.len()
    };
    assert_eq!([beside(0.8410), beside(0.8459)], [0, 1]);
    // Read by a better ammeter, both values lie within their limits, and less is a contradiction.
    let exact = |value: f64| {
        let mut reading = field(value, 2.0);
        reading["current_uncertainty"] = json!("0.2 mA");
        reading
    };
    let exactly = |two: f64| accepted(&json!({ "title": "Fields", "fields": [exact(0.8400), exact(two)] }));
    assert!(exactly(0.8405).check.contradictions.is_empty());
    let found = exactly(0.8430);
    assert_eq!(found.verdict, Acceptance::Undecided);
    let text = coilwright::questions::accept::words::text(&found);
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("UNDECIDED: each value measured lies within"), "{text}");
    assert!(text.contains("Two readings of one thing, field 2 at (0, 0, 0) mm, 2 A"), "{text}");
}

#[test]
fn sound_readings_seldom_contradict_each_other() {
    use coilwright::numeric::random::SampleGenerator;
    let mut told = 0;
    for case in 0..200 {
        let mut random = SampleGenerator::new(77, case);
        let mut near = |value: f64, u: f64, unit: &str| json!({ "value": format!("{:.6} {unit}", value + random.normal(u)), "uncertainty": format!("{u} {unit}") });
        let mut file = json!({
            "title": "Sound", "resistance": near(8.16, 0.004, "ohm"), "mass": near(1.706, 0.002, "kg"),
            "inner_diameter": near(310.0, 0.1, "mm"), "outer_diameter": near(330.0, 0.1, "mm"), "width": near(15.0, 0.05, "mm"),
        });
        for coil in ["coil_a", "coil_b"] {
            file[coil] = json!({
                "resistance": near(4.09, 0.004, "ohm"), "mass": near(0.853, 0.001, "kg"),
                "inner_diameter": near(310.0, 0.1, "mm"), "outer_diameter": near(330.0, 0.1, "mm"), "width": near(15.0, 0.05, "mm"),
            });
        }
        told += usize::from(!accepted(&file).check.contradictions.is_empty());
    }
    // Five comparisons at three standard uncertainties: 1.3 %.
    assert!(told <= 7, "{told} of 200");
}

#[test]
fn wire_is_held_to_the_diameters_of_its_standard() {
    // Grade 2, 0.9 mm: 0.951 mm to 0.989 mm (IEC 60317-0-1, table 1), as the build papers have it.
    let verdict = |value: f64| {
        let file = json!({ "title": "Wire", "overall_wire_diameter": { "value": format!("{value} mm"), "uncertainty": "0.0005 mm" } });
        accepted(&file).verdict
    };
    assert_eq!([0.9525, 0.970, 0.9875].map(verdict), [Acceptance::Pass; 3]);
    assert_eq!([0.949, 0.992].map(verdict), [Acceptance::Fail; 2]);
}

#[test]
fn ends_of_a_stated_length_are_in_both_limits_of_a_resistance() {
    // 13 turns of 2 mm wire: the ends are a quarter of the resistance.
    let mut bench = bench();
    bench.winding.turns = 13.0;
    bench.as_built = None;
    let bench = bench.as_designed();
    let limits = |ends: Option<&str>| {
        let mut file = json!({ "title": "Ends", "coil_a": { "resistance": { "value": "0.4 ohm", "uncertainty": "0.0001 ohm" } } });
        if let Some(ends) = ends {
            file["coil_a"]["resistance"]["free_ends"] = json!(ends);
        }
        let measured = measured_from_text("d.json", &file.to_string()).unwrap();
        let found = accept(&bench, &measured, &Request::default()).unwrap();
        [found.quantities[0].lower_limit.unwrap(), found.quantities[0].upper_limit.unwrap()]
    };
    let [unstated, one, two] = [limits(None), limits(Some("1 m")), limits(Some("2 m"))];
    assert!(one[0] > 1.05 * unstated[0] && one[1] == unstated[1], "{unstated:?} {one:?}");
    assert!(two[0] > one[0] && two[1] > one[1]);
}

#[test]
fn inductances_of_both_coils_are_held_to_the_test_sheet() {
    // The spec's own values pass; those of a coil at the wrong distance, or the wrong way round, fail.
    let papers: Value = {
        let folder = tempfile::tempdir().unwrap();
        let spec = crate::program::example("window-bench.json");
        let built = run_in(folder.path(), &["build", &spec, "--out", "papers"]);
        assert_eq!(built.status, Some(0), "{}", built.stderr);
        serde_json::from_str(&std::fs::read_to_string(folder.path().join("papers/build.json")).unwrap())
            .unwrap()
    };
    let expected = |key: &str| 1e3 * papers["test"]["inductance"][key]["expected"].as_f64().unwrap();
    let judged = |mutual: f64, opposed: f64| {
        let henry = |value: f64| json!({ "value": format!("{value} mH"), "uncertainty": "0.002 mH" });
        accepted(
            &json!({ "title": "Both", "mutual_inductance": henry(mutual), "opposed_inductance": henry(opposed) }),
        )
    };
    let [mutual, opposed] = [expected("mutual_henry"), expected("opposed_henry")];
    let sound = judged(mutual, opposed);
    assert_eq!(sound.verdict, Acceptance::Pass);
    let names: Vec<&str> = sound.quantities.iter().map(|it| it.name.as_str()).collect();
    assert_eq!(names, ["opposed_inductance_henry", "mutual_inductance_henry"]);
    assert_eq!(judged(1.2 * mutual, opposed).verdict, Acceptance::Fail);
    // Both ways round exchanged: what adds was taken for what opposes.
    assert_eq!(judged(mutual, opposed + 4.0 * mutual).verdict, Acceptance::Fail);
}

/// The example's delivery as its own papers expect it.
fn dead_nominal() -> Value {
    let coil = json!({
        "turns": { "value": 150 },
        "inner_diameter": { "value": "310.0 mm", "uncertainty": "0.1 mm" },
        "outer_diameter": { "value": "330.0 mm", "uncertainty": "0.1 mm" },
        "width": { "value": "15.0 mm", "uncertainty": "0.05 mm" },
        "resistance": { "value": "4.052 ohm", "uncertainty": "0.003 ohm", "at": "20 degC", "free_ends": "0 m" }
    });
    json!({
        "title": "dead nominal",
        "resistance": { "value": "8.104 ohm", "uncertainty": "0.003 ohm", "at": "20 degC", "free_ends": "0 m" },
        "mass": { "value": "1.7057 kg", "uncertainty": "1 g", "of": "copper" },
        "spacing": { "value": "160.0 mm", "uncertainty": "0.05 mm" },
        "field": { "value": "0.8429 mT", "uncertainty": "0.0008 mT", "current": "1 A", "current_uncertainty": "0.2 mA" },
        "coil_a": coil.clone(), "coil_b": coil
    })
}

#[test]
fn what_the_papers_expect_holds_no_slip_and_no_leads_beside_the_coils() {
    let nominal = dead_nominal();
    let found = accepted(&nominal);
    assert_eq!(found.check.verdict, Acceptance::Pass);
    let JointOrWhy::Found(joint) = &found.joint else { panic!("{:?}", found.joint) };
    assert!(joint.fits && joint.slip.is_none(), "{joint:?}");
    // The pair reads what both coils read together: no leads were in it, whatever the mass says.
    let mut heavy = nominal.clone();
    heavy["mass"]["value"] = "1.74 kg".into();
    let JointOrWhy::Found(joint) = accepted(&heavy).joint else { panic!() };
    assert!(joint.leads.unwrap().probability < 0.01, "{:?}", joint.leads);
    // With the leads in it, it reads 0.12 ohm more.
    let mut with_leads = nominal;
    with_leads["resistance"]["value"] = "8.224 ohm".into();
    let JointOrWhy::Found(joint) = accepted(&with_leads).joint else { panic!() };
    assert!(joint.leads.unwrap().probability > 0.99, "{:?}", joint.leads);
}

#[test]
fn a_surface_that_never_warmed_and_inductances_that_do_not_add_up_pass_nothing() {
    let mut cold = dead_nominal();
    cold["surface_temperature"] = json!({ "value": "21.6 degC", "uncertainty": "1 K", "current": "2.5 A",
        "after": "30 min", "room": "21.5 degC" });
    assert_eq!(accepted(&cold).check.verdict, Acceptance::Undecided);
    cold["surface_temperature"]["value"] = "55 degC".into();
    assert_eq!(accepted(&cold).check.verdict, Acceptance::Pass);
    let henry = |value: &str, u: &str| json!({ "value": value, "uncertainty": u });
    let mut pair = dead_nominal();
    // 31.08 + 2 × 1.78 is 34.64, and 31.08 − 2 × 1.78 is 27.52.
    pair["inductance"] = henry("34.64 mH", "0.05 mH");
    pair["opposed_inductance"] = henry("27.52 mH", "0.05 mH");
    pair["mutual_inductance"] = henry("1.78 mH", "0.005 mH");
    for coil in ["coil_a", "coil_b"] {
        pair[coil]["inductance"] = henry("15.54 mH", "0.02 mH");
    }
    let sound = accepted(&pair).check;
    assert_eq!((sound.verdict, sound.contradictions.len()), (Acceptance::Pass, 0));
    for key in ["inductance", "opposed_inductance"] {
        let mut wrong = pair.clone();
        let value = if key == "inductance" { "33.95 mH" } else { "28.1 mH" };
        wrong[key]["value"] = value.into();
        let found = accepted(&wrong).check;
        assert_eq!((found.verdict, found.contradictions.len()), (Acceptance::Undecided, 1), "{key}");
    }
    // Two coils that differ by more than their build makes them.
    pair["coil_a"]["inductance"] = henry("15.25 mH", "0.01 mH");
    pair["coil_b"]["inductance"] = henry("15.85 mH", "0.01 mH");
    assert!(accepted(&pair).check.unlike_coils.is_some());
}

/// Coil a has one turn less than the 150 of the spec, and nobody counted: all that was measured lies within its limits.
fn one_turn_short() -> Value {
    json!({
        "title": "One turn short",
        "coil_a": {
            "resistance": { "value": "4.08294 ohm", "uncertainty": "0.003 ohm", "at": "21 degC" },
            "inner_diameter": { "value": "310.0882 mm", "uncertainty": "0.1 mm" },
            "outer_diameter": { "value": "329.7232 mm", "uncertainty": "0.1 mm" },
            "width": { "value": "15.0124 mm", "uncertainty": "0.05 mm" }
        },
        "coil_b": {
            "resistance": { "value": "4.11173 ohm", "uncertainty": "0.003 ohm", "at": "21 degC" },
            "inner_diameter": { "value": "310.0321 mm", "uncertainty": "0.1 mm" },
            "outer_diameter": { "value": "329.9762 mm", "uncertainty": "0.1 mm" },
            "width": { "value": "14.9575 mm", "uncertainty": "0.05 mm" }
        },
        "spacing": { "value": "159.9418 mm", "uncertainty": "0.05 mm" },
        "fields": [{
            "value": "1.680751 mT", "uncertainty": "0.001 mT",
            "current": "2 A", "current_uncertainty": "0.2 mA", "at": ["0 mm", "0 mm", "0 mm"]
        }],
        "inductance": { "value": "34.34450 mH", "uncertainty": "0.05 mH" }
    })
}

#[test]
fn a_coil_one_turn_short_is_undecided_and_its_turns_are_asked_for() {
    let found = accepted(&one_turn_short());
    assert_eq!(found.verdict, Acceptance::Undecided);
    assert!(found.check.quantities.iter().all(|it| it.verdict == Acceptance::Pass));
    let page = coilwright::questions::accept::words::text(&found);
    let words: String = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("turns: count the turns of each coil"), "{page}");
    assert!(found.not_measured.contains(&"turns"));
    // Two coils of 4.1 Ω each, read alone, are no pair of 299 turns in parallel.
    assert!(!page.contains("299") && !page.contains("parallel"), "{page}");
    let fitted = found.turns_of_each.unwrap().fitted.unwrap();
    assert!((fitted[0].turns - 149.0).abs() < 0.6 && (fitted[1].turns - 150.0).abs() < 0.6, "{fitted:?}");
}

#[test]
fn coils_from_two_reels_are_asked_for_no_count_once_the_file_says_so() {
    // Both coils have their 150 turns; the wire of coil a has 1.4 % more resistance than that of coil b.
    let mut file = one_turn_short();
    file["coil_a"]["resistance"]["value"] = "4.1391 ohm".into();
    file["coil_b"]["resistance"]["value"] = "4.0830 ohm".into();
    file["fields"][0]["value"] = "1.68637 mT".into();
    file["inductance"]["value"] = "34.5746 mH".into();
    let one = accepted(&file);
    assert_eq!(one.verdict, Acceptance::Undecided);
    let words = |found: &Delivery| {
        let page = coilwright::questions::accept::words::text(found);
        page.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    assert!(words(&one).contains("write \"wound_from\": \"several_reels\""), "{}", words(&one));
    file["wound_from"] = "several_reels".into();
    let several = accepted(&file);
    assert_eq!(several.verdict, Acceptance::Pass, "{}", words(&several));
    assert!(!several.turns_of_each.unwrap().of_one_reel);
    // A coil a turn short of one reel is still found, with the field and the inductance beside its resistance.
    assert_eq!(accepted(&one_turn_short()).verdict, Acceptance::Undecided);
}

#[test]
fn limits_that_a_build_tolerance_leaves_out_are_the_ordinary_ones_and_a_stated_nought_stays() {
    let width = |tolerance: Value| {
        let mut spec: Value =
            serde_json::from_str(&std::fs::read_to_string(example("window-bench.json")).unwrap()).unwrap();
        spec["build_tolerance"] = tolerance;
        let bench = coilwright::files::spec::bench_from_text("spec.json", &spec.to_string()).unwrap();
        let file = json!({ "title": "Width", "width": { "value": "15.1 mm", "uncertainty": "0.02 mm" } });
        let measured = measured_from_text("delivery.json", &file.to_string()).unwrap();
        let found = accept(&bench, &measured, &Request::default()).unwrap();
        let notes = serde_json::to_string(&found.check.notes).unwrap();
        (found.verdict, notes)
    };
    let (verdict, notes) = width(json!({ "mean_radius": "0.4 mm", "spacing": "0.6 mm", "tilt": "0.25 deg" }));
    assert_eq!(verdict, Acceptance::Pass);
    assert!(notes.contains(r#""not_stated":["width","depth","offset"]"#), "{notes}");
    let (verdict, notes) = width(json!({ "width": "0 mm", "depth": "0 mm" }));
    assert_eq!(verdict, Acceptance::Fail);
    assert!(notes.contains(r#""not_stated":["mean_radius","spacing","offset","tilt"]"#), "{notes}");
}
