//! One integration binary: one module an area.

mod calibrate;
mod program;
mod sheet;
mod uniformity;
