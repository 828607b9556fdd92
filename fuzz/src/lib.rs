//! Fuzz targets of coilwright; see `asked` for what each does and DEVELOPERS.md for how to run them.

#[path = "../../tests/integration/asked.rs"]
pub mod asked;
