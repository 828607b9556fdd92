//! `lesson` as a teacher's technician types it.

use crate::program::{example, failure, json, number, run, text};
use crate::spreadsheet::{Cell, Sheets};
use serde_json::Value;
use std::collections::BTreeMap;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

fn bench() -> String {
    example("window-bench.json")
}

/// Writes the files of a lesson on the window bench.
fn made(more: &[&str]) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("lesson");
    let bench = bench();
    let arguments = [&["lesson", &bench, "--out", out.to_str().unwrap()][..], more].concat();
    let printed = text(&arguments);
    assert!(printed.contains("competent person") && printed.contains("lesson.html"), "{printed}");
    (folder, out)
}

fn read(folder: &Path, name: &str) -> String {
    std::fs::read_to_string(folder.join(name)).unwrap()
}

/// What the page's script reads.
fn carried(page: &str) -> Value {
    let start = page.find("id=\"lesson-data\">").unwrap() + "id=\"lesson-data\">".len();
    let length = page[start..].find("</script>").unwrap();
    serde_json::from_str(&page[start..start + length]).unwrap()
}

#[test]
fn the_page_is_one_small_file_that_loads_nothing_and_carries_the_record() {
    let (_folder, out) = made(&["--date", "2026-03-01"]);
    let page = read(&out, "lesson.html");
    assert!(page.len() <= 500_000, "{} bytes", page.len());
    assert!(page.contains("Content-Security-Policy\" content=\"default-src 'none'; script-src 'sha256-"));
    // The name of SVG's own namespace is no request.
    let elsewhere = page.replace("http://www.w3.org/2000/svg", "");
    for reference in ["http://", "https://", " src=", "url(", "@import", "fetch(", "XMLHttpRequest", "<link"]
    {
        assert!(!elsewhere.contains(reference), "{reference}");
    }
    let carried = carried(&page);
    let record = json(&["lesson", &bench(), "--date", "2026-03-01", "--json"]);
    assert_eq!(carried["lesson"], record);
    assert_eq!(record["provenance"]["date"], "2026-03-01");
    assert_eq!(record["provenance"]["spec_digest"], "3d0dcac499f7");
    assert!(page.contains("3d0dcac499f7; 2026-03-01"));
    assert!(number(&record, "/field/largest_difference_fraction") < 1e-9);
    assert_eq!(record["settings"].as_array().unwrap().len(), 18);
}

#[test]
fn expected_radii_are_those_of_orbit_and_every_current_keeps_to_the_continuous_one() {
    let record = json(&["lesson", &bench(), "--json"]);
    let continuous = number(&record, "/safety/reliable_continuous_current_ampere");
    for setting in record["settings"].as_array().unwrap() {
        let ampere = number(setting, "/current_ampere");
        assert!(ampere.abs() <= continuous + 1e-9, "{ampere} A");
        if setting["tube_turned"] == Value::Bool(true) {
            continue;
        }
        let volt = format!("{} V", number(setting, "/gun_voltage_volt"));
        let orbit =
            json(&["orbit", &bench(), "--gun-voltage", &volt, "--current", &format!("{ampere} A"), "--json"]);
        for name in ["read_radius_m", "scale_diameter_m"] {
            let (got, wanted) =
                (number(setting, &format!("/expected/{name}")), number(&orbit, &format!("/{name}")));
            assert!((got / wanted - 1.0).abs() < 1e-12, "{name}: {got} {wanted}");
        }
    }
}

