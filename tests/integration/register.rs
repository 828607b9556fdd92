//! `register`, and the calibrations that are entered in one.

use crate::outputs::compare::difference;
use crate::program::{Run, example, failure, json, number, run, run_in, text};
use serde_json::Value;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Instant;

const BENCH: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/coil-specs/window-bench.json");
const READINGS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/lab-files/readings.csv");
const RUNS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/lab-files/runs.csv");
const CHECKED: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/lab-files/before-the-lesson.json");
/// Ten years of the example bench, invented; [`the_ten_years_are_what_the_program_enters`] makes it.
const TEN_YEARS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/lab-files/window-bench.register");

/// A folder with a register in it.
struct Lab {
    folder: tempfile::TempDir,
}

impl Lab {
    fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap() }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn register(&self) -> String {
        self.path("pair.register").to_str().unwrap().into()
    }

    fn run(&self, arguments: &[&str]) -> Run {
        run_in(self.folder.path(), arguments)
    }

    /// Runs and must succeed.
    fn done(&self, arguments: &[&str]) -> Run {
        let run = self.run(arguments);
        assert_eq!(run.status, Some(0), "{arguments:?}: {}", run.stderr);
        run
    }

    /// A file with the example readings and a comment, so that no two have the same digest.
    fn readings(&self, name: &str) -> String {
        let text = std::fs::read_to_string(READINGS).unwrap();
        std::fs::write(self.path(name), format!("# {name}\n{text}")).unwrap();
        name.into()
    }

    fn calibrate(&self, date: &str, more: &[&str]) -> Run {
        let fixed = ["calibrate", BENCH, "--register", "pair.register", "--date", date];
        self.done(&[&fixed[..], more].concat())
    }

    fn enter(&self, arguments: &[&str]) -> Run {
        self.done(&[&["register", "pair.register"][..], arguments].concat())
    }

    fn shown(&self, arguments: &[&str]) -> Value {
        let run = self.run(&[&["register", "pair.register", "--json"][..], arguments].concat());
        serde_json::from_str(&run.stdout).unwrap_or_else(|error| panic!("{error}: {}", run.stderr))
    }

    /// Number of the certificate of an entry, as the program made it.
    fn certificate_of(&self, entry: usize) -> String {
        let shown = self.shown(&["--date", "2099-01-01"]);
        let entries = shown["entries"].as_array().unwrap();
        let found = entries.iter().find(|it| it["number"] == entry).unwrap();
        found["certificate"].as_str().unwrap().into()
    }

    fn states(&self, arguments: &[&str]) -> Vec<String> {
        let shown = self.shown(arguments);
        let entries = shown["entries"].as_array().unwrap();
        entries.iter().map(|entry| entry["state"].as_str().unwrap().into()).collect()
    }
}

#[test]
fn a_calibration_is_entered_with_the_keys_that_scripts_rely_on() {
    let lab = Lab::new();
    lab.calibrate("2025-03-01", &["--readings", READINGS, "--by", "A. Tech"]);
    let readings = lab.readings("2026.csv");
    let second = lab.calibrate("2026-03-01", &["--readings", &readings, "--adopt", "fit", "--json"]);
    let record: Value = serde_json::from_str(&second.stdout).unwrap();
    let shown = lab.shown(&[]);
    assert_eq!(shown["sound"], true);
    assert_eq!(shown["in_force"], 2);
    let entry = &shown["entries"][1];
    assert_eq!(
        (&entry["number"], &entry["date"], &entry["state"]),
        (&2.into(), &"2026-03-01".into(), &"in_force".into())
    );
    for key in ["slope_tesla_per_ampere", "slope_expanded_uncertainty_tesla_per_ampere"] {
        assert_eq!(entry[key], record[key], "{key}: the entry and the record have the same bits");
    }
    assert_eq!(record["issue"]["registered"]["digest"], entry["digest"]);
    let certificate = record["issue"]["certificate"].as_str().unwrap();
    let digits = certificate.strip_prefix("pair-2-").unwrap();
    assert!(digits.len() == 6 && digits.bytes().all(|it| it.is_ascii_hexdigit()), "{certificate}");
    assert_eq!(shown["entries"][0]["by"], "A. Tech");
    assert!(number(&shown, "/drift_standard_uncertainty_per_year_fraction") > 0.0);
    assert!(shown["drift_per_year_fraction"].is_number());
    // By hand the file is readable: one line an entry, its number and kind first.
    let file = std::fs::read_to_string(lab.register()).unwrap();
    let kinds: Vec<&str> = file.lines().map(|line| &line[..12]).collect();
    assert_eq!(kinds, ["{\"number\":1,", "{\"number\":2,"]);
    assert!(file.lines().all(|line| line.contains("\"kind\":\"calibration\",\"date\":\"202")));
}

#[test]
fn the_same_calls_make_the_same_register() {
    let [one, other] = [Lab::new(), Lab::new()];
    for lab in [&one, &other] {
        lab.calibrate("2025-03-01", &[]);
        lab.enter(&["--event", "moved", "--note", "to room 3"]);
    }
    let read = |lab: &Lab| std::fs::read(lab.register()).unwrap();
    assert_eq!(read(&one), read(&other));
}

#[test]
fn states_follow_later_calibrations_withdrawals_repairs_and_the_owners_rule() {
    let lab = Lab::new();
    lab.calibrate("2024-03-01", &[]);
    lab.calibrate("2025-03-01", &[]);
    assert_eq!(lab.states(&[]), ["superseded", "in_force"]);
    assert_eq!(lab.states(&["--date", "2024-06-01"]), ["in_force", "not_yet"]);
    lab.enter(&["--due-every", "18 months", "--by", "Owner"]);
    assert_eq!(lab.states(&["--date", "2026-09-01"]), ["superseded", "in_force"]);
    assert_eq!(lab.states(&["--date", "2026-09-02"]), ["superseded", "expired"]);
    lab.enter(&["--withdraw", "2", "--reason", "wrong probe", "--by", "Owner"]);
    assert_eq!(lab.states(&["--date", "2025-06-01"]), ["in_force", "withdrawn"]);
    assert_eq!(lab.states(&["--date", "2026-06-01"]), ["expired", "withdrawn"]);
    lab.enter(&["--event", "rewound", "--date", "2025-04-01"]);
    assert_eq!(lab.states(&["--date", "2025-03-20"]), ["in_force", "withdrawn"]);
    assert_eq!(lab.states(&["--date", "2025-06-01"]), ["expired", "withdrawn"]);
    let shown = lab.shown(&["--date", "2025-06-01"]);
    assert_eq!(shown["in_force"], Value::Null);
    assert!(shown["entries"][0]["reason"].as_str().unwrap().contains("rewound"));
    assert_eq!(shown["entries"][1]["reason"], "wrong probe (Owner)");
    let again = lab.run(&["register", "pair.register", "--withdraw", "2", "--reason", "x", "--by", "y"]);
    assert!(again.stderr.contains("withdrawn already, by entry 4"), "{}", again.stderr);
    let none = lab.run(&["register", "pair.register", "--withdraw", "3", "--reason", "x", "--by", "y"]);
    assert!(
        none.stderr.contains("entry 3 is no calibration") && none.stderr.contains("1, 2"),
        "{}",
        none.stderr
    );
}

#[test]
fn a_corrected_certificate_takes_the_place_of_the_one_it_names() {
    let lab = Lab::new();
    lab.calibrate("2025-03-01", &["--certificate", "K-17"]);
    let corrected = ["--certificate", "K-17a", "--replaces", "K-17", "--because", "address of the customer"];
    lab.calibrate("2025-03-08", &corrected);
    assert_eq!(lab.states(&[]), ["superseded", "in_force"]);
    // Capitals make no other number, in the certificate replaced as in a new one.
    let small = Lab::new();
    small.calibrate("2025-03-01", &["--certificate", "K-17"]);
    small.calibrate("2025-03-08", &["--certificate", "K-17a", "--replaces", "k-17", "--because", "address"]);
    assert_eq!(small.states(&[]), ["superseded", "in_force"]);
    let shown = lab.shown(&[]);
    let reason = "its certificate K-17 is no longer valid: K-17a, that of entry 2 takes its place";
    assert_eq!(shown["entries"][0]["reason"], reason);
    let page =
        lab.done(&["register", "pair.register"]).stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(page.contains(&format!("entry 1: replaced: {reason}")), "{page}");
    let happened = "entry 2, 2025-03-08: certificate K-17a replaces K-17, which is no longer valid: address of the customer";
    assert!(page.contains(happened), "{page}");
    // Two evaluations of one measurement are one value of the series.
    assert_eq!(shown["series"][0]["numbers"], serde_json::json!([2]));
    let calibrate = ["calibrate", BENCH, "--register", "pair.register", "--date", "2025-04-01"];
    let taken = lab.run(&[&calibrate[..], &["--certificate", "K-17"]].concat());
    assert!(taken.stderr.contains("entry 1 of the register has the certificate number"), "{}", taken.stderr);
    let unknown = [&calibrate[..], &["--replaces", "K-1", "--because", "x"]].concat();
    assert!(lab.run(&unknown).stderr.contains("has no certificate `K-1`"));
    assert_eq!(lab.shown(&[])["entries"].as_array().unwrap().len(), 2);
}

#[test]
fn registers_of_one_name_give_certificates_of_different_numbers() {
    let numbers = [1, 2].map(|seed| {
        let lab = Lab::new();
        lab.invented(seed, 1.0, "2024-03-01", &["--adopt", "fit"]);
        // The same call finds its entry, and its number, again.
        let again = lab.invented(seed, 1.0, "2024-03-01", &["--adopt", "fit", "--json"]);
        let record: Value = serde_json::from_str(&again.stdout).unwrap();
        assert_eq!(lab.states(&[]).len(), 1);
        assert_eq!(record["issue"]["certificate"], lab.certificate_of(1).as_str());
        lab.certificate_of(1)
    });
    assert!(numbers[0] != numbers[1] && numbers.iter().all(|it| it.starts_with("pair-1-")), "{numbers:?}");
}

#[test]
fn a_calibration_counts_from_its_day_of_issue() {
    let lab = Lab::new();
    lab.invented(1, 1.0, "2024-03-01", &["--adopt", "fit"]);
    lab.invented(2, 1.0, "2025-04-11", &["--adopt", "fit"]);
    let again =
        ["--adopt", "fit", "--replaces", &lab.certificate_of(2), "--because", "address of the customer"];
    lab.invented(2, 1.0, "2025-05-20", &again);
    assert_eq!(lab.shown(&[])["entries"][2]["measured"], "2025-04-11");
    assert_eq!(lab.states(&["--date", "2025-04-15"]), ["superseded", "in_force", "not_yet"]);
    assert_eq!(lab.states(&["--date", "2025-05-20"]), ["superseded", "superseded", "in_force"]);
    let used = |date: &str| {
        let weigh = ["weigh", BENCH, "--runs", RUNS, "--register", "pair.register", "--json", "--date", date];
        let record: Value = serde_json::from_str(&lab.done(&weigh).stdout).unwrap();
        record["line"]["register_entry"].as_str().unwrap().to_owned()
    };
    assert_eq!(used("2025-04-15"), "entry 2 of the register");
    assert_eq!(used("2025-05-20"), "entry 3 of the register");
    // Measured on one day and issued on a later one: until then the line before stays in force.
    lab.invented(4, 1.0, "2025-06-10", &["--adopt", "fit", "--measured-on", "2025-06-01"]);
    assert_eq!(used("2025-06-05"), "entry 3 of the register");
    assert_eq!(used("2025-06-10"), "entry 4 of the register");
}

#[test]
fn the_same_call_again_finds_its_entry_and_writes_its_files() {
    let lab = Lab::new();
    lab.calibrate("2024-03-01", &["--readings", READINGS]);
    let readings = lab.readings("2025.csv");
    let call = ["--readings", &readings, "--by", "A. Tech", "--out", "out"];
    let first = lab.calibrate("2025-03-01", &call);
    let register = std::fs::read(lab.register()).unwrap();
    let certificate = std::fs::read_to_string(lab.path("out/certificate.html")).unwrap();
    // A later entry does not matter: what the register held when the entry was made does.
    lab.enter(&["--event", "moved", "--date", "2025-04-01", "--note", "to room 3"]);
    let longer = std::fs::read(lab.register()).unwrap();
    assert!(longer.starts_with(&register));
    std::fs::remove_dir_all(lab.path("out")).unwrap();
    let again = lab.calibrate("2025-03-01", &call);
    assert!(again.stdout.contains("entry 2 of the register already"), "{}", again.stdout);
    assert!(first.stdout.contains("entered as entry 2"), "{}", first.stdout);
    assert_eq!(std::fs::read_to_string(lab.path("out/certificate.html")).unwrap(), certificate);
    assert_eq!(std::fs::read(lab.register()).unwrap(), longer);
    // By somebody else it is another calibration of the same readings.
    let other =
        ["calibrate", BENCH, "--register", "pair.register", "--date", "2025-03-01", "--readings", &readings];
    let refused = lab.run(&[&other[..], &["--by", "B. Tech"]].concat());
    assert!(refused.stderr.contains("the readings are those of entry 2"), "{}", refused.stderr);
}

