//! The tables that people fill in, through the commands that read them: sheets of a workbook, files saved again by a
//! spreadsheet, and invalid tables.

use rust_xlsxwriter::Workbook;
use std::path::Path;
use std::process::{Command, Output};

const BENCH: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/coil-specs/window-bench.json");

fn run(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_coilwright")).args(arguments).current_dir(folder).output().unwrap()
}

/// Standard output of a command that succeeds.
fn answer(folder: &Path, arguments: &[&str]) -> String {
    let output = run(folder, arguments);
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// Standard error of a command that fails.
fn refusal(folder: &Path, arguments: &[&str]) -> String {
    let output = run(folder, arguments);
    assert_eq!(output.status.code(), Some(1), "{arguments:?}: {}", String::from_utf8_lossy(&output.stdout));
    String::from_utf8(output.stderr).unwrap()
}

/// A workbook whose second sheet holds a CSV file: numbers as numbers, the rest as text.
fn save_as_sheet(csv: &str, path: &Path) {
    let mut book = Workbook::new();
    book.add_worksheet().set_name("Cover").unwrap().write(0, 0, "Electron lesson").unwrap();
    let sheet = book.add_worksheet().set_name("Data").unwrap();
    let separator = if csv.contains(';') { ';' } else { ',' };
    let rows = csv.lines().filter(|line| !line.starts_with('#'));
    for (row, line) in rows.enumerate() {
        for (column, cell) in line.split(separator).enumerate().filter(|(_, cell)| !cell.is_empty()) {
            let (row, column) = (row as u32, column as u16);
            match cell.replace(',', ".").parse::<f64>() {
                Ok(number) => sheet.write(row, column, number).unwrap(),
                Err(_) => sheet.write(row, column, cell).unwrap(),
            };
        }
    }
    book.save(path).unwrap();
}

fn lab_file(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("lab-files").join(name);
    std::fs::read_to_string(path).unwrap()
}

#[test]
fn a_sheet_answers_as_the_csv_of_the_same_numbers() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    for (command, option, name) in [
        ("calibrate", "--readings", "readings.csv"),
        ("weigh", "--runs", "runs.csv"),
        ("field", "--points", "points.csv"),
        ("heat", "--warm-up", "warm-up.csv"),
    ] {
        let text = lab_file(name);
        std::fs::write(folder.join(name), &text).unwrap();
        save_as_sheet(&text, &folder.join("table.xlsx"));
        let csv = answer(folder, &[command, BENCH, option, name]);
        let sheet = answer(folder, &[command, BENCH, option, "table.xlsx"]);
        if command == "field" {
            let (said, rows) = sheet.split_once('\n').unwrap();
            assert_eq!(said, "# The points come from the sheet `Data` of the workbook.");
            assert_eq!(rows, csv);
            continue;
        }
        assert!(sheet.contains("the sheet `Data`"), "{command}\n{sheet}");
        // Line numbers may differ because of the comments above the heading; the figures may not.
        let figures = |page: &str| -> Vec<String> {
            let lines =
                page.lines().filter(|line| line.contains(" ± ") || line.contains("standard uncertainty"));
            lines
                .map(|line| line.trim_start_matches(|c: char| c == ' ' || c.is_ascii_digit()).to_owned())
                .collect()
        };
        assert_eq!(figures(&sheet), figures(&csv), "{command}");
        assert!(!figures(&csv).is_empty(), "{command}\n{csv}");
    }
}

