//! The numbers that people read, on the pages of every command, over random pairs, readings and runs.
//!
//! No number has more than six significant digits, an exponent although the plain number is as short, or a unit
//! unsuited to its size. Lines that hold identifiers and not figures are left out: version, digest and title, dates,
//! the CODATA values, and the names of files.

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};
use regex::Regex;
use serde_json::{Value, json};
use std::fmt::Write;
use std::path::Path;
use std::process::Command;

/// Lines that hold identifiers, or a piece of the user's own file.
const NOT_FIGURES: &str = r#"coilwright \d|spec\s+"|CODATA|\d{4}-\d\d-\d\d|^wrote |digest|^\s*\d+ \||^[0-9a-f]{12}(; |$)|: [0-9a-f]{12}|[0-9a-f]{64}|none given \([0-9a-f]{8}"#;

/// A number, its exponent, and the unit after it.
const NUMBER: &str = r"(^|[^\w.#−+-])[-+−±]?(\d+(?:\.\d+)?)(?:e([-+−]?\d+))?(?:[  ]?(km|mm|µm|m|mA|µA|A|kV|mV|V|mΩ|kΩ|Ω|mT|µT|nT|T|mT/A|µT/A|T/A|kW|mW|W|min|h|s|ms|ns|µs|mH|H|kg|g|N|mN|%|ppm)([^\w/]|$))?";

/// A value with its uncertainty: sign and number, number.
const UNCERTAIN: &str = r"\(([-−]?\d+(?:\.\d+)?) ± (\d+(?:\.\d+)?)\)";

/// What is wrong with a value and its uncertainty: two significant digits of the uncertainty and the value to the same place
/// (JCGM 100:2008, 7.2.6), fewer where the value would have more than six.
fn rounding_fault(value: &str, uncertainty: &str) -> Option<&'static str> {
    let decimals = |number: &str| number.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    let digits = |number: &str| number.replace(['.', '-', '−'], "").trim_start_matches('0').len();
    let plain = |number: &str| !number.contains('.');
    // Noughts that fill the place of a whole number are no digits.
    let filled = plain(value) && plain(uncertainty) && digits(uncertainty) > 2;
    let significant = match filled {
        true => uncertainty.trim_end_matches('0').len(),
        false => digits(uncertainty),
    };
    match () {
        () if decimals(value) != decimals(uncertainty) => {
            Some("value and uncertainty end at different places")
        }
        () if significant > 2 => Some("more than two digits of an uncertainty"),
        () if significant < 2 && !filled && digits(value) < 6 && uncertainty != "0" => {
            Some("fewer than two digits of an uncertainty")
        }
        () => None,
    }
}

/// The faults of the numbers on a page.
fn faults(page: &str) -> Vec<String> {
    let (number, not_figures) = (Regex::new(NUMBER).unwrap(), Regex::new(NOT_FIGURES).unwrap());
    let mut faults = Vec::new();
    if page.contains("from memory") {
        faults.push("a source `from memory` in a user's line".to_owned());
    }
    let uncertain = Regex::new(UNCERTAIN).unwrap();
    for line in page.lines() {
        for found in uncertain.captures_iter(line) {
            if let Some(fault) = rounding_fault(&found[1], &found[2]) {
                faults.push(format!("{fault}: `{}` in `{}`", &found[0], line.trim()));
            }
        }
    }
    for line in page.lines().filter(|line| !not_figures.is_match(line)) {
        let mut at = 0;
        while let Some(found) = number.captures_at(line, at) {
            let digits = &found[2];
            at = found.get(2).unwrap().end();
            let exponent =
                found.get(3).map(|exponent| exponent.as_str().replace('−', "-").parse::<i32>().unwrap());
            let unit = found.get(4).map(|unit| unit.as_str());
            if let Some(fault) = fault(digits, exponent, unit) {
                faults.push(format!("{fault}: `{}` in `{}`", found[0].trim(), line.trim()));
            }
        }
    }
    faults
}

