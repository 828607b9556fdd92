//! Files in and out: specs and tables that people write, our own files, each written whole or not at all, and the
//! register, which only grows.

pub mod out;
pub mod register;
pub mod spec;
pub mod tables;
