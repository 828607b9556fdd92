//! A form for a document that people write, made from the document's JSON Schema. Titles, units, examples and help come
//! from the schema.

mod change;
mod schema;
mod values;

pub use change::{with_field, without_item};
pub use values::values;

use change::{is_usually_zero, zero_like};
use coilwright::Document;
use coilwright::files::spec;
use schema::{fixed_length, forms_of, list_in, meant, schema, single};
use serde_json::Value;
use std::hash::{DefaultHasher, Hash, Hasher};
use values::{part, shown};

/// Greatest depth of nested parts in a form.
const DEEPEST: usize = 6;

/// A part of a form: its fields and the parts nested in it.
pub struct Part {
    /// JSON pointer of the part.
    pub pointer: String,
    pub label: String,
    pub help: String,
    /// Whether the part is shown open, because the document has it or requires it.
    pub is_open: bool,
    needed: bool,
    /// The item of a list that the part shows and that may be removed.
    pub removes: Option<String>,
    pub fields: Vec<Field>,
    pub parts: Vec<Part>,
}

impl Part {
    /// The field of the value at this pointer.
    pub fn field(&self, pointer: &str) -> Option<&Field> {
        let own = self.fields.iter().find(|field| field.pointer == pointer);
        own.or_else(|| self.parts.iter().find_map(|part| part.field(pointer)))
    }

    /// The label of the value or the part that an error calls by this key. A key alone may be that of any part. `None`
    /// if there is no such key.
    fn label_of(&self, key: &str) -> Option<String> {
        let pointer = pointer_of(key)?;
        let label = |part: &Self| {
            let field = part.fields.iter().find(|field| field.pointer.ends_with(&pointer));
            let list = || {
                let first = format!("{pointer}/0");
                part.fields.iter().find(|field| field.pointer.ends_with(&first))
            };
            let whole = || {
                (!part.pointer.is_empty() && part.pointer.ends_with(&pointer))
                    .then(|| part.label.to_lowercase())
            };
            let name = |label: &str| label.split(", ").next().unwrap_or_default().to_owned();
            field.map(|field| field.label.clone()).or_else(|| list().map(|it| name(&it.label))).or_else(whole)
        };
        label(self).or_else(|| self.parts.iter().find_map(|part| part.label_of(key)))
    }

    /// A number that differs between forms with different fields. The order of the parts does not count.
    pub fn shape(&self) -> u64 {
        let mut hasher = DefaultHasher::new();
        (&self.pointer, &self.removes).hash(&mut hasher);
        self.fields.iter().for_each(|field| field.pointer.hash(&mut hasher));
        self.parts.iter().fold(hasher.finish(), |shape, part| shape ^ part.shape())
    }
}

/// A field of a form.
#[derive(Clone)]
pub struct Field {
    /// JSON pointer of the value.
    pub pointer: String,
    pub label: String,
    pub help: String,
    /// An example, shown as long as the field is empty.
    pub example: String,
    pub needed: bool,
    pub value: String,
    /// The allowed words if there are only a few, each with its help.
    pub choices: Vec<(String, String)>,
    /// Whether the value moves something in the picture and can therefore be dragged.
    pub drags: bool,
    /// The value from which an empty field is dragged. Empty if it is not.
    pub starts_from: String,
}

/// What the schema says about a single value.
struct Leaf<'a> {
    name: String,
    schema: &'a Value,
    of_use: &'a Value,
    needed: bool,
}

/// Makes the form for a document of this kind, filled with the values of the text.
pub fn form(kind: Document, text: &str) -> Part {
    let schema = schema(kind);
    let written = spec::loose_value(text).unwrap_or_default();
    Maker { root: schema, written: &written }.part("", "", schema, &Value::Null, true, 0)
}

/// Whether the fields of a form can be read from this text and written to it.
pub fn can_be_read(text: &str) -> bool {
    spec::loose_value(text).is_some_and(|written| written.is_object())
}

/// A sentence about a document with the keys of the file replaced by the labels of the form, and what was written in
/// quotation marks.
pub fn in_words(form: &Part, sentence: &str) -> String {
    let parts = sentence.split('`').enumerate().map(|(at, part)| match at % 2 {
        0 => part.to_owned(),
        _ => format!("“{}”", form.label_of(part).unwrap_or_else(|| part.to_owned())),
    });
    // An empty field is called so.
    parts.collect::<String>().replace("“”", "an empty field")
}

