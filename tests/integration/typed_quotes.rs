//! Quote forms as people type into them.

use crate::program::{json, run, text};
use coilwright::files::spec::{Meanings, QUOTE_COLUMNS, QUOTE_FIELDS, Quote, read_quote};
use rust_xlsxwriter::{Format, Workbook};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::PathBuf;
use tempfile::TempDir;

/// What stands in a cell.
#[derive(Clone, Copy)]
enum Cell {
    Text(&'static str),
    Number(f64),
    /// A number in this format.
    Shown(f64, &'static str),
}
use Cell::{Number, Shown, Text};

/// The column of values, units and notes of the form.
const VALUE: u16 = 1;
const UNIT: u16 = 2;
const NOTE: u16 = 3;
const NAME: u16 = 4;

/// A form with a sound offer that passes the lessons, in which cells are changed.
struct Form {
    cells: BTreeMap<(u32, u16), Cell>,
}

fn row_of(path: &str) -> u32 {
    2 + QUOTE_FIELDS.iter().position(|field| field.path == path).unwrap() as u32
}

impl Form {
    fn sound() -> Self {
        let values = [
            ("title", Text("Alder Coils 160")),
            ("spacing", Number(158.0)),
            ("connection", Text("parallel")),
            ("axis", Text("horizontal")),
            ("leads.resistance", Number(0.08)),
            ("winding.mean_radius", Number(158.0)),
            ("winding.width", Number(20.0)),
            ("winding.depth", Number(9.6)),
            ("winding.turns", Number(300.0)),
            ("winding.turns_per_layer", Number(25.0)),
            ("winding.packing", Text("square")),
            ("winding.filling", Text("varnish")),
            ("winding.surface_emissivity", Number(0.85)),
            ("winding.wire.size", Text("0.71 mm")),
            ("winding.wire.build", Text("grade 2")),
            ("winding.wire.conductor", Text("copper")),
            ("winding.wire.thermal_class", Number(155.0)),
            ("former.material", Text("acrylic")),
            ("former.wall", Number(4.0)),
            ("former.cheeks", Text("both")),
            ("build_tolerance.mean_radius", Number(0.3)),
            ("build_tolerance.spacing", Number(0.4)),
            ("build_tolerance.turns", Number(1.0)),
            ("build_tolerance.width", Number(0.3)),
            ("build_tolerance.depth", Number(0.3)),
            ("build_tolerance.offset", Number(0.4)),
            ("build_tolerance.tilt", Number(0.2)),
            ("build_tolerance.distribution", Text("rectangular")),
            ("stated.largest_field", Number(2.39)),
            ("stated.largest_field_current", Number(2.8)),
            ("stated.insulation_test_voltage", Number(500.0)),
            ("stated.insulation_resistance", Number(100.0)),
            ("stated.terminals", Text("4 mm sockets, safe to touch")),
            ("stated.held_by", Text("four spacer tubes")),
            ("stated.standards", Text("IEC 60317-20, IEC 61010-1")),
            ("price.amount", Number(385.0)),
            ("price.currency", Text("EUR")),
            ("price.carriage", Number(22.0)),
            ("price.tax_rate", Number(19.0)),
            ("price.delivery", Text("6 weeks")),
            ("price.warranty", Text("24 months")),
            ("price.valid_until", Text("2027-03-31")),
        ];
        let mut cells = BTreeMap::new();
        for (column, heading) in (0..).zip(QUOTE_COLUMNS) {
            cells.insert((1, column), Text(heading));
        }
        let kept = |text: String| Text(Box::leak(text.into_boxed_str()));
        for (row, field) in (2..).zip(QUOTE_FIELDS) {
            cells.insert((row, 0), kept(field.form_label()));
            cells.insert((row, UNIT), Text(field.form_unit()));
            cells.insert((row, NOTE), kept(field.form_note()));
            cells.insert((row, 4), Text(field.path));
        }
        cells.extend(values.map(|(path, value)| ((row_of(path), VALUE), value)));
        Self { cells }
    }

    fn with(self, path: &str, value: Cell) -> Self {
        self.cell(row_of(path), VALUE, value)
    }

    fn cell(mut self, row: u32, column: u16, value: Cell) -> Self {
        self.cells.insert((row, column), value);
        self
    }

    fn without(mut self, path: &str) -> Self {
        self.cells.remove(&(row_of(path), VALUE));
        self
    }

    fn saved(&self) -> Saved {
        let mut workbook = Workbook::new();
        let sheet = workbook.add_worksheet();
        for ((row, column), cell) in &self.cells {
            match cell {
                Text(text) => drop(sheet.write_string(*row, *column, *text).unwrap()),
                Number(number) => drop(sheet.write_number(*row, *column, *number).unwrap()),
                Shown(number, format) => {
                    let format = Format::new().set_num_format(*format);
                    sheet.write_number_with_format(*row, *column, *number, &format).unwrap();
                }
            }
        }
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("offer.xlsx");
        workbook.save(&path).unwrap();
        Saved { path, _folder: folder }
    }

    fn quote(&self) -> Quote {
        read_quote(&self.saved().path).unwrap()
    }

    /// The record against the lessons.
    fn record(&self) -> Value {
        self.saved().record(&[])
    }

    /// The page against the lessons.
    fn page(&self) -> String {
        let saved = self.saved();
        text(&["compare", saved.name(), "--needs", &lessons()])
    }
}

/// A form in a folder.
struct Saved {
    path: PathBuf,
    _folder: TempDir,
}

impl Saved {
    fn name(&self) -> &str {
        self.path.to_str().unwrap()
    }

    fn record(&self, more: &[&str]) -> Value {
        json(&[&["compare", self.name(), "--needs", &lessons(), "--json"], more].concat())
    }
}

fn lessons() -> String {
    format!("{}/lab-files/lessons.json", env!("CARGO_MANIFEST_DIR"))
}

/// The words of a page in one line, because long sentences are broken.
fn in_one_line(page: &str) -> String {
    page.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn asked(record: &Value) -> Vec<&str> {
    let questions = record["options"][0]["questions"].as_array().unwrap();
    questions.iter().map(|it| it["question"].as_str().unwrap()).collect()
}

#[test]
fn a_sound_form_passes_and_is_asked_nothing() {
    let record = Form::sound().record();
    assert_eq!(record["options"][0]["verdict"], "passes", "{record}");
    assert_eq!(asked(&record), Vec::<&str>::new());
    // (385 + 22) × 1.19.
    assert!((record["options"][0]["cost"].as_f64().unwrap() - 484.33).abs() < 1e-9);
}

#[test]
fn a_tax_rate_below_one_percent_is_asked_about_and_leaves_the_cost_open() {
    for (cell, written) in
        [(Number(0.19), "0.19 %"), (Text("0,19"), "0.19 %"), (Shown(0.0019, "0.00%"), "0.19 %")]
    {
        let form = Form::sound().with("price.tax_rate", cell);
        let quote = form.quote();
        assert_eq!(quote.offer.tax_fraction, None);
        let Meanings::TaxRate { in_percent, as_fraction } = quote.doubts[0].meanings else { panic!() };
        assert!((in_percent - 0.0019).abs() < 1e-12 && (as_fraction - 0.19).abs() < 1e-12);
        assert_eq!(quote.doubts[0].text, written);
        let record = form.record();
        assert_eq!(asked(&record), ["doubt"]);
        assert_eq!(record["options"][0]["verdict"], "undecided");
        let page = in_one_line(&form.page());
        assert!(page.contains("The tax rate is written as 0.19 %: is it 19 % or 0.19 %?"), "{page}");
        assert!(page.contains("cost: at least 407.00 EUR, decided by the answer about tax"), "{page}");
    }
    for (cell, rate) in [(Shown(0.19, "0%"), 0.19), (Number(0.0), 0.0), (Text("19 %"), 0.19)] {
        let quote = Form::sound().with("price.tax_rate", cell).quote();
        assert!((quote.offer.tax_fraction.unwrap() - rate).abs() < 1e-12 && quote.doubts.is_empty());
    }
}

#[test]
fn a_price_with_one_mark_before_three_digits_is_asked_about_and_never_the_cheapest() {
    for cell in [Text("1.385"), Text("1,385"), Number(1.385), Text("€ 1.385")] {
        let form = Form::sound().with("price.amount", cell);
        let quote = form.quote();
        assert_eq!((quote.offer.amount, quote.doubts.len()), (None, 1));
        let cheap = form.saved();
        let dear = Form::sound().with("price.amount", Number(390.0)).saved();
        let needs = lessons();
        let record = json(&["compare", cheap.name(), dear.name(), "--needs", &needs, "--json"]);
        assert_ne!(record["cheapest_that_passes"], "offer", "{record}");
        let page = in_one_line(&form.page());
        assert!(page.contains("is it 1385 or 1.385?"), "{page}");
        assert!(page.contains("cost: not known, decided by the answer about the price"), "{page}");
        assert!(page.contains("the price of offer is not clear") && !page.contains("no price is stated"));
    }
    for (text, amount) in [
        ("1.385,00", 1385.0),
        ("1,385.00", 1385.0),
        ("385.50", 385.5),
        ("385,00", 385.0),
        ("1 385,-", 1385.0),
    ] {
        assert_eq!(
            Form::sound().with("price.amount", Text(text)).quote().offer.amount,
            Some(amount),
            "{text}"
        );
    }
    assert!(Form::sound().with("winding.turns", Text("1.300")).quote().doubts[0].key == "winding.turns");
}

#[test]
fn a_currency_beside_an_amount_is_read_and_held_against_the_stated_one() {
    for cell in [Text("385 EUR"), Text("€ 385,00"), Shown(385.0, "#,##0.00 \"€\""), Text("385 Euro")] {
        let quote = Form::sound().with("price.amount", cell).quote();
        assert_eq!((quote.offer.amount, quote.doubts.len(), quote.unreadable.len()), (Some(385.0), 0, 0));
        let alone = Form::sound().with("price.amount", cell).without("price.currency").quote();
        assert_eq!(alone.offer.currency.as_deref(), Some("EUR"));
    }
    for cell in
        [Shown(385.0, "[$$-409]#,##0.00"), Text("385 USD"), Text("$385"), Shown(385.0, "[$£-809]0.00")]
    {
        let form = Form::sound().with("price.amount", cell);
        let quote = form.quote();
        assert_eq!((quote.offer.amount, &quote.offer.currency), (Some(385.0), &None));
        assert!(matches!(&quote.doubts[0].meanings, Meanings::Currencies { stated, .. } if stated == "EUR"));
        let page = in_one_line(&form.page());
        assert!(page.contains("the currency is stated as EUR: in which currency are the prices?"), "{page}");
        assert!(page.contains("cost: not known, decided by the answer about the currency"), "{page}");
    }
    // One sign of several currencies tells nothing without a statement, and agrees with each of them.
    let dollars = Form::sound().with("price.amount", Text("$385"));
    assert_eq!(dollars.without("price.currency").quote().offer.currency, None);
    let quote = Form::sound().with("price.amount", Text("$385")).with("price.currency", Text("usd")).quote();
    assert_eq!(quote.offer.currency.as_deref(), Some("USD"));
}

#[test]
fn the_verdict_names_the_terms_that_leave_the_cost_open() {
    let of = |form: Form| in_one_line(&form.page());
    let page = of(Form::sound().without("price.carriage").without("price.tax_rate"));
    assert!(
        page.contains("cost: at least 385.00 EUR, decided by the answer about carriage and tax"),
        "{page}"
    );
    let page = of(Form::sound().with("price.tax_rate", Text("as usual")));
    assert!(page.contains("cost: at least 407.00 EUR, decided by the answer about tax"), "{page}");
    let page = of(Form::sound().without("price.amount"));
    assert!(page.contains("cost: not known, decided by the answer about the price"), "{page}");
    let page = of(Form::sound().with("price.currency", Text("CHF")));
    let wanted = "cost: not known, decided by the rate of CHF, which the wishes do not state";
    assert!(page.contains(wanted), "{page}");
    let page = of(Form::sound().without("price.delivery"));
    assert!(page.contains("delivery: not known, decided by the answer about the time of delivery"), "{page}");
    let record = Form::sound().with("price.currency", Text("CHF")).without("price.tax_rate").record();
    let cost = record["needs"].as_array().unwrap().iter().find(|need| need["name"] == "cost").unwrap();
    assert_eq!(
        cost["results"][0]["open_terms"],
        serde_json::json!([{ "term": "rate", "currency": "CHF" }, { "term": "tax" }])
    );
}

/// The row below the last of the form.
const BELOW: u32 = 2 + QUOTE_FIELDS.len() as u32 + 1;

#[test]
fn a_remark_in_a_row_of_its_own_is_kept_and_told_and_stops_nothing() {
    let advance = "We need 50 % payment in advance";
    let forms = [
        Form::sound().cell(BELOW, 0, Text(advance)),
        Form::sound().cell(BELOW, 4, Text(advance)),
        Form::sound().cell(BELOW, 7, Text(advance)),
    ];
    for form in forms {
        let quote = form.quote();
        assert_eq!(quote.remarks.len(), 1);
        assert_eq!((quote.remarks[0].text.as_str(), &quote.remarks[0].key), (advance, &None));
        let page = in_one_line(&form.page());
        assert!(page.contains("offer passes; smallest margin:"), "{page}");
        assert_eq!(page.matches(advance).count(), 2, "beside the verdict and by itself: {page}");
        assert!(page.contains("484.33 EUR, unless the remark of its supplier changes that"), "{page}");
    }
    let form = Form::sound().cell(BELOW, 0, Text("Discount")).cell(BELOW, 1, Shown(0.05, "0%"));
    assert_eq!(form.quote().remarks[0].text, "Discount; 5 %");
    let record = form.record();
    assert_eq!(record["options"][0]["remarks"][0]["text"], "Discount; 5 %");
    assert_eq!(asked(&record), Vec::<&str>::new());
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    form.saved().record(&["--out", out.to_str().unwrap()]);
    let page = std::fs::read_to_string(out.join("compare.html")).unwrap();
    assert_eq!(page.matches("Discount; 5\u{a0}%").count(), 2, "beside the verdict and by itself");
    let cells = crate::outputs::workbook::cells_as_text(&std::fs::read(out.join("compare.xlsx")).unwrap());
    assert!(cells.contains("Discount; 5 %"), "{cells}");
}

#[test]
fn a_form_without_its_names_says_so_and_which() {
    let mut nameless = Form::sound();
    for (row, _) in (2..).zip(QUOTE_FIELDS) {
        nameless.cells.remove(&(row, 4));
    }
    let saved = nameless.saved();
    let error = read_quote(&saved.path).unwrap_err();
    assert!(error.to_string().contains("`Pair: name of the quote` is not there"), "{error}");
    let mut one = Form::sound();
    one.cells.remove(&(row_of("winding.turns"), 4));
    let saved = one.saved();
    let error = read_quote(&saved.path).unwrap_err();
    assert!(
        error.to_string().contains("the name of the row `Winding of one coil: turns` is not there"),
        "{error}"
    );
    assert!(error.hint().unwrap().contains("write `winding.turns` there again"));
    let path = saved.path.with_extension("csv");
    std::fs::write(&path, "label;value;unit;note;name\nspacing;158;mm;;\nturns;300;;;\n").unwrap();
    let error = read_quote(&path).unwrap_err();
    assert!(error.to_string().contains("none of its rows has the name of a field"), "{error}");
    std::fs::write(&path, "name;value;unit\nspacing;158;mm\nOnly together with the tube\n").unwrap();
    assert_eq!(read_quote(&path).unwrap().remarks[0].text, "Only together with the tube");
}

#[test]
fn what_a_supplier_writes_beside_a_field_is_told_with_the_verdict_and_asked_about() {
    let note = "per coil; a pair needs two";
    let own = "needed: without carriage and tax";
    for text in [note.to_owned(), format!("{own} - {note}")] {
        let text: &'static str = Box::leak(text.into_boxed_str());
        let form = Form::sound().cell(row_of("price.amount"), NOTE, Text(text));
        let record = form.record();
        assert_eq!(asked(&record), ["remark"]);
        let remark = &record["options"][0]["remarks"][0];
        assert_eq!((&remark["text"], &remark["key"]), (&note.into(), &"price.amount".into()));
        let page = in_one_line(&form.page());
        let wanted = "is 385 the price of the whole pair, both coils together, or what does that cost?";
        assert!(page.contains(wanted), "{page}");
        let wanted = "BUT its supplier wrote \u{201c}per coil; a pair needs two\u{201d} beside \u{201c}price of the pair\u{201d}";
        assert!(page.contains(wanted), "{page}");
    }
    // In the column of units, in the label, and beyond the columns.
    let rows = [
        (row_of("winding.wire.size"), UNIT, "or thicker"),
        (row_of("spacing"), 5, "adjustable"),
        (row_of("spacing"), 0, "Pair: spacing (adjustable)"),
    ];
    for (row, column, text) in rows {
        let quote = Form::sound().cell(row, column, Text(text)).quote();
        assert_eq!(quote.remarks.len(), 1, "{text}");
        assert!(quote.remarks[0].key.is_some() && text.contains(&quote.remarks[0].text));
    }
    let form = Form::sound().without("spacing").cell(row_of("spacing"), NOTE, Text("you choose"));
    let page = in_one_line(&form.page());
    assert!(page.contains("beside \u{201c}spacing\u{201d} and no value: which value holds?"), "{page}");
}

#[test]
fn a_wire_stated_by_size_and_by_diameters_is_one_wire_or_a_plain_question() {
    let stated = |bare: f64, overall: f64| {
        Form::sound()
            .with("winding.wire.bare_diameter", Number(bare))
            .with("winding.wire.overall_diameter", Number(overall))
    };
    let quote = stated(0.71, 0.785).quote();
    assert!(quote.gaps.is_empty() && quote.doubts.is_empty(), "{:?}", quote.doubts);
    assert_eq!(quote.winding.wires[0].name.as_deref(), Some("0.71 mm grade 2"));
    let quote = stated(0.71, 0.78).without("winding.wire.build").quote();
    assert!(quote.gaps.is_empty() && (quote.winding.wires[0].overall_diameter_m - 0.78e-3).abs() < 1e-12);
    for (bare, overall) in [(1.2, 1.3), (0.71, 0.72), (0.71, 0.9)] {
        let form = stated(bare, overall);
        let quote = form.quote();
        assert!(matches!(quote.doubts[0].meanings, Meanings::WireTwice { .. }), "{bare} {overall}");
        assert_eq!((quote.gaps.len(), quote.winding.wires.len()), (1, 2));
        let record = form.record();
        assert_eq!(record["options"][0]["verdict"], "doubtful", "{bare} {overall}");
        assert_eq!(asked(&record).iter().filter(|it| **it != "impossible").count(), 1, "{record}");
    }
    let page = in_one_line(&stated(0.65, 0.72).page());
    let wanted = "The wire is stated as 0.71 mm grade 2 and as 0.650 mm bare and 0.720 mm over the enamel, which is another \
                  wire: which of the two is used?";
    assert!(page.contains(wanted) && !page.contains("either"), "{page}");
    // A diameter alone is held against the size as well.
    let quote = Form::sound().with("winding.wire.bare_diameter", Number(0.9)).quote();
    assert_eq!(quote.doubts.len(), 1);
}

#[test]
fn a_field_in_two_rows_with_unlike_values_is_asked_about_and_the_quote_is_undecided() {
    let row = QUOTE_FIELDS.len() as u32 + 4;
    let twice = |value: f64| {
        let form = Form::sound().cell(row, 0, Text("mean radius")).cell(row, VALUE, Number(value));
        form.cell(row, UNIT, Text("mm")).cell(row, NAME, Text("winding.mean_radius"))
    };
    let record = twice(500.0).record();
    assert_eq!(record["options"][0]["verdict"], "doubtful", "{record}");
    assert!(asked(&record).contains(&"doubt"), "{record}");
    let page = in_one_line(&twice(500.0).page());
    assert!(page.contains("stands in the form more than once, as “158 mm” and as “500 mm”"), "{page}");
    // The same value twice is no question.
    assert_eq!(twice(158.0).record()["options"][0]["verdict"], "passes");
}

#[test]
fn a_value_that_cannot_be_read_is_asked_about_in_json_as_in_a_form() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("offer.json");
    let text = include_str!("../../coil-specs/quote-thick.json");
    let mut keys: Value = serde_json::from_str(text).unwrap();
    keys["stated"] = serde_json::json!({ "resistance": "about 6 ohm" });
    keys["winding"]["turns"] = Value::from("many");
    std::fs::write(&path, keys.to_string()).unwrap();
    let quote = read_quote(&path).unwrap();
    let texts: Vec<&str> = quote.unreadable.iter().map(|it| it.text.as_str()).collect();
    assert!(texts.contains(&"about 6 ohm") && texts.contains(&"many"), "{:?}", quote.unreadable);
    // A key that no quote has is a slip of whoever made the file.
    keys["winding"]["tunrs"] = Value::from(12);
    std::fs::write(&path, keys.to_string()).unwrap();
    assert!(read_quote(&path).is_err());
}

#[test]
fn an_ordinary_spec_with_a_wire_stated_twice_gets_a_whole_hint() {
    let twice = r#"{ "title": "T", "spacing": "150 mm", "winding": { "mean_radius": "150 mm", "width": "17 mm", "depth": "9.5 mm",
        "turns": 136, "wire": { "size": "x", "build": "grade 2", "bare_diameter": "0.9 mm", "overall_diameter": "1 mm" } } }"#;
    let wanted = "give either `bare_diameter` and `overall_diameter`, or `size` and `build`";
    for error in [
        coilwright::files::spec::bench_from_text("t.json", twice).unwrap_err(),
        coilwright::files::spec::quote_from_text("t.json", twice).unwrap_err(),
    ] {
        let coilwright::Error::Diagnosed { diagnosis, .. } = &error else { panic!("{error}") };
        assert!(diagnosis.draw(false).contains(wanted), "{}", diagnosis.draw(false));
    }
}

