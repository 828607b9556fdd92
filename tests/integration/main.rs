//! One integration binary: one module an area.

mod calibrate;
mod check;
mod heat;
mod lab_files;
mod field;
mod field_checks;
mod map;
mod program;
mod schema;
mod sheet;
mod uniformity;
mod wires;