#[test]
fn a_day_before_what_the_register_holds_is_told() {
    let lab = Lab::new();
    lab.calibrate("2025-03-01", &["--readings", READINGS]);
    let early = lab.calibrate("2019-01-01", &["--readings", &lab.readings("early.csv")]);
    assert!(early.stderr.contains("earlier than the register's last day, 2025-03-01"), "{}", early.stderr);
    let withdraw = ["register", "pair.register", "--withdraw", "1", "--reason", "r", "--by", "A", "--date"];
    let told = lab.done(&[&withdraw[..], &["2020-01-02"]].concat());
    assert!(told.stderr.contains("entry 1 is of 2025-03-01, which is later"), "{}", told.stderr);
}

#[test]
fn the_same_readings_are_no_second_calibration() {
    let lab = Lab::new();
    lab.calibrate("2025-03-01", &["--readings", READINGS, "--certificate", "K-17"]);
    let before = std::fs::read(lab.register()).unwrap();
    let again =
        ["calibrate", BENCH, "--register", "pair.register", "--date", "2026-03-01", "--readings", READINGS];
    let refused = lab.run(&[&again[..], &["--out", "out"]].concat());
    assert_eq!(refused.status, Some(1));
    assert!(
        refused.stderr.contains("the readings are those of entry 1, calibration of 2025-03-01")
            && refused.stderr.contains("--replaces NUMBER"),
        "{}",
        refused.stderr
    );
    assert_eq!(std::fs::read(lab.register()).unwrap(), before);
    assert!(!lab.path("out").exists());
    // Evaluated anew they replace the certificate; after a withdrawal they may be entered again.
    lab.done(&[&again[..], &["--replaces", "K-17", "--because", "spacing measured again"]].concat());
    assert_eq!(lab.states(&[]), ["superseded", "in_force"]);
    assert_eq!(lab.shown(&[])["entries"][1]["measured"], "2025-03-01", "they were measured once");
    assert_eq!(lab.run(&again).status, Some(1));
    lab.enter(&["--withdraw", "2", "--reason", "wrong spec", "--by", "Owner"]);
    assert_eq!(lab.run(&[&again[..], &["--measured-on", "2025-03-01"]].concat()).status, Some(0));
}

#[test]
fn a_computed_line_in_the_place_of_a_measured_one_is_told() {
    let lab = Lab::new();
    assert_eq!(lab.calibrate("2024-03-01", &[]).stderr, "", "nothing measured yet");
    lab.calibrate("2025-03-01", &["--readings", READINGS]);
    let told = lab.calibrate("2026-03-01", &[]).stderr;
    assert!(
        told.contains("entry 3, a computed line, takes the place of entry 2, which was measured"),
        "{told}"
    );
    assert!(told.contains("--withdraw 3"), "{told}");
    let page = lab.enter(&[]).stdout;
    assert!(page.contains("-      computed"), "no condition is told where nothing was looked at: {page}");
}

#[test]
fn what_no_register_or_certificate_can_state_is_refused_with_a_hint() {
    let lab = Lab::new();
    lab.calibrate("2025-03-01", &["--certificate", "K-17"]);
    let into = ["calibrate", BENCH, "--register", "pair.register", "--date"];
    let alone = ["calibrate", BENCH, "--date"];
    for (fixed, date, more, says) in [
        (&into, "0001-01-01", &[][..], "no pair is calibrated on 0001-01-01"),
        (&into, "9999-12-31", &["--later-than-today"], "no pair is calibrated on 9999-12-31"),
        (&into, "2025-04-01", &["--measured-on", "1025-03-30"], "no pair is calibrated on 1025-03-30"),
        (&into, "2025-04-01", &["--certificate", ""], "--certificate is empty"),
        (&into, "2025-04-01", &["--certificate", "k-17"], "has the certificate number of this one already"),
        (
            &into,
            "2025-04-01",
            &["--certificate", "K-18", "--replaces", "K-18", "--because", "x"],
            "would replace itself",
        ),
    ] {
        let run = lab.run(&[&fixed[..], &[date], more].concat());
        assert_eq!(run.status, Some(1), "{date} {more:?}: {}", run.stderr);
        assert!(
            run.stderr.contains(says) && run.stderr.contains("hint: "),
            "{date} {more:?}: {}",
            run.stderr
        );
    }
    for (more, says) in [
        (&["--measured-on", "2025-04-02"][..], "would come after the issue"),
        (&["--certificate", " "], "--certificate is empty"),
    ] {
        let run = lab.run(&[&alone[..], &["2025-04-01"], more].concat());
        assert_eq!(run.status, Some(1), "{more:?}: {}", run.stderr);
        assert!(run.stderr.contains(says) && run.stderr.contains("hint: "), "{more:?}: {}", run.stderr);
    }
    let event = lab.run(&["register", "pair.register", "--event", "moved", "--date", "0001-01-01"]);
    assert!(event.stderr.contains("no pair is calibrated on 0001-01-01"), "{}", event.stderr);
    assert_eq!(lab.states(&[]).len(), 1);
}

#[test]
fn a_refused_calibration_leaves_no_register_behind() {
    let lab = Lab::new();
    for more in [
        &["--date", "0001-01-01"][..],
        &["--date", "2026-02-30"],
        &["--date", "2025-04-01", "--measured-on", "1025-03-30"],
        &["--date", "2025-04-01", "--replaces", "K-1", "--because", "x"],
    ] {
        let run = lab.run(&[&["calibrate", BENCH, "--register", "pair.register"][..], more].concat());
        assert_eq!(run.status, Some(1), "{more:?}: {}", run.stderr);
        assert!(!lab.path("pair.register").exists(), "{more:?}");
    }
}

/// The example bench with a wide tolerance, as it really is after so many years: its slope falls by 0.3 % a year. Readings
/// scatter by 3 µT, which is stated.
fn yearly_readings(case: usize, year: usize, drift_per_year: f64) -> String {
    let slope = 0.8436e-3 * (1.0 + drift_per_year * year as f64);
    let mut text = "current_A,field_mT,field_uncertainty_mT,probe_flipped\n".to_owned();
    for (place, (current, sign)) in
        [-2.4, -1.2, 1.2, 2.4].into_iter().flat_map(|current| [(current, 1.0), (current, -1.0)]).enumerate()
    {
        // Twelve uniform numbers of variance 1/3 make a normal one of variance 4.
        let first = ((case * 11 + year) * 8 + place) * 12;
        let normal = (first..first + 12).map(scatter).sum::<f64>() / 2.0;
        let field = sign * (slope * current + 9e-6) - 3e-6 + READING_TESLA * normal;
        let turned = if sign < 0.0 { "yes" } else { "no" };
        writeln!(text, "{current},{:.5},{},{turned}", 1e3 * field, 1e3 * READING_TESLA).unwrap();
    }
    text
}

/// Standard uncertainty of one yearly reading.
const READING_TESLA: f64 = 3e-6;

/// Enters a calibration by these readings, whatever speaks against them.
fn adopt(lab: &Lab, name: &str, date: &str, readings: &str, line: &str) {
    std::fs::write(lab.path("yearly.csv"), readings).unwrap();
    let fixed = ["calibrate", BENCH, "--readings", "yearly.csv", "--adopt", line, "--register", name];
    lab.done(&[&fixed[..], &["--date", date]].concat());
}

#[test]
fn a_drift_is_found_and_brings_the_due_date_forward_whatever_line_was_adopted() {
    let lab = Lab::new();
    for line in ["combined", "fit"] {
        let name = format!("{line}.register");
        for year in 0..10 {
            adopt(&lab, &name, &format!("{}-03-10", 2016 + year), &yearly_readings(0, year, -3e-3), line);
        }
        let rule = ["--due-every", "10 years", "--due-by-drift", "50 %", "--allowed-error", "1 %"];
        lab.done(&[&["register", &name][..], &rule, &["--by", "Head of physics"]].concat());
    }
    let [combined, fit] = ["combined", "fit"]
        .map(|line| json(&["register", lab.path(&format!("{line}.register")).to_str().unwrap(), "--json"]));
    let rate = number(&combined, "/drift_per_year_fraction");
    let u = number(&combined, "/drift_standard_uncertainty_per_year_fraction");
    // The fraction counts from the mean slope, 1.35 % below the first.
    assert!((rate + 3e-3 / (1.0 - 0.0135)).abs() < 2.0 * u, "{rate} ± {u}");
    // 50 % of 1 % lasts 1.6 years, where the interval would allow ten. The combined line rests on the geometry and holds
    // hardly any of the nine years' drift, which have used it up before its last calibration.
    let due = fit["next_due"]["date"].as_str().unwrap();
    assert!(due > "2026-06-01" && due < "2026-12-31", "{due}");
    assert_eq!(combined["next_due"]["date"], "2025-03-10");
    for same in ["/drift_per_year_fraction", "/series/0/explained_by", "/neighbours/3/relative_change"] {
        assert_eq!(combined.pointer(same), fit.pointer(same), "{same}");
    }
    assert_eq!(combined["next_due"]["by"], "drift");
    let entry = &combined["entries"][9];
    assert!(number(entry, "/fitted_slope_tesla_per_ampere") < number(entry, "/slope_tesla_per_ampere"));
}

#[test]
fn entries_without_a_fitted_slope_take_no_part_in_the_drift_and_are_named() {
    let lab = Lab::new();
    for (year, line) in ["fit", "computed", "combined", "fit"].into_iter().enumerate() {
        adopt(&lab, "pair.register", &format!("{}-03-10", 2016 + year), &yearly_readings(1, year, 0.0), line);
    }
    lab.calibrate("2021-03-10", &[]);
    let shown = lab.shown(&[]);
    let series = &shown["series"][0];
    assert_eq!(series["numbers"], serde_json::json!([1, 2, 3, 4, 5]));
    assert_eq!(series["without_fit"], serde_json::json!([5]));
    assert_eq!(series["drift"]["values"], 4);
    assert!(shown["entries"][4]["fitted_slope_tesla_per_ampere"].is_null());
    assert_eq!(shown["neighbours"].as_array().unwrap().len(), 3);
    let page = lab.done(&["register", "pair.register"]).stdout;
    assert!(page.contains("entry 5 holds a computed line only"), "{page}");
    // Computed lines alone have no control chart: its axes would be empty.
    lab.done(&["calibrate", BENCH, "--register", "computed.register", "--date", "2025-03-01"]);
    let charts = |name: &str| {
        let out = lab.path(&format!("{name}-out"));
        lab.done(&["register", &format!("{name}.register"), "--out", out.to_str().unwrap()]);
        let picture = std::fs::read_to_string(out.join("control-chart.svg")).unwrap();
        ["Adopted lines", "ontrol chart"].map(|title| picture.contains(title))
    };
    assert_eq!((charts("pair"), charts("computed")), ([true, true], [true, false]));
}

#[cfg(unix)]
#[test]
fn a_pipe_is_no_register_and_is_not_waited_for() {
    let lab = Lab::new();
    let pipe = lab.path("pipe");
    let made = Command::new("mkfifo").arg(&pipe).status().expect("mkfifo");
    assert!(made.success());
    let started = Instant::now();
    for arguments in [&["register", "pipe"][..], &["register", "pipe", "--event", "moved"]] {
        let run = lab.run(arguments);
        assert!(run.status == Some(1) && run.stderr.contains("no regular file"), "{}", run.stderr);
    }
    assert!(started.elapsed().as_secs() < 60);
}

#[test]
fn another_meter_leaves_the_column_of_the_same_meters_empty_and_no_zero_has_a_sign() {
    let lab = Lab::new();
    lab.calibrate("2024-03-01", &["--readings", READINGS]);
    lab.enter(&["--event", "meter", "--date", "2024-09-01"]);
    lab.enter(&["--event", "moved", "--date", "2024-10-01"]);
    lab.calibrate("2025-03-01", &["--readings", &lab.readings("2025.csv")]);
    lab.calibrate("2026-03-01", &["--readings", &lab.readings("2026.csv")]);
    let shown = lab.shown(&[]);
    assert!(shown["neighbours"][0]["normalised_difference_same_meters"].is_null(), "{shown}");
    assert!(!shown["neighbours"][1]["normalised_difference_same_meters"].is_null());
    let page = lab.enter(&[]).stdout;
    assert!(page.contains("0.00") && !page.contains("-0.00") && !page.contains("−0.00"), "{page}");
}

