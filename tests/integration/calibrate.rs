//! `calibrate` as a user types it.

use crate::program::{self, number};
use std::fmt::Write;
use std::path::Path;
use std::process::{Command, Output};

const BENCH: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/coil-specs/window-bench.json");

fn calibrate(arguments: &[&str]) -> Output {
    program::run(&[&["calibrate"], arguments].concat())
}

fn json(arguments: &[&str]) -> serde_json::Value {
    program::json(&[&["calibrate"], arguments].concat())
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
    // 2.8 A with a resolution of 0.01 A: 29 rows in steps of 0.1 A; steps of 0.05 A would make 57.
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
    for name in [
        "calibration.csv",
        "calibration.json",
        "calibration.svg",
        "calibration.png",
        "calibration.xlsx",
        "current.csv",
        "handout.html",
    ] {
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
fn a_title_that_is_a_formula_and_markup_harms_neither_spreadsheet_nor_page() {
    let folder = tempfile::tempdir().unwrap();
    let bench = std::fs::read_to_string(BENCH).unwrap();
    let title = "Saltmarsh College, window bench";
    let spoiled = written(&folder, "bench.json", &bench.replace(title, "=HYPERLINK(1) <script>x</script>"));
    let out = folder.path().join("labs");
    assert!(calibrate(&[&spoiled, "--out", out.to_str().unwrap()]).status.success());
    let page = std::fs::read_to_string(out.join("handout.html")).unwrap();
    assert!(!page.contains("<script>"), "the title became markup");
    // The calibrated line in the form that people copy.
    assert!(page.contains("mT/A, coverage factor 2"));
    let csv = std::fs::read_to_string(out.join("calibration.csv")).unwrap();
    assert!(csv.lines().all(|line| !line.starts_with(['=', '+', '-', '@'])), "{csv}");
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
    assert!(stderr.contains("error: there is no date 2026-02-30") && stderr.contains("hint:"), "{stderr}");
}

const READINGS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/readings_window_bench.csv");

fn written(folder: &tempfile::TempDir, name: &str, text: &str) -> String {
    let path = folder.path().join(name);
    std::fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_owned()
}

/// A published data set as the readings of a calibration, in amperes and teslas.
fn readings(x: &[f64], y: &[f64]) -> String {
    let rows = x.iter().zip(y).map(|(x, y)| format!("\n{x},{y}"));
    String::from("current_A,field_T") + &rows.collect::<String>()
}

#[test]
fn the_certified_line_of_norris_comes_out_of_the_fit_of_readings() {
    let folder = tempfile::tempdir().unwrap();
    let fit = |name: &str, text: String| {
        let path = written(&folder, name, &text);
        // These are not readings of this pair; the fit is adopted nevertheless.
        json(&[BENCH, "--readings", &path, "--adopt", "fit", "--json"])
    };
    // NIST Norris, through the file and back: certified slope and intercept.
    let rows: Vec<Vec<f64>> = include_str!("../data/norris.csv")
        .lines()
        .skip(2)
        .map(|line| line.split(',').map(|cell| cell.parse().unwrap()).collect())
        .collect();
    let (y, x): (Vec<f64>, Vec<f64>) = rows.iter().map(|row| (row[0], row[1])).unzip();
    let record = fit("norris.csv", readings(&x, &y));
    let close = |path: &str, wanted: f64| {
        let got = number(&record, path);
        assert!((got / wanted - 1.0).abs() < 1e-11, "{path}: got {got}, wanted {wanted}");
    };
    close("/fit/slope_tesla_per_ampere", 1.00211681802045);
    close("/fit/intercept_tesla", -0.262323073774029);
    close("/fit/slope_standard_uncertainty_tesla_per_ampere", 0.429796848199937e-3);
    close("/fit/intercept_standard_uncertainty_tesla", 0.232818234301152);
    assert!(record["fit"]["chi_square"].is_null());
}

#[test]
fn readings_with_the_probe_turned_round_give_the_rooms_axial_field_and_nothing_else_does() {
    // The file was made with k 0.4 % above the computed one, 9 µT of room and 3.1 µT of zero, scatter 2 µT.
    let record = json(&[BENCH, "--readings", READINGS, "--json"]);
    assert_eq!(record["adopted_from"], "combined");
    assert_eq!(record["room"]["source"], "readings");
    let room = number(&record, "/room/axial_tesla");
    assert!((room - 9e-6).abs() < 3.0 * number(&record, "/room/axial_standard_uncertainty_tesla"), "{room}");
    assert!((number(&record, "/fit/separated/meter_zero_tesla") - 3.1e-6).abs() < 1.5e-6);
    assert!((number(&record, "/intercept_tesla") - room).abs() < 1e-18);

    let folder = tempfile::tempdir().unwrap();
    let unturned: Vec<&str> = std::str::from_utf8(include_bytes!("../data/readings_window_bench.csv"))
        .unwrap()
        .lines()
        .filter(|line| !line.ends_with("yes"))
        .collect();
    let path = written(&folder, "unturned.csv", &unturned.join("\n"));
    let bench = std::fs::read_to_string(BENCH).unwrap();
    let start = bench.find(", \"field\": [\"14 uT\"").unwrap();
    let end = start + bench[start..].find(']').unwrap() + 1;
    let without_room = written(&folder, "bench.json", &format!("{}{}", &bench[..start], &bench[end..]));
    let record = json(&[&without_room, "--readings", &path, "--json"]);
    assert!(record["room"].is_null(), "{}", record["room"]);
    assert_eq!(record["intercept_meaning"], "room_and_meter_zero");
    let text = calibrate(&[&without_room, "--readings", &path]).stdout;
    let text = String::from_utf8(text).unwrap().split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("only turning the probe round (`probe_flipped`) separates the two"), "{text}");
}

#[test]
fn the_readings_decide_which_line_is_adopted_unless_the_user_does() {
    let record = json(&[BENCH, "--readings", READINGS, "--json"]);
    assert!(number(&record, "/normalised_difference").abs() <= 1.0);
    assert_eq!(record["agreement"]["verdict"], "agree");
    assert_eq!(record["adopted_from"], "combined");
    let combined = number(&record, "/combined/slope_tesla_per_ampere");
    assert_eq!(combined, number(&record, "/slope_tesla_per_ampere"));
    let (low, high) =
        (number(&record, "/computed/slope_tesla_per_ampere"), number(&record, "/fit/slope_tesla_per_ampere"));
    assert!(low < combined && combined < high);
    for line in ["computed", "fit", "combined"] {
        let record = json(&[BENCH, "--readings", READINGS, "--adopt", line, "--json"]);
        assert_eq!(record["adopted_from"], line);
        assert!(record["dispute"].is_null());
    }
    assert_eq!(json(&[BENCH, "--readings", READINGS, "--combine", "--json"])["adopted_from"], "combined");
    assert_eq!(
        calibrate(&[BENCH, "--readings", READINGS, "--combine", "--adopt", "fit"]).status.code(),
        Some(2)
    );

    // Readings too few and rough to show a difference: the better known line is adopted, and the page says so.
    let folder = tempfile::tempdir().unwrap();
    let vague = written(
        &folder,
        "vague.csv",
        "current_A,field_mT,field_uncertainty_mT\n0.5,0.43,0.05\n1,0.86,0.05\n1.5,1.24,0.05\n",
    );
    let record = json(&[BENCH, "--readings", &vague, "--json"]);
    assert_eq!(record["agreement"]["verdict"], "cannot_tell");
    assert_eq!(record["adopted_from"], "computed");
    let page = text(&[BENCH, "--readings", &vague]);
    assert!(page.contains("these readings do not test it"), "{page}");
    // Without build_tolerance, the fit.
    let bench = std::fs::read_to_string(BENCH).unwrap();
    let start = bench.find("\"build_tolerance\"").unwrap();
    let end = start + bench[start..].find("},").unwrap() + 2;
    let open = written(&folder, "open.json", &format!("{}{}", &bench[..start], &bench[end..]));
    let record = json(&[&open, "--readings", READINGS, "--json"]);
    assert_eq!(record["adopted_from"], "fit");
    assert!(record["agreement"]["verdict"].is_null());
    // No ordinary build makes the field 12 % stronger; 3 % it may.
    let off = |by: f64| {
        let text = changed(|_, field, turned, _| (by * field, turned));
        written(&folder, &format!("by-{by}.csv"), &text)
    };
    assert_eq!(json(&[&open, "--readings", &off(1.03), "--json"])["adopted_from"], "fit");
    let stronger = off(1.12);
    let refused = calibrate(&[&open, "--readings", &stronger]);
    assert_eq!(refused.status.code(), Some(1));
    let told = String::from_utf8(refused.stderr).unwrap();
    assert!(told.contains("more than an ordinary build") && told.contains("--adopt fit"), "{told}");
    let record = json(&[&open, "--readings", &stronger, "--adopt", "fit", "--json"]);
    assert_eq!((&record["adopted_from"], &record["dispute"]), (&"fit".into(), &"slopes_disagree".into()));
}

/// The page's text with its lines joined.
fn text(arguments: &[&str]) -> String {
    let stdout = String::from_utf8(calibrate(arguments).stdout).unwrap();
    stdout.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The readings of the window bench, each changed: current in A, field in mT, whether turned, number in the file.
fn changed(change: impl Fn(f64, f64, bool, usize) -> (f64, bool)) -> String {
    let mut text = String::from("current_A,field_mT,field_uncertainty_mT,probe_flipped\n");
    for (n, row) in include_str!("../data/readings_window_bench.csv").lines().skip(1).enumerate() {
        let cells: Vec<&str> = row.split(',').collect();
        let (current, field): (f64, f64) = (cells[1].parse().unwrap(), cells[2].parse().unwrap());
        let (field, turned) = change(current, field, cells[4] == "yes", n);
        text += &format!("{current},{field:.5},0.002,{}\n", if turned { "yes" } else { "no" });
    }
    text
}

#[test]
fn readings_that_repeat_others_to_the_last_digit_are_told_by_their_lines() {
    let folder = tempfile::tempdir().unwrap();
    let sound = changed(|_, field, turned, _| (field, turned));
    let told = |name: &str, rows: &str| text(&[BENCH, "--readings", &written(&folder, name, rows)]);
    assert!(!told("sound.csv", &sound).contains("to the last digit"));
    let rows: Vec<&str> = sound.lines().skip(1).collect();
    let one = told("one.csv", &format!("{sound}{}\n", rows[3]));
    assert!(one.contains(&format!("to the last digit: line {} of the file", rows.len() + 2)), "{one}");
    let pasted = told("pasted.csv", &format!("{sound}{}\n", rows.join("\n")));
    assert!(pasted.contains(&format!("and {} more of the file", rows.len() - 8)), "{pasted}");
}

#[test]
fn a_reading_that_contradicts_the_line_is_refused_however_small_its_current() {
    let folder = tempfile::tempdir().unwrap();
    let sound = changed(|_, field, turned, _| (field, turned));
    for (n, current) in ["0", "1e-200", "1e-160", "1e-9", "1e-6", "0.001", "-0.001", "0.005", "0.01", "0.1"]
        .iter()
        .enumerate()
    {
        // Half the largest field without a current that could make it.
        let text = format!("{sound}{current},1.2,0.002,no\n");
        let file = written(&folder, &format!("readings-{n}.csv"), &text);
        let found = calibrate(&[BENCH, "--readings", &file, "--json"]);
        assert_eq!(found.status.code(), Some(1), "{current} A is accepted");
        let record: serde_json::Value = serde_json::from_slice(&found.stdout).unwrap();
        assert_eq!(record["dispute"], "readings_contradict", "{current} A: {record}");
        let first = &record["agreement"]["causes"][0];
        assert_eq!(first["cause"], "misread_reading", "{current} A: {first}");
        assert!(first["probability"].as_f64().is_some_and(|p| p > 0.5), "{current} A: {first}");
    }
}

#[test]
fn readings_that_disagree_stop_before_any_file_and_say_what_it_may_be() {
    let folder = tempfile::tempdir().unwrap();
    let k = 1e3 * number(&json(&[BENCH, "--json"]), "/slope_tesla_per_ampere");
    let sign = |turned: bool| if turned { -1.0 } else { 1.0 };
    let out = folder.path().join("labs");
    for (name, text, dispute, cause, says) in [
        (
            "gauss.csv",
            changed(|_, field, turned, _| (10.0 * field, turned)),
            "readings_contradict",
            "units_mixed_up",
            "the field was read in gauss and written as millitesla",
        ),
        (
            "one.csv",
            changed(|_, field, turned, n| (if n == 5 { 10.0 * field } else { field }, turned)),
            "readings_contradict",
            "units_of_one_reading",
            "the unit of the reading on line 7 mixed up",
        ),
        (
            "reversed.csv",
            changed(|current, field, turned, _| (field - sign(turned) * 1.003 * k * current, turned)),
            "readings_contradict",
            "coil_reversed",
            "one coil is connected backwards and works against the other",
        ),
        (
            "flags.csv",
            changed(|_, field, _, _| (field, false)),
            "readings_contradict",
            "flip_flags_forgotten",
            "`probe_flipped` does not say so rightly",
        ),
        (
            "turns.csv",
            changed(|current, field, turned, _| (field - sign(turned) * 0.1 * k * current, turned)),
            "slopes_disagree",
            "slope_factor",
            "turns missing, over both coils together (the spec allows 1), or",
        ),
    ] {
        let path = written(&folder, name, &text);
        let refused = calibrate(&[BENCH, "--readings", &path, "--json", "--out", out.to_str().unwrap()]);
        assert_eq!(refused.status.code(), Some(1), "{name}");
        assert!(!out.join("handout.html").exists(), "{name}");
        let record: serde_json::Value = serde_json::from_slice(&refused.stdout).unwrap();
        assert_eq!(record["dispute"], dispute, "{name}: {record}");
        assert!(record["adopted_from"].is_null() && record["table"].is_null());
        let first = &record["agreement"]["causes"][0];
        assert_eq!(first["cause"], cause, "{name}: {first}");
        assert!(number(first, "/probability") > 0.9, "{name}: {first}");
        assert!(!first["measure"].as_array().unwrap().is_empty());
        let page = self::text(&[BENCH, "--readings", &path]);
        assert!(page.contains(says), "{name}: {page}");
        assert!(String::from_utf8_lossy(&refused.stderr).contains("--adopt"), "{name}");
        // The user may overrule, and the page carries it.
        let page = self::text(&[BENCH, "--readings", &path, "--adopt", "computed"]);
        assert!(
            page.contains("In dispute") && page.contains("used all the same, as asked"),
            "{name}: {page}"
        );
    }
    let path = folder.path().join("turns.csv");
    let record = calibrate(&[BENCH, "--readings", path.to_str().unwrap(), "--json"]).stdout;
    let record: serde_json::Value = serde_json::from_slice(&record).unwrap();
    assert!(number(&record, "/normalised_difference") < -1.0);
    let explanations = record["agreement"]["explanations"].as_array().unwrap();
    let turns = explanations.iter().find(|one| one["cause"] == "turns_missing").unwrap();
    // 150 turns per coil: 30 of 300 are missing, less the 0.4 % by which the file is above the pair. The ammeter's zero
    // is fitted as well, which shifts the size by a part of its own uncertainty.
    let off = number(turns, "/amount") - 0.096 * 300.0;
    assert!(off.abs() < 0.5 * number(turns, "/amount_standard_uncertainty"), "{turns}");
}

/// Sound readings of the window bench whose ammeter, before the reversal, shows 18 mA too much: its digits allow 20.
const ZERO_OFF: &str = "\
current_A,field_mT,field_uncertainty_mT,probe_flipped,label
-2.40,-2.0058,0.0015,no,P01
-2.00,1.6690,0.0015,yes,P02
-1.60,-1.3248,0.0015,no,P03
-1.20,0.9905,0.0015,yes,P04
-0.80,-0.6525,0.0015,no,P05
-0.40,0.3160,0.0015,yes,P06
0.40,0.3351,0.0015,no,P07
0.80,-0.6653,0.0015,yes,P08
1.20,1.0119,0.0015,no,P09
1.60,-1.3383,0.0015,yes,P10
2.00,1.6858,0.0015,no,P11
2.40,-2.0208,0.0015,yes,P12
";

#[test]
fn fields_in_another_unit_are_named_whichever_unit_their_uncertainties_have() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("other-unit.csv");
    for (power, uncertainty) in [(1, "0.0015"), (1, "0.015"), (-1, "0.0015"), (3, "0.0015")] {
        let times = 10f64.powi(power);
        let in_other_unit = |line: &str| -> String {
            let cells: Vec<&str> = line.split(',').collect();
            match cells[1].parse::<f64>() {
                Ok(field) => {
                    format!("{},{:.5},{uncertainty},{},{}\n", cells[0], times * field, cells[3], cells[4])
                }
                Err(_) => format!("{line}\n"),
            }
        };
        std::fs::write(&path, ZERO_OFF.lines().map(in_other_unit).collect::<String>()).unwrap();
        let output = calibrate(&[BENCH, "--readings", path.to_str().unwrap(), "--json"]);
        assert_eq!(output.status.code(), Some(1), "{power}, {uncertainty}");
        let record: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        let first = &record["agreement"]["causes"][0];
        assert_eq!(first["cause"], "units_mixed_up", "{power}, {uncertainty}: {}", record["agreement"]);
        assert_eq!(first["members"][0]["power_of_ten"], power, "{power}, {uncertainty}");
        assert!(number(first, "/probability") > 0.9, "{power}, {uncertainty}: {first}");
    }
}

#[test]
fn an_ammeters_zero_within_its_digits_is_told_and_no_reading_is_blamed_for_it() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("zero.csv");
    std::fs::write(&path, ZERO_OFF).unwrap();
    let output = calibrate(&[BENCH, "--readings", path.to_str().unwrap(), "--json"]);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let record: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let fit = &record["fit"];
    // The ammeter shows 18 mA too much.
    let seen = number(fit, "/ammeter_zero_seen/ampere");
    assert!((seen - 0.018).abs() < 0.004, "{seen}");
    assert_eq!(number(fit, "/scatter_factor"), 1.0, "{fit}");
    let residuals = fit["residuals"].as_array().unwrap();
    assert!(residuals.iter().all(|reading| reading["outlier"] == false), "{fit}");
    // The line itself is bent by that zero: without it chi-square would be far beyond twelve readings.
    let about_the_line = |reading: &serde_json::Value| number(reading, "/residual_tesla") / 1.5e-6;
    assert!(residuals.iter().map(about_the_line).map(|it| it * it).sum::<f64>() > 100.0);
}

