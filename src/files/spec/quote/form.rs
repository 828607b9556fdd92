//! The fields of a quote form: the parts of a spec that a supplier states. The printed form, the blank file, the
//! workbook and their reader all use this table.

use crate::units::{Unit, unit};
use serde::Serialize;

/// One field of a quote form.
#[derive(Clone, Copy, Debug)]
pub struct QuoteField {
    /// Its dotted path in a spec.
    pub path: &'static str,
    /// The part of the form that contains it.
    pub part: &'static str,
    /// Its label for people.
    pub label: &'static str,
    /// How its value is written.
    pub written: Written,
    /// A short note on what to write.
    pub note: &'static str,
    /// Whether a quote is impossible without it.
    pub required: bool,
    /// Whether the form marks it as needed: it is required, or quotes cannot be compared or tested without it.
    pub marked: bool,
}

impl QuoteField {
    /// Its label as the form prints it, with its part.
    pub fn form_label(&self) -> String {
        format!("{}: {}", self.part, self.label)
    }

    /// Its unit as the form prints it; empty if it has none.
    pub fn form_unit(&self) -> &'static str {
        match self.written {
            Written::With(unit) => unit.names[0],
            _ => "",
        }
    }

    /// Its note as the form prints it.
    pub fn form_note(&self) -> String {
        let words = match self.written {
            Written::OneOf(words) => format!("{}: {}", words.join(" or "), self.note),
            _ => self.note.to_owned(),
        };
        let words = words.trim_end_matches(": ");
        match (self.marked, words) {
            (false, words) => words.to_owned(),
            (true, "") => "needed".to_owned(),
            (true, words) => format!("needed: {words}"),
        }
    }
}

/// A value in the form of a quote that cannot be read.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Unreadable {
    /// Its key in a spec.
    pub key: String,
    /// Its label in the form.
    pub label: String,
    /// What is written there.
    pub text: String,
    /// Why that cannot be read, and how to write it.
    pub problem: String,
}

/// How the value of a field is written.
#[derive(Clone, Copy, Debug)]
pub enum Written {
    /// Free text.
    Text,
    /// A number.
    Number,
    /// A whole number of at least one.
    Count,
    /// A number with this unit.
    With(Unit),
    /// One of these words.
    OneOf(&'static [&'static str]),
}

/// The headings of the form as a table, in their order.
pub const QUOTE_COLUMNS: [&str; 5] = ["label", "value", "unit", "note", "name"];

const fn field(
    path: &'static str,
    part: &'static str,
    label: &'static str,
    written: Written,
    note: &'static str,
) -> QuoteField {
    QuoteField { path, part, label, written, note, required: false, marked: false }
}

const fn needed(field: QuoteField) -> QuoteField {
    QuoteField { required: true, marked: true, ..field }
}

const fn marked(field: QuoteField) -> QuoteField {
    QuoteField { marked: true, ..field }
}

const MM: Written = Written::With(unit::MILLIMETRE);
const OHM: Written = Written::With(unit::OHM);
const WINDING: &str = "Winding of one coil";
const WIRE: &str = "Wire";
const PAIR: &str = "Pair";
const FORMER: &str = "Former";
const TOLERANCE: &str = "Build tolerance promised";
const BUILT: &str = "Measured on the finished coils, if they are made";
const PRICE: &str = "Price and terms";
const STATED: &str = "Stated of the finished pair";

