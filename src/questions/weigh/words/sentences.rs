//! The conclusions about a class's runs in words, for page, JSON and workbook.

use crate::questions::weigh::{
    Candidate, Cause, Conclusion, Detail, Finding, Measure, MixUp, RadiusPlace, RunResult, Suspect, Visible,
    Weighing,
};
use crate::questions::words::phrases::{probability, signed_percent};
use crate::units::{Dimension, display, fixed, length, scientific, unit};

/// The finding as a paragraph: the fault, its probability, what would cause it, and what would separate the causes.
pub(super) fn sentence(finding: &Finding, weighing: &Weighing) -> String {
    let mut words = format!("{} (probability {}): ", heading(finding), probability(finding.probability));
    words += &match &finding.detail {
        Detail::Run {
            own_difference_fraction,
            fitting_radius_m,
            fitting_radius_standard_uncertainty_m,
            mix_up,
            ..
        } => {
            let fitting = format!(
                "{} with standard uncertainty {}",
                length(*fitting_radius_m, 1),
                length(*fitting_radius_standard_uncertainty_m, 1)
            );
            run_sentence(finding, weighing, *own_difference_fraction, &fitting, *mix_up)
        }
        Detail::All { mix_up } => match finding.cause {
            Cause::SharedError | Cause::RadiusFactor => shared_sentence(finding, weighing, *mix_up),
            _ => class_sentence(finding, weighing),
        },
    };
    words
}

fn heading(finding: &Finding) -> &'static str {
    match finding.cause {
        Cause::MisreadRun => "One run misread",
        Cause::RadiusOffset => "All radii off by one amount",
        Cause::RadiusFactor => "All radii off by one factor",
        Cause::VoltageOffset => "The beam's voltage off by one amount",
        Cause::AmmeterOffset => "The current off by one amount",
        Cause::RoomField => "A room field along the axis other than stated",
        Cause::SharedError => "Something that all runs share",
    }
}

/// Runs by label and line.
fn names(lines: &[u64], weighing: &Weighing) -> Vec<String> {
    let of_run = |run: &RunResult| match &run.label {
        Some(label) => format!("{label} (line {})", run.line),
        None => run.name(),
    };
    weighing.runs.iter().filter(|run| lines.contains(&run.line)).map(of_run).collect()
}

/// Whether it is another column of a run than its radius.
fn is_other_column(candidate: &Candidate) -> bool {
    matches!(candidate.suspect, Suspect::GunVoltageReading | Suspect::CurrentReading)
}

fn run_sentence(
    finding: &Finding,
    weighing: &Weighing,
    off: f64,
    fitting: &str,
    mix_up: Option<MixUp>,
) -> String {
    let names = names(&finding.lines, weighing);
    if names.len() > 1 {
        let members: Vec<String> = finding
            .members
            .iter()
            .filter(|one| one.possible && !is_other_column(one))
            .map(|one| member(one, weighing))
            .collect();
        return format!(
            "one of the runs {} does not go with the others, and with so few runs it cannot be told which: {}. {}",
            names.join(", "),
            members.join("; "),
            measure(finding, weighing)
        );
    }
    let name = names.first().cloned().unwrap_or_default();
    let run = weighing.runs.iter().find(|run| finding.lines.contains(&run.line));
    let written = run.map_or(String::new(), |run| length(run.read_radius_m, 1));
    let place = match run.map(|run| run.radius_place) {
        Some(RadiusPlace::BeamPlane) => "in the beam plane",
        _ => "on the scale",
    };
    let why = match mix_up {
        Some(mix_up) => format!("Likely {}.", mix_up_words(mix_up)),
        None => {
            let other = |suspect: Suspect, read: String, fitting: Option<String>| {
                let candidate = finding.members.iter().find(|member| member.suspect == suspect)?;
                Some(format!("{} for {read}", fitting.filter(|_| candidate.possible)?))
            };
            let (volt, ampere) = match finding.detail {
                Detail::Run { fitting_gun_voltage_volt, fitting_current_ampere, .. } => {
                    (fitting_gun_voltage_volt, fitting_current_ampere)
                }
                Detail::All { .. } => (f64::NAN, f64::NAN),
            };
            let also: Vec<String> = run
                .map(|run| {
                    let volts = |value: f64| fixed(value, unit::VOLT, 0);
                    let amperes = |value: f64| fixed(value, unit::AMPERE, 2);
                    [
                        other(Suspect::GunVoltageReading, volts(run.gun_voltage_volt), Some(volts(volt))),
                        other(Suspect::CurrentReading, amperes(run.current_ampere), Some(amperes(ampere))),
                    ]
                })
                .into_iter()
                .flatten()
                .flatten()
                .collect();
            let also = if also.is_empty() {
                String::new()
            } else {
                format!("; one run cannot tell that from {}", also.join(" or "))
            };
            format!("A radius of {fitting} {place} in place of {written} would fit{also}.")
        }
    };
    let alike: Vec<String> = finding
        .members
        .iter()
        .filter(|one| one.possible && one.line.is_none())
        .map(|one| member(one, weighing))
        .collect();
    let alike = match alike.len() {
        0 => String::new(),
        _ => format!(" These runs cannot tell that from {}.", alike.join("; ")),
    };
    let kept =
        if finding.probability >= 0.5 { " The result without it stands beside the other." } else { "" };
    format!("the e/m of {name} is {} off that of the others. {why}{alike}{kept}", signed_percent(off))
}