#[test]
fn readings_on_no_straight_line_are_refused_with_the_bend_or_with_no_known_cause() {
    let folder = tempfile::tempdir().unwrap();
    let largest = 2.13;
    for (name, shown, cause, says) in [
        // 3 % too little at the top: tanh x = 0.97 x at x = 0.304.
        (
            "saturates.csv",
            Box::new(|field: f64, _: usize| (0.304 * field / largest).tanh() * largest / 0.304)
                as Box<dyn Fn(f64, usize) -> f64>,
            Some("not_straight"),
            "as of a probe that saturates",
        ),
        // The same at the fifth power: (1 + x⁴)^(−1/4) = 0.97 at x = 0.60.
        (
            "overdriven.csv",
            Box::new(|field, _| field / (1.0 + (0.6 * field / largest).powi(4)).powf(0.25)),
            Some("not_straight"),
            "as of a probe that saturates",
        ),
        // One way round 2 % too much at the top, the other way too little.
        (
            "square.csv",
            Box::new(|field, _| field + 0.02 * field * field / largest),
            Some("not_straight"),
            "too much one way round and too little the other",
        ),
        // Up and down by twenty times the stated uncertainty: no cause does that.
        (
            "wobbles.csv",
            Box::new(|field, n| field + if n % 2 == 0 { 0.04 } else { -0.04 }),
            None,
            "no known cause of a plausible size explains it",
        ),
    ] {
        let path = written(&folder, name, &changed(|_, field, turned, n| (shown(field, n), turned)));
        let refused = calibrate(&[BENCH, "--readings", &path, "--json"]);
        assert_eq!(refused.status.code(), Some(1), "{name}");
        let record: serde_json::Value = serde_json::from_slice(&refused.stdout).unwrap();
        assert_eq!(record["dispute"], "readings_contradict", "{name}");
        let first = &record["agreement"]["causes"][0];
        if let Some(cause) = cause {
            assert_eq!(first["cause"], cause, "{name}: {first}");
            assert!(number(first, "/probability") > 0.9, "{name}: {first}");
        }
        let page = self::text(&[BENCH, "--readings", &path]);
        assert!(page.contains(says), "{name}: {page}");
    }
}

