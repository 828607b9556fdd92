//! `wires`: the list for people, the list for scripts, and its errors.

use crate::program::{failure, json, text};

#[test]
fn the_nearest_sizes_stand_first_with_both_builds() {
    let page = text(&["wires", "--near", "0.9 mm"]);
    let line = |size: &str| page.lines().find(|line| line.trim_start().starts_with(size)).unwrap().to_owned();
    // IEC 60317-0-1 table 1, read in GOST R IEC 60317-0-1-2022: 0.959 and 0.989 mm over the enamel.
    assert_eq!(
        line("0.9 mm").split_whitespace().collect::<Vec<_>>(),
        ["0.9", "mm", "0.900", "0.959", "0.989", "5.656", "27.10"]
    );
    assert!(line("AWG 19").contains("0.912"));
    assert!(!page.contains("AWG 30"));
    assert!(page.contains("common practice") && page.contains("read in"), "sources have their status");
}

#[test]
fn scripts_get_si_and_every_wire_its_source() {
    let list = json(&["wires", "--json"]);
    let wires = list["wires"].as_array().unwrap();
    assert_eq!(wires.len(), 2 * (17 + 45));
    assert!(wires.iter().all(|wire| wire["source"].is_string() && wire["status"].is_string()));
    let wire = wires.iter().find(|wire| wire["size"] == "AWG 20" && wire["build"] == "heavy").unwrap();
    // NBS Circular 31: 10.15 ohm per 1000 ft of 20 gauge.
    let ohm_per_m = wire["resistance_at_20_celsius_ohm_per_m"].as_f64().unwrap();
    assert!((ohm_per_m * 304.8 / 10.15 - 1.0).abs() < 3e-4, "{ohm_per_m}");
}

#[test]
fn a_diameter_needs_its_unit_and_a_size() {
    assert_eq!(
        failure(&["wires", "--near", "0.9"]),
        (
            2,
            "error: --near: `0.9` has no unit\nhint: write the unit too, such as `0.9 mm` (units: mm, cm, m, km, um, in)\n"
                .to_owned()
        )
    );
    assert_eq!(failure(&["wires", "--near", "-1 mm"]).0, 2);
    assert_eq!(failure(&["wires", "--near", "NaN mm"]).0, 2);
}
