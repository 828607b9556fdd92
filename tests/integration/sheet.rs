//! `sheet` as a user types it.

use crate::program::{example, json, number, text};
use approx::assert_relative_eq;
use std::f64::consts::{PI, TAU};

#[test]
fn the_numbers_of_the_example_are_those_of_a_hand_calculation() {
    let sheet = json(&["sheet", &example("window-bench.json"), "--json"]);
    // Two coils of 150 turns of 0.9 mm copper at a mean radius of 160 mm.
    let length = 2.0 * 150.0 * TAU * 0.16;
    let area = 0.25 * PI * 0.9e-3 * 0.9e-3;
    assert_relative_eq!(number(&sheet, "/wire_length_m"), length, max_relative = 1e-12);
    assert_relative_eq!(number(&sheet, "/conductor_mass_kg"), length * area * 8890.0, max_relative = 1e-12);
    let cold = length / 58e6 / area;
    assert_relative_eq!(number(&sheet, "/resistance_at_20_celsius_ohm"), cold, max_relative = 1e-12);
    let room = cold * (1.0 + 0.00393 * 1.5);
    assert_relative_eq!(number(&sheet, "/resistance_at_room_temperature_ohm"), room, max_relative = 1e-12);
    assert_relative_eq!(
        number(&sheet, "/drives/0/voltage_at_current_limit_volt"),
        2.8 * (room + 0.12),
        max_relative = 1e-12
    );
    assert_relative_eq!(number(&sheet, "/fill_factor"), 150.0 * area / (0.015 * 0.010), max_relative = 1e-12);
    // (4/5)^(3/2) μ0 N/R, less depth²/(60 R²) for the section (Maxwell, Treatise, art. 713; re-derived exactly). The
    // next term is of fourth order in section over radius, at most 1e-4 of the coefficients.
    let thin = 0.8f64.powf(1.5) * 1.256_637_061_27e-6 * 150.0 / 0.16;
    let section = 1.0 - (0.010f64 / 0.16).powi(2) / 60.0;
    assert_relative_eq!(
        number(&sheet, "/field_constant_tesla_per_ampere"),
        thin * section,
        max_relative = 1e-4 / 60.0
    );
    assert_relative_eq!(
        number(&sheet, "/inductance_henry"),
        2.0 * (number(&sheet, "/coil_self_inductance_henry") + number(&sheet, "/mutual_inductance_henry")),
        max_relative = 1e-12
    );
    assert_relative_eq!(
        number(&sheet, "/stored_energy_joule"),
        0.5 * number(&sheet, "/inductance_henry") * 2.8 * 2.8,
        max_relative = 1e-12
    );
    assert!(number(&sheet, "/axial_force_newton_per_ampere_squared") > 0.0);
    assert!(number(&sheet, "/field_constant_standard_uncertainty_tesla_per_ampere") > 0.0);
}

#[test]
fn a_parallel_pair_sees_half_the_field_constant_and_a_quarter_of_the_inductance() {
    let spec = std::fs::read_to_string(example("window-bench.json")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("parallel.json");
    std::fs::write(&path, spec.replace(r#""connection": "series""#, r#""connection": "parallel""#)).unwrap();
    let series = json(&["sheet", &example("window-bench.json"), "--json"]);
    let parallel = json(&["sheet", path.to_str().unwrap(), "--json"]);
    for (key, ratio) in [
        ("/field_constant_tesla_per_ampere", 0.5),
        ("/inductance_henry", 0.25),
        ("/resistance_at_20_celsius_ohm", 0.25),
        ("/axial_force_newton_per_ampere_squared", 0.25),
    ] {
        assert_relative_eq!(number(&parallel, key), ratio * number(&series, key), max_relative = 1e-12);
    }
    // Both sheets compare the same two ways of connecting the coils.
    assert_eq!(series["drives"], parallel["drives"]);
}

#[test]
fn a_coil_connected_backwards_leaves_no_centre_field_and_is_told_so() {
    let spec = std::fs::read_to_string(example("window-bench.json")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("backwards.json");
    std::fs::write(&path, spec.replacen('{', r#"{ "as_built": { "a": { "sense": -1 }, "b": {} },"#, 1))
        .unwrap();
    let (status, message) = crate::program::failure(&["sheet", path.to_str().unwrap()]);
    assert_eq!(status, 1);
    assert!(message.contains("the coils cancel at the centre") && message.contains("hint: "), "{message}");
    assert!(text(&["sheet", path.to_str().unwrap(), "--nominal"]).contains("field constant"));
}

#[test]
fn every_example_has_a_sheet_with_its_cautions() {
    for name in ["window-bench.json", "quote-thick.json", "quote-used.json", "quote-parallel.json"] {
        let page = text(&["sheet", &example(name)]);
        for word in
            ["Gun voltage", "Hot coils", "Inductive kick", "Evacuated glass", "Implants", "competent person"]
        {
            assert!(page.contains(word), "{name}: {word}");
        }
        assert!(!page.contains("NaN") && !page.contains("undefined") && !page.contains("infinite"), "{page}");
    }
}
