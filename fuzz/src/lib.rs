//! Fuzz targets of coilwright; see `asked` for what each does and DEVELOPERS.md for how to run them.

pub mod asked;
