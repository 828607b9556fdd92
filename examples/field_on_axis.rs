//! The field on the axis of a thin pair, compared with the textbook's constant: `cargo run --example field_on_axis`.

use coilwright::constants::MU_0;
use coilwright::nalgebra::Vector3;
use coilwright::pair::{Bench, Winding, Wire};
use coilwright::physics::field::Assembly;

fn main() {
    let (radius_m, turns) = (0.15, 136.0);
    let winding = Winding::new(radius_m, 1e-4, 1e-4, turns, Wire::copper(0.95e-3, 1.041e-3));
    let coils = Assembly::of(&Bench::bare("Thin pair", winding, radius_m));
    let textbook = 0.8f64.powf(1.5) * MU_0 * turns / radius_m;
    println!("textbook constant  {:.6} mT/A", 1e3 * textbook);
    for z_m in [0.0, 0.02, 0.04, 0.06] {
        let field = coils.field_per_ampere(&Vector3::new(0.0, 0.0, z_m)).z;
        println!("z = {:2.0} mm          {:.6} mT/A", 1e3 * z_m, 1e3 * field);
    }
}
