//! Tests of the bench's page, where everything can be moved: field at a point, map and beam.

use super::{Desk, js};
use serde_json::{Value, json};
use std::process::Command;

/// The numbers that the command `field` prints for one point.
fn by_command(desk: &Desk, spec: &str, point: [&str; 3], options: &[&str]) -> Vec<f64> {
    let table = desk.folder.path().join("point-of-test.csv");
    std::fs::write(&table, format!("x_mm,y_mm,z_mm\n{}\n", point.join(","))).unwrap();
    let printed = Command::new(env!("CARGO_BIN_EXE_coilwright"))
        .args(["field", spec, "--points", "point-of-test.csv"])
        .args(options)
        .current_dir(desk.folder.path())
        .output()
        .unwrap();
    std::fs::remove_file(table).unwrap();
    let text = String::from_utf8(printed.stdout).unwrap();
    numbers(text.lines().last().unwrap())
}

fn numbers(row: &str) -> Vec<f64> {
    row.split(',').map(|cell| cell.parse().unwrap_or_else(|_| panic!("{row}"))).collect()
}

/// The numbers that the page shows for the point in its fields.
fn by_page(desk: &mut Desk) -> Vec<f64> {
    let row =
        desk.text("document.querySelector('[data-field-at] pre').textContent.trim().split('\\n').at(-1)");
    numbers(&row)
}

fn coordinates(desk: &mut Desk) -> [String; 3] {
    ["x", "y", "z"]
        .map(|name| desk.text(&format!("document.querySelector('[data-field-at] [name={name}]').value")))
}

/// Position in the window of a point in the picture, given as fractions of the picture's width and height.
fn place(desk: &mut Desk, picture: &str, [across, down]: [f64; 2]) -> [f64; 2] {
    let place = desk.page.evaluate(&format!(
        "(() => {{ const it = document.querySelector({}); it.scrollIntoView({{ block: 'center' }}); const box = it.getBoundingClientRect(); \
         return [box.x + {across} * box.width, box.y + {down} * box.height]; }})()",
        js(picture)
    ));
    [0, 1].map(|at| place[at].as_f64().unwrap())
}

/// Waits until the shown field belongs to the coordinates in the fields.
fn settled(desk: &mut Desk) {
    desk.page.wait_for(
        "(() => { const part = document.querySelector('[data-field-at]'); const row = part.querySelector('pre')?.textContent.trim().split('\\n').at(-1)?.split(','); \
         return !!row && ['x', 'y', 'z'].every((name, at) => Math.abs(1000 * row[at] - parseFloat(part.querySelector(`[name=${name}]`).value)) < 1e-9); })()",
    );
}

fn millimetres(written: &str) -> &str {
    written.strip_suffix(" mm").unwrap()
}

#[test]
fn the_field_under_the_mouse_is_what_the_command_prints() {
    let mut desk = Desk::with(&["window-bench.json"]);
    desk.page.resize(1280, 900);
    desk.ask("uniformity", &[("spec", "window-bench.json"), ("within", "0.5 %")]);
    desk.page.wait_for("!!document.querySelector('[data-field-at] pre')");
    desk.page.evaluate("document.querySelector('[data-field-at] img').decode()");
    for spot in [[0.3, 0.5], [0.45, 0.35]] {
        let at = place(&mut desk, "[data-field-at] img", spot);
        desk.page.move_mouse(at);
        settled(&mut desk);
        let point = coordinates(&mut desk);
        assert!(point.iter().any(|it| !it.starts_with("0.0")), "{point:?}");
        let [x, y, z] = [0, 1, 2].map(|at| millimetres(&point[at]));
        assert_eq!(by_page(&mut desk), by_command(&desk, "window-bench.json", [x, y, z], &[]), "{point:?}");
    }
    // A click holds the point in spite of mouse movements; a second click releases it.
    let at = place(&mut desk, "[data-field-at] img", [0.4, 0.4]);
    desk.page.click_at(at);
    let held = coordinates(&mut desk);
    desk.page.move_mouse([at[0] + 40.0, at[1] + 30.0]);
    assert_eq!(coordinates(&mut desk), held);
    // Typed coordinates give the same, in any unit and at any current.
    desk.page.evaluate(
        "(() => { const part = document.querySelector('[data-field-at]'); for (const [name, value] of [['x', '1 cm'], ['y', '5 mm'], ['z', '-20 mm'], ['current', '1.4 A']]) \
         part.querySelector(`[name=${name}]`).value = value; part.querySelector('[name=z]').dispatchEvent(new Event('input', { bubbles: true })); })()",
    );
    desk.page.wait_for("document.querySelector('[data-field-at] pre')?.textContent.includes('-0.02')");
    let wanted = by_command(&desk, "window-bench.json", ["10", "5", "-20"], &["--current", "1.4 A"]);
    assert_eq!(by_page(&mut desk), wanted);
    // An error in a coordinate is shown in place of the field.
    desk.page.evaluate(
        "(() => { const it = document.querySelector('[data-field-at] [name=x]'); it.value = '1 furlong'; it.dispatchEvent(new Event('input', { bubbles: true })); })()",
    );
    desk.page.wait_for(
        "document.querySelector('[data-field-at] [role=alert]')?.textContent.includes('1 furlong')",
    );
    desk.is_quiet();
}

