//! Files in and out: specs and tables that people write, files of ours, each whole or not at all, and the register that grows.

pub mod out;
pub mod register;
pub mod spec;
pub mod tables;
