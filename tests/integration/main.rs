//! One integration binary: one module an area.
