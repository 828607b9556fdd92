//! One integration binary: one module an area.

mod calibrate;
