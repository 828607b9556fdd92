//! The common properties of all commands that write files for people: the numbers' format and the date.

use crate::program::{example, run, text};
use std::path::Path;

const WISHES: &str = r#"{
    "title": "Small wishes", "largest_field": "1 mT",
    "search": {
        "mean_radius": ["150 mm", "160 mm"], "width": ["12 mm", "14 mm"], "depth": ["8 mm", "10 mm"],
        "spacing": "radius", "wires": [{ "size": "0.9 mm", "build": "grade 2" }]
    },
    "wire_price_per_kg": { "amount": 17.5, "currency": "EUR" }
}"#;

/// Every command with tables among its files, each with a folder of its own.
fn commands(wishes: &str) -> Vec<Vec<String>> {
    let lab_file = |name: &str| format!("{}/lab-files/{name}", env!("CARGO_MANIFEST_DIR"));
    let (bench, quote) = (example("window-bench.json"), example("quote-thick.json"));
    let (runs, readings, warm_up) = (lab_file("runs.csv"), lab_file("readings.csv"), lab_file("warm-up.csv"));
    let words = |all: &[&str]| all.iter().map(|word| (*word).to_owned()).collect();
    vec![
        words(&["build", &bench]),
        words(&["calibrate", &bench, "--readings", &readings]),
        words(&["heat", &bench, "--current", "2 A", "--duty", "10 min/20 min", "--warm-up", &warm_up]),
        words(&["map", &bench, "--grid", "9"]),
        words(&["map", &bench, "--grid", "5", "--volume"]),
        words(&["orbit", &bench, "--gun-voltage", "200 V", "--current", "1.4 A"]),
        words(&["orbit", &bench, "--chart", "--gun-voltage", "200 V"]),
        words(&["orbit", &bench, "--bias", "--gun-voltage", "200 V"]),
        words(&["weigh", &bench, "--runs", &runs]),
        words(&["compare", &bench, &quote]),
        words(&["size", wishes]),
    ]
}

/// The tables in a folder.
fn tables(folder: &Path) -> Vec<(String, String)> {
    std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|end| end == "csv"))
        .map(|path| (path.display().to_string(), std::fs::read_to_string(&path).unwrap()))
        .collect()
}

/// A row's cells; no cell has a separator within quotation marks.
fn cells(row: &str, separator: char) -> Vec<String> {
    row.split(separator).map(str::to_owned).collect()
}

#[test]
fn every_table_is_written_with_decimal_commas_and_a_date_where_that_is_asked_for() {
    let parent = tempfile::tempdir().unwrap();
    let wishes = parent.path().join("wishes.json");
    std::fs::write(&wishes, WISHES).unwrap();
    for (number, command) in commands(wishes.to_str().unwrap()).into_iter().enumerate() {
        let folders = ["point", "comma"].map(|format| parent.path().join(format!("{format}-{number}")));
        for (folder, more) in
            folders.iter().zip([&[][..], &["--number-format", "comma", "--date", "2026-03-01"]])
        {
            let mut arguments: Vec<&str> = command.iter().map(String::as_str).collect();
            arguments.extend(["--out", folder.to_str().unwrap()]);
            arguments.extend(more);
            let page = text(&arguments);
            assert_eq!(page.contains("; 2026-03-01"), !more.is_empty(), "{command:?}: {page}");
        }
        let (points, commas) = (tables(&folders[0]), tables(&folders[1]));
        assert!(!points.is_empty() && points.len() == commas.len(), "{command:?}");
        for (path, with_points) in points {
            let name = Path::new(&path).file_name().unwrap().to_str().unwrap();
            let with_commas = &commas.iter().find(|(other, _)| other.ends_with(name)).unwrap().1;
            let comments = |table: &str| {
                let lines = table.lines().take_while(|line| line.starts_with('#'));
                lines.map(str::to_owned).collect::<Vec<_>>()
            };
            assert!(comments(&with_points)[0].starts_with("# coilwright "), "{name}");
            assert!(comments(with_commas)[0].contains("; 2026-03-01"), "{name}");
            assert!(!with_points.contains("2026-03-01"), "{name}");
            let rows = |table: &str| {
                let rows = table.lines().filter(|line| !line.starts_with('#'));
                rows.map(str::to_owned).collect::<Vec<_>>()
            };
            for (one, other) in rows(&with_points).iter().zip(rows(with_commas)) {
                // Titles and reasons are in quotation marks if they contain a comma.
                if one.contains('"') {
                    continue;
                }
                let (one, other) = (cells(one, ','), cells(&other, ';'));
                assert_eq!(one.len(), other.len(), "{name}: {one:?} {other:?}");
                for (one, other) in one.iter().zip(&other) {
                    match one.parse::<f64>() {
                        Ok(_) => assert_eq!(one.replace('.', ","), *other, "{name}"),
                        Err(_) => assert_eq!(one, other, "{name}"),
                    }
                }
            }
        }
    }
}

