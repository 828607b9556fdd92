//! The coil pair of an electron-beam teaching bench: its field, its uniformity, its calibration, its limits.
//!
//! A teaching laboratory bends an electron beam in a glass tube with the field of two coils, and finds e/m from gun
//! voltage, coil current and beam radius. This library answers the questions of the person who looks after that bench:
//! [`questions`] has one folder for each question, and each question returns one complete record.
//!
//! # What you want, and what you call
//!
//! | you want | you call |
//! |---|---|
//! | a pair, read and checked | [`read_bench`](files::spec::read_bench), [`bench_from_text`](files::spec::bench_from_text); in code [`Bench::bare`](pair::Bench::bare) |
//! | wishes, measurements, quotes and suppliers' limits, read | [`read_wanted`](files::spec::read_wanted), [`read_measured`](files::spec::read_measured), [`read_quote`](files::spec::read_quote), [`read_supplier_limits`](files::spec::read_supplier_limits) |
//! | any of these files checked | [`check_document`](files::spec::check_document) |
//! | all figures of a pair | [`sheet`](questions::sheet::sheet) |
//! | the field at points | [`Assembly::of`](physics::field::Assembly::of), then [`field_per_ampere_at`](physics::field::Assembly::field_per_ampere_at) |
//! | the uniformity over a beam | [`uniformity`](questions::uniformity::uniformity), or [`over_beam`](questions::uniformity::over_beam) alone |
//! | a map | [`field_map`](questions::map::field_map) |
//! | a calibration from readings | [`Readings::new`](questions::calibrate::Readings::new) or [`read_readings`](questions::calibrate::read_readings), then [`calibrate`](questions::calibrate::calibrate) |
//! | a pair's calibrations over the years | [`History::of`](questions::register::History::of), then [`in_force`](questions::register::in_force) or [`overview`](questions::register::overview) |
//! | how much current for how long | [`study`](questions::heat::study), or [`time_to_limit`](physics::heat::HeatedPair::time_to_limit) alone |
//! | the path of a beam | [`BeamBench::path`](physics::beam::BeamBench::path); in any field [`trace`](physics::beam::trace) |
//! | a lesson prepared | [`lesson`](questions::lesson::lesson) |
//! | e/m from a class's runs | [`weigh`](questions::weigh::weigh) |
//! | windings that would do | [`sizing`](questions::size::sizing) |
//! | what to hold while building | [`tolerance`](questions::tolerance::tolerance) |
//! | the papers to build a pair | [`build_papers`](questions::build::build_papers) |
//! | a request for quotation | [`tender`](questions::tender::tender) |
//! | offers compared | [`compare`](questions::compare::compare) |
//! | a delivery judged | [`accept`](questions::accept::accept) |
//! | a pair checked before a lesson | [`lesson_check`](questions::check::lesson_check) |
//! | an unlabelled pair identified | [`identify`](questions::identify::identify) |
//!
//! ```
//! use coilwright::files::spec::read_bench;
//! use coilwright::physics::field::PreparedPair;
//! use coilwright::physics::heat::{HeatedPair, circuit::Drive, limits::TemperatureLimits};
//! use coilwright::questions::uniformity::{Request, uniformity};
//!
//! let bench = read_bench("coil-specs/window-bench.json")?;
//! let answer = uniformity(&PreparedPair::of(&bench), &Request::within(0.01))?;
//! assert!(answer.beam.is_some_and(|beam| beam.worst_deviation.abs() < 0.1));
//!
//! let pair = HeatedPair::of(&bench)?;
//! let held = Drive::new(4.0, f64::INFINITY)?;
//! let (seconds, _) = pair.time_to_limit(&held, &TemperatureLimits::of(&bench))?.expect("4 A are too much for long");
//! assert!(seconds > 60.0);
//! # Ok::<(), coilwright::Error>(())
//! ```
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
//! `program` (default) is the command-line program, and `desk` (default) the same program in a browser window. `paper`
//! adds the records' text pages, pictures, printable pages and workbooks; `sheets` reads tables from workbooks; `site`
//! gives the earth's field at a place and date. `program` needs these three, and `desk` needs `program`. Without
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
//! use coilwright::physics::field::{Assembly, PlacedWinding, Section};
//!
//! let section = Section { mean_radius_m: 0.15, width_m: 1e-4, depth_m: 1e-4 };
//! let coil = |z_m| PlacedWinding::on_axis(section, 136.0, z_m);
//! let field = Assembly::new(vec![coil(-0.075), coil(0.075)]).field_per_ampere(&Vector3::zeros());
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