#[test]
fn lessons_take_the_line_in_force_and_are_refused_one_that_is_not() {
    let lab = Lab::new();
    lab.calibrate("2025-03-01", &["--readings", READINGS]);
    lab.enter(&["--due-every", "1 year"]);
    let commands: [&[&str]; 4] = [
        &["lesson", BENCH, "--out", "lesson", "--force"],
        &["weigh", BENCH, "--runs", RUNS],
        &["orbit", BENCH, "--gun-voltage", "200 V", "--current", "1.4 A"],
        &["sheet", BENCH],
    ];
    let register = ["--register", "pair.register", "--date"];
    for command in commands {
        let good = lab.done(&[command, &register, &["2026-03-01"]].concat());
        assert!(
            good.stdout
                .replace("\n", " ")
                .split_whitespace()
                .collect::<Vec<_>>()
                .join(" ")
                .contains("entry 1 of the register"),
            "{}",
            good.stdout
        );
        let late = lab.run(&[command, &register, &["2026-03-02"]].concat());
        assert_eq!(late.status, Some(1));
        assert!(
            late.stdout.is_empty() && late.stderr.contains("entry 1 expired on 2026-03-01"),
            "{}",
            late.stderr
        );
        assert!(late.stderr.contains("--even-if-not-in-force"), "{}", late.stderr);
        let early = lab.run(&[command, &register, &["2024-03-02"]].concat());
        assert!(early.stderr.contains("no calibration of 2024-03-02 or before"), "{}", early.stderr);
        let anyway = [command, &register, &["2026-03-02", "--even-if-not-in-force"]].concat();
        let told = lab.done(&anyway).stdout.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(told.contains("in spite of: entry 1 expired on 2026-03-01"), "{told}");
        assert!(!told.contains("next due"), "a line that has ended has no day to come: {told}");
        // Without --date today decides; the calibration of 2025 is due since 2026-03-01.
        assert_eq!(lab.run(&[command, &register[..2]].concat()).status, Some(1));
    }
    // The latest is withdrawn and the one before expired: both are told.
    lab.calibrate("2026-03-05", &["--readings", &lab.readings("2026.csv")]);
    lab.enter(&["--withdraw", "3", "--reason", "the wrong pair", "--by", "Owner"]);
    let both = lab.run(&[commands[3], &register, &["2026-04-01"]].concat()).stderr;
    let told = "entry 3 is withdrawn: the wrong pair (Owner); before it, entry 1 expired on 2026-03-01";
    assert!(both.contains(told), "{both}");
    lab.enter(&["--withdraw", "1", "--reason", "the probe was cracked", "--by", "Owner"]);
    for command in commands {
        let withdrawn = lab.run(&[command, &register, &["2025-06-01"]].concat());
        assert!(
            withdrawn.stderr.contains("entry 1 is withdrawn: the probe was cracked"),
            "{}",
            withdrawn.stderr
        );
    }
}

#[test]
fn the_line_in_force_is_that_of_its_calibration_to_the_last_bit() {
    let lab = Lab::new();
    lab.calibrate("2025-03-01", &["--readings", READINGS, "--out", "out"]);
    let of_file =
        lab.done(&["weigh", BENCH, "--runs", RUNS, "--json", "--calibration", "out/calibration.json"]);
    let register = ["--register", "pair.register", "--date", "2025-03-02"];
    let of_register = lab.done(&[&["weigh", BENCH, "--runs", RUNS, "--json"][..], &register].concat());
    let [file, register]: [Value; 2] =
        [of_file, of_register].map(|run| serde_json::from_str(&run.stdout).unwrap());
    for key in ["/charge_to_mass_coulomb_per_kg", "/charge_to_mass_standard_uncertainty_coulomb_per_kg"] {
        assert_eq!(number(&file, key), number(&register, key), "{key}");
    }
}

#[test]
fn a_moved_bench_keeps_its_slope_and_loses_its_intercept() {
    let lab = Lab::new();
    // A spec without the room's field, which then comes from the calibration.
    let mut spec: Value = serde_json::from_str(&std::fs::read_to_string(BENCH).unwrap()).unwrap();
    spec.as_object_mut().unwrap().remove("room");
    std::fs::write(lab.path("bench.json"), spec.to_string()).unwrap();
    lab.done(&[
        "calibrate",
        "bench.json",
        "--readings",
        READINGS,
        "--register",
        "pair.register",
        "--date",
        "2025-03-01",
    ]);
    let weigh = [
        "weigh",
        "bench.json",
        "--runs",
        RUNS,
        "--json",
        "--register",
        "pair.register",
        "--date",
        "2025-06-01",
    ];
    let before: Value = serde_json::from_str(&lab.done(&weigh).stdout).unwrap();
    lab.enter(&["--event", "moved", "--note", "to room 3", "--date", "2025-05-01"]);
    let after: Value = serde_json::from_str(&lab.done(&weigh).stdout).unwrap();
    assert_eq!(before["line"]["slope_tesla_per_ampere"], after["line"]["slope_tesla_per_ampere"]);
    assert_ne!(before, after, "the room's field of the old place is used no more");
    assert_eq!(lab.shown(&["--date", "2025-06-01"])["intercept_ended_by"], 2);
    assert_eq!(lab.shown(&["--date", "2025-04-01"])["intercept_ended_by"], Value::Null);
}