/// The JSON pointer of a key as errors write it: `tube.gun_exit[1]` is `/tube/gun_exit/1`. `None` if it is no key.
pub fn pointer_of(key: &str) -> Option<String> {
    let is_key = |it: char| it.is_ascii_lowercase() || it.is_ascii_digit() || "_.[]".contains(it);
    let is_one = key.starts_with(|it: char| it.is_ascii_lowercase()) && key.chars().all(is_key);
    is_one.then(|| format!("/{}", key.replace(['.', '['], "/").replace(']', "")))
}

struct Maker<'a> {
    root: &'a Value,
    written: &'a Value,
}

impl<'a> Maker<'a> {
    fn part(
        &self,
        pointer: &str,
        name: &str,
        schema: &'a Value,
        of_use: &'a Value,
        needed: bool,
        depth: usize,
    ) -> Part {
        let has_it = self.written.pointer(pointer).is_some_and(|it| !it.is_null());
        let mut made = Part {
            pointer: pointer.to_owned(),
            label: name.replace('_', " "),
            help: help(schema, of_use),
            is_open: needed || has_it,
            needed,
            removes: None,
            fields: Vec::new(),
            parts: Vec::new(),
        };
        for (key, used, needed) in self.properties(schema) {
            let schema = meant(self.root, used);
            let pointer = format!("{pointer}/{}", part(key));
            if depth >= DEEPEST {
                continue;
            }
            if forms_of(self.root, schema).iter().any(|form| form["properties"].is_object()) {
                made.parts.push(self.part(&pointer, key, schema, used, needed, depth + 1));
                continue;
            }
            let list = list_in(self.root, schema);
            if let Some(schema) = single(self.root, schema) {
                // Where a list may stand as well, the word is one way of several.
                let name = if list.is_some() { format!("{key}, in a word") } else { key.clone() };
                made.fields.push(self.field(pointer.clone(), &Leaf { name, schema, of_use: used, needed }));
            }
            if let Some(schema) = list {
                let is_needed = needed && single(self.root, schema).is_none();
                self.list(&pointer, key, schema, used, is_needed, depth, &mut made);
            }
        }
        // The title and required fields come first, then the schema's order.
        made.fields.sort_by_key(|field| (field.pointer != "/title", !field.needed));
        made.parts.sort_by_key(|part| (!part.needed, !part.is_open));
        made
    }

    /// The properties of an object. If it may have several forms: the properties of all forms.
    fn properties(&self, schema: &'a Value) -> Vec<(&'a String, &'a Value, bool)> {
        let forms: Vec<&Value> = match schema["anyOf"].as_array() {
            Some(forms) => forms.iter().map(|form| meant(self.root, form)).collect(),
            None => vec![schema],
        };
        let mut found: Vec<(&String, &Value, bool)> = Vec::new();
        for form in &forms {
            let required = |key: &str| {
                forms.len() == 1
                    && form["required"].as_array().is_some_and(|all| all.iter().any(|it| it == key))
            };
            for (key, value) in form["properties"].as_object().into_iter().flatten() {
                if found.iter().all(|(known, ..)| *known != key) {
                    found.push((key, value, required(key)));
                }
            }
        }
        found
    }