#[test]
fn one_misread_current_is_sized_at_small_currents_and_large_ones() {
    let folder = tempfile::tempdir().unwrap();
    for (line, current, read) in [(2, "0.5", "0.55"), (2, "0.5", "0.05"), (6, "2.5", "2.45")] {
        let sound = changed(|_, field, turned, _| (field, turned));
        let misread = |(n, text): (usize, &str)| match n + 1 == line {
            true => text.replacen(&format!("{current},"), &format!("{read},"), 1),
            false => text.to_owned(),
        };
        let text = sound.lines().enumerate().map(misread).collect::<Vec<_>>().join("\n");
        let path = written(&folder, "current.csv", &text);
        let refused = calibrate(&[BENCH, "--readings", &path, "--json"]);
        assert_eq!(refused.status.code(), Some(1), "{read} for {current}");
        let record: serde_json::Value = serde_json::from_slice(&refused.stdout).unwrap();
        let first = &record["agreement"]["causes"][0];
        let members = first["members"].as_array().unwrap();
        let found = members.iter().find(|one| one["cause"] == "misread_current").unwrap();
        let planted = read.parse::<f64>().unwrap() - current.parse::<f64>().unwrap();
        assert_eq!((found["line"].as_u64(), &found["unit"]), (Some(line as u64), &serde_json::json!("A")));
        let [amount, u] = ["/amount", "/amount_standard_uncertainty"].map(|key| number(found, key));
        assert!((amount - planted).abs() < 3.0 * u && u < 0.01, "{read} for {current}: {amount} ± {u}");
        let page = self::text(&[BENCH, "--readings", &path]);
        assert!(page.contains(&format!("the current of the reading on line {line} misread")), "{page}");
    }
}

