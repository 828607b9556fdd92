//! Published straight lines and a budget of the GUM's kind through the whole of `calibrate`: from spec and readings to the
//! record, the tables and the certificate's page.

use crate::certificate::{certificate, section};
use crate::program::{failure, json, number};
use serde_json::{Value, json as value};
use std::path::Path;

const BENCH: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/coil-specs/window-bench.json");

/// Published data, read as amperes and millitesla, with what is printed of the line.
struct Published {
    source: &'static str,
    /// Current, field, u of the current, u of the field; columns that are not stated are left out.
    readings: Vec<[Option<f64>; 4]>,
    /// a, b, u(a), u(b), cov(a, b) with the half unit of the last place printed.
    printed: [[f64; 2]; 5],
    degrees_of_freedom: u32,
    /// Residual standard deviation where the uncertainty comes from it, chi-square where it does not.
    chi_square: Option<[f64; 2]>,
    residual_standard_deviation: Option<[f64; 2]>,
    /// Student's t for 95.45 % and these degrees of freedom (JCGM 100:2008, table G.2), else 2.
    coverage_factor: f64,
    /// What the certificate must say of method and result.
    method: &'static str,
    result: &'static [&'static str],
}

fn rows(x: &[f64], y: &[f64], u_x: Option<&[f64]>, u_y: Option<&[f64]>) -> Vec<[Option<f64>; 4]> {
    let of = |column: Option<&[f64]>, place: usize| column.map(|values| values[place]);
    (0..x.len()).map(|at| [Some(x[at]), Some(y[at]), of(u_x, at), of(u_y, at)]).collect()
}

