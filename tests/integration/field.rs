//! `field` as a user types it.

use crate::program::{example, failure, json, number, run, text};
use std::path::PathBuf;

/// A points file of this content in a folder of its own.
struct Points(tempfile::TempDir, PathBuf);

fn points(content: impl AsRef<[u8]>) -> Points {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("points.csv");
    std::fs::write(&path, content).unwrap();
    Points(folder, path)
}

impl Points {
    fn path(&self) -> &str {
        assert!(self.0.path().exists());
        self.1.to_str().unwrap()
    }
}

fn rows(text: &str) -> Vec<[f64; 6]> {
    let mut lines = text.lines();
    assert_eq!(lines.next(), Some("x_m,y_m,z_m,bx_tesla,by_tesla,bz_tesla"));
    lines
        .map(|line| {
            let cells: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
            cells.try_into().unwrap()
        })
        .collect()
}

#[test]
fn the_centre_has_the_field_constant_of_the_sheet_and_scales_with_the_current() {
    let points = points("x_m,y_m,z_m\n0,0,0\n0.01,-0.02,0.03\n");
    let spec = example("window-bench.json");
    let sheet = json(&["sheet", &spec, "--json"]);
    let constant = number(&sheet, "/field_constant_tesla_per_ampere");
    let plain = rows(&text(&["field", &spec, "--points", points.path()]));
    assert!((plain[0][5] / constant - 1.0).abs() < 1e-12, "{plain:?}");
    assert_eq!(plain[1][..3], [0.01, -0.02, 0.03]);
    let negative = rows(&text(&["field", &spec, "--points", points.path(), "--current", "-1.4 A"]));
    for (one, other) in plain.iter().zip(&negative) {
        for k in 3..6 {
            assert_eq!(other[k], -1.4 * one[k]);
        }
    }
}

#[test]
fn json_is_one_document_with_the_same_numbers() {
    let points = points("x_mm;y_mm;z_mm\r\n0;0;0\r\n10,5;0;-20\r\n");
    let spec = example("quote-used.json");
    let rows = rows(&text(&["field", &spec, "--points", points.path()]));
    let record = json(&["field", &spec, "--points", points.path(), "--json"]);
    assert_eq!(record["points"].as_array().unwrap().len(), 2);
    assert_eq!(number(&record, "/points/1/x_m"), 0.0105);
    assert_eq!(number(&record, "/points/1/bz_tesla"), rows[1][5]);
}

#[test]
fn as_built_nominal_room_turns_and_portable_each_change_what_they_should() {
    let points = points("x_m,y_m,z_m\n0.02,0.03,0.01\n");
    let (spec, used) = (example("window-bench.json"), example("quote-used.json"));
    let bz = |spec: &str, more: &[&str]| {
        rows(&text(&[&["field", spec, "--points", points.path()], more].concat()))[0][5]
    };
    assert_ne!(bz(&used, &[]), bz(&used, &["--nominal"]));
    // The spec's room adds 9 µT along z.
    assert!((bz(&spec, &["--with-room"]) - bz(&spec, &[]) - 9e-6).abs() < 1e-18);
    let smooth = bz(&spec, &[]);
    let portable = bz(&spec, &["--portable"]);
    assert!((portable / smooth - 1.0).abs() < 1e-14);
    let turns = bz(&spec, &["--each-turn"]);
    assert!(turns != smooth && (turns / smooth - 1.0).abs() < 1e-4, "{turns} {smooth}");
}

#[test]
fn a_bad_row_is_named_and_the_rows_before_it_stand() {
    let points = points("x_m,y_m,z_m\n0,0,0\n0,0,0.01\n0,nonsense,0\n0,0,0\n");
    let output = run(&["field", &example("window-bench.json"), "--points", points.path()]);
    assert_eq!(output.status.code(), Some(1));
    assert_eq!(rows(&String::from_utf8(output.stdout).unwrap()).len(), 2);
    let message = String::from_utf8(output.stderr).unwrap();
    assert!(
        message.starts_with("error: ") && message.contains("line 4") && message.contains("nonsense"),
        "{message}"
    );
    assert!(!message.contains("panicked"));
}

