//! What a supplier is asked.

use super::bounds::Ground;
use super::contradiction::Contradiction;
use super::gap_end::GapEnd;
use super::need::{Found, Needed};
use super::need_kind::NeedKind;
use super::wire::NamedWire;
use crate::constants::Conductor;
use crate::files::spec::{Blank, Doubt, Gap, Remark, Unreadable};
use crate::numeric::calendar::Day;
use crate::pair::ResistanceContradiction;
use serde::Serialize;

/// What to ask before ordering.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "question", rename_all = "snake_case")]
#[non_exhaustive]
pub enum Question {
    /// Which of two resistances is right.
    WhichResistance(ResistanceContradiction),
    /// Something is left out of the winding.
    Gap {
        /// What is missing.
        gap: Gap,
        /// What bounds it until it is answered.
        bounded_by: Option<Ground>,
        /// Smallest and largest possible value.
        ends: Vec<GapEnd>,
    },
    /// No pair fits the quote.
    Impossible {
        /// The problem: the message with which `check` refuses such a file.
        problem: String,
    },
    /// What the maker states of the finished pair contradicts the winding.
    Contradiction(Contradiction),
    /// What is filled in somewhere cannot be read.
    Unreadable(Unreadable),
    /// What is filled in somewhere may be meant in more than one way.
    Doubt(Doubt),
    /// Its maker wrote something beside a field: whether the value there holds.
    Remark(Remark),
    /// The maker states a largest field below the one needed.
    PromisesLess {
        /// The stated one.
        stated_tesla: f64,
        /// The needed one.
        needed_tesla: f64,
    },
    /// The current of the largest field, which is stated without it.
    CurrentOfLargestField,
    /// Up to which field the pair may be used, and at which current, voltage and surface temperature.
    LargestField,
    /// At which voltage the insulation is tested, and what it then has at least.
    Insulation,
    /// The insulation is stated as less than is usual.
    WeakInsulation {
        /// The stated test voltage.
        stated_volt: Option<f64>,
        /// The stated resistance.
        stated_ohm: Option<f64>,
    },
    /// Which standards are declared.
    Standards,
    /// What the terminals are, and how the coils are held.
    Making,
    /// Whether it can be delivered in time.
    Late {
        /// What is stated.
        found: Found,
        /// What is needed.
        wanted: Needed,
    },
    /// What it costs.
    Price,
    /// What packing and carriage cost.
    Carriage,
    /// Whether tax comes on top.
    Tax,
    /// When it would be delivered.
    Delivery,
    /// How long the warranty lasts.
    Warranty,
    /// Until when the offer holds.
    Validity,
    /// Whether an offer that has ended still holds.
    Ended {
        /// Its last day.
        valid_until: Day,
    },
    /// The wire is none of those that the request names: whether one of them can be used.
    OtherWire {
        /// That of the offer.
        offered: NamedWire,
        /// Those of the request.
        named: Vec<NamedWire>,
    },
    /// In which currency.
    Currency,
    /// The build tolerance.
    BuildTolerance,
    /// Something that warmth or voltage depends on is left blank.
    LeftBlank {
        /// What.
        blank: Blank,
    },
    /// The conductor is left open.
    Conductor {
        /// The one that is taken.
        taken: Conductor,
        /// Whether the rest of the quote can be true of that one only.
        follows: bool,
    },
    /// Whether the layers are nested, without which the turns do not fit.
    Packing,
    /// A need is too close to tell: what the maker measures or guarantees.
    Guarantee {
        /// The need.
        need: NeedKind,
        /// What is computed, or stated.
        found: Found,
        /// What is needed.
        wanted: Needed,
    },
}

impl Question {
    /// The key of a spec that it asks for.
    pub(super) fn key(&self) -> Option<&'static str> {
        Some(match self {
            Self::Gap { gap: Gap::Wire, .. } => "winding.wire.size",
            Self::Gap { gap, .. } => gap.key(),
            Self::Price => "price.amount",
            Self::Currency => "price.currency",
            Self::Carriage => "price.carriage",
            Self::Tax => "price.tax_rate",
            Self::Delivery => "price.delivery",
            Self::Warranty => "price.warranty",
            Self::Validity => "price.valid_until",
            Self::LeftBlank { blank } => blank.key(),
            Self::Conductor { .. } => "winding.wire.conductor",
            Self::OtherWire { .. } => "winding.wire.size",
            Self::CurrentOfLargestField => "stated.largest_field_current",
            Self::LargestField => "stated.largest_field",
            Self::Insulation | Self::WeakInsulation { .. } => "stated.insulation_resistance",
            Self::Standards => "stated.standards",
            Self::Making => "stated.terminals",
            _ => return None,
        })
    }

    /// Whether it is about a contradiction in the file.
    pub fn is_contradiction(&self) -> bool {
        match self {
            Self::WhichResistance(_) | Self::Contradiction(_) | Self::Impossible { .. } => true,
            Self::Doubt(doubt) => doubt.is_contradiction(),
            _ => false,
        }
    }
}