#[test]
fn an_allowed_error_below_u_of_the_slope_is_told() {
    let lab = Lab::new();
    lab.invented(1, 1.0, "2024-03-01", &["--adopt", "fit"]);
    let rule = |allowed: &str| {
        let fixed = ["--due-every", "12 months", "--due-by-drift", "50 %", "--allowed-error", allowed];
        lab.enter(&[&fixed[..], &["--date", "2024-03-02"]].concat());
        lab.enter(&[]).stdout.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    // U(k) of readings with meters of 1.5 % and 0.8 % is 2.3 %.
    let page = rule("1 %");
    assert!(page.contains("of the allowed error of 1.00 %, which is LESS than U(k) itself, 2.3"), "{page}");
    let own = number(&lab.shown(&[]), "/uncertainty_above_allowed_error_fraction");
    assert!((0.022..0.026).contains(&own), "{own}");
    let certified = lab.invented(2, 1.0, "2025-03-01", &["--adopt", "fit", "--out", "low"]);
    assert_eq!(certified.status, Some(0));
    let certificate = std::fs::read_to_string(lab.path("low/certificate.html")).unwrap();
    assert!(certificate.contains("LESS than U(k) itself"), "{certificate}");
    let page = rule("5 %");
    assert!(!page.contains("LESS than U(k)"), "{page}");
    assert!(lab.shown(&[])["uncertainty_above_allowed_error_fraction"].is_null());
}

#[test]
fn events_and_adjustments_split_the_series() {
    let lab = Lab::new();
    let calibrate = |date: &str, name: &str, more: &[&str]| {
        lab.calibrate(date, &[&["--readings", &lab.readings(name)][..], more].concat());
    };
    calibrate("2023-03-01", "2023.csv", &[]);
    calibrate("2024-03-01", "2024.csv", &[]);
    lab.enter(&["--event", "meter", "--note", "ammeter 4", "--date", "2024-06-01"]);
    calibrate("2025-03-01", "found.csv", &[]);
    calibrate("2025-03-01", "left.csv", &["--as-left", "--out", "left"]);
    let certificate = std::fs::read_to_string(lab.path("left/certificate.html")).unwrap();
    assert!(
        certificate.contains(&format!("certificate {}, measured on 2025-03-01", lab.certificate_of(4))),
        "{certificate}"
    );
    let other = lab.readings("other.csv");
    let unknown = ["--readings", &other, "--as-left", "--as-found", "X-9", "--date", "2025-03-02"];
    let refused = lab.run(&[&["calibrate", BENCH, "--register", "pair.register"], &unknown[..]].concat());
    assert_eq!(refused.status, Some(1));
    assert!(refused.stderr.contains("no valid certificate `X-9` of a result as found"), "{}", refused.stderr);
    let shown = lab.shown(&[]);
    let numbers: Vec<&Value> =
        shown["series"].as_array().unwrap().iter().map(|series| &series["numbers"]).collect();
    assert_eq!(numbers, [&serde_json::json!([1, 2]), &serde_json::json!([4]), &serde_json::json!([5])]);
    assert_eq!(shown["series"][1]["opened_by"], 3);
    assert_eq!(shown["neighbours"][1]["event"], 3);
    assert_eq!(shown["drift_per_year_fraction"], Value::Null, "one value tells no drift");
    assert_eq!(shown["in_force"], 5);
}

#[test]
fn a_result_as_found_is_named_only_if_nothing_else_changed_the_pair_since() {
    let lab = Lab::new();
    let fit = ["--adopt", "fit"];
    let left = |seed: usize, date: &str, more: &[&str]| {
        let run = lab.invented(seed, 1.0, date, &[&fit[..], &["--as-left", "--out", date], more].concat());
        let certificate = std::fs::read_to_string(lab.path(&format!("{date}/certificate.html"))).unwrap();
        (run.stderr, certificate)
    };
    // A register that begins as left holds none.
    let (told, certificate) = left(1, "2020-03-01", &[]);
    assert!(told.contains("names no result as found: the register holds no result as found"), "{told}");
    assert!(certificate.contains("none: the register holds no result as found"), "{certificate}");
    // Found, adjusted, left: entries 2, 3 and 4.
    lab.invented(2, 1.0, "2021-03-01", &fit);
    lab.enter(&["--event", "adjusted", "--date", "2021-03-02"]);
    let (told, certificate) = left(3, "2021-03-03", &[]);
    assert!(!told.contains("result as found"), "{told}");
    assert!(
        certificate.contains(&format!("certificate {}, measured on 2021-03-01", lab.certificate_of(2))),
        "{certificate}"
    );
    assert!(
        certificate.contains("<dt>what was done</dt><dd>the coils were adjusted (2021-03-02)"),
        "{certificate}"
    );
    // Adjusted once more: what was found two years before is not what was adjusted.
    let (told, certificate) = left(4, "2023-03-01", &["--certificate", "K-5"]);
    let none = "no result as found exists since entry 4 of the register: the pair was adjusted and measured as left (2021-03-03)";
    assert!(told.contains(none), "{told}");
    assert!(certificate.contains(none) && !certificate.contains("certificate pair-2-"), "{certificate}");
    // The re-issue of that certificate says the same, and is no adjustment after itself.
    let again = ["--replaces", "K-5", "--because", "address", "--json"];
    std::fs::write(lab.path("again.csv"), invented_readings(4, 0.0, 1.0)).unwrap();
    let record = lab.calibrate("2023-04-01", &[&fit[..], &["--readings", "again.csv"], &again].concat());
    let record: Value = serde_json::from_str(&record.stdout).unwrap();
    assert_eq!(record["issue"]["no_as_found"]["since"]["entry"], 4);
    // Found, repaired, adjusted on another day, left: the repair lies between.
    lab.invented(5, 1.0, "2024-03-01", &fit);
    lab.enter(&["--event", "repaired", "--note", "coil b", "--date", "2024-04-01"]);
    lab.enter(&["--event", "adjusted", "--date", "2024-05-01"]);
    let (told, _) = left(6, "2024-05-02", &[]);
    assert!(
        told.contains("since entry 8 of the register: a coil was repaired, coil b (2024-04-01)"),
        "{told}"
    );
    // Nor may it be named on request.
    std::fs::write(lab.path("named.csv"), invented_readings(7, 0.0, 1.0)).unwrap();
    let call = [
        "calibrate",
        BENCH,
        "--register",
        "pair.register",
        "--date",
        "2024-05-03",
        "--readings",
        "named.csv",
    ];
    let refused = lab.refused(&[&call[..], &["--as-left", "--as-found", &lab.certificate_of(7)]].concat());
    assert!(refused.contains("` is of a result as found before entry 10 of the register"), "{refused}");
}

#[test]
fn a_quick_check_is_entered_between_the_calibrations() {
    let lab = Lab::new();
    lab.calibrate("2025-03-01", &[]);
    let check = [
        "check",
        BENCH,
        "--measured",
        CHECKED,
        "--register",
        "pair.register",
        "--date",
        "2025-09-01",
        "--by",
        "C",
    ];
    let run = lab.run(&check);
    assert!(run.stdout.contains("entered as entry 2 of the register"), "{}{}", run.stdout, run.stderr);
    let shown = lab.shown(&[]);
    let entry = &shown["checks"][0];
    assert_eq!(
        (&entry["number"], &entry["date"], &entry["by"]),
        (&2.into(), &"2025-09-01".into(), &"C".into())
    );
    assert!(number(entry, "/field_tesla_per_ampere") > 8e-4);
}

#[test]
fn one_register_holds_one_pair() {
    let lab = Lab::new();
    lab.calibrate("2025-03-01", &[]);
    let other = example("quote-thick.json");
    let refused = lab.run(&["calibrate", &other, "--register", "pair.register", "--date", "2025-04-01"]);
    assert_eq!(refused.status, Some(1));
    assert!(refused.stderr.contains("the register is that of"), "{}", refused.stderr);
    assert_eq!(lab.shown(&[])["entries"].as_array().unwrap().len(), 1);
    let undated = lab.run(&["calibrate", BENCH, "--register", "pair.register"]);
    assert_eq!(undated.status, Some(2), "{}", undated.stderr);
    let missing = lab.run(&["register", "other.register", "--event", "moved"]);
    assert!(missing.stderr.contains("there is no such file") && !lab.path("other.register").exists());
}

#[test]
fn a_torn_line_is_told_moved_away_and_no_entry() {
    let lab = Lab::new();
    lab.calibrate("2025-03-01", &[]);
    let whole = std::fs::read(lab.register()).unwrap();
    lab.enter(&["--event", "moved"]);
    let both = std::fs::read(lab.register()).unwrap();
    std::fs::write(lab.register(), &both[..both.len() - 40]).unwrap();
    let shown = lab.run(&["register", "pair.register"]);
    assert_eq!(shown.status, Some(0));
    let torn = both.len() - 40 - whole.len();
    assert!(
        shown.stderr.contains(&format!("the last {torn} bytes are a torn line and no entry")),
        "{}",
        shown.stderr
    );
    assert_eq!(lab.shown(&[])["sound"], false);
    assert_eq!(lab.shown(&[])["torn_bytes"], torn);
    let appended = lab.enter(&["--event", "turned"]);
    assert!(appended.stderr.contains("moved to pair.register.torn"), "{}", appended.stderr);
    assert!(appended.stdout.starts_with("entered as entry 2 "), "{}", appended.stdout);
    let kept = std::fs::read(lab.path("pair.register.torn")).unwrap();
    assert_eq!(kept, [&both[whole.len()..both.len() - 40], b"\n"].concat());
    assert_eq!(lab.shown(&[])["sound"], true);
}

#[test]
fn a_damaged_register_is_read_as_far_as_it_is_sound_and_never_written_to() {
    let lab = Lab::new();
    lab.calibrate("2024-03-01", &[]);
    lab.calibrate("2025-03-01", &[]);
    let text = std::fs::read_to_string(lab.register()).unwrap();
    let edited = text.replacen("2025-03-01", "2025-03-02", 1);
    std::fs::write(lab.register(), &edited).unwrap();
    let shown = lab.run(&["register", "pair.register", "--json"]);
    assert_eq!(shown.status, Some(1));
    assert!(shown.stderr.contains("sound up to line 1; line 2 was changed"), "{}", shown.stderr);
    let record: Value = serde_json::from_str(&shown.stdout).unwrap();
    assert_eq!((&record["sound"], &record["damaged_line"]), (&false.into(), &2.into()));
    assert_eq!(record["entries"].as_array().unwrap().len(), 1);
    for arguments in [
        &["register", "pair.register", "--event", "moved"][..],
        &["calibrate", BENCH, "--register", "pair.register", "--date", "2026-03-01"],
        &["weigh", BENCH, "--runs", RUNS, "--register", "pair.register", "--date", "2025-03-05"],
    ] {
        let refused = lab.run(arguments);
        assert_eq!(refused.status, Some(1), "{arguments:?}");
        assert!(refused.stderr.contains("damaged"), "{}", refused.stderr);
        assert_eq!(std::fs::read_to_string(lab.register()).unwrap(), edited);
    }
}

#[test]
fn a_digest_kept_elsewhere_shows_an_end_cut_off_or_written_anew() {
    let lab = Lab::new();
    lab.calibrate("2024-03-01", &[]);
    let first = std::fs::read(lab.register()).unwrap();
    lab.calibrate("2025-03-01", &[]);
    let shown = lab.shown(&[]);
    let [one, two] = [0, 1].map(|at: usize| shown["entries"][at]["digest"].as_str().unwrap().to_owned());
    for digest in [one.as_str(), &two, &two[..16], &two.to_uppercase()] {
        lab.enter(&["--expect", digest]);
    }
    // Cut at an entry's end the chain is sound, and only the digest tells.
    std::fs::write(lab.register(), &first).unwrap();
    assert_eq!(lab.shown(&[])["sound"], true);
    lab.enter(&["--expect", &one]);
    let missing = lab.run(&["register", "pair.register", "--expect", &two]);
    assert_eq!(missing.status, Some(1));
    assert!(missing.stderr.contains("no entry of the register has the digest"), "{}", missing.stderr);
    for wrong in ["abc", &two[..15], &format!("{}g", &two[..20])] {
        assert!(
            lab.run(&["register", "pair.register", "--expect", wrong]).stderr.contains("is no digest"),
            "{wrong}"
        );
    }
}

fn started(register: &str, note: &str) -> Child {
    Command::new(env!("CARGO_BIN_EXE_coilwright"))
        .args(["register", register, "--event", "meter", "--note", note])
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

#[test]
fn two_hundred_writers_at_once_lose_nothing() {
    let lab = Lab::new();
    lab.calibrate("2025-03-01", &[]);
    let register = lab.register();
    let children: Vec<Child> =
        (0..200).map(|number| started(&register, &format!("writer {number}"))).collect();
    for mut child in children {
        assert!(child.wait().unwrap().success());
    }
    let shown = lab.shown(&[]);
    assert_eq!(shown["sound"], true);
    let mut notes: Vec<String> = shown["events"]
        .as_array()
        .unwrap()
        .iter()
        .map(|event| event["note"].as_str().unwrap().into())
        .collect();
    notes.sort();
    let mut wanted: Vec<String> = (0..200).map(|number| format!("writer {number}")).collect();
    wanted.sort();
    assert_eq!(notes, wanted);
}

/// Kills writers at moments spread over the time that one takes. Returns how many were killed before they were done.
fn killed_at_random(kills: u32) -> u32 {
    let lab = Lab::new();
    lab.calibrate("2025-03-01", &[]);
    let register = lab.register();
    let took = (0..5).map(|_| {
        let start = Instant::now();
        assert!(started(&register, "let live").wait().unwrap().success());
        start.elapsed()
    });
    let longest = took.max().unwrap();
    let (mut acknowledged, mut killed) = (6, 0);
    for kill in 0..kills {
        // A multiplicative sequence spreads the moments evenly, whatever their number.
        let part = (f64::from(kill) * 0.618_033_988_75).fract();
        let mut child = started(&register, &format!("writer {kill}"));
        std::thread::sleep(longest.mul_f64(part));
        drop(child.kill());
        let done = child.wait().unwrap().success();
        acknowledged += u64::from(done);
        killed += u32::from(!done);
        let chain = coilwright::files::register::read(Path::new(&register)).unwrap();
        assert!(
            !matches!(chain.end, coilwright::files::register::End::Damaged { .. }),
            "after kill {kill}: {:?}",
            chain.end
        );
        // Whoever was told that the entry is in finds it there; a killed writer may have entered it without saying so.
        assert!(chain.entries.len() as u64 >= acknowledged, "after kill {kill}");
        acknowledged = chain.entries.len() as u64;
    }
    lab.enter(&["--event", "meter"]);
    assert_eq!(lab.shown(&[])["sound"], true);
    killed
}

#[test]
fn a_thousand_killed_writers_leave_a_sound_chain() {
    let killed = killed_at_random(1000);
    println!("{killed} of 1000 writers were killed before they were done");
    assert!(killed > 200, "{killed}");
}

/// A scatter from −1 to 1 that is the same every time (SplitMix64; Steele, Lea and Flood 2014, fig. 15).
fn scatter(number: usize) -> f64 {
    let mut z = (number as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    2.0 * ((z ^ (z >> 31)) as f64 / u64::MAX as f64) - 1.0
}

/// Readings of the example bench in a year: its slope drifts by −0.05 % a year, since its spacing grows, and from the
/// change of the field meter on all readings are 0.6 % larger.
fn invented_readings(number: usize, years: f64, gain: f64) -> String {
    let slope = 0.8436e-3 * (1.0 - 5e-4 * years) * gain;
    let mut text = "current_A,field_mT,field_uncertainty_mT,probe_flipped\n".to_owned();
    for (place, (current, sign)) in
        [-2.4, -1.2, 1.2, 2.4].into_iter().flat_map(|current| [(current, 1.0), (current, -1.0)]).enumerate()
    {
        let field = sign * (slope * current + 9e-6) - 3e-6 + 1.2e-6 * scatter(8 * number + place + 1);
        let turned = if sign < 0.0 { "yes" } else { "no" };
        writeln!(text, "{current},{:.4},0.0015,{turned}", 1e3 * field).unwrap();
    }
    text
}

/// Enters ten years of invented calibrations: twice a year, another field meter in the autumn of the sixth.
fn enter_ten_years(lab: &Lab, name: &str) {
    let days = (2016..2026).flat_map(|year| [format!("{year}-03-10"), format!("{year}-09-14")]);
    for (number, day) in days.enumerate() {
        let gain = if number < 11 { 1.0 } else { 1.006 };
        if number == 11 {
            let meter = [
                "--event",
                "meter",
                "--note",
                "field meter FM-330 for FM-221",
                "--by",
                "J. Ortega",
                "--date",
                "2021-09-01",
            ];
            lab.done(&[&["register", name][..], &meter].concat());
        }
        std::fs::write(lab.path("readings.csv"), invented_readings(number, 0.5 * number as f64, gain))
            .unwrap();
        let by = if number % 3 == 0 { "M. Lindqvist" } else { "J. Ortega" };
        let fixed = ["calibrate", BENCH, "--readings", "readings.csv", "--adopt", "fit", "--register", name];
        lab.done(&[&fixed[..], &["--date", &day, "--by", by]].concat());
        if number == 0 {
            let rule = [
                "--due-every",
                "12 months",
                "--due-by-drift",
                "50 %",
                "--allowed-error",
                "1 %",
                "--by",
                "Head of physics",
            ];
            lab.done(&[&["register", name][..], &rule, &["--date", "2016-03-11"]].concat());
        }
    }
}

#[test]
fn ten_years_with_a_drift_and_another_meter_show_both() {
    let lab = Lab::new();
    let shown = json(&["register", TEN_YEARS, "--json"]);
    assert_eq!(shown["sound"], true);
    assert_eq!(shown["entries"].as_array().unwrap().len(), 20);
    let series = shown["series"].as_array().unwrap();
    assert_eq!(
        series.iter().map(|series| series["numbers"].as_array().unwrap().len()).collect::<Vec<_>>(),
        [11, 9]
    );
    for part in series {
        // Planted: −0.05 % a year; it must be found within three of its standard uncertainties, and be no chance.
        let drift = &part["drift"];
        let [found, u] =
            ["/per_year_fraction", "/standard_uncertainty_per_year_fraction"].map(|key| number(drift, key));
        assert!((found + 5e-4).abs() < 3.0 * u, "{found} ± {u}");
        assert!(found < -2.0 * u, "{found} ± {u}");
        assert_eq!(part["limits"]["provisional"], false);
        assert!(
            part["signs"].as_array().unwrap().iter().any(|sign| sign["sign"] == "one_side"
                || sign["sign"] == "trend"
                || sign["sign"] == "beyond_action"),
            "{part}"
        );
    }
    // The step of the meter: 0.6 % in half a year, where the calibrations about it drift by 0.03 %.
    let neighbours = shown["neighbours"].as_array().unwrap();
    let step = neighbours.iter().find(|pair| !pair["event"].is_null()).unwrap();
    assert!((number(step, "/relative_change") - 6e-3).abs() < 1e-3, "{step}");
    // Nothing cancels between two meters.
    assert!(step["normalised_difference_same_meters"].is_null(), "{step}");
    let page = text(&["register", TEN_YEARS]);
    for told in
        ["coils slipped", "shorted", "another meter is used", "moving ranges of the series", "clause 5"]
    {
        assert!(page.split_whitespace().collect::<Vec<_>>().join(" ").contains(told), "{told}: {page}");
    }
    let out = lab.path("out");
    text(&["register", TEN_YEARS, "--out", out.to_str().unwrap()]);
    let picture = std::fs::read_to_string(out.join("control-chart.svg")).unwrap();
    for part in ["action limits", "warning limits", "centre line", "another meter is used"] {
        assert!(picture.contains(part), "{part}");
    }
    assert!(out.join("register.csv").is_file() && out.join("register.json").is_file());
}

/// The entries of a register, a value a line, without their digests, which depend on the last bit of every number.
fn without_digests(register: &str) -> String {
    let digest = regex::Regex::new("[0-9a-f]{64}").unwrap();
    let entries: Vec<Value> = register
        .lines()
        .map(|line| serde_json::from_str(&digest.replace_all(line, "DIGEST")).unwrap())
        .collect();
    serde_json::to_string_pretty(&entries).unwrap()
}

#[test]
fn the_ten_years_are_what_the_program_enters() {
    let lab = Lab::new();
    enter_ten_years(&lab, "window-bench.register");
    let entered = std::fs::read_to_string(lab.path("window-bench.register")).unwrap();
    if std::env::var_os("COILWRIGHT_KEEP_OUTPUTS").is_some() {
        std::fs::write(TEN_YEARS, &entered).unwrap();
    }
    let kept = std::fs::read_to_string(TEN_YEARS).unwrap();
    let apart = difference("register.json", &without_digests(&entered), &without_digests(&kept));
    assert!(apart.is_none(), "{apart:?}");
}

#[test]
fn what_cannot_be_entered_is_refused_before_anything_is_written() {
    let lab = Lab::new();
    lab.calibrate("2025-03-01", &[]);
    let before = std::fs::read(lab.register()).unwrap();
    for (arguments, status, complaint) in [
        (&["--withdraw", "1"][..], 2, "--reason"),
        (&["--withdraw", "1", "--reason", " ", "--by", "x"], 2, "--reason is empty"),
        (&["--event", "melted"], 2, "melted"),
        (&["--due-every", "soon"], 2, "no time between calibrations"),
        (&["--due-every", "1 year", "--due-by-drift", "50 %"], 2, "--allowed-error"),
        (&["--event", "moved", "--date", "2025-02-30"], 1, "no date"),
        (&["--event", "moved", "--expect", "0123456789abcdef"], 2, "not for an entry"),
    ] {
        let refused = lab.run(&[&["register", "pair.register"][..], arguments].concat());
        assert_eq!(refused.status, Some(status), "{arguments:?}: {}", refused.stderr);
        assert!(refused.stderr.contains(complaint), "{arguments:?}: {}", refused.stderr);
        assert_eq!(std::fs::read(lab.register()).unwrap(), before);
    }
    let (status, told) = failure(&["register", lab.folder.path().to_str().unwrap()]);
    assert_eq!(status, 1);
    assert!(told.contains("no regular file"), "{told}");
    assert!(run(&["register"]).status.code() == Some(2));
}

impl Lab {
    /// Calibrates with invented readings, the slope times `gain`.
    fn invented(&self, seed: usize, gain: f64, date: &str, more: &[&str]) -> Run {
        let name = format!("invented-{seed}-{gain}.csv");
        std::fs::write(self.path(&name), invented_readings(seed, 0.0, gain)).unwrap();
        self.calibrate(date, &[&["--readings", &name][..], more].concat())
    }

    fn refused(&self, arguments: &[&str]) -> String {
        let run = self.run(arguments);
        assert_eq!(run.status, Some(1), "{arguments:?}: {}", run.stderr);
        run.stderr
    }
}

#[test]
fn an_adjustment_stays_one_when_its_calibration_is_withdrawn() {
    let lab = Lab::new();
    let fit = ["--adopt", "fit"];
    lab.invented(1, 1.0, "2024-03-01", &fit);
    lab.invented(2, 1.03, "2025-03-02", &[&fit[..], &["--as-left"]].concat());
    lab.enter(&["--withdraw", "2", "--reason", "wrong probe", "--by", "A", "--date", "2025-03-03"]);
    assert_eq!(lab.states(&["--date", "2025-03-05"]), ["expired", "withdrawn"]);
    let weigh = ["weigh", BENCH, "--runs", RUNS, "--register", "pair.register", "--date", "2025-03-05"];
    assert!(lab.refused(&weigh).contains("the pair was adjusted before the calibration of entry 2"));
    // The next one opens a series of its own.
    lab.invented(3, 1.03, "2026-03-01", &fit);
    let shown = lab.shown(&[]);
    let numbers: Vec<&Value> =
        shown["series"].as_array().unwrap().iter().map(|series| &series["numbers"]).collect();
    assert_eq!(numbers, [&serde_json::json!([1]), &serde_json::json!([4])]);
    assert!(shown["drift_per_year_fraction"].is_null());
}

#[test]
fn a_step_is_told_and_a_line_that_hides_it_warns_whoever_uses_it() {
    let lab = Lab::new();
    for (seed, year) in (2021..=2024).enumerate() {
        let run = lab.invented(seed, 1.0, &format!("{year}-03-01"), &["--adopt", "combined"]);
        assert!(!run.stderr.contains("off that of entry"), "{}", run.stderr);
    }
    let weigh = ["weigh", BENCH, "--runs", RUNS, "--register", "pair.register", "--date", "2025-03-05"];
    assert!(!lab.done(&weigh).stderr.contains("hardly follows"));
    let entered = lab.invented(9, 0.985, "2025-03-01", &["--adopt", "combined"]);
    assert!(entered.stderr.contains("-1.49 % off that of entry 4, E_n = -"), "{}", entered.stderr);
    assert!(entered.stderr.contains("turns of one coil shorted"), "{}", entered.stderr);
    assert!(entered.stderr.contains("hardly follows that"), "{}", entered.stderr);
    let shown = lab.shown(&[]);
    assert_eq!(shown["step"]["before"], 4);
    assert!(number(&shown, "/neighbours/3/explained_by/turns") < -1.0);
    assert!(shown["neighbours"][2]["explained_by"].is_null());
    let page = lab.done(&["register", "pair.register"]).stdout;
    assert!(page.contains("entries 4 to 5: the pair or a meter changed, as much as -1.49 %"), "{page}");
    let used = lab.done(&weigh);
    assert!(used.stderr.contains("hardly follows that"), "{}", used.stderr);
    let page = used.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(page.contains("whose readings are unlike those of entry 4"), "{page}");
    // After an event the same change is no step.
    lab.enter(&["--event", "repaired", "--note", "coil a glued anew", "--date", "2025-04-01"]);
    let again = lab.invented(10, 1.0, "2025-04-02", &["--adopt", "combined", "--out", "repaired"]);
    assert!(!again.stderr.contains("off that of entry"), "{}", again.stderr);
    let certificate = std::fs::read_to_string(lab.path("repaired/certificate.html")).unwrap();
    assert!(certificate.contains("as found after this: a coil was repaired, coil a glued anew (2025-04-01)"));
    assert!(
        certificate.contains(&format!(
            "certificate {}, measured on 2025-03-01; adopted k = ",
            lab.certificate_of(5)
        )),
        "{certificate}"
    );
}

#[test]
fn chance_alone_is_seldom_called_a_step() {
    // E_n above 1 is two standard uncertainties: one in twenty by chance. Twenty pairs of sound calibrations.
    let lab = Lab::new();
    let mut told = 0;
    for seed in 0..21 {
        let day = format!("2020-{:02}-{:02}", 1 + seed / 2, 1 + 14 * (seed % 2));
        told += usize::from(
            lab.invented(seed, 1.0, &day, &["--adopt", "fit"]).stderr.contains("off that of entry"),
        );
    }
    assert!(told <= 3, "{told}");
}

#[test]
fn a_corrected_file_keeps_the_day_on_which_its_readings_were_taken() {
    let lab = Lab::new();
    lab.invented(1, 1.0, "2024-03-01", &["--adopt", "fit", "--as-left"]);
    lab.invented(2, 0.999, "2025-03-01", &["--adopt", "fit"]);
    let replaces =
        ["--adopt", "fit", "--replaces", &lab.certificate_of(1), "--because", "reading 3 mistyped"];
    let corrected = lab.invented(3, 1.0, "2026-02-01", &[&replaces[..], &["--out", "new"]].concat());
    assert!(
        corrected.stderr.contains("day of measurement 2024-03-01, as left: taken from"),
        "{}",
        corrected.stderr
    );
    let certificate = std::fs::read_to_string(lab.path("new/certificate.html")).unwrap();
    assert!(
        certificate.contains("<td>2024-03-01</td>") || certificate.contains("2024-03-01"),
        "{certificate}"
    );
    assert!(certificate.contains("as left: after an adjustment"));
    let shown = lab.shown(&["--date", "2026-02-02"]);
    assert_eq!(shown["in_force"], 2, "the later measurement stays in force");
    let stated = lab.invented(
        4,
        1.0,
        "2026-02-03",
        &[
            "--adopt",
            "fit",
            "--replaces",
            &lab.certificate_of(3),
            "--because",
            "x",
            "--measured-on",
            "2024-03-02",
        ],
    );
    assert!(!stated.stderr.contains("taken from"), "{}", stated.stderr);
    // What is withdrawn or replaced is replaced by nothing.
    let again = |certificate: &str| {
        let name = lab.readings(&format!("again-{certificate}.csv"));
        let fixed =
            ["calibrate", BENCH, "--register", "pair.register", "--date", "2026-03-01", "--because", "y"];
        lab.refused(&[&fixed[..], &["--readings", &name, "--replaces", certificate]].concat())
    };
    assert!(again(&lab.certificate_of(1)).contains("replaced already, by that of entry 3"));
    lab.enter(&["--withdraw", "2", "--reason", "wrong probe", "--by", "A"]);
    assert!(again(&lab.certificate_of(2)).contains("is withdrawn, by entry 5"));
}

#[test]
fn events_and_checks_can_be_withdrawn_and_a_slip_of_the_year_undone() {
    let lab = Lab::new();
    lab.invented(1, 1.0, "2025-03-01", &["--adopt", "fit"]);
    lab.enter(&["--event", "rewound", "--by", "H", "--date", "2025-04-02"]);
    assert_eq!(lab.states(&[]), ["expired"]);
    lab.enter(&["--withdraw", "2", "--reason", "wrong register", "--by", "H", "--date", "2025-04-03"]);
    let shown = lab.shown(&[]);
    assert_eq!((&shown["in_force"], &shown["events"]), (&1.into(), &serde_json::json!([])));
    assert_eq!(shown["withdrawn_events"][0]["number"], 2);
    let page = lab.done(&["register", "pair.register"]).stdout;
    assert!(page.contains("a coil was rewound (H), withdrawn"), "{page}");
    lab.invented(2, 1.0, "2062-03-01", &["--adopt", "fit", "--later-than-today"]);
    lab.enter(&["--withdraw", "4", "--reason", "the year", "--by", "H", "--date", "2025-04-04"]);
    let shown = lab.shown(&[]);
    assert_eq!((&shown["on"], &shown["in_force"]), (&"2025-04-04".into(), &1.into()));
    assert!(
        lab.refused(&["register", "pair.register", "--withdraw", "5", "--reason", "x", "--by", "y"])
            .contains("no calibration, event or quick check")
    );
}

#[test]
fn a_check_is_entered_once_a_day_and_a_failed_one_is_told_to_every_user() {
    let lab = Lab::new();
    lab.invented(1, 1.0, "2025-03-01", &["--adopt", "fit"]);
    let low = r#"{"title": "low", "fields": [{"at": ["0 mm", "0 mm", "0 mm"], "current": "2 A",
        "value": "1.60 mT", "uncertainty": "0.002 mT"}]}"#;
    std::fs::write(lab.path("low.json"), low).unwrap();
    let check =
        ["check", BENCH, "--measured", "low.json", "--register", "pair.register", "--date", "2025-04-01"];
    let failed = lab.run(&check);
    assert_eq!(failed.status, Some(1), "{}", failed.stderr);
    assert!(failed.stdout.contains("entered as entry 2"), "{}", failed.stdout);
    assert!(
        lab.refused(&check)
            .contains("entry 2 of the register is the check of this file on 2025-04-01 already")
    );
    let shown = lab.shown(&[]);
    assert_eq!((&shown["failed_check"], &shown["checks"][0]["against"]), (&2.into(), &1.into()));
    assert!(number(&shown, "/checks/0/normalised_difference") < -1.0);
    assert!((number(&shown, "/checks/0/field_tesla_per_ampere") - 0.8e-3).abs() < 1e-12);
    let weigh = ["weigh", BENCH, "--runs", RUNS, "--register", "pair.register", "--date", "2025-04-02"];
    assert!(lab.done(&weigh).stderr.contains("failed the last quick check, entry 2"));
    let before = [&weigh[..7], &["2025-03-15"]].concat();
    assert!(!lab.done(&before).stderr.contains("quick check"));
}