#[test]
fn settings_are_taken_as_typed_and_what_does_not_come_round_is_refused() {
    let settings = "200 V 1.4 A, 200 V -1.4 A,240V 1600mA";
    let record = json(&["lesson", &bench(), "--settings", settings, "--json"]);
    let taken: Vec<[f64; 2]> = record["settings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| [number(one, "/gun_voltage_volt"), number(one, "/current_ampere")])
        .collect();
    assert_eq!(taken, [[200.0, 1.4], [200.0, -1.4], [240.0, 1.6]]);
    for (settings, status, complaint) in [
        ("200 V 0.3 A", 1, "at 200 V and 0.30 A the beam does not come round inside the bulb"),
        ("200 V", 2, "`200 V` is no setting"),
        ("200 V 1,4 A", 2, "is no setting"),
    ] {
        let (found, said) = failure(&["lesson", &bench(), "--settings", settings, "--json"]);
        assert!(found == status && said.contains(complaint) && said.contains("hint: "), "{found}: {said}");
    }
    let (status, said) = failure(&["lesson", &bench()]);
    assert!(status == 2 && said.contains("no folder is named"), "{said}");
}

#[test]
fn settings_that_supply_or_tube_are_not_made_for_are_refused_and_a_limited_time_is_told() {
    // The window bench's supply gives 2.8 A, its tube takes 120 V to 280 V.
    let many = vec!["200 V 1.4 A"; 61].join(", ");
    for (settings, complaint, hint) in [
        (
            "200 V 1.4 A, 250 V -2.9 A",
            "--settings: 2.9 A is above the supply's limit of 2.8 A",
            "choose 2.8 A or less",
        ),
        (
            "1000 V 2.5 A",
            "--settings: 1000 V is outside the tube's range of gun voltage, 120 V to 280 V",
            "from 120 V to 280 V",
        ),
        ("20 V 1 A", "--settings: 20 V is outside the tube's range", "from 120 V"),
        (&many, "61 settings are asked for, and a lesson takes 60 at most", "eighteen"),
    ] {
        let (found, said) = failure(&["lesson", &bench(), "--settings", settings, "--json"]);
        assert!(found == 1 && said.contains(complaint) && said.contains(hint), "{found}: {said}");
    }
    let record = json(&["lesson", &bench(), "--settings", "280 V 2.6 A, 280 V -2.6 A", "--json"]);
    let continuous = number(&record, "/safety/reliable_continuous_current_ampere");
    let allowed_s = number(&record, "/largest_setting_time/time_s");
    assert!(continuous < 2.6 && allowed_s > 60.0);
    // `heat` gives the same time for that current.
    let heat = json(&["heat", &bench(), "--current", "2.6 A", "--json"]);
    assert!((number(&heat, "/time_to_limit_s") / allowed_s - 1.0).abs() < 1e-9, "{allowed_s}");
    let (_folder, out) = made(&["--settings", "280 V 2.6 A, 280 V -2.6 A"]);
    assert!(
        read(&out, "worksheet.html").contains("The largest current of these settings, 2.60 A, may flow for ")
    );
    let printed =
        text(&["lesson", &bench(), "--settings", "280 V 2.6 A", "--out", out.to_str().unwrap(), "--force"]);
    assert!(printed.contains("2.6 A, is above what the coils carry"), "{printed}");
    let usual = json(&["lesson", &bench(), "--json"]);
    assert_eq!((&usual["largest_setting_time"], &usual["notes"]), (&Value::Null, &serde_json::json!([])));
}

#[test]
fn a_calibration_of_another_pair_is_refused_and_used_only_if_told_so() {
    let folder = tempfile::tempdir().unwrap();
    let calibration = folder.path().join("calibration.json");
    let other = json(&["calibrate", &example("quote-used.json"), "--json"]);
    std::fs::write(&calibration, other.to_string()).unwrap();
    let calibration = calibration.to_str().unwrap();
    let (status, refused) = failure(&["lesson", &bench(), "--calibration", calibration, "--json"]);
    assert_eq!(status, 1);
    assert!(
        refused.contains("is not this pair's") && refused.contains("--even-if-another-pair"),
        "{refused}"
    );
    let anyway = "--even-if-another-pair";
    assert_eq!(run(&["lesson", &bench(), anyway, "--json"]).status.code(), Some(2));
    let record = json(&["lesson", &bench(), "--calibration", calibration, anyway, "--json"]);
    let note = record["notes"][0].as_str().unwrap();
    assert!(note.contains("is that of another spec"), "{note}");
    let (_folder, out) = made(&["--calibration", calibration, anyway]);
    assert!(read(&out, "answers.html").contains("make sure that both are the same pair"));
}

#[test]
fn sheets_and_scale_give_the_slope_of_the_calibration_with_its_uncertainty() {
    let folder = tempfile::tempdir().unwrap();
    let calibration = folder.path().join("calibration.json");
    let own = json(&[
        "calibrate",
        &bench(),
        "--readings",
        concat!(env!("CARGO_MANIFEST_DIR"), "/lab-files/readings.csv"),
        "--json",
    ]);
    std::fs::write(&calibration, own.to_string()).unwrap();
    let (_folder, out) = made(&["--calibration", calibration.to_str().unwrap()]);
    let milli = |key: &str| 1e3 * number(&own, key);
    let (k, u) = coilwright::units::rounded(
        milli("/slope_tesla_per_ampere"),
        milli("/slope_expanded_uncertainty_tesla_per_ampere"),
    );
    for sheet in ["worksheet.html", "answers.html", "scale.html"] {
        assert!(read(&out, sheet).contains(&format!("k = ({k} ± {u}) mT/A")), "{sheet}");
    }
    // The spec's own line stands alone: its sheets are as they were.
    let (_folder, out) = made(&[]);
    assert!(!read(&out, "worksheet.html").contains("expanded uncertainty"));
}

#[test]
fn the_sheets_hold_what_a_class_and_its_teacher_need() {
    let (_folder, out) = made(&[]);
    let worksheet = read(&out, "worksheet.html");
    for part in [
        "Aim",
        "The wiring",
        "reversing switch",
        "Turn the coil current down to nought first",
        "1.73 A",
        "0.3 m",
    ] {
        assert!(worksheet.contains(part), "{part}");
    }
    // Eighteen rows, two sketches and the axes.
    assert_eq!((worksheet.matches("<tr").count(), worksheet.matches("<svg").count()), (19, 3));
    let answers = read(&out, "answers.html");
    for part in ["What mistakes look like", "Time plan", "99.9", "competent person"] {
        assert!(answers.contains(part), "{part}");
    }
    for page in [&worksheet, &answers, &read(&out, "scale.html")] {
        assert!(!page.contains("<script") && !page.contains(" src="));
    }
    // One scale for each direction, each number of a circle with a rim of its own.
    let scale = read(&out, "scale.html");
    assert_eq!((scale.matches("<svg").count(), scale.matches("<circle").count()), (2, 18));
    assert!(scale.matches("paint-order=\"stroke\"").count() >= 18);
}

#[test]
fn the_worked_example_follows_from_its_own_rounded_figures() {
    let (_folder, out) = made(&[]);
    let worksheet = read(&out, "worksheet.html");
    let start = worksheet.find("<p>V = ").unwrap() + 3;
    let example = &worksheet[start..start + worksheet[start..].find("</p>").unwrap()];
    let after = |mark: &str| -> f64 {
        let rest = &example[example.find(mark).unwrap() + mark.len()..];
        let end = rest.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap();
        rest[..end].parse().unwrap()
    };
    let (volt, ampere, diameter) = (after("V = "), after("I = "), after("diameter "));
    let radius = diameter / 2.0 / (1.0 + 15.0 / 900.0);
    assert!((after("r = ") - radius).abs() < 0.006, "{example}");
    let square = (0.842_923 * ampere * radius * 1e-6).powi(2);
    assert!((after("(B r)² = ") - square * 1e9).abs() < 0.002, "{example}");
    let result = 2.0 * volt / square / 1e11;
    let last: f64 = example.rsplit(" = ").next().unwrap().split(' ').next().unwrap().parse().unwrap();
    assert!((last - result).abs() < 0.002, "{example}");
}

/// The class sheet with every diameter as the record expects it, rounded to a tenth of a millimetre.
fn diameters(record: &Value) -> Vec<f64> {
    let rounded = |one: &Value| (number(one, "/expected/scale_diameter_m") * 1e4).round() / 10.0;
    record["settings"].as_array().unwrap().iter().map(rounded).collect()
}

#[test]
fn weigh_reads_the_class_sheet_as_it_stands_once_it_is_filled_in() {
    let record = json(&["lesson", &bench(), "--json"]);
    let diameters = diameters(&record);
    let mut weighed = Vec::new();
    for format in ["point", "comma"] {
        let (folder, out) = made(&["--number-format", format]);
        let (separator, mark) = if format == "comma" { (";", ",") } else { (",", ".") };
        let mut filled = String::new();
        let mut rows = 0;
        for line in read(&out, "runs.csv").lines() {
            let cells: Vec<&str> = line.split(separator).collect();
            if line.starts_with('#') || line.starts_with("gun_voltage") {
                filled += line;
            } else {
                let diameter = diameters[rows].to_string().replace('.', mark);
                filled += &[cells[0], cells[1], &diameter, cells[3]].join(separator);
                rows += 1;
            }
            filled.push('\n');
        }
        assert_eq!(rows, 18);
        let runs = folder.path().join("filled.csv");
        std::fs::write(&runs, filled).unwrap();
        weighed.push(json(&["weigh", &bench(), "--runs", runs.to_str().unwrap(), "--json"]));
        let workbook = folder.path().join("filled.xlsx");
        fill(&out.join("runs.xlsx"), &workbook, &diameters);
        weighed.push(json(&["weigh", &bench(), "--runs", workbook.to_str().unwrap(), "--json"]));
    }
    for weighing in &weighed {
        let q = number(weighing, "/charge_to_mass_coulomb_per_kg");
        // A workbook holds 98.3 mm as the nearest number to 98.3, a CSV its digits: they part in the last bit.
        let first = number(&weighed[0], "/charge_to_mass_coulomb_per_kg");
        assert!((q / first - 1.0).abs() < 1e-14, "{q} {first}");
        // Read without error but for the last digit: the accepted value (CODATA 2022).
        assert!((q / 1.758_820_008_38e11 - 1.0).abs() < 2e-3, "{q}");
        assert_eq!(weighing["runs"].as_array().unwrap().len(), 18);
    }
}

/// Copies a workbook with diameters written into the blank cells C2, C3, ... of its first sheet.
fn fill(blank: &Path, filled: &Path, diameters: &[f64]) {
    let mut archive = zip::ZipArchive::new(std::fs::File::open(blank).unwrap()).unwrap();
    let mut writer = zip::ZipWriter::new(std::fs::File::create(filled).unwrap());
    for i in 0..archive.len() {
        let mut file = archive.by_index(i).unwrap();
        let name = file.name().unwrap().into_owned();
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).unwrap();
        if name == "xl/worksheets/sheet1.xml" {
            let mut sheet = String::from_utf8(bytes).unwrap();
            for (row, diameter) in diameters.iter().enumerate() {
                let cell = format!("<c r=\"C{}\"", row + 2);
                let start = sheet.find(&cell).unwrap();
                let end = start + sheet[start..].find("/>").unwrap() + 2;
                sheet.replace_range(start..end, &format!("{cell}><v>{diameter}</v></c>"));
            }
            bytes = sheet.into_bytes();
        }
        writer.start_file(name, zip::write::SimpleFileOptions::default()).unwrap();
        writer.write_all(&bytes).unwrap();
    }
    writer.finish().unwrap();
}