#[test]
fn the_room_and_the_design_count_where_the_question_counts_them() {
    let mut desk = Desk::with(&["quote-used.json", "window-bench.json"]);
    desk.ask("uniformity", &[("spec", "window-bench.json"), ("with_room", "on"), ("current", "1.4 A")]);
    desk.page.wait_for("!!document.querySelector('[data-field-at] pre')");
    let wanted =
        by_command(&desk, "window-bench.json", ["0", "0", "0"], &["--with-room", "--current", "1.4 A"]);
    assert_eq!(by_page(&mut desk), wanted);
    desk.ask("uniformity", &[("spec", "quote-used.json"), ("nominal", "on")]);
    desk.page.wait_for("!!document.querySelector('[data-field-at] pre')");
    assert_eq!(by_page(&mut desk), by_command(&desk, "quote-used.json", ["0", "0", "0"], &["--nominal"]));
    desk.is_quiet();
}

#[test]
fn on_the_bench_the_field_follows_edits_that_are_not_saved() {
    let mut desk = Desk::with(&["window-bench.json"]);
    desk.go("file/window-bench.json");
    desk.page.wait_for("!!document.querySelector('[data-field-at] pre')");
    let before = by_page(&mut desk);
    assert_eq!(before, by_command(&desk, "window-bench.json", ["0", "0", "0"], &[]));
    let row = "document.querySelector('[data-field-at] pre').textContent";
    let shown = js(&desk.text(row));
    let text = super::text_of("window-bench.json").replace("\"turns\": 150", "\"turns\": 120");
    desk.write(&text);
    desk.page.wait_for(&format!("{row} !== {shown}"));
    let after = by_page(&mut desk);
    assert!((after[5] / before[5] - 0.8).abs() < 1e-9, "{before:?} {after:?}");
    assert!(desk.holds("window-bench.json").contains("\"turns\": 150"));
    desk.is_quiet();
}

/// Types into a field of the bench, or moves its slider.
fn set(desk: &mut Desk, id: &str, value: &str) {
    desk.page.evaluate(&format!(
        "(() => {{ const it = document.getElementById({}); it.value = {}; it.dispatchEvent(new Event('input', {{ bubbles: true }})); }})()",
        js(id),
        js(value)
    ));
}

