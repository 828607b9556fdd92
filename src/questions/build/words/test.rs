//! The test sheet in words: rows for the screen and sections for print.

use super::phrases::{limit_millimetres, millimetres, number, tested};
use super::section::{Column, Section, blank_column, number_column, text_column};
use crate::pair::Allowed;
use crate::physics::test_limits::Tested;
use crate::questions::build::{BuildPapers, TestSheet};
use crate::questions::words::phrases::{percent_of, signed_percent};
use crate::units::{Dimension, brief, display, fixed, significant, unit};

/// The quantities with their limits, for the screen.
pub(crate) fn summary_rows(record: &BuildPapers) -> Vec<Vec<String>> {
    let test = &record.test;
    let row = |name: &str, value: Tested, dimension: Dimension| {
        std::iter::once(name.to_owned()).chain(tested(value, dimension)).collect::<Vec<_>>()
    };
    let mut rows = Vec::new();
    if let Some(at) = test.coil_resistance.iter().find(|at| at.celsius == 20.0) {
        rows.push(row("coil resistance at 20 °C, ends included", at.ohm, Dimension::Resistance));
    }
    rows.push(row("coil inductance", test.inductance.coil_henry[0], Dimension::Inductance));
    rows.push(row("mutual inductance", test.inductance.mutual_henry, Dimension::Inductance));
    rows.push(row("series, fields adding", test.inductance.series_henry, Dimension::Inductance));
    rows.push(row("series, one reversed", test.inductance.opposed_henry, Dimension::Inductance));
    rows.push(row(
        &format!("centre field at {}", brief(test.field.current_ampere, Dimension::Current)),
        test.field.field_tesla,
        Dimension::FluxDensity,
    ));
    rows
}

/// All sections of the sheet.
pub(crate) fn sections(record: &BuildPapers) -> Vec<Section> {
    let test = &record.test;
    let mut sections = vec![
        Section::List {
            heading: "Before you start",
            items: vec![
                "Let the coils lie in the room until the windings have its temperature: an hour at least.".into(),
                "Limits are those of build and wire. A reading closer to a limit than its own uncertainty is \
                 undecided: measure more accurately."
                    .into(),
                "Tick \"ok\" where the reading lies within the limits.".into(),
                "Wound from one reel: ___   from several, or joined: ___. Wire of two reels may differ by 2 % in resistance; the limits \
                 allow for it, and the file for `accept` says it (\"wound_from\")."
                    .into(),
            ],
        },
        dimensions(record),
        resistance(record),
        inductance(record),
        shorted_turn(test),
        insulation(test),
        polarity(record),
        field(test),
    ];
    sections.extend(warm_up(test));
    sections
}

fn dimensions(record: &BuildPapers) -> Section {
    let assembly = &record.assembly;
    let row = |name: &str, expected: String, low: String, high: String| {
        vec![name.to_owned(), expected, low, high, String::new(), String::new(), String::new()]
    };
    let allowed = |name: &str, it: Allowed| {
        row(name, millimetres(it.nominal), millimetres(it.least), millimetres(it.most))
    };
    Section::Table {
        heading: "1  Dimensions, mm".into(),
        caption: "Diameters: the larger and the smaller of two across each other. The floor has the workshop's limits, closer than those of the spec for the finished \
                  coil, so that the winding has room for its own."
            .to_owned()
            + &round_the_rim(record),
        columns: with_boxes("what", &["expected", "at least", "at most"]),
        rows: vec![
            allowed("inner diameter: the floor, before winding", record.winding.floor_diameter_m),
            allowed("outer diameter of the winding", record.winding.finished_diameter_m),
            allowed("width of the winding", record.winding.width_m),
            row(
                "spacing: distance of like faces, mean of four places",
                millimetres(assembly.spacing_m),
                millimetres(assembly.spacing_m - assembly.spacing_limit_m),
                millimetres(assembly.spacing_m + assembly.spacing_limit_m),
            ),
            row(
                "largest less smallest such distance, all round",
                "0".into(),
                "-".into(),
                limit_millimetres(assembly.squareness.limit_m),
            ),
            row(
                "step between the rims, straightedge along the axis, all round",
                "0".into(),
                "-".into(),
                limit_millimetres(assembly.concentricity.limit_m),
            ),
        ],
    }
}

/// How the readings round the rim are taken, and what decides those above the limit that one coil may reach.
fn round_the_rim(record: &BuildPapers) -> String {
    let assembly = &record.assembly;
    format!(
        " Seek the largest and the smallest distance, and the largest step, all round the rim: four places may miss a third of \
         them. They pass up to what one coil alone may make. Above that, up to {} mm and {} mm, which both may make against \
         each other, they are undecided: measure the squareness and the place of each coil from the base. Above those they fail.",
        limit_millimetres(assembly.squareness.both_coils_m),
        limit_millimetres(assembly.concentricity.both_coils_m)
    )
}