#[test]
fn the_live_formulas_of_the_class_sheet_give_what_weigh_gives_as_a_class_computes_it() {
    let record = json(&["lesson", &bench(), "--json"]);
    let mut diameters = diameters(&record);
    // A class misreads, so that runs differ.
    diameters.iter_mut().step_by(2).for_each(|diameter| *diameter += 1.3);
    let (folder, out) = made(&[]);
    let workbook = folder.path().join("filled.xlsx");
    fill(&out.join("runs.xlsx"), &workbook, &diameters);
    let weighing = json(&["weigh", &bench(), "--runs", workbook.to_str().unwrap(), "--json"]);
    let sheets = Sheets::read(&std::fs::read(&workbook).unwrap());
    let results = sheets.name(1);
    let value = |place: &str| sheets.number(results, place);
    // Rounding alone: the same products in another order.
    let alike = |found: f64, wanted: f64, what: &str| {
        assert!((found / wanted - 1.0).abs() < 1e-12, "{what}: {found} for {wanted}");
    };
    let runs = weighing["runs"].as_array().unwrap();
    let slope = number(&weighing, "/line/slope_tesla_per_ampere");
    assert_eq!(runs.len(), 18);
    let mut by_hand = Vec::new();
    for (row, run) in (2..).zip(runs) {
        alike(value(&format!("B{row}")), number(run, "/gun_voltage_volt"), "V");
        alike(value(&format!("C{row}")), slope * number(run, "/current_ampere").abs(), "B");
        alike(value(&format!("D{row}")), number(run, "/radius_m"), "r");
        let q = number(run, "/centre_field_charge_to_mass_coulomb_per_kg");
        alike(value(&format!("F{row}")), q, "e/m");
        by_hand.push(q);
    }
    for place in ["A20", "F20", "F61"] {
        assert_eq!(sheets.value(results, place), Cell::Text(String::new()), "{place}");
    }
    let count = by_hand.len() as f64;
    let mean = by_hand.iter().sum::<f64>() / count;
    let squares: f64 = by_hand.iter().map(|q| (q - mean).powi(2)).sum();
    alike(value("J4"), mean, "mean");
    alike(value("J5"), (squares / (count - 1.0)).sqrt(), "standard deviation");
    alike(value("J6"), value("J5") / count.sqrt(), "of the mean");
    let shared = number(&weighing, "/shared_standard_uncertainty_coulomb_per_kg")
        / number(&weighing, "/charge_to_mass_coulomb_per_kg");
    // The sheet takes the mean of the settings', weigh weighs the runs, most of all those that its meters know best.
    let settings = record["settings"].as_array().unwrap();
    let of_settings =
        settings.iter().map(|one| number(one, "/expected/shared_standard_uncertainty_fraction")).sum::<f64>();
    alike(value("J3"), of_settings / settings.len() as f64, "shared");
    // 1.29 for these settings, whose parts go from 2.5 to 4.1 %: the mean counts them alike.
    assert!((1.2..1.4).contains(&(value("J3") / shared)), "{} {shared}", value("J3"));
    alike(value("J7"), value("J6").hypot(value("J3") * value("J4")), "both");
    alike(value("J8"), 1.602_176_634e-19 / value("J4"), "mass");
    // The mean is that of single runs, weigh's a fit of the radii: they differ by less than the mean is uncertain.
    let fitted = number(&weighing, "/centre_field_charge_to_mass_coulomb_per_kg");
    assert!((value("J4") - fitted).abs() < value("J7"), "{} {fitted}", value("J4"));
}