#[test]
fn points_that_are_no_table_are_refused() {
    let spec = example("window-bench.json");
    let (status, message) = failure(&["field", &spec, "--points", "no-such-file.csv"]);
    assert_eq!(status, 1);
    assert!(message.contains("no-such-file.csv"), "{message}");
    let (status, message) = failure(&["field", &spec, "--points", env!("CARGO_MANIFEST_DIR")]);
    assert_eq!(status, 1, "{message}");
    for content in [&b""[..], b"x_m,y_m\n0,0\n", b"\xff\xfe\x00"] {
        let (status, message) = failure(&["field", &spec, "--points", points(content).path()]);
        assert_eq!(status, 1);
        assert!(message.starts_with("error: "), "{message}");
    }
    let (status, _) =
        failure(&["field", &spec, "--points", points("x_m,y_m,z_m\n").path(), "--current", "2"]);
    assert_eq!(status, 2);
}

#[test]
fn many_points_come_out_in_order_and_the_same_bytes_every_time() {
    let mut content = String::from("x_m,y_m,z_m\n");
    for i in 0..70_000 {
        content += &format!("{},0,{}\n", f64::from(i) * 1e-6, f64::from(i % 91) * 1e-3);
    }
    let points = points(content);
    let once = text(&["field", &example("window-bench.json"), "--points", points.path()]);
    let rows = rows(&once);
    assert_eq!(rows.len(), 70_000);
    assert!(rows.windows(2).all(|pair| pair[0][0] < pair[1][0]));
    assert_eq!(once, text(&["field", &example("window-bench.json"), "--points", points.path()]));
}

#[test]
fn a_looser_accuracy_changes_the_numbers_by_no_more_than_it_says_and_nonsense_is_refused() {
    let points = points("x_m,y_m,z_m\n0.02,0.01,0.03\n0.165,0,0.08\n0.3,0.1,-0.2\n");
    let spec = example("window-bench.json");
    let at = |accuracy: &str| {
        rows(&text(&["field", &spec, "--points", points.path(), "--accuracy", accuracy])).concat()
    };
    let tight = at("1e-13");
    for (accuracy, loosest) in [("1e-9", 1e-9), ("1e-4", 1e-4)] {
        let got = at(accuracy);
        assert_ne!(got, tight, "{accuracy} must be cheaper, and so differ in some digit");
        for (got, tight) in got.chunks(6).zip(tight.chunks(6)) {
            let size = |row: &[f64]| row[3].hypot(row[4]).hypot(row[5]);
            let difference: Vec<f64> = got.iter().zip(tight).map(|(a, b)| a - b).collect();
            assert!(size(&difference) < 3.0 * loosest * size(tight), "{accuracy}: {got:?} {tight:?}");
        }
    }
    for nonsense in ["0", "1", "-1e-9", "nan", "1e-9 T", "fine"] {
        let argument = format!("--accuracy={nonsense}");
        let (status, refused) = failure(&["field", &spec, "--points", points.path(), &argument]);
        assert_eq!(status, 2);
        assert!(refused.contains("not an accuracy") && refused.contains("1e-9"), "{refused}");
    }
}

#[test]
fn what_the_program_writes_at_points_can_be_read_as_points() {
    let spec = example("window-bench.json");
    let given = points("x_m,y_m,z_m\n0,0,0\n0.01,-0.02,0.03\n");
    let once = text(&["field", &spec, "--points", given.path()]);
    let again = points(&once);
    assert_eq!(text(&["field", &spec, "--points", again.path()]), once);

    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().to_str().unwrap();
    text(&["map", &spec, "--out", out, "--grid", "9"]);
    text(&["orbit", &spec, "--gun-voltage", "200 V", "--current", "1.4 A", "--out", out]);
    for name in ["axial-plane.csv", "mid-plane.csv", "profiles.csv", "orbit-path.csv"] {
        let path = folder.path().join(name);
        let written = std::fs::read_to_string(&path).unwrap();
        assert!(written.starts_with("# coilwright "), "{name}");
        let found = rows(&text(&["field", &spec, "--points", path.to_str().unwrap()]));
        assert_eq!(found.len(), written.lines().filter(|line| !line.starts_with('#')).count() - 1, "{name}");
    }
    // The map's field per ampere is that at 1 A.
    let written = std::fs::read_to_string(folder.path().join("axial-plane.csv")).unwrap();
    let path = folder.path().join("axial-plane.csv");
    let found = rows(&text(&["field", &spec, "--points", path.to_str().unwrap()]));
    let mapped = written.lines().filter(|line| !line.starts_with('#')).skip(1);
    for (row, line) in found.iter().zip(mapped) {
        let bz: f64 = line.split(',').nth(5).unwrap().parse().unwrap();
        assert!((row[5] - bz).abs() <= 1e-11 * bz.abs().max(1e-5), "{} and {bz} at {line}", row[5]);
    }
}