/// Of a class that holds a single run: which, and the value that would fit.
fn run_of_class(finding: &Finding, weighing: &Weighing) -> String {
    let Detail::Run { fitting_radius_m, .. } = finding.detail else { return String::new() };
    let Some(run) = weighing.runs.iter().find(|run| finding.lines.contains(&run.line)) else {
        return String::new();
    };
    let kept =
        if finding.probability >= 0.5 { "; the result without it stands beside the other" } else { "" };
    format!(
        " If it is {}, a radius of {} in place of {} would fit{kept}.",
        names(&finding.lines, weighing).join(", "),
        length(fitting_radius_m, 1),
        length(run.read_radius_m, 1)
    )
}

fn class_sentence(finding: &Finding, weighing: &Weighing) -> String {
    let members: Vec<String> = finding.members.iter().map(|one| member(one, weighing)).collect();
    let alike = match &members[..] {
        [one] => one.clone(),
        several => format!("these runs cannot tell apart {}", several.join("; ")),
    };
    let fitted = if weighing.outcome.room_source == crate::questions::weigh::RoomSource::Runs
        && finding.cause == Cause::RoomField
        && weighing.spec_room_axial_tesla.is_none()
    {
        " It is fitted with e/m and taken off."
    } else {
        ""
    };
    format!("{alike}.{fitted}{} {}", run_of_class(finding, weighing), measure(finding, weighing))
}

fn shared_sentence(finding: &Finding, weighing: &Weighing, mix_up: Option<MixUp>) -> String {
    let outcome = weighing.without_suspects.as_ref().unwrap_or(&weighing.outcome);
    let ratio = 1.0 + outcome.difference_fraction;
    let times = scientific(ratio, 2);
    match mix_up {
        Some(MixUp::Columns) => format!(
            "e/m comes out {times} times the accepted value, which no error of reading makes: columns may be \
             swapped, or a column may hold another unit than its heading says."
        ),
        Some(mix_up @ (MixUp::DiameterAsRadius | MixUp::RadiusAsDiameter)) => format!(
            "e/m comes out {ratio:.2} times the accepted value. Likely {}, in every run.",
            mix_up_words(mix_up)
        ),
        Some(mix_up) => format!(
            "e/m comes out {times} times the accepted value, which no error of reading makes: columns may be \
             swapped, or a column may hold another unit than its heading says ({} would do it).",
            mix_up_words(mix_up)
        ),
        None => {
            let apart = match outcome.difference_in_standard_uncertainties {
                Some(apart) => format!(" ({:.1} standard uncertainties)", apart.abs()),
                None => String::new(),
            };
            let members: Vec<String> = finding.members.iter().map(|one| member(one, weighing)).collect();
            format!(
                "e/m comes out {} off the accepted value{apart}. These runs cannot tell apart {}. {}",
                signed_percent(outcome.difference_fraction),
                members.join("; "),
                measure(finding, weighing)
            )
        }
    }
}