/// A file with the field at the centre at 2 A, in mT.
fn field_at_two_amperes(lab: &Lab, name: &str, millitesla: f64) -> String {
    let field = serde_json::json!({ "title": name, "fields": [{ "at": ["0 mm", "0 mm", "0 mm"], "current": "2 A",
        "value": format!("{millitesla:.5} mT"), "uncertainty": "0.001 mT" }] });
    std::fs::write(lab.path(name), field.to_string()).unwrap();
    name.into()
}

#[test]
fn a_check_that_fails_the_spec_may_agree_with_the_line_in_force() {
    let lab = Lab::new();
    // The pair is 3 % weaker than its spec says, and its line knows it.
    lab.invented(1, 0.97, "2025-03-01", &["--adopt", "fit"]);
    let check = |name: &str, date: &str, more: &[&str]| {
        let fixed = ["check", BENCH, "--measured", name, "--register", "pair.register", "--date", date];
        lab.run(&[&fixed[..], more].concat())
    };
    let weigh = |date: &str| {
        let fixed = ["weigh", BENCH, "--runs", RUNS, "--register", "pair.register", "--date", date];
        lab.done(&fixed).stderr
    };
    let own = 2.0 * 0.97 * 0.8436;
    let failed = check(&field_at_two_amperes(&lab, "own.json", own), "2025-04-01", &[]);
    assert_eq!(failed.status, Some(1), "{}", failed.stderr);
    assert!(failed.stdout.contains("the field agrees with the line of entry 1, E_n = "), "{}", failed.stdout);
    let told = weigh("2025-04-02");
    assert!(told.contains("against its spec; its field agrees with the line in force, E_n = "), "{told}");
    assert!(!told.contains("may no longer hold"), "{told}");
    let shown = lab.shown(&[]);
    assert_eq!((&shown["failed_check"], &shown["check_off_line"]), (&2.into(), &Value::Null));
    assert!(number(&shown, "/failed_check_against_line/normalised_difference").abs() < 0.2);
    // U of the line is 2.3 % of the slope, that of the check 2.1 %: the ammeter has 0.8 % and 0.02 A in each.
    assert!((0.029..0.033).contains(&number(&shown, "/checks/0/unseen_change_fraction")), "{shown}");
    let page = lab.enter(&[]).stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(page.contains("failed against the SPEC on 2025-04-01 (entry 2), and its field agrees"), "{page}");
    // 2.5 per cent less hide in U of both, unless the check was made with the meters of the calibration.
    let less = field_at_two_amperes(&lab, "less.json", 0.975 * own);
    let alone = check(&less, "2025-05-01", &[]);
    assert!(alone.stdout.contains("the field agrees with the line of entry 1"), "{}", alone.stdout);
    let same = check(&less, "2025-05-02", &["--same-meters"]);
    assert!(same.stdout.contains("the field is OFF the line of entry 1, E_n = -"), "{}", same.stdout);
    assert!(same.stdout.contains("with the same meters (a change below 2."), "{}", same.stdout);
    assert!(same.stderr.contains("the field is off the line of entry 1"), "{}", same.stderr);
    assert!(weigh("2025-05-03").contains("the line of its last calibration may no longer hold"));
    let shown = lab.shown(&[]);
    assert_eq!(shown["check_off_line"], 4);
    assert!(number(&shown, "/checks/2/normalised_difference_same_meters") < -1.0);
    // With another meter in between nothing cancels, whatever the check says.
    lab.enter(&["--event", "meter", "--note", "ammeter 4", "--date", "2025-06-01"]);
    let renewed = check(&less, "2025-06-02", &["--same-meters"]);
    assert!(renewed.stdout.contains("the field agrees with the line of entry 1"), "{}", renewed.stdout);
    // A check without the field tells nothing of the line.
    let lab = Lab::new();
    lab.invented(1, 1.0, "2025-03-01", &["--adopt", "fit"]);
    let short =
        r#"{"title": "short", "resistance": {"value": "3 ohm", "uncertainty": "0.02 ohm", "at": "21 degC"}}"#;
    std::fs::write(lab.path("short.json"), short).unwrap();
    let fixed =
        ["check", BENCH, "--measured", "short.json", "--register", "pair.register", "--date", "2025-04-01"];
    assert_eq!(lab.run(&fixed).status, Some(1));
    let fixed = ["weigh", BENCH, "--runs", RUNS, "--register", "pair.register", "--date", "2025-04-02"];
    let told = lab.done(&fixed).stderr;
    assert!(told.contains("against its spec; no check since tells of the line in force"), "{told}");
}

