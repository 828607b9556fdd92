//! `build`: everything that a workshop needs to make the pair: former, winding, assembly, order list and tests.
//!
//! The papers describe the design, not the pair as built. Winding sheet, drawings and test sheet are all written from
//! one record.

mod alternatives;
mod assembly;
#[cfg(feature = "paper")]
pub mod files;
mod former;
mod item;
mod notes;
mod order;
mod outline;
#[cfg(feature = "paper")]
mod picture;
mod request;
mod sentences;
mod test_sheet;
mod winding;
mod wire_order;
#[cfg(feature = "paper")]
pub mod words;

pub use alternatives::{Alternative, WhichTurns, WhichWire};
pub use assembly::{AssemblyPlan, RimTolerance};
pub use former::{Bolts, Core, FormerPlan, Hole, Holes, Slot, TerminalPlate};
pub use item::{Item, LeadCurrent, OrderItem, OrderUnit, Reels, SheetMaterial};
pub use notes::Note;
pub use order::OrderList;
pub use outline::{Corner, Engraving, Outline, Part};
pub use request::{Projection, Request, ToleranceClass};
pub use test_sheet::{
    FieldTest, InsulationTest, ResistanceAt, ShortedTurn, TestSheet, TurnsCheck, WarmUp, WarmUpRow,
};
pub use winding::{LayerRow, TightWinding, WindingPlan};
pub use wire_order::{Joined, WireOrder};

use crate::Result;
use crate::pair::{Bench, Connection, Layout, Provenance};
use crate::physics::field::PreparedPair;
use crate::physics::safety::SafetyFigures;
use crate::questions::words::notes::as_sentences;
use serde::Serialize;

/// The build papers of a pair.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct BuildPapers {
    /// Program version and spec.
    pub provenance: Provenance,
    /// What was asked for.
    pub asked: Request,
    /// How the coils are connected.
    pub connection: Connection,
    /// The winding of each coil; both are alike.
    pub winding: WindingPlan,
    /// The former of each coil; both are alike.
    pub former: FormerPlan,
    /// The assembled pair.
    pub assembly: AssemblyPlan,
    /// The order list.
    pub order: OrderList,
    /// The measurements of the test sheet.
    pub test: TestSheet,
    /// Figures that the cautions quote.
    pub safety: SafetyFigures,
    /// Notes for the reader.
    #[serde(serialize_with = "as_sentences")]
    pub notes: Vec<Note>,
}

/// Makes the build papers for a bench's design.
///
/// # Errors
/// If the former does not fit, if there is no room for the insulation between layers, if the spec lacks a part that a
/// wish needs, if the test current is not above zero or makes too small a field, or if another value of the request is
/// out of range.
pub fn build_papers(bench: &Bench, request: &Request) -> Result<BuildPapers> {
    request.check()?;
    let built = bench.as_built.is_some();
    let mut bench = Bench { as_built: None, ..bench.clone() }.as_designed();
    // All papers rest on the layers that the winding sheet lists, also where they are assumed.
    let layout = Layout::of(&bench.winding);
    bench.winding.layers = Some(layout.layers);
    bench.winding.turns_per_layer = Some(layout.turns_per_layer);
    let held = assembly::held(&bench, request.wish)?;
    // A tightened tolerance holds for all papers, not for the assembly alone.
    let tolerance = if held.tightened { Some(held.tolerance) } else { bench.build_tolerance };
    let to_hold = Bench { build_tolerance: tolerance, ..bench.clone() };
    let winding = WindingPlan { layout_assumed: layout.assumed, ..winding::winding_plan(&to_hold, request)? };
    let former = former::former_plan(&to_hold, request)?;
    let assembly = assembly::assembly_plan(&bench, &former, held);
    let prepared = PreparedPair::of(&bench);
    let safety = SafetyFigures::of(&prepared);
    let order = OrderList::of(&prepared, request, &winding, &former, &assembly, &safety);
    let test = TestSheet::of(&to_hold, request, &safety)?;
    Ok(BuildPapers {
        provenance: Provenance::of(&bench, request.date),
        asked: request.clone(),
        connection: bench.connection,
        notes: notes::notes(&bench, built, &winding, &former, &assembly, &order)
            .into_iter()
            .chain(notes::on_test_current(&bench, request, &safety))
            .collect(),
        winding,
        former,
        assembly,
        order,
        test,
        safety,
    })
}