fn fault(digits: &str, exponent: Option<i32>, unit: Option<&str>) -> Option<&'static str> {
    let significant = match digits.contains('.') {
        true => digits.replace('.', "").trim_start_matches('0').len(),
        false => digits.trim_matches('0').len(),
    };
    let value: f64 = digits.parse().unwrap();
    let hides = |smallest: f64| value != 0.0 && !(smallest..1e4).contains(&value);
    match (exponent, unit) {
        _ if significant > 6 => Some("more than six digits"),
        (Some(exponent), _) if value == 0.0 || (-3..=5).contains(&exponent) => {
            Some("an exponent that hides the number")
        }
        (None, Some("ppm")) => Some("parts per million beside percentages"),
        (None, Some("%")) if hides(1e-4) => Some("a unit that hides its size"),
        (None, Some(unit)) if unit != "%" && hides(1e-3) => Some("a unit that hides its size"),
        _ => None,
    }
}

#[test]
fn the_reader_of_pages_sees_the_faults_that_were_printed_once() {
    for (line, count) in [
        ("covariance                        0.000e0 T²/A", 1),
        ("effective degrees of freedom      187169880958075.4", 1),
        ("moves the beam 209945.9 mm along the axis in one turn", 1),
        ("change of the field  -5.52 ppm", 1),
        ("a field of 0.00002 T", 1),
        ("1.2e-2 and 3.4e4", 2),
        ("(20.00134 ± 0.00065) µT", 1),
        ("(0.856 ± 0.0034) mT/A, (0.8562 ± 0.003) mT/A", 2),
        ("(0.85623 ± 0.00344) mT/A", 1),
        ("(176200 ± 2300) V, (1.81255 ± 0.00001) mT, (3 ± 12) µT", 0),
        ("looked at  8259748 windings: 12 wires", 1),
        ("looked at  8.26 million windings: 12 wires", 0),
        ("IEC 61010-1 (from memory)", 1),
        ("e/m = (1.761 ± 0.023)e11 C/kg, 8.38731e6 m/s, 1e-10, 0.8562 mT/A, 100000 turns, AWG 19", 0),
    ] {
        assert_eq!(faults(line).len(), count, "{line}: {:?}", faults(line));
    }
}

/// A number between two others, uniform in its logarithm.
fn between(random: &mut Xoshiro256PlusPlus, least: f64, most: f64) -> f64 {
    let part = (random.next_u64() >> 11) as f64 / (1u64 << 53) as f64;
    (least.ln() + part * (most / least).ln()).exp()
}

/// A pair of any size, whose meters, tolerances and room vary by orders of magnitude.
fn random_spec(random: &mut Xoshiro256PlusPlus) -> Value {
    let text = include_str!("../../coil-specs/window-bench.json");
    let mut spec: Value = serde_json::from_str(text).unwrap();
    let [layers, in_layer] = [between(random, 1.0, 15.0), between(random, 2.0, 30.0)].map(f64::floor);
    let bare = between(random, 0.3, 2.0);
    let [width, depth] = [in_layer, layers].map(|count| 1.2 * bare * count);
    let radius = between(random, 20.0, 1500.0).max(3.0 * depth).max(3.0 * width);
    let mm = |value: f64| json!(format!("{value:.4} mm"));
    let mut part = |least: f64, most: f64| between(random, least, most);
    spec["winding"] = json!({
        "mean_radius": mm(radius), "width": mm(width), "depth": mm(depth), "turns": layers * in_layer,
        "wire": { "conductor": "copper", "bare_diameter": mm(bare), "overall_diameter": mm(1.1 * bare) },
    });
    spec["spacing"] = mm(radius * part(0.9, 1.1));
    spec["build_tolerance"] = json!({
        "mean_radius": mm(radius * part(1e-4, 1e-2)), "spacing": mm(radius * part(1e-4, 1e-2)), "turns": 0.5,
        "width": mm(width * part(1e-3, 1e-2)), "depth": mm(depth * part(1e-3, 1e-2)),
        "offset": mm(radius * part(1e-4, 1e-2)), "tilt": format!("{:.4} deg", part(1e-3, 1.0)),
    });
    let bulb = 0.5 * radius;
    let tube = &mut spec["tube"];
    tube["bulb_radius"] = mm(bulb);
    tube["gun_exit"] = json!([mm(0.55 * bulb), "0 mm", "0 mm"]);
    tube["beam_radius"] = json!([mm(0.3 * bulb), mm(0.5 * bulb)]);
    spec["room"]["field"] = json!(["x", "y", "z"].map(|_| format!("{:.5} uT", part(1e-3, 200.0))));
    spec["ammeter"]["accuracy_of_reading"] = json!(format!("{:.5} %", part(1e-4, 2.0)));
    spec["voltmeter"]["accuracy_of_reading"] = json!(format!("{:.5} %", part(1e-4, 2.0)));
    spec["field_meter"] = json!({
        "accuracy_of_reading": format!("{:.5} %", part(1e-4, 2.0)), "zero": format!("{:.5} uT", part(1e-3, 50.0)),
    });
    spec
}

