//! The certificate that `calibrate --out` writes.

use crate::program::{json, run};
use serde_json::{Value, json as value};
use std::path::{Path, PathBuf};

const BENCH: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/coil-specs/window-bench.json");
const READINGS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/lab-files/readings.csv");
const TABLE: &str = include_str!("../../src/questions/calibrate/files/certificate/items.md");

/// A spec of the example bench with everything that a certificate can say.
fn full_spec(folder: &Path) -> PathBuf {
    let mut spec: Value = serde_json::from_str(&std::fs::read_to_string(BENCH).unwrap()).unwrap();
    spec["serial"] = value!("SC-07");
    spec["laboratory"] =
        value!({ "name": "Saltmarsh College, physics workshop", "address": "1 Quay Road, Saltmarsh" });
    spec["customer"] = value!({ "name": "Department of physics", "address": "physics@saltmarsh.example" });
    spec["conditions"] = value!({
        "place": "Room 2.14, by the north window", "orientation": "+z toward magnetic north",
        "iron_nearby": "radiator 1.3 m behind coil a", "winding_temperature": "23 degC", "coils": "cold"
    });
    spec["instruments"] = value!([
        { "name": "field meter with axial probe", "serial": "FM-221", "certificate": "K-2025-0318",
          "calibrated": "2025-11-20", "traceable_to": "national standard, through its maker" },
        { "name": "ammeter", "serial": "AM-4", "traceable_to": "national standard, through K-2025-0319" }
    ]);
    let path = folder.join("bench.json");
    std::fs::write(&path, serde_json::to_string_pretty(&spec).unwrap()).unwrap();
    path
}

/// The certificate's page after a run.
pub fn certificate(folder: &Path, arguments: &[&str]) -> String {
    let out = folder.join("out");
    let fixed = ["calibrate", "--out", out.to_str().unwrap(), "--force"];
    let done = run(&[&fixed[..], arguments].concat());
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    std::fs::read_to_string(out.join("certificate.html")).unwrap()
}

