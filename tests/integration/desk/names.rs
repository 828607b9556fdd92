//! Names of files: what leads out of the folder, or to what is no file of the desk's, is refused by every route.

use super::client::{Desk, encoded};

/// Names that would lead elsewhere, or mean something else, on one system or another.
fn wrong_names(outside: &str) -> Vec<String> {
    let mut names: Vec<String> = [
        "..",
        ".",
        "../secret.json",
        "../../etc/passwd",
        "..\\secret.json",
        "a/../../secret.json",
        "/etc/passwd",
        "/etc/x.json",
        "//server/share.json",
        "\\\\server\\share.json",
        "\\\\?\\C:\\x.json",
        "C:x.json",
        "C:\\x.json",
        "c:/x.json",
        "file:///etc/x.json",
        "pair.json\0",
        "pair.json\0.csv",
        "\0",
        "pair.json/",
        "pair.json/.",
        "./pair.json",
        "pair.json.",
        "pair.json ",
        " pair.json",
        "pair.json::$DATA",
        "pair.json:x",
        "NUL.json",
        "nul.json",
        "CoM1.csv",
        "lpt9.txt",
        "aux.json",
        "con",
        "CON .json",
        "com\u{b9}.json",
        "PAIR~1.JSO",
        "pair.json\n",
        "pa\rir.json",
        "\u{202e}nosj.riap.json",
        "\u{2025}/x.json",
        "\u{ff0e}\u{ff0e}\u{ff0f}secret.json",
        "..%2fsecret.json",
        "%2e%2e%2fsecret.json",
        "..%5csecret.json",
        "%00.json",
        "..%c0%afsecret.json",
        "%252e%252e%252fsecret.json",
        ".hidden.json",
        ".coilwright-desk",
        ".coilwright-desk/pair.json.1",
        "-x.json",
        "--out=x.json",
        "~/x.json",
        "$HOME.json",
        "`id`.json",
        "pair.html",
        "pair.svg",
        "pair.HTML",
        "pair.json.html",
        "pair.htm",
        "pair.xhtml",
        "pair.js",
        "pair.sh",
        "pair",
        "pair.xlsm",
        "",
        "<script>.json",
        "\".json",
        "'.json",
        "*.json",
        "a|b.json",
    ]
    .map(str::to_owned)
    .to_vec();
    names.push(outside.to_owned());
    names.push(format!("{}.json", "a".repeat(200)));
    names.push(format!("{}secret.json", "../".repeat(40)));
    names
}

/// A name as the part of an address, in every spelling that a client may choose.
fn spellings(name: &str) -> Vec<String> {
    let all: String = name.bytes().map(|byte| format!("%{byte:02x}")).collect();
    let points = encoded(name).replace('.', "%2E");
    let mut spelt = vec![encoded(name), all, points];
    if name.bytes().all(|byte| byte.is_ascii_graphic()) && !name.contains(['#', '?', '%']) {
        spelt.push(name.to_owned());
    }
    // Twice: the name is then what the first decoding gives, which has a per cent sign.
    spelt.push(encoded(&encoded(name)));
    spelt
}

#[test]
fn no_address_leads_out_of_the_folder() {
    let desk = Desk::new();
    let outside = tempfile::Builder::new().suffix(".json").tempfile().unwrap();
    std::fs::write(outside.path(), "secret of another folder").unwrap();
    let beside = desk.path("..").canonicalize().unwrap().join("secret.json");
    let token = desk.page_token();
    for name in wrong_names(outside.path().to_str().unwrap()) {
        for spelt in spellings(&name) {
            // Without a name the address is another one, and twice encoded a right name stays a wrong one.
            if spelt == encoded(&encoded(&name)) && encoded(&name) == name {
                continue;
            }
            for (method, route) in [
                ("GET", "/file/"),
                ("GET", "/bytes/"),
                ("GET", "/made/0/"),
                ("GET", "/made/"),
                ("GET", "/assets/"),
                ("PUT", "/do/file/"),
                ("POST", "/do/copy/"),
                ("POST", "/do/typed/"),
                ("POST", "/do/at/"),
                ("GET", "/do/at/"),
                ("POST", "/do/keep/0/"),
            ] {
                let ask = desk.get(&format!("{route}{spelt}")).method(method);
                let ask =
                    ask.with("x-desk-page", &token).with("origin", &desk.origin()).with("if-none-match", "*");
                let ask = if method == "GET" {
                    ask
                } else {
                    ask.body("name=new.json&text={}")
                        .with("content-type", "application/x-www-form-urlencoded")
                };
                let answer = ask.send();
                assert!(answer.status >= 400, "{method} {route}{spelt} ({name:?}): {answer:?}");
                assert!(!answer.text().contains("secret of another"), "{answer:?}");
            }
        }
    }
    let names: Vec<_> = std::fs::read_dir(desk.path("")).unwrap().map(|it| it.unwrap().file_name()).collect();
    assert_eq!(names, ["pair.json"]);
    assert!(!beside.exists());
    desk.assert_serves();
}

