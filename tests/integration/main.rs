//! One integration binary: one module an area.

mod calibrate;
mod map;
mod check;
mod program;
mod schema;
mod sheet;
mod uniformity;