/// One member with the size it would need.
fn member(candidate: &Candidate, weighing: &Weighing) -> String {
    let of_run = candidate.line.map_or(String::new(), |line| {
        names(&[line], weighing).first().map_or(String::new(), |name| format!(" of {name}"))
    });
    let Candidate { suspect, size, standard_uncertainty, possible, .. } = *candidate;
    let amount = |unit, decimals| {
        let value = fixed(size.abs(), unit, decimals);
        match standard_uncertainty {
            Some(u) => format!("{value} (standard uncertainty {})", fixed(u, unit, decimals)),
            None => value,
        }
    };
    let fraction = || display(size.abs(), Dimension::Fraction, 2);
    let pick = |positive: &'static str, negative: &'static str| if size > 0.0 { positive } else { negative };
    let words = match suspect {
        Suspect::RadiusReading => {
            format!("the radius{of_run} read {} too {}", amount(unit::MILLIMETRE, 1), pick("large", "small"))
        }
        Suspect::GunVoltageReading => {
            format!("the gun voltage{of_run} read {} too {}", amount(unit::VOLT, 0), pick("high", "low"))
        }
        Suspect::CurrentReading => {
            format!("the current{of_run} read {} too {}", amount(unit::AMPERE, 2), pick("high", "low"))
        }
        Suspect::RadiusOffset => format!(
            "every radius read {} too {} (another edge of the glow, or the rule's zero)",
            amount(unit::MILLIMETRE, 1),
            pick("large", "small")
        ),
        Suspect::VoltageOffset => format!(
            "the beam gets {} {} than counted ({}; `tube.gun_voltage_offset` takes it off)",
            amount(unit::VOLT, 1),
            pick("less", "more"),
            pick(
                "a drop at the cathode, or the voltmeter's zero",
                "the voltmeter's zero: a drop at the cathode only takes away"
            )
        ),
        Suspect::AmmeterZero => {
            format!("an ammeter that shows {} too {}", amount(unit::AMPERE, 3), pick("much", "little"))
        }
        Suspect::AmmeterZeroBeforeReversal => format!(
            "an ammeter before the reversal that shows {} too {}",
            amount(unit::AMPERE, 3),
            pick("much", "little")
        ),
        Suspect::AmmeterZeroAfterReversal => format!(
            "an ammeter after the reversal whose zero is {} too {}",
            amount(unit::AMPERE, 3),
            pick("high", "low")
        ),
        Suspect::RoomField => format!(
            "{} {} along +z than counted (iron or a loudspeaker nearby, a bench turned since, the sign of `room.field`)",
            amount(unit::MICROTESLA, 1),
            pick("more", "less")
        ),
        Suspect::RadiusFactor => {
            format!("radii {} too {} (scale, parallax)", fraction(), pick("large", "small"))
        }
        Suspect::RadiiInBeamPlane => format!(
            "radii already corrected for parallax, which is taken off here a second time ({}): such belong under \
             `radius_in_beam_plane_mm`",
            fraction()
        ),
        Suspect::FieldConstant => format!("a field constant {} too {}", fraction(), pick("high", "low")),
        Suspect::AmmeterGain => {
            format!("an ammeter that shows {} too {}", fraction(), pick("much", "little"))
        }
        Suspect::VoltmeterGain => {
            format!("a voltmeter that shows {} too {}", fraction(), pick("much", "little"))
        }
    };
    if possible { words } else { words + " (implausibly large)" }
}

fn mix_up_words(mix_up: MixUp) -> &'static str {
    match mix_up {
        MixUp::DiameterAsRadius => "a diameter written as a radius",
        MixUp::RadiusAsDiameter => "a radius written as a diameter",
        MixUp::CurrentSign => "the sign of the current: with the other sign it would fit",
        MixUp::MilliampereAsAmpere => "milliamperes under a heading in amperes",
        MixUp::KilovoltAsVolt => "kilovolts under a heading in volts",
        MixUp::MillimetreAsCentimetre => "millimetres under a heading in centimetres",
        MixUp::CentimetreAsMillimetre => "centimetres under a heading in millimetres",
        MixUp::VoltAsKilovolt => "volts under a heading in kilovolts",
        MixUp::AmpereAsMilliampere => {
            "amperes under a heading in milliamperes, or metres under one in millimetres"
        }
        MixUp::Columns => "columns swapped",
    }
}