#[test]
fn the_estimated_error_stands_beside_each_field_and_holds_against_a_tighter_calculation() {
    let points = points("x_m,y_m,z_m\n0,0,0\n0.05,0.02,-0.03\n0.17,0,0.085\n0.3,0.1,-0.2\n2,0,1\n");
    let spec = example("window-bench.json");
    let tight = rows(&text(&["field", &spec, "--points", points.path(), "--accuracy", "1e-13"]));
    for accuracy in ["1e-12", "1e-8", "1e-5"] {
        let words = ["field", &spec, "--points", points.path(), "--accuracy", accuracy, "--with-error"];
        let shown = text(&words);
        assert_eq!(shown.lines().next(), Some("x_m,y_m,z_m,bx_tesla,by_tesla,bz_tesla,error_tesla"));
        let record = json(&[&words[..], &["--json"]].concat());
        for (i, (line, tight)) in shown.lines().skip(1).zip(&tight).enumerate() {
            let cells: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
            let size = |b: [f64; 3]| b[0].hypot(b[1]).hypot(b[2]);
            let off = size([3, 4, 5].map(|k| cells[k] - tight[k]));
            let (error, field) = (cells[6], size([3, 4, 5].map(|k| cells[k])));
            assert!(off <= error, "{accuracy}, point {i}: off {off:e}, estimate {error:e}");
            let asked: f64 = accuracy.parse().unwrap();
            assert!(error > 0.0 && error < 30.0 * asked * field, "{accuracy}, point {i}: {error:e}");
            assert_eq!(number(&record, &format!("/points/{i}/error_tesla")), error);
        }
        assert_eq!(shown.lines().count(), 6);
    }
}

#[test]
fn arrays_of_numpy_go_in_and_out() {
    let folder = tempfile::tempdir().unwrap();
    let spec = example("window-bench.json");
    let data = |name: &str| format!("{}/tests/data/{name}", env!("CARGO_MANIFEST_DIR"));
    let out = folder.path().join("field.npy");
    let out = out.to_str().unwrap();
    let plain = rows(&text(&["field", &spec, "--points", &data("points-numpy.npy")]));
    assert_eq!(plain[1][..3], [0.0, -0.0625, 0.03125]);
    // Row by row or column by column, the points are the same.
    assert_eq!(rows(&text(&["field", &spec, "--points", &data("points-numpy-columns.npy")])), plain);
    let said = text(&["field", &spec, "--points", &data("points-numpy.npy"), "--npy", out]);
    assert!(said.ends_with("field.npy: 4 rows of x_m, y_m, z_m, bx_tesla, by_tesla, bz_tesla\n"), "{said}");
    let bytes = std::fs::read(out).unwrap();
    assert!(String::from_utf8_lossy(&bytes[..128]).contains("'shape': (4, 6)"));
    let numbers: Vec<f64> =
        bytes[128..].chunks(8).map(|number| f64::from_le_bytes(number.try_into().unwrap())).collect();
    assert_eq!(numbers, plain.concat());

    // What is there is kept, what is read is never written over, and a bad row leaves nothing.
    let again = ["field", &spec, "--points", &data("points-numpy.npy"), "--npy", out];
    assert!(failure(&again).1.contains("exists already"));
    text(&[&again[..], &["--force", "--with-error"]].concat());
    assert!(String::from_utf8_lossy(&std::fs::read(out).unwrap()[..128]).contains("'shape': (4, 7)"));
    let over = failure(&["field", &spec, "--points", out, "--npy", out, "--force"]).1;
    assert!(over.contains("field.npy"), "{over}");
    let bad = points("x_m,y_m,z_m\n0,0,0\n0,0,none\n");
    let none = folder.path().join("none.npy");
    failure(&["field", &spec, "--points", bad.path(), "--npy", none.to_str().unwrap()]);
    assert!(!none.exists());
    let left: Vec<_> = std::fs::read_dir(folder.path()).unwrap().collect();
    assert_eq!(left.len(), 1, "{left:?}");
}
