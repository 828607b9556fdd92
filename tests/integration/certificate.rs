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
    let failed = certificate(folder.path(), &[&[BENCH][..], &off].concat());
    assert!(section(&failed, "conformity").contains("FAIL"));
    assert!(section(&failed, "method").contains("in dispute"), "what was overruled is a deviation");
}

#[test]
fn the_register_gives_number_entry_digest_and_the_agreed_date() {
    let folder = tempfile::tempdir().unwrap();
    let register = folder.path().join("SC-07.register");
    let register = register.to_str().unwrap();
    let spec = full_spec(folder.path());
    let call = |date: &str| {
        // A comment makes other readings of them.
        let readings = folder.path().join(format!("{date}.csv"));
        let text = std::fs::read_to_string(READINGS).unwrap();
        std::fs::write(&readings, format!("# {date}\n{text}")).unwrap();
        let readings = readings.to_str().unwrap();
        certificate(
            folder.path(),
            &[spec.to_str().unwrap(), "--readings", readings, "--register", register, "--date", date],
        )
    };
    let first = call("2025-03-01");
    assert!(section(&first, "validity").contains("no date is stated, for none was agreed"));
    assert!(run(&["register", register, "--due-every", "12 months", "--by", "Owner"]).status.success());
    let second = call("2026-03-01");
    assert!(section(&second, "validity").contains("2027-03-01, as agreed: every 1 year at the latest"));
    let shown = json(&["register", register, "--json"]);
    let digest = shown["entries"][1]["digest"].as_str().unwrap();
    let files = section(&second, "files");
    assert!(files.contains(digest) && files.contains("SC-07.register, entry 3"), "{files}");
    assert!(second.contains("Number <strong>SC-07-3</strong>"));
    assert!(run(&["register", register, "--expect", digest]).status.success());
}