#[test]
fn a_class_sheet_that_is_blank_shows_nothing_and_no_error() {
    let (_folder, out) = made(&[]);
    let sheets = Sheets::read(&std::fs::read(out.join("runs.xlsx")).unwrap());
    for place in ["A2", "B2", "F2", "F61", "J4", "J5", "J6", "J7", "J8"] {
        assert_eq!(sheets.value(sheets.name(1), place), Cell::Text(String::new()), "{place}");
    }
}

#[test]
fn the_workbook_has_live_formulas_validation_and_a_plot() {
    let (_folder, out) = made(&[]);
    let mut archive = zip::ZipArchive::new(std::fs::File::open(out.join("runs.xlsx")).unwrap()).unwrap();
    let mut parts = BTreeMap::new();
    for i in 0..archive.len() {
        let mut file = archive.by_index(i).unwrap();
        let mut content = String::new();
        file.read_to_string(&mut content).unwrap();
        parts.insert(file.name().unwrap().into_owned(), content);
    }
    let runs = &parts["xl/worksheets/sheet1.xml"];
    assert_eq!(runs.matches("<dataValidation ").count(), 3);
    assert!(!runs.contains("<f>"), "weigh reads numbers");
    let results = &parts["xl/worksheets/sheet2.xml"];
    // Until it is computed anew, no formula counts as a nought in the mean.
    assert!(results.matches("<f>").count() > 300 && !results.contains("</f><v>0</v>"));
    for sheet in [runs, results] {
        assert!(sheet.contains("<pageSetup") && sheet.contains("fitToPage=\"1\""), "set up for print");
    }
    for formula in [
        "SQRT(J6^2+(J3*J4)^2)",
        "$J$1*ABS(Runs!B2)",
        "Runs!C2/2000/$J$2",
        "(C2*D2)^2",
        "2*B2/E2",
        "AVERAGE(F2:F61)",
    ] {
        assert!(results.contains(formula), "{formula}");
    }
    let chart = parts.iter().find(|(name, _)| name.starts_with("xl/charts/chart")).unwrap().1;
    assert!(chart.contains("scatterChart"));
}

