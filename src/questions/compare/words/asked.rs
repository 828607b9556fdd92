//! The questions to the suppliers.

use crate::files::spec::{Blank, Doubt, Gap, Meanings, Remark};
use crate::pair::STATED_ROOM_CELSIUS;
use crate::physics::test_limits::{USUAL_TEST_VOLT, least_insulation_ohm};
use crate::questions::compare::sentences::from_to;
use crate::questions::compare::{
    Comparison, GapEnd, Ground, NamedWire, NeedKind, PairOption, Property, Question,
};
use crate::units::{Dimension, brief, display};

/// The questions to ask before ordering, each with the name of its option.
pub fn questions(record: &Comparison) -> Vec<String> {
    let of = |option: &PairOption| -> Vec<String> {
        questions_to(option).into_iter().map(|question| format!("{}: {question}", option.label)).collect()
    };
    record.options.iter().flat_map(of).collect()
}

/// The questions to one supplier.
pub(crate) fn questions_to(option: &PairOption) -> Vec<String> {
    option.questions.iter().map(|question| capitalised(&question_sentence(question))).collect()
}

fn capitalised(sentence: &str) -> String {
    let mut rest = sentence.chars();
    rest.next().map_or_else(String::new, |first| first.to_uppercase().chain(rest).collect())
}

fn question_sentence(question: &Question) -> String {
    match question {
        Question::Gap { gap, bounded_by, ends } => match bounded_by {
            None | Some(Ground::TwoWays) => {
                format!("{} Nothing else in the quote tells.", gap_question(*gap))
            }
            Some(ground) => format!(
                "{} The rest of the quote leaves {} ({}).",
                gap_question(*gap),
                listed_ends(*gap, ends),
                ground_words(*ground)
            ),
        },
        Question::Impossible { problem } => {
            format!("As quoted the pair cannot be made: {problem}. Which of the figures is right?")
        }
        Question::WhichResistance(contradiction) => format!("{contradiction}; which of the two is right?"),
        Question::Contradiction(it) => {
            let show = |value: f64| match it.property {
                // As the maker states it: the temperature, not its rise.
                Property::SurfaceRise => display(value + STATED_ROOM_CELSIUS, Dimension::Temperature, 3),
                property => display(value, property.dimension(), 3),
            };
            let follows = match it.follows_within_si {
                Some([low, high]) => from_to(show(low), show(high)),
                None => show(it.follows_si),
            };
            let coil = it.coil.map_or_else(String::new, |coil| format!(" (coil {coil})"));
            format!(
                "The {}{coil} {} {}, and {follows} follows from {}; which of the figures is right?",
                property_words(it.property),
                if it.property.is_derived() { "would be" } else { "is stated as" },
                show(it.stated_si),
                follows_from(it.property)
            )
        }
        Question::Unreadable(it) => format!(
            "What is meant by \u{201c}{}\u{201d} for \u{201c}{}\u{201d}? It cannot be read: {}.",
            it.text, it.label, it.problem
        ),
        Question::Doubt(doubt) => doubt_sentence(doubt),
        Question::Remark(remark) => remark_question(remark),
        Question::PromisesLess { stated_tesla, needed_tesla } => format!(
            "The largest field is stated as {}, and {} is needed; may the pair be used at that field, and for how long?",
            display(*stated_tesla, Dimension::FluxDensity, 3),
            display(*needed_tesla, Dimension::FluxDensity, 3)
        ),
        Question::CurrentOfLargestField => {
            "At which current are the largest field, its voltage and the hottest surface stated?".into()
        }
        Question::LargestField => "Up to which field at the centre may the pair be used, at which current and voltage, and how \
                                   warm does its warmest surface then become?"
            .into(),
        Question::Insulation => {
            "At which voltage is the winding's insulation against the former tested, and what resistance does it have at least?"
                .into()
        }
        Question::WeakInsulation { stated_volt, stated_ohm } => {
            let stated = [
                stated_volt.map(|volt| brief(volt, Dimension::Voltage)),
                stated_ohm.map(|ohm| brief(ohm, Dimension::Resistance)),
            ];
            format!(
                "The insulation is stated as {}; {} at {} or more is usual. Is it tested so?",
                stated.into_iter().flatten().collect::<Vec<_>>().join(" and "),
                brief(least_insulation_ohm(USUAL_TEST_VOLT), Dimension::Resistance),
                brief(USUAL_TEST_VOLT, Dimension::Voltage)
            )
        }
        Question::Standards => {
            "By which standards are the wire, its insulation and the safety of the finished pair declared?".into()
        }
        Question::Making => {
            "What are the terminals, are they safe to touch, and what holds the coils at their spacing?".into()
        }
        Question::Late { found, wanted } => {
            format!("Delivery is stated as {found}, and {wanted} is needed: can the pair be there in time?")
        }
        Question::Price => "What does the pair cost?".into(),
        Question::Currency => "In which currency is the price?".into(),
        Question::Carriage => "What do packing and carriage cost?".into(),
        Question::Tax => "Is tax included in the price, and if not, at what rate does it come on top?".into(),
        Question::Delivery => "How long after the order would the pair be delivered?".into(),
        Question::Warranty => "How long is the warranty?".into(),
        Question::Validity => "Until when does the quote hold?".into(),
        Question::Ended { valid_until } => {
            format!("The quote held until {valid_until}: does it still hold, at this price?")
        }
        Question::OtherWire { offered, named } => format!(
            "The request names the wire {}, and the quote has {}: can the pair be made of a wire that is named, and what changes? If \
             not, why is this one better?",
            named_wires(named),
            named_wire(offered)
        ),
        Question::BuildTolerance => {
            "Within what limits are turns, mean radius, section, spacing and tilt of the finished pair \
                                     held? Where no limit is stated, 0.5 mm for a dimension is taken (common practice, no source)."
                .into()
        }
        Question::LeftBlank { blank } => blank_question(*blank).into(),
        Question::Conductor { taken, follows: true } => format!(
            "Is the conductor {}? The quote does not say, and its figures fit no other.",
            taken.name()
        ),
        Question::Conductor { taken, .. } => {
            format!("Is the conductor copper or aluminium? The quote does not say; {} is taken.", taken.name())
        }
        Question::Packing => {
            "Are the layers nested, each turn in the groove between two turns below? The turns fit \
                              the stated section only so, and that is taken."
                .into()
        }
        Question::Guarantee { need: need @ NeedKind::Delivery, found, wanted } => {
            format!("{need}: stated {found}, needed {wanted}; what is guaranteed?")
        }
        Question::Guarantee { need, found, wanted } => {
            format!("{need}: computed {found}, needed {wanted}; what is measured or guaranteed?")
        }
    }
}

