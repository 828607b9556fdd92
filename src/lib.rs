//! The coil pair of an electron-beam teaching bench: its field, its uniformity, its calibration, its limits.
//!
//! A teaching laboratory bends an electron beam in a glass tube with the field of two coils, and finds e/m from gun
//! voltage, coil current and beam radius. This library answers the questions of the person who looks after that bench:
//! [`questions`] has one folder for each question, and each question returns one complete record.
//!
//! # What is modelled
//!
//! - **Field**: two windings of rectangular section, offset, tilted, unequal, in series or in parallel; the current as
//!   a smooth density or turn by turn. Static currents, no iron, no lead wires. Accuracy 1e-12 of S outside the
//!   windings, 1e-10 inside, where S is the sum over the coils of |B| at the point (see [`physics::field`]).
//! - **Heat**: conduction in the section, published correlations for convection and radiation to still air. Temperatures
//!   are good to 10 to 20 % of the rise.
//! - **Beam**: the relativistic path of single electrons in the static field of pair and room; no space charge, no gas.
//! - **Room**: a uniform field, measured, or from the World Magnetic Model (feature `site`).
//!
//! # Axes and units
//!
//! SI everywhere, the unit in every name (`mean_radius_m`, `field_tesla`). Right-handed axes with the origin midway between
//! the coils; z is the common axis, from coil a to coil b; with a horizontal axis y is up. A positive current makes a
//! field along +z at the origin. Angles are radians. [`units`] alone converts, for people and for files.
//!
//! # Features
//!
//! `program` (default) is the command-line program; `paper` adds the records' text pages, pictures, printable pages and
//! workbooks; `sheets` reads tables from workbooks; `site` gives the earth's field at a place and date. Without
//! features the core is left: methods, units, the pair, its physics, the questions with their records, and the reading
//! of files.
//!
//! # Example
//!
//! Thin coils one radius apart make (4/5)^(3/2) μ0 N I/R at the centre: for R = 0.15 m and N = 136 that is
//! 0.71554 × 1.256637e-6 × 136/0.15 = 8.153e-4 T per ampere.
//!
//! ```
//! use coilwright::nalgebra::Vector3;
//! use coilwright::pair::{Bench, Winding, Wire};
//! use coilwright::physics::field::Assembly;
//!
//! let wire = Wire::copper(0.95e-3, 1.041e-3);
//! let pair = Bench::bare("Thin pair", Winding::new(0.15, 1e-4, 1e-4, 136.0, wire), 0.15);
//! let field = Assembly::of(&pair).field_per_ampere(&Vector3::zeros());
//! assert!((field.z - 8.153e-4).abs() < 0.001e-4);
//! ```

#![warn(unreachable_pub)]

pub mod constants;
pub mod error;
pub mod files;
pub mod judgement;
pub mod numeric;
pub mod pair;
#[cfg(feature = "paper")]
pub mod paper;
pub mod physics;
pub mod questions;
pub mod units;

pub use error::{Document, Error, Result, SheetPlace};
pub use nalgebra;