/// The examples of ISO/TS 28037:2010 that readings can state, and annex H.3 of JCGM 100:2008. Read in the documentation of a
/// public uncertainty library that quotes the standard by page, and (H.3) in the test suites of two such libraries.
///
/// The standard prints no numbers here that could be read for clauses 8 to 10, with full covariance matrices; see
/// [`readings_that_share_errors_are_fitted_with_their_covariances`].
fn published() -> Vec<Published> {
    let six = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0];
    vec![
        Published {
            source: "ISO/TS 28037:2010, 6.3, example 1, page 13: equal weights",
            readings: rows(&six, &[3.3, 5.6, 7.1, 9.3, 10.7, 12.1], None, Some(&[0.5; 6])),
            printed: [[1.867, 5e-4], [1.757, 5e-4], [0.465, 5e-4], [0.120, 5e-4], [-0.050, 5e-4]],
            degrees_of_freedom: 4,
            chi_square: Some([1.665, 5e-4]),
            residual_standard_deviation: None,
            coverage_factor: 2.0,
            method: "weighted least squares, uncertainty in the field only (ISO/TS 28037:2010)",
            result: &[
                "slope 1.76 mT/A, u = 0.12 mT/A; intercept 1.87 mT, u = 0.47 mT",
                "-5.0e-8 T²/A",
                "1.66 with 4 degrees of freedom",
            ],
        },
        Published {
            source: "ISO/TS 28037:2010, 6.3, example 2, page 15: unequal weights",
            readings: rows(
                &six,
                &[3.2, 4.3, 7.6, 8.6, 11.7, 12.8],
                None,
                Some(&[0.5, 0.5, 0.5, 1.0, 1.0, 1.0]),
            ),
            printed: [[0.885, 5e-4], [2.057, 5e-4], [0.530, 5e-4], [0.178, 5e-4], [-0.082, 5e-4]],
            degrees_of_freedom: 4,
            chi_square: Some([4.131, 5e-4]),
            residual_standard_deviation: None,
            coverage_factor: 2.0,
            method: "weighted least squares, uncertainty in the field only (ISO/TS 28037:2010)",
            result: &[
                "slope 2.06 mT/A, u = 0.18 mT/A; intercept 0.89 mT, u = 0.53 mT",
                "-8.2e-8 T²/A",
                "4.13 with 4 degrees of freedom",
            ],
        },
        Published {
            // The printed slope 2.159 is 2.15966 cut, not rounded.
            source: "ISO/TS 28037:2010, 7.4, page 21: uncertainty in both",
            readings: rows(
                &[1.2, 1.9, 2.9, 4.0, 4.7, 5.9],
                &[3.4, 4.4, 7.2, 8.5, 10.8, 13.5],
                Some(&[0.2; 6]),
                Some(&[0.2, 0.2, 0.2, 0.4, 0.4, 0.4]),
            ),
            printed: [[0.5788, 5e-5], [2.1595, 5e-4], [0.4764, 5e-5], [0.1355, 5e-5], [-0.0577, 5e-5]],
            degrees_of_freedom: 4,
            chi_square: Some([2.743, 5e-4]),
            residual_standard_deviation: None,
            coverage_factor: 2.0,
            method: "generalised distance regression, uncertainty in both (ISO/TS 28037:2010)",
            result: &[
                "slope 2.16 mT/A, u = 0.14 mT/A; intercept 0.58 mT, u = 0.48 mT",
                "-5.8e-8 T²/A",
                "2.74 with 4 degrees of freedom",
            ],
        },
        Published {
            // The sum of squares is 0.1165; the 0.171 printed beside it is √(0.1165/4), the residual standard deviation. The
            // annex then widens u by √(ν/(ν − 2)); here Student's t does, as JCGM 100:2008, G.3, has it.
            source: "ISO/TS 28037:2010, annex E, pages 58 and 59: one unknown uncertainty",
            readings: rows(&six, &[3.014, 5.225, 7.004, 9.061, 11.201, 12.762], None, None),
            printed: [[1.172, 5e-4], [1.964, 5e-4], [0.159, 5e-4], [0.041, 5e-4], [-0.006, 5e-4]],
            degrees_of_freedom: 4,
            chi_square: None,
            residual_standard_deviation: Some([0.171, 5e-4]),
            coverage_factor: 2.87,
            method: "least squares, one common uncertainty from the scatter (ISO/TS 28037:2010)",
            result: &[
                "slope 1.964 mT/A, u = 0.041 mT/A; intercept 1.17 mT, u = 0.16 mT",
                "-5.8e-9 T²/A",
                "0.17 mT, 4 degrees of freedom",
                "coverage factor 2.87, no coverage probability claimed",
            ],
        },
        Published {
            // Table H.6: correction against temperature less 20 °C. Covariance: r = −0.930 times both s.
            source: "JCGM 100:2008, H.3: calibration of a thermometer",
            readings: rows(
                &[1.521, 2.012, 2.512, 3.003, 3.507, 3.999, 4.513, 5.002, 5.503, 6.010, 6.511],
                &[-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160],
                None,
                None,
            ),
            printed: [
                [-0.1712, 5e-5],
                [0.00218, 5e-6],
                [0.0029, 5e-5],
                [0.00067, 5e-6],
                [-0.930 * 0.0029 * 0.00067, 5e-8],
            ],
            degrees_of_freedom: 9,
            chi_square: None,
            residual_standard_deviation: Some([0.0035, 5e-5]),
            coverage_factor: 2.32,
            method: "least squares, one common uncertainty from the scatter (ISO/TS 28037:2010)",
            result: &[
                "slope 2.18 µT/A, u = 0.67 µT/A; intercept -0.1712 mT, u = 0.0029 mT",
                "correlation -0.930",
                "3.5 µT, 9 degrees of freedom",
                "coverage factor 2.32, no coverage probability claimed",
            ],
        },
    ]
}

