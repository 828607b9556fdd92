//! The notes for the reader of the build papers.

use super::former::FormerPlan;
use super::winding::WindingPlan;
use super::{AssemblyPlan, OrderList, Request};
use crate::pair::materials::{Electric, FormerMaterial, former_material};
use crate::pair::{Bench, BuildTolerance, Cheeks, NotStated};
use crate::physics::may_flow::may_flow;
use crate::physics::safety::SafetyFigures;
use crate::questions::words::notes::{SourceNote, Told, on_may_flow, ordinary_limits};
use crate::units::{Dimension, brief, display, fixed, unit};

/// One note.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Note {
    /// About the test current.
    TestCurrent(SourceNote),
    /// The spec has `as_built`, but the papers describe the design.
    AsBuiltIgnored,
    /// The spec has no `build_tolerance`; an ordinary one is drawn.
    OrdinaryTolerance,
    /// The spec's `build_tolerance` leaves out some limits; ordinary ones are drawn.
    OrdinaryLimits(NotStated),
    /// The spec has no `former.wall`; a thickness is suggested.
    WallSuggested {
        /// The suggested thickness.
        wall_m: f64,
    },
    /// The spec has no `former.material`.
    MaterialOpen,
    /// The spec leaves fewer cheeks on the coil than it needs while it is wound.
    CheeksKept(Cheeks),
    /// The former's material is not in the list, so it may conduct or be magnetic.
    MaterialNotKnown {
        /// Its name.
        material: String,
    },
    /// The former's material is magnetic, so the calculated field does not hold.
    MagneticFormer {
        /// Its name.
        material: String,
    },
    /// The former conducts, so a closed ring of it is a shorted turn.
    ClosedRing {
        /// Its material.
        material: String,
        /// Width of the slit.
        slit_m: f64,
        /// Thickness of the lining.
        lining_m: f64,
    },
    /// The spec does not state the layers; they are assumed.
    LayoutAssumed {
        /// Number of layers.
        layers: usize,
        /// Turns in a full layer.
        turns_per_layer: u32,
    },
    /// Wire wound as a helix needs a channel one diameter wider than its turns, and the channel may be narrower.
    Advance {
        /// Turns in a full layer.
        turns_per_layer: u32,
        /// Width that they need, the extra diameter included, for wire of the nominal diameter.
        needed_m: f64,
        /// Clear width of the channel.
        channel_width_m: f64,
    },
    /// Wound tight, the coil comes out smaller than its design.
    Tight {
        /// The design's outer diameter minus that of the tight coil.
        short_of_design_m: f64,
        /// Relative change of the field constant.
        field_constant_relative_change: f64,
        /// Thickness of a filler between layers that has room with the largest wire.
        filler_m: f64,
        /// What the coil is then still short of the design.
        then_short_m: f64,
    },
    /// Where the expected resistance comes from.
    WireResistance {
        /// The source.
        source: &'static str,
        /// Relative difference of the resistance that the other commands use.
        others_relative: f64,
    },
    /// No reel holds the wire of one coil in one piece.
    NoReel {
        /// Mass of wire for one coil.
        coil_kg: f64,
        /// The layers at whose end it may be joined; none if there is no such place.
        joined_after: Vec<u32>,
    },
    /// The bolts cross the channels, which are open where no wire lies.
    OpenChannel {
        /// Width of the channel.
        width_m: f64,
    },
    /// The formers touch, so there is no room for spacers.
    NoSpacers,
    /// The core is too thin for pins that centre flanges and rings.
    NoDowels,
}

impl Note {
    /// Whether the note is for the person who makes the former.
    #[cfg(feature = "paper")]
    pub(super) fn is_of_former(&self) -> bool {
        matches!(
            self,
            Self::WallSuggested { .. }
                | Self::MaterialOpen
                | Self::MaterialNotKnown { .. }
                | Self::MagneticFormer { .. }
                | Self::CheeksKept(_)
                | Self::ClosedRing { .. }
                | Self::OpenChannel { .. }
                | Self::NoSpacers
                | Self::NoDowels
        )
    }
}