#[test]
fn ordinary_typing_is_read_and_asked_nothing() {
    let forms = [
        ("connection", Text("Parallel")),
        ("connection", Text("in parallel")),
        ("price.currency", Text("eur")),
        ("price.currency", Text("Euro")),
        ("build_tolerance.mean_radius", Text("± 0.3")),
        ("build_tolerance.mean_radius", Text("+/-0,3 mm")),
        ("build_tolerance.turns", Text("+/-1")),
        ("build_tolerance.turns", Text("+-1")),
        ("winding.wire.thermal_class", Text("F")),
        ("winding.wire.thermal_class", Text("class F (155 °C)")),
        ("price.delivery", Text("6 Weeks after order")),
        ("price.valid_until", Text("31.3.2027")),
        ("price.valid_until", Text("31 March 2027")),
        ("winding.wire.build", Text("Grade 2")),
        ("winding.wire.conductor", Text("Copper")),
        ("winding.wire.size", Text("0,71")),
    ];
    let mut sound = Form::sound().record();
    let digest = |record: &mut Value| record["options"][0].as_object_mut().unwrap().remove("digest");
    digest(&mut sound);
    for (path, cell) in forms {
        let mut record = Form::sound().with(path, cell).record();
        digest(&mut record);
        assert_eq!(record, sound, "{path}");
    }
    // Merged with the cell of the unit, or typed into it.
    let unitless = [row_of("winding.mean_radius"), row_of("build_tolerance.tilt"), row_of("price.tax_rate")];
    for row in unitless {
        let mut form = Form::sound();
        form.cells.remove(&(row, UNIT));
        let mut record = form.record();
        digest(&mut record);
        assert_eq!(record, sound);
    }
    let moved = Form::sound().without("winding.depth").cell(row_of("winding.depth"), UNIT, Text("9.6 mm"));
    let mut record = moved.record();
    digest(&mut record);
    assert_eq!(record, sound);
}

