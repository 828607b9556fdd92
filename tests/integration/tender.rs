//! `tender`: the request holds no figure that the wishes do not give, and its form comes back through `compare`.

use crate::program::{example, run_in};
use coilwright::files::spec::{QUOTE_FIELDS, Written, read_quote, wanted_from_text};
use coilwright::questions::tender::tender;
use regex::Regex;
use rust_xlsxwriter::Workbook;
use serde_json::{Value, json};
use std::path::Path;

const LESSONS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/lab-files/lessons.json");

fn written(folder: &Path) {
    let run = run_in(folder, &["tender", LESSONS, "--out", "out"]);
    assert_eq!(run.status, Some(0), "{run:?}");
    for name in ["tender.html", "quote.html", "quote.json", "quote.xlsx"] {
        assert!(run.stdout.contains(&format!("wrote out/{name}")), "{run:?}");
    }
}

#[test]
fn no_figure_stands_in_a_requirement_that_the_wishes_do_not_give() {
    let text = std::fs::read_to_string(LESSONS).unwrap();
    let record = tender(&wanted_from_text("lessons.json", &text).unwrap(), None);
    assert!(record.requirements.len() >= 9, "{record:?}");
    let numbers = Regex::new(r"[0-9]+(\.[0-9]+)?").unwrap();
    for requirement in record.requirements.iter().filter(|it| it.what() != "field") {
        for number in numbers.find_iter(&requirement.wanted()) {
            // As a number of its own, not a part of another.
            let own =
                Regex::new(&format!(r"(^|[^0-9.]){}($|[^0-9.])", regex::escape(number.as_str()))).unwrap();
            assert!(own.is_match(&text), "{}: {}", number.as_str(), requirement.wanted());
        }
    }
    // p/(e r) of 280 V at 26 mm: √(2 m V/e)/r = 56.43 µT m/26 mm = 2.1705 mT, rounded up.
    let field = record.requirements.iter().find(|it| it.what() == "field").unwrap();
    assert!(field.wanted().starts_with("at least 2.171 mT at the centre"), "{}", field.wanted());
}