impl Told for Note {
    fn sentence(&self) -> String {
        let length = |metre: f64| brief((metre * 1e8).round() / 1e8, Dimension::Length);
        match self {
            Self::TestCurrent(note) => note.sentence(),
            Self::AsBuiltIgnored => {
                "The papers are of the design: `as_built` describes existing coils and is ignored here.".into()
            }
            Self::OrdinaryTolerance => format!(
                "The spec has no `build_tolerance`: {} for lengths and {} for tilt are taken, as a careful workshop keeps \
                 them (common practice, no source).",
                length(BuildTolerance::ORDINARY.mean_radius_m),
                fixed(BuildTolerance::ORDINARY.tilt_rad, unit::DEGREE, 2)
            ),
            Self::OrdinaryLimits(keys) => format!("The spec's {}.", ordinary_limits(*keys)),
            Self::WallSuggested { wall_m } => {
                format!("Not in the spec: suggested is a wall of {}; `former.wall` states another.", length(*wall_m))
            }
            Self::MaterialOpen => "Not in the spec: the former's material. Take one that does not conduct, is not \
                                   magnetic and bears the winding's temperature, and state it as `former.material`."
                .into(),
            Self::MaterialNotKnown { material } => format!(
                "Ask before cutting: the program does not know \u{201c}{material}\u{201d}. If it conducts, as metal and carbon \
                 fibre do, these drawings must not be used, because slit and lining are missing; if a magnet holds to it, the \
                 field of the pair is another. State a material by a name such as plywood, PVC, aluminium, copper or steel."
            ),
            Self::MagneticFormer { material } => format!(
                "{material} is magnetic: a former of it changes the field, and no field, uniformity or calibration line \
                 computed for this pair holds. Take a material that is not magnetic."
            ),
            Self::CheeksKept(cheeks) => format!(
                "The spec has {} on the finished coil. The drawing keeps both flanges, because the wire is wound between \
                 them and the bolts go through them; heat was computed as the spec says.",
                match cheeks {
                    Cheeks::One => "one cheek",
                    Cheeks::None => "no cheek",
                    Cheeks::Both => "both cheeks",
                }
            ),
            Self::ClosedRing { material, slit_m, lining_m } => format!(
                "{material} conducts: a closed ring of it is a shorted turn. Flanges and core have the slit G, {} wide: close it \
                 with an insulator, so that no edge touches the other, and line floor and flanges of the channel with {} of \
                 insulation before winding.",
                length(*slit_m),
                length(*lining_m)
            ),
            Self::LayoutAssumed { layers, turns_per_layer } => format!(
                "The spec states neither layers nor turns per layer: taken is the densest that the width allows, layers: \
                 {layers}, turns in each: {turns_per_layer}. Every paper rests on them. Write them into the spec, so that \
                 the other commands do too."
            ),
            Self::Advance { turns_per_layer, needed_m, channel_width_m } => format!(
                "Wire wound as a helix needs the width of {} turns, {} with wire of middle size, and the channel has \
                 {}. Lay each turn straight and step over to the next within the same short part of the rim, or allow more \
                 width (common practice, no source).",
                turns_per_layer + 1,
                length(*needed_m),
                length(*channel_width_m)
            ),
            Self::Tight { short_of_design_m, field_constant_relative_change, filler_m, then_short_m } => format!(
                "Wound tight with wire of middle size, the coil ends {} under the design's outer diameter, and the field \
                 constant is {} off it. {}; \
                 else state the measured diameter as `as_built` and calibrate with that.",
                display(*short_of_design_m, Dimension::Length, 2),
                display(*field_constant_relative_change, Dimension::Fraction, 2),
                match *filler_m > 0.0 {
                    true if *then_short_m < 0.5e-4 => format!(
                        "Insulation of {} between layers, or the same with loose tension, keeps the design",
                        length(*filler_m)
                    ),
                    true => format!(
                        "Insulation of {} between layers, the most that has room with the largest wire, leaves {} of that, \
                         and loose tension the rest",
                        length(*filler_m),
                        display(*then_short_m, Dimension::Length, 2)
                    ),
                    false => "Loose tension keeps the design".into(),
                }
            ),
            Self::WireResistance { source, others_relative } => format!(
                "Expected resistances are the wire's nominal ones: {source}. The other commands take {} more \
                 (1/58 Ω·mm²/m, IEC 60028), which lies within the limits.",
                display(*others_relative, Dimension::Fraction, 2)
            ),
            Self::NoReel { coil_kg, joined_after } => format!(
                "No reel named holds the wire of one coil in one piece: {} is needed on one reel, without a joint. {}",
                display(*coil_kg, Dimension::Mass, 3),
                match &joined_after[..] {
                    [] => "A joint has no place here: a reel named holds less than a layer.".to_owned(),
                    layers => format!("Else join it at the end of layer {} alone, as the winding sheet says.", listed(layers)),
                }
            ),
            Self::OpenChannel { width_m } => format!(
                "Bolts cross the open channels: fit tubes of {} on them there, or tighten by hand only.",
                length(*width_m)
            ),
            Self::NoDowels => "The core is too thin for pins: glue flanges and rings on a mandrel that fits the bore, so that all are on \
                               one centre."
                .into(),
            Self::NoSpacers => "The formers touch: no spacers are needed, and the spacing is that of the flanges.".into(),
        }
    }
}