fn doubt_sentence(doubt: &Doubt) -> String {
    let Doubt { label, text, .. } = doubt;
    let percent = |rate: f64| brief(rate, Dimension::Fraction);
    let number = |value: f64| brief(value, Dimension::Number);
    match &doubt.meanings {
        Meanings::TaxRate { in_percent, as_fraction } => {
            format!(
                "The {label} is written as {text}: is it {} or {}?",
                percent(*as_fraction),
                percent(*in_percent)
            )
        }
        Meanings::Thousands { with_decimals, with_thousands } => format!(
            "\u{201c}{text}\u{201d} is written for \u{201c}{label}\u{201d}: is it {} or {}?",
            number(*with_thousands),
            number(*with_decimals)
        ),
        Meanings::StatedTwice { others } => {
            let others: Vec<String> = others.iter().map(|other| format!("“{other}”")).collect();
            format!(
                "“{label}” stands in the form more than once, as “{text}” and as {}. Which one holds?",
                others.join(" and ")
            )
        }
        Meanings::Currencies { written, stated } => format!(
            "An amount is written with {written} (\u{201c}{text}\u{201d}), and the currency is stated as {stated}: in \
             which currency are the prices?"
        ),
        Meanings::WireTwice { size, bare_diameter_m, overall_diameter_m } => {
            let with = |value: &Option<f64>, what: &str| {
                value.map(|value| format!("{} {what}", display(value, Dimension::Length, 3)))
            };
            let diameters: Vec<String> =
                [with(bare_diameter_m, "bare"), with(overall_diameter_m, "over the enamel")]
                    .into_iter()
                    .flatten()
                    .collect();
            format!(
                "The wire is stated as {size} and as {}, which is another wire: which of the two is used?",
                diameters.join(" and ")
            )
        }
    }
}

fn blank_question(blank: Blank) -> &'static str {
    match blank {
        Blank::Leads => {
            "What is the resistance of the leads, there and back, if they are part of the pair? None is counted."
        }
        Blank::GapFilling => "What lies between the wires of the winding, varnish or air? Air is taken.",
        Blank::ThermalClass => "Which thermal class has the enamel of the wire, such as F or 155 °C?",
        Blank::FormerMaterial => "What is the former made of?",
    }
}

fn remark_question(remark: &Remark) -> String {
    let wrote = format!(
        "You wrote \u{201c}{}\u{201d} beside \u{201c}{}\u{201d}",
        remark.text,
        remark.label.as_deref().unwrap_or_default()
    );
    match (&remark.value, remark.key.as_deref()) {
        (None, _) => format!("{wrote} and no value: which value holds?"),
        (Some(value), Some("price.amount")) => {
            format!(
                "{wrote}: is {value} the price of the whole pair, both coils together, or what does that cost?"
            )
        }
        (Some(value), _) => format!("{wrote}: does {value} hold as it stands, or what does?"),
    }
}

