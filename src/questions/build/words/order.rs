//! The order list in words: rows, sections of the printed sheet, and CSV.

use super::phrases::{mass, metres, number};
use super::section::{Section, blank_column, number_column, text_column};
use crate::files::out::csv::{NumberFormat, TableFile};
use crate::questions::build::{
    Alternative, BuildPapers, OrderItem, OrderUnit, Reels, WhichTurns, WhichWire, WireOrder,
};
use crate::questions::words::origin::on_page;
use crate::units::{Dimension, brief, display, fixed_down, unit};

/// The lines of the order: item, quantity, unit and remark.
pub(crate) fn rows(record: &BuildPapers) -> Vec<[String; 4]> {
    let row = |item: &OrderItem| {
        let unit = match item.unit {
            OrderUnit::SquareMetre => "m²",
            unit => unit.key(),
        };
        [item.what.name(), quantity(item), unit.to_owned(), item.what.remark()]
    };
    record.order.items.iter().map(row).collect()
}

/// A quantity as text, rounded up so that it is never less than needed.
fn quantity(item: &OrderItem) -> String {
    match item.unit {
        OrderUnit::Piece => format!("{:.0}", item.quantity),
        _ => {
            let up =
                crate::units::fixed_up(item.quantity, unit::ONE, if item.quantity < 1.0 { 3 } else { 2 });
            up.trim_end_matches('0').trim_end_matches('.').to_owned()
        }
    }
}

/// All sections of the sheet.
pub(crate) fn sections(record: &BuildPapers) -> Vec<Section> {
    vec![items(record), wire(record), alternatives(record), wire_of_alternatives(record)]
}

fn items(record: &BuildPapers) -> Section {
    Section::Table {
        heading: "To order, for the pair".into(),
        caption: "Suggested where the spec says nothing; strike out what is in the store.".into(),
        columns: vec![
            text_column("item"),
            number_column("quantity"),
            text_column("unit"),
            text_column("remark"),
            blank_column("supplier, number"),
            blank_column("ordered"),
        ],
        rows: rows(record)
            .into_iter()
            .map(|row| row.into_iter().chain([String::new(), String::new()]).collect())
            .collect(),
    }
}

/// How the quantity of wire was computed.
fn wire(record: &BuildPapers) -> Section {
    let wire = &record.order.wire;
    let both = |name: &str, coil: String, pair: String| vec![name.to_owned(), coil, pair];
    let bare = wire.bare_kg_per_m;
    let enamelled = wire.enamelled_kg_per_m;
    let wound = wire.wound_per_coil_m;
    let needed = wire.needed_per_coil_m;
    let reels = reels(wire);
    Section::Table {
        heading: "Wire".into(),
        caption: format!(
            "Bare {} g/m, with enamel {} g/m (enamel of 1.35 g/cm³, common practice). Waste: {} of wound wire and free ends.",
            number(bare, unit::GRAM_PER_METRE, 3),
            number(enamelled, unit::GRAM_PER_METRE, 3),
            display(wire.waste_fraction, Dimension::Fraction, 2)
        ),
        columns: vec![text_column(""), number_column("one coil"), number_column("pair")],
        rows: vec![
            both("wound, m", metres(wound), metres(2.0 * wound)),
            both("free ends, m", metres(wire.free_ends_per_coil_m), metres(2.0 * wire.free_ends_per_coil_m)),
            both("needed with waste, m", metres(needed), metres(2.0 * needed)),
            both("wound, bare conductor", mass(wound * bare), mass(2.0 * wound * bare)),
            both("wound, with enamel", mass(wound * enamelled), mass(2.0 * wound * enamelled)),
            both("needed, with enamel", mass(needed * enamelled), mass(2.0 * needed * enamelled)),
            both("reels", String::new(), reels),
        ],
    }
}

/// The reels of an order.
fn reels(order: &WireOrder) -> String {
    let told = |reels: Reels| format!("{} × {} kg, {} left", reels.count, reels.each_kg, mass(reels.left_kg));
    let joined = order.joined.as_ref().map_or_else(String::new, |it| format!("; joined: {}", told(it.reels)));
    order.reels.map_or_else(|| format!("none of the sizes named holds one coil in one piece{joined}"), told)
}

/// Which wire an alternative is of.
fn name(alternative: &Alternative) -> String {
    let wire_name = alternative.wire_name.as_deref().unwrap_or("as the spec states");
    format!("{}: {wire_name}", which(alternative.wire))
}