/// What is wished of a pair about as large as a random one, most of which can be had.
fn random_wishes(random: &mut Xoshiro256PlusPlus) -> Value {
    let mut part = |least: f64, most: f64| between(random, least, most);
    let radius = part(30.0, 600.0);
    let mm = |value: f64| json!(format!("{value:.3} mm"));
    let bulb = 0.5 * radius;
    json!({
        "title": "Drawn",
        "tube": {
            "bulb_radius": mm(bulb), "gun_exit": [mm(0.55 * bulb), "0 mm", "0 mm"], "gun_direction": [0, 1, 0],
            "gun_voltage": ["120 V", "280 V"], "beam_radius": [mm(0.3 * bulb), mm(0.5 * bulb)],
        },
        "clearance": mm(part(0.01, 10.0)),
        "supply": {
            "voltage_limit": format!("{:.3} V", part(0.5, 300.0)), "current_limit": format!("{:.4} A", part(0.1, 30.0)),
        },
        "beam_deviation": format!("{:.4} %", part(0.01, 5.0)),
        "time_at_largest_current": format!("{:.1} min", part(0.5, 300.0)),
        "surface_temperature_limit": format!("{:.1} degC", part(30.0, 90.0)),
        "search": {
            "mean_radius": [mm(0.9 * radius), mm(1.2 * radius)], "width": [mm(0.05 * radius), mm(0.12 * radius)],
            "depth": [mm(0.04 * radius), mm(0.1 * radius)], "spacing": "second order",
            "wires": [{ "size": "0.5 mm", "build": "grade 2" }, { "size": "1 mm", "build": "grade 1" }],
        },
    })
}

/// A coil of no label, its figures good or bad by orders of magnitude.
fn random_measurements(spec: &Value, constant: f64, random: &mut Xoshiro256PlusPlus) -> Value {
    let mm = |key: &str| -> f64 {
        spec["winding"][key].as_str().unwrap().trim_end_matches(" mm").parse().unwrap()
    };
    let (radius, width, depth) = (mm("mean_radius"), mm("width"), mm("depth"));
    let mut of = |value: f64, unit: &str| {
        let uncertainty = value * between(random, 1e-5, 1e-2);
        json!({ "value": format!("{value:.6} {unit}"), "uncertainty": format!("{uncertainty:.8} {unit}") })
    };
    let mut field = of(1e3 * constant, "mT");
    field["current"] = json!("1 A");
    json!({
        "title": "Drawn", "connection": "series",
        "inner_diameter": of(2.0 * radius - depth, "mm"), "outer_diameter": of(2.0 * radius + depth, "mm"),
        "width": of(width, "mm"), "spacing": of(radius, "mm"), "field": field,
    })
}

/// A warm-up test of a pair: voltages of a coil that warms by a few kelvin.
fn warm_up_table(random: &mut Xoshiro256PlusPlus) -> String {
    let (ohm, rise) = (between(random, 0.5, 50.0), between(random, 2.0, 60.0));
    let mut table = String::from("time_min,voltage_V,current_A\n");
    for minute in [0.0_f64, 2.0, 5.0, 10.0, 20.0, 40.0, 60.0] {
        let kelvin = rise * (1.0 - (-minute / 20.0).exp());
        writeln!(table, "{minute},{:.5},1", ohm * (1.0 + 0.00393 * kelvin)).unwrap();
    }
    table
}

/// The text of a page of HTML.
fn without_tags(html: &str) -> String {
    let style = Regex::new(r"(?s)<style.*?</style>|<svg.*?</svg>").unwrap();
    let text = style.replace_all(html, "");
    Regex::new(r"<[^>]*>").unwrap().replace_all(&text, " ").replace("&nbsp;", " ")
}

