//! The four sides of a coil: their walls, the air flow along them, and their radiation to the room.

use super::convection::Convection;
use super::materials::{FormerMaterial, TouchMaterial, former_material};
use super::section::Side;
use super::{materials, radiation};
use crate::Result;
use crate::error::Refused;
use crate::pair::{AxisPosition, Bench, Cheeks, Coil};
use std::f64::consts::PI;

/// One side of a coil, from the wire pack to the air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Face {
    /// Which side.
    pub side: Side,
    /// Area of the wire pack's side, on the mean circumference.
    pub pack_area_m2: f64,
    /// The former's wall on this side, if it covers it.
    pub wall: Option<Wall>,
    /// The outside.
    pub surface: Surface,
}

impl Face {
    /// Thermal resistance from the pack's side to the outside; 0 if no wall covers it.
    pub(crate) fn wall_kelvin_per_watt(&self) -> f64 {
        self.wall.map_or(0.0, |wall| wall.resistance_kelvin_per_watt)
    }
}

/// A wall of the former.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wall {
    /// Thermal resistance from its inside to its outside.
    pub resistance_kelvin_per_watt: f64,
    /// Its heat capacity.
    pub heat_capacity_joule_per_kelvin: f64,
}

/// A surface that gives heat to the air and to the room's walls.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surface {
    /// Its area.
    pub area_m2: f64,
    /// The air flow along it.
    pub convection: Convection,
    /// Its emissivity towards the room, reduced for the warm surfaces that it sees.
    pub emissivity: f64,
    /// Its material for the limits of touch.
    pub touch: TouchMaterial,
}

impl Surface {
    /// Heat given to the room per kelvin above it, by convection and radiation together.
    pub(crate) fn conductance_watt_per_kelvin(&self, surface_celsius: f64, room_celsius: f64) -> f64 {
        self.area_m2
            * (self.convection.coefficient_watt_per_m2_kelvin(surface_celsius, room_celsius)
                + radiation::coefficient_watt_per_m2_kelvin(self.emissivity, surface_celsius, room_celsius))
    }
}

/// The former's wall with its material found and its thickness given or assumed.
struct FormerWall {
    material: &'static FormerMaterial,
    thickness_m: f64,
    cheeks: Cheeks,
}