#[test]
fn no_table_goes_beyond_what_the_supply_drives() {
    let folder = tempfile::tempdir().unwrap();
    let text = std::fs::read_to_string(BENCH).unwrap();
    let weak = written(
        &folder,
        "weak.json",
        &text.replace("\"voltage_limit\": \"30 V\"", "\"voltage_limit\": \"15 V\""),
    );
    let record = json(&[&weak, "--json"]);
    let sheet = crate::program::json(&["sheet", &weak, "--json"]);
    let reached = sheet["drives"][0]["largest_current_ampere"].as_f64().unwrap();
    let rows = record["table"].as_array().unwrap();
    let last = rows.last().unwrap()["current_ampere"].as_f64().unwrap();
    assert!(last <= reached && last > reached - 0.2, "{last} A of {reached} A");
    let above = record["continuous"]["above"].as_array().unwrap();
    assert!(above.iter().all(|row| row["current_ampere"].as_f64().unwrap() <= reached), "{above:?}");
    let notes = record["notes"].to_string();
    assert!(notes.contains("drives at most 1.79 A") && notes.contains("The tables end there"), "{notes}");
}

#[test]
fn what_the_spec_does_not_state_is_not_claimed_on_certificate_and_handout() {
    let folder = tempfile::tempdir().unwrap();
    let mut spec: serde_json::Value = serde_json::from_str(&std::fs::read_to_string(BENCH).unwrap()).unwrap();
    spec.as_object_mut().unwrap().retain(|key, _| key != "ammeter" && key != "field_meter");
    let bare = written(&folder, "bare.json", &spec.to_string());
    let out = folder.path().join("out");
    let page = text(&[&bare, "--readings", READINGS, "--adopt", "fit", "--out", out.to_str().unwrap()]);
    assert!(page.contains("taken as exact"), "{page}");
    for name in ["certificate.html", "handout.html"] {
        let html = std::fs::read_to_string(out.join(name)).unwrap();
        assert!(html.contains("do not count errors of the probe's gain and of the current"), "{name}");
        assert!(!html.contains("none left out"), "{name}");
    }
    let certificate = std::fs::read_to_string(out.join("certificate.html")).unwrap();
    assert!(!certificate.contains("<dt>deviations, additions, exclusions</dt><dd>none</dd>"));
}

