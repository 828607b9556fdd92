//! What can stand in the order list, with its numbers.

use crate::constants::Conductor;
use serde::Serialize;

/// One line of the order.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct OrderItem {
    /// What is ordered.
    pub what: Item,
    /// Quantity for the pair.
    pub quantity: f64,
    /// Unit of the quantity.
    pub unit: OrderUnit,
}

/// The unit in which an item is ordered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum OrderUnit {
    /// Metres.
    Metre,
    /// Kilograms.
    Kilogram,
    /// Square metres.
    SquareMetre,
    /// Pieces.
    Piece,
}

impl OrderUnit {
    /// Its key in JSON and CSV.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Metre => "m",
            Self::Kilogram => "kg",
            Self::SquareMetre => "m2",
            Self::Piece => "pcs",
        }
    }
}

/// What is ordered.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Item {
    /// The wire of both coils.
    Wire {
        /// Its conductor.
        conductor: Conductor,
        /// Its stock name. `None` if it is not a stock size.
        name: Option<String>,
        /// Diameter of the bare conductor.
        bare_diameter_m: f64,
        /// Diameter over the enamel.
        overall_diameter_m: f64,
        /// Thermal class of the enamel, if stated.
        thermal_class_celsius: Option<f64>,
        /// The reels to buy. `None` if no size holds the wire of one coil in one piece.
        reels: Option<Reels>,
        /// The reels if the wire must be joined within a coil.
        joined: Option<Reels>,
    },
    /// A flexible lead from the pair to the supply.
    Lead {
        /// Cross-section of its conductor.
        area_m2: f64,
        /// The current for which it is chosen.
        current: LeadCurrent,
        /// Largest current density that it should carry.
        most_ampere_per_m2: f64,
    },
    /// Sockets for the ends of the coils.
    Sockets {
        /// Diameter of their holes in the terminal plates; `None` if there are no plates.
        hole_m: Option<f64>,
    },
    /// What connects the coils.
    Bridge,
    /// Sleeves over soldered ends of copper.
    Sleeve,
    /// Connectors for ends of aluminium.
    Crimps,
    /// The part against the inductive kick. It works for either direction of the current, because lessons and tests
    /// reverse it.
    Clamp {
        /// Largest voltage of the supply, at which it must not conduct; not known where the spec does not state it.
        supply_volt: Option<f64>,
        /// Energy that it must take at once: twice that of the field at the current for which the leads are chosen. Not
        /// known where that current is not.
        energy_joule: Option<f64>,
    },
    /// Sheet for the formers.
    Sheet {
        /// Its material.
        material: SheetMaterial,
        /// Its thickness.
        thickness_m: f64,
    },
    /// Bolts or threaded rods through both formers.
    Bolt {
        /// Nominal diameter of the thread.
        thread_m: f64,
        /// Length of each.
        length_m: f64,
    },
    /// Nuts with washers for the bolts.
    Nut {
        /// Nominal diameter of the thread.
        thread_m: f64,
    },
    /// Screws with nuts that hold the terminal plates.
    Screw {
        /// Nominal diameter of the thread.
        thread_m: f64,
        /// Length of each.
        length_m: f64,
    },
    /// Tubes that hold the formers apart.
    Spacer {
        /// Outer diameter.
        diameter_m: f64,
        /// Diameter of the bore.
        bore_diameter_m: f64,
        /// Length of each, as drawn.
        length_m: f64,
    },
    /// Pins that keep flanges and core concentric.
    Dowel {
        /// Diameter.
        diameter_m: f64,
        /// Length of each.
        length_m: f64,
    },
    /// Foil that keeps the winding off a former that conducts.
    Lining {
        /// Its thickness, m.
        thickness_m: f64,
    },
    /// Strip in the slit of a former that conducts.
    GapStrip {
        /// Its thickness, m.
        thickness_m: f64,
        /// Its radial depth, m.
        depth_m: f64,
        /// Its width along the axis, m.
        width_m: f64,
    },
    /// Foil between the layers.
    Foil {
        /// Its thickness.
        thickness_m: f64,
        /// Its width.
        width_m: f64,
        /// Whether it fills a coil that is else too small, and nobody asked for it as insulation.
        is_filler: bool,
    },
    /// Varnish or resin for the finished coils.
    Varnish,
}

/// Reels of one size.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Reels {
    /// Number of reels.
    pub count: u32,
    /// Mass of enamelled wire on each reel.
    pub each_kg: f64,
    /// Mass of wire left over once both coils are wound.
    pub left_kg: f64,
}

/// The current for which a lead is chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum LeadCurrent {
    /// The largest that the supply gives.
    OfSupply,
    /// The continuous current to rely on.
    Continuous,
    /// It is not known; the smallest usual lead is taken.
    NotKnown,
}

/// The material of a sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum SheetMaterial {
    /// Any card; the sheet is too thin for the former's material.
    Card,
    /// The former's.
    OfFormer(String),
    /// Insulating sheet, for what carries the sockets.
    Insulator,
    /// The spec states none.
    NotStated,
}
