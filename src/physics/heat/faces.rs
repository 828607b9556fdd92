//! The four sides of a coil: their walls, the air flow along them, and their radiation to the room.

use super::convection::Convection;
use super::radiation;
use super::section::Side;
use crate::Result;
use crate::error::Refused;
use crate::pair::materials::{self, FormerMaterial, TouchMaterial, former_material};
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

/// The faces of one coil of a bench, in the order of [`Side::ALL`]. `upper` says that a coil lying flat is the upper
/// one.
///
/// For an upright coil (axis horizontal), the outer surface and the bore count as horizontal cylinders of their
/// diameters, and the sides as vertical plates as high as their mean vertical chord. For a coil lying flat, the outer
/// surface and the bore count as vertical plates as high as the coil is wide, and the sides as plates facing up and
/// down with the length area over perimeter. Cheeks end flush with the winding. A single cheek is on the side away from
/// the other coil.
pub fn faces(bench: &Bench, coil: &Coil, upper: bool) -> Result<[Face; 4]> {
    let body = Body::of(bench, coil, upper)?;
    Ok(Side::ALL.map(|side| body.face(side)))
}

/// A coil with its former.
struct Body<'a> {
    bench: &'a Bench,
    coil: &'a Coil,
    upper: bool,
    former: Option<FormerWall>,
    /// Thickness of the former's walls; 0 without a former.
    thickness_m: f64,
    inner_radius_m: f64,
    outer_radius_m: f64,
    bore_radius_m: f64,
    overall_width_m: f64,
}

/// The former, with its material found.
struct FormerWall {
    material: &'static FormerMaterial,
    cheeks: Cheeks,
}

/// The extents of one side.
struct Extents {
    /// Length of the wire pack's edge on this side, across the circumference.
    pack_edge_m: f64,
    /// Area of the outside.
    area_m2: f64,
    /// Area of the wall over the pack.
    wall_area_m2: f64,
    wall_volume_m3: f64,
    /// Part of its radiation that meets surfaces as warm as itself.
    seen_equally_warm: f64,
}

impl<'a> Body<'a> {
    fn of(bench: &'a Bench, coil: &'a Coil, upper: bool) -> Result<Self> {
        let inner_radius_m = coil.mean_radius_m - 0.5 * coil.depth_m;
        let stated = bench.former.as_ref();
        let thickness_m = stated.map_or(0.0, |former| former.wall_m.unwrap_or(materials::ASSUMED_WALL_M));
        if thickness_m >= inner_radius_m {
            return Err(Refused::FormerFillsBore { wall_m: thickness_m, inner_radius_m }.into());
        }
        let mut body = Self {
            bench,
            coil,
            upper,
            former: stated.map(|former| FormerWall {
                material: former_material(former.material.as_deref().unwrap_or_default()).0,
                cheeks: former.cheeks,
            }),
            thickness_m,
            inner_radius_m,
            outer_radius_m: coil.mean_radius_m + 0.5 * coil.depth_m,
            bore_radius_m: inner_radius_m - thickness_m,
            overall_width_m: coil.width_m,
        };
        let cheek_count =
            [Side::Facing, Side::Away].iter().filter(|side| body.cover(**side).is_some()).count();
        body.overall_width_m += cheek_count as f64 * thickness_m;
        Ok(body)
    }

    /// The former's wall where it covers a side.
    fn cover(&self, side: Side) -> Option<&FormerWall> {
        self.former.as_ref().filter(|former| match side {
            Side::Outer => false,
            Side::Inner => true,
            Side::Facing => former.cheeks == Cheeks::Both,
            Side::Away => former.cheeks != Cheeks::None,
        })
    }

    /// Inner radius of a flat side. A cheek covers the end of the floor; on a bare side the end counts with the bore.
    fn side_inner_radius_m(&self, side: Side) -> f64 {
        if self.cover(side).is_some() { self.bore_radius_m } else { self.inner_radius_m }
    }

    fn ring_m2(&self, side: Side) -> f64 {
        PI * (self.outer_radius_m.powi(2) - self.side_inner_radius_m(side).powi(2))
    }

