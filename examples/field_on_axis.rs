//! The field on the axis of a thin pair, compared with the textbook's constant: `cargo run --example field_on_axis`.

use coilwright::constants::MU_0;
use coilwright::nalgebra::Vector3;
use coilwright::physics::field::{Assembly, PlacedWinding, Section};

fn main() {
    let (radius_m, turns) = (0.15, 136.0);
    let section = Section { mean_radius_m: radius_m, width_m: 1e-4, depth_m: 1e-4 };
    let coil = |z_m: f64| PlacedWinding::on_axis(section, turns, z_m);
    let coils = Assembly::new(vec![coil(-0.5 * radius_m), coil(0.5 * radius_m)]);
    let textbook = 0.8f64.powf(1.5) * MU_0 * turns / radius_m;
    println!("textbook constant  {:.6} mT/A", 1e3 * textbook);
    for z_m in [0.0, 0.02, 0.04, 0.06] {
        let field = coils.field_per_ampere(&Vector3::new(0.0, 0.0, z_m)).z;
        println!("z = {:2.0} mm          {:.6} mT/A", 1e3 * z_m, 1e3 * field);
    }
}