/// Runs a command and collects the faults of its page, or of its error message.
fn read(folder: &Path, arguments: &[&str], faults_found: &mut String) -> bool {
    let output =
        Command::new(env!("CARGO_BIN_EXE_coilwright")).args(arguments).current_dir(folder).output().unwrap();
    let page = String::from_utf8(output.stdout).unwrap() + &String::from_utf8(output.stderr).unwrap();
    for fault in faults(&page) {
        writeln!(faults_found, "{}: {fault}", arguments.join(" ")).unwrap();
    }
    output.status.success()
}

/// Readings and runs of a pair with this field constant, with a scatter of any size.
fn write_tables(folder: &Path, constant: f64, bulb_m: f64, random: &mut Xoshiro256PlusPlus) {
    let scatter = between(random, 1e-5, 2e-2);
    let mut noise = || {
        let part = (random.next_u64() >> 11) as f64 / (1u64 << 53) as f64;
        1.0 + scatter * (2.0 * part - 1.0)
    };
    let mut readings = String::from("current_A,field_mT\n");
    for ampere in [0.5, 1.0, 1.5, -0.5, -1.0, -1.5] {
        writeln!(readings, "{ampere},{}", 1e3 * (constant * ampere * noise() + 2e-5)).unwrap();
    }
    std::fs::write(folder.join("readings.csv"), readings).unwrap();
    let mut runs = String::from("gun_voltage_V,current_A,radius_mm\n");
    for ampere in [1.0_f64, 1.5, -1.0, -1.5] {
        for volt in [120.0_f64, 180.0, 240.0] {
            let radius_m = (2.0 * volt / 1.758_82e11).sqrt() / (constant * ampere.abs());
            if radius_m < 0.5 * bulb_m {
                writeln!(runs, "{volt},{ampere},{}", 1e3 * radius_m * noise()).unwrap();
            }
        }
    }
    std::fs::write(folder.join("runs.csv"), runs).unwrap();
}

/// The runs again, one radius of them misread by a fifth.
fn write_misread(folder: &Path) {
    let runs = std::fs::read_to_string(folder.join("runs.csv")).unwrap();
    let mut lines: Vec<String> = runs.lines().map(str::to_owned).collect();
    if let Some(last) = lines.last_mut()
        && let Some((before, radius)) = last.rsplit_once(',')
        && let Ok(radius) = radius.parse::<f64>()
    {
        *last = format!("{before},{}", 1.2 * radius);
    }
    std::fs::write(folder.join("misread.csv"), lines.join("\n")).unwrap();
}