/// The example bench without what would add to the uncertainty of the readings; its tables go to 10 A.
fn bare_bench(folder: &Path) -> String {
    let mut spec: Value = serde_json::from_str(&std::fs::read_to_string(BENCH).unwrap()).unwrap();
    for meter in ["ammeter", "field_meter", "former"] {
        spec.as_object_mut().unwrap().remove(meter);
    }
    spec["supply"]["current_limit"] = value!("10 A");
    spec["supply"]["voltage_limit"] = value!("200 V");
    written(folder, "bench.json", &spec.to_string())
}

fn written(folder: &Path, name: &str, text: &str) -> String {
    let path = folder.join(name);
    std::fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_owned()
}

fn csv(rows: &[[Option<f64>; 4]]) -> String {
    let names = ["current_A", "field_mT", "current_uncertainty_A", "field_uncertainty_mT"];
    let stated: Vec<usize> = (0..4).filter(|column| rows[0][*column].is_some()).collect();
    let line = |cells: Vec<String>| cells.join(",") + "\n";
    let heading = line(stated.iter().map(|column| names[*column].to_owned()).collect());
    let body =
        rows.iter().map(|row| line(stated.iter().map(|column| row[*column].unwrap().to_string()).collect()));
    heading + &body.collect::<String>()
}

fn assert_near(source: &str, what: &str, got: f64, [printed, half_unit]: [f64; 2]) {
    // A hundredth of the half unit for values that lie on it.
    assert!((got - printed).abs() <= 1.01 * half_unit, "{source}: {what}: got {got}, printed {printed}");
}

#[test]
fn published_lines_run_through_record_tables_and_certificate() {
    let folder = tempfile::tempdir().unwrap();
    let bench = bare_bench(folder.path());
    for published in published() {
        let source = published.source;
        let readings = written(folder.path(), "published.csv", &csv(&published.readings));
        let arguments = [&bench, "--readings", &readings, "--adopt", "fit", "--step", "1 A"];
        let record = json(&[&["calibrate", "--json"][..], &arguments].concat());
        the_fit_is_as_printed(&published, &record);
        the_tables_follow(&published, &record);
        let page = certificate(folder.path(), &arguments);
        let method = section(&page, "method");
        assert!(method.contains(published.method), "{source}: {method}");
        let result = section(&page, "result");
        for printed in published.result {
            assert!(result.contains(printed), "{source}: {printed}: {result}");
        }
        let rows = section(&page, "readings");
        assert!(rows.contains("residual in µT"), "{source}: {rows}");
    }
}

fn the_fit_is_as_printed(published: &Published, record: &Value) {
    let source = published.source;
    for ((key, milli), printed) in [
        ("intercept_tesla", 1e3),
        ("slope_tesla_per_ampere", 1e3),
        ("intercept_standard_uncertainty_tesla", 1e3),
        ("slope_standard_uncertainty_tesla_per_ampere", 1e3),
        ("covariance", 1e6),
    ]
    .into_iter()
    .zip(published.printed)
    {
        assert_near(source, key, milli * number(record, &format!("/fit/{key}")), printed);
    }
    assert_eq!(number(record, "/fit/degrees_of_freedom"), f64::from(published.degrees_of_freedom));
    match published.chi_square {
        Some(printed) => assert_near(source, "chi-square", number(record, "/fit/chi_square"), printed),
        None => assert!(record["fit"]["chi_square"].is_null()),
    }
    if let Some(printed) = published.residual_standard_deviation {
        let got = 1e3 * number(record, "/fit/residual_standard_deviation_tesla");
        assert_near(source, "residual standard deviation", got, printed);
    }
}