#[test]
fn what_ordinary_typing_leaves_open_is_asked_in_words_without_keys() {
    for (path, text) in [
        ("connection", "series or parallel"),
        ("winding.wire.thermal_class", "F (180)"),
        ("price.valid_until", "3/4/2027"),
        ("price.delivery", "soon"),
        ("winding.mean_radius", "Ø 316 mm"),
        ("winding.turns", "approx. 300"),
        ("price.amount", "385 per coil"),
    ] {
        let form = Form::sound().with(path, Text(text));
        let quote = form.quote();
        assert_eq!(quote.unreadable.len(), 1, "{text}");
        let Some(unreadable) = quote.unreadable.first() else { panic!("{text}") };
        assert_eq!((unreadable.key.as_str(), unreadable.text.as_str()), (path, text));
        assert!(!unreadable.problem.contains(path), "{}", unreadable.problem);
    }
}

#[test]
fn a_delivery_from_one_time_to_another_is_in_time_if_the_longer_is_and_late_if_the_shorter_is() {
    let of = |text| {
        let record = Form::sound().with("price.delivery", Text(text)).record();
        let need =
            record["needs"].as_array().unwrap().iter().find(|need| need["name"] == "delivery").unwrap();
        (need["results"][0]["verdict"].as_str().unwrap().to_owned(), record)
    };
    // Twelve weeks are needed.
    let (verdict, record) = of("6-8 weeks");
    assert_eq!((verdict.as_str(), asked(&record)), ("met", vec![]));
    assert_eq!(record["options"][0]["delivery_days"], 56.0);
    let (verdict, record) = of("10 to 14 weeks");
    assert_eq!((verdict.as_str(), asked(&record)), ("too_close_to_tell", vec!["guarantee"]));
    assert_eq!(record["options"][0]["shortest_delivery_days"], 70.0);
    let page = in_one_line(&Form::sound().with("price.delivery", Text("10 - 14 weeks")).page());
    assert!(
        page.contains("stated 10 weeks to 14 weeks, needed at most 12 weeks; what is guaranteed?"),
        "{page}"
    );
    let (verdict, _) = of("13-14 weeks");
    assert_eq!(verdict, "missed");
}

