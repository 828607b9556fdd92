//! Searches windings for a small set of wishes: `cargo run --example search_winding`.

use coilwright::files::spec::wanted_from_text;
use coilwright::questions::size::sizing;

const WISHES: &str = r#"{
    "title": "A small bench",
    "tube": { "bulb_radius": "70 mm", "gun_exit": ["42 mm", "0 mm", "0 mm"], "gun_direction": [0, 1, 0],
              "gun_voltage": ["100 V", "250 V"], "beam_radius": ["25 mm", "42 mm"] },
    "supply": { "voltage_limit": "24 V", "current_limit": "3 A" },
    "beam_deviation": "1 %",
    "search": { "mean_radius": ["140 mm", "150 mm"], "width": ["10 mm", "20 mm"], "depth": ["8 mm", "16 mm"],
                "spacing": "beam", "wires": [{ "size": "0.9 mm", "build": "grade 2" }] }
}"#;

fn main() -> coilwright::Result<()> {
    let record = sizing(&wanted_from_text("wishes", WISHES)?, None, |_| {})?;
    println!("{} of {} windings meet every wish", record.feasible, record.searched);
    if let Some(best) = record.best.first() {
        println!(
            "best: {} turns of {} on a mean radius of {:.0} mm, {:.2} kg of conductor",
            best.turns,
            best.wire,
            1e3 * best.mean_radius_m,
            best.conductor_mass_kg
        );
    }
    Ok(())
}