#[test]
fn a_conformity_that_nothing_can_pass_is_told() {
    let page = text(&[BENCH, "--readings", READINGS, "--conformity", "0.1 %"]);
    assert!(page.contains("No result could PASS within 0.10 %"), "{page}");
    let page = text(&[BENCH, "--readings", READINGS, "--conformity", "5 %"]);
    assert!(!page.contains("No result could PASS"), "{page}");
}

#[test]
fn options_that_would_be_left_unused_are_refused() {
    for arguments in [&["--want", "2 %"][..], &["--scatter", "1 µT"], &["--measured-on", "2026-03-01"]] {
        let refused = calibrate(&[&[BENCH][..], arguments].concat());
        assert_eq!(refused.status.code(), Some(2), "{arguments:?}");
    }
}

#[test]
fn what_the_same_ammeter_is_off_by_cancels_in_the_tables() {
    let folder = tempfile::tempdir().unwrap();
    let largest = |arguments: &[&str]| {
        let record = json(&[&[BENCH, "--adopt", "fit", "--json"], arguments].concat());
        number(record["table"].as_array().unwrap().last().unwrap(), "/expanded_uncertainty_tesla")
    };
    let other = largest(&["--readings", READINGS]);
    let same = largest(&["--readings", READINGS, "--same-ammeter"]);
    // At 2.8 A the probe's 1.5 %/√3 of 2.36 mT remains, 41 µT expanded, and of the zero k u(δ), 2 × 9.7 µT: so much does it
    // move k I behind the reversal, and the spec does not say where the meter stands.
    let (probe, zero) = (2.0 * 0.015 / 3f64.sqrt() * 2.36e-3, 2.0 * 9.7e-6);
    assert!((same / probe.hypot(zero) - 1.0).abs() < 0.05, "{same}");
    assert!(other > 1.3 * same, "{other} {same}");
    // A comment in the file has the same effect.
    let text = std::fs::read_to_string(READINGS).unwrap();
    let path = written(&folder, "said.csv", &format!("# same ammeter\n{text}"));
    assert_eq!(largest(&["--readings", &path]), same);
}