#[test]
fn a_file_of_words_speaks_another_language_and_a_slip_in_it_is_told() {
    let german = format!("{}/lab-files/words-de.json", env!("CARGO_MANIFEST_DIR"));
    let (folder, out) = made(&["--words", &german]);
    let page = read(&out, "lesson.html");
    assert!(page.starts_with("<!DOCTYPE html>\n<html lang=\"de\">"));
    for part in ["Der Elektronenstrahl: Saltmarsh", "Strahl verdecken", "können töten", "1,73 A"] {
        assert!(page.contains(part), "{part}");
    }
    assert!(read(&out, "worksheet.html").contains("Das Elektron wiegen"));
    assert!(read(&out, "runs.csv").contains("Gruppe 9"));
    let scale = read(&out, "scale.html");
    for part in [
        "Maßstab zum Ablesen",
        "Prüfstrich: genau 100 mm",
        "Öffnung der Kanone",
        "Durchmesser ",
        "15,0 mm hinter",
    ] {
        assert!(scale.contains(part), "{part}");
    }
    for english in ["reading scale", "check bar", "gun exit", "diameter ", " in the beam plane", "Read the"] {
        assert!(!scale.contains(english), "{english}");
    }
    // The example has every key, so that a school finds all of them in it.
    let given: BTreeMap<String, String> =
        serde_json::from_str(&std::fs::read_to_string(&german).unwrap()).unwrap();
    let carried = carried(&page);
    for key in carried["words"].as_object().unwrap().keys() {
        assert!(given.contains_key(key), "{key}");
    }
    let wrong = folder.path().join("words.json");
    std::fs::write(&wrong, "{\"undoo\": \"Zurück\"}").unwrap();
    let (status, said) = failure(&[
        "lesson",
        &bench(),
        "--words",
        wrong.to_str().unwrap(),
        "--out",
        out.to_str().unwrap(),
        "--force",
    ]);
    assert!(
        status == 1 && said.contains("unknown key `undoo`") && said.contains("did you mean `undo`?"),
        "{said}"
    );
}