#[test]
fn the_beam_follows_everything_on_the_bench_and_is_what_the_command_tells() {
    let mut desk = Desk::with(&["window-bench.json"]);
    desk.go("ask/orbit?spec=window-bench.json");
    desk.follow("Move everything on the bench and watch the beam");
    let numbers = "document.querySelector('#beam pre').textContent";
    desk.page.wait_for(&format!("{numbers} !== '' && !document.getElementById('beam').hidden"));
    set(&mut desk, "fgun_voltage", "210 V");
    set(&mut desk, "fcurrent", "1.3 A");
    set(&mut desk, "fgun_tilt", "2 deg");
    desk.page.wait_for(&format!(
        "{numbers}.includes('210 V') && /1\\.3\\d* A/.test({numbers}) && {numbers}.includes('2.0')"
    ));
    let told = |desk: &mut Desk| {
        let text = desk.text(numbers);
        super::words(&text).into_iter().map(str::to_owned).collect::<Vec<_>>()
    };
    let printed = |desk: &Desk| {
        let printed = Command::new(env!("CARGO_BIN_EXE_coilwright"))
            .args([
                "orbit",
                "window-bench.json",
                "--gun-voltage",
                "210 V",
                "--current",
                "1.3 A",
                "--gun-tilt",
                "2 deg",
            ])
            .current_dir(desk.folder.path())
            .output()
            .unwrap();
        let text = String::from_utf8(printed.stdout).unwrap();
        super::words(&text).into_iter().map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(told(&mut desk), printed(&desk));
    // Coils, tube and gun are moved like the setting. Picture and numbers follow.
    let [image, canvas] =
        ["document.querySelector('#picture img')", "document.querySelector('#picture canvas')"];
    let picture = &format!("{image}.src");
    for (id, value) in [("f/spacing", "170 mm"), ("f/winding/turns", "140"), ("f/tube/gun_exit/0", "44 mm")] {
        let (before, seen) = (desk.text(numbers), desk.text(picture));
        set(&mut desk, id, value);
        desk.page.wait_for(&format!("{numbers} !== {} && {picture} !== {}", js(&before), js(&seen)));
    }
    assert!(desk.save().contains("Saved"));
    let same = |one: &[String], other: &[String]| {
        // Only the digest of the saved file differs.
        one.iter().zip(other).filter(|(a, b)| a != b).count() <= 1 && one.len() == other.len()
    };
    let (told, printed) = (told(&mut desk), printed(&desk));
    assert!(same(&told, &printed), "{told:?}\n{printed:?}");
    // A slider moves the current, and an unreadable value is reported at its field.
    let seen = desk.text(picture);
    desk.page.evaluate("(() => { const it = document.querySelector('[data-drags=fcurrent]'); it.value = 50; it.dispatchEvent(new Event('input', { bubbles: true })); })()");
    // While it is held the picture is a sketch of the same size in the same place; then it is a picture again.
    let place = |desk: &mut Desk, of: &str| {
        let box_of = format!(
            "(() => {{ const it = document.querySelector('#picture {of}').getBoundingClientRect(); return [it.left, it.width, it.height].map(Math.round); }})()"
        );
        desk.page.evaluate(&box_of)
    };
    desk.page.wait_for(&format!("!{canvas}.hidden && {image}.hidden"));
    let of_sketch = place(&mut desk, "canvas");
    let drawn = desk.page.evaluate(&format!(
        "(() => {{ const data = {canvas}.getContext('2d').getImageData(0, 0, {canvas}.width, {canvas}.height).data; \
         return new Set(new Uint32Array(data.buffer)).size; }})()"
    ));
    assert!(drawn.as_f64().unwrap() > 20.0, "{drawn} colours");
    assert_eq!(desk.text("document.getElementById('fcurrent').value"), "1.430 A");
    desk.page.evaluate("document.querySelector('[data-drags=fcurrent]').dispatchEvent(new Event('change', { bubbles: true }))");
    desk.page.wait_for(&format!("{canvas}.hidden && !{image}.hidden && {picture} !== {}", js(&seen)));
    assert_eq!(place(&mut desk, "img"), of_sketch);
    set(&mut desk, "fcurrent", "a lot");
    desk.page.wait_for("document.getElementById('fcurrent').getAttribute('aria-invalid') === 'true'");
    assert!(desk.text("document.getElementById('wcurrent').textContent").contains("a lot"));
    desk.is_quiet();
}

#[test]
fn map_and_beam_are_looked_at_in_turn_and_a_reload_keeps_which() {
    let mut desk = Desk::with(&["window-bench.json"]);
    desk.go("file/window-bench.json");
    desk.page.wait_for("!document.querySelector('[data-seen=map]').hidden");
    desk.page.evaluate("document.querySelector('[name=see][value=beam]').click()");
    desk.page.wait_for(
        "!document.getElementById('beam').hidden && document.querySelector('[data-seen=map]').hidden",
    );
    desk.page.load_anew("!!document.getElementById('beam') && !document.getElementById('beam').hidden");
    assert_eq!(desk.page.evaluate("document.querySelector('[name=see][value=beam]').checked"), json!(true));
    let shown: Value = desk.page.evaluate("document.querySelector('.settings').hidden");
    assert_eq!(shown, json!(false));
    desk.is_quiet();
}