/// Columns of a test: its name, numbers, a box for each coil, and a box to tick.
fn with_boxes(what: &str, numbers: &[&str]) -> Vec<Column> {
    std::iter::once(text_column(what))
        .chain(numbers.iter().map(|heading| number_column(heading)))
        .chain([blank_column("coil a"), blank_column("coil b"), blank_column("ok")])
        .collect()
}

fn boxed(name: &str, cells: [String; 3]) -> Vec<String> {
    let empty = || String::new();
    std::iter::once(name.to_owned()).chain(cells).chain([empty(), empty(), empty()]).collect()
}

fn resistance(record: &BuildPapers) -> Section {
    let test = &record.test;
    let half = test.coil_resistance.len().div_ceil(2);
    let ohm = |value: f64| significant(value, unit::OHM, 4);
    let cells = |index: usize| match test.coil_resistance.get(index) {
        Some(at) => vec![
            brief(at.celsius, Dimension::Temperature),
            ohm(at.ohm.low),
            ohm(at.ohm.expected),
            ohm(at.ohm.high),
        ],
        None => vec![String::new(); 4],
    };
    let heads = || {
        [
            number_column("winding at"),
            number_column("at least, Ω"),
            number_column("Ω"),
            number_column("at most, Ω"),
        ]
    };
    Section::Table {
        heading: "2  Resistance of each coil".into(),
        caption: format!(
            "Four-wire, with the {} m of free wire at each end; note the winding's temperature. Limits: {}. \
             Coil a: ________ Ω at ______ °C   ok ___    Coil b: ________ Ω at ______ °C   ok ___",
            number(record.asked.lead_out_m, unit::METRE, 2),
            record.winding.wire.resistance_source
        ),
        columns: heads().into_iter().chain(heads()).collect(),
        rows: (0..half).map(|row| [cells(row), cells(row + half)].concat()).collect(),
    }
}

fn inductance(record: &BuildPapers) -> Section {
    let test = &record.test;
    let found = &test.inductance;
    let turns = &test.turns;
    let difference = [
        "0 %".into(),
        signed_percent(-turns.largest_difference_fraction),
        signed_percent(turns.largest_difference_fraction),
    ];
    Section::Table {
        heading: "3  Inductance, and the turns of one coil against the other".into(),
        caption: format!(
            "At {}, away from iron, the coils in their places. One turn in {} changes a coil's inductance by {}{}. \
             Mutual: feed {} of {} to one coil, {} at its terminals, and read the open voltage at the other; exchanged, it is \
             the same.",
            frequency(test.shorted_turn.frequency_hertz[0]),
            brief(record.winding.turns, Dimension::Number),
            percent_of(turns.one_turn_fraction, 2),
            match turns.largest_difference_fraction > turns.one_turn_fraction {
                true => ", less than the tolerances do: count the turns as well",
                false => "",
            },
            display(turns.current_ampere, Dimension::Current, 2),
            frequency(turns.frequency_hertz),
            display(turns.drive_volt, Dimension::Voltage, 2)
        ),
        columns: with_boxes("what", &["expected", "at least", "at most"]),
        rows: vec![
            boxed(
                "inductance of the coil, the other open",
                tested(found.coil_henry[0], Dimension::Inductance),
            ),
            boxed("difference of the two over their mean", difference),
            boxed("voltage at the other coil", tested(turns.induced_volt, Dimension::Voltage)),
            boxed("mutual inductance, from it", tested(found.mutual_henry, Dimension::Inductance)),
        ],
    }
}

fn shorted_turn(test: &TestSheet) -> Section {
    let shorted = &test.shorted_turn;
    let [low, high] = shorted.frequency_hertz.map(frequency);
    Section::Table {
        heading: "4  Shorted turns".into(),
        caption: format!(
            "Inductance at {low} and at {high}, or Q at {high}. One shorted turn takes {} off the inductance at {high} and adds \
             {} to the series resistance; a sound coil loses next to nothing (common practice; computed for the mean turn). \
             Well above {high} the coil's own capacitance raises the reading.{}",
            percent_of(shorted.drop_fraction, 2),
            display(shorted.added_ohm, Dimension::Resistance, 2),
            match shorted.is_visible {
                true => "",
                false =>
                    " An ordinary meter does not show so little for certain: here this test decides nothing. Compare the \
                          coils with each other, and count their turns.",
            }
        ),
        columns: with_boxes("what", &["expected", "at least", "at most"]),
        rows: vec![boxed(
            &format!("drop of the inductance from {low} to {high}"),
            ["0 %".into(), "-".into(), percent_of(shorted.largest_drop_fraction, 2)],
        )],
    }
}

