//! The jobs of a technician and a teacher, each from an empty folder to the result that they came for.

use super::{Desk, js, text_of};
use serde_json::json;

#[test]
fn a_technician_gets_from_an_empty_folder_to_build_papers_and_a_certificate() {
    let mut desk = Desk::empty();
    assert!(desk.text("document.querySelector('main').innerText").contains("Begin with one below"));
    desk.make("pair.json", "spec", "");
    assert!(desk.checked().contains("Right."), "{}", desk.checked());

    // A wrong unit is reported with its line and selected in the text. Once corrected, the spec is right again.
    let text = desk.text("document.getElementById('text').value");
    let own = text.replace("window bench", "pair of the north room").replace("0.12 ohm", "0.14 ohm");
    desk.write(&own.replace("\"spacing\": \"160 mm\"", "\"spacing\": \"160 mmm\""));
    let line = own.lines().position(|line| line.contains("\"spacing\"")).unwrap() + 1;
    let checked = desk.checked();
    assert!(checked.contains("Wrong") && checked.contains(&format!("line {line}")), "{checked}");
    assert!(checked.contains("“160 mmm” has the unknown unit “mmm”"), "{checked}");
    desk.page.evaluate("document.querySelector('#checked [data-line]').click()");
    let marked = desk.text("(() => { const it = document.getElementById('text'); return it.value.slice(it.selectionStart, it.selectionEnd); })()");
    assert!(marked.contains("160 mmm"), "{marked}");
    desk.write(&own);
    assert!(desk.save().contains("Saved"));
    assert_eq!(desk.holds("pair.json"), own);

    desk.follow("Data sheet");
    let sheet = desk.answered();
    assert!(sheet.text.contains("pair of the north room") && sheet.told.is_empty(), "{}", sheet.told);

    desk.go("file/pair.json");
    desk.follow("Build papers");
    let build = desk.press_ask();
    for paper in ["winding-sheet.html", "order-list.html", "test-sheet.html", "former.dxf", "build.json"] {
        assert!(build.files.iter().any(|name| name == paper), "{:?}", build.files);
    }
    assert!(desk.made("winding-sheet.html").contains("150"));

    // Readings pasted from a spreadsheet are separated by tabs.
    let pasted = text_of("readings.csv").replace(',', "\t");
    desk.make("readings.tsv", "", &pasted);
    assert_eq!(desk.holds("readings.tsv"), pasted);
    let filled = [
        ("spec", "pair.json"),
        ("readings", "readings.tsv"),
        ("register", "pair.register"),
        ("date", "2026-11-20"),
        ("by", "A. Technician"),
    ];
    desk.go("ask/calibrate");
    desk.fill(&filled);
    let calibration = desk.press_ask();
    assert!(calibration.text.contains("Line: B = k I + B0"), "{}{}", calibration.text, calibration.told);
    assert!(calibration.files.iter().any(|name| name == "certificate.html"), "{:?}", calibration.files);
    let certificate = desk.made("certificate.html");
    assert!(certificate.contains("A. Technician") && certificate.contains("2026-11-20"));
    desk.keep("calibration.json");
    assert!(desk.holds("calibration.json").contains("adopted_from"));
    // The answer stays in place when a file is kept.
    assert!(desk.text("document.getElementById('answer').innerText").contains("Line: B = k I + B0"));

    desk.go("");
    desk.follow("Register");
    let register = desk.answered_or_asked();
    assert!(
        register.text.contains("A. Technician") || register.text.contains("2026-11-20"),
        "{}",
        register.text
    );
    desk.is_quiet();
}

#[test]
fn a_teacher_gets_from_the_schools_spec_to_the_result_of_the_class() {
    let mut desk = Desk::empty();
    desk.make("school.json", "", &text_of("window-bench.json"));
    let beam = desk.ask("orbit", &[("spec", "school.json"), ("gun_voltage", "200 V"), ("current", "1.4 A")]);
    assert!(!beam.text.is_empty() && beam.told.is_empty(), "{}", beam.told);
    let drawn = desk.page.evaluate(
        "Promise.all([...document.querySelectorAll('#answer img')].map((it) => it.decode().then(() => it.naturalWidth > 100)))",
    );
    assert!(
        drawn.as_array().is_some_and(|drawn| !drawn.is_empty() && drawn.iter().all(|it| *it == json!(true))),
        "{drawn}"
    );

    let papers = desk.ask("lesson", &[("spec", "school.json")]);
    for paper in ["lesson.html", "worksheet.html", "answers.html", "runs.csv", "scale.html"] {
        assert!(papers.files.iter().any(|name| name == paper), "{:?}", papers.files);
    }
    // The lesson's page works in its tab as it does from the disk.
    let lesson = desk.text("[...document.querySelectorAll('#answer .made a')].find((it) => it.textContent === 'lesson.html').href");
    desk.page.visit(&lesson, "typeof window.bench === 'object'");
    assert!(desk.text("document.getElementById('values').textContent").contains("mm"));

    desk.make("class.csv", "", &text_of("runs.csv").replace(',', "\t"));
    let all = desk.ask("weigh", &[("spec", "school.json"), ("runs", "class.csv")]);
    assert!(all.text.contains("e/m"), "{}{}", all.text, all.told);
    // Leaving out a run in the form updates the answer.
    desk.page.evaluate(
        "(() => { const field = document.querySelector('form.ask [name=without]'); field.value = 'group 7'; \
         document.getElementById('answer').replaceChildren(); field.dispatchEvent(new Event('change', { bubbles: true })); })()",
    );
    let fewer = desk.answered();
    assert!(fewer.command.contains("'--without=group 7'"), "{}", fewer.command);
    assert!(fewer.text != all.text && fewer.text.contains("e/m"), "{}", fewer.told);
    desk.is_quiet();
}

impl Desk {
    /// The answer of a form that is answered by itself, or after pressing its button.
    fn answered_or_asked(&mut self) -> super::Answer {
        match self.page.evaluate("'follows' in document.querySelector('form.ask').dataset") == json!(true) {
            true => self.answered(),
            false => self.press_ask(),
        }
    }
}

#[test]
fn a_teacher_leaves_out_two_runs_at_once() {
    let mut desk = Desk::with(&["window-bench.json", "runs.csv"]);
    let filled = [("spec", "window-bench.json"), ("runs", "runs.csv"), ("without", "group 1\ngroup 7")];
    let answer = desk.ask("weigh", &filled);
    let told = js(&answer.told);
    assert!(answer.text.contains("e/m"), "{told}");
    assert!(answer.command.contains("'--without=group 1' '--without=group 7'"), "{}", answer.command);
}
