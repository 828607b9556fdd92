//! Parts of pictures that several questions share.

pub(crate) mod bench_parts;
pub(crate) mod parts_key;