#[test]
fn the_two_coils_are_named_where_both_contradict_the_quote() {
    let form = Form::sound().with("as_built.a.turns", Number(200.0)).with("as_built.b.turns", Number(210.0));
    let page = in_one_line(&form.page());
    for (coil, turns) in [("a", "200"), ("b", "210")] {
        let wanted = format!("The number of turns of a finished coil (coil {coil}) is stated as {turns},");
        assert!(page.contains(&wanted), "{page}");
    }
}

#[test]
fn what_a_form_leaves_blank_is_asked_where_a_need_or_the_order_rests_on_it() {
    let blank = Form::sound()
        .without("leads.resistance")
        .without("winding.filling")
        .without("winding.wire.thermal_class")
        .without("former.material")
        .without("former.wall")
        .without("former.cheeks");
    let record = blank.record();
    let questions = record["options"][0]["questions"].as_array().unwrap();
    let asked: Vec<&str> = questions.iter().filter_map(|it| it["blank"].as_str()).collect();
    let wanted = ["leads.resistance", "winding.filling", "winding.wire.thermal_class", "former.material"];
    assert_eq!(asked, wanted, "{questions:?}");
    let folder = tempfile::tempdir().unwrap();
    let needs = folder.path().join("needs.json");
    std::fs::write(&needs, r#"{ "title": "Field alone", "largest_field": "1 mT", "beam_deviation": "2 %" }"#)
        .unwrap();
    let record = json(&["compare", blank.saved().name(), "--needs", needs.to_str().unwrap(), "--json"]);
    let questions = record["options"][0]["questions"].as_array().unwrap();
    assert!(questions.iter().all(|it| it["question"] != "left_blank"), "{questions:?}");
}

#[test]
fn a_pair_of_another_size_than_the_wishes_allow_fails() {
    // The lessons allow a mean radius from 135 to 200 mm and a width from 12 to 36 mm.
    let record = Form::sound().record();
    assert_eq!(record["options"][0]["verdict"], "passes");
    let verdict = |record: &Value, need: &str| {
        let needs = record["needs"].as_array().unwrap();
        let found = needs.iter().find(|it| it["name"] == need).unwrap();
        found["results"][0]["verdict"].as_str().unwrap().to_owned()
    };
    assert_eq!(verdict(&record, "section width"), "met");
    let wide = Form::sound()
        .with("winding.width", Number(41.0))
        .with("winding.depth", Number(5.0))
        .with("winding.turns_per_layer", Number(50.0))
        .record();
    assert_eq!(verdict(&wide, "section width"), "missed");
    assert_eq!(wide["options"][0]["verdict"], "fails");
    let large = Form::sound().with("winding.mean_radius", Number(205.0)).page();
    assert!(
        large.contains("FAILS: ") && large.contains("mean radius (205 mm, needed 135 mm to 200 mm)"),
        "{large}"
    );
}

#[test]
fn a_blank_connection_or_enamel_does_not_hide_a_resistance_that_contradicts_the_wire() {
    // 6.48 ohm in parallel, 25.9 ohm in series.
    let contradicted = |form: &Form| {
        let record = form.record();
        let questions = record["options"][0]["questions"].as_array().unwrap().clone();
        questions.iter().any(|it| it["question"] == "contradiction" && it["property"] == "resistance")
    };
    let stated = |ohm: f64| Form::sound().with("stated.resistance", Number(ohm)).without("connection");
    assert!(contradicted(&stated(15.0)));
    assert!(contradicted(&stated(15.0).without("winding.wire.build")));
    for (ohm, word) in [(6.5, "parallel"), (25.8, "series")] {
        for form in [stated(ohm), stated(ohm).without("winding.wire.build")] {
            assert!(!contradicted(&form), "{ohm}");
            let record = form.record();
            let gaps = record["options"][0]["gaps"].as_array().unwrap();
            let gap = gaps.iter().find(|it| it["gap"] == "connection").unwrap();
            assert_eq!(gap["bounded_by"], "resistance");
            assert!(gap.to_string().contains(word), "{gap}");
        }
    }
}

#[test]
fn an_offer_that_has_ended_does_not_pass_and_says_why() {
    let saved = Form::sound().with("price.valid_until", Text("2026-10-01")).saved();
    assert_eq!(saved.record(&["--date", "2026-09-30"])["options"][0]["verdict"], "passes");
    let late = ["--date", "2026-12-01"];
    assert_eq!(saved.record(&late)["options"][0]["verdict"], "undecided");
    let page = text(&[&["compare", saved.name(), "--needs", &lessons()], &late[..]].concat());
    assert!(page.contains("the offer held until 2026-10-01"), "{page}");
}

#[test]
fn forms_that_were_sent_back_under_one_name_are_called_by_their_titles() {
    let [one, other] = [Form::sound(), Form::sound().with("title", Text("Birch Works"))].map(|it| it.saved());
    let record = json(&["compare", one.name(), other.name(), "--json"]);
    let labels: Vec<&str> =
        record["options"].as_array().unwrap().iter().map(|it| it["label"].as_str().unwrap()).collect();
    assert_eq!(labels, ["Alder Coils 160", "Birch Works"]);
}

#[test]
fn a_delivery_is_judged_against_the_form_that_the_supplier_filled_in() {
    let folder = tempfile::tempdir().unwrap();
    let measured = folder.path().join("measured.json");
    let judged = |form: &Form, reading: &str| {
        std::fs::write(&measured, format!("{{ \"title\": \"Delivery\", {reading} }}")).unwrap();
        let saved = form.saved();
        let finished = run(&["accept", saved.name(), "--measured", measured.to_str().unwrap(), "--json"]);
        serde_json::from_slice::<Value>(&finished.stdout).unwrap()
    };
    // 100 megohm at 500 V are promised.
    let insulation = |ohm: &str| {
        format!(
            "\"insulation_resistance\": {{ \"value\": \"{ohm}\", \"uncertainty\": \"0.1 Mohm\", \"test_voltage\": \"500 V\" }}"
        )
    };
    assert_eq!(judged(&Form::sound(), &insulation("5 Mohm"))["verdict"], "fail");
    assert_eq!(judged(&Form::sound(), &insulation("130 Mohm"))["quantities"][0]["verdict"], "pass");
    let unpromised = Form::sound().without("stated.insulation_resistance");
    assert_eq!(judged(&unpromised, &insulation("5 Mohm"))["quantities"][0]["verdict"], "pass");
    let (status, message) = crate::program::failure(&[
        "accept",
        Form::sound().without("spacing").saved().name(),
        "--measured",
        measured.to_str().unwrap(),
    ]);
    assert!(status == 1 && message.contains("leaves out `spacing`"), "{message}");
    // A limit that cannot be read is not left out silently.
    let unclear = Form::sound().with("stated.insulation_resistance", Text("plenty")).saved();
    let (status, message) =
        crate::program::failure(&["accept", unclear.name(), "--measured", measured.to_str().unwrap()]);
    assert!(
        status == 1 && message.contains("is not clear about `stated.insulation_resistance`"),
        "{message}"
    );
}
