//! Parts of pictures that several questions share.

pub mod bench_parts;
