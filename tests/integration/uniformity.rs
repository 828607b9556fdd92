//! `uniformity` as a user types it.

use crate::program::{example, failure, json, number, text};

#[test]
fn the_keys_scripts_rely_on_are_there_and_the_reaches_shrink_with_the_limit() {
    let spec = example("window-bench.json");
    let reach = |within: &str| {
        let record = json(&["uniformity", &spec, "--within", within, "--json"]);
        assert!(number(&record, "/beam/worst_deviation") < 0.0);
        assert!(number(&record, "/bulb/worst_deviation") < 0.0);
        ["/reach/mid_plane_radius_m", "/reach/axial_half_length_m", "/reach/sphere_radius_m"]
            .map(|key| number(&record, key))
    };
    let (wide, narrow) = (reach("1%"), reach("0.1 %"));
    for (wide, narrow) in wide.iter().zip(narrow) {
        // Deviation grows about as the fourth power of distance: a tenth of the limit gives 0.56 of the reach.
        let ratio = narrow / wide;
        assert!((0.5..0.62).contains(&ratio), "{ratio}");
    }
    // The mid-plane's deviation is 0.375 of the axis's at the same distance: its reach is 1.28 times as far.
    assert!((wide[0] / wide[1] - (8f64 / 3.0).powf(0.25)).abs() < 0.08, "{wide:?}");
}

#[test]
fn the_bias_of_a_beam_circle_is_the_effective_field_squared() {
    let record = json(&["uniformity", &example("window-bench.json"), "--json"]);
    let circles = record["beam_circles"].as_array().unwrap();
    assert_eq!(circles.len(), 2);
    for circle in circles {
        let ratio = number(circle, "/effective_field_ratio");
        assert!((number(circle, "/charge_to_mass_bias_fraction") - (ratio * ratio - 1.0)).abs() < 1e-15);
        // First order omits terms of the deviation squared, under 0.6 % squared here.
        assert!((number(circle, "/first_order_field_ratio") - ratio).abs() < 1e-4);
    }
}

#[test]
fn the_rooms_field_is_added_at_a_current_and_never_counted_per_ampere() {
    let spec = example("window-bench.json");
    let record = |arguments: &[&str]| json(&[&["uniformity", spec.as_str(), "--json"], arguments].concat());
    let coils = number(&record(&[]), "/centre_field_tesla_per_ampere/2");
    for (arguments, current) in [(&["--with-room"][..], 1.0), (&["--with-room", "--current", "2 A"], 2.0)] {
        let record = record(arguments);
        // The spec's room adds 9 µT along z.
        let centre = number(&record, "/room/centre_field_tesla/2");
        assert!((centre - current * coils - 9e-6).abs() < 1e-12);
        assert!((number(&record, "/centre_field_tesla_per_ampere/2") - coils).abs() < 1e-15);
    }
}

#[test]
fn a_limit_that_makes_no_sense_is_refused() {
    let spec = example("window-bench.json");
    let (status, message) = failure(&["uniformity", &spec, "--within", "0 %"]);
    assert_eq!(status, 1);
    assert!(message.contains("the limit on the deviation is 0 %"), "{message}");
    let (status, message) = failure(&["uniformity", &spec, "--within", "1"]);
    assert_eq!(status, 2);
    assert!(message.starts_with("error: --within: "), "{message}");
    let (status, _) = failure(&["uniformity", &spec, "--within", "-1%"]);
    assert_eq!(status, 1);
}

#[test]
fn every_example_has_a_page() {
    for name in ["window-bench.json", "quote-thick.json", "quote-used.json", "quote-parallel.json"] {
        let page = text(&["uniformity", &example(name)]);
        assert!(page.contains("Reach: |deviation| within 1.00 %"), "{page}");
        assert!(!page.contains("NaN") && !page.contains("undefined"), "{page}");
    }
}
