//! Natural convection from one surface to still air: published correlations.
//!
//! Each correlation gives the mean Nusselt number Nu = h L / k from the Rayleigh number Ra of the surface's own length
//! L, with air at the film temperature, half-way between surface and room. They hold to about 10 % on a plain surface
//! and to about 20 % on the edges and the narrow ring of a coil.

use super::air::Air;
use crate::constants::ZERO_CELSIUS_KELVIN;

/// The air flow along a surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Convection {
    /// Round a horizontal cylinder of this diameter.
    HorizontalCylinder {
        /// Its diameter.
        diameter_m: f64,
    },
    /// Up a vertical plate of this height.
    VerticalPlate {
        /// Its height.
        height_m: f64,
    },
    /// From a hot horizontal plate facing up.
    FacingUp {
        /// Its area over its perimeter.
        length_m: f64,
    },
    /// From a hot horizontal plate facing down.
    FacingDown {
        /// Its area over its perimeter.
        length_m: f64,
    },
    /// A coefficient that does not depend on temperature: Newton's law of cooling.
    Constant {
        /// The coefficient.
        coefficient_watt_per_m2_kelvin: f64,
    },
}

impl Convection {
    /// Heat given to the air per area and kelvin.
    pub(crate) fn coefficient_watt_per_m2_kelvin(&self, surface_celsius: f64, room_celsius: f64) -> f64 {
        let air = Air::at_kelvin(0.5 * (surface_celsius + room_celsius) + ZERO_CELSIUS_KELVIN);
        let difference_kelvin = surface_celsius - room_celsius;
        let from = |length_m: f64, nusselt: &dyn Fn(f64) -> f64| {
            nusselt(air.rayleigh(difference_kelvin, length_m)) * air.conductivity_watt_per_m_kelvin / length_m
        };
        match *self {
            Self::HorizontalCylinder { diameter_m } => {
                from(diameter_m, &|rayleigh| horizontal_cylinder_nusselt(rayleigh, air.prandtl()))
            }
            Self::VerticalPlate { height_m } => {
                from(height_m, &|rayleigh| vertical_plate_nusselt(rayleigh, air.prandtl()))
            }
            Self::FacingUp { length_m } => from(length_m, &facing_up_nusselt),
            Self::FacingDown { length_m } => from(length_m, &facing_down_nusselt),
            Self::Constant { coefficient_watt_per_m2_kelvin } => coefficient_watt_per_m2_kelvin,
        }
    }
}

/// Nu = [0.60 + 0.387 Ra^(1/6) / (1 + (0.559/Pr)^(9/16))^(8/27)]², length the diameter, Ra from 1e-5 to 1e12.
///
/// S. W. Churchill, H. H. S. Chu, Int. J. Heat Mass Transfer 18, 1049 (1975).
pub(crate) fn horizontal_cylinder_nusselt(rayleigh: f64, prandtl: f64) -> f64 {
    churchill_chu(0.60, 0.559, rayleigh, prandtl)
}

/// Nu = [0.825 + 0.387 Ra^(1/6) / (1 + (0.492/Pr)^(9/16))^(8/27)]², length the height, any Ra up to 1e12.
///
/// S. W. Churchill, H. H. S. Chu, Int. J. Heat Mass Transfer 18, 1323 (1975). It also serves a vertical cylinder
/// of diameter D ≥ 35 L / Gr^(1/4).
pub(crate) fn vertical_plate_nusselt(rayleigh: f64, prandtl: f64) -> f64 {
    churchill_chu(0.825, 0.492, rayleigh, prandtl)
}

fn churchill_chu(still: f64, prandtl_scale: f64, rayleigh: f64, prandtl: f64) -> f64 {
    let prandtl_part = (1.0 + (prandtl_scale / prandtl).powf(9.0 / 16.0)).powf(8.0 / 27.0);
    (still + 0.387 * rayleigh.powf(1.0 / 6.0) / prandtl_part).powi(2)
}

/// Nu = 0.54 Ra^(1/4) up to Ra = 4.7e6, where the two lines cross, then 0.15 Ra^(1/3); length area over perimeter.
///
/// W. H. McAdams, *Heat Transmission*, 3rd ed. 1954; the length is that of J. R. Lloyd, W. R. Moran, J. Heat
/// Transfer 96, 443 (1974) (from memory). Below Ra = 1e4 it is used outside its range.
pub(crate) fn facing_up_nusselt(rayleigh: f64) -> f64 {
    (0.54 * rayleigh.powf(0.25)).max(0.15 * rayleigh.cbrt())
}