fn measure(finding: &Finding, weighing: &Weighing) -> String {
    let sentence = match finding.measure {
        Measure::RepeatRuns => {
            return format!("Take {} again.", names(&finding.lines, weighing).join(" and "));
        }
        Measure::VaryRadiusAndVoltage => {
            "To be sure, take small and large circles at one gun voltage, then circles of one size at several."
        }
        Measure::ReverseCurrent => {
            "One current direction cannot tell more: reverse the current for half the runs."
        }
        Measure::AmmeterAndRoomAtRest => {
            "To be sure, read the ammeter with its leads open, and the room's field with a probe, the coils off."
        }
        Measure::CheckChain => {
            "To tell which, measure the field at the centre with a probe, read a known length held in the beam plane, and \
             compare both meters with others."
        }
    };
    sentence.into()
}

/// One sentence before the findings; with nothing found, how large a fault would have shown.
pub(crate) fn conclusion(weighing: &Weighing) -> String {
    match (weighing.conclusion, &weighing.findings[..]) {
        (Conclusion::NothingFound, []) => nothing_found(&weighing.would_have_been_found),
        (Conclusion::Perhaps, _) => format!(
            "Most probably nothing is wrong (probability {}). If something is, then:",
            probability(weighing.nothing_probability)
        ),
        (Conclusion::Unexplained, found) => unexplained(weighing, !found.is_empty()),
        (Conclusion::NothingFound, _) => "Beside what is said here, nothing is found.".into(),
        (Conclusion::MostLikely, [_]) => "Most likely:".into(),
        (Conclusion::MostLikely, _) => "Most likely the first of these:".into(),
        (Conclusion::CannotTell, _) => {
            "Something is wrong, and these runs cannot tell which of these it is:".into()
        }
    }
}

/// A run farther off than this many standard uncertainties is worth taking again, and so many of them are named.
const FAR: f64 = 2.5;
const NAMED_FAR: usize = 5;

/// The runs contradict each other: by how much, and which to take again.
fn unexplained(weighing: &Weighing, some: bool) -> String {
    let mut farthest: Vec<&RunResult> =
        weighing.runs.iter().filter(|run| run.weighted_residual.is_some_and(|it| it.abs() > FAR)).collect();
    let size = |run: &RunResult| run.weighted_residual.map_or(0.0, f64::abs);
    farthest.sort_by(|a, b| size(b).total_cmp(&size(a)));
    let names: Vec<String> = farthest.iter().take(NAMED_FAR).map(|run| run.name()).collect();
    let again = match names.len() {
        0 => "Take the runs again".to_owned(),
        _ => format!("Take the runs again, first {}", names.join(", ")),
    };
    let some = if some { " What may add to it:" } else { "" };
    format!(
        "The runs contradict each other: they scatter {:.1} times as far as their stated uncertainties say, and no single fault \
         is established that does it. Several are misread, or the uncertainties are stated too small. {again}.{some}",
        weighing.outcome.scatter_factor
    )
}

fn nothing_found(visible: &[Visible]) -> String {
    let sizes: Vec<String> = visible
        .iter()
        .filter_map(|visible| {
            let size = visible.size?;
            Some(match visible.cause {
                Cause::MisreadRun => format!("one radius misread by {}", length(size, 1)),
                Cause::RadiusOffset => format!("all radii off by {}", length(size, 1)),
                Cause::VoltageOffset => format!("a voltage offset of {}", fixed(size, unit::VOLT, 0)),
                Cause::AmmeterOffset => format!("an ammeter offset of {}", fixed(size, unit::AMPERE, 2)),
                Cause::RoomField => {
                    format!("a room field {} from the stated one", fixed(size, unit::MICROTESLA, 0))
                }
                Cause::RadiusFactor | Cause::SharedError => return None,
            })
        })
        .collect();
    if sizes.is_empty() {
        return "Nothing is found, and so few runs would hardly show anything.".into();
    }
    format!("Nothing is found. In nine cases of ten these runs would have shown {}.", sizes.join(", "))
}

/// How the radii were given, for the top of the page.
pub(super) fn radii(weighing: &Weighing) -> String {
    let on_scale = weighing.runs.iter().any(|run| run.radius_place == RadiusPlace::Scale);
    if !on_scale {
        return "Radii in the beam plane, as given: no parallax is taken off.".into();
    }
    if weighing.scale_magnification == 1.0 {
        return "Radii as read on a scale in the beam plane.".into();
    }
    format!(
        "Radii as read on a scale {} {} the beam: divided by {:.4} for the beam plane.",
        length(weighing.scale_offset_m.abs(), 0),
        if weighing.scale_offset_m > 0.0 { "behind" } else { "before" },
        weighing.scale_magnification
    )
}