#[test]
fn a_hostile_title_or_word_ends_no_script_and_starts_none() {
    let folder = tempfile::tempdir().unwrap();
    let mut spec: Value = serde_json::from_str(&std::fs::read_to_string(bench()).unwrap()).unwrap();
    spec["title"] = "</script><script>alert(1)</script><!-- {{w}} \u{2028}\u{202e} ${x} 'x' {digest}".into();
    let path = folder.path().join("pair.json");
    std::fs::write(&path, spec.to_string()).unwrap();
    let words = folder.path().join("words.json");
    std::fs::write(
        &words,
        "{\"undo\": \"</script><img src=x onerror=alert(1)>\", \"language\": \"de\\\" onload=\\\"x\"}",
    )
    .unwrap();
    let out = folder.path().join("out");
    let output = run(&[
        "lesson",
        path.to_str().unwrap(),
        "--words",
        words.to_str().unwrap(),
        "--out",
        out.to_str().unwrap(),
    ]);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let page = read(&out, "lesson.html");
    assert_eq!((page.matches("<script").count(), page.matches("</script").count()), (2, 2));
    assert!(!page.contains("<img") && !page.contains("<!--") && !page.contains("onload=\"x"));
    let title = carried(&page)["lesson"]["provenance"]["spec_title"].as_str().unwrap().to_owned();
    assert!(title.starts_with("</script><script>alert(1)"), "{title}");
    for name in ["worksheet.html", "answers.html", "scale.html"] {
        assert!(!read(&out, name).contains("<script"), "{name}");
    }
}

#[test]
fn a_bench_without_ranges_meters_room_or_supply_has_a_lesson_all_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pair.json");
    let mut spec: Value = serde_json::from_str(&std::fs::read_to_string(bench()).unwrap()).unwrap();
    let keys = [
        "supply",
        "ammeter",
        "voltmeter",
        "field_meter",
        "reading",
        "room",
        "build_tolerance",
        "former",
        "price",
    ];
    for key in keys {
        spec.as_object_mut().unwrap().remove(key);
    }
    spec["axis"] = "vertical".into();
    for key in ["bulb_radius", "bulb_centre", "gun_voltage", "gun_voltage_offset", "beam_radius"] {
        spec["tube"].as_object_mut().unwrap().remove(key);
    }
    std::fs::write(&path, spec.to_string()).unwrap();
    let out = folder.path().join("out");
    let output = run(&["lesson", path.to_str().unwrap(), "--out", out.to_str().unwrap()]);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let page = read(&out, "lesson.html");
    assert!(page.contains("View along the axis") && page.contains("zero is assumed"));
    let (status, said) = {
        spec.as_object_mut().unwrap().remove("tube");
        std::fs::write(&path, spec.to_string()).unwrap();
        failure(&["lesson", path.to_str().unwrap(), "--json"])
    };
    assert!(status == 1 && said.contains("no `tube`"), "{said}");
}
