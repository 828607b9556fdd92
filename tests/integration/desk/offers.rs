//! What the pages offer: earlier contents, the command of a form as it stands, and names for new files.

use super::client::{Desk, SPEC};

#[test]
fn what_a_save_replaced_is_listed_opened_and_restored_and_the_present_one_is_kept() {
    let desk = Desk::new();
    let tag = desk.get("/file/pair.json").send().text();
    let tag = tag.split("data-tag=\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
    let newer = SPEC.replace("\"spacing\": \"160 mm\"", "\"spacing\": \"161 mm\"");
    let save =
        desk.change("PUT", "/do/file/pair.json", newer.clone()).with("if-match", &format!("\"{tag}\""));
    assert_eq!(save.status(), 200);
    let links = || -> Vec<String> {
        let page = desk.get("/file/pair.json").send().text();
        let is_ours = |text: &&str| text.starts_with("/earlier/") || text.starts_with("/do/restore/");
        page.split('"').filter(is_ours).map(str::to_owned).collect()
    };
    let [opened, restored] = &links()[..] else { panic!("{:?}", links()) };
    assert_eq!(desk.get(opened).send().text(), SPEC);
    assert_eq!(desk.get(opened.split('?').next().unwrap()).status(), 403, "without its key");
    let back = desk.change("POST", restored, "").send();
    assert_eq!(back.header("hx-redirect"), Some("/file/pair.json"), "{back:?}");
    assert_eq!(std::fs::read_to_string(desk.path("pair.json")).unwrap(), SPEC);
    assert_eq!(links().len(), 4);
    let is_kept =
        links().iter().any(|link| link.starts_with("/earlier/") && desk.get(link).send().text() == newer);
    assert!(is_kept, "what was restored over");
    for nowhere in ["/earlier/pair.json/1", "/earlier/..%2Fpair.json/1", "/earlier/pair.json/x"] {
        assert!(desk.data(nowhere).status() >= 400, "{nowhere}");
    }
}

#[test]
fn the_command_the_address_and_the_archive_follow_the_form() {
    let desk = Desk::new();
    let told = desk.form("/do/tools/map", &[("spec", "pair.json"), ("current", "1.4 A")]).send().text();
    for part in [
        "map pair.json",
        "--current=1.4 A",
        "--out=papers",
        "ask/map?spec=pair.json&amp;current=1.4%20A",
        "file=pair.json",
    ] {
        assert!(told.contains(part) || told.replace("&#39;", "'").contains(part), "{part}: {told}");
    }
    let told = desk.form("/do/tools/map", &[("spec", ""), ("current", "1.4 A")]).send().text();
    assert!(told.contains("map --help"), "{told}");
    let beam = desk.get("/ask/orbit?spec=pair.json").send().text();
    assert!(beam.contains("\n200 V</textarea>") && beam.contains("submit, change, load"), "{beam}");
}

#[test]
fn a_name_without_an_ending_gets_that_of_its_contents() {
    let desk = Desk::new();
    for (name, template, made) in [
        ("readings 2026", "blank-readings", "readings 2026.csv"),
        ("north room", "blank-spec", "north room.json"),
        ("com", "blank-wishes", "com.json"),
    ] {
        let told = desk.form("/do/new", &[("name", name), ("template", template), ("text", "")]).send();
        assert!(told.header("hx-redirect").is_some(), "{name}: {told:?}");
        assert!(desk.path(made).exists(), "{made}");
    }
}

#[test]
fn a_lesson_runs_under_any_name_and_no_other_page_does() {
    let desk = Desk::new();
    let policy =
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; script-src 'sha256-x'\">";
    desk.put("Friday.html", format!("<!doctype html><head>{policy}</head><script>1</script>"));
    desk.put("lesson.html", "<!doctype html><script>1</script>");
    desk.put("late.html", format!("<!doctype html><script>1</script>{policy}"));
    for (name, runs) in [("Friday.html", true), ("lesson.html", false), ("late.html", false)] {
        let shown = desk.data(&format!("/kept/{name}")).send();
        let policy = shown.header("content-security-policy").unwrap();
        assert!(policy.starts_with("sandbox"), "{policy}");
        assert_eq!(policy.contains("allow-scripts"), runs, "{name}: {policy}");
    }
}

#[test]
fn the_folder_shows_specs_first_and_blank_forms_of_every_kind() {
    let desk = Desk::new();
    desk.put("a.csv", "current_A,field_mT\n1,0.8\n");
    let page = desk.get("/").send().text();
    assert!(page.find("pair.json").unwrap() < page.find("a.csv").unwrap());
    for kind in ["spec", "wishes", "measurements", "limits", "readings", "runs", "warm-up", "points"] {
        assert!(page.contains(&format!("value=\"blank-{kind}\"")), "{kind}");
    }
}