#[test]
fn limits_that_the_build_tolerance_leaves_out_are_told_wherever_u_rests_on_them() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(BENCH).unwrap()).unwrap();
    let whole = bench["build_tolerance"].clone();
    let told = |arguments: &[&str]| {
        let record = json(&[arguments, &["--json"]].concat());
        record["notes"].to_string().contains("leaves out limits (spacing, tilt)")
    };
    for (left_out, is_told) in [(&["spacing", "tilt"][..], true), (&[], false)] {
        bench["build_tolerance"] = whole.clone();
        for key in left_out {
            bench["build_tolerance"].as_object_mut().unwrap().remove(*key);
        }
        let spec = written(&folder, "bench.json", &bench.to_string());
        assert_eq!(told(&[&spec]), is_told);
        assert_eq!(told(&[&spec, "--readings", READINGS, "--adopt", "combined"]), is_told);
        assert!(!told(&[&spec, "--readings", READINGS, "--adopt", "fit"]), "a fit does not rest on them");
        let checked = program::run(&["check", &spec]);
        let warned = String::from_utf8_lossy(&checked.stderr)
            .contains("limits are left out: `spacing`, `tilt`")
            || String::from_utf8_lossy(&checked.stdout).contains("limits are left out: `spacing`, `tilt`");
        assert_eq!((checked.status.code(), warned), (Some(0), is_told));
    }
}

#[test]
fn the_field_meters_gain_scales_slope_and_b0_alike() {
    // tests/data/probe_gain.py samples the measurement and fits each sample, without any budget; 400 000 samples leave 0.3 % of
    // its standard deviations open (three standard errors), and its own results differ by 0.25 % from ours.
    let mut bench: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(BENCH).unwrap()).unwrap();
    bench["ammeter"] = serde_json::json!({
        "resolution": "0.001 A", "accuracy_of_reading": "0.02 %", "accuracy_digits": 1, "position": "before_reversal"
    });
    bench["field_meter"]["accuracy_of_reading"] = "5 %".into();
    bench["room"]["field"][2] = "45 uT".into();
    bench["build_tolerance"]["mean_radius"] = "4 mm".into();
    bench["build_tolerance"]["spacing"] = "6 mm".into();
    let mut readings = String::from("current_A,field_mT,field_uncertainty_mT,probe_flipped\n");
    for (sign, turned) in [(1.0, "no"), (-1.0, "yes")] {
        for current in [-2.4, -1.8, -1.2, -0.6, 0.6, 1.2, 1.8, 2.4] {
            let field = 1e3 * (sign * (0.8436e-3 * current + 45e-6) + 3e-6);
            writeln!(readings, "{current},{field:.5},0.0015,{turned}").unwrap();
        }
    }
    let folder = tempfile::tempdir().unwrap();
    let bench = written(&folder, "bench.json", &bench.to_string());
    let readings = written(&folder, "readings.csv", &readings);
    // u(B0) and u(k), cov(k, B0), r; U of k I + B0 at 0.1 A and 1 A.
    let fit = [1.3544e-6, 24.3623e-6, 3.1665e-11, 0.9597, 7.5736e-6, 51.3399e-6];
    let combined = [1.3544e-6, 10.4157e-6, 5.7785e-12, 0.4096, 4.1527e-6, 22.1018e-6];
    for (adopt, wanted) in [("fit", fit), ("combined", combined)] {
        let record = json(&[&bench, "--readings", &readings, "--adopt", adopt, "--json"]);
        let [u_room, u_slope, covariance] = [
            "/intercept_standard_uncertainty_tesla",
            "/slope_standard_uncertainty_tesla_per_ampere",
            "/intercept_covariance_with_slope",
        ]
        .map(|key| number(&record, key));
        let at = |ampere: f64| {
            let rows = record["table"].as_array().unwrap();
            let row = rows.iter().find(|row| (number(row, "/current_ampere") - ampere).abs() < 1e-9).unwrap();
            assert_eq!(number(row, "/field_with_intercept_coverage_factor"), 2.0);
            number(row, "/field_with_intercept_expanded_uncertainty_tesla")
        };
        let got = [u_room, u_slope, covariance, covariance / (u_room * u_slope), at(0.1), at(1.0)];
        for (got, wanted) in got.into_iter().zip(wanted) {
            assert!((got / wanted - 1.0).abs() < 0.006, "{adopt}: got {got}, wanted {wanted}");
        }
        assert_eq!(number(&record, "/room/axial_standard_uncertainty_tesla"), u_room);
    }
    // A computed slope holds no gain of the probe; the room's field that the readings found does.
    let record = json(&[&bench, "--readings", &readings, "--adopt", "computed", "--json"]);
    assert!(record["intercept_covariance_with_slope"].is_null());
    let u_room = number(&record, "/room/axial_standard_uncertainty_tesla");
    assert!((u_room / fit[0] - 1.0).abs() < 0.006, "{u_room}");
}

#[test]
fn the_monte_carlo_run_is_the_same_on_one_thread_and_on_many() {
    let run = |threads: &str| {
        let output = Command::new(env!("CARGO_BIN_EXE_coilwright"))
            .args(["calibrate", BENCH, "--json", "--monte-carlo", "5000"])
            .env("RAYON_NUM_THREADS", threads)
            .output()
            .unwrap();
        assert!(output.status.success());
        output.stdout
    };
    assert_eq!(run("1"), run("4"));
    let refused = calibrate(&[BENCH, "--monte-carlo", "3"]);
    assert!(String::from_utf8_lossy(&refused.stderr).contains("from 1000"));
}