    fn extents(&self, side: Side) -> Extents {
        let (coil, thickness_m) = (self.coil, self.thickness_m);
        match side {
            Side::Outer => Extents {
                pack_edge_m: coil.width_m,
                area_m2: 2.0 * PI * self.outer_radius_m * coil.width_m,
                wall_area_m2: 0.0,
                wall_volume_m3: 0.0,
                seen_equally_warm: 0.0,
            },
            Side::Inner => {
                let middle_m = self.inner_radius_m - 0.5 * thickness_m;
                Extents {
                    pack_edge_m: coil.width_m,
                    area_m2: 2.0 * PI * self.bore_radius_m * self.overall_width_m,
                    wall_area_m2: 2.0 * PI * middle_m * coil.width_m,
                    wall_volume_m3: 2.0 * PI * middle_m * self.overall_width_m * thickness_m,
                    seen_equally_warm: radiation::ring_inside_to_itself(
                        self.bore_radius_m,
                        self.overall_width_m,
                    ),
                }
            }
            Side::Facing | Side::Away => {
                let is_covered = self.cover(side).is_some();
                let rim_m2 = if is_covered { 2.0 * PI * self.outer_radius_m * thickness_m } else { 0.0 };
                let pack_m2 = 2.0 * PI * coil.mean_radius_m * coil.depth_m;
                let gap_m = (self.bench.spacing_m - self.overall_width_m).max(1e-3);
                let inner_m = self.side_inner_radius_m(side);
                Extents {
                    pack_edge_m: coil.depth_m,
                    area_m2: self.ring_m2(side) + rim_m2,
                    wall_area_m2: pack_m2,
                    wall_volume_m3: pack_m2 * thickness_m,
                    seen_equally_warm: match side {
                        Side::Facing => radiation::ring_to_equal_ring(inner_m, self.outer_radius_m, gap_m),
                        _ => 0.0,
                    },
                }
            }
        }
    }

    fn convection(&self, side: Side) -> Convection {
        let diameter_m = match side {
            Side::Outer => Some(2.0 * self.outer_radius_m),
            Side::Inner => Some(2.0 * self.bore_radius_m),
            Side::Facing | Side::Away => None,
        };
        let length_m = 0.5 * (self.outer_radius_m - self.side_inner_radius_m(side));
        let faces_up = (side == Side::Facing) != self.upper;
        match (self.bench.axis, diameter_m) {
            (AxisPosition::Horizontal, Some(diameter_m)) => Convection::HorizontalCylinder { diameter_m },
            (AxisPosition::Vertical, Some(_)) => Convection::VerticalPlate { height_m: self.overall_width_m },
            (AxisPosition::Horizontal, None) => {
                Convection::VerticalPlate { height_m: self.ring_m2(side) / (4.0 * self.outer_radius_m) }
            }
            (AxisPosition::Vertical, None) if faces_up => Convection::FacingUp { length_m },
            (AxisPosition::Vertical, None) => Convection::FacingDown { length_m },
        }
    }

    fn face(&self, side: Side) -> Face {
        let extents = self.extents(side);
        let cover = self.cover(side);
        let (emissivity, touch) = match cover {
            Some(former) => (former.material.emissivity, former.material.touch),
            None => (
                self.bench.winding.surface_emissivity.unwrap_or(materials::WINDING_EMISSIVITY),
                TouchMaterial::CoatedMetal,
            ),
        };
        let wall = cover.filter(|_| self.thickness_m > 0.0).map(|former| Wall {
            resistance_kelvin_per_watt: self.thickness_m
                / (former.material.conductivity_watt_per_m_kelvin * extents.wall_area_m2),
            heat_capacity_joule_per_kelvin: former.material.density_kg_per_m3
                * former.material.specific_heat_joule_per_kg_kelvin
                * extents.wall_volume_m3,
        });
        Face {
            side,
            pack_area_m2: 2.0 * PI * self.coil.mean_radius_m * extents.pack_edge_m,
            wall,
            surface: Surface {
                area_m2: extents.area_m2,
                convection: self.convection(side),
                emissivity: radiation::emissivity_towards_room(emissivity, extents.seen_equally_warm),
                touch,
            },
        }
    }
}
