//! `orbit` as a user types it.

use std::process::{Command, Output};

const BENCH: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/coil-specs/window-bench.json");
const CHARGE_TO_MASS: f64 = 1.758_820_008_38e11; // CODATA 2022

fn orbit(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_coilwright")).arg("orbit").args(arguments).output().unwrap()
}

fn json(arguments: &[&str]) -> serde_json::Value {
    let output = orbit(arguments);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

fn number(record: &serde_json::Value, path: &str) -> f64 {
    record.pointer(path).and_then(serde_json::Value::as_f64).unwrap_or_else(|| panic!("no number at {path}"))
}

/// Status, the line `error:` and the line `hint:`.
fn refusal(arguments: &[&str]) -> (i32, String, String) {
    let output = orbit(arguments);
    assert!(output.stdout.is_empty());
    let text = String::from_utf8(output.stderr).unwrap();
    let line =
        |start: &str| text.lines().find_map(|line| line.strip_prefix(start)).unwrap_or_default().to_owned();
    (output.status.code().unwrap(), line("error: "), line("hint: "))
}

#[test]
fn one_orbit_has_the_keys_scripts_rely_on() {
    // On this bench the beam's voltage is 1 V less than the meter shows.
    let record = json(&[BENCH, "--gun-voltage", "201 V", "--current", "1.5 A", "--json"]);
    // tests/data/beam.csv: speed after 200 V; p = γ m v and T = e V follow from CODATA 2022.
    assert!((number(&record, "/speed_m_per_s") / 8_385_196.406_77 - 1.0).abs() < 1e-6);
    assert!((number(&record, "/kinetic_energy_joule") / 3.204_353_268e-17 - 1.0).abs() < 1e-12);
    assert!((number(&record, "/momentum_kg_m_per_s") / 7.641_386e-24 - 1.0).abs() < 1e-6);
    let read = number(&record, "/read_radius_m");
    assert!((number(&record, "/uniform_field_radius_m") / read - 1.0).abs() < 0.05);
    assert!((number(&record, "/start_curvature_radius_m") / read - 1.0).abs() < 0.05);
    assert!(number(&record, "/energy_drift") < 1e-10);
    let apparent = number(&record, "/apparent_charge_to_mass_coulomb_per_kg");
    let bias = number(&record, "/bias_fraction");
    assert!((apparent / CHARGE_TO_MASS - 1.0 - bias).abs() < 1e-12);
    // e/m = 2 V/(k I r)², the formula of the class.
    let field = number(&record, "/line/slope_tesla_per_ampere") * 1.5;
    assert!((402.0 / (field * read).powi(2) / apparent - 1.0).abs() < 1e-9);
    let path = record["path"].as_array().unwrap();
    assert!(path.len() > 100);
    for row in path {
        let speed = ["vx_m_per_s", "vy_m_per_s", "vz_m_per_s"]
            .map(|key| row[key].as_f64().unwrap())
            .iter()
            .map(|part| part * part)
            .sum::<f64>()
            .sqrt();
        assert!((speed / number(&record, "/speed_m_per_s") - 1.0).abs() < 1e-10);
        for key in ["time_s", "x_m", "y_m", "z_m"] {
            assert!(row[key].is_f64());
        }
    }
    assert!(record.get("pitch_m").is_some_and(serde_json::Value::is_f64));
}

#[test]
fn no_current_ends_on_the_glass_and_a_tilted_gun_rises() {
    let straight = json(&[BENCH, "--gun-voltage", "200 V", "--current", "0 A", "--json"]);
    assert_eq!(straight["strikes"]["what"], "bulb");
    assert!(straight["uniform_field_radius_m"].is_null() && straight["read_radius_m"].is_null());
    let helix = |tilt: &str| {
        let arguments = [BENCH, "--gun-voltage", "150 V", "--current", "2 A", "--gun-tilt", tilt, "--json"];
        number(&json(&arguments), "/pitch_m")
    };
    assert!(helix("12 deg") > 0.0 && helix("-12 deg") < 0.0);
}

#[test]
fn what_makes_no_orbit_is_refused_in_one_line_with_its_hint() {
    let setting = |volt: &'static str, ampere: &'static str| {
        refusal(&[BENCH, "--gun-voltage", volt, "--current", ampere])
    };
    let (status, error, hint) = setting("0 V", "1 A");
    assert_eq!((status, error.as_str()), (1, "the gun voltage is 0 V and makes no beam"));
    assert_eq!(hint, "give a gun voltage above 0 V, such as --gun-voltage \"200 V\"");
    assert_eq!(setting("-200 V", "1 A").1, "the gun voltage is -200.0 V and makes no beam");
    assert_eq!(setting("200 A", "1 A").0, 2);
    assert_eq!(setting("200", "1 A").1, "--gun-voltage: `200` has no unit");
    let (status, error, _) = refusal(&[BENCH, "--current", "1 A"]);
    assert_eq!((status, error.as_str()), (2, "--gun-voltage is missing"));
    let (status, error, _) = refusal(&[BENCH, "--chart", "--current", "1 A"]);
    assert_eq!((status, error.as_str()), (2, "--chart does not take --current"));
    assert_eq!(refusal(&[BENCH, "--scale"]).0, 2);
    assert_eq!(refusal(&[BENCH, "--bias", "--chart"]).0, 2);
    let tilted = refusal(&[BENCH, "--gun-voltage", "200 V", "--current", "1 A", "--gun-tilt", "100 deg"]);
    assert!(tilted.1.starts_with("the gun tilt is 100"), "{tilted:?}");
}

#[test]
fn every_picture_and_table_is_written_and_says_where_it_comes_from() {
    let parent = tempfile::tempdir().unwrap();
    let out = parent.path().join("out");
    let folder = out.to_str().unwrap();
    let one = orbit(&[BENCH, "--gun-voltage", "200 V", "--current", "1.5 A", "--out", folder]);
    assert!(one.status.success(), "{}", String::from_utf8_lossy(&one.stderr));
    for question in ["--chart", "--bias", "--scale"] {
        let output = orbit(&[BENCH, question, "--out", folder]);
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        assert!(String::from_utf8(output.stdout).unwrap().contains("competent person"));
    }
    let mut names: Vec<String> = std::fs::read_dir(&out)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    assert_eq!(
        names,
        [
            "beam-radius.csv",
            "beam-radius.json",
            "beam-radius.png",
            "beam-radius.svg",
            "bias.csv",
            "bias.json",
            "orbit-path.csv",
            "orbit-plane.png",
            "orbit-plane.svg",
            "orbit-side.png",
            "orbit-side.svg",
            "orbit-third.png",
            "orbit-third.svg",
            "orbit.json",
            "reading-scale.json",
            "reading-scale.svg",
        ]
    );
    for name in names.iter().filter(|name| !name.ends_with(".png")) {
        let text = std::fs::read_to_string(out.join(name)).unwrap();
        assert!(text.contains("coilwright 0."), "{name}");
        assert!(!text.contains("NaN") && !text.contains("inf,"), "{name}");
    }
    let refused = orbit(&[BENCH, "--chart", "--out", folder]);
    assert_eq!(refused.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("--force"));
}

#[test]
fn the_printed_scale_is_true_in_millimetres() {
    let out = tempfile::tempdir().unwrap();
    let folder = out.path().to_str().unwrap();
    let record =
        json(&[BENCH, "--scale", "--gun-voltage", "200 V", "--current", "1.5 A", "--out", folder, "--json"]);
    let svg = std::fs::read_to_string(out.path().join("reading-scale.svg")).unwrap();
    let head: Vec<&str> = svg.lines().next().unwrap().split('"').collect();
    let at = |name: &str| head[head.iter().position(|part| part.trim() == name).unwrap() + 1];
    // One unit of the drawing is one millimetre of paper.
    let (width, height) =
        (at("width=").strip_suffix("mm").unwrap(), at("height=").strip_suffix("mm").unwrap());
    assert_eq!(at("viewBox="), format!("0 0 {width} {height}"));
    assert!(svg.contains("id=\"check-bar\"") && svg.contains(" h 100 "));
    let radius_mm = 1e3 * number(&record, "/circles/0/radius_on_scale_m");
    assert!(svg.contains(&format!("r=\"{radius_mm:.3}\"")));
    let magnification = number(&record, "/magnification");
    assert!(
        (radius_mm / 1e3 / number(&record, "/circles/0/read_radius_m") / magnification - 1.0).abs() < 1e-12
    );
}

#[test]
fn the_bias_table_says_it_in_one_sentence() {
    let output = orbit(&[BENCH, "--bias"]);
    let text = String::from_utf8(output.stdout).unwrap();
    let sentence: String = text
        .lines()
        .skip_while(|line| !line.starts_with("With the centre field constant"))
        .take_while(|line| !line.is_empty())
        .collect::<Vec<_>>()
        .join(" ");
    assert!(sentence.contains("off the accepted value, most of it from"), "{sentence}");
    assert_eq!(sentence.matches(". ").count(), 0, "{sentence}");
    let record = json(&[BENCH, "--bias", "--json"]);
    for row in record["rows"].as_array().unwrap() {
        let parts = row["bias"]["parts"].as_object().unwrap();
        let product: f64 = parts.values().map(|part| 1.0 + part.as_f64().unwrap()).product();
        assert!((product - 1.0 - number(row, "/bias/bias_fraction")).abs() < 1e-10);
    }
}

#[test]
fn a_calibration_file_gives_the_line() {
    let out = tempfile::tempdir().unwrap();
    let calibrated = Command::new(env!("CARGO_BIN_EXE_coilwright"))
        .args(["calibrate", BENCH, "--out", out.path().to_str().unwrap()])
        .output()
        .unwrap();
    assert!(calibrated.status.success());
    let file = out.path().join("calibration.json");
    let text = std::fs::read_to_string(&file).unwrap();
    let mut line: serde_json::Value = serde_json::from_str(&text).unwrap();
    let slope = number(&line, "/slope_tesla_per_ampere");
    line["slope_tesla_per_ampere"] = (1.01 * slope).into();
    std::fs::write(&file, line.to_string()).unwrap();
    let setting = [BENCH, "--gun-voltage", "200 V", "--current", "1.5 A", "--json"];
    let plain = json(&setting);
    let with = json(&[&setting[..], &["--calibration", file.to_str().unwrap()]].concat());
    // e/m goes as 1/k².
    let ratio = (1.0 + number(&with, "/bias_fraction")) / (1.0 + number(&plain, "/bias_fraction"));
    assert!((ratio * 1.01 * 1.01 - 1.0).abs() < 1e-9, "{ratio}");
    assert!((number(&with, "/bias/parts/calibration_line") - (1.0 / (1.01 * 1.01) - 1.0)).abs() < 1e-9);
}
