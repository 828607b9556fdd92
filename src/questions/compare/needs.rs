//! Every need held against every option.

use super::record::{Need, NeedResult, PairOption};
use crate::files::spec::Wanted;
use crate::physics::heat::HeldFor;
use crate::units::{Dimension, display};

/// One way of meeting a need.
enum Enough {
    AtLeast,
    AtMost,
}

/// Needs that the copper's warmth decides.
const WHILE_HELD: [&str; 2] = [LARGEST_FIELD, VOLTAGE];
const LARGEST_FIELD: &str = "largest field";
const VOLTAGE: &str = "voltage for that field";

pub(super) fn held_against(options: &[PairOption], needs: &Wanted, largest_field: Option<f64>) -> Vec<Need> {
    let mut all = Vec::new();
    let held = HeldFor::of(Some(needs)).words();
    let mut need = |name, dimension, wanted: Option<f64>, enough, of: &dyn Fn(&PairOption) -> Option<f64>| {
        let Some(wanted_si) = wanted else { return };
        let sign = match enough {
            Enough::AtLeast => "at least",
            Enough::AtMost => "at most",
        };
        let results = options.iter().map(|option| result(option, wanted_si, &enough, dimension, of(option)));
        all.push(Need {
            name,
            wanted: match held.as_ref().filter(|_| WHILE_HELD.contains(&name)) {
                Some(held) => format!("{sign} {} {held}", display(wanted_si, dimension, 3)),
                None => format!("{sign} {}", display(wanted_si, dimension, 3)),
            },
            wanted_si,
            results: results.collect(),
        });
    };
    need(LARGEST_FIELD, Dimension::FluxDensity, largest_field, Enough::AtLeast, &|o| o.largest_field_tesla);
    let supply = needs.supply;
    need(
        "current for that field",
        Dimension::Current,
        largest_field.and(supply).and_then(|supply| supply.current_limit_ampere),
        Enough::AtMost,
        &|o| o.working_current_ampere,
    );
    need(
        VOLTAGE,
        Dimension::Voltage,
        largest_field.and(supply).and_then(|supply| supply.voltage_limit_volt),
        Enough::AtMost,
        // Copper that warms without end asks for more than any voltage.
        &|o| o.working_current_ampere.map(|_| o.voltage_volt.unwrap_or(f64::INFINITY)),
    );
    let bulb = needs.bulb().ok().map(|bulb| bulb.radius_m + needs.clearance_m);
    need("room for the bulb", Dimension::Length, bulb, Enough::AtLeast, &|o| o.room_for_bulb_m);
    need("beam deviation", Dimension::Fraction, needs.beam_deviation, Enough::AtMost, &|o| {
        o.worst_beam_deviation.map(f64::abs)
    });
    need(
        "surface temperature",
        Dimension::Temperature,
        needs.surface_temperature_limit_celsius,
        Enough::AtMost,
        // Without a steady state there is no temperature to name, and the need is surely missed.
        &|o| o.working_current_ampere.map(|_| o.surface_temperature_celsius.unwrap_or(f64::INFINITY)),
    );
    all
}

fn result(
    option: &PairOption,
    wanted: f64,
    enough: &Enough,
    dimension: Dimension,
    found: Option<f64>,
) -> NeedResult {
    let met = found.map(|found| match enough {
        Enough::AtLeast => found >= wanted,
        Enough::AtMost => found <= wanted,
    });
    let missing = found.filter(|found| met == Some(false) && found.is_finite());
    // A part of a temperature in °C means nothing; by how many kelvin does.
    let (missed, missed_by) = match (missing, dimension) {
        (None, _) => (None, None),
        (Some(found), Dimension::Temperature) => {
            (None, Some(display((found - wanted).abs(), Dimension::TemperatureDifference, 3)))
        }
        (Some(found), _) => {
            let missed = (found / wanted - 1.0).abs();
            (Some(missed), Some(display(missed, Dimension::Fraction, 2)))
        }
    };
    NeedResult {
        label: option.label.clone(),
        found_si: found.filter(|found| found.is_finite()),
        found: match found {
            Some(found) if found.is_finite() => display(found, dimension, 3),
            Some(_) => "no end".into(),
            None => "not known".into(),
        },
        met,
        missed_by_fraction: missed,
        missed_by,
    }
}
