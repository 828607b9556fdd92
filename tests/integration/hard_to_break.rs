//! Devices, limits, signals and slips that could break the program or a set of files.

use crate::program::{example, failure, json, run};
use serde_json::Value;
use std::path::Path;

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

/// The window bench with one change, in a folder of its own.
fn changed(change: impl FnOnce(&mut Value)) -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let mut bench: Value =
        serde_json::from_str(&std::fs::read_to_string(example("window-bench.json")).unwrap()).unwrap();
    change(&mut bench);
    let path = folder.path().join("pair.json");
    std::fs::write(&path, bench.to_string()).unwrap();
    let path = path.to_str().unwrap().to_owned();
    (folder, path)
}

#[test]
fn a_slipped_decimal_in_a_warm_up_row_ends_with_its_line() {
    let folder = tempfile::tempdir().unwrap();
    let sound =
        std::fs::read_to_string(format!("{}/lab-files/warm-up.csv", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let path = folder.path().join("slip.csv");
    std::fs::write(&path, sound.replace("50;16,18;", "50;1,618;")).unwrap();
    let (status, said) =
        failure(&["heat", &example("window-bench.json"), "--warm-up", path.to_str().unwrap()]);
    assert_eq!(status, 1);
    assert!(said.contains("slip.csv, line 10: 1.618 V at 1.8 A is 0.899 ohm"), "{said}");
    assert!(said.contains("hint: look for a slipped decimal point"), "{said}");
}

#[test]
fn a_date_outside_the_magnetic_model_is_refused_by_check() {
    let site = serde_json::json!({ "latitude": "51 deg", "longitude": "7 deg", "height": "90 m",
        "date": "1900-03-01", "axis_bearing": "75 deg" });
    let (_folder, path) = changed(|bench| bench["room"] = serde_json::json!({ "site": site }));
    let (status, said) = failure(&["check", &path]);
    assert_eq!(status, 1);
    assert!(said.contains("the year 1900 lies outside the magnetic model's validity"), "{said}");
    assert!(said.contains("allowed: 2020-01-01 to 2029-12-31"), "{said}");
}

#[test]
fn what_a_hint_offers_as_the_largest_current_is_read() {
    let bench = example("window-bench.json");
    let (_, said) = failure(&["heat", &bench, "--current", "20000 A"]);
    assert!(said.contains("1 µA to 10000 A"), "{said}");
    assert!(run(&["heat", &bench, "--current", "10000 A"]).status.success());
}

#[test]
fn uniformity_answers_at_the_coarsest_accuracy_and_for_a_gun_far_out_of_the_plane() {
    for name in ["window-bench", "quote-parallel", "quote-thick", "quote-used"] {
        let spec = example(&format!("{name}.json"));
        let [coarse, fine] = ["0.01", "1e-12"].map(|accuracy| {
            json(&["uniformity", &spec, "--accuracy", accuracy, "--json"])["reach"]["sphere_radius_m"]
                .as_f64()
                .unwrap()
        });
        assert!((coarse / fine - 1.0).abs() < 1e-3, "{name}: {coarse} m, {fine} m");
    }
    for direction in [[0.0, 1.0, 5.0], [0.0, 0.1, 1.0]] {
        let (_folder, path) = changed(|bench| bench["tube"]["gun_direction"] = serde_json::json!(direction));
        let record = json(&["uniformity", &path, "--json"]);
        assert!(
            record["notes"].to_string().contains("effective field of the beam circles is left out"),
            "{record}"
        );
    }
}

#[test]
fn a_json_stream_with_a_bad_row_is_a_whole_document_that_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let points = folder.path().join("points.csv");
    std::fs::write(&points, "x_m,y_m,z_m\n0,0,0\n0.01,0,0\n0,oops,0\n").unwrap();
    let output =
        run(&["field", &example("window-bench.json"), "--points", points.to_str().unwrap(), "--json"]);
    assert_eq!(output.status.code(), Some(1));
    let record: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(record["points"].as_array().unwrap().len(), 2);
    assert!(record["stopped_at"].as_str().unwrap().contains("line 4"), "{record}");
}

#[test]
fn size_keeps_nothing_when_its_spec_cannot_be_written_and_spares_its_own_set_and_input() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let wishes = serde_json::json!({
        "title": "Some wishes", "largest_field": "1 mT",
        "tube": { "beam_radius": ["26 mm", "50 mm"] }, "supply": { "current_limit": "2.5 A" },
        "search": { "mean_radius": ["150 mm", "160 mm"], "width": ["12 mm", "14 mm"], "depth": ["8 mm", "10 mm"],
            "spacing": "radius", "wires": [{ "size": "0.9 mm", "build": "grade 2" }] }
    });
    std::fs::write(at("wishes.json"), wishes.to_string()).unwrap();
    let (status, said) = failure(&[
        "size",
        &at("wishes.json"),
        "--out",
        &at("out"),
        "--write",
        &at("out/size.json"),
        "--force",
    ]);
    assert_eq!(status, 1);
    assert!(said.contains("two files of this run would have that name"), "{said}");
    let (_, said) = failure(&["size", &at("wishes.json"), "--write", &at("wishes.json"), "--force"]);
    assert!(said.contains("this run reads that file"), "{said}");
    std::fs::create_dir(at("taken.json")).unwrap();
    let (_, said) =
        failure(&["size", &at("wishes.json"), "--out", &at("out"), "--write", &at("taken.json"), "--force"]);
    assert!(said.contains("a folder of that name is in the way"), "{said}");
    assert_eq!(names(folder.path()), ["taken.json", "wishes.json"]);
    assert!(
        run(&["size", &at("wishes.json"), "--out", &at("out"), "--write", &at("best.json")]).status.success()
    );
    let written = ["front.png", "front.svg", "size.csv", "size.json", "winding-1.json", "winding-2.json"];
    assert_eq!(names(&folder.path().join("out")), written);
    let [best, first] = ["best.json", "out/winding-1.json"].map(|name| std::fs::read(at(name)).unwrap());
    assert_eq!(best, first);
    assert!(run(&["check", &at("best.json")]).status.success());
}