#[test]
fn what_is_known_of_a_day_rests_on_nothing_later() {
    let lab = Lab::new();
    for (seed, (year, gain)) in
        [(2021, 1.0), (2022, 0.999), (2023, 1.004), (2024, 1.009)].into_iter().enumerate()
    {
        lab.invented(seed, gain, &format!("{year}-03-01"), &["--adopt", "fit"]);
    }
    lab.enter(&["--due-every", "6 months", "--by", "Head", "--date", "2024-03-02"]);
    // No rule held yet in 2023, and the drift of the last two is not known.
    let shown = lab.shown(&["--date", "2023-12-01"]);
    assert_eq!((&shown["in_force"], &shown["rule"]), (&3.into(), &Value::Null));
    assert_eq!(shown["series"][0]["numbers"], serde_json::json!([1, 2, 3]));
    let early = number(&lab.shown(&["--date", "2022-12-01"]), "/drift_per_year_fraction");
    let late = number(&lab.shown(&["--date", "2024-03-02"]), "/drift_per_year_fraction");
    assert!(early < 0.0 && late > 0.0, "{early} {late}");
    assert_eq!(lab.states(&["--date", "2024-12-01"])[3], "expired");
}

#[test]
fn the_clock_decides_no_line_and_b0_stays_where_it_was_found() {
    let lab = Lab::new();
    lab.invented(1, 1.0, "2025-03-01", &["--adopt", "fit"]);
    lab.invented(2, 1.0, "2099-12-15", &["--adopt", "fit", "--later-than-today"]);
    let weigh = ["weigh", BENCH, "--runs", RUNS, "--register", "pair.register"];
    assert!(lab.refused(&weigh).contains("entry 2 of the register is of 2099-12-15, still to come"));
    lab.done(&[&weigh[..], &["--date", "2025-03-02"]].concat());
    // The same pair, stated to stand elsewhere.
    let spec = |name: &str, place: &str| {
        let mut spec: Value = serde_json::from_str(&std::fs::read_to_string(BENCH).unwrap()).unwrap();
        spec["conditions"] = serde_json::json!({ "place": place });
        std::fs::write(lab.path(name), spec.to_string()).unwrap();
    };
    spec("cellar.json", "Cellar, Annex B");
    spec("room.json", "Room 2.14");
    std::fs::write(lab.path("one.csv"), invented_readings(5, 0.0, 1.0)).unwrap();
    let enter = [
        "calibrate",
        "cellar.json",
        "--readings",
        "one.csv",
        "--adopt",
        "fit",
        "--register",
        "place.register",
    ];
    lab.done(&[&enter[..], &["--date", "2025-03-01"]].concat());
    let at = |spec: &str| {
        lab.done(&["weigh", spec, "--runs", RUNS, "--register", "place.register", "--date", "2025-03-02"])
            .stderr
    };
    assert!(at("room.json").contains("belongs to another place or orientation than the spec states"));
    assert!(!at("cellar.json").contains("another place"));
}

#[test]
fn a_failed_check_stands_until_the_same_passes_and_none_is_held_against_a_line_that_did_not_hold() {
    let lab = Lab::new();
    lab.invented(1, 1.0, "2025-03-01", &["--adopt", "fit"]);
    let field = |mt: &str| {
        format!(
            r#"{{"title": "of {mt}", "field": {{"value": "{mt} mT", "uncertainty": "0.001 mT", "current": "2 A",
            "current_uncertainty": "0.5 mA"}}}}"#
        )
    };
    let resistance = r#"{"title": "warm", "resistance": {"value": "8.15 ohm", "uncertainty": "0.01 ohm"}}"#;
    let enter = |name: &str, text: &str, date: &str| {
        std::fs::write(lab.path(name), text).unwrap();
        let fixed = ["check", BENCH, "--measured", name, "--register", "pair.register", "--date", date];
        lab.run(&fixed).stdout
    };
    let warns = |date: &str| {
        let weigh = ["weigh", BENCH, "--runs", RUNS, "--register", "pair.register", "--date", date];
        lab.done(&weigh).stderr.contains("failed the last quick check, entry 2")
    };
    let check =
        ["check", BENCH, "--measured", "low.json", "--register", "pair.register", "--date", "2025-04-01"];
    std::fs::write(lab.path("low.json"), field("1.60")).unwrap();
    let told = lab.run(&check);
    assert!(told.stdout.contains("entered as entry 2"), "{}", told.stdout);
    assert!(told.stderr.contains("off the line of entry 1, which is in force: E_n = -"), "{}", told.stderr);
    assert!(warns("2025-04-02"));
    // A resistance, whatever comes out of it, tells nothing of the field.
    assert!(enter("warm.json", resistance, "2025-04-03").contains("entered as entry 3"));
    assert!(warns("2025-04-04"));
    assert!(enter("right.json", &field("1.686"), "2025-04-05").contains("entered as entry 4"));
    assert!(!warns("2025-04-06"));
    // What fails beside it stands until it passes itself, and each is settled by its own.
    let low = resistance.replace("8.15", "9.50");
    assert!(enter("high.json", &low, "2025-04-07").contains("entered as entry 5"));
    assert!(enter("field.json", &field("1.6855"), "2025-04-08").contains("entered as entry 6"));
    assert_eq!(lab.shown(&["--date", "2025-04-09"])["failed_check"], 5);
    assert!(enter("cold.json", &resistance.replace("8.15", "8.21"), "2025-04-10").contains("entry 7"));
    assert_eq!(lab.shown(&["--date", "2025-04-11"])["failed_check"], Value::Null);
    // After a repair no line holds that a check could be held against.
    lab.enter(&["--event", "repaired", "--date", "2025-05-01"]);
    assert!(enter("after.json", &field("1.687"), "2025-05-02").contains("entered as entry 9"));
    let checks = lab.shown(&["--date", "2025-06-01"])["checks"].clone();
    let after = checks.as_array().unwrap().last().unwrap().clone();
    assert_eq!((after.get("against"), after.get("normalised_difference")), (None, None));
}

#[test]
fn an_event_without_a_day_tells_nothing_of_days_before_it() {
    let lab = Lab::new();
    for (seed, year) in [2022, 2023, 2024].into_iter().enumerate() {
        lab.invented(seed, 1.0, &format!("{year}-03-01"), &["--adopt", "fit"]);
    }
    lab.enter(&["--event", "repaired"]);
    assert_eq!(lab.states(&["--date", "2022-06-01"]), ["in_force", "not_yet", "not_yet"]);
    assert_eq!(lab.states(&["--date", "2024-06-01"]), ["superseded", "superseded", "expired"]);
}

#[test]
fn a_slow_drift_that_the_line_hides_warns_whoever_uses_it_and_uses_up_what_is_allowed() {
    let lab = Lab::new();
    for year in 0..9 {
        let date = format!("{}-03-01", 2017 + year);
        adopt(&lab, "pair.register", &date, &yearly_readings(5, year, -1.3e-3), "combined");
    }
    let weigh = ["weigh", BENCH, "--runs", RUNS, "--register", "pair.register", "--date", "2025-03-02"];
    let warned = lab.done(&weigh).stderr;
    assert!(warned.contains("off that of entry 1") && warned.contains("rests on the geometry"), "{warned}");
    // More than the allowed 1 % has drifted before the last calibration, and its line does not hold it.
    lab.enter(&[
        "--due-every",
        "60 months",
        "--due-by-drift",
        "50 %",
        "--allowed-error",
        "1 %",
        "--date",
        "2025-03-02",
    ]);
    let shown = lab.shown(&["--date", "2025-03-02"]);
    assert_eq!(shown["in_force"], Value::Null, "{shown}");
    // The certificate of the next one and its handout say so, and it is told as it is entered.
    std::fs::write(lab.path("yearly.csv"), yearly_readings(5, 9, -1.3e-3)).unwrap();
    let next = [
        "calibrate",
        BENCH,
        "--readings",
        "yearly.csv",
        "--adopt",
        "combined",
        "--register",
        "pair.register",
    ];
    let told = lab.done(&[&next[..], &["--date", "2026-03-01", "--out", "next"]].concat()).stderr;
    assert!(told.contains("off that of entry 1"), "{told}");
    for page in ["certificate.html", "handout.html"] {
        let page = std::fs::read_to_string(lab.path("next").join(page)).unwrap();
        assert!(page.contains("Told by the register: the readings"), "{page}");
    }
    assert_eq!(shown["next_due"], serde_json::json!({"date": "2025-03-01", "by": "drift"}));
}

/// A spec of the example bench whose instruments these are.
fn with_instruments(lab: &Lab, name: &str, instruments: Value) {
    let mut spec: Value = serde_json::from_str(&std::fs::read_to_string(BENCH).unwrap()).unwrap();
    spec["instruments"] = instruments;
    std::fs::write(lab.path(name), spec.to_string()).unwrap();
}

