//! The winding sheet in words: facts, instructions, table of layers and connection.

use super::phrases::{limits, metres, millimetres, number};
use super::section::{Column, Section, blank_column, number_column, text_column};
use crate::pair::Connection;
use crate::questions::build::notes::listed;
use crate::questions::build::{BuildPapers, Item, LayerRow, WindingPlan};
use crate::questions::words::phrases::signed_percent;
use crate::units::{Dimension, brief, display, fixed, unit};

/// The winding as names and values.
pub(crate) fn facts(record: &BuildPapers) -> Vec<(String, String)> {
    let winding = &record.winding;
    let wire = &winding.wire;
    let row = |name: &str, value: String| (name.to_owned(), value);
    let range = |allowed: crate::pair::Allowed| {
        let three = |metre: f64| number(metre, unit::MILLIMETRE, 3);
        format!("{} to {} mm", three(allowed.least), three(allowed.most))
    };
    let mut facts = vec![
        row(
            "wire",
            format!(
                "{}: bare {}, over the enamel {}",
                winding.wire_name.as_deref().unwrap_or("as the spec states"),
                range(wire.bare_diameter_m),
                range(wire.overall_diameter_m)
            ),
        ),
        row(
            "turns",
            format!(
                "{} in {} layer{}, {} in a full one",
                brief(winding.turns, Dimension::Number),
                winding.layers.len(),
                if winding.layers.len() == 1 { "" } else { "s" },
                winding.turns_per_layer
            ),
        ),
        row("advance from turn to turn", format!("{} mm", number(winding.pitch_m, unit::MILLIMETRE, 3))),
        row("between layers", between_layers(winding)),
        row("floor", format!("Ø {}", limits(winding.floor_diameter_m))),
        row("finished coil", format!("Ø {}", limits(winding.finished_diameter_m))),
        row(
            "wire in the coil",
            format!(
                "{} m, and {} m at each end",
                metres(winding.wire_length_m),
                metres(record.asked.lead_out_m)
            ),
        ),
    ];
    let [expected, low, high] = super::phrases::tested(winding.resistance_ohm, Dimension::Resistance);
    facts.push(row(
        "resistance of the coil",
        format!("{expected} at {}, within {low} to {high}", brief(winding.celsius, Dimension::Temperature)),
    ));
    let tight = &winding.tight;
    facts.push(row(
        "if wound tight",
        format!(
            "Ø {} mm; the field constant {} off",
            millimetres(tight.outer_diameter_m),
            signed_percent(tight.field_constant_relative_change)
        ),
    ));
    facts
}

/// What lies between the layers.
fn between_layers(winding: &WindingPlan) -> String {
    if winding.interlayer_m > 0.0 {
        return format!("insulation of {} mm", number(winding.interlayer_m, unit::MILLIMETRE, 3));
    }
    let ends = millimetres(winding.tight.outer_diameter_m);
    let too_small = winding.tight.outer_diameter_m < winding.finished_diameter_m.least;
    match (winding.filler_m > 0.0, too_small) {
        (true, _) => {
            let why = match too_small {
                true => format!("wound tight, the coil ends at Ø {ends} mm and is too small"),
                false => format!(
                    "wound tight, the coil ends at Ø {ends} mm, or a slipped turn hides in a loose layer"
                ),
            };
            format!(
                "{} mm of insulation, which has room with the largest wire, or layers that much looser: {why}{}",
                number(winding.filler_m, unit::MILLIMETRE, 2),
                still_short(winding)
            )
        }
        (false, true) => format!(
            "nothing, but wind each layer {} mm looser: wound tight, the coil ends at Ø {ends} mm and is too small; insulation \
             would lift the wires out of the grooves, and it would be too large",
            number(looser_m(winding), unit::MILLIMETRE, 2)
        ),
        (false, false) => "nothing".into(),
    }
}

/// What is missing where wire of middle size on the insulation still ends below its limit.
fn still_short(winding: &WindingPlan) -> String {
    let short_m = winding.tight.filled_short_of_design_m;
    match winding.finished_diameter_m.nominal - short_m < winding.finished_diameter_m.least {
        true => format!(
            "; on the insulation wire of middle size still ends {} mm short, so wind it looser, too",
            millimetres(short_m)
        ),
        false => String::new(),
    }
}

/// How much each layer must lie higher than tight, for the coil to have its diameter.
fn looser_m(winding: &WindingPlan) -> f64 {
    0.5 * winding.tight.short_of_design_m / (winding.layers.len() as f64 - 1.0).max(1.0)
}

