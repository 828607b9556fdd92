//! `wires`: which wires are known?

use super::output;
use super::quantity::quantity;
use coilwright::constants::Conductor;
use coilwright::spec::wires::WireList;
use coilwright::units::Dimension;
use coilwright::{Error, Result, report};

/// The arguments of `wires`.
#[derive(clap::Args)]
pub struct WiresArgs {
    /// Only the sizes whose bare diameter is nearest to this one, such as "0.9 mm"
    #[arg(long, value_name = "DIAMETER", value_parser = quantity(Dimension::Length), allow_hyphen_values = true)]
    pub near: Option<f64>,
    /// Print one JSON document
    #[arg(long)]
    pub json: bool,
}

/// Lists the stock wires.
pub fn run(arguments: &WiresArgs) -> Result<()> {
    if arguments.near.is_some_and(|near| near <= 0.0) {
        return Err(Error::Usage {
            message: "--near: a wire's diameter is larger than nothing".into(),
            hint: Some("write it like this: --near \"0.9 mm\"".into()),
        });
    }
    let list = WireList::new(arguments.near, Conductor::Copper);
    if arguments.json { output::print_json(&list) } else { output::print(&report::wires::text(&list)) }
}
