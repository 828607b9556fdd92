//! The job of a buyer: from four quotes to a choice and the letters.

use super::{Desk, example, text_of};
use serde_json::json;

const QUOTES: [&str; 4] =
    ["quote-parallel.json", "quote-thick.json", "quote-used.json", "quote-unfinished.json"];

/// Drops these files onto the page, as the mouse does.
const DROP: &str = r#"(files) => {
  const carried = new DataTransfer();
  for (const [name, text] of files) carried.items.add(new File([text], name));
  for (const kind of ["dragover", "drop"]) {
    document.querySelector("main").dispatchEvent(new DragEvent(kind, { dataTransfer: carried, bubbles: true, cancelable: true }));
  }
}"#;

#[test]
fn a_buyer_gets_from_four_quotes_to_a_verdict_and_letters() {
    let mut desk = Desk::empty();
    let dropped: Vec<_> = QUOTES.iter().map(|name| json!([name, text_of(name)])).collect();
    desk.page.evaluate(&format!("({DROP})({})", json!(dropped)));
    desk.page.wait_for(
        "document.querySelectorAll('#take-told p').length === 4 && !!document.querySelector('#take-told a')",
    );
    let told = desk.text("document.getElementById('take-told').innerText");
    assert_eq!(told.matches("taken in").count(), 4, "{told}");
    // Dropping the same file again overwrites nothing, and the page says so.
    desk.page.evaluate(&format!("({DROP})({})", json!([dropped[0]])));
    desk.page.wait_for("document.querySelectorAll('#take-told p').length === 5");
    assert!(
        desk.text("document.getElementById('take-told').innerText").contains("there is a file of that name")
    );
    assert!(desk.page.complaints().iter().all(|line| line.contains("412")), "{:?}", desk.page.complaints());
    desk.page.forget_complaints();
    desk.make("wishes.json", "wishes", "");
    desk.go("");
    let listed = desk.text("document.querySelector('main').textContent");
    assert!(listed.contains("unfinished spec or quote"), "{listed}");

    let mut filled: Vec<_> = QUOTES.iter().map(|name| ("quotes", *name)).collect();
    filled.push(("needs", "wishes.json"));
    let compared = desk.ask("compare", &filled);
    assert!(compared.text.contains("Verdict") && compared.told.is_empty(), "{}", compared.told);
    assert_eq!(compared.command.matches(".json").count(), 5, "{}", compared.command);
    let letters: Vec<_> = compared.files.iter().filter(|name| name.starts_with("letter-")).collect();
    assert!(
        letters.iter().any(|name| name.contains("quote-unfinished")) && letters.len() >= 2,
        "{letters:?}"
    );
    for letter in &letters {
        assert!(desk.made(letter).contains("<html"), "{letter}");
    }
    // All papers are in one archive.
    desk.page.evaluate(
        "[...document.querySelectorAll('#answer a')].find((it) => it.textContent.includes('zip')).click()",
    );
    let archive = desk.page.downloads().join("compare.zip");
    let begun = std::time::Instant::now();
    while !archive.exists() && begun.elapsed().as_secs() < 30 {
        std::thread::sleep(std::time::Duration::from_millis(50));
    }
    let archive = zip::ZipArchive::new(std::fs::File::open(archive).unwrap()).unwrap();
    for letter in letters {
        assert!(archive.file_names().any(|name| name.is_ok_and(|name| name == letter.as_str())), "{letter}");
    }
    desk.is_quiet();
}

/// A tender's form filled in by a supplier, as a workbook: the names of fields, values and units.
fn workbook(more: &[(&str, &str, &str)]) -> Vec<u8> {
    let cells = [
        ("title", "Quote of a small workshop", ""),
        ("spacing", "162", "mm"),
        ("winding.mean_radius", "162", "mm"),
        ("winding.width", "16", "mm"),
        ("winding.depth", "12", "mm"),
        ("winding.turns", "168", ""),
        ("winding.wire.size", "0.9", "mm"),
    ];
    let mut workbook = rust_xlsxwriter::Workbook::new();
    let sheet = workbook.add_worksheet();
    for (column, heading) in ["label", "value", "unit", "note", "name"].into_iter().enumerate() {
        sheet.write_string(0, column as u16, heading).unwrap();
    }
    for (at, (name, value, unit)) in cells.iter().chain(more).copied().enumerate() {
        let row = at as u32 + 1;
        sheet.write_string(row, 4, name).unwrap();
        sheet.write_string(row, 2, unit).unwrap();
        match value.parse::<f64>() {
            Ok(number) => sheet.write_number(row, 1, number).unwrap(),
            Err(_) => sheet.write_string(row, 1, value).unwrap(),
        };
    }
    workbook.save_to_buffer().unwrap()
}