#[test]
fn measurements_may_stand_in_a_sheet() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let json = r#"{ "title": "Pair", "resistance": { "value": "4.4 ohm", "uncertainty": "0.05 ohm", "at": "21 degC" },
        "spacing": { "value": "160 mm", "uncertainty": "0.5 mm" } }"#;
    std::fs::write(folder.join("pair.json"), json).unwrap();
    save_as_sheet(
        "name,value,uncertainty,unit\nresistance,4.4,0.05,ohm\nresistance.at,21,,degC\nspacing,160 mm,0.5 mm,\ntitle,Pair,,\n",
        &folder.join("pair.xlsx"),
    );
    let from = |name: &str| -> serde_json::Value {
        let output = run(folder, &["check", BENCH, "--measured", name, "--json"]);
        let mut record: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        // Each of the two files has its own digest.
        record.as_object_mut().unwrap().retain(|key, _| !key.contains("digest"));
        record
    };
    assert_eq!(from("pair.xlsx"), from("pair.json"));
    save_as_sheet("name,value,uncertainty\nspacing,160,0.5\n", &folder.join("wrong.xlsx"));
    assert!(
        refusal(folder, &["identify", "wrong.xlsx"]).starts_with(
            "error: wrong.xlsx, sheet `Data`, row 2: `spacing.value`: `160` has no unit\nhint: "
        )
    );
}

#[test]
fn the_plan_saved_again_by_a_spreadsheet_is_read_once_it_is_filled_in() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    answer(folder, &["calibrate", BENCH, "--plan", "--want", "3 %", "--out", "plan"]);
    let plan = std::fs::read_to_string(folder.join("plan/readings.csv")).unwrap();
    assert!(plan.lines().nth(2).unwrap().starts_with("A01,"), "{plan}");
    // As office programs write it: the comment quoted, since it contains a comma, and the same number of separators on
    // every line.
    let saved: Vec<String> = plan
        .lines()
        .map(|line| match line.strip_prefix('#') {
            Some(comment) => format!("\"#{}\",,,,,", comment.replace('"', "\"\"")),
            None => {
                let cells: Vec<&str> = line.split(',').collect();
                match cells[1].parse::<f64>() {
                    Err(_) => format!("{line},,"),
                    Ok(ampere) => {
                        let field = if cells[3] == "yes" { -0.83 } else { 0.83 } * ampere + 0.01;
                        format!("{},{},{field:.4},{},,", cells[0], cells[1], cells[3].to_uppercase())
                    }
                }
            }
        })
        .collect();
    std::fs::write(folder.join("filled.csv"), saved.join("\r\n") + "\r\n").unwrap();
    let page = answer(folder, &["calibrate", BENCH, "--readings", "filled.csv"]);
    assert!(page.contains("A01"), "{page}");
}

#[test]
fn tables_that_cannot_be_are_refused_by_row_with_a_hint() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    for (command, option, text, message) in [
        (
            "weigh",
            "--runs",
            "gun_voltage_kV,current_A,radius_mm\n240,1.5,40\n",
            "t.csv, line 2: `gun_voltage_kV` is 240 kV, and 1 V to 10 kV is allowed",
        ),
        (
            "heat",
            "--warm-up",
            "time_min,voltage_V,current_A\n0,7.8,1.80\n5,7.9,180\n10,8.0,1.80\n20,8.2,1.80\n",
            "t.csv, line 3: 7.9 V at 180 A is 0.044 ohm, 0.010 times the median of the table, 4.444 ohm: no warming changes \
             copper so much",
        ),
        ("field", "--points", "x_m,y_m,z_m\n", "cannot read t.csv: it has a heading and no rows"),
        ("field", "--points", "x_m,y_m,z_m\n0,one,0\n", "t.csv, line 2: `y_m`: `one` is not a number"),
    ] {
        std::fs::write(folder.join("t.csv"), text).unwrap();
        let output = run(folder, &[command, BENCH, option, "t.csv"]);
        assert_eq!((output.status.code(), output.stdout.len()), (Some(1), 0), "{text}");
        let told = String::from_utf8(output.stderr).unwrap();
        assert!(told.starts_with(&format!("error: {message}\nhint: ")), "{told}");
    }
    let output = run(folder, &["orbit", BENCH, "--gun-voltage", "200 V", "--current", "1,4 A"]);
    let told = String::from_utf8(output.stderr).unwrap();
    assert!(told.starts_with("error: --current: `1,4 A` has a comma in its number\nhint: "), "{told}");
}