/// The text of one section, tags taken out.
pub fn section(page: &str, id: &str) -> String {
    let start = page.find(&format!("id=\"{id}\"")).unwrap_or_else(|| panic!("no section {id}"));
    let end = page[start..].find("</section>").or_else(|| page[start..].find("</div>"));
    let mut text = String::new();
    let mut inside = true;
    for letter in page[start..start + end.unwrap()].chars() {
        match letter {
            '<' => inside = true,
            '>' => {
                inside = false;
                text.push(' ');
            }
            letter if !inside => text.push(letter),
            _ => {}
        }
    }
    text.replace("&#38;", "&").split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Each item of the standard, the section it stands in, and words that must be there.
const ITEMS: &[(&str, &str, &[&str])] = &[
    ("7.8.2.1 b", "laboratory", &["Saltmarsh College, physics workshop", "1 Quay Road"]),
    ("7.8.2.1 c", "dates", &["place", "Room 2.14, by the north window"]),
    ("7.8.2.1 d", "authorised", &["End of certificate K-2026-1"]),
    ("7.8.2.1 e", "customer", &["Department of physics", "physics@saltmarsh.example"]),
    ("7.8.2.1 f", "method", &["generalised distance regression", "ISO/TS 28037:2010", "JCGM 100:2008"]),
    (
        "7.8.2.1 f",
        "method",
        &[
            "measurement the field at the centre by",
            "FM-221, along the axis, turned round between readings",
            "the current in both directions, read on",
            "the coils cold",
        ],
    ),
    ("7.8.2.1 g", "item", &["Saltmarsh College, window bench", "SC-07", "as found"]),
    ("7.8.2.1 h", "dates", &["date of receipt"]),
    ("7.8.2.1 i", "dates", &["date of measurement 2026-02-27"]),
    ("7.8.2.1 j", "dates", &["date of issue 2026-03-01"]),
    ("7.8.2.1 k", "dates", &["sampling none"]),
    ("7.8.2.1 l", "statements", &["relate only to the item calibrated"]),
    ("7.8.2.1 m", "result", &["mT/A"]),
    ("7.8.2.1 m", "tables", &["coil field k I in mT", "field with B0 in mT", "U in mT", "U in A"]),
    ("7.8.2.1 n", "method", &["deviations, additions, exclusions none"]),
    ("7.8.2.1 o", "authorised", &["Authorised by", "Calibrated by: A. Tech", "Date"]),
    ("7.8.2.1 p", "statements", &["external provider"]),
    ("7.8.2.2", "statements", &["as the spec states them"]),
    (
        "7.8.4.1 a",
        "result",
        &[
            "coverage factor 2",
            "coverage probability 95.5 %",
            "covariance of k and B0",
            "residual standard deviation",
        ],
    ),
    ("7.8.4.1 a", "budget", &["spacing", "probe gain", "ammeter gain", "fit", "temperature", "combined"]),
    (
        "7.8.4.1 b",
        "conditions",
        &["21.5 °C", "23.0 °C", "cold", "+z toward magnetic north", "radiator 1.3 m"],
    ),
    (
        "7.8.4.1 c",
        "instruments",
        &["FM-221", "K-2025-0318", "2025-11-20", "national standard, through its maker"],
    ),
    ("7.8.4.1 d", "adjustment", &["older slope"]),
    ("7.8.4.1 e", "conformity", &["PASS"]),
    ("7.8.4.1 f", "notes", &["competent person"]),
    ("7.8.4.2", "dates", &["sampling none"]),
    ("7.8.4.3", "validity", &["next calibration no date is stated, for none was agreed", "0 A to 2.80 A"]),
    ("7.8.6.1", "conformity", &["decision rule", "guard band", "2.3 %"]),
    ("7.8.6.2 a, b, c", "conformity", &["result it applies to", "specification", "within 5.00 %"]),
    ("7.8.8.1", "reissue", &["changed, and why", "serial of the probe corrected"]),
    ("7.8.8.2", "reissue", &["This is a new certificate"]),
    ("7.8.8.3", "reissue", &["replaces certificate K-2026-0"]),
];

#[test]
fn every_item_of_the_standard_stands_where_the_table_says() {
    let folder = tempfile::tempdir().unwrap();
    let spec = full_spec(folder.path());
    let spec = spec.to_str().unwrap();
    let older = folder.path().join("older");
    assert!(run(&["calibrate", spec, "--out", older.to_str().unwrap()]).status.success());
    let previous = older.join("calibration.json");
    let page = certificate(
        folder.path(),
        &[
            spec,
            "--readings",
            READINGS,
            "--date",
            "2026-03-01",
            "--measured-on",
            "2026-02-27",
            "--by",
            "A. Tech",
            "--certificate",
            "K-2026-1",
            "--replaces",
            "K-2026-0",
            "--because",
            "serial of the probe corrected",
            "--conformity",
            "5 %",
            "--previous",
            previous.to_str().unwrap(),
            "--monte-carlo",
            "2000",
        ],
    );
    assert!(page.contains("<h1>Calibration certificate</h1>"), "7.8.2.1 a");
    for part in ["Calibration certificate K-2026-1\";", "counter(page) \" of \" counter(pages)"] {
        assert!(page.contains(part), "7.8.2.1 d: {part}");
    }
    for (clause, id, words) in ITEMS {
        let text = section(&page, id);
        for wanted in *words {
            assert!(text.contains(wanted), "{clause}, {id}: {wanted}\n{text}");
        }
        // The table in the docs names the same place.
        let row = TABLE.lines().find(|line| line.starts_with(&format!("| {clause} |")));
        let row = row.unwrap_or_else(|| panic!("no row {clause} in the docs"));
        assert!(row.contains(&format!("`{id}`")), "{row}");
    }
    // Every row of the docs is tested.
    for row in TABLE.lines().filter_map(|line| line.strip_prefix("| 7.8.")) {
        let clause = format!("7.8.{}", row.split(" |").next().unwrap());
        assert!(
            clause == "7.8.2.1 a" || ITEMS.iter().any(|(tested, ..)| *tested == clause),
            "{clause} is not tested"
        );
    }
    assert!(!page.contains("accredited"));
}

#[test]
fn other_readings_have_another_digest_and_the_readings_stand_in_their_order() {
    let folder = tempfile::tempdir().unwrap();
    let text = std::fs::read_to_string(READINGS).unwrap();
    let other = folder.path().join("other.csv");
    std::fs::write(&other, text.replace("2.0280", "2.0281")).unwrap();
    let of = |readings: &str| certificate(folder.path(), &[BENCH, "--readings", readings]);
    let [one, two] = [READINGS, other.to_str().unwrap()].map(of);
    let digest = |page: &str| {
        let files = section(page, "files");
        files.split_whitespace().filter(|word| word.len() == 64).map(str::to_owned).collect::<Vec<_>>()
    };
    let [one_digests, two_digests] = [digest(&one), digest(&two)];
    assert_eq!((one_digests.len(), one_digests[0] == two_digests[0]), (2, true), "one spec");
    assert_ne!(one_digests[1], two_digests[1], "two files of readings");
    let readings = section(&one, "readings");
    assert!(readings.find("upright -2.4 A").unwrap() < readings.find("turned +2.4 A").unwrap());
    for part in ["residual in µT", "residual / u", "-2.0206 "] {
        assert!(readings.contains(part), "{part}: {readings}");
    }
}

#[test]
fn conformity_is_stated_only_when_asked_and_never_within_u_of_a_limit() {
    let folder = tempfile::tempdir().unwrap();
    let page =
        |more: &[&str]| certificate(folder.path(), &[&[BENCH, "--readings", READINGS][..], more].concat());
    assert!(!page(&[]).contains("id=\"conformity\""));
    // U of the fitted slope is 2.4 %, its difference from the computed one 0.08 %.
    for (limit, verdict) in [("5 %", "PASS"), ("1 %", "UNDECIDED")] {
        assert!(section(&page(&["--conformity", limit]), "conformity").contains(verdict), "{limit}");
    }
    let readings = folder.path().join("off.csv");
    let mut text = "current_A,field_mT,field_uncertainty_mT\n".to_owned();
    for current in [-2.4, -1.2, 1.2, 2.4] {
        text += &format!("{current},{:.4},0.0015\n", 0.9275 * current + 0.006);
    }
    std::fs::write(&readings, text).unwrap();
    let off = ["--readings", readings.to_str().unwrap(), "--adopt", "fit", "--conformity", "1 %"];
    let disputed = certificate(folder.path(), &[&[BENCH][..], &off].concat());
    let stated = section(&disputed, "conformity");
    assert!(stated.contains("FAIL") && stated.contains("that this FAIL is wrong is not known"), "{stated}");
    assert!(!stated.contains("2.3 %") && !stated.contains("coverage probability"), "{stated}");
    assert!(section(&disputed, "method").contains("in dispute"), "what was overruled is a deviation");
}

/// A spec with good meters, and readings of this slope in mT/A with the probe both ways round; `marked` rows get a `#`.
fn well_measured(folder: &Path, slope: f64, marked: &[usize]) -> [String; 2] {
    let mut spec: Value = serde_json::from_str(&std::fs::read_to_string(BENCH).unwrap()).unwrap();
    spec["ammeter"] = value!({ "resolution": "0.001 A", "accuracy_of_reading": "0.05 %", "accuracy_digits": 1,
                               "position": "after_reversal" });
    spec["field_meter"] = value!({ "accuracy_of_reading": "0.1 %", "zero": "4 uT" });
    spec["conditions"] = value!({ "coils": "cold", "winding_temperature": "22 degC" });
    let path = folder.join("well.json");
    std::fs::write(&path, spec.to_string()).unwrap();
    let heading = "current_A,field_mT,current_uncertainty_A,field_uncertainty_mT,probe_flipped".to_owned();
    let mut rows = vec![heading];
    for (side, flipped) in [(1.0, "no"), (-1.0, "yes")] {
        for (at, current) in [-2.4, -1.6, -0.8, 0.8, 1.6, 2.4].into_iter().enumerate() {
            let scatter = 0.001 * (1.7 * at as f64 + side).sin();
            let field = side * (slope * current + 0.0088) - 0.003 + scatter;
            rows.push(format!("{current:.3},{field:.4},0.0003,0.0010,{flipped}"));
        }
    }
    for at in marked {
        rows[*at] = format!("#{}", rows[*at]);
    }
    let readings = folder.join("well.csv");
    std::fs::write(&readings, rows.join("\n")).unwrap();
    [path, readings].map(|path| path.to_str().unwrap().to_owned())
}

#[test]
fn a_reading_behind_a_mark_is_named_as_an_exclusion() {
    let folder = tempfile::tempdir().unwrap();
    let [spec, readings] = well_measured(folder.path(), 0.8434, &[2, 7]);
    let page = certificate(folder.path(), &[&spec, "--readings", &readings, "--adopt", "fit"]);
    let told = "2 readings of the file are left out by a # before the row (line 3: no reason stated; line 8: no reason stated)";
    for id in ["method", "notes"] {
        assert!(section(&page, id).contains(told), "{}", section(&page, id));
    }
    let record = std::fs::read_to_string(folder.path().join("out/calibration.json")).unwrap();
    let record: Value = serde_json::from_str(&record).unwrap();
    assert_eq!(
        record["readings_left_out"],
        value!([{ "line": 3, "reason": null }, { "line": 8, "reason": null }])
    );
    let text = std::fs::read_to_string(&readings).unwrap();
    std::fs::write(&readings, text.replacen(",no\n", ",no,cable touched\n", 1)).unwrap();
    let done = run(&["calibrate", &spec, "--readings", &readings]);
    assert!(!done.status.success(), "a reading that counts has no remark");
    std::fs::write(
        &readings,
        text.replace("#-1.600", "# -1.600").replacen("0.0010,no\n-0.8", "0.0010,no,cable touched\n-0.8", 1),
    )
    .unwrap();
    let page = certificate(folder.path(), &[&spec, "--readings", &readings, "--adopt", "fit"]);
    assert!(section(&page, "method").contains("(line 3: cable touched; line 8: no reason stated)"));
    // The same rows in a sheet, where a row behind a mark starts with text.
    let mut workbook = rust_xlsxwriter::Workbook::new();
    let sheet = workbook.add_worksheet();
    for (row, line) in std::fs::read_to_string(&readings).unwrap().lines().enumerate() {
        for (column, cell) in line.split(',').enumerate() {
            let (row, column) = (row as u32, column as u16);
            match cell.parse::<f64>() {
                Ok(number) => sheet.write(row, column, number).unwrap(),
                Err(_) => sheet.write(row, column, cell).unwrap(),
            };
        }
    }
    let book = folder.path().join("well.xlsx");
    workbook.save(&book).unwrap();
    let page = certificate(folder.path(), &[&spec, "--readings", book.to_str().unwrap(), "--adopt", "fit"]);
    assert!(section(&page, "method").contains("(line 3: cable touched; line 8: no reason stated)"));
}

#[test]
fn a_line_in_dispute_claims_no_probability_and_no_conformity_and_says_so_in_every_file() {
    let folder = tempfile::tempdir().unwrap();
    let [spec, readings] = well_measured(folder.path(), 0.86, &[]);
    let read = |name: &str| std::fs::read_to_string(folder.path().join("out").join(name)).unwrap();
    for (line, name) in [("fit", "fitted"), ("combined", "combined"), ("computed", "computed")] {
        // Two percent off: outside what both uncertainties explain, inside what is allowed.
        let asked = [&spec, "--readings", &readings, "--adopt", line, "--conformity", "5 %"];
        let page = certificate(folder.path(), &asked);
        for text in [&page, &read("handout.html")] {
            assert!(!text.contains("95.5 %") && !text.contains("Most likely"), "{line}");
            assert!(text.contains(&format!("The {name} line is used all the same")), "{line}");
            assert!(text.contains("<p class=\"slope\">B = k I"), "{line}");
        }
        assert!(section(&page, "conformity").contains("None is made: the line is in dispute"), "{line}");
        let opinion = section(&page, "opinion");
        assert!(opinion.contains("no result of the measurement (ISO/IEC 17025:2017, 7.8.7)"), "{opinion}");
        let cause = opinion.split("most probable first ").nth(1).unwrap().split(':').next().unwrap();
        assert_eq!(page.matches(cause).count(), 1, "{line}: {cause}");
        for file in ["calibration.csv", "current.csv", "residuals.csv"] {
            assert!(read(file).contains("In dispute: "), "{line}, {file}");
        }
        for file in ["calibration.svg", "calibration-budget.svg", "residuals.svg", "residuals-order.svg"] {
            assert!(read(file).contains(", in dispute"), "{line}, {file}");
        }
        let record: Value = serde_json::from_str(&read("calibration.json")).unwrap();
        assert_eq!(record["conformity"]["undecided"], "in_dispute", "{line}");
        if line == "combined" {
            assert!(section(&page, "budget").contains("contradiction normal"));
            let number = |key: &str| record[key].as_f64().unwrap();
            let slope = |part: &str| record[part]["slope_tesla_per_ampere"].as_f64().unwrap();
            let [fitted, computed] = ["fitted_slope", "computed"].map(slope);
            let apart = (fitted - computed).abs();
            // Of two equal uncertainties Birge gives U = |difference|; the better known one counts more here.
            assert!(number("slope_expanded_uncertainty_tesla_per_ampere") > 0.2 * apart);
        }
    }
}

#[test]
fn a_computed_line_has_no_b0_and_no_conditions_of_readings_that_were_not_taken() {
    let folder = tempfile::tempdir().unwrap();
    let [spec, readings] = well_measured(folder.path(), 0.8434, &[]);
    let with_readings: &[&str] = &[&spec, "--readings", &readings, "--adopt", "computed"];
    for arguments in [with_readings, &[&spec]] {
        let page = certificate(folder.path(), arguments);
        let csv = std::fs::read_to_string(folder.path().join("out/calibration.csv")).unwrap();
        let head: String = csv.lines().filter(|line| line.contains('#')).collect();
        for text in [section(&page, "result"), head] {
            assert!(text.contains("B = k I, k = ") && !text.contains("B0"), "{text}");
            assert_eq!(
                text.contains("found by the readings, no part of this line"),
                arguments.len() > 1,
                "{text}"
            );
        }
        let conditions = section(&page, "conditions");
        let open = "winding temperature not applicable: no readings were taken coils not applicable";
        assert_eq!(conditions.contains(open), arguments.len() == 1, "{conditions}");
        assert_eq!(conditions.contains("cold"), arguments.len() > 1, "{conditions}");
    }
}

#[test]
fn one_u_stands_for_the_fitted_slope_and_every_other_line_has_another_number() {
    let folder = tempfile::tempdir().unwrap();
    let [spec, readings] = well_measured(folder.path(), 0.8434, &[]);
    let mut numbers = Vec::new();
    for line in ["fit", "combined", "computed"] {
        for more in [&[][..], &["--conformity", "1 %"]] {
            let asked =
                [&[&spec, "--readings", &readings, "--adopt", line, "--date", "2026-01-01"][..], more]
                    .concat();
            let page = certificate(folder.path(), &asked);
            let number = page.split("Number <strong>").nth(1).unwrap().split('<').next().unwrap().to_owned();
            assert!(!numbers.contains(&number), "{number} in {numbers:?}");
            numbers.push(number);
            if line == "fit" && !more.is_empty() {
                let k = page.split("k = ").nth(1).unwrap().split(" mT/A").next().unwrap();
                assert!(section(&page, "conformity").contains(&format!("fitted slope {k}")), "{k}");
                assert!(
                    section(&page, "budget").contains("ammeter digits rectangular 5.8e-4 A 0 0 0 % infinite")
                );
            }
        }
    }
    let named = certificate(folder.path(), &[&spec, "--certificate", "A & B-7"]);
    assert!(named.contains("Statement of a computed line A \\000026  B-7\";"));
}

/// The certificate of the example's readings, entered in a register on a day.
fn entered_on(folder: &Path, spec: &Path, register: &str, date: &str) -> String {
    // A comment makes other readings of them.
    let readings = folder.join(format!("{date}.csv"));
    let text = std::fs::read_to_string(READINGS).unwrap();
    std::fs::write(&readings, format!("# {date}\n{text}")).unwrap();
    let readings = readings.to_str().unwrap();
    certificate(
        folder,
        &[spec.to_str().unwrap(), "--readings", readings, "--register", register, "--date", date],
    )
}

#[test]
fn the_register_gives_number_entry_digest_and_the_agreed_date() {
    let folder = tempfile::tempdir().unwrap();
    let register = folder.path().join("SC-07.register");
    let register = register.to_str().unwrap();
    let spec = full_spec(folder.path());
    let call = |date: &str| entered_on(folder.path(), &spec, register, date);
    let first = call("2025-03-01");
    assert!(section(&first, "validity").contains("no date is stated, for none was agreed"));
    assert!(run(&["register", register, "--due-every", "12 months", "--by", "Owner"]).status.success());
    let second = call("2026-03-01");
    assert!(section(&second, "validity").contains("2027-03-01, as agreed: every 1 year at the latest"));
    let shown = json(&["register", register, "--json"]);
    let digest = shown["entries"][1]["digest"].as_str().unwrap();
    let files = section(&second, "files");
    assert!(files.contains(digest) && files.contains("SC-07.register, entry 3"), "{files}");
    let number = shown["entries"][1]["certificate"].as_str().unwrap();
    assert!(number.starts_with("SC-07-3-"), "{number}");
    assert!(second.contains(&format!("Number <strong>{number}</strong>")));
    assert!(run(&["register", register, "--expect", digest]).status.success());
}

#[test]
fn a_place_that_an_event_contradicts_and_an_old_instrument_are_remarked_on() {
    let folder = tempfile::tempdir().unwrap();
    let register = folder.path().join("SC-07.register");
    let register = register.to_str().unwrap();
    let spec = full_spec(folder.path());
    let call = |date: &str| entered_on(folder.path(), &spec, register, date);
    let first = call("2025-12-01");
    assert!(!section(&first, "dates").contains("in doubt"));
    assert!(!section(&first, "instruments").contains("Calibrated more than"));
    let moved = ["register", register, "--event", "moved", "--note", "Room 3", "--date", "2026-01-02"];
    assert!(run(&moved).status.success());
    let second = call("2026-03-01");
    let dates = section(&second, "dates");
    assert!(
        dates.contains("in doubt: the bench was moved (entry 2), and the place stated in entry 3"),
        "{dates}"
    );
    // The field meter was calibrated on 2025-11-20.
    let late =
        certificate(folder.path(), &[spec.to_str().unwrap(), "--readings", READINGS, "--date", "2031-03-01"]);
    let instruments = section(&late, "instruments");
    let told = "Calibrated more than 5 years before these readings were taken: field meter with axial probe.";
    assert!(instruments.contains(told), "{instruments}");
}

#[test]
fn both_budgets_stand_on_the_certificate_with_what_they_take_for_independent() {
    let folder = tempfile::tempdir().unwrap();
    let page = certificate(folder.path(), &[BENCH, "--readings", READINGS, "--adopt", "fit"]);
    let budget = section(&page, "budget");
    for told in ["Of k.", "Of B0.", "two independent errors", "ammeter digits", "combined"] {
        assert!(budget.contains(told), "{told}: {budget}");
    }
    let computed = certificate(folder.path(), &[BENCH]);
    assert!(!section(&computed, "budget").contains("Of B0."));
}