fn insulation(test: &TestSheet) -> Section {
    let insulation = &test.insulation;
    Section::Table {
        heading: "5  Insulation".into(),
        caption: format!(
            "Insulation tester between winding and bolts, and a metal foil pressed into the channel or a metal former, coil \
             disconnected from everything. It gives a shock: hands off while it measures, discharge the coil after it. \
             Source: {}.",
            insulation.source.unwrap_or("stated in the spec")
        ),
        columns: with_boxes("what", &["test voltage", "at least"]),
        rows: vec![vec![
            "winding to former and bolts, after 1 min".into(),
            display(insulation.test_volt, Dimension::Voltage, 3),
            format!("{} MΩ", significant(insulation.least_ohm / 1e6, unit::ONE, 2)),
            String::new(),
            String::new(),
            String::new(),
        ]],
    }
}

fn polarity(record: &BuildPapers) -> Section {
    let found = &record.test.inductance;
    let row = |name: &str, value: Tested| {
        let mut cells = boxed(name, tested(value, Dimension::Inductance));
        cells.remove(5);
        cells
    };
    Section::Table {
        heading: "6  Polarity".into(),
        caption: "Either a compass: each coil alone, current into the dot, the needle turns towards +z. Or the inductance of \
                  both in series, which is larger where the fields add; where it is smaller, one coil is reversed."
            .into(),
        columns: vec![
            text_column("in series"),
            number_column("expected"),
            number_column("at least"),
            number_column("at most"),
            blank_column("pair"),
            blank_column("ok"),
        ],
        rows: vec![
            row("F of a to the dot of b: fields add", found.series_henry),
            row("F of a to F of b: fields oppose", found.opposed_henry),
        ],
    }
}

fn field(test: &TestSheet) -> Section {
    let field = &test.field;
    let current = brief(field.current_ampere, Dimension::Current);
    let room = match field.room_axial_tesla {
        Some(room) => format!(" ({} by the spec)", display(room, Dimension::FluxDensity, 2)),
        None => String::new(),
    };
    let mut cells =
        boxed("half the difference of both readings", tested(field.field_tesla, Dimension::FluxDensity));
    cells.remove(5);
    Section::Table {
        heading: "7  Field at the centre".into(),
        caption: format!(
            "{current} one way: ____________ mT, the other way: ____________ mT, probe along the axis. Half the difference is \
             the coils' field, half the sum the room's{room} and the probe's zero."
        ),
        columns: vec![
            text_column(&format!("at {current}")),
            number_column("expected"),
            number_column("at least"),
            number_column("at most"),
            blank_column("measured"),
            blank_column("ok"),
        ],
        rows: vec![cells],
    }
}

fn warm_up(test: &TestSheet) -> Option<Section> {
    let warm_up = test.warm_up.as_ref()?;
    let ratio = |value: f64| format!("{value:.3}");
    let rows = warm_up.rows.iter().map(|row| {
        vec![
            row.time_s.map_or_else(|| "steady".into(), |seconds| fixed(seconds, unit::MINUTE, 0)),
            brief((row.copper_celsius * 10.0).round() / 10.0, Dimension::Temperature),
            ratio(row.resistance_ratio.expected),
            ratio(row.resistance_ratio.low),
            ratio(row.resistance_ratio.high),
            brief((row.surface_celsius * 10.0).round() / 10.0, Dimension::Temperature),
            String::new(),
            String::new(),
            String::new(),
        ]
    });
    Some(Section::Table {
        heading: "8  Warm-up".into(),
        caption: format!(
            "Hold {} and stay with it. R/R₀ is volts over amperes at the coils' terminals, over that at the start in a room \
             at {}. Stop where a surface passes {} (touch for a minute, ISO 13732-1, or lower) or anything smells. The \
             prediction is good to 10 to 20 % of the rise.",
            display(warm_up.current_ampere, Dimension::Current, 2),
            brief(warm_up.room_celsius, Dimension::Temperature),
            brief(warm_up.surface_limit_celsius, Dimension::Temperature)
        ),
        columns: vec![
            number_column("after"),
            number_column("winding"),
            number_column("R/R₀"),
            number_column("at least"),
            number_column("at most"),
            number_column("hottest surface"),
            blank_column("V"),
            blank_column("R/R₀"),
            blank_column("surface, °C"),
        ],
        rows: rows.collect(),
    })
}

fn frequency(hertz: f64) -> String {
    if hertz >= 1000.0 { format!("{} kHz", hertz / 1000.0) } else { format!("{hertz} Hz") }
}
