//! The name and the sentence of each fault, the same in text and JSON.

use super::record::{Cause, CauseMember, Explanation};
use super::subject::Quantity;
use crate::pair::Connection;
use crate::questions::words::faults::Fault;
use crate::questions::words::notes::Told;
use crate::units::{Dimension, display};

/// The name of a fault, for scripts.
pub(super) const fn cause_name(member: &CauseMember) -> &'static str {
    match member.cause {
        Cause::GaussForMillitesla => "gauss written as millitesla",
        Cause::MilliteslaForGauss => "millitesla written as gauss",
        Cause::FieldReversed => "field reversed",
        Cause::CoilReversed => "coil connected backwards",
        Cause::Connection => match member.connection {
            Connection::Series => "parallel for series",
            Connection::Parallel => "series for parallel",
        },
        Cause::OneCoilAlone => "one coil alone",
        Cause::CopperTemperature => "copper at another temperature",
        Cause::ContactResistance => "contact or lead resistance",
        Cause::Turns => "other turns",
        Cause::ShortedTurns => "shorted turns",
        Cause::Spacing => "wrong spacing",
        Cause::MeanRadius => "other mean radius",
        Cause::WireDiameter => "other wire diameter",
        Cause::Aluminium => "aluminium for copper",
        Cause::MeterGain => "gain of field meter or ammeter",
        Cause::ProbeTilted => "probe tilted",
        Cause::RadiusForDiameter => "radius written for diameter",
        Cause::Alone(_) => "this quantity alone",
        Cause::AnotherPair => "another pair",
    }
}

impl Told for Explanation {
    fn sentence(&self) -> String {
        cause_sentence(&self.member)
    }
}

/// The fault and what to check.
pub(super) fn cause_sentence(member: &CauseMember) -> String {
    let length = |si: f64| display(si, Dimension::Length, 4);
    let (size, of) = (member.size, member.of);
    match member.cause {
        Cause::GaussForMillitesla => {
            Fault::GAUSS_FOR_MILLITESLA.and("it is ten times what the spec gives")
        }
        Cause::MilliteslaForGauss => {
            Fault::MILLITESLA_FOR_GAUSS.and("it is a tenth of what the spec gives")
        }
        Cause::FieldReversed => Fault::LeadsReversed.and("the field points the other way"),
        Cause::CoilReversed => {
            Fault::CoilReversed.and("the two fields cancel at the centre; exchange its two leads")
        }
        Cause::Connection => {
            let really = member.connection.other();
            Fault::Connection { really }.and(match really {
                Connection::Parallel => "a quarter of the resistance, half the field per ampere",
                Connection::Series => "four times the resistance, twice the field per ampere",
            })
        }
        Cause::OneCoilAlone => Fault::OneCoilAlone.and(match member.connection {
            Connection::Series => "the other is bypassed; look at the link between the coils",
            Connection::Parallel => {
                "the other is open; look at its leads; it makes the field per ampere of the pair, but not its uniformity"
            }
        }),
        Cause::CopperTemperature => {
            format!("the copper is at {:.0} °C, not at {of:.0} °C: let it come to room temperature", of + size)
        }
        Cause::ContactResistance => {
            format!("{} of bad contact or long leads", display(size, Dimension::Resistance, 2))
        }
        Cause::Turns => turns_sentence(member),
        Cause::ShortedTurns => format!(
            "about {} of one coil {} short-circuited: it warms unevenly and its inductance falls; compare the two coils \
             with each other",
            turns(size),
            if size.round() == 1.0 { "is" } else { "are" }
        ),
        Cause::Spacing => format!(
            "the coils stand {} apart, not {}: measure between their middles",
            length(of + size),
            length(of)
        ),
        Cause::MeanRadius => format!("the mean radius is {}, not {}", length(of + size), length(of)),
        Cause::WireDiameter => format!(
            "the wire is {} bare, not {}: {}",
            display(of * (1.0 + size), Dimension::Length, 3),
            display(of, Dimension::Length, 3),
            if size < 0.0 { "it was wound with thinner wire" } else { "it was wound with thicker wire" }
        ),
        Cause::Aluminium => Fault::Aluminium.and("1.6 times the resistance, a third of the mass"),
        Cause::MeterGain => format!(
            "field meter or ammeter is off by {}: the field per ampere is no better than they are",
            display(size, Dimension::Fraction, 2)
        ),
        Cause::ProbeTilted => format!("the probe stands {} off the axis", display(size, Dimension::Angle, 2)),
        Cause::RadiusForDiameter => {
            Fault::RadiusForDiameter.and("both are half of what the spec gives")
        }
        Cause::Alone(quantity) => format!(
            "the {} alone is off, by {}: a slip of the pen, a meter, or this part",
            name(quantity),
            display(size, Dimension::Fraction, 2)
        ),
        Cause::AnotherPair => "another pair than the spec's: no single fault brings all these readings; look for a label, and let \
                               `identify` say what pair it is"
            .into(),
    }
}

/// Whole turns: `1 turn`, or `12 turns`.
fn turns(count: f64) -> String {
    match format!("{count:.0}").as_str() {
        "1" => "1 turn".into(),
        several => format!("{several} turns"),
    }
}

/// The sentence on a wrong number of turns. It speaks of each coil only if the coils' own readings do not differ.
fn turns_sentence(member: &CauseMember) -> String {
    let (of, mean) = (member.of, member.of + member.size);
    match member.turns_apart {
        Some(apart) => format!(
            "about {} in coil a and {:.0} in coil b, not {of:.0} in both: a slip while one of them was wound",
            turns(mean - 0.5 * apart),
            mean + 0.5 * apart
        ),
        None if member.coils_differ => format!(
            "{mean:.1} turns on the mean of two coils that differ, not {of:.0}: look at each coil's own readings"
        ),
        None => format!(
            "{} a coil in the mean of both, not {of:.0}: turns missing or too many on one or both, another pair, or a slip in the spec",
            turns(mean)
        ),
    }
}

/// The name of a quantity for people.
pub(super) const fn name(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::ResistanceOhm => "resistance",
        Quantity::FieldTeslaPerAmpere => "field per ampere",
        Quantity::InductanceHenry => "inductance",
        Quantity::ConductorMassKg => "conductor mass",
        Quantity::OverallWireDiameterM => "wire over its enamel",
        Quantity::InnerDiameterM => "inner diameter",
        Quantity::OuterDiameterM => "outer diameter",
        Quantity::WidthM => "width",
        Quantity::SpacingM => "spacing",
    }
}
