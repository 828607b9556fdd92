//! Records written out: text, tables, files.

pub mod beam_chart;
pub mod calibration;
pub mod calibration_plan;
pub mod calibration_tables;
pub mod calibration_words;
pub mod cautions;
pub mod columns;
pub mod comparison;
pub mod comparison_page;
pub mod comparison_workbook;
pub mod field;
pub mod field_map;
pub mod files;
pub mod handout;
pub mod heat;
pub mod identification;
pub mod lesson_check;
pub mod orbit;
pub mod page;
pub mod sheet;
pub mod sizing;
pub mod table_file;
pub mod tolerance;
pub mod uniformity;
pub mod wires;
pub mod workbook;
