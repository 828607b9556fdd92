//! The phrases that page and JSON of a delivery share: how to measure better, and why turns are not derived.

use super::deciding::BetterWay;
use super::joint::NotDerived;
use serde::{Serialize, Serializer};
use std::fmt;

impl BetterWay {
    /// The way, with what to mind (common practice, no source).
    #[must_use]
    pub const fn phrase(self) -> &'static str {
        match self {
            Self::FourWires => "four-wire ohmmeter, after a night in the room: 1 K off is 0.4 % off",
            Self::Bridge => "bridge at 100 Hz and at 1 kHz, iron and the other coil far off",
            Self::BridgeAtBothFrequencies => {
                "bridge at both frequencies, or Q at the higher, metal and the other coil far off"
            }
            Self::Balance => "balance of a finer step, the former weighed by itself",
            Self::CalliperRoundTheRim => "calliper at eight places round the rim, read by two people",
            Self::CalliperToARod => {
                "calliper from both flanges to a rod through the centres, the pair turned by 180° between"
            }
            Self::CalibratedProbe => {
                "a probe with its own calibration certificate, turned over and with the current reversed, beside a better ammeter"
            }
            Self::Micrometer => "micrometer at ten places of an end, without pressing the enamel",
            Self::TurnsTester => "turns tester, or the voltage induced beside that of a coil of known turns",
            Self::Thermocouple => {
                "a thin thermocouple with paste at the hottest place, the room's air measured beside it"
            }
            Self::VoltmeterAtTheCoils => {
                "voltmeter at the coils' own terminals and a better ammeter, both read at the same moment"
            }
            Self::GaugeBlocks => {
                "inside calliper or gauge blocks between like faces, at marked places all round the rim"
            }
            Self::FeelerGauge => "feeler gauge under a true straightedge, all round the rim",
            Self::InsulationTester => {
                "insulation tester of a higher range, the coil clean and dry, after one minute"
            }
            Self::SquarenessOfEach => {
                "a square and a feeler gauge from the base, or from a rod along the axis, to the flange of each coil, about x and \
                 about y"
            }
            Self::PlaceOfEach => {
                "a calliper from the flange of each coil to a rod through the middle of the bench, along x and along y"
            }
            Self::Square => "square and feeler gauge across the flange: 1 mm over 300 mm is 0.2°",
        }
    }
}

impl Serialize for BetterWay {
    fn serialize<S: Serializer>(&self, to: S) -> std::result::Result<S::Ok, S::Error> {
        to.serialize_str(self.phrase())
    }
}

impl fmt::Display for NotDerived {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::InnerDiameterOfOneCoil { measured, missing } => {
                write!(f, "the inner diameter of coil {missing} is missing, that of coil {measured} is there")
            }
            Self::OuterDiameterOfOneCoil { measured, missing } => {
                write!(f, "the outer diameter of coil {missing} is missing, that of coil {measured} is there")
            }
            Self::Refused(error) => f.write_str(error),
        }
    }
}

impl Serialize for NotDerived {
    fn serialize<S: Serializer>(&self, to: S) -> std::result::Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}