#[test]
fn a_field_with_decimal_commas_reads_back_as_points() {
    let folder = tempfile::tempdir().unwrap();
    let points = folder.path().join("points.csv");
    std::fs::write(&points, "x_m,y_m,z_m\n0,0,0\n0.01,-0.02,0.03\n").unwrap();
    let spec = example("window-bench.json");
    let field =
        |path: &Path| text(&["field", &spec, "--points", path.to_str().unwrap(), "--number-format", "comma"]);
    let once = field(&points);
    assert!(once.starts_with("x_m;y_m;z_m;bx_tesla;by_tesla;bz_tesla\n0,0;0,0;0,0;"), "{once}");
    let again = folder.path().join("again.csv");
    std::fs::write(&again, &once).unwrap();
    assert_eq!(field(&again), once);
}

#[test]
fn portable_arithmetic_is_taken_by_every_command_and_may_stand_before_its_name() {
    let bench = example("window-bench.json");
    let quote = example("quote-used.json");
    let lab_file = |name: &str| format!("{}/lab-files/{name}", env!("CARGO_MANIFEST_DIR"));
    let (points, runs, pair) = (lab_file("points.csv"), lab_file("runs.csv"), lab_file("cupboard-pair.json"));
    for command in [
        &["sheet", &bench][..],
        &["field", &bench, "--points", &points],
        &["uniformity", &bench],
        &["calibrate", &bench],
        &["heat", &bench],
        &["orbit", &bench, "--gun-voltage", "200 V", "--current", "1.4 A"],
        &["weigh", &bench, "--runs", &runs],
        &["tolerance", &bench, "--builds", "20"],
        &["compare", &bench, &quote],
        &["identify", &pair],
    ] {
        let fastest = text(&[command, &["--json"]].concat());
        let portable = text(&[command, &["--json", "--portable"]].concat());
        assert_eq!(text(&[&["--portable"], command, &["--json"]].concat()), portable, "{command:?}");
        // If the processor has a fused multiply–add, some last digit differs from scalar code.
        #[cfg(target_arch = "x86_64")]
        assert_eq!(fastest == portable, !std::is_x86_feature_detected!("fma"), "{command:?}");
        #[cfg(not(target_arch = "x86_64"))]
        drop(fastest);
    }
    // Commands that compute no field accept it too.
    for command in [&["wires"][..], &["schema"], &["check", &bench]] {
        assert_eq!(text(command), text(&[command, &["--portable"]].concat()), "{command:?}");
    }
    // A pair different from the spec's: the page is printed nevertheless.
    let checked = ["check", &bench, "--measured", &pair];
    let (plain, portable) = (run(&checked), run(&[&checked[..], &["--portable"]].concat()));
    assert_eq!((plain.status.code(), plain.stdout), (Some(1), portable.stdout));
}
