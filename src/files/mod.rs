//! Files in and out: specs and tables that people write, and files of ours, each whole or not at all.

pub mod out;
pub mod spec;
pub mod tables;