#[test]
fn a_meter_calibrated_anew_is_told_and_another_one_opens_a_series() {
    let lab = Lab::new();
    let meter = |serial: &str, certificate: &str| serde_json::json!([{"name": "field meter", "serial": serial, "certificate": certificate}]);
    let specs = [
        ("one.json", meter("M 1", "C-1")),
        ("anew.json", meter("M 1", "C-2")),
        ("other.json", meter("M 9", "C-9")),
    ];
    for (name, instruments) in specs {
        with_instruments(&lab, name, instruments);
    }
    for (year, spec) in
        [(0, "one.json"), (1, "one.json"), (2, "anew.json"), (3, "other.json"), (4, "other.json")]
    {
        std::fs::write(lab.path("yearly.csv"), yearly_readings(7, year, 0.0)).unwrap();
        let date = format!("{}-03-01", 2020 + year);
        let fixed =
            ["calibrate", spec, "--readings", "yearly.csv", "--adopt", "fit", "--register", "pair.register"];
        lab.done(&[&fixed[..], &["--date", &date]].concat());
    }
    let shown = lab.shown(&[]);
    assert_eq!(shown["series"][0]["numbers"], serde_json::json!([1, 2, 3]));
    assert_eq!(shown["series"][1]["numbers"], serde_json::json!([4, 5]));
    assert_eq!(
        shown["series"][0]["renewed"],
        serde_json::json!([{"number": 3, "instruments": ["field meter"]}])
    );
    let told = lab.done(&["register", "pair.register"]).stdout;
    let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("before entry 3: field meter calibrated anew"), "{told}");
    assert!(told.contains("field meter M 1 replaced by field meter M 9"), "{told}");
    assert!(
        told.contains("E_n, unshared") && told.contains("calibrated anew between the two, count in full"),
        "{told}"
    );
    // The drift of the first three rests on the first two alone: the third may differ by the meter's gain. Of three values by
    // one meter it would be known to half as much, 0.06 % a year.
    let u = number(&shown, "/series/0/drift/standard_uncertainty_per_year_fraction");
    assert!(u > 1e-3, "{u}");
}

#[test]
fn a_damaged_register_another_pair_and_a_withdrawn_calibration_are_told_to_whoever_goes_on() {
    let lab = Lab::new();
    lab.invented(1, 1.0, "2024-03-01", &["--adopt", "fit"]);
    lab.invented(2, 1.0, "2025-03-01", &["--adopt", "fit"]);
    lab.enter(&["--withdraw", "2", "--reason", "wrong range", "--by", "A. Tech"]);
    let weigh = ["weigh", BENCH, "--runs", RUNS, "--register", "pair.register", "--date", "2025-04-01"];
    let warned = lab.done(&weigh).stderr;
    assert!(warned.contains("entry 2, later than entry 1 which is used, is withdrawn"), "{warned}");
    // The same pair with its coils moved together.
    let mut spec: Value = serde_json::from_str(&std::fs::read_to_string(BENCH).unwrap()).unwrap();
    spec["spacing"] = "150 mm".into();
    std::fs::write(lab.path("moved.json"), spec.to_string()).unwrap();
    for command in [&["sheet", "moved.json"][..], &["orbit", "moved.json", "--chart"]] {
        let warned =
            lab.done(&[command, &["--register", "pair.register", "--date", "2025-04-01"]].concat()).stderr;
        assert!(warned.contains("is not this pair's"), "{command:?}: {warned}");
    }
    let file = std::fs::read_to_string(lab.register()).unwrap();
    std::fs::write(lab.register(), file.replacen("wrong range", "wrong rangE", 1)).unwrap();
    let anyway = [&weigh[..], &["--even-if-not-in-force", "--json"]].concat();
    let used = lab.done(&anyway);
    assert!(used.stderr.contains("in spite of: the register is damaged at line 3"), "{}", used.stderr);
    assert!(used.stdout.contains("damaged at line 3"), "{}", used.stdout);
}

#[test]
fn readings_of_a_withdrawn_entry_keep_their_day_and_a_copy_of_old_values_is_told() {
    let lab = Lab::new();
    lab.calibrate("2025-03-01", &["--readings", READINGS]);
    lab.enter(&["--withdraw", "1", "--reason", "wrong spec", "--by", "A. Tech"]);
    let again =
        ["calibrate", BENCH, "--register", "pair.register", "--readings", READINGS, "--date", "2025-06-14"];
    let refused = lab.refused(&again);
    assert!(refused.contains("--measured-on 2025-03-01"), "{refused}");
    lab.done(&[&again[..], &["--measured-on", "2025-03-01"]].concat());
    let copy = lab.readings("copy.csv");
    let told = lab.calibrate("2026-03-01", &["--readings", &copy]).stderr;
    assert!(told.contains("the values of entry 3, of 2025-03-01, digit for digit"), "{told}");
}

#[test]
fn a_day_still_to_come_is_entered_on_purpose_only_and_shown_as_such() {
    let lab = Lab::new();
    lab.invented(1, 1.0, "2020-03-01", &["--adopt", "fit"]);
    let before = std::fs::read(lab.register()).unwrap();
    std::fs::write(lab.path("b.csv"), invented_readings(2, 0.0, 1.0)).unwrap();
    let calibrate =
        ["calibrate", BENCH, "--register", "pair.register", "--readings", "b.csv", "--adopt", "fit"];
    let calibrate = [&calibrate[..], &["--date", "2099-03-01"]].concat();
    let check =
        ["check", BENCH, "--measured", CHECKED, "--register", "pair.register", "--date", "2099-03-01"];
    let event = ["register", "pair.register", "--event", "moved", "--date", "2099-03-01"];
    for arguments in [&calibrate[..], &check, &event] {
        let told = lab.refused(arguments);
        assert!(
            told.contains("2099-03-01 is still to come") && told.contains("--later-than-today"),
            "{told}"
        );
        assert_eq!(std::fs::read(lab.register()).unwrap(), before);
    }
    lab.done(&[&calibrate[..], &["--later-than-today"]].concat());
    let shown = lab.refused(&["register", "pair.register"]);
    assert!(shown.contains("entry 2 of the register is of 2099-03-01, still to come"), "{shown}");
    assert_eq!(lab.states(&["--date", "2022-01-01"]), ["in_force", "not_yet"]);
    assert_eq!(lab.states(&["--date", "2099-03-01"]), ["superseded", "in_force"]);
    lab.done(&["register", "pair.register", "--date", "2022-01-01", "--out", "rr"]);
    let chart = std::fs::read_to_string(lab.path("rr/control-chart.svg")).unwrap();
    assert!(chart.contains("of a later day, not drawn: entry 2") && !chart.contains(">2100<"), "{chart}");
    assert!(!chart.contains("withdrawn or replaced"), "{chart}");
}

#[test]
fn a_day_is_told_by_what_was_known_on_it_and_a_withdrawn_line_is_used_on_no_day() {
    let lab = Lab::new();
    let fit = ["--adopt", "fit"];
    lab.invented(1, 1.0, "2024-03-01", &fit);
    lab.invented(2, 1.0, "2025-03-01", &fit);
    let field = field_at_two_amperes(&lab, "low.json", 1.60);
    let check = ["check", BENCH, "--measured", &field, "--register", "pair.register", "--date", "2025-04-01"];
    lab.run(&check);
    lab.enter(&["--event", "moved", "--date", "2025-05-01"]);
    lab.enter(&["--withdraw", "4", "--reason", "wrong pair", "--by", "H", "--date", "2025-06-01"]);
    lab.enter(&["--withdraw", "2", "--reason", "bent probe", "--by", "H", "--date", "2025-07-01"]);
    assert_eq!(lab.states(&["--date", "2025-06-30"]), ["superseded", "in_force"]);
    assert_eq!(lab.states(&[]), ["in_force", "withdrawn"]);
    let then = lab.shown(&["--date", "2025-05-15"]);
    assert_eq!(
        (&then["intercept_ended_by"], &then["entries"][1]["ended_later"]["entry"]),
        (&4.into(), &6.into())
    );
    assert_eq!(lab.shown(&["--date", "2025-06-02"])["intercept_ended_by"], Value::Null);
    // The check against the line that held, although that is withdrawn since.
    let checked = &lab.shown(&[])["checks"][0];
    assert_eq!(checked["against"], 2);
    assert!(number(checked, "/normalised_difference") < -1.0, "{checked}");
    // A line known to be wrong is not used for the days before its withdrawal.
    let weigh = ["weigh", BENCH, "--runs", RUNS, "--register", "pair.register", "--date", "2025-03-15"];
    let told = lab.done(&weigh).stderr;
    assert!(told.contains("entry 2, later than entry 1 which is used, is withdrawn"), "{told}");
    // A replaced certificate was in force until its successor's issue; whoever uses it is told.
    let again = [
        "--adopt",
        "fit",
        "--replaces",
        &lab.certificate_of(1),
        "--because",
        "a typing error",
        "--measured-on",
        "2024-03-01",
    ];
    lab.invented(1, 1.0, "2024-05-01", &again);
    assert_eq!(lab.states(&["--date", "2024-04-01"]), ["in_force", "not_yet", "not_yet"]);
    let weigh = ["weigh", BENCH, "--runs", RUNS, "--register", "pair.register", "--date", "2024-04-01"];
    assert!(
        lab.done(&weigh)
            .stderr
            .contains("the certificate of entry 1, which is used, is replaced by that of entry 7")
    );
    let page = lab.done(&["register", "pair.register", "--date", "2024-04-01"]).stdout;
    assert!(page.contains("issued") && page.contains("2024-03-01  2024-05-01"), "{page}");
}

#[test]
fn the_table_carries_a_dispute_and_only_measured_values_count() {
    let lab = Lab::new();
    let disputed = ["--adopt", "fit"];
    lab.invented(1, 1.05, "2024-03-01", &disputed);
    lab.done(&["register", "pair.register", "--out", "rr"]);
    let table = std::fs::read_to_string(lab.path("rr/register.csv")).unwrap();
    let lines: Vec<&str> = table.lines().filter(|line| !line.starts_with('#')).collect();
    assert!(lines[0].ends_with("in_dispute,replaced_by") && lines[1].ends_with("yes,"), "{table}");
    lab.enter(&["--due-every", "1 year", "--by", "H", "--date", "2024-03-02"]);
    lab.calibrate("2024-06-01", &[]);
    let page = || lab.done(&["register", "pair.register"]).stdout;
    assert!(page().contains("entries 1 to 3, 1 measured value"), "{}", page());
    assert_eq!(lab.shown(&[])["next_due"]["date"], "2025-03-01");
    lab.enter(&["--withdraw", "1", "--reason", "wrong probe", "--by", "H", "--date", "2024-06-02"]);
    assert_eq!(lab.shown(&[])["next_due"], Value::Null);
    assert!(page().contains("cannot be counted: no calibration with readings"), "{}", page());
}

/// The example bench with a place and an orientation.
fn standing(lab: &Lab, name: &str, place: &str, orientation: &str) {
    let mut spec: Value = serde_json::from_str(&std::fs::read_to_string(BENCH).unwrap()).unwrap();
    spec["conditions"] = serde_json::json!({ "place": place, "orientation": orientation });
    std::fs::write(lab.path(name), spec.to_string()).unwrap();
}

#[test]
fn places_that_do_not_agree_with_the_events_are_told() {
    let lab = Lab::new();
    standing(&lab, "12.json", "Room 12", "z axis to east");
    standing(&lab, "14.json", "Room 14", "z axis to north");
    let calibrate = |spec: &str, seed: usize, date: &str| {
        std::fs::write(lab.path("one.csv"), invented_readings(seed, 0.0, 1.0)).unwrap();
        let fixed =
            ["calibrate", spec, "--readings", "one.csv", "--adopt", "fit", "--register", "pair.register"];
        lab.done(&[&fixed[..], &["--date", date]].concat()).stderr
    };
    assert_eq!(calibrate("12.json", 1, "2024-03-01"), "");
    let told = calibrate("14.json", 2, "2025-03-01");
    assert!(told.contains("the place of entry 2 is \"Room 14\" and that of entry 1 \"Room 12\""), "{told}");
    assert!(told.contains("--event moved") && told.contains("--event turned"), "{told}");
    let kinds = || -> Vec<String> {
        let shown = lab.shown(&[]);
        let all = shown["place_contradictions"].as_array().cloned().unwrap_or_default();
        all.iter().map(|one| format!("{} {}", one["how"], one["what"]).replace('"', "")).collect()
    };
    assert_eq!(kinds(), ["without_event place", "without_event orientation"]);
    assert!(lab.done(&["register", "pair.register"]).stdout.contains("Place, orientation and instruments"));
    // A bench that is moved may be turned on the way; the next one is moved and its spec stays as it was.
    lab.enter(&["--event", "moved", "--note", "to room 14", "--date", "2024-06-01"]);
    assert_eq!(kinds(), [""; 0]);
    lab.enter(&["--event", "moved", "--note", "to room 16", "--date", "2025-06-01"]);
    let told = calibrate("14.json", 3, "2026-03-01");
    assert!(
        told.contains("the bench was moved (entry 4), and the place stated in entry 5 is \"Room 14\""),
        "{told}"
    );
    assert_eq!(kinds(), ["in_spite_of_event place"]);
    // The next one states the same and is told the same; one that states the new place only puts it right.
    let told = calibrate("14.json", 4, "2026-04-01");
    assert!(told.contains("the place stated in entry 6 is \"Room 14\" as before it"), "{told}");
    standing(&lab, "16.json", "Room 16", "z axis to north");
    let told = calibrate("16.json", 5, "2026-05-01");
    assert!(!told.contains("place"), "{told}");
    assert_eq!(kinds(), ["in_spite_of_event place"; 2]);
}

