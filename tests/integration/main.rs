//! One integration binary: one module an area.

mod calibrate;
mod check;
mod choosing;
mod exports;
mod field;
mod field_checks;
mod figures;
mod fuzz_corpus;
mod hard_to_break;
mod heat;
mod hostile_text;
mod lab_files;
mod layering;
mod map;
mod names_first;
mod orbit;
mod outputs;
mod partial;
mod program;
mod readme;
mod schema;
mod sheet;
mod tables;
mod uniformity;
mod weigh;
mod wires;