#[test]
fn no_field_of_a_form_leads_out_of_the_folder() {
    let desk = Desk::new();
    let outside = tempfile::Builder::new().suffix(".json").tempfile().unwrap();
    std::fs::write(
        outside.path(),
        super::client::SPEC.replace("Saltmarsh College, window bench", "Secret bench"),
    )
    .unwrap();
    let before = std::fs::read(outside.path()).unwrap();
    for name in wrong_names(outside.path().to_str().unwrap()) {
        let trimmed = name.trim();
        if trimmed.is_empty() || trimmed == "pair.json" {
            // An empty field is none, and blanks around a name are no part of it.
            continue;
        }
        for (path, field, more) in [
            ("/do/ask/sheet", "spec", ("", "")),
            ("/do/ask/calibrate", "register", ("spec", "pair.json")),
            ("/do/ask/calibrate", "readings", ("spec", "pair.json")),
            ("/do/ask/compare", "quotes", ("needs", "pair.json")),
            ("/do/ask/size", "write", ("wanted", "pair.json")),
            ("/do/new", "name", ("template", "spec")),
            ("/do/first", "name", ("/title", "Pair")),
        ] {
            let answer = desk.form(path, &[(field, &name), more]).send();
            let text = answer.text();
            let is_refused = answer.status >= 400
                || text.starts_with("<p class=\"alert\"")
                || text.contains("aria-describedby=\"first-name-wrong\" aria-invalid=\"true\"");
            assert!(is_refused && !text.contains("Secret bench"), "{path} {field}={name:?}: {answer:?}");
            assert!(answer.header("hx-redirect").is_none());
        }
        // A name that is none is in no archive.
        let archive = desk.data(&format!("/files.zip?file={}", encoded(&name))).send();
        let entries = zip::ZipArchive::new(std::io::Cursor::new(archive.body.clone()));
        assert_eq!(entries.map(|it| it.len()).unwrap_or_default(), 0, "{name:?}: {archive:?}");
    }
    assert_eq!(std::fs::read(outside.path()).unwrap(), before);
    let names: Vec<_> = std::fs::read_dir(desk.path("")).unwrap().map(|it| it.unwrap().file_name()).collect();
    assert_eq!(names, ["pair.json"]);
}

#[test]
fn a_kept_file_goes_into_the_folder_under_a_free_name_or_nowhere() {
    let desk = Desk::new();
    let markup = desk.answered("map", &[("spec", "pair.json")]);
    let made = super::client::made(&markup);
    let table = made.iter().find(|path| path.ends_with(".csv")).unwrap_or_else(|| panic!("{markup}"));
    let keep = |name: &str| desk.form(&table.replace("/made/", "/do/keep/"), &[("name", name)]).send();
    for name in
        wrong_names("/tmp/x.json").iter().filter(|name| !matches!(name.trim(), "pair.json" | "pair" | ""))
    {
        let answer = keep(name);
        assert!(answer.text().starts_with("<p class=\"alert\""), "{name:?}: {answer:?}");
    }
    assert!(keep("pair.json").text().contains("ends with .csv"));
    desk.put("taken.csv", "x_m\n");
    assert!(keep("taken.csv").text().contains("there is a file of that name"));
    assert_eq!(std::fs::read_to_string(desk.path("taken.csv")).unwrap(), "x_m\n");
    assert_eq!(std::fs::read_to_string(desk.path("pair.json")).unwrap(), super::client::SPEC);
    let kept = keep("grid.csv");
    assert!(kept.text().contains("Kept in the folder as <a href=\"/file/grid.csv\">"), "{kept:?}");
    assert_eq!(std::fs::read(desk.path("grid.csv")).unwrap(), desk.get(table).send().body);
    assert_eq!(std::fs::read_dir(desk.path("")).unwrap().count(), 3);
}

#[test]
fn apostrophes_and_dashes_of_letters_are_taken_and_names_that_differ_in_capitals_alone_are_not() {
    let desk = Desk::new();
    for name in ["Miller's quote.json", "quote – final.json", "Miller’s <b>.json"] {
        let put = desk.change("PUT", &format!("/do/file/{}", encoded(name)), super::client::SPEC);
        let answer = put.with("if-none-match", "*").send();
        assert_eq!(answer.status, if name.contains('<') { 400 } else { 200 }, "{name}: {answer:?}");
    }
    let folder = desk.get("/").send().text();
    assert!(folder.contains("s quote.json</a>") && folder.contains("quote – final.json"), "{folder}");
    let answer = desk.answered("sheet", &[("spec", "Miller's quote.json")]);
    assert!(answer.contains("answer done") && answer.contains("Saltmarsh"), "{answer}");
    for alike in ["PAIR.JSON", "Pair.json"] {
        let put = desk.change("PUT", &format!("/do/file/{alike}"), "{}").with("if-none-match", "*").send();
        assert_eq!(put.status, 412, "{alike}: {put:?}");
        let made = desk.form("/do/new", &[("name", alike), ("template", "spec")]).send();
        assert!(made.text().contains("there is a file of that name"), "{made:?}");
        assert!(!desk.path(alike).exists());
    }
}