/// Every tabulated field with B0 is a + b I with u² = u(a)² + I² u(b)² + 2 I cov(a, b), as far as the printed digits tell.
fn the_tables_follow(published: &Published, record: &Value) {
    let source = published.source;
    let [[a, half_a], [b, half_b], [u_a, half_u_a], [u_b, half_u_b], [cov, half_cov]] = published.printed;
    assert_eq!(record["table"].as_array().unwrap().len(), 11, "{source}: 0 A to 10 A");
    for row in record["table"].as_array().unwrap() {
        let current = number(row, "/current_ampere");
        let field = 1e3 * number(row, "/field_with_intercept_tesla");
        let half_unit = half_a + current * half_b;
        assert_near(source, &format!("field at {current} A"), field, [a + b * current, half_unit]);
        let factor = number(row, "/field_with_intercept_coverage_factor");
        assert_near(source, "coverage factor", factor, [published.coverage_factor, 5e-3]);
        let expanded = 1e3 * number(row, "/field_with_intercept_expanded_uncertainty_tesla");
        let variance = u_a.powi(2) + (current * u_b).powi(2) + 2.0 * current * cov;
        let of_digits = 2.0 * (u_a * half_u_a + current.powi(2) * u_b * half_u_b + current * half_cov);
        // Warm coils add their share: 0.04 % of the slope, in quadrature.
        let of_warmth = (4e-4 * b * current).powi(2);
        let got = (expanded / factor).powi(2);
        assert_near(source, &format!("u² at {current} A"), got, [variance, of_digits + of_warmth]);
    }
}

#[test]
fn the_correction_at_30_degrees_is_that_of_annex_h3() {
    // JCGM 100:2008, H.3.4: b(30 °C) = −0.1494 °C with u = 0.0041 °C, the correlation of both parameters counted. 30 °C stands
    // 10 °C from the reference, here the row at 10 A.
    let folder = tempfile::tempdir().unwrap();
    let thermometer = published().pop().unwrap();
    let readings = written(folder.path(), "published.csv", &csv(&thermometer.readings));
    let bench = bare_bench(folder.path());
    let record =
        json(&["calibrate", &bench, "--readings", &readings, "--adopt", "fit", "--step", "1 A", "--json"]);
    let row = record["table"].as_array().unwrap().last().unwrap();
    assert_near("H.3.4", "b(30)", 1e3 * number(row, "/field_with_intercept_tesla"), [-0.1494, 5e-5]);
    let u = 1e3 * number(row, "/field_with_intercept_expanded_uncertainty_tesla")
        / number(row, "/field_with_intercept_coverage_factor");
    assert_near("H.3.4", "u(b(30))", u, [0.0041, 5e-5]);
}

/// Student's t for 95.45 %, from the table that stands for JCGM 100:2008, table G.2.
fn student(degrees_of_freedom: u32) -> f64 {
    let row = include_str!("../data/student_t.csv")
        .lines()
        .find_map(|line| line.strip_prefix(&format!("{degrees_of_freedom},")));
    row.unwrap().split(',').nth(3).unwrap().parse().unwrap()
}