#[test]
fn what_the_wishes_leave_open_is_said_and_not_invented() {
    let record = tender(&wanted_from_text("wishes.json", r#"{ "title": "Nothing yet" }"#).unwrap(), None);
    assert!(record.requirements.is_empty() && record.open.len() == 7, "{record:?}");
}

/// The form of `tender` filled in with a spec's values.
fn filled_json(blank: &str, spec: &Value) -> Value {
    let mut form: Value = serde_json::from_str(blank).unwrap();
    for field in QUOTE_FIELDS {
        let pointer = format!("/{}", field.path.replace('.', "/"));
        if let Some(value) = spec.pointer(&pointer) {
            *form.pointer_mut(&pointer).unwrap() = value.clone();
        }
    }
    form
}

/// The workbook of `tender` filled in, as a spreadsheet saves it: the rows of the form with the values in their cells.
fn filled_workbook(spec: &Value) -> Vec<u8> {
    let mut workbook = Workbook::new();
    let sheet = workbook.add_worksheet();
    sheet.write_string(0, 0, "Quote").unwrap();
    for (column, heading) in ["label", "value", "unit", "note", "name"].into_iter().enumerate() {
        sheet.write_string(1, column as u16, heading).unwrap();
    }
    for (number, field) in QUOTE_FIELDS.iter().enumerate() {
        let row = 2 + number as u32;
        sheet.write_string(row, 0, field.label).unwrap();
        sheet.write_string(row, 4, field.path).unwrap();
        let unit = match field.written {
            Written::With(unit) => unit.names[0],
            _ => "",
        };
        sheet.write_string(row, 2, unit).unwrap();
        match spec.pointer(&format!("/{}", field.path.replace('.', "/"))) {
            Some(Value::Number(value)) => drop(sheet.write_number(row, 1, value.as_f64().unwrap()).unwrap()),
            Some(Value::String(text)) => {
                // A number in the form's own unit stands alone in its cell.
                let alone = text.strip_suffix(unit).filter(|_| !unit.is_empty());
                match alone.and_then(|number| number.trim().parse::<f64>().ok()) {
                    Some(number) => drop(sheet.write_number(row, 1, number).unwrap()),
                    None => drop(sheet.write_string(row, 1, text).unwrap()),
                }
            }
            _ => {}
        }
    }
    workbook.save_to_buffer().unwrap()
}

/// The example spec with what a quote form holds, and nothing else.
fn quoted(spec: &str) -> Value {
    let spec: Value = serde_json::from_str(&std::fs::read_to_string(example(spec)).unwrap()).unwrap();
    let mut quoted = json!({});
    for field in QUOTE_FIELDS {
        let Some(value) = spec.pointer(&format!("/{}", field.path.replace('.', "/"))) else { continue };
        let mut at = &mut quoted;
        for key in field.path.split('.') {
            at = at.as_object_mut().unwrap().entry(key).or_insert_with(|| json!({}));
        }
        *at = value.clone();
    }
    quoted
}

#[test]
fn a_filled_form_compares_as_the_spec_it_says() {
    let folder = tempfile::tempdir().unwrap();
    written(folder.path());
    let blank = std::fs::read_to_string(folder.path().join("out/quote.json")).unwrap();
    let mut compared = Vec::new();
    for form in ["spec", "json", "xlsx"] {
        for name in ["quote-used.json", "quote-parallel.json"] {
            let spec = quoted(name);
            let file = match form {
                "spec" => spec.to_string().into_bytes(),
                "json" => filled_json(&blank, &spec).to_string().into_bytes(),
                _ => filled_workbook(&spec),
            };
            let ending = if form == "xlsx" { "xlsx" } else { "json" };
            std::fs::write(folder.path().join(name).with_extension(ending), file).unwrap();
        }
        let ending = if form == "xlsx" { "xlsx" } else { "json" };
        let [one, other] = ["quote-used", "quote-parallel"].map(|name| format!("{name}.{ending}"));
        let run = run_in(folder.path(), &["compare", &one, &other, "--needs", LESSONS, "--json"]);
        assert_eq!(run.status, Some(0), "{form}: {run:?}");
        let mut record: Value = serde_json::from_str(&run.stdout).unwrap();
        for option in record["options"].as_array_mut().unwrap() {
            option.as_object_mut().unwrap().remove("digest");
        }
        compared.push(record);
    }
    assert_eq!(compared[0], compared[1]);
    assert_eq!(compared[0], compared[2]);
    assert_eq!(compared[0]["needs"].as_array().unwrap().len(), 11);
}

#[test]
fn a_blank_form_says_what_is_missing_in_every_form() {
    let folder = tempfile::tempdir().unwrap();
    written(folder.path());
    let spec = example("quote-used.json");
    for (name, missing) in [("out/quote.json", 7), ("out/quote.xlsx", 7)] {
        let run = run_in(folder.path(), &["compare", name, &spec]);
        assert_eq!(run.status, Some(1), "{run:?}");
        let line = run.stderr.lines().next().unwrap();
        assert!(
            line.starts_with(&format!("error: cannot read {name}: the quote is not filled in: `title`")),
            "{line}"
        );
        assert_eq!(line.matches('`').count(), 2 * missing, "{line}");
        assert!(run.stderr.contains("hint: fill in what is known"), "{run:?}");
    }
}

#[test]
fn the_workbook_of_the_form_has_a_row_for_each_field() {
    let folder = tempfile::tempdir().unwrap();
    written(folder.path());
    let bytes = std::fs::read(folder.path().join("out/quote.xlsx")).unwrap();
    let cells = crate::outputs::workbook::cells_as_text(&bytes);
    for field in QUOTE_FIELDS {
        assert!(cells.contains(field.path), "{}: {cells}", field.path);
    }
    // Read as it stands, with one cell filled: the others are still told.
    let Err(error) = read_quote(folder.path().join("out/quote.xlsx")) else {
        panic!("a blank quote was read")
    };
    assert!(error.to_string().contains("`winding.turns`"), "{error}");
}

#[test]
fn a_folder_must_be_named() {
    let run = run_in(Path::new("."), &["tender", LESSONS]);
    assert_eq!(run.status, Some(2), "{run:?}");
    assert!(run.stderr.contains("no folder is named"), "{run:?}");
}

#[test]
fn an_offer_of_another_wire_than_the_request_names_is_asked_about_and_does_not_pass_before_the_answer() {
    let folder = tempfile::tempdir().unwrap();
    let with_wires = |wires: Value| {
        let mut needs: Value = serde_json::from_str(&std::fs::read_to_string(LESSONS).unwrap()).unwrap();
        needs["search"]["wires"] = wires;
        std::fs::write(folder.path().join("needs.json"), needs.to_string()).unwrap();
        let asked = run_in(folder.path(), &["tender", "needs.json", "--out", "request", "--force"]);
        assert_eq!(asked.status, Some(0), "{}", asked.stderr);
        let page = std::fs::read_to_string(folder.path().join("request/tender.html")).unwrap();
        let quote = example("quote-parallel.json");
        let call = ["compare", &quote, "--needs", "needs.json"];
        let text = run_in(folder.path(), &call).stdout;
        let json = run_in(folder.path(), &[&call[..], &["--json"]].concat()).stdout;
        let record: Value = serde_json::from_str(&json).unwrap();
        (page, text.split_whitespace().collect::<Vec<_>>().join(" "), record)
    };
    let grade_2 = |size: &str| json!({ "size": size, "build": "grade 2", "thermal_class": 155 });
    let verdict = |record: &Value| record["options"][0]["verdict"].as_str().unwrap().to_owned();
    let asks = |record: &Value| {
        let questions = record["options"][0]["questions"].as_array().unwrap();
        questions.iter().any(|it| it["question"] == "other_wire")
    };
    // The quote has 0.71 mm grade 2. Everything else that is needed is met.
    let (_, _, any) = with_wires(json!("stock"));
    assert!(verdict(&any) == "passes" && !asks(&any), "{any}");
    let (page, _, listed) = with_wires(json!([grade_2("0.9 mm"), grade_2("0.71 mm")]));
    assert!(verdict(&listed) == "passes" && !asks(&listed), "{listed}");
    assert!(page.contains("0.9 mm grade 2") && page.contains("0.71 mm grade 2"));
    let (_, text, other) = with_wires(json!([grade_2("0.9 mm"), grade_2("0.8 mm")]));
    assert!(verdict(&other) == "undecided" && asks(&other), "{other}");
    for words in [
        "the wire is copper 0.71 mm grade 2, class 155, and the request names copper 0.9 mm grade 2, class 155, or copper 0.8 mm",
        "can the pair be made of a wire that is named",
    ] {
        assert!(text.contains(words), "{words}: {text}");
    }
}
