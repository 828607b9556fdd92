//! What people wrote, and what runs made of it, is shown and cannot act.

use super::client::{Desk, SPEC, encoded, made};

/// Titles that would be markup, script, a command or a false line, were they let.
const HOSTILE: [&str; 7] = [
    "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>",
    "'><svg onload=alert(1)>",
    "</textarea></title><script src=//evil.example/x></script>",
    "{{ title }}{%25}</pre><a href=\"javascript:alert(1)\">",
    "Bench \u{202e}gnorw yaw\u{2066} \u{200f}round",
    "one\nForged line: right\r\n\tthree \u{0} \u{1b}[31m",
];

/// Every tag of a page that it has without the hostile words.
fn assert_inert(page: &str, what: &str) {
    for live in [
        "<script>",
        "<script src=//",
        "<img src=x",
        "<svg onload",
        "onerror=alert(1)>",
        "href=\"javascript:",
        "</textarea></title>",
    ] {
        assert!(!page.contains(live), "{what}: {live} in {page}");
    }
    let hidden = page.chars().find(|it| matches!(it, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{200e}' | '\u{200f}' | '\u{1b}' | '\u{0}'));
    assert_eq!(hidden, None, "{what}: {page}");
}

/// The example under another title, which is also the label of its first coil where it has one.
fn titled(title: &str) -> String {
    let mut spec: serde_json::Value = serde_json::from_str(SPEC).unwrap();
    spec["title"] = title.into();
    serde_json::to_string_pretty(&spec).unwrap()
}

#[test]
fn a_hostile_title_is_text_on_every_page() {
    let desk = Desk::new();
    for title in HOSTILE {
        // The text of the file itself is shown as it is, in JSON: line breaks and controls stand there escaped.
        let written = titled(title)
            .replace('\u{202e}', "\\u202e")
            .replace('\u{2066}', "\\u2066")
            .replace('\u{200f}', "\\u200f");
        desk.put("pair.json", &written);
        // A file that was not settled is looked at anew.
        for path in [
            "/",
            "/file/pair.json",
            "/ask/sheet?spec=pair.json",
            "/ask/compare",
            "/ask/map",
            "/ask/map?spec=pair.json",
        ] {
            let answer = desk.get(path).send();
            assert_eq!(answer.status, 200, "{answer:?}");
            assert_inert(&answer.text(), path);
        }
        // A picture takes its time, and has the title in one place.
        for question in if title.starts_with('<') || title.starts_with("one") {
            &["sheet", "map"][..]
        } else {
            &["sheet"]
        } {
            let markup = desk.answered(question, &[("spec", "pair.json")]);
            assert!(markup.contains("class=\"answer"), "{question} {title:?}: {markup}");
            assert_inert(&markup, question);
            for path in made(&markup).iter().filter(|path| path.ends_with(".svg") || path.ends_with(".html"))
            {
                assert_inert(&desk.get(path).send().text(), path);
            }
        }
    }
}

#[test]
fn hostile_words_of_an_address_or_a_form_are_text() {
    let desk = Desk::new();
    for words in HOSTILE {
        for path in [
            format!("/ask/sheet?spec={}", encoded(words)),
            format!("/ask/calibrate?by={}", encoded(words)),
            format!("/ask/map?{}={}", encoded(words), encoded(words)),
            format!("/ask/{}", encoded(words)),
            format!("/file/{}", encoded(words)),
            format!("/made/{0}/{0}", encoded(words)),
            format!("/{}", encoded(words)),
            format!("/open?token={}", encoded(words)),
        ] {
            assert_inert(&desk.get(&path).send().text(), &path);
        }
        for (path, field) in [
            ("/do/ask/sheet", "spec"),
            ("/do/ask/calibrate", "by"),
            ("/do/ask/map", "step"),
            ("/do/new", "name"),
            ("/do/at/pair.json", "x"),
            ("/do/at/pair.json", "text"),
            ("/do/first", "/title"),
            ("/do/first", "/spacing"),
            ("/do/first", "name"),
            ("/do/first/so-far", "/spacing"),
        ] {
            let markup = desk.form(path, &[(field, words), ("template", "spec")]).send().text();
            assert_inert(&markup, path);
        }
        // The value of an option reaches the command as one word, whatever is in it.
        if !words.contains('\0') {
            let markup = desk.answered("heat", &[("spec", "pair.json"), ("current", words)]);
            assert!(markup.contains("class=\"answer failed\""), "{markup}");
            assert_inert(&markup, words);
        }
    }
    // A title of any kind may be that of a first spec; its name as a file is plain.
    for entry in std::fs::read_dir(desk.path("")).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        assert!(name.ends_with(".json") && !name.contains(['<', '>', '"', '\'', ' ']), "{name}");
    }
}

#[test]
fn windings_and_fields_of_a_hostile_title_are_inert() {
    let desk = Desk::new();
    let wishes = include_str!("../../../lab-files/lessons.json");
    let title = HOSTILE[0];
    desk.put("wishes.json", wishes.replace("Saltmarsh College, what the lessons need", title));
    desk.put("pair.json", titled(title));
    let search = desk.answered("size", &[("wanted", "wishes.json")]);
    assert!(search.contains("id=\"windings\""), "{search}");
    assert_inert(&search, "size");
    let data = |path: &str| desk.get(path).with("x-desk-page", &desk.page_token()).send().text();
    let field = data("/do/at/pair.json?current=1%20A");
    assert!(field.contains("data-field-at"), "{field}");
    assert_inert(&field, "field");
    let winding = search.split("hx-get=\"").nth(1).unwrap().split('"').next().unwrap();
    assert_inert(&data(winding), winding);
    for wrong in ["0", "99", "-1", "x", "18446744073709551616"] {
        let path = format!("{}/{wrong}", winding.rsplit_once('/').unwrap().0);
        let answer = desk.get(&path).with("x-desk-page", &desk.page_token()).send();
        assert!(
            answer.status >= 400 || answer.text().starts_with("<p class=\"alert\""),
            "{path}: {answer:?}"
        );
    }
}

#[test]
fn a_file_of_a_hostile_name_is_not_shown() {
    let desk = Desk::new();
    for name in [
        "<img src=x onerror=alert(1)>.json",
        "a\"b.json",
        "a'b.csv",
        "\u{202e}nosj.json",
        "one\ntwo.json",
        "page.html",
        "drawing.svg",
        ".hid.json",
    ] {
        desk.put(name, SPEC);
    }
    let page = desk.get("/").send().text();
    assert_inert(&page, "/");
    // The spec, and three whose names mean nothing but themselves.
    assert_eq!(page.matches("href=\"/file/").count(), 4, "{page}");
    for plain in ["pair.json", "a%27b.csv", "page.html", "drawing.svg"] {
        assert!(page.contains(&format!("href=\"/file/{plain}\"")), "{plain}: {page}");
    }
}

#[test]
fn what_a_run_made_is_shown_in_a_place_of_its_own() {
    let desk = Desk::new();
    let mut seen = Vec::new();
    for (question, filled) in [
        ("map", vec![("spec", "pair.json")]),
        ("lesson", vec![("spec", "pair.json"), ("gun_voltage", "250 V")]),
    ] {
        let markup = desk.answered(question, &filled);
        let files = made(&markup);
        assert!(!files.is_empty(), "{question}: {markup}");
        for path in files {
            let answer = desk.get(&path).send();
            assert_eq!(answer.status, 200, "{path}: {answer:?}");
            let ending = path.rsplit('.').next().unwrap().to_owned();
            let policy = answer.header("content-security-policy").unwrap();
            assert!(policy.starts_with("sandbox"), "{path}: {policy}");
            assert!(policy.contains("default-src 'none'"), "{path}: {policy}");
            for never in [
                "allow-same-origin",
                "allow-top-navigation",
                "allow-popups",
                "allow-forms",
                "connect-src",
                "http:",
                "https:",
            ] {
                assert!(!policy.contains(never), "{path}: {policy}");
            }
            assert_eq!(policy.contains("allow-scripts"), path.ends_with("/lesson.html"), "{path}: {policy}");
            if !matches!(ending.as_str(), "svg" | "html" | "png") {
                assert!(
                    answer.header("content-disposition").unwrap().starts_with("attachment;"),
                    "{path}: {answer:?}"
                );
            }
            seen.push(ending);
        }
    }
    for ending in ["svg", "html", "csv", "zip"] {
        assert!(seen.iter().any(|it| it == ending), "{ending} {seen:?}");
    }
    let own = desk.data("/bytes/pair.json").send();
    assert_eq!(
        own.header("content-disposition"),
        Some("attachment; filename=\"pair.json\"; filename*=UTF-8''pair.json")
    );
    assert_eq!(own.header("content-type"), Some("application/octet-stream"));
    assert!(own.header("content-security-policy").unwrap().starts_with("sandbox"));
}

#[test]
fn pages_and_pictures_are_not_taken_in() {
    let desk = Desk::new();
    for name in [
        "page.html",
        "page.htm",
        "drawing.svg",
        "page.xhtml",
        "page.xml",
        "tool.js",
        "pair.json.html",
        "page.HTML",
        "tool.exe",
        "tool.desktop",
    ] {
        let page = "<script xmlns='http://www.w3.org/2000/svg'>alert(1)</script>";
        let answer = desk.change("PUT", &format!("/do/file/{name}"), page).with("if-none-match", "*").send();
        assert_eq!(answer.status, 400, "{name}: {answer:?}");
        assert!(!desk.path(name).exists());
        let pasted = desk.form("/do/new", &[("name", name), ("text", page)]).send();
        assert!(pasted.text().starts_with("<p class=\"alert\""), "{name}: {pasted:?}");
        assert!(!desk.path(name).exists());
    }
}

#[test]
fn a_workbook_that_unpacks_without_end_is_refused() {
    use std::io::{Cursor, Write};
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let packed = zip::write::SimpleFileOptions::default();
    for name in ["[Content_Types].xml", "xl/workbook.xml", "xl/worksheets/sheet1.xml"] {
        archive.start_file(name, packed).unwrap();
        // 120 MiB in all, of which some hundred KiB are sent.
        for _ in 0..40 {
            archive.write_all(&vec![b' '; 1 << 20]).unwrap();
        }
    }
    let bomb = archive.finish().unwrap().into_inner();
    assert!(bomb.len() < 1 << 20);
    let desk = Desk::new();
    for name in ["readings.xlsx", "readings.ods"] {
        let taken = desk.change("PUT", &format!("/do/file/{name}"), bomb.clone()).with("if-none-match", "*");
        assert_eq!(taken.status(), 200);
        assert_eq!(desk.get(&format!("/file/{name}")).status(), 200);
        let markup = desk.answered("calibrate", &[("spec", "pair.json"), ("readings", name)]);
        assert!(
            markup.contains("class=\"answer failed\"") && markup.contains("unpacks to more than"),
            "{markup}"
        );
    }
    desk.assert_serves();
}

#[test]
fn what_is_being_typed_is_text_in_the_form_the_picture_and_the_sheet() {
    let desk = Desk::new();
    for title in HOSTILE {
        for filled in [
            [("text", titled(title)), ("pointer", String::new()), ("value", String::new())],
            [("text", SPEC.to_owned()), ("pointer", "/title".into()), ("value", title.into())],
            [("text", SPEC.to_owned()), ("pointer", "/spacing".into()), ("value", title.into())],
            [("text", title.to_owned()), ("pointer", title.to_owned()), ("value", title.into())],
        ] {
            let filled: Vec<_> = filled.iter().map(|(id, value)| (*id, value.as_str())).collect();
            let answer = desk.form("/do/typed/pair.json", &filled).send();
            assert_eq!(answer.status, 200, "{answer:?}");
            assert_eq!(answer.header("content-type"), Some("application/json"));
            let seen: serde_json::Value = serde_json::from_slice(&answer.body).unwrap();
            // The text and the values go into places of text; these are markup.
            for part in ["checked", "picture", "sheet"] {
                assert_inert(seen[part].as_str().unwrap(), part);
            }
        }
    }
    assert_eq!(std::fs::read_to_string(desk.path("pair.json")).unwrap(), SPEC);
}
