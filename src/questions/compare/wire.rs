//! Whether an offer's wire is one of those that the request names.
//!
//! Another wire is no failure, because every need of the pair is judged by itself; but it is not what was asked for. So
//! the supplier is asked, and the offer does not pass until the buyer has the answer or takes the wire out of the request.

use crate::constants::Conductor;
use crate::pair::Wire;
use serde::Serialize;

/// Relative difference of bare diameters that count as one size: neighbours in every table differ by more (IEC 60317-0-1
/// allows ±1 %, which is not what is written in a quote).
const ONE_SIZE: f64 = 0.005;

/// A wire as a question names it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct NamedWire {
    /// Its conductor.
    pub conductor: Conductor,
    /// Its name in a table.
    pub name: Option<String>,
    /// Diameter of the bare conductor.
    pub bare_diameter_m: f64,
    /// Diameter over the enamel.
    pub overall_diameter_m: f64,
    /// Thermal class of the enamel, if stated.
    pub thermal_class_celsius: Option<f64>,
}

impl NamedWire {
    fn of(wire: &Wire) -> Self {
        Self {
            conductor: wire.conductor,
            name: wire.name.clone(),
            bare_diameter_m: wire.bare_diameter_m,
            overall_diameter_m: wire.overall_diameter_m,
            thermal_class_celsius: wire.thermal_class_celsius,
        }
    }
}

/// An offer's wire and those that the request names, if no pair that the offer may mean has one of these. `None` if it
/// may, if the request names none, or if no pair fits the offer.
pub(super) fn other_wire(offered: &[&Wire], named: Option<&[Wire]>) -> Option<(NamedWire, Vec<NamedWire>)> {
    let (named, first) = (named?, offered.first()?);
    let is_named = |wire: &&&Wire| named.iter().any(|allowed| is_one(wire, allowed));
    let none = offered.iter().find(is_named).is_none();
    none.then(|| (NamedWire::of(first), named.iter().map(NamedWire::of).collect()))
}

/// Whether an offered wire is the one that a request names: conductor and size, enamel no thicker, thermal class no lower.
fn is_one(offered: &Wire, named: &Wire) -> bool {
    let is_size = match (&offered.name, &named.name) {
        (Some(one), Some(other)) => one == other,
        _ => {
            (offered.bare_diameter_m / named.bare_diameter_m - 1.0).abs() <= ONE_SIZE
                && offered.overall_diameter_m <= named.overall_diameter_m * (1.0 + ONE_SIZE)
        }
    };
    let is_class = offered
        .thermal_class_celsius
        .zip(named.thermal_class_celsius)
        .is_none_or(|(offered, named)| offered >= named);
    offered.conductor == named.conductor && is_size && is_class
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::wires::{Build, stock_wire};

    fn stock(size: &str, build: Build, class: f64) -> Wire {
        stock_wire(size, build).unwrap().wire(Conductor::Copper, Some(class))
    }

    #[test]
    fn a_wire_is_one_of_those_named_by_its_name_or_its_diameters() {
        let named = [stock("0.9 mm", Build::Grade2, 180.0), stock("1 mm", Build::Grade2, 180.0)];
        let is_other = |wire: &Wire| other_wire(&[wire], Some(&named)).is_some();
        assert!(!is_other(&named[1]));
        // As a supplier types it, the enamel measured and the class higher.
        let typed = Wire { thermal_class_celsius: Some(200.0), ..Wire::copper(0.9e-3, 0.975e-3) };
        assert!(!is_other(&typed));
        for other in [
            stock("0.9 mm", Build::Grade1, 180.0),
            stock("0.95 mm", Build::Grade2, 180.0),
            stock("0.9 mm", Build::Grade2, 155.0),
            stock_wire("0.9 mm", Build::Grade2).unwrap().wire(Conductor::Aluminium, Some(180.0)),
            Wire::copper(0.912e-3, 0.98e-3),
            Wire::copper(0.9e-3, 1.02e-3),
        ] {
            assert!(is_other(&other), "{other:?}");
        }
    }

    #[test]
    fn what_may_be_a_named_wire_is_not_held_against_the_offer() {
        let named = [stock("0.9 mm", Build::Grade2, 180.0)];
        let other = stock("0.8 mm", Build::Grade2, 180.0);
        assert!(other_wire(&[&other, &named[0]], Some(&named)).is_none());
        assert!(other_wire(&[&other], None).is_none() && other_wire(&[], Some(&named)).is_none());
        let (offered, all) = other_wire(&[&other], Some(&named)).unwrap();
        assert_eq!((offered.name.as_deref(), all.len()), (Some("0.8 mm grade 2"), 1));
    }
}