/// What the suppliers wrote into their forms beside the fields and below them, each with the name of its option.
pub(crate) fn remarks(record: &Comparison) -> Vec<String> {
    let of = |option: &PairOption| -> Vec<String> {
        let told = |remark: &Remark| format!("{}: {}", option.label, remark_told(remark, usize::MAX));
        option.remarks.iter().map(told).collect()
    };
    record.options.iter().flat_map(of).collect()
}

/// A remark with its place, cut after so many characters.
pub(super) fn remark_told(remark: &Remark, longest: usize) -> String {
    let text: String = match remark.text.chars().count() > longest {
        true => remark.text.chars().take(longest).chain(['…']).collect(),
        false => remark.text.clone(),
    };
    match &remark.label {
        Some(label) => format!("\u{201c}{text}\u{201d} beside \u{201c}{label}\u{201d}"),
        None => format!("\u{201c}{text}\u{201d}"),
    }
}

fn gap_question(gap: Gap) -> &'static str {
    match gap {
        Gap::MeanRadius => "What is the mean radius of the winding?",
        Gap::Width => "How wide is the wound section along the axis?",
        Gap::Depth => "How deep is the wound section along the radius?",
        Gap::Turns => "How many turns has each coil?",
        Gap::Wire => "Which wire is used: conductor diameter, and grade or build of the enamel?",
        Gap::Spacing => "What is the spacing of the coils, middle to middle?",
        Gap::Connection => "Are the coils connected in series or in parallel?",
    }
}

/// A gap, for a sentence.
pub(super) fn gap_words(gap: Gap) -> &'static str {
    match gap {
        Gap::MeanRadius => "the mean radius",
        Gap::Width => "the width of the section",
        Gap::Depth => "the depth of the section",
        Gap::Turns => "the turns",
        Gap::Wire => "the wire",
        Gap::Spacing => "the spacing",
        Gap::Connection => "the connection",
    }
}

fn ground_words(ground: Ground) -> &'static str {
    match ground {
        Ground::Diameters => "from the stated diameters",
        Ground::ResistanceAndMass => "from the stated resistance and mass",
        Ground::Resistance => "from the stated resistance",
        Ground::Mass => "from the stated mass",
        Ground::FieldConstant => "from the stated field per ampere",
        Ground::Section => "from the section",
        Ground::Layers => "from layers and turns in a layer",
        Ground::WireAndTurns => "from wire and turns",
        Ground::Stock => "the builds that stock wire has",
        Ground::TwoWays => "there are two ways",
    }
}

fn listed_ends(gap: Gap, ends: &[GapEnd]) -> String {
    let between = if matches!(gap, Gap::Wire | Gap::Connection) { " or " } else { " to " };
    ends.iter().map(ToString::to_string).collect::<Vec<_>>().join(between)
}

/// What a property is held against.
fn follows_from(property: Property) -> &'static str {
    match property {
        Property::TurnsOfSection => "section and wire",
        Property::MeasuredResistance => "those measured of the coils",
        Property::BuiltTurns | Property::BuiltRadius => "what is quoted with its tolerance",
        Property::WireLength => "turns and mean radius",
        _ => "the winding",
    }
}

fn property_words(property: Property) -> &'static str {
    match property {
        Property::CopperMass => "copper mass of the pair",
        Property::Resistance => "resistance of the pair at 20 °C",
        Property::FieldConstant => "field per ampere at the centre",
        Property::InnerDiameter => "inner diameter of the winding",
        Property::OuterDiameter => "outer diameter of the winding",
        Property::LargestField => "largest field",
        Property::Voltage => "voltage of the largest field",
        Property::SurfaceRise => "hottest surface in a room of 20 °C",
        Property::WireLength => "wire in both coils, by the stated resistance and mass,",
        Property::Depth => "depth of the winding, by the stated diameters,",
        Property::TurnsOfSection => "number of turns of a coil",
        Property::MeasuredResistance => "resistance of the pair at 20 °C",
        Property::BuiltTurns => "number of turns of a finished coil",
        Property::BuiltRadius => "mean radius of a finished coil",
    }
}

/// The wires of a request.
pub(super) fn named_wires(named: &[NamedWire]) -> String {
    named.iter().map(named_wire).collect::<Vec<_>>().join(", or ")
}

/// A wire by its name or its diameters.
pub(super) fn named_wire(wire: &NamedWire) -> String {
    let size = wire.name.clone().unwrap_or_else(|| {
        format!(
            "{} bare, {} over the enamel",
            display(wire.bare_diameter_m, Dimension::Length, 3),
            display(wire.overall_diameter_m, Dimension::Length, 3)
        )
    });
    let class = wire.thermal_class_celsius.map_or_else(String::new, |class| format!(", class {class:.0}"));
    format!("{} {size}{class}", wire.conductor.name())
}