    #[allow(clippy::too_many_arguments)]
    fn list(
        &self,
        pointer: &str,
        key: &str,
        schema: &'a Value,
        used: &'a Value,
        needed: bool,
        depth: usize,
        made: &mut Part,
    ) {
        let items = meant(self.root, &schema["items"]);
        let written = self.written.pointer(pointer).and_then(Value::as_array).map_or(0, Vec::len);
        let most =
            schema["maxItems"].as_u64().and_then(|most| usize::try_from(most).ok()).unwrap_or(usize::MAX);
        if forms_of(self.root, items).iter().any(|form| form["properties"].is_object()) {
            // The items that exist, followed by a blank one.
            for place in 0..written.saturating_add(1).min(most) {
                let item_pointer = format!("{pointer}/{place}");
                let name =
                    if place < written { format!("{key} {}", place + 1) } else { format!("{key}, one more") };
                let mut item = self.part(&item_pointer, &name, items, used, false, depth + 1);
                item.is_open = place < written;
                item.removes = (place < written).then_some(item_pointer);
                made.parts.push(item);
            }
            return;
        }
        let names: Vec<String> = match fixed_length(schema) {
            Some(3) => ["x", "y", "z"].map(str::to_owned).into(),
            Some(2) if key.contains("tilt") => ["x", "y"].map(str::to_owned).into(),
            Some(2) if key.ends_with("_offset") => {
                ["value", "standard uncertainty"].map(str::to_owned).into()
            }
            Some(2) => ["least", "most"].map(str::to_owned).into(),
            Some(length) => (1..=length).map(|number| number.to_string()).collect(),
            // The values that exist, and a blank one to add another.
            None => (1..=written.saturating_add(1).min(most)).map(|number| number.to_string()).collect(),
        };
        for (place, name) in names.iter().enumerate() {
            let needed = needed && (fixed_length(schema).is_some() || place == 0);
            let leaf = Leaf { name: format!("{key}, {name}"), schema: items, of_use: used, needed };
            let mut field = self.field(format!("{pointer}/{place}"), &leaf);
            let examples = [&used["examples"][0][place], &schema["examples"][0][place]];
            let example = examples.into_iter().find(|example| !example.is_null());
            field.example = example.map_or(field.example, shown);
            if field.drags && field.value.is_empty() && is_usually_zero(key) {
                let zero = zero_like(None, schema);
                field.starts_from = shown(&zero);
            }
            made.fields.push(field);
        }
    }

    fn field(&self, pointer: String, leaf: &Leaf) -> Field {
        let Leaf { schema, of_use, .. } = leaf;
        let example = [&of_use["examples"][0], &schema["examples"][0]]
            .into_iter()
            .find(|it| !it.is_null() && !it.is_array());
        let mut choices: Vec<(String, String)> = schema["oneOf"]
            .as_array()
            .into_iter()
            .flatten()
            .map(|choice| {
                (
                    shown(&choice["const"]),
                    choice["description"].as_str().unwrap_or_default().replace('\n', " "),
                )
            })
            .collect();
        choices.extend(schema["enum"].as_array().into_iter().flatten().map(|it| (shown(it), String::new())));
        if schema["type"] == "boolean" {
            choices = ["true", "false"].map(|it| (it.to_owned(), String::new())).into();
        }
        Field {
            value: self.written.pointer(&pointer).map(shown).unwrap_or_default(),
            label: leaf.name.replace('_', " "),
            help: help(schema, of_use),
            example: example.map(shown).unwrap_or_default(),
            needed: leaf.needed,
            drags: drags(&pointer),
            starts_from: String::new(),
            choices,
            pointer,
        }
    }
}

/// A text with backquoted words put in quotation marks.
fn quoted(text: &str) -> String {
    let parts = text.split('`').enumerate();
    parts.map(|(at, part)| if at % 2 == 1 { format!("“{part}”") } else { part.to_owned() }).collect()
}

/// Whether this quantity moves something in the picture.
fn drags(pointer: &str) -> bool {
    let place = |within: &str| pointer.starts_with(within);
    let shape = ["/mean_radius", "/width", "/depth", "/turns"].iter().any(|end| pointer.ends_with(end));
    pointer == "/spacing"
        || (shape && (place("/winding/") || place("/as_built/")))
        || pointer.contains("/offset/")
        || pointer.contains("/tilt/")
        || place("/tube/bulb_radius")
        || place("/tube/beam_radius/")
        || place("/tube/gun_exit/")
}

/// The help of a property, preferably that of the place where it is used. Words of the file are put in quotation marks.
fn help(schema: &Value, of_use: &Value) -> String {
    let said = |it: &Value| it["description"].as_str().map(|text| quoted(&text.replace('\n', " ")));
    let mut help = said(of_use).or_else(|| said(schema)).unwrap_or_default();
    let ends = [
        ("minimum", "At least"),
        ("exclusiveMinimum", "More than"),
        ("maximum", "At most"),
        ("exclusiveMaximum", "Less than"),
    ];
    for (key, words) in ends {
        if schema["type"] == "number"
            && let Some(limit) = schema[key].as_number()
        {
            help = format!("{} {words} {}.", help.trim_end(), limit.to_string().trim_end_matches(".0"));
        }
    }
    help
}

#[cfg(test)]
mod tests {
    use super::change::is_within;
    use super::*;