/// What to order of each alternative.
fn wire_of_alternatives(record: &BuildPapers) -> Section {
    let row = |alternative: &Alternative| {
        let order = &alternative.to_order;
        let wound = 2.0 * order.wound_per_coil_m;
        let needed = 2.0 * order.needed_per_coil_m;
        vec![
            name(alternative),
            brief(alternative.turns, Dimension::Number),
            metres(wound),
            metres(needed),
            mass(wound * order.bare_kg_per_m),
            mass(wound * order.enamelled_kg_per_m),
            mass(needed * order.enamelled_kg_per_m),
            reels(order),
        ]
    };
    Section::Table {
        heading: "What to order of each, for the pair".into(),
        caption: "Needed: with free ends and waste, as for the wire of the spec.".into(),
        columns: vec![
            text_column("wire"),
            number_column("turns"),
            number_column("wound, m"),
            number_column("needed, m"),
            number_column("wound, bare"),
            number_column("wound, with enamel"),
            number_column("needed, with enamel"),
            text_column("reels"),
        ],
        rows: record.order.alternatives.iter().map(row).collect(),
    }
}

fn alternatives(record: &BuildPapers) -> Section {
    let row = |alternative: &Alternative| {
        let or_dash = |value: Option<f64>, dimension: Dimension| {
            value.map_or_else(|| "-".into(), |value| display(value, dimension, 3))
        };
        vec![
            name(alternative),
            brief(alternative.turns, Dimension::Number),
            match alternative.turns_are {
                WhichTurns::AsDesigned => "as designed",
                WhichTurns::AsManyAsFit => "as many as fit",
            }
            .into(),
            display(alternative.resistance_ohm, Dimension::Resistance, 3),
            display(alternative.field_constant_tesla_per_ampere, Dimension::FieldConstant, 4),
            alternative
                .continuous_current_ampere
                .map_or_else(|| "-".into(), |current| fixed_down(current, unit::AMPERE, 2)),
            or_dash(alternative.field_at_continuous_current_tesla, Dimension::FluxDensity),
            or_dash(alternative.voltage_at_continuous_current_volt, Dimension::Voltage),
        ]
    };
    Section::Table {
        heading: "If the wire is not to be had: the next stock sizes in the same section".into(),
        caption: format!(
            "Resistance: nominal, at {}, without free ends, as on the winding sheet. Continuous current: the one to rely on for \
             as long as one likes. The voltage is at the pair, cold.",
            display(record.winding.celsius, Dimension::Temperature, 3)
        ),
        columns: vec![
            text_column("wire"),
            number_column("turns"),
            text_column(""),
            number_column("pair, resistance"),
            number_column("field constant"),
            number_column("continuous current"),
            number_column("field then"),
            number_column("voltage then"),
        ],
        rows: record.order.alternatives.iter().map(row).collect(),
    }
}

fn which(wire: WhichWire) -> &'static str {
    match wire {
        WhichWire::Spec => "spec",
        WhichWire::NextThicker => "next thicker",
        WhichWire::NextThinner => "next thinner",
    }
}

/// The columns of the order as CSV. Those after `remark` are filled for wires alone.
const CSV_HEADINGS: [&str; 13] = [
    "item",
    "quantity",
    "unit",
    "remark",
    "alternative",
    "turns",
    "wound_m",
    "needed_m",
    "bare_wound_kg",
    "enamelled_wound_kg",
    "enamelled_needed_kg",
    "reels",
    "reel_kg",
];

/// The order as CSV: what to order, and below it the wires that may take the place of the first, for the pair.
pub(crate) fn csv(record: &BuildPapers, format: NumberFormat) -> String {
    let mut file = TableFile::new(format, &[on_page(&record.provenance)], &CSV_HEADINGS);
    let of_wire = |alternative: Option<&Alternative>| -> Vec<String> {
        let number = |of: fn(&Alternative) -> Option<f64>| format.number(alternative.and_then(of));
        vec![
            number(|it| Some(it.turns)),
            number(|it| Some(2.0 * it.to_order.wound_per_coil_m)),
            number(|it| Some(2.0 * it.to_order.needed_per_coil_m)),
            number(|it| Some(2.0 * it.to_order.bare_wound_per_coil_kg)),
            number(|it| Some(2.0 * it.to_order.wound_per_coil_m * it.to_order.enamelled_kg_per_m)),
            number(|it| Some(2.0 * it.to_order.enamelled_needed_per_coil_kg)),
            number(|it| it.to_order.reels.map(|reels| f64::from(reels.count))),
            number(|it| it.to_order.reels.map(|reels| reels.each_kg)),
        ]
    };
    for (index, item) in record.order.items.iter().enumerate() {
        let own = record.order.alternatives.first().filter(|_| index == 0);
        let mut row = vec![
            format.text(&item.what.name()),
            format.number(Some(item.quantity)),
            format.text(item.unit.key()),
            format.text(&item.what.remark()),
            format.text(""),
        ];
        row.extend(of_wire(own));
        file.row(&row);
    }
    for alternative in record.order.alternatives.iter().skip(1) {
        let mut row = vec![
            format.text(&name(alternative)),
            // Nothing to add to the order: it is wanted instead.
            format.number(None),
            format.text(""),
            format.text(&reels(&alternative.to_order)),
            format.text("instead of the first line"),
        ];
        row.extend(of_wire(Some(alternative)));
        file.row(&row);
    }
    file.into_text()
}