#[test]
fn few_readings_and_limits_of_meters_combine_as_in_annex_h1() {
    // JCGM 100:2008, H.1.6: contributions with their degrees of freedom, ν_eff by Welch-Satterthwaite cut to a whole number,
    // U by Student's t. In H.1 a repeatability of few readings stands beside limits that are known exactly; here four readings
    // without uncertainties (ν = 2) beside the limits of both meters. All by hand:
    //
    // line: Σx = 0, Σx² = 10 A², k = Σxy/Σx², s² = Σr²/2, u(k) = s/√Σx²
    // ammeter: 0.8 % of reading and 2 digits of 0.01 A; the zero moves k by k Σ|x|/Σx² (the worse place is counted)
    // probe: 1.5 % of reading; limits are rectangular, u = limit/√3
    let folder = tempfile::tempdir().unwrap();
    let rows = [(-2.0, -1.66), (-1.0, -0.88), (1.0, 0.90), (2.0, 1.66)];
    let text: String = rows.iter().map(|(current, field)| format!("{current},{field}\n")).collect();
    let readings = written(folder.path(), "four.csv", &("current_A,field_mT\n".to_owned() + &text));
    let arguments = [BENCH, "--readings", &readings, "--adopt", "fit"];
    let record = json(&[&["calibrate", "--json"][..], &arguments].concat());

    let square: f64 = rows.iter().map(|(x, _)| x * x).sum();
    let k = rows.iter().map(|(x, y)| x * y).sum::<f64>() / square;
    let mean = rows.iter().map(|(_, y)| y).sum::<f64>() / 4.0;
    let residuals = rows.iter().map(|(x, y)| (y - mean - k * x).powi(2)).sum::<f64>();
    let of_fit = (residuals / 2.0 / square).sqrt();
    let root = 3f64.sqrt();
    let others = [0.008 / root * k, 0.015 / root * k, 0.02 / root * k * 6.0 / square];
    let variance = of_fit.powi(2) + others.iter().map(|part| part.powi(2)).sum::<f64>();
    let effective = 2.0 * variance.powi(2) / of_fit.powi(4);
    let factor = student(effective.floor() as u32);
    // The warmth of the coils, which is not counted here, adds 1e-4 of the variance.
    let close = |path: &str, wanted: f64, part: f64| {
        let got = number(&record, path);
        assert!((got / wanted - 1.0).abs() < part, "{path}: got {got}, wanted {wanted}");
    };
    close("/slope_tesla_per_ampere", 1e-3 * k, 1e-12);
    close("/slope_standard_uncertainty_tesla_per_ampere", 1e-3 * variance.sqrt(), 2e-4);
    close("/effective_degrees_of_freedom", effective, 6e-4);
    close("/coverage_factor", factor, 1e-5);
    close("/slope_expanded_uncertainty_tesla_per_ampere", 1e-3 * factor * variance.sqrt(), 2e-4);
    assert!((2.0..50.0).contains(&effective), "{effective}");

    let page = certificate(folder.path(), &arguments);
    let result = section(&page, "result");
    assert!(result.contains(&format!("effective degrees of freedom {}", effective.floor())), "{result}");
    assert!(
        result.contains(&format!("coverage factor {factor:.2}, coverage probability 95.5 %")),
        "{result}"
    );
    let budget = section(&page, "budget");
    for row in
        ["fit Student", "ammeter gain rectangular", "ammeter digits rectangular", "probe gain rectangular"]
    {
        assert!(budget.contains(row), "{row}: {budget}");
    }
}