#[test]
fn no_page_hides_a_number_behind_digits_exponents_or_units() {
    let mut random = Xoshiro256PlusPlus::seed_from_u64(20_260_301);
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let (mut found, mut answered) = (String::new(), 0);
    for round in 0..6 {
        let spec = random_spec(&mut random);
        std::fs::write(folder.join("pair.json"), spec.to_string()).unwrap();
        let bench = coilwright::files::spec::read_bench(folder.join("pair.json")).unwrap_or_else(|error| {
            let coilwright::Error::Diagnosed { diagnosis, .. } = &error else { panic!("{error}") };
            panic!("{}", diagnosis.draw(false))
        });
        let constant = coilwright::questions::calibrate::computed_slope_tesla_per_ampere(&bench).unwrap();
        write_tables(
            folder,
            constant,
            bench.tube.as_ref().and_then(|tube| tube.bulb_radius_m).unwrap(),
            &mut random,
        );
        let measured = random_measurements(&spec, constant, &mut random);
        std::fs::write(folder.join("measured.json"), measured.to_string()).unwrap();
        std::fs::write(folder.join("wishes.json"), random_wishes(&mut random).to_string()).unwrap();
        std::fs::write(folder.join("warm-up.csv"), warm_up_table(&mut random)).unwrap();
        write_misread(folder);
        let duty =
            format!("{:.2} min/{:.2} min", between(&mut random, 0.2, 60.0), between(&mut random, 0.2, 60.0));
        let current = format!("{:.3} A", between(&mut random, 0.05, 2.5));
        let voltage = format!("{:.0} V", between(&mut random, 20.0, 2000.0));
        let orbit: &[&str] = &["orbit", "pair.json", "--gun-voltage", &voltage, "--current", &current];
        let out = &["--out", "out", "--force"];
        let mut questions: Vec<Vec<&str>> = vec![
            vec!["check", "pair.json"],
            vec!["sheet", "pair.json"],
            vec!["uniformity", "pair.json", "--within", "1%"],
            vec!["calibrate", "pair.json"],
            vec!["calibrate", "pair.json", "--readings", "readings.csv"],
            vec!["calibrate", "pair.json", "--plan", "--want", "1 %"],
            vec!["weigh", "pair.json", "--runs", "runs.csv"],
            vec!["tolerance", "pair.json", "--builds", "20"],
            orbit.to_vec(),
            [orbit, &["--bias"], out].concat(),
            [&["orbit", "pair.json", "--gun-voltage", "100 V,200 V", "--chart"], &out[..]].concat(),
        ];
        questions.push([orbit, &["--scale"], out].concat());
        questions.push(vec!["identify", "measured.json"]);
        questions.push(vec!["weigh", "pair.json", "--runs", "misread.csv"]);
        questions.push(vec!["heat", "pair.json", "--duty", &duty]);
        questions.push(vec!["size", "wishes.json"]);
        if round % 3 == 0 {
            // The slow ones.
            questions.push(vec!["heat", "pair.json", "--warm-up", "warm-up.csv"]);
            questions.push(vec!["compare", "pair.json", "pair.json", "--needs", "wishes.json"]);
            questions.push([&["calibrate", "pair.json"], &out[..]].concat());
            questions.push(vec!["heat", "pair.json", "--current", &current]);
            questions.push(vec!["compare", "pair.json", "pair.json"]);
            questions.push([&["map", "pair.json"], &out[..]].concat());
            questions.push(vec!["accept", "pair.json", "--measured", "measured.json"]);
            questions.push([&["build", "pair.json"], &out[..]].concat());
            questions.push([&["tender", "wishes.json"], &out[..]].concat());
            questions.push([&["lesson", "pair.json"], &out[..]].concat());
        }
        for question in questions {
            answered += usize::from(read(folder, &question, &mut found));
        }
    }
    let mut pages = 0;
    // Pupils see k in both units, because they compute in tesla.
    let slope_in_tesla = Regex::new(r" mT/A = [\d.]+ T/A").unwrap();
    for name in [
        "handout.html",
        "certificate.html",
        "drawings.html",
        "winding-sheet.html",
        "order-list.html",
        "test-sheet.html",
        "tender.html",
        "quote.html",
        "worksheet.html",
        "answers.html",
    ] {
        // The last pair may be one of which this paper is refused.
        let Ok(page) = std::fs::read_to_string(folder.join("out").join(name)) else { continue };
        pages += 1;
        let text = slope_in_tesla.replace_all(&without_tags(&page), " mT/A").into_owned();
        for fault in faults(&text) {
            writeln!(found, "{name}: {fault}").unwrap();
        }
    }
    assert!(found.is_empty(), "{found}");
    assert!(pages >= 7, "only {pages} pages were read");
    assert!(answered > 60, "only {answered} questions were answered: the random pairs are no pairs");
}

#[test]
fn the_pages_of_the_example_files_hide_no_number() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| root.join(name).to_str().unwrap().to_owned();
    let [bench, pair, runs, readings, wishes] = [
        "coil-specs/window-bench.json",
        "lab-files/cupboard-pair.json",
        "lab-files/runs.csv",
        "lab-files/readings.csv",
        // Millions of windings.
        "lab-files/lessons.json",
    ]
    .map(path);
    // Runs that give an e/m far from the electron's.
    let far = "gun_voltage_V,current_A,radius_mm\n5000,1.5,30\n200,1.5,38\n180,1.6,33\n";
    std::fs::write(folder.path().join("far.csv"), far).unwrap();
    let mut found = String::new();
    for question in [
        vec!["identify", &pair],
        vec!["check", &bench, "--measured", &pair],
        vec!["weigh", &bench, "--runs", &runs],
        vec!["calibrate", &bench, "--readings", &readings, "--monte-carlo", "1000"],
        vec!["weigh", &bench, "--runs", "far.csv"],
        vec!["size", &wishes],
        vec!["wires"],
    ] {
        read(folder.path(), &question, &mut found);
    }
    assert!(found.is_empty(), "{found}");
}
