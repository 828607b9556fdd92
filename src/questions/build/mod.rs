//! Everything the workshop needs to make the pair: former, winding, assembly, order and tests.
//!
//! The papers are of the design. What a winding, a drawing and a test sheet say comes from one record.

mod alternatives;
mod assembly;
#[cfg(feature = "paper")]
pub mod files;
mod former;
mod notes;
mod order;
mod outline;
#[cfg(feature = "paper")]
mod picture;
mod request;
mod test_sheet;
mod winding;
#[cfg(feature = "paper")]
pub mod words;

pub use alternatives::{Alternative, WhichTurns, WhichWire};
pub use assembly::{AssemblyPlan, RimTolerance};
pub use former::{Bolts, Core, FormerPlan, Hole, Holes, Slot};
pub use notes::Note;
pub use order::{OrderItem, OrderList, Reels, WireOrder};
pub use outline::{Corner, Engraving, Outline, Part};
pub use request::{Projection, Request, ToleranceClass};
pub use test_sheet::{
    FieldTest, InsulationTest, ResistanceAt, ShortedTurn, TestSheet, TurnsCheck, WarmUp, WarmUpRow,
};
pub use winding::{LayerRow, TightWinding, WindingPlan};

use crate::Result;
use crate::pair::{Bench, Connection, Layout, Provenance};
use crate::physics::field::Assembly;
use crate::physics::safety::SafetyFigures;
use crate::questions::words::notes::as_sentences;
use serde::Serialize;

/// The build papers of a pair.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct BuildPapers {
    /// What they were made from.
    pub provenance: Provenance,
    /// What was asked.
    pub asked: Request,
    /// How the coils are connected.
    pub connection: Connection,
    /// The winding of either coil.
    pub winding: WindingPlan,
    /// The former of either coil.
    pub former: FormerPlan,
    /// The pair put together.
    pub assembly: AssemblyPlan,
    /// What to order.
    pub order: OrderList,
    /// What to measure.
    pub test: TestSheet,
    /// The figures that cautions name.
    pub safety: SafetyFigures,
    /// What must be known when reading.
    #[serde(serialize_with = "as_sentences")]
    pub notes: Vec<Note>,
}

/// The build papers of a bench's design.
///
/// # Errors
/// A former that does not fit; insulation between layers without room; a wish that needs a part the spec lacks.
pub fn build_papers(bench: &Bench, request: &Request) -> Result<BuildPapers> {
    request.check()?;
    let built = bench.as_built.is_some();
    let mut bench = Bench { as_built: None, ..bench.clone() }.as_designed();
    // All papers rest on the layers that the winding sheet lists, also where they are assumed.
    let layout = Layout::of(&bench.winding);
    bench.winding.layers = Some(layout.layers);
    bench.winding.turns_per_layer = Some(layout.turns_per_layer);
    let held = assembly::held(&bench, request.wish)?;
    // What a wish needs to be held binds every paper, not the assembly alone.
    let tolerance = if held.tightened { Some(held.tolerance) } else { bench.build_tolerance };
    let to_hold = Bench { build_tolerance: tolerance, ..bench.clone() };
    let winding = WindingPlan { layout_assumed: layout.assumed, ..winding::winding_plan(&to_hold, request)? };
    let former = former::former_plan(&to_hold, request)?;
    let assembly = assembly::assembly_plan(&bench, &former, held);
    let safety = SafetyFigures::of(&bench, &Assembly::of(&bench));
    let order = OrderList::of(&bench, request, &winding, &former, &assembly, &safety);
    let test = TestSheet::of(&to_hold, request, &safety)?;
    Ok(BuildPapers {
        provenance: Provenance::of(&bench, request.date.as_deref()),
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