    const BENCH: &str = include_str!("../../../coil-specs/window-bench.json");

    fn fields(part: &Part) -> Vec<&Field> {
        part.fields.iter().chain(part.parts.iter().flat_map(fields)).collect()
    }

    #[test]
    fn a_decimal_comma_in_a_field_with_a_number_is_a_point_and_elsewhere_stays() {
        let set = |pointer: &str, typed: &str| {
            values(&with_field(Document::Spec, "{}", pointer, typed).unwrap())[pointer].clone()
        };
        for (typed, wanted) in [
            ("16,5 cm", "16.5 cm"),
            ("-0,25 mm", "-0.25 mm"),
            // Thousands or thousandths: only the typist knows.
            ("1,650 mm", "1,650 mm"),
            ("1.650,5 mm", "1.650,5 mm"),
            ("16,5,2 cm", "16,5,2 cm"),
            (",5 cm", ",5 cm"),
        ] {
            assert_eq!(set("/spacing", typed), wanted);
        }
        assert_eq!(set("/winding/turns", "150,5"), "150.5");
        assert_eq!(set("/title", "16,5 cm"), "16,5 cm");
    }

    const EXAMPLES: [(Document, &str); 8] = [
        (Document::Spec, BENCH),
        (Document::Spec, include_str!("../../../coil-specs/quote-used.json")),
        (Document::Spec, include_str!("../../../lab-files/quote-unfinished.json")),
        (Document::Wishes, include_str!("../../../lab-files/lessons.json")),
        (Document::Measurements, include_str!("../../../lab-files/delivery.json")),
        (Document::Measurements, include_str!("../../../lab-files/cupboard-pair.json")),
        (Document::Measurements, include_str!("../../../lab-files/before-the-lesson.json")),
        (Document::SupplierLimits, include_str!("../../../lab-files/supplier-limits.json")),
    ];

    #[test]
    fn every_value_of_the_examples_stands_in_its_field() {
        for (kind, text) in EXAMPLES {
            let form = form(kind, text);
            for (pointer, value) in values(text) {
                let field = form.field(&pointer).unwrap_or_else(|| panic!("{pointer} has no field"));
                assert_eq!(field.value, value, "{pointer}");
            }
        }
    }

    #[test]
    fn a_new_value_in_any_field_changes_that_value_alone_and_the_old_one_brings_the_text_back() {
        for (kind, text) in EXAMPLES {
            let form = form(kind, text);
            let before = values(text);
            for field in fields(&form) {
                let new = field.choices.iter().map(|(name, _)| name).find(|name| **name != field.value);
                let new = new.map_or_else(|| format!("7{}", field.value), Clone::clone);
                let pointer = &field.pointer;
                let changed = with_field(kind, text, pointer, &new).unwrap_or_else(|| panic!("{pointer}"));
                let after = values(&changed);
                assert!(after.get(pointer).is_some_and(|it| is_same(it, &new)), "{pointer}: {changed}");
                // Places of a list that was not there come with the first of them, and a word gives way to a list.
                let list = pointer.rsplit_once('/').map_or("", |(list, _)| list);
                let is_new = |key: &str| !before.contains_key(key) && is_within(key, list);
                let is_way = |key: &str| is_within(pointer, key) || is_within(key, pointer);
                for (key, value) in &before {
                    assert!(
                        is_way(key) || after.get(key) == Some(value),
                        "{pointer} changes {key}: {changed}"
                    );
                }
                assert!(
                    after.keys().all(|key| before.contains_key(key) || is_way(key) || is_new(key)),
                    "{pointer}: {changed}"
                );
                let back = with_field(kind, &changed, pointer, &field.value).unwrap();
                // The number 6e-6 may come back as 0.000006.
                let is_number = field.value.parse::<f64>().is_ok();
                match before.contains_key(pointer) {
                    true if !is_number => assert_eq!(back, text, "{pointer}"),
                    true => assert!(is_same(&values(&back)[pointer], &field.value), "{pointer}: {back}"),
                    false => {
                        assert!(
                            values(&back).get(pointer).is_none_or(|it| !is_same(it, &new)),
                            "{pointer}: {back}"
                        )
                    }
                }
            }
        }
    }

    fn is_same(one: &str, other: &str) -> bool {
        one == other || one.parse::<f64>().is_ok_and(|one| other.parse() == Ok(one))
    }