/// The note on a test current that the user chose.
pub(super) fn on_test_current(bench: &Bench, request: &Request, safety: &SafetyFigures) -> Option<Note> {
    let ampere = request.test_current_ampere?;
    let may_flow = may_flow(bench, safety, ampere).ok()?;
    on_may_flow("The current of the field test", ampere, may_flow).map(Note::TestCurrent)
}

/// The note on a material that is not in the list, or that is magnetic.
fn on_material(name: Option<&str>) -> Option<Note> {
    let material = || name.unwrap_or_default().to_owned();
    match former_material(name?) {
        (_, false) => Some(Note::MaterialNotKnown { material: material() }),
        (FormerMaterial { electric: Electric::Magnetic, .. }, _) => {
            Some(Note::MagneticFormer { material: material() })
        }
        _ => None,
    }
}

/// Numbers of layers in one phrase: `3, 7 and 11`.
pub(super) fn listed(numbers: &[u32]) -> String {
    let mut words: Vec<String> = numbers.iter().map(u32::to_string).collect();
    match words.pop() {
        Some(last) if !words.is_empty() => format!("{} and {last}", words.join(", ")),
        last => last.unwrap_or_default(),
    }
}

/// All notes on the papers.
pub(super) fn notes(
    bench: &Bench,
    built: bool,
    winding: &WindingPlan,
    former: &FormerPlan,
    assembly: &AssemblyPlan,
    order: &OrderList,
) -> Vec<Note> {
    let tight = &winding.tight;
    let advance_m = f64::from(winding.turns_per_layer + 1) * winding.wire.overall_diameter_m.nominal;
    let nominal = winding.wire.resistance_at_20_celsius_ohm_per_m.nominal;
    let wire = &bench.winding.wire;
    let others = wire.conductor.resistivity_at_20_celsius_ohm_m() / wire.conductor_area_m2();
    [
        built.then_some(Note::AsBuiltIgnored),
        (!assembly.tolerance_stated).then_some(Note::OrdinaryTolerance),
        bench
            .build_tolerance
            .map(|tolerance| tolerance.not_stated)
            .filter(|keys| !keys.is_empty())
            .map(Note::OrdinaryLimits),
        (!former.wall_stated).then_some(Note::WallSuggested { wall_m: former.wall_m }),
        former.material.is_none().then_some(Note::MaterialOpen),
        on_material(former.material.as_deref()),
        (former.cheeks != Cheeks::Both).then_some(Note::CheeksKept(former.cheeks)),
        Some(Note::OpenChannel { width_m: former.channel_width_m }),
        former.slit.map(|slit| Note::ClosedRing {
            material: former.material.clone().unwrap_or_default(),
            slit_m: slit.width_m,
            lining_m: former.lining_m,
        }),
        (advance_m > former.clear_width_m()).then_some(Note::Advance {
            turns_per_layer: winding.turns_per_layer,
            needed_m: advance_m,
            channel_width_m: former.clear_width_m(),
        }),
        winding.layout_assumed.then_some(Note::LayoutAssumed {
            layers: winding.layers.len(),
            turns_per_layer: winding.turns_per_layer,
        }),
        tight.is_noted().then_some(Note::Tight {
            short_of_design_m: tight.short_of_design_m,
            field_constant_relative_change: tight.field_constant_relative_change,
            filler_m: tight.filler_between_layers_m,
            then_short_m: tight.filled_short_of_design_m,
        }),
        (others / nominal - 1.0 > 1e-6).then_some(Note::WireResistance {
            source: winding.wire.resistance_source,
            others_relative: others / nominal - 1.0,
        }),
        order.wire.reels.is_none().then(|| Note::NoReel {
            coil_kg: order.wire.enamelled_needed_per_coil_kg,
            joined_after: order.wire.joined.as_ref().map_or_else(Vec::new, |it| it.after_layers.clone()),
        }),
        (assembly.spacer_length_m <= 1e-6).then_some(Note::NoSpacers),
        former.dowels.is_none().then_some(Note::NoDowels),
    ]
    .into_iter()
    .flatten()
    .collect()
}