/// Every field, in the order of the form.
pub const QUOTE_FIELDS: [QuoteField; 66] = [
    needed(field("title", PAIR, "name of the quote", Written::Text, "supplier and type")),
    needed(field("spacing", PAIR, "spacing", MM, "middle of one coil to middle of the other")),
    marked(field("connection", PAIR, "connection", Written::OneOf(&["series", "parallel"]), "as quoted")),
    field("axis", PAIR, "axis", Written::OneOf(&["horizontal", "vertical"]), "how the pair stands"),
    field(
        "leads.resistance",
        PAIR,
        "resistance of the leads",
        OHM,
        "there and back, if leads are part of it",
    ),
    needed(field("winding.mean_radius", WINDING, "mean radius", MM, "middle of the winding")),
    needed(field("winding.width", WINDING, "width", MM, "of the winding, along the axis")),
    needed(field("winding.depth", WINDING, "depth", MM, "of the winding, along the radius")),
    needed(field("winding.turns", WINDING, "turns", Written::Number, "of each coil; half turns are real")),
    field("winding.layers", WINDING, "layers", Written::Count, ""),
    field("winding.turns_per_layer", WINDING, "turns in one layer", Written::Count, ""),
    field(
        "winding.packing",
        WINDING,
        "packing",
        Written::OneOf(&["square", "nested"]),
        "wire on wire, or in the grooves",
    ),
    field("winding.filling", WINDING, "filling", Written::OneOf(&["air", "varnish"]), "between the wires"),
    field("winding.surface_emissivity", WINDING, "emissivity", Written::Number, "of the outside, 0 to 1"),
    field(
        "winding.wire.size",
        WIRE,
        "stock size",
        Written::Text,
        "such as AWG 19 or 0.95 mm; this or both diameters",
    ),
    field(
        "winding.wire.build",
        WIRE,
        "enamel of a stock size",
        Written::OneOf(&["grade 1", "grade 2", "single", "heavy"]),
        "with the stock size",
    ),
    field("winding.wire.bare_diameter", WIRE, "bare diameter", MM, "without a stock size"),
    field("winding.wire.overall_diameter", WIRE, "diameter over the enamel", MM, "without a stock size"),
    marked(field("winding.wire.conductor", WIRE, "conductor", Written::OneOf(&["copper", "aluminium"]), "")),
    field("winding.wire.thermal_class", WIRE, "thermal class", Written::Number, "in °C (IEC 60085)"),
    field("former.material", FORMER, "material", Written::Text, ""),
    field("former.wall", FORMER, "wall", MM, "floor under the winding and each cheek"),
    field("former.cheeks", FORMER, "cheeks", Written::OneOf(&["both", "one", "none"]), "sides covered"),
    field("former.expansion_per_kelvin", FORMER, "thermal expansion", Written::Number, "per kelvin"),
    marked(field("build_tolerance.mean_radius", TOLERANCE, "mean radius within", MM, "each coil")),
    marked(field("build_tolerance.spacing", TOLERANCE, "spacing within", MM, "")),
    marked(field("build_tolerance.turns", TOLERANCE, "turns within", Written::Number, "each coil")),
    marked(field("build_tolerance.width", TOLERANCE, "width within", MM, "each coil")),
    marked(field("build_tolerance.depth", TOLERANCE, "depth within", MM, "each coil")),
    field("build_tolerance.offset", TOLERANCE, "place across the axis within", MM, "each coil"),
    field(
        "build_tolerance.tilt",
        TOLERANCE,
        "tilt within",
        Written::With(unit::DEGREE),
        "each coil, each of two directions",
    ),
    field(
        "build_tolerance.distribution",
        TOLERANCE,
        "these limits are",
        Written::OneOf(&["rectangular", "normal"]),
        "never exceeded, or two standard deviations",
    ),
    field("as_built.a.turns", BUILT, "coil a, turns", Written::Number, ""),
    field("as_built.a.mean_radius", BUILT, "coil a, mean radius", MM, ""),
    field("as_built.a.width", BUILT, "coil a, width", MM, ""),
    field("as_built.a.depth", BUILT, "coil a, depth", MM, ""),
    field("as_built.a.resistance.value", BUILT, "coil a, resistance", OHM, "at its own terminals"),
    field(
        "as_built.a.resistance.at",
        BUILT,
        "coil a, winding's temperature then",
        Written::With(unit::CELSIUS),
        "20 °C where left blank",
    ),
    field("as_built.b.turns", BUILT, "coil b, turns", Written::Number, ""),
    field("as_built.b.mean_radius", BUILT, "coil b, mean radius", MM, ""),
    field("as_built.b.width", BUILT, "coil b, width", MM, ""),
    field("as_built.b.depth", BUILT, "coil b, depth", MM, ""),
    field("as_built.b.resistance.value", BUILT, "coil b, resistance", OHM, "at its own terminals"),
    field(
        "as_built.b.resistance.at",
        BUILT,
        "coil b, winding's temperature then",
        Written::With(unit::CELSIUS),
        "20 °C where left blank",
    ),
    marked(field("price.amount", PRICE, "price of the pair", Written::Number, "without carriage and tax")),
    marked(field(
        "price.currency",
        PRICE,
        "currency",
        Written::Text,
        "three letters of ISO 4217, such as EUR",
    )),
    marked(field("price.carriage", PRICE, "packing and carriage", Written::Number, "in the same currency")),
    marked(field(
        "price.tax_rate",
        PRICE,
        "tax rate",
        Written::With(unit::PERCENT),
        "on top of both; 0 where included",
    )),
    marked(field("price.delivery", PRICE, "time of delivery", Written::Text, "such as 6 weeks")),
    field("price.warranty", PRICE, "warranty", Written::Text, "such as 24 months"),
    field(
        "price.valid_until",
        PRICE,
        "this quote holds until",
        Written::Text,
        "year-month-day, such as 2027-03-31",
    ),
    field("stated.resistance", STATED, "resistance of the pair", OHM, "as connected, at 20 °C"),
    field(
        "stated.field_constant",
        STATED,
        "field at the centre per ampere",
        Written::With(unit::MILLITESLA_PER_AMPERE),
        "of the supply",
    ),
    field("stated.copper_mass", STATED, "mass of the conductor", Written::With(unit::KILOGRAM), "both coils"),
    field("stated.inner_diameter", STATED, "inner diameter", MM, "of the wound section"),
    field("stated.outer_diameter", STATED, "outer diameter", MM, "of the wound section"),
    field(
        "stated.largest_field",
        STATED,
        "largest field at the centre",
        Written::With(unit::MILLITESLA),
        "computed or measured",
    ),
    field(
        "stated.largest_field_current",
        STATED,
        "current that it takes",
        Written::With(unit::AMPERE),
        "of the supply",
    ),
    field(
        "stated.largest_field_voltage",
        STATED,
        "voltage that it takes",
        Written::With(unit::VOLT),
        "at the pair's terminals, winding warm",
    ),
    field(
        "stated.hottest_surface",
        STATED,
        "hottest surface at that current",
        Written::With(unit::CELSIUS),
        "from cold, in a room of 20 °C",
    ),
    field(
        "stated.hottest_surface_after",
        STATED,
        "after this time",
        Written::With(unit::MINUTE),
        "blank: for as long as one likes",
    ),
    field(
        "stated.insulation_test_voltage",
        STATED,
        "insulation, test voltage",
        Written::With(unit::VOLT),
        "winding against former",
    ),
    field(
        "stated.insulation_resistance",
        STATED,
        "insulation, smallest resistance",
        Written::With(unit::MEGAOHM),
        "",
    ),
    field("stated.terminals", STATED, "terminals", Written::Text, "kind; safe to touch or not"),
    field("stated.held_by", STATED, "coils held at their spacing by", Written::Text, ""),
    field("stated.standards", STATED, "standards declared", Written::Text, "numbers and years"),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_request_says_a_quote_needs_is_marked() {
        let marked = |path: &str| QUOTE_FIELDS.iter().any(|it| it.path == path && it.marked);
        for path in
            ["title", "spacing", "winding.turns", "price.amount", "price.currency", "build_tolerance.turns"]
        {
            assert!(marked(path), "{path}");
        }
        assert!(QUOTE_FIELDS.iter().all(|it| it.marked || !it.required) && !marked("winding.layers"));
    }

    #[test]
    fn every_field_is_a_key_of_a_spec_and_stands_there_once() {
        let schema = crate::files::spec::bench_schema();
        let resolved = |schema_of: &serde_json::Value| -> serde_json::Value {
            let pointer =
                schema_of.get("$ref").and_then(|it| it.as_str()).and_then(|it| it.strip_prefix('#'));
            pointer.and_then(|pointer| schema.pointer(pointer)).unwrap_or(schema_of).clone()
        };
        for field in QUOTE_FIELDS {
            let mut at = schema.clone();
            for key in field.path.split('.') {
                let branches = at.get("anyOf").and_then(|it| it.as_array()).cloned();
                let of =
                    |one: &serde_json::Value| resolved(one).pointer(&format!("/properties/{key}")).cloned();
                let found = branches.map_or_else(|| of(&at), |branches| branches.iter().find_map(of));
                at = resolved(&found.unwrap_or_else(|| panic!("{} is no key of a spec", field.path)));
            }
            assert_eq!(QUOTE_FIELDS.iter().filter(|it| it.path == field.path).count(), 1, "{}", field.path);
        }
    }
}