#[test]
fn instruments_that_stay_as_they_were_in_spite_of_another_meter_are_told() {
    let lab = Lab::new();
    let meter =
        |serial: &str| serde_json::json!([{ "name": "field meter with axial probe", "serial": serial }]);
    with_instruments(&lab, "old.json", meter("FM-221"));
    with_instruments(&lab, "new.json", meter("FM-230"));
    let calibrate = |spec: &str, seed: usize, date: &str| {
        std::fs::write(lab.path("one.csv"), invented_readings(seed, 0.0, 1.0)).unwrap();
        let fixed =
            ["calibrate", spec, "--readings", "one.csv", "--adopt", "fit", "--register", "pair.register"];
        lab.done(&[&fixed[..], &["--date", date, "--out", date]].concat()).stderr
    };
    assert_eq!(calibrate("old.json", 1, "2024-03-01"), "");
    lab.enter(&["--event", "meter", "--note", "field meter FM-230", "--date", "2024-06-01"]);
    let told = calibrate("old.json", 2, "2025-03-01");
    let doubt = "the instruments stated in entry 3 are \"field meter with axial probe FM-221\" as before it";
    assert!(told.contains(doubt) && told.contains("correct `instruments`"), "{told}");
    let certificate = std::fs::read_to_string(lab.path("2025-03-01/certificate.html")).unwrap();
    assert!(certificate.contains("instruments by the register"), "{certificate}");
    assert!(!calibrate("new.json", 3, "2026-03-01").contains("instruments stated"));
}

#[test]
fn a_rule_of_an_earlier_day_does_not_take_the_place_of_a_later_one() {
    let lab = Lab::new();
    lab.invented(1, 1.0, "2024-03-01", &["--adopt", "fit"]);
    lab.enter(&["--due-every", "1 year", "--date", "2024-03-02"]);
    let told = lab.enter(&["--due-every", "5 years", "--date", "2023-01-01"]).stderr;
    assert!(
        told.contains("the rule of entry 2 is of 2024-03-02, later than 2023-01-01: it stays in force"),
        "{told}"
    );
    assert_eq!(lab.shown(&["--date", "2024-06-01"])["next_due"]["date"], "2025-03-01");
    assert_eq!(lab.enter(&["--due-every", "2 years", "--date", "2024-06-02"]).stderr, "");
    assert_eq!(lab.shown(&["--date", "2024-06-03"])["next_due"]["date"], "2026-03-01");
}

#[test]
fn what_was_left_before_a_repair_is_the_result_before_it_and_every_event_is_named() {
    let lab = Lab::new();
    let fit = ["--adopt", "fit"];
    lab.invented(1, 1.0, "2024-03-01", &fit);
    lab.enter(&["--event", "adjusted", "--date", "2024-03-02"]);
    lab.invented(2, 1.0, "2024-03-03", &[&fit[..], &["--as-left"]].concat());
    lab.enter(&["--event", "repaired", "--note", "coil b", "--date", "2025-02-01"]);
    lab.enter(&["--event", "moved", "--note", "to room 3", "--date", "2025-02-10"]);
    lab.invented(3, 1.0, "2025-03-01", &[&fit[..], &["--out", "after"]].concat());
    let certificate = std::fs::read_to_string(lab.path("after/certificate.html")).unwrap();
    let wanted = format!("certificate {}, measured on 2024-03-03, as left", lab.certificate_of(3));
    assert!(certificate.contains("last result before") && certificate.contains(&wanted), "{certificate}");
    let shown = lab.shown(&[]);
    assert_eq!(shown["neighbours"][1]["events"], serde_json::json!([4, 5]));
    assert_eq!((&shown["neighbours"][1]["event"], &shown["series"][2]["opened_by"]), (&5.into(), &5.into()));
    let page = lab.done(&["register", "pair.register"]).stdout;
    let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(page.contains("begins because a coil was repaired; the bench was moved"), "{page}");
}

#[test]
fn a_reissue_says_what_changed_and_a_repair_is_one_event() {
    let lab = Lab::new();
    lab.invented(1, 1.0, "2024-03-01", &["--adopt", "fit"]);
    let certificate = |folder: &str| {
        let text = std::fs::read_to_string(lab.path(folder).join("certificate.html")).unwrap();
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    // The same readings and line: only what the reason says.
    let replaces = |entry: usize, seed: usize, factor: f64, date: &str, more: [&str; 3]| {
        let number = lab.certificate_of(entry);
        let why = ["--replaces", &number, "--because", "a slip", "--adopt"];
        lab.invented(seed, factor, date, &[&why[..], &more].concat());
    };
    replaces(1, 1, 1.0, "2024-03-05", ["fit", "--out", "same"]);
    assert!(!certificate("same").contains("changed results"));
    replaces(2, 2, 1.002, "2024-03-08", ["combined", "--out", "other"]);
    let told = certificate("other");
    assert!(told.contains("changed results"), "{told}");
    assert!(told.contains("other readings; a combined line in place of a fit one; k was ("), "{told}");
    // Repaired, then measured as left: one event, on page, certificate and chart.
    lab.enter(&["--event", "repaired", "--date", "2024-04-01"]);
    lab.invented(3, 1.0, "2024-04-02", &["--adopt", "fit", "--as-left", "--out", "left"]);
    let told = certificate("left");
    assert!(told.contains("as left after this: a coil was repaired (2024-04-01)"), "{told}");
    assert!(!told.contains("an adjustment") && !told.contains("last result as found"), "{told}");
    let chart = |folder: &str| {
        lab.done(&["register", "pair.register", "--out", folder]);
        std::fs::read_to_string(lab.path(folder).join("control-chart.svg")).unwrap()
    };
    let drawn = chart("one");
    assert!(drawn.contains("a coil was repaired") && !drawn.contains("measured as left"), "{drawn}");
    // Adjusted without an event: told on the page and drawn by the same words.
    lab.invented(4, 1.01, "2024-05-02", &["--adopt", "fit", "--as-left"]);
    assert!(chart("two").contains("measured as left"));
    let page = lab.done(&["register", "pair.register"]).stdout;
    assert!(page.contains("entry 6, 2024-05-02: measured as left, after an adjustment"), "{page}");
}

#[test]
fn a_repair_ends_the_older_table_and_its_effect_is_that_on_the_fitted_slope() {
    let lab = Lab::new();
    lab.invented(1, 1.0, "2025-03-01", &["--adopt", "fit", "--by", "A", "--out", "a"]);
    lab.enter(&["--event", "repaired", "--note", "coil b", "--date", "2025-03-02"]);
    let left = ["--combine", "--as-left", "--previous", "a/calibration.json", "--out", "b", "--json"];
    let run = lab.invented(2, 0.995, "2025-03-03", &left);
    let record: Value = serde_json::from_str(&run.stdout).unwrap();
    assert_eq!(record["drift"]["old_table_holds"], false);
    assert_eq!(record["drift"]["old_table_ended"]["why"], "pair_changed");
    assert_eq!(record["drift"]["old_table_ended"]["happened"][0]["what"], "a coil was repaired, coil b");
    let change = &record["issue"]["as_found"]["fitted_change"];
    assert!((number(change, "/relative_change") + 0.005).abs() < 1e-3, "{change}");
    assert!(number(change, "/normalised_difference_same_meters") < -1.0, "{change}");
    let found = number(change, "/found_tesla_per_ampere");
    let now = number(change, "/now_tesla_per_ampere");
    assert!((now / found - 1.0 - number(change, "/relative_change")).abs() < 1e-12);
    assert_eq!(now, number(&record, "/fitted_slope/slope_tesla_per_ampere"));
    let certificate = std::fs::read_to_string(lab.path("b/certificate.html")).unwrap();
    for told in [
        "<dt>change of the fitted slope</dt><dd>-0.",
        "no longer holds: since then a coil was repaired, coil b (2025-03-02)",
        "from a fit line to a combined one, which does not compare like with like",
        "<dt>entered by</dt><dd>not stated</dd>",
    ] {
        assert!(certificate.contains(told), "{told}: {certificate}");
    }
    assert!(!certificate.contains("still holds"), "{certificate}");
    // Without a register, a result as left is enough.
    let left = ["calibrate", BENCH, "--readings", "invented-1-1.csv", "--adopt", "fit", "--as-left"];
    let run = lab.done(&[&left[..], &["--previous", "a/calibration.json"]].concat());
    assert!(run.stdout.contains("no longer holds: the pair was adjusted since"), "{}", run.stdout);
    assert!(lab.run(&["register", "pair.register"]).stdout.contains("not stated"));
}

#[test]
fn a_line_that_ends_between_measurement_and_issue_says_so_and_has_no_due_date() {
    let lab = Lab::new();
    lab.invented(1, 1.0, "2024-03-01", &["--adopt", "fit"]);
    lab.enter(&["--due-every", "1 year", "--by", "H", "--date", "2024-03-02"]);
    lab.enter(&["--event", "moved", "--note", "Room 3", "--date", "2025-03-04"]);
    let late = |seed, more: &[&str]| {
        let fixed = ["--adopt", "fit", "--measured-on", "2025-03-01", "--json"];
        let run = lab.invented(seed, 1.0, "2025-03-10", &[&fixed[..], more].concat());
        serde_json::from_str::<Value>(&run.stdout).unwrap()
    };
    // A move ends B0 alone.
    let moved = late(2, &[]);
    assert_eq!(moved["issue"]["intercept_ended"]["entry"], 3);
    assert_eq!(moved["issue"]["ended"], Value::Null);
    assert_eq!(moved["issue"]["next_due"]["date"], "2026-03-01");
    lab.enter(&["--event", "rewound", "--date", "2025-03-05"]);
    let ended = late(3, &["--out", "b"]);
    assert_eq!(ended["issue"]["ended"]["entry"], 5);
    assert_eq!(ended["issue"]["next_due"], Value::Null);
    for file in ["certificate.html", "handout.html", "calibration.csv"] {
        let page = std::fs::read_to_string(lab.path(&format!("b/{file}"))).unwrap();
        assert!(page.contains("This line ended on 2025-03-05, after the measurement"), "{file}: {page}");
        assert!(page.contains("B0 ended on 2025-03-04, after the measurement"), "{file}: {page}");
        assert!(!page.contains("as agreed"), "{file}: {page}");
    }
    let certificate = std::fs::read_to_string(lab.path("b/certificate.html")).unwrap();
    assert!(certificate.contains("due now: the line ended before the issue"), "{certificate}");
    // With no line in force the next calibration is due at once.
    let shown = lab.shown(&[]);
    assert_eq!(shown["in_force"], Value::Null);
    assert_eq!(shown["next_due"], serde_json::json!({"date": "2025-03-10", "by": "no_line_in_force"}));
    let page = lab.done(&["register", "pair.register", "--out", "r"]).stdout;
    assert!(page.contains("now: no line is in force on 2025-03-10"), "{page}");
    let table = std::fs::read_to_string(lab.path("r/register.csv")).unwrap();
    assert!(table.contains("in force on 2025-03-10: none; next calibration due: now"), "{table}");
    // A line that has only passed its day is overdue since then.
    let page = lab.done(&["register", "pair.register", "--date", "2025-03-03"]).stdout;
    assert!(page.contains("overdue since 2025-03-01, by the fixed interval"), "{page}");
}

#[test]
fn who_uses_a_line_can_ask_for_a_digest_that_a_cut_off_register_lacks() {
    let lab = Lab::new();
    lab.invented(1, 1.0, "2025-03-01", &["--adopt", "fit"]);
    let whole = std::fs::read(lab.path("pair.register")).unwrap();
    lab.enter(&["--withdraw", "1", "--reason", "wrong probe", "--by", "A", "--date", "2025-03-02"]);
    let digest = lab.shown(&[])["last_digest"].as_str().unwrap().to_owned();
    std::fs::write(lab.path("pair.register"), whole).unwrap();
    let first = lab.shown(&[])["last_digest"].as_str().unwrap().to_owned();
    let register = ["--register", "pair.register", "--date", "2025-03-03", "--expect"];
    for call in [
        &["weigh", BENCH, "--runs", RUNS][..],
        &["orbit", BENCH, "--gun-voltage", "200 V", "--current", "2 A"],
        &["sheet", BENCH],
    ] {
        let refused = lab.refused(&[call, &register[..], &[digest.as_str()]].concat());
        assert!(refused.contains("no entry of the register has the digest"), "{call:?}: {refused}");
        lab.done(&[call, &register[..], &[first.as_str()]].concat());
    }
}

#[test]
fn eight_values_print_their_mean_moving_range() {
    let page = text(&["register", TEN_YEARS]);
    assert!(page.contains("mean moving range") && page.contains("largest that chance allows"), "{page}");
}