/// The faces of one coil of a bench, in the order of [`Side::ALL`]. `upper` says that a coil lying flat is the upper
/// one.
///
/// For an upright coil (axis horizontal), the outer surface and the bore count as horizontal cylinders of their
/// diameters, and the sides as vertical plates as high as their mean vertical chord. For a coil lying flat, the outer
/// surface and the bore count as vertical plates as high as the coil is wide, and the sides as plates facing up and
/// down with the length area over perimeter. Cheeks end flush with the winding. A single cheek is on the side away from
/// the other coil.
pub fn faces(bench: &Bench, coil: &Coil, upper: bool) -> Result<[Face; 4]> {
    let inner_radius_m = coil.mean_radius_m - 0.5 * coil.depth_m;
    let outer_radius_m = coil.mean_radius_m + 0.5 * coil.depth_m;
    let former = bench.former.as_ref().map(|former| FormerWall {
        material: former_material(former.material.as_deref().unwrap_or_default()).0,
        thickness_m: former.wall_m.unwrap_or(materials::ASSUMED_WALL_M),
        cheeks: former.cheeks,
    });
    let thickness_m = former.as_ref().map_or(0.0, |former| former.thickness_m);
    if thickness_m >= inner_radius_m {
        return Err(Refused::FormerFillsBore { wall_m: thickness_m, inner_radius_m }.into());
    }
    let covers = |side: Side| match (&former, side) {
        (None, _) | (_, Side::Outer) => false,
        (Some(_), Side::Inner) => true,
        (Some(former), Side::Facing) => former.cheeks == Cheeks::Both,
        (Some(former), Side::Away) => former.cheeks != Cheeks::None,
    };
    let cheek_count = [Side::Facing, Side::Away].iter().filter(|side| covers(**side)).count() as f64;
    let bore_radius_m = inner_radius_m - thickness_m;
    let overall_width_m = coil.width_m + cheek_count * thickness_m;

    let face = |side: Side| {
        let covered = covers(side);
        // A cheek covers the end of the floor; on a bare side the end counts with the bore.
        let side_inner_radius_m = if covered { bore_radius_m } else { inner_radius_m };
        let ring_m2 = PI * (outer_radius_m.powi(2) - side_inner_radius_m.powi(2));
        let rim_m2 = if covered { 2.0 * PI * outer_radius_m * thickness_m } else { 0.0 };
        let (pack_edge_m, area_m2, wall_area_m2, wall_volume_m3, seen_equally_warm) = match side {
            Side::Outer => (coil.width_m, 2.0 * PI * outer_radius_m * coil.width_m, 0.0, 0.0, 0.0),
            Side::Inner => {
                let middle_m = inner_radius_m - 0.5 * thickness_m;
                (
                    coil.width_m,
                    2.0 * PI * bore_radius_m * overall_width_m,
                    2.0 * PI * middle_m * coil.width_m,
                    2.0 * PI * middle_m * overall_width_m * thickness_m,
                    radiation::ring_inside_to_itself(bore_radius_m, overall_width_m),
                )
            }
            Side::Facing | Side::Away => {
                let seen = if side == Side::Facing {
                    let gap_m = (bench.spacing_m - overall_width_m).max(1e-3);
                    radiation::ring_to_equal_ring(side_inner_radius_m, outer_radius_m, gap_m)
                } else {
                    0.0
                };
                let pack_m2 = 2.0 * PI * coil.mean_radius_m * coil.depth_m;
                (coil.depth_m, ring_m2 + rim_m2, pack_m2, pack_m2 * thickness_m, seen)
            }
        };
        let cylinder_or_plate = |diameter_m| match bench.axis {
            AxisPosition::Horizontal => Convection::HorizontalCylinder { diameter_m },
            AxisPosition::Vertical => Convection::VerticalPlate { height_m: overall_width_m },
        };
        let convection = match side {
            Side::Outer => cylinder_or_plate(2.0 * outer_radius_m),
            Side::Inner => cylinder_or_plate(2.0 * bore_radius_m),
            Side::Facing | Side::Away => {
                let length_m = 0.5 * (outer_radius_m - side_inner_radius_m);
                let faces_up = (side == Side::Facing) != upper;
                match bench.axis {
                    AxisPosition::Horizontal => {
                        Convection::VerticalPlate { height_m: ring_m2 / (4.0 * outer_radius_m) }
                    }
                    AxisPosition::Vertical if faces_up => Convection::FacingUp { length_m },
                    AxisPosition::Vertical => Convection::FacingDown { length_m },
                }
            }
        };
        let winding_emissivity = bench.winding.surface_emissivity.unwrap_or(materials::WINDING_EMISSIVITY);
        let (emissivity, touch) = match &former {
            Some(former) if covered => (former.material.emissivity, former.material.touch),
            _ => (winding_emissivity, TouchMaterial::CoatedMetal),
        };
        let wall = match &former {
            Some(former) if covered && thickness_m > 0.0 => Some(Wall {
                resistance_kelvin_per_watt: thickness_m
                    / (former.material.conductivity_watt_per_m_kelvin * wall_area_m2),
                heat_capacity_joule_per_kelvin: former.material.density_kg_per_m3
                    * former.material.specific_heat_joule_per_kg_kelvin
                    * wall_volume_m3,
            }),
            _ => None,
        };
        Face {
            side,
            pack_area_m2: 2.0 * PI * coil.mean_radius_m * pack_edge_m,
            wall,
            surface: Surface {
                area_m2,
                convection,
                emissivity: radiation::emissivity_towards_room(emissivity, seen_equally_warm),
                touch,
            },
        }
    };
    Ok(Side::ALL.map(face))
}
