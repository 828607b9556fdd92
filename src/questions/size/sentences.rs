//! One sentence for each reason why nothing meets the wishes, and for what a slight miss would allow.

use super::record::{Gain, NearMiss, Reason, Relaxation, RelaxedLimit};
use super::relaxation::DIGITS;
use super::space::{BULGE, CHANNEL_MARGIN_M, PITCH, Practice, WORKSHOP_STEP_M};
use crate::questions::words::notes::Told;
use crate::units::{Dimension, display, significant, significant_to, unit};

impl RelaxedLimit {
    /// Rounded to the side on which the winding still passes.
    fn text(self) -> String {
        significant_to(self.value, self.unit, DIGITS, self.side)
    }
}

impl Told for NearMiss {
    fn sentence(&self) -> String {
        let choice = &self.choice;
        let winding = format!(
            "{}, {} turns, mean radius {}, {:.2} kg, {:.1} W",
            choice.wire,
            choice.turns,
            display(choice.mean_radius_m, Dimension::Length, 4),
            choice.conductor_mass_kg,
            choice.power_watt
        );
        let limits = limits(&self.relaxations);
        let name = self.wish.name();
        match self.gain {
            Gain::AnyWinding => format!("relaxing {limits} would allow {winding}"),
            Gain::Better { prefer, by_fraction } => format!(
                "relaxing {limits} would lower the {} by {:.0} %: {winding}",
                prefer.name(),
                100.0 * by_fraction
            ),
            Gain::Nothing { as_far_as: Some(limit) } => {
                format!("relaxing {name} as far as {} gains nothing", limit.text())
            }
            Gain::Nothing { as_far_as: None } => format!("relaxing {name} gains nothing"),
        }
    }
}

impl Told for Reason {
    fn sentence(&self) -> String {
        match self {
            Self::NothingToBuild => {
                "the ranges of the search hold no winding that can be built: look at its radii, sections and spacing, and at \
                 the room they leave for the bulb"
                    .into()
            }
            Self::Unmet { wish, nearest_needs } => format!(
                "no winding in the search meets the wish for {}, whatever else it does{}",
                wish.name(),
                nearest_needs.map_or_else(String::new, |limit| format!(": the nearest needs {}", limit.text()))
            ),
            Self::UnmetTogether([a, b]) => format!("no winding meets both {} and {}", a.name(), b.name()),
            Self::TooMany => "every two wishes can be met together, all of them cannot".into(),
            Self::Relaxing { relaxations, allows } => format!(
                "nearest: relaxing {} would allow {}, {} turns, mean radius {}",
                limits(relaxations),
                allows.wire,
                allows.turns,
                display(allows.mean_radius_m, Dimension::Length, 4)
            ),
        }
    }
}

impl Told for Practice {
    fn sentence(&self) -> String {
        match self {
            Self::WiderAndDeeper => format!(
                "a layer comes out {:.0} % wider than its wires' overall diameters, a stack of layers {:.0} % deeper (bulge), \
                 layers wire on wire",
                100.0 * (PITCH - 1.0),
                100.0 * (BULGE - 1.0)
            ),
            Self::Channel => format!(
                "width and depth are the wound copper; make the former's channel {} mm wider and deeper",
                millimetres(CHANNEL_MARGIN_M)
            ),
            Self::FullLayers => "every layer is full and every turn whole".into(),
            Self::Steps => {
                format!("mean radius and spacing are rounded to {} mm", millimetres(WORKSHOP_STEP_M))
            }
            Self::OrdinaryTolerances => {
                "a spec written from it states ordinary build tolerances: 0.5 mm, 0.3°, no turn lost".into()
            }
        }
    }
}

fn millimetres(length_m: f64) -> String {
    significant(length_m, unit::MILLIMETRE, 1)
}

/// `supply voltage from 30 V to 31.2 V and surface temperature from 55 °C to 57 °C`.
fn limits(relaxations: &[Relaxation]) -> String {
    let each: Vec<String> = relaxations
        .iter()
        .map(|relaxation| format!("{} from {} to {}", relaxation.wish.name(), relaxation.from, relaxation.to))
        .collect();
    each.join(" and ")
}
