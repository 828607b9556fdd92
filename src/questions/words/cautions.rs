//! The usual cautions, with the same wording everywhere, and with their figures where a page has them.

use crate::physics::safety::SafetyFigures;
use crate::units::{fixed_down, fixed_up, unit};

/// A danger that the bench holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub(crate) enum Caution {
    /// The gun's supply can kill.
    GunVoltage,
    /// Coils that run too long burn skin and damage enamel.
    HotCoils,
    /// Opening the circuit of an inductance makes a high voltage.
    InductiveKick,
    /// An evacuated bulb can implode.
    EvacuatedGlass,
    /// Static fields disturb active implants.
    Implants,
}

impl Caution {
    /// Every caution, in the order they are printed.
    pub(crate) const ALL: [Self; 5] =
        [Self::GunVoltage, Self::HotCoils, Self::InductiveKick, Self::EvacuatedGlass, Self::Implants];

    /// The caution as one or two sentences.
    pub(crate) const fn text(self) -> &'static str {
        match self {
            Self::GunVoltage => {
                "Gun voltage: hundreds of volts at the tube's terminals can kill. Switch off and let the supply \
                 discharge before touching a lead."
            }
            Self::HotCoils => {
                "Hot coils: a winding can burn skin and its enamel can fail well before it smells. Keep to the \
                 continuous current and let it cool before handling."
            }
            Self::InductiveKick => {
                "Inductive kick: never pull a lead while current flows. Turn the current down to zero first. A clamp \
                 across the pair must work for both directions: a single diode shorts the supply once the current is \
                 reversed."
            }
            Self::EvacuatedGlass => {
                "Evacuated glass: the bulb can implode. No knocks, no scratches, no stress on its neck; wear eye \
                 protection when it is out of its holder."
            }
            Self::Implants => {
                "Implants: static fields above 0.5 mT can disturb pacemakers and other active implants. Keep their \
                 wearers outside the caution distance."
            }
        }
    }
}

/// Who decides in the end.
pub(crate) const DEFER: &str = "Local safety rules and a competent person come before anything printed here.";

/// The given cautions as sentences, followed by who decides.
pub(crate) fn sentences(cautions: &[Caution]) -> Vec<&'static str> {
    cautions.iter().map(|caution| caution.text()).chain([DEFER]).collect()
}

/// The given cautions as sentences, each with its figure if there is one, followed by who decides.
pub(crate) fn sentences_with(cautions: &[Caution], figures: &SafetyFigures) -> Vec<String> {
    let sentence = |caution: &Caution| {
        let figure = match caution {
            Caution::HotCoils => figures.reliable_continuous_current_ampere.map(|current| {
                format!(" The continuous current to rely on here: {}.", fixed_down(current, unit::AMPERE, 2))
            }),
            Caution::Implants => figures.caution_distance_m.map(|distance| {
                format!(" The caution distance here: {} from the centre.", fixed_up(distance, unit::METRE, 1))
            }),
            _ => None,
        };
        format!("{}{}", caution.text(), figure.unwrap_or_default())
    };
    cautions.iter().map(sentence).chain([DEFER.to_owned()]).collect()
}

/// The figures of one pair among several, in a sentence; `None` if none is known.
pub(crate) fn figures_of(name: &str, figures: &SafetyFigures) -> Option<String> {
    let current = figures
        .reliable_continuous_current_ampere
        .map(|current| format!("continuous current to rely on {}", fixed_down(current, unit::AMPERE, 2)));
    let distance = figures
        .caution_distance_m
        .map(|distance| format!("caution distance {} from the centre", fixed_up(distance, unit::METRE, 1)));
    let known: Vec<String> = current.into_iter().chain(distance).collect();
    (!known.is_empty()).then(|| format!("{name}: {}.", known.join(", ")))
}