/// All sections of the sheet.
pub(crate) fn sections(record: &BuildPapers, picture: String) -> Vec<Section> {
    vec![
        Section::Facts { heading: "What to wind", facts: facts(record) },
        Section::Picture { svg: picture },
        Section::List { heading: "Start, finish, direction", items: directions(record) },
        layers(record),
        Section::List { heading: "Reels and joints", items: reels_and_joints(record) },
        Section::List { heading: "When the last layer lies", items: finish(record) },
        Section::List {
            heading: "How the two coils are connected so that they add",
            items: connection(record),
        },
    ]
}

/// Instructions for start, finish and direction.
fn directions(record: &BuildPapers) -> Vec<String> {
    let former = &record.former;
    vec![
        "Both coils are wound alike; print this sheet once for each. Set the former up with its marked face (S, dot, \
         arrow, +z) towards you."
            .into(),
        format!(
            "S, the start, is the inner end and carries the dot. Leave {} m free, pass it through the {} mm hole at S, fix it.",
            metres(record.asked.lead_out_m),
            millimetres(former.start_hole.diameter_m)
        ),
        "The wire runs round counter-clockwise as the arrow shows, seen on the marked face: turn the former clockwise and \
         feed the wire from the side. Layer 1 starts at the marked flange and goes away from you; every layer comes back \
         the way the one before went; the sense of rotation never changes."
            .into(),
        "F, the finish, is the outer end. It leaves through the slot at F.".into(),
        "Current that enters at the dot makes a field out of the marked face, towards +z.".into(),
    ]
}

/// Wire thinner than this is told to a thousandth of a millimetre.
const THIN_M: f64 = 0.3e-3;

/// The table of layers.
fn layers(record: &BuildPapers) -> Section {
    let winding = &record.winding;
    // What a layer of thin wire adds is told to a thousandth.
    let decimals = if winding.wire.overall_diameter_m.nominal < THIN_M { 3 } else { 2 };
    let millimetre = move |metre: f64| number(metre, unit::MILLIMETRE, decimals);
    let row = |row: &LayerRow| {
        let ohm = |ohm: f64| crate::units::significant(ohm, unit::OHM, 4);
        vec![
            row.layer.to_string(),
            format!("{}{}", brief(row.turns, Dimension::Number), if row.full { "" } else { " (part)" }),
            if row.away_from_start { "→".into() } else { "←".into() },
            brief(row.turns_so_far, Dimension::Number),
            metres(row.wire_length_so_far_m),
            millimetre(row.outer_diameter_m.least),
            millimetre(row.outer_diameter_m.nominal),
            millimetre(row.outer_diameter_m.most),
            format!("{}–{}", millimetre(row.adds_m[0]), millimetre(row.adds_m[1])),
            String::new(),
            ohm(row.resistance_so_far_ohm.low),
            ohm(row.resistance_so_far_ohm.expected),
            ohm(row.resistance_so_far_ohm.high),
            String::new(),
        ]
    };
    let columns: Vec<Column> = vec![
        number_column("layer"),
        number_column("turns"),
        text_column("lay"),
        number_column("total turns"),
        number_column("wire"),
        number_column("Ø at least"),
        number_column("Ø design"),
        number_column("Ø at most"),
        number_column("adds"),
        blank_column("Ø found"),
        number_column("R at least"),
        number_column("R"),
        number_column("R at most"),
        blank_column("R found"),
    ];
    Section::Table {
        heading: "Layer by layer".into(),
        caption: format!(
            "Wire in m, Ø in mm, R in Ω. → away from the marked flange, ← back to it. Ø is the outer diameter when the layer is done, measured over \
             it at two places; \"adds\" is that less the one before, for layer 1 less the floor as measured. A layer adds least with the thinnest \
             wire of the standard{grooves}, most with the thickest, or spread over the section. The limits of Ø follow from that, the \
             floor's own and those of the finished coil. A layer that adds {slipped} mm more than the column says, half a wire, has a \
             turn lying on another: take it off. R is the wire wound so far with the winding at {}, free ends left out.",
            brief(winding.celsius, Dimension::Temperature),
            grooves = match winding.interlayer_m + winding.filler_m > 0.0 {
                true => " on the insulation",
                false => " in the grooves of the layer beneath",
            },
            slipped = millimetre(0.5 * winding.wire.overall_diameter_m.nominal)
        ),
        columns,
        rows: winding.layers.iter().map(row).collect(),
    }
}

