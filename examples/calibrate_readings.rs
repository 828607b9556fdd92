//! A calibration line from a table of readings: `cargo run --example calibrate_readings`.

use coilwright::files::spec::read_bench;
use coilwright::questions::calibrate::{Request, calibrate, read_readings};
use std::path::Path;

fn main() -> coilwright::Result<()> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"));
    let bench = read_bench(folder.join("coil-specs/window-bench.json"))?;
    let readings = read_readings(&folder.join("lab-files/readings.csv"))?;
    let record = calibrate(&bench, &Request { readings: Some(readings), ..Request::default() })?;
    if let Some(uncertainty) = record.slope.uncertainty {
        println!(
            "k = {:.4e} T/A, expanded uncertainty {:.1e} T/A, coverage factor {:.2}",
            record.slope.tesla_per_ampere, uncertainty.expanded_tesla_per_ampere, uncertainty.coverage_factor
        );
    }
    for entry in &record.slope.budget {
        println!("  {}", entry.source);
    }
    Ok(())
}