fn filled_in() -> Vec<u8> {
    workbook(&[])
}

#[test]
fn a_delivery_is_held_against_the_form_that_the_supplier_filled_in() {
    let mut desk = Desk::with(&["quote-thick.json", "delivery.json"]);
    let rest = [
        ("winding.wire.build", "grade 2", ""),
        ("winding.wire.conductor", "copper", ""),
        ("connection", "series", ""),
    ];
    std::fs::write(desk.path_of("ordered.xlsx"), workbook(&rest)).unwrap();
    let measured = "name;value;uncertainty;unit\nspacing;162.1;0.05;mm\nwidth;16.1;0.05;mm\n";
    std::fs::write(desk.path_of("delivered.csv"), measured).unwrap();
    // The form offers both where they suit, before the files that do not.
    desk.go("ask/accept");
    let offered = |desk: &mut Desk, field: &str| {
        let listed =
            format!("[...document.querySelectorAll('#field-{field} > option')].map((it) => it.value)");
        let listed = desk.page.evaluate(&listed);
        listed.as_array().unwrap().iter().map(|it| it.as_str().unwrap().to_owned()).collect::<Vec<_>>()
    };
    let ordered = offered(&mut desk, "spec");
    for file in ["quote-thick.json", "ordered.xlsx"] {
        assert!(ordered.iter().any(|name| name == file), "{ordered:?}");
    }
    let measured = offered(&mut desk, "measured");
    for file in ["delivery.json", "delivered.csv"] {
        assert!(measured.iter().any(|name| name == file), "{measured:?}");
    }
    // The page of the form asks the same question.
    desk.go("file/ordered.xlsx");
    let offers = desk.text("[...document.querySelectorAll('main a')].map((it) => it.innerText).join(', ')");
    assert!(offers.contains("Accept a delivery"), "{offers}");
    let answer = desk.ask("accept", &[("spec", "ordered.xlsx"), ("measured", "delivered.csv")]);
    assert!(answer.text.contains("PASS: everything measured lies within"), "{} {}", answer.text, answer.told);
    desk.is_quiet();
}

#[test]
fn a_quote_form_that_a_supplier_filled_in_is_taken_in_by_the_file_chooser() {
    let mut desk = Desk::with(&["lessons.json", "quote-thick.json"]);
    let tender = desk.ask("tender", &[("wanted", "lessons.json")]);
    for paper in ["tender.html", "quote.html", "quote.xlsx"] {
        assert!(tender.files.iter().any(|name| name == paper), "{:?}", tender.files);
    }
    desk.keep("quote.xlsx");
    assert!(std::fs::read(desk.path_of("quote.xlsx")).unwrap().starts_with(b"PK"));
    // The supplier sends the form back, filled in.
    let post = tempfile::tempdir().unwrap();
    let sent = post.path().join("quote-supplier.xlsx");
    std::fs::write(&sent, filled_in()).unwrap();
    std::fs::copy(example("quote-used.json"), post.path().join("quote-other.json")).unwrap();
    desk.go("");
    let files = ["quote-supplier.xlsx", "quote-other.json"].map(|name| post.path().join(name));
    desk.page.choose_files("#take", &files);
    desk.page.wait_for(
        "document.querySelectorAll('#take-told p').length === 2 && !!document.querySelector('#take-told a')",
    );
    assert_eq!(std::fs::read(desk.path_of("quote-supplier.xlsx")).unwrap(), std::fs::read(&sent).unwrap());
    desk.go("file/quote-supplier.xlsx");
    assert!(desk.text("document.querySelector('main').innerText").contains("it is edited there"));
    let filled = [
        ("quotes", "quote-supplier.xlsx"),
        ("quotes", "quote-other.json"),
        ("quotes", "quote-thick.json"),
        ("needs", "lessons.json"),
    ];
    let compared = desk.ask("compare", &filled);
    assert!(compared.text.contains("Verdict"), "{}", compared.told);
    desk.is_quiet();
}
