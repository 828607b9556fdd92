//! Tests of choosing a winding from the front, with the mouse in the picture or in the table.

use super::Desk;
use serde_json::json;
use std::process::Command;

fn chosen(desk: &mut Desk) -> String {
    desk.text("document.querySelector('#windings h3').textContent.trim()")
}

#[test]
fn a_winding_is_chosen_in_the_picture_or_the_table_and_kept_as_a_spec() {
    let mut desk = Desk::with(&["lessons.json"]);
    desk.page.resize(1280, 900);
    let found = desk.ask("size", &[("wanted", "lessons.json")]);
    assert!(found.files.iter().any(|name| name == "winding-1.json"), "{:?}", found.files);
    let rows = desk.page.evaluate("document.querySelectorAll('#windings tbody tr').length");
    assert!(rows.as_u64().unwrap() > 1, "{rows}");
    assert_eq!(chosen(&mut desk), "Winding 1");
    let first = desk.text("document.querySelector('#windings .facts').innerText");
    // By a click on its number in the picture.
    let place = desk.page.evaluate(
        "(() => { const it = [...document.querySelectorAll('#windings .choice')].find((it) => it.textContent.trim() === '2'); \
         it.scrollIntoView({ block: 'center' }); const box = it.querySelector('circle').getBoundingClientRect(); return [box.x + box.width / 2, box.y + box.height / 2]; })()",
    );
    let place = [0, 1].map(|at| place[at].as_f64().unwrap());
    desk.page.click_at(place);
    desk.page.wait_for("document.querySelector('#windings h3').textContent.trim() === 'Winding 2'");
    assert_ne!(first, desk.text("document.querySelector('#windings .facts').innerText"));
    // By keyboard in the table, where the focus stays.
    desk.page.evaluate("document.getElementById('winding-1').focus()");
    desk.page.press("Enter");
    desk.page.wait_for("document.querySelector('#windings h3').textContent.trim() === 'Winding 1'");
    assert_eq!(desk.text("document.activeElement.id"), "winding-1");
    assert_eq!(desk.text("document.querySelector('#windings .facts').innerText"), first);
    desk.page.evaluate("document.getElementById('winding-2').click()");
    desk.page.wait_for("document.querySelector('#windings h3').textContent.trim() === 'Winding 2'");
    // The numbers are those of the table that the command prints.
    let cells = desk
        .page
        .evaluate("[...document.querySelectorAll('#windings tr.chosen td')].map((it) => it.textContent)");
    let line = found
        .text
        .lines()
        .filter(|line| line.contains(cells[0].as_str().unwrap()))
        .find(|line| cells.as_array().unwrap().iter().all(|cell| line.contains(cell.as_str().unwrap())));
    assert!(line.is_some(), "{cells} in\n{}", found.text);
    desk.page.evaluate("(() => { const it = document.getElementById('keep-winding'); it.value = 'chosen.json'; it.form.querySelector('button').click(); })()");
    desk.page.wait_for("document.querySelector('#windings .kept').innerText.includes('chosen.json')");
    desk.go("file/chosen.json");
    assert!(desk.checked().contains("Right"), "{}", desk.checked());
    // The kept spec is the second of those that the command writes.
    let copy = tempfile::tempdir().unwrap();
    let wishes = super::example("lessons.json");
    let written = Command::new(env!("CARGO_BIN_EXE_coilwright"))
        .arg("size")
        .arg(wishes)
        .args(["--out", "out"])
        .current_dir(copy.path())
        .output()
        .unwrap();
    assert!(written.status.success());
    let second = std::fs::read_to_string(copy.path().join("out/winding-2.json")).unwrap();
    assert_eq!(desk.holds("chosen.json"), second);
    desk.is_quiet();
}

#[test]
fn a_search_without_an_answer_offers_no_winding() {
    let mut desk = Desk::with(&["lessons.json"]);
    let hard = super::text_of("lessons.json").replace("\"30 V\"", "\"1 V\"");
    std::fs::write(desk.path_of("hard.json"), hard).unwrap();
    let found = desk.ask("size", &[("wanted", "hard.json")]);
    assert!(found.text.contains("Nothing meets every wish"), "{}{}", found.text, found.told);
    assert_eq!(desk.page.evaluate("document.getElementById('windings')"), json!(null));
    desk.is_quiet();
}
