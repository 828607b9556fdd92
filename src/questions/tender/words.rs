//! A request for quotation in words: the text, and the paragraphs of the page.

use super::Tender;
use crate::paper::page::Page;
use crate::questions::words::cautions::{Caution, sentences};

/// The page for people.
pub fn text(record: &Tender) -> String {
    let mut page = Page::new(&format!("Request for quotation: {}", record.wishes_title), &provenance(record));
    page.section("What the pair must do");
    let lines: Vec<String> =
        record.requirements.iter().map(|it| format!("{}: {}", it.what(), it.wanted())).collect();
    match lines.is_empty() {
        true => page.paragraph("The wishes state nothing that a pair must do."),
        false => page.list(lines.iter().map(String::as_str)),
    }
    if let Some(sentence) = open_sentence(record) {
        page.paragraph(&sentence);
    }
    page.section("How it is tested on delivery");
    page.list(TESTS);
    page.paragraph(RULE);
    page.section("What the quote must state");
    page.list(STATED);
    page.section("Safety");
    page.list(SAFETY);
    page.section("Cautions for all who handle the pair");
    page.list(sentences(&Caution::ALL));
    page.into_text()
}

/// Program, wishes and date.
pub(super) fn provenance(record: &Tender) -> String {
    let date = record.date.as_ref().map_or(String::new(), |date| format!("; {date}"));
    format!("{}; wishes \"{}\", {}{date}", record.program, record.wishes_title, record.wishes_digest)
}

/// What the wishes leave open; `None` if nothing.
pub(super) fn open_sentence(record: &Tender) -> Option<String> {
    let open: Vec<&str> = record.open.iter().map(|open| open.phrase()).collect();
    (!open.is_empty()).then(|| format!("Not stated here, to be asked before quoting: {}.", open.join("; ")))
}

/// How a delivery is tested: common practice, no source.
pub(super) const TESTS: [&str; 8] = [
    "Each coil alone: resistance with four wires at the room's temperature, inner and outer diameter, width, and mass where \
     the former's is known.",
    "Turns: each coil against the other by induction, and from resistance, field and inductance together.",
    "The pair: spacing and how square the coils stand, measured at four places of the rim.",
    "Polarity: the field of both coils together, and the inductance connected both ways.",
    "Field at the centre and at points of the beam's circles, for both directions of the current, the room's field taken off.",
    "Hottest surface, at the current of the largest field and after the time stated above, from cold.",
    "Insulation between winding and former or anything that can be touched, at the test voltage that the quote states.",
    "Voltage at the pair's terminals at the current of the largest field, at the end of that time.",
];

/// The decision rule.
pub(super) const RULE: &str = "Decision rule: each measured value is held against the limits of the quote (its build tolerance, or limits stated for \
     the quantity), with a guard band of the expanded uncertainty U (k = 2) on both sides (JCGM 106:2012; ILAC-G8:09/2019). \
     Inside by U or more passes; outside by more than U fails; between the two it is measured again, better. Buyer and supplier \
     may watch the measurements; a protocol is signed by both. Another rule must be agreed in writing before delivery.";

/// What a quote must state.
pub(super) const STATED: [&str; 7] = [
    "Every line of the quote form that is marked as needed, and of the others as many as are known: what is left blank is \
     asked about before anything is ordered.",
    "Limits of error of every dimension and of the turns: without them nothing can be tested.",
    "Resistance of each coil at its own terminals and the temperature of its winding then. Its limits are those of the wire's \
     standard and of the dimensions, where no narrower ones are stated.",
    "The largest field and the voltage that it takes, and the temperature of the hottest surface, as the supplier computes or \
     measured them, and how.",
    "Wire (size, enamel, thermal class), former, terminals, how the coils are held at their spacing.",
    "Test voltage of the insulation and the smallest resistance promised.",
    "Price with currency, carriage, tax, time of delivery, warranty, and until when the quote holds.",
];

/// Safety requirements with the standards to declare. Titles and numbers are from memory, to be checked where they
/// matter.
pub(super) const SAFETY: [&str; 6] = [
    "The quote declares by which standard for electrical equipment for measurement, control and laboratory use the pair was \
     judged (IEC 61010-1 where it applies), and lists every part that was left out.",
    "Winding wire to IEC 60317 or NEMA MW 1000; thermal class of wire and insulation to IEC 60085, stated in the quote.",
    "Surfaces that can be touched: temperatures judged by ISO 13732-1 or by the standard declared, and a warning sign where a \
     surface can burn.",
    "Terminals that cannot be touched while current flows, or that stay at extra-low voltage; said also for the moment in which \
     the circuit is opened, when the inductance makes a high voltage.",
    "A warning sign for people with pacemakers and other active implants, with the distance at which the field falls to 0.5\u{a0}mT.",
    "Nothing of the pair is magnetic; materials that burn are named.",
];
