//! The names of what is read: of the pair, a coil, a field or a surface.

use crate::physics::build_error::CoilName;
use crate::questions::check::sentences::name;
use crate::questions::check::subject::{BothQuantity, CoilQuantity, SectionQuantity, Subject};
use crate::units::{Dimension, brief};

/// The name of a reading's subject for people, with the conditions of the reading.
pub(crate) fn subject_name(subject: Subject) -> String {
    match subject {
        Subject::Pair(quantity) => name(quantity).into(),
        Subject::Coil(coil, quantity) => {
            let coil = if coil == CoilName::A { "a" } else { "b" };
            format!("coil {coil}, {}", coil_name(quantity))
        }
        Subject::Section(coil, quantity) => {
            let coil = match coil {
                None => "",
                Some(CoilName::A) => "coil a, ",
                Some(CoilName::B) => "coil b, ",
            };
            let what = match quantity {
                SectionQuantity::MeanRadiusM => "mean radius, by Ø",
                SectionQuantity::DepthM => "depth, by Ø",
            };
            format!("{coil}{what}")
        }
        Subject::Both(BothQuantity::OpposedInductanceHenry) => "inductance, one coil reversed".into(),
        Subject::Both(BothQuantity::MutualInductanceHenry) => "mutual inductance".into(),
        Subject::Field { entry, at_m, current_ampere } => {
            let millimetres = at_m.map(|part| crate::units::number_of_six(1e3 * part, 1));
            format!(
                "field {} at ({}) mm, {}",
                entry + 1,
                millimetres.map(|part| part.trim_end_matches(".0").to_owned()).join(", "),
                brief(current_ampere, Dimension::Current)
            )
        }
        Subject::Surface { current_ampere, after_s } => format!(
            "hottest surface, {} for {}",
            brief(current_ampere, Dimension::Current),
            brief(after_s, Dimension::Time)
        ),
        Subject::Voltage { current_ampere, after_s } => format!(
            "voltage at the terminals, {} for {}",
            brief(current_ampere, Dimension::Current),
            brief(after_s, Dimension::Time)
        ),
        Subject::SpacingDifference { across_m } => {
            format!("difference of distances round Ø {}", brief(across_m, Dimension::Length))
        }
        Subject::RimStep => "step from rim to rim".into(),
        Subject::InductanceDrop { coil, hertz } => format!(
            "coil {}, drop from {} to {}",
            if coil == CoilName::A { "a" } else { "b" },
            brief(hertz[0], Dimension::Frequency),
            brief(hertz[1], Dimension::Frequency)
        ),
        Subject::Insulation { test_volt } => {
            format!("insulation at {}", brief(test_volt, Dimension::Voltage))
        }
    }
}

pub(in crate::questions::check) const fn coil_name(quantity: CoilQuantity) -> &'static str {
    match quantity {
        CoilQuantity::Turns => "turns",
        CoilQuantity::ResistanceOhm => "resistance",
        CoilQuantity::InnerDiameterM => "inner diameter",
        CoilQuantity::OuterDiameterM => "outer diameter",
        CoilQuantity::WidthM => "width",
        CoilQuantity::InductanceHenry => "own inductance",
        CoilQuantity::ConductorMassKg => "conductor mass",
        CoilQuantity::OffsetXM => "offset along x",
        CoilQuantity::OffsetYM => "offset along y",
        CoilQuantity::TiltXRad => "tilt about x",
        CoilQuantity::TiltYRad => "tilt about y",
    }
}
