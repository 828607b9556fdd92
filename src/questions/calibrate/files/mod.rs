//! A calibration as files.

pub mod handout;
pub mod tables;
pub mod workbook;