    #[test]
    fn one_value_of_a_list_of_any_length_is_changed_added_and_removed() {
        let (kind, text) = EXAMPLES[3];
        let all = |text: &str| -> Vec<String> {
            let values = values(text);
            values
                .iter()
                .filter(|(key, _)| key.starts_with("/search/connection"))
                .map(|(_, value)| value.clone())
                .collect()
        };
        let set = |text: &str, place, value| {
            with_field(kind, text, &format!("/search/connection/{place}"), value).unwrap()
        };
        assert_eq!(all(&set(text, 0, "parallel")), ["parallel", "parallel"]);
        assert_eq!(all(&set(text, 0, "")), ["parallel"]);
        assert_eq!(all(&set(text, 2, "series")), ["series", "parallel", "series"]);
        assert!(all(&set(&set(text, 0, ""), 0, "")).is_empty());
        let rate = without_item(kind, text, "/purchase/rates/0").unwrap();
        assert!(!rate.contains("rates") && rate.contains("budget"), "{rate}");
        assert_eq!(without_item(kind, text, "/search/width/0"), None, "a list of two");
        // An item that is emptied field by field stays, so that none moves into its place while one types.
        let (kind, text) = EXAMPLES[4];
        let pointers = ["value", "uncertainty", "current", "current_uncertainty"];
        let emptied = pointers.iter().fold(text.to_owned(), |text, key| {
            with_field(kind, &text, &format!("/fields/0/{key}"), "").unwrap()
        });
        assert_eq!(values(&emptied)["/fields/1/value"], "1.6802 mT");
        let removed = without_item(kind, &emptied, "/fields/0").unwrap();
        assert_eq!(values(&removed)["/fields/0/value"], "1.6802 mT");
        assert_eq!(values(&removed).len(), values(text).len() - pointers.len());
    }

    #[test]
    fn a_word_gives_way_to_a_list_and_a_list_to_a_word() {
        let (kind, text) = EXAMPLES[3];
        let range = with_field(kind, text, "/search/spacing/1", "200 mm").unwrap();
        assert_eq!(values(&range)["/search/spacing/0"], "");
        let word = with_field(kind, &range, "/search/spacing", "radius").unwrap();
        assert_eq!(values(&word)["/search/spacing"], "radius");
        let wires = with_field(kind, text, "/search/wires/0/size", "0.9 mm").unwrap();
        assert!(wires.contains("\"wires\": [") && !wires.contains("stock"), "{wires}");
        assert_eq!(with_field(kind, text, "/search/wires/0/size", "").as_deref(), Some(text));
    }

    #[test]
    fn a_comment_costs_no_value_and_a_text_that_cannot_be_read_is_left_alone() {
        let text = BENCH.replacen('\n', "\n  // as measured in spring\n", 1);
        assert_eq!(values(&text), values(BENCH));
        let set = with_field(Document::Spec, &text, "/tube/gun_exit/0", "45 mm").unwrap();
        assert_eq!(
            values(&set),
            values(&with_field(Document::Spec, BENCH, "/tube/gun_exit/0", "45 mm").unwrap())
        );
        assert!(set.contains("// as measured in spring"));
        for broken in ["{ \"title\": \"x\",", "[1]", "", "title: x"] {
            assert!(!can_be_read(broken), "{broken}");
            assert_eq!(with_field(Document::Spec, broken, "/spacing", "1 mm"), None, "{broken}");
        }
        // What stands in the way of a value is not overwritten by it.
        assert_eq!(with_field(Document::Spec, "{ \"spacing\": { \"a\": 1 } }", "/spacing", "1 mm"), None);
        assert_eq!(with_field(Document::Spec, "{ \"winding\": 3 }", "/winding/turns", "1"), None);
    }

    #[test]
    fn a_field_typed_as_it_stands_changes_nothing_and_a_new_one_is_right() {
        let form = form(Document::Spec, BENCH);
        for field in fields(&form).iter().filter(|field| !field.value.is_empty()) {
            let same = with_field(Document::Spec, BENCH, &field.pointer, &field.value).unwrap();
            assert_eq!(values(&same), values(BENCH), "{}", field.pointer);
        }
        let set = with_field(Document::Spec, BENCH, "/as_built/b/tilt/0", "0.1 deg").unwrap();
        let set = with_field(Document::Spec, &set, "/as_built/b/tilt/1", "0 deg").unwrap();
        assert!(spec::check_document_text("pair.json", &set).is_ok(), "{set}");
        let set = with_field(Document::Spec, BENCH, "/winding/turns", "151.5").unwrap();
        assert!(set.contains("151.5") && !set.contains("\"151.5\""), "{set}");
        assert_eq!(with_field(Document::Spec, BENCH, "/no/such", "1"), None);
    }

