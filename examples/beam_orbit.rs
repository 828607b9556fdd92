//! The orbit of a beam in the real field of pair and room: `cargo run --example beam_orbit`.

use coilwright::files::spec::read_bench;
use coilwright::physics::beam::{BeamBench, Setting};
use coilwright::questions::orbit::{Request, orbit};

fn main() -> coilwright::Result<()> {
    let bench = read_bench(concat!(env!("CARGO_MANIFEST_DIR"), "/coil-specs/window-bench.json"))?;
    let beams = BeamBench::prepare(&bench, None)?;
    for current_ampere in [1.2, 1.4, 1.6, -1.4] {
        let setting = Setting { gun_voltage_volt: 200.0, current_ampere, gun_tilt_rad: 0.0 };
        let record = orbit(&beams, &Request::at(setting))?;
        match record.read_radius_m {
            Some(radius_m) => println!("{current_ampere:4.1} A: radius {:.2} mm", 1e3 * radius_m),
            None => println!("{current_ampere:4.1} A: the beam does not come round"),
        }
    }
    Ok(())
}