#[test]
fn an_older_calibration_is_compared_with() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("old");
    assert!(calibrate(&[BENCH, "--out", out.to_str().unwrap()]).status.success());
    let old = out.join("calibration.json");
    let old = old.to_str().unwrap();
    let record = json(&[BENCH, "--previous", old, "--json"]);
    assert_eq!(number(&record, "/drift/relative_change"), 0.0);
    assert_eq!(record["drift"]["old_table_holds"], true);
    let record = json(&[BENCH, "--previous", old, "--readings", READINGS, "--adopt", "fit", "--json"]);
    assert!((number(&record, "/drift/relative_change") - 0.004).abs() < 1e-3);
    // A computed and a measured line share no sources.
    assert_eq!(record["drift"]["shared_sources"], serde_json::json!([]));
    // Two measured ones share their meters.
    let out = folder.path().join("measured");
    let written =
        calibrate(&[BENCH, "--readings", READINGS, "--adopt", "fit", "--out", out.to_str().unwrap()]);
    assert!(written.status.success());
    let measured = out.join("calibration.json");
    let again = [BENCH, "--previous", measured.to_str().unwrap(), "--readings", READINGS, "--adopt", "fit"];
    let record = json(&[&again[..], &["--json"]].concat());
    assert_eq!(
        record["drift"]["shared_sources"],
        serde_json::json!(["ammeter gain", "ammeter digits", "probe gain"])
    );
    assert_eq!(number(&record, "/drift/normalised_difference_same_meters"), 0.0);
    let text = String::from_utf8(calibrate(&again).stdout).unwrap();
    assert!(text.contains("for the same pair and the same meters"), "{text}");
    let refused = calibrate(&[BENCH, "--previous", BENCH]);
    assert_eq!(refused.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("no calibration written by"));
}

#[test]
fn a_plan_writes_the_blank_file_that_readings_are_read_from() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("plan");
    let output = calibrate(&[BENCH, "--plan", "--want", "5 %", "--out", out.to_str().unwrap()]);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(String::from_utf8_lossy(&output.stdout).contains("the wish is met"));
    let blank = std::fs::read_to_string(out.join("readings.csv")).unwrap();
    // Filled in with the bench's computed slope, the file gives that slope in the fit.
    let slope_millitesla = 1e3 * number(&json(&[BENCH, "--json"]), "/slope_tesla_per_ampere");
    let filled: Vec<String> = blank
        .lines()
        .enumerate()
        .map(|(n, line)| {
            let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
            if n > 1 {
                let sign = if cells[3] == "yes" { -1.0 } else { 1.0 };
                // A scatter of a microtesla, since no meter repeats exactly.
                let scatter = if n % 2 == 0 { 1e-3 } else { -1e-3 };
                let field = sign * slope_millitesla * cells[1].parse::<f64>().unwrap() + scatter;
                cells[2] = format!("{field:.6}");
            }
            cells.join(",")
        })
        .collect();
    let path = written(&folder, "filled.csv", &filled.join("\n"));
    let record = json(&[BENCH, "--readings", &path, "--json"]);
    let fitted = number(&record, "/fit/slope_tesla_per_ampere");
    assert!((1e3 * fitted / slope_millitesla - 1.0).abs() < 1e-3, "{fitted}");
    let unfilled = calibrate(&[BENCH, "--readings", out.join("readings.csv").to_str().unwrap()]);
    assert!(String::from_utf8_lossy(&unfilled.stderr).contains("line 3"));
}

#[test]
fn readings_that_cannot_be_used_are_refused_with_a_hint_and_status_1() {
    let folder = tempfile::tempdir().unwrap();
    for (name, text, complaint) in [
        ("one.csv", "current_A,field_mT\n1,0.84\n", "1 reading"),
        ("same.csv", "current_A,field_mT\n1,0.84\n1,0.85\n1,0.84\n", "all at 1 A"),
        ("words.csv", "current_A,field_mT\n1,0.84\ntwo,1.69\n", "line 3"),
        ("nought.csv", "current_A,field_mT,field_uncertainty_mT\n1,0.84,0\n2,1.69,0.1\n", "line 2"),
        ("empty.csv", "", "error:"),
        ("decimal.csv", "current_A,field_mT\n1,0,84\n2,1,69\n", "line 2"),
    ] {
        let path = written(&folder, name, text);
        let refused = calibrate(&[BENCH, "--readings", &path]);
        let stderr = String::from_utf8_lossy(&refused.stderr);
        assert_eq!(refused.status.code(), Some(1), "{name}: {stderr}");
        assert!(stderr.contains(complaint), "{name}: {stderr}");
        assert!(refused.stdout.is_empty());
    }
    let missing = calibrate(&[BENCH, "--readings", "/no/such/readings.csv"]);
    assert_eq!(missing.status.code(), Some(1));
    assert_eq!(calibrate(&[BENCH, "--combine"]).status.code(), Some(2));
}

#[test]
fn thousands_of_readings_are_fitted_and_all_kept() {
    let folder = tempfile::tempdir().unwrap();
    let mut text = String::from("current_A,field_mT,field_uncertainty_mT\n");
    for n in 0..5000 {
        let current = -2.5 + 0.001 * f64::from(n);
        text += &format!("{current:.3},{:.5},0.002\n", 0.84 * current + 0.001 * f64::from(n * 7 % 5 - 2));
    }
    let path = written(&folder, "many.csv", &text);
    let record = json(&[BENCH, "--readings", &path, "--json"]);
    assert_eq!(record["fit"]["residuals"].as_array().unwrap().len(), 5000);
    assert!((number(&record, "/fit/slope_tesla_per_ampere") - 0.84e-3).abs() < 1e-7);
}

