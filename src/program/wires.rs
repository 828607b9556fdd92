//! `wires`: which wires are known?

use super::output;
use super::quantity::quantity_within;
use coilwright::Result;
use coilwright::constants::Conductor;
use coilwright::pair::wires::WireList;
use coilwright::questions::wires::words;
use coilwright::units::Dimension;

/// The arguments of `wires`.
#[derive(clap::Args)]
pub struct WiresArgs {
    /// List only the sizes whose bare diameter is nearest to this one, such as "0.9 mm"
    #[arg(long, value_name = "DIAMETER", value_parser = quantity_within(Dimension::Length, 1e-5, 0.025), allow_hyphen_values = true)]
    pub near: Option<f64>,
    /// Print one JSON document
    #[arg(long)]
    pub json: bool,
}

/// Lists the stock wires.
pub fn run(arguments: &WiresArgs) -> Result<()> {
    let list = WireList::new(arguments.near, Conductor::Copper);
    if arguments.json { output::print_json(&list) } else { output::print(&words::text(&list)) }
}