/// Clauses 8 to 10 of ISO/TS 28037:2010, on the points of 7.4 with covariances of our own; the lines come from a calculation
/// that builds the whole matrix (`tests/data/make_correlated_lines.py`).
#[test]
fn readings_that_share_errors_are_fitted_with_their_covariances() {
    let folder = tempfile::tempdir().unwrap();
    let bench = bare_bench(folder.path());
    let table = include_str!("../data/correlated_lines.csv");
    let reference = |case: &str| -> Vec<f64> {
        let row = table.lines().find_map(|line| line.strip_prefix(&format!("\"{case}\",")));
        row.unwrap().split(',').map(|number| number.parse().unwrap()).collect()
    };
    let points = [(1.2, 3.4), (1.9, 4.4), (2.9, 7.2), (4.0, 8.5), (4.7, 10.8), (5.9, 13.5)];
    let rows = |more: &dyn Fn(usize) -> String| -> String {
        let row = |(i, (x, y)): (usize, &(f64, f64))| {
            format!("{x},{y},{},{}\n", if i < 3 { 0.2 } else { 0.4 }, more(i))
        };
        points.iter().enumerate().map(row).collect()
    };
    let half = |i: usize| if i < 3 { "low range,0.3" } else { "high range,0.5" };
    let shared = "field_shared_by,field_shared_uncertainty_mT";
    let both = "current_uncertainty_A,current_field_correlation";
    for (case, method, said, heading, body) in [
        (
            "clause 8",
            "generalised distance regression, uncertainty in both (ISO/TS 28037:2010)",
            "4.63 with 4 degrees of freedom",
            both.to_owned(),
            rows(&|_| "0.2,0.45".into()),
        ),
        (
            "clause 9",
            "errors that readings share (ISO/TS 28037:2010)",
            "3 fields of &quot;high range&quot; have one in common, u = 0.50 mT; the readings show",
            shared.to_owned(),
            rows(&|i| half(i).into()),
        ),
        (
            "clause 10",
            "errors that readings share (ISO/TS 28037:2010)",
            "6 currents have one in common, u = 0.15 A; the readings show",
            format!("current_uncertainty_A,current_shared_uncertainty_A,{shared}"),
            rows(&|i| format!("0.2,0.15,{}", half(i))),
        ),
        (
            "clause 10, own errors correlated",
            "errors that readings share (ISO/TS 28037:2010)",
            "3 currents of &quot;odd ones&quot; have one in common, u = 0.25 A; the readings show",
            format!("{both},current_shared_by,current_shared_uncertainty_A,{shared}"),
            rows(&|i| {
                let odd = if i % 2 == 0 { "odd ones,0.25" } else { "," };
                format!("0.2,-0.3,{odd},{}", half(i))
            }),
        ),
    ] {
        let text = format!("current_A,field_mT,field_uncertainty_mT,{heading}\n{body}");
        let readings = written(folder.path(), "shared.csv", &text);
        let arguments = [&bench, "--readings", &readings, "--adopt", "fit", "--step", "1 A"];
        let record = json(&[&["calibrate", "--json"][..], &arguments].concat());
        let wanted = reference(case);
        for ((key, unit), wanted) in [
            ("intercept_tesla", 1e3),
            ("slope_tesla_per_ampere", 1e3),
            ("intercept_standard_uncertainty_tesla", 1e3),
            ("slope_standard_uncertainty_tesla_per_ampere", 1e3),
            ("covariance", 1e6),
            ("chi_square", 1.0),
        ]
        .into_iter()
        .zip(wanted)
        {
            // The whole covariance is enlarged where the scatter is no chance.
            let factor = match key {
                "covariance" => number(&record, "/fit/scatter_factor").powi(2),
                key if key.contains("uncertainty") => number(&record, "/fit/scatter_factor"),
                _ => 1.0,
            };
            let got = unit * number(&record, &format!("/fit/{key}")) / factor;
            assert!((got / wanted - 1.0).abs() < 1e-10, "{case}: {key}: got {got}, wanted {wanted}");
        }
        let page = certificate(folder.path(), &arguments);
        assert!(section(&page, "method").contains(method), "{case}: {}", section(&page, "method"));
        assert!(section(&page, "result").contains(said), "{case}: {}", section(&page, "result"));
    }
}

#[test]
fn what_is_said_to_be_shared_must_be_whole() {
    let folder = tempfile::tempdir().unwrap();
    for (text, complaint) in [
        (
            "current_A,field_mT,field_shared_uncertainty_mT\n1,0.8,0.1\n2,1.6,0.1\n",
            "none that each has of its own",
        ),
        (
            "current_A,field_mT,field_uncertainty_mT,field_shared_by\n1,0.8,0.1,a\n2,1.6,0.1,a\n",
            "its uncertainty is missing or nought",
        ),
        (
            "current_A,field_mT,field_uncertainty_mT,current_field_correlation\n1,0.8,0.1,0.5\n2,1.6,0.1,0\n",
            "their sizes are not stated",
        ),
        (
            "current_A,field_mT,field_uncertainty_mT,current_uncertainty_A,current_field_correlation\n1,0.8,0.1,0.1,1\n",
            "leaves each error nothing of its own",
        ),
    ] {
        let readings = written(folder.path(), "wrong.csv", text);
        let (_, error) = failure(&["calibrate", BENCH, "--readings", &readings]);
        assert!(error.contains(complaint) && error.contains("line 2"), "{complaint}: {error}");
    }
}