/// Readings both ways round of a pair that makes 0.843 mT/A, with a field beside it; written as a file.
fn readings_beside(folder: &Path, beside_millitesla: f64, uncertainty_millitesla: f64) -> String {
    let mut text = String::from("current_A,field_mT,field_uncertainty_mT\n");
    for ampere in [-2.4, -1.6, -0.8, 0.8, 1.6, 2.4] {
        let field = 0.843 * ampere + beside_millitesla;
        writeln!(text, "{ampere},{field},{uncertainty_millitesla:e}").unwrap();
    }
    let path = folder.join(format!("beside-{beside_millitesla}-{uncertainty_millitesla:e}.csv"));
    std::fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_owned()
}

#[test]
fn a_field_without_current_beyond_room_and_meter_is_told_and_a_usual_one_is_not() {
    let folder = tempfile::tempdir().unwrap();
    let told = "Without current the fit leaves";
    for (beside, is_told) in
        [(0.0, false), (0.05, false), (-0.05, false), (0.5, true), (-0.5, true), (900.0, true)]
    {
        let page = text(&[BENCH, "--readings", &readings_beside(folder.path(), beside, 0.001)]);
        assert_eq!(page.contains(told), is_told, "{beside} mT: {page}");
    }
}

#[test]
fn readings_stated_as_exact_as_no_meter_is_are_judged_all_the_same() {
    let folder = tempfile::tempdir().unwrap();
    for uncertainty in [1e-9, 1e-12, 1e-15] {
        let page = text(&[BENCH, "--readings", &readings_beside(folder.path(), 0.009, uncertainty)]);
        assert!(page.contains("agree: |E_n|"), "{uncertainty}: {page}");
    }
}

/// The record of readings that are refused.
fn refused(folder: &tempfile::TempDir, text: &str) -> (serde_json::Value, String) {
    let file = written(folder, "refused.csv", text);
    let found = calibrate(&[BENCH, "--readings", &file, "--json"]);
    assert_eq!(found.status.code(), Some(1), "{}", String::from_utf8_lossy(&found.stdout));
    let record = serde_json::from_slice(&found.stdout).unwrap();
    (record, String::from_utf8(found.stderr).unwrap())
}

#[test]
fn a_second_fault_is_told_beside_a_misread_reading() {
    let folder = tempfile::tempdir().unwrap();
    // One reading 60 µT too large, and the probe shows 6 % too little.
    let biased = changed(|_, field, turned, n| (0.94 * field + if n == 5 { 0.06 } else { 0.0 }, turned));
    let (record, _) = refused(&folder, &biased);
    let rest = &record["agreement"]["without_misread"];
    assert_eq!(rest["lines"].to_string(), "[7]", "{rest}");
    assert_eq!(rest["agreement"]["verdict"], "disagree");
    assert!((number(rest, "/agreement/relative_difference") + 0.06).abs() < 0.01, "{rest}");
    // What changes the slope has the size of the difference.
    let classes = rest["agreement"]["causes"].as_array().unwrap();
    let members = classes.iter().flat_map(|class| class["members"].as_array().unwrap());
    let gain = members.clone().find(|one| one["cause"] == "probe_gain").unwrap();
    let difference = number(rest, "/agreement/relative_difference");
    assert!((number(gain, "/amount") - difference).abs() < 1e-9, "{gain}");
    // A probe a third of the radius off shows 1.3 % less: nothing that reaches 6 %.
    assert!(members.clone().all(|one| one["cause"] != "probe_along_axis" || one["plausible"] == false));

    // Two misread readings are found one after the other.
    let two = changed(|_, field, turned, n| {
        (field + [0.0, 0.05, -0.05][usize::from(n == 3) + 2 * usize::from(n == 9)], turned)
    });
    let (record, said) = refused(&folder, &two);
    assert_eq!(record["agreement"]["without_misread"]["lines"].as_array().unwrap().len(), 2, "{said}");
    let file = written(&folder, "two.csv", &two);
    let page = text(&[BENCH, "--readings", &file]);
    assert!(page.contains("without line 11 and line 5, found misread"), "{page}");
}

#[test]
fn a_sign_that_is_wrong_and_a_line_that_is_none_are_told_as_such() {
    let folder = tempfile::tempdir().unwrap();
    let (record, said) =
        refused(&folder, &changed(|_, field, turned, n| (if n == 4 { -field } else { field }, turned)));
    assert!(said.contains("has the wrong sign"), "{said}");
    assert_eq!(record["agreement"]["causes"][0]["members"][0]["sign_reversed"], true);
    // Flip flags forgotten in half of the readings: no slope is better than none.
    let (record, said) = refused(
        &folder,
        &changed(|current, field, _, n| (if n % 2 == 0 { field } else { -field }, current < -10.0)),
    );
    assert!(
        number(&record, "/fit/slope_tesla_per_ampere").abs() < 1e-3,
        "{}",
        record["fit"]["slope_tesla_per_ampere"]
    );
    assert!(said.contains("probe_flipped"), "{said}");
    // Another range of the probe from 1.2 mT on.
    let ranges =
        changed(|_, field, turned, _| (if field.abs() > 1.2 { 1.05 * field } else { field }, turned));
    refused(&folder, &ranges);
}