/// Where the wire may be joined, and what must be noted of the reels (common practice, no source).
fn reels_and_joints(record: &BuildPapers) -> Vec<String> {
    let order = &record.order.wire;
    let joints = match (order.reels, &order.joined) {
        (Some(_), _) => "No joint within a coil: the reel holds it in one piece. If the wire breaks, start the coil anew, or join it as below."
            .to_owned(),
        (None, Some(joined)) => format!(
            "No reel named holds a coil in one piece. With reels of {} kg join the wire at the end of layer {} and nowhere else.",
            joined.reels.each_kg,
            listed(&joined.after_layers)
        ),
        (None, None) => "No reel named holds a coil in one piece, nor a whole layer: ask for a longer length before you start.".to_owned(),
    };
    let solder = match record.order.items.iter().any(|item| matches!(item.what, Item::Crimps)) {
        true => "joined by a crimp for aluminium",
        false => "twisted over 10 mm and soldered, no sharp end left",
    };
    vec![
        joints,
        format!(
            "A joint lies at the end of a full layer beside a flange, never in the first or the last layer nor at S or F: enamel off, \
             {solder}, sleeve or foil over it on all sides, joints of two layers not over each other. Write layer and turn here: \
             ____________________. It adds next to nothing to the resistance; one that does is bad."
        ),
        "Write the reel of each piece above. Wire of two reels may differ by 1 % in diameter and 2 % in resistance: then the file for \
         `accept` says \"wound_from\": \"several_reels\", so that it is not taken for missing turns."
            .to_owned(),
    ]
}

/// Instructions for the end of the coil.
fn finish(record: &BuildPapers) -> Vec<String> {
    let winding = &record.winding;
    let mut items = Vec::new();
    if let Some(last) = winding.layers.last() {
        let side = if winding.finish_at_start_cheek { "marked" } else { "plain" };
        items.push(if last.full {
            format!("The last layer is full and ends at the {side} flange.")
        } else {
            format!(
                "The last layer is a part of one, {} turns: it ends {} mm from the flange it started at. Tie the last turn \
                 and lead the end straight across to the slot at F, insulated.",
                brief(last.turns, Dimension::Number),
                millimetres(last.turns * winding.pitch_m)
            )
        });
    }
    let degrees = fixed(winding.finish_angle_rad, unit::DEGREE, 0);
    items.push(match winding.finish_angle_rad == 0.0 {
        true => "Whole turns: count one turn each time the wire passes S.".into(),
        false => format!(
            "Not whole turns: the wire ends {degrees} beyond S, counted along the winding, where the slot at F is."
        ),
    });
    items.push(format!(
        "The finished coil measures Ø {} to {} mm, {} mm wide at most. Outside these the field is not that of the spec: \
         write down what it is.",
        millimetres(winding.finished_diameter_m.least),
        millimetres(winding.finished_diameter_m.most),
        millimetres(winding.width_m.most.min(record.former.clear_width_m()))
    ));
    let planned_most = winding.layers.last().map_or(0.0, |last| last.outer_diameter_m.most);
    if planned_most < winding.finished_diameter_m.most - 0.05e-3 {
        items.push(format!(
            "A coil of more than Ø {} mm, the limit of its last layer, still meets the spec, but a turn may lie on another: look \
             before it is closed.",
            millimetres(planned_most)
        ));
    }
    let [expected, low, high] = super::phrases::tested(winding.resistance_ohm, Dimension::Resistance);
    items.push(format!(
        "Resistance of the whole coil at {}: {expected}, within {low} to {high}; one turn is {}.",
        brief(winding.celsius, Dimension::Temperature),
        display(winding.resistance_ohm.expected / winding.turns, Dimension::Resistance, 2)
    ));
    items
}

/// Instructions for connecting the coils.
pub(crate) fn connection(record: &BuildPapers) -> Vec<String> {
    let mounted = "Mount both coils with their marked faces towards +z: that of coil a faces coil b, that of coil b faces \
                   away from coil a.";
    let wires = match record.connection {
        Connection::Series => {
            "In series: supply + to the dot (S) of coil a, F of coil a to the dot (S) of coil b, F of coil b to supply −."
        }
        Connection::Parallel => {
            "In parallel: supply + to the dots (S) of both coils, supply − to F of both coils."
        }
    };
    let check = "A compass at the centre turns along the axis. If it hardly moves, one coil is reversed: exchange its S and F.";
    [mounted, wires, check].map(str::to_owned).to_vec()
}