#[test]
fn no_command_writes_over_what_it_reads() {
    let folder = tempfile::tempdir().unwrap();
    let spec = folder.path().join("heat.json");
    std::fs::copy(example("window-bench.json"), &spec).unwrap();
    let (folder, spec_text) = (folder.path().to_str().unwrap(), spec.to_str().unwrap());
    let (status, said) = failure(&["heat", spec_text, "--out", folder, "--force"]);
    assert_eq!(status, 1);
    assert!(said.contains("heat.json: this run reads that file"), "{said}");
    assert_eq!(std::fs::read(&spec).unwrap(), std::fs::read(example("window-bench.json")).unwrap());
}

#[test]
fn what_identify_writes_every_command_reads() {
    let folder = tempfile::tempdir().unwrap();
    let measured = folder.path().join("measured.json");
    let written = folder.path().join("spec.json");
    for (inner, outer, width, spacing, ohm) in [
        (327.0, 345.0, 21.0, 168.0, 8.1),
        (327.0, 345.0, 21.0, 22.0, 8.1),
        (327.0, 345.0, 21.0, 168.0, 0.02),
        (100.0, 130.0, 30.0, 60.0, 0.01),
        (300.0, 304.0, 3.0, 150.0, 0.005),
        (200.0, 500.0, 80.0, 300.0, 4000.0),
    ] {
        let size = |value: f64| serde_json::json!({ "value": format!("{value} mm"), "uncertainty": "1 mm" });
        let document = serde_json::json!({
            "title": "Unlabelled", "inner_diameter": size(inner), "outer_diameter": size(outer),
            "width": size(width), "spacing": size(spacing),
            "resistance": { "value": format!("{ohm} ohm"), "uncertainty": format!("{} ohm", 0.01 * ohm) }
        });
        std::fs::write(&measured, document.to_string()).unwrap();
        let (measured, written) = (measured.to_str().unwrap(), written.to_str().unwrap());
        let output = run(&["identify", measured, "--write", written, "--force", "--json"]);
        if output.status.success() {
            let check = run(&["check", written]);
            assert!(check.status.success(), "{document}: {}", String::from_utf8_lossy(&check.stderr));
            assert!(!String::from_utf8(output.stdout).unwrap().contains("null"), "{document}");
        } else {
            assert!(String::from_utf8(output.stderr).unwrap().contains("hint: "), "{document}");
        }
    }
}

#[cfg(unix)]
mod unix {
    use super::*;
    use std::process::{Command, Stdio};
    use std::time::{Duration, Instant};