    #[test]
    fn a_place_of_a_list_is_cleared_and_typed_anew_and_its_neighbours_stay() {
        let typed = |text: &str, value| with_field(Document::Spec, text, "/tube/gun_exit/0", value).unwrap();
        let before = values(BENCH);
        let cleared = typed(BENCH, "");
        assert_eq!(values(&cleared)["/tube/gun_exit/0"], "");
        assert_eq!(values(&cleared)["/tube/gun_exit/1"], before["/tube/gun_exit/1"]);
        assert!(spec::check_document_text("pair.json", &cleared).is_err());
        assert_eq!(values(&typed(&cleared, &before["/tube/gun_exit/0"])), before);
        // A list of measured values appears with its first one, and nothing is invented beside it.
        let set = with_field(Document::Spec, "{}", "/room/field/1", "-40 uT").unwrap();
        assert_eq!(values(&set)["/room/field/0"], "");
        assert!(values(&with_field(Document::Spec, &set, "/room/field/1", "").unwrap()).is_empty());
    }

    #[test]
    fn an_offset_or_a_tilt_is_zero_in_the_places_that_are_not_typed() {
        let place = |text: &str, at: usize| values(text).get(&format!("/as_built/a/offset/{at}")).cloned();
        let set = with_field(Document::Spec, "{}", "/as_built/a/offset/1", "0,04 cm").unwrap();
        assert_eq!([0, 1, 2].map(|at| place(&set, at).unwrap()), ["0 cm", "0.04 cm", "0 cm"]);
        let cleared = with_field(Document::Spec, &set, "/as_built/a/offset/1", "").unwrap();
        assert!(values(&cleared).is_empty(), "{cleared}");
        let two = with_field(Document::Spec, &set, "/as_built/a/offset/2", "1 mm").unwrap();
        let cleared = with_field(Document::Spec, &two, "/as_built/a/offset/1", "").unwrap();
        assert_eq!([0, 1, 2].map(|at| place(&cleared, at).unwrap()), ["0 cm", "0 cm", "1 mm"]);
        let blank = form(Document::Spec, "{}");
        assert_eq!(blank.field("/as_built/b/tilt/0").unwrap().starts_from, "0 deg");
        assert_eq!(blank.field("/as_built/b/mean_radius").unwrap().starts_from, "");
        let whole = with_field(Document::Spec, BENCH, "/as_built/b/tilt/0", "0.3 deg").unwrap();
        assert!(spec::check_document_text("pair.json", &whole).is_ok(), "{whole}");
    }

    #[test]
    fn an_error_is_told_in_the_labels_of_the_form() {
        let form = form(Document::Spec, BENCH);
        for (said, wanted) in [
            ("`winding.mean_radius`: `151.5 x` has no unit", "“mean radius”: “151.5 x” has no unit"),
            ("`tube.gun_exit[1]`: `` is not a length", "“gun exit, y”: an empty field is not a length"),
            ("`tube.gun_voltage` goes from 300 V down", "“gun voltage” goes from 300 V down"),
            (
                "`size` does not go with the other keys of `winding.wire`",
                "“size” does not go with the other keys of “wire”",
            ),
            ("`as_built.a.offset[0]`: `9` has no unit", "“offset, x”: “9” has no unit"),
            ("such as `0.9 mm`", "such as “0.9 mm”"),
        ] {
            assert_eq!(in_words(&form, said), wanted);
        }
        let turns = form.field("/winding/surface_emissivity").unwrap();
        assert!(turns.help.ends_with("At least 0. At most 1."), "{}", turns.help);
    }

    #[test]
    fn nothing_that_is_typed_is_taken_for_a_place_of_the_text() {
        for pointer in ["/tube/gun_exit/7", "/winding/turns/0", "//", "/~2", "/as_built/99999999/x"] {
            assert_eq!(with_field(Document::Spec, BENCH, pointer, "1 mm"), None, "{pointer}");
        }
    }
}