/// Nu = 0.27 Ra^(1/4), length area over perimeter.
///
/// W. H. McAdams, *Heat Transmission*, 3rd ed. 1954. Below Ra = 1e5 it is used outside its range.
pub(crate) fn facing_down_nusselt(rayleigh: f64) -> f64 {
    0.27 * rayleigh.powf(0.25)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Ra, cylinder, vertical plate at Pr = 0.71; the Python package ht 1.2.0 (a general heat-transfer library).
    const HT_VALUES: [(f64, f64, f64); 6] = [
        (1e2, 1.66970561075, 2.32239945918),
        (1e4, 4.37327209956, 5.43274546329),
        (1e5, 7.777609272794927, 9.212736013462306),
        (1e6, 14.5372354879, 16.5584028639),
        (1e7, 28.2567237147, 31.2127470989),
        (1e9, 115.77069787, 122.856534876),
    ];

    #[test]
    fn churchill_and_chu_agree_with_a_general_heat_transfer_library() {
        for (rayleigh, cylinder, plate) in HT_VALUES {
            assert_relative_eq!(horizontal_cylinder_nusselt(rayleigh, 0.71), cylinder, max_relative = 1e-11);
            assert_relative_eq!(vertical_plate_nusselt(rayleigh, 0.71), plate, max_relative = 1e-11);
        }
        // Printed in that library's documentation for Pr = 0.69, Gr = 2.63e9.
        let rayleigh = 0.69 * 2.63e9;
        assert_relative_eq!(vertical_plate_nusselt(rayleigh, 0.69), 147.16185223770603, max_relative = 1e-14);
        assert_relative_eq!(
            horizontal_cylinder_nusselt(rayleigh, 0.69),
            139.13493970073597,
            max_relative = 1e-14
        );
    }

    #[test]
    fn horizontal_plates_agree_with_a_general_heat_transfer_library() {
        // ht 1.2.0, horizontal plate after McAdams, Pr = 5.54, Gr = 3.21e8.
        let rayleigh = 5.54 * 3.21e8;
        assert_relative_eq!(facing_up_nusselt(rayleigh), 181.73121274384457, max_relative = 1e-13);
        assert_relative_eq!(facing_down_nusselt(rayleigh), 55.44564799362829, max_relative = 1e-13);
        // Pr = 0.01: the laminar branch.
        assert_relative_eq!(facing_up_nusselt(0.01 * 3.21e8), 22.857041558492334, max_relative = 1e-13);
        assert_relative_eq!(facing_down_nusselt(0.01 * 3.21e8), 11.428520779246167, max_relative = 1e-13);
    }

    #[test]
    fn the_textbook_pipe_and_fire_screen_come_out() {
        // F. P. Incropera, D. P. DeWitt, Introduction to Heat Transfer, Example 9.2: a glass fire screen 0.71 m
        // high, Ra = 1.813e9, Pr = 0.690, k = 33.8e-3 W/(m K): Nu = 147, h = 7.0 W/(m² K) (from memory).
        let nusselt = vertical_plate_nusselt(1.813e9, 0.690);
        assert_relative_eq!(nusselt, 147.0, max_relative = 1e-3);
        assert_relative_eq!(nusselt * 33.8e-3 / 0.71, 7.0, max_relative = 1e-3);
        // Example 9.4: a pipe of 0.1 m at 165 °C in air at 23 °C, Ra = 5.073e6, Pr = 0.697, k = 31.3e-3 W/(m K):
        // h = 7.23 W/(m² K) from the formula; an older edition prints 7.29 (from memory).
        let h = horizontal_cylinder_nusselt(5.073e6, 0.697) * 31.3e-3 / 0.1;
        assert_relative_eq!(h, 7.2264, max_relative = 5e-4);
        // The same pipe with this crate's own air, which differs from the book's rounded table.
        let pipe = Convection::HorizontalCylinder { diameter_m: 0.1 };
        assert_relative_eq!(pipe.coefficient_watt_per_m2_kelvin(165.0, 23.0), 7.2264, max_relative = 0.011);
    }

    #[test]
    fn a_correlation_neither_jumps_nor_fails_where_surface_and_room_are_equally_warm() {
        for convection in [
            Convection::HorizontalCylinder { diameter_m: 0.3 },
            Convection::VerticalPlate { height_m: 0.02 },
            Convection::FacingUp { length_m: 0.006 },
            Convection::FacingDown { length_m: 0.006 },
        ] {
            let at_rest = convection.coefficient_watt_per_m2_kelvin(22.0, 22.0);
            assert!(at_rest.is_finite() && at_rest >= 0.0, "{convection:?}: {at_rest}");
            let warm = convection.coefficient_watt_per_m2_kelvin(62.0, 22.0);
            assert!(warm > at_rest && warm < 30.0, "{convection:?}: {warm}");
        }
        // The two branches of the upper plate meet.
        let crossing = (0.54f64 / 0.15).powi(12);
        let (below, above) =
            (facing_up_nusselt(crossing * 0.999_999), facing_up_nusselt(crossing * 1.000_001));
        assert_relative_eq!(below, above, max_relative = 1e-6);
    }
}