    /// Runs the program under limits of the shell; returns its status and output.
    fn limited(limits: &str, arguments: &[&str]) -> (Option<i32>, String) {
        let output = Command::new("sh")
            .arg("-c")
            .arg(format!("{limits}; exec \"$@\""))
            .arg("sh")
            .arg(env!("CARGO_BIN_EXE_coilwright"))
            .args(arguments)
            .output()
            .unwrap();
        (output.status.code(), String::from_utf8(output.stderr).unwrap())
    }

    #[test]
    fn a_device_or_a_link_is_never_replaced() {
        let folder = tempfile::tempdir().unwrap();
        let measured = format!("{}/lab-files/cupboard-pair.json", env!("CARGO_MANIFEST_DIR"));
        let target = folder.path().join("target.json");
        let link = folder.path().join("link.json");
        std::fs::write(&target, "mine").unwrap();
        std::os::unix::fs::symlink(&target, &link).unwrap();
        for (path, kind) in [("/dev/null", "a device"), (link.to_str().unwrap(), "a link")] {
            let (status, said) = failure(&["identify", &measured, "--write", path, "--force"]);
            assert_eq!(status, 1);
            assert!(said.contains(&format!("{kind} of that name is in the way")), "{said}");
        }
        assert_eq!(std::fs::read_to_string(&target).unwrap(), "mine");
        use std::os::unix::fs::FileTypeExt;
        assert!(std::fs::metadata("/dev/null").unwrap().file_type().is_char_device());
    }

    #[test]
    fn a_previous_calibration_without_end_is_refused() {
        let bench = example("window-bench.json");
        let (status, said) = limited("ulimit -v 4000000", &["calibrate", &bench, "--previous", "/dev/zero"]);
        assert_eq!(status, Some(1), "{said}");
        assert!(said.contains("it holds more than 16777216 bytes"), "{said}");
    }

    #[test]
    fn a_file_size_limit_is_told_and_leaves_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("out");
        let bench = example("window-bench.json");
        let (status, said) = limited("ulimit -f 1", &["heat", &bench, "--out", out.to_str().unwrap()]);
        assert_eq!(status, Some(1), "{said}");
        assert!(said.contains("the file would be larger than is allowed there"), "{said}");
        assert!(names(folder.path()).is_empty());
    }

    #[test]
    fn each_signal_has_its_own_status_and_leaves_nothing() {
        for (signal, status) in [("INT", 130), ("TERM", 143), ("HUP", 129)] {
            let folder = tempfile::tempdir().unwrap();
            let out = folder.path().join("out");
            let mut running = Command::new(env!("CARGO_BIN_EXE_coilwright"))
                .args(["tolerance", &example("window-bench.json"), "--builds", "1000000", "--out"])
                .arg(&out)
                .stdout(Stdio::null())
                .spawn()
                .unwrap();
            let begun = Instant::now();
            while !(out.exists() && names(&out).iter().any(|name| name.ends_with(".part"))) {
                assert!(begun.elapsed() < Duration::from_secs(60), "no temporary folder appeared");
                std::thread::sleep(Duration::from_millis(5));
            }
            let sent = Command::new("kill").args(["-s", signal, &running.id().to_string()]).status().unwrap();
            assert!(sent.success());
            assert_eq!(running.wait().unwrap().code(), Some(status), "SIG{signal}");
            assert!(names(folder.path()).is_empty(), "SIG{signal}: {:?}", names(folder.path()));
        }
    }

    #[test]
    fn what_a_killed_run_left_behind_is_removed_by_the_next() {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("out");
        let mut running = Command::new(env!("CARGO_BIN_EXE_coilwright"))
            .args(["tolerance", &example("window-bench.json"), "--builds", "1000000", "--out"])
            .arg(&out)
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        let begun = Instant::now();
        while !(out.exists() && names(&out).iter().any(|name| name.ends_with(".part"))) {
            assert!(begun.elapsed() < Duration::from_secs(60), "no temporary folder appeared");
            std::thread::sleep(Duration::from_millis(5));
        }
        running.kill().unwrap();
        running.wait().unwrap();
        assert_eq!(names(&out).len(), 1);
        let out_text = out.to_str().unwrap();
        assert!(run(&["heat", &example("window-bench.json"), "--out", out_text]).status.success());
        assert!(names(&out).iter().all(|name| name.starts_with("heat")), "{:?}", names(&out));
    }
}
