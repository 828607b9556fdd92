//! A map of the deviation as a picture: `cargo run --example map_to_svg > axial-plane.svg`.

use coilwright::files::spec::read_bench;
use coilwright::physics::field::PreparedPair;
use coilwright::questions::map::{Plane, Request, field_map, picture};

fn main() -> coilwright::Result<()> {
    let bench = read_bench(concat!(env!("CARGO_MANIFEST_DIR"), "/coil-specs/window-bench.json"))?;
    let pair = PreparedPair::of(&bench);
    let map = field_map(&pair, &Request::default())?;
    print!("{}", picture::picture(&map, Plane::Axial, &pair).svg());
    Ok(())
}
