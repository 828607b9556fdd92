//! Thermal radiation from a coil's surfaces to the room, as grey surfaces in large surroundings.

use crate::constants::{STEFAN_BOLTZMANN_WATT_PER_M2_K4, ZERO_CELSIUS_KELVIN};

/// Radiated power per area and kelvin: ε σ (T⁴ − T₀⁴) / (T − T₀), written without the difference in the denominator.
pub(crate) fn coefficient_watt_per_m2_kelvin(
    emissivity: f64,
    surface_celsius: f64,
    room_celsius: f64,
) -> f64 {
    let (hot, cold) = (surface_celsius + ZERO_CELSIUS_KELVIN, room_celsius + ZERO_CELSIUS_KELVIN);
    emissivity * STEFAN_BOLTZMANN_WATT_PER_M2_K4 * (hot * hot + cold * cold) * (hot + cold)
}

/// The effective emissivity towards the room of a surface of emissivity ε if a fraction F of its view is as warm as
/// itself: 1 / ((1 − ε)/ε + 1/(1 − F)).
///
/// It is the two-surface grey enclosure with a black room (Incropera & DeWitt, chapter 13, equation 13.18 in the
/// 6th edition; from memory).
pub(crate) fn emissivity_towards_room(emissivity: f64, seen_equally_warm: f64) -> f64 {
    if emissivity <= 0.0 {
        return 0.0;
    }
    1.0 / ((1.0 - emissivity) / emissivity + 1.0 / (1.0 - seen_equally_warm))
}

/// View factor of the inside of an open ring of radius r and width w to itself: 1 + w/2r − √(1 + (w/2r)²).
///
/// J. R. Howell, *A Catalog of Radiation Heat Transfer Configuration Factors*, section C (from memory); the test
/// derives it from the factor between two discs.
pub(crate) fn ring_inside_to_itself(radius_m: f64, width_m: f64) -> f64 {
    let ratio = 0.5 * width_m / radius_m;
    1.0 + ratio - ratio.hypot(1.0)
}

/// View factor between two equal flat rings, coaxial and `distance_m` apart.
///
/// It follows from the factor between two discs by adding and subtracting discs; nothing stands between the rings.
pub(crate) fn ring_to_equal_ring(inner_radius_m: f64, outer_radius_m: f64, distance_m: f64) -> f64 {
    let exchange =
        |first_m: f64, second_m: f64| first_m.powi(2) * disc_to_disc(first_m, second_m, distance_m);
    let area = outer_radius_m.powi(2) - inner_radius_m.powi(2);
    let seen = exchange(outer_radius_m, outer_radius_m) - 2.0 * exchange(outer_radius_m, inner_radius_m)
        + exchange(inner_radius_m, inner_radius_m);
    (seen / area).clamp(0.0, 1.0)
}

/// View factor of a disc to a coaxial disc: ½ [X − √(X² − 4 (R₂/R₁)²)], X = 1 + (1 + R₂²)/R₁², R = radius / distance.
///
/// Incropera & DeWitt, chapter 13, table 13.2 (from memory).
fn disc_to_disc(from_radius_m: f64, to_radius_m: f64, distance_m: f64) -> f64 {
    let (r1, r2) = (from_radius_m / distance_m, to_radius_m / distance_m);
    let x = 1.0 + (1.0 + r2 * r2) / (r1 * r1);
    // 2 (R₂/R₁)² / (X + √…) is the same without the cancellation.
    let ratio = (r2 / r1).powi(2);
    2.0 * ratio / (x + (x * x - 4.0 * ratio).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_grey_surface_radiates_as_the_fourth_power_says() {
        // ε = 0.9: 80 °C to 20 °C gives 416.8741 W/m², 60 °C to 23 °C gives 236.1010 W/m², with σ to
        // ten digits, hence the tolerance.
        let flux = |hot: f64, cold: f64| coefficient_watt_per_m2_kelvin(0.9, hot, cold) * (hot - cold);
        assert_relative_eq!(flux(80.0, 20.0), 416.8741057375667, max_relative = 5e-11);
        assert_relative_eq!(flux(60.0, 23.0), 236.1010385020155, max_relative = 5e-11);
    }

    #[test]
    fn a_pipe_radiates_what_the_textbook_says() {
        // Incropera & DeWitt, Example 9.4: ε = 0.85, 438 K, 296 K, diameter 0.1 m: 441 W per metre (from memory).
        let coefficient = coefficient_watt_per_m2_kelvin(0.85, 438.0 - 273.15, 296.0 - 273.15);
        assert_relative_eq!(coefficient * 142.0 * std::f64::consts::PI * 0.1, 441.0, max_relative = 2e-4);
    }

    #[test]
    fn the_view_factors_close_on_each_other() {
        // Inside of a ring: the rest of its view goes to the two open ends, and the view of an end goes to the inside
        // except for the part to the other end.
        let (radius, width) = (0.16, 0.03);
        let to_other_end = disc_to_disc(radius, radius, width);
        let to_ends = (1.0 - to_other_end) * radius / width;
        assert_relative_eq!(ring_inside_to_itself(radius, width), 1.0 - to_ends, max_relative = 1e-12);
        // A narrow ring seen from afar: F ≈ area of the other / (π distance²).
        let far = ring_to_equal_ring(0.99, 1.01, 100.0);
        assert_relative_eq!(far, (1.01f64.powi(2) - 0.99f64.powi(2)) / 1e4, max_relative = 1e-3);
        // Equal discs one radius apart: 0.382 = (3 − √5)/2.
        assert_relative_eq!(disc_to_disc(1.0, 1.0, 1.0), 0.5 * (3.0 - 5f64.sqrt()), max_relative = 1e-14);
    }

    #[test]
    fn a_surface_that_sees_only_the_room_keeps_its_emissivity_and_a_mirror_has_none() {
        assert_relative_eq!(emissivity_towards_room(0.9, 0.0), 0.9, max_relative = 1e-15);
        assert_eq!(emissivity_towards_room(0.0, 0.3), 0.0);
        assert!(emissivity_towards_room(0.1, 0.5) > 0.05 && emissivity_towards_room(0.1, 0.5) < 0.1);
    }
}
