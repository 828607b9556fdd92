//! Tests of the desk as people use it: a folder, the program that serves it, and a browser.

mod bench;
mod buyer;
mod carried;
mod files;
mod first;
mod jobs;
mod moved;
mod pages;
mod promptness;
mod same;
mod typing;
mod unsent;
mod windings;
mod wrong;

use super::chromium::Page;
use serde_json::{Value, json};
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

/// A filled form: fields with their values.
type Filled<'a> = &'a [(&'a str, &'a str)];

/// The program with a folder, and a browser that has entered.
struct Desk {
    program: Child,
    folder: tempfile::TempDir,
    base: String,
    page: Page,
}

/// What is shown below a form.
struct Answer {
    /// The printed text.
    text: String,
    /// Warnings, or the reason for a failure.
    told: String,
    /// The command shown, as a user would type it.
    command: String,
    /// Names of the files offered.
    files: Vec<String>,
}

/// Path of an example that comes with the program.
fn example(name: &str) -> PathBuf {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let places = ["coil-specs", "lab-files", "tests/data/quotes"].map(|place| root.join(place).join(name));
    places.into_iter().find(|path| path.exists()).unwrap()
}

fn text_of(name: &str) -> String {
    std::fs::read_to_string(example(name)).unwrap()
}

/// A text as a JavaScript expression.
fn js(text: &str) -> Value {
    Value::from(text)
}

impl Desk {
    /// Serves a folder with these examples, and enters through the printed address.
    fn with(examples: &[&str]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        for name in examples {
            std::fs::copy(example(name), folder.path().join(name)).unwrap();
        }
        let mut program = Command::new(env!("CARGO_BIN_EXE_coilwright"))
            .args(["desk", "--no-browser"])
            .arg(folder.path())
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut address = String::new();
        BufReader::new(program.stdout.take().unwrap()).read_line(&mut address).unwrap();
        let base = address.split("/open").next().unwrap().to_owned();
        let mut page = Page::start();
        page.visit(address.trim(), "true");
        page.wait_for("location.pathname === '/' && document.readyState === 'complete' && !!document.querySelector('h1')");
        Self { program, folder, base, page }
    }

    fn empty() -> Self {
        Self::with(&[])
    }

    /// Goes to a page by its address, without the leading slash.
    fn go(&mut self, path: &str) {
        let url = format!("{}/{path}", self.base);
        self.page.visit(&url, "!!document.querySelector('h1')");
    }

    /// Follows the link with this text, preferably one in the page itself.
    fn follow(&mut self, text: &str) {
        let link = js(text);
        self.page.evaluate(&format!(
            "window.isLeft = true; [...document.querySelectorAll('main a'), ...document.querySelectorAll('a')] \
             .find((it) => it.textContent.trim() === {link}).click()"
        ));
        self.page.wait_for(
            "!window.isLeft && document.readyState === 'complete' && !!document.querySelector('h1')",
        );
    }

    fn title(&mut self) -> String {
        self.text("document.querySelector('h1').textContent")
    }

    fn text(&mut self, expression: &str) -> String {
        self.page.evaluate(expression).as_str().unwrap_or_default().to_owned()
    }

    fn path_of(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn holds(&self, name: &str) -> String {
        std::fs::read_to_string(self.path_of(name)).unwrap()
    }

    /// Makes a file on the folder's page, from an example or a pasted text. The file's page is open afterwards.
    fn make(&mut self, name: &str, template: &str, pasted: &str) {
        self.go("");
        for (field, value) in [("new-name", name), ("new-template", template), ("new-text", pasted)] {
            let value = js(value);
            self.page.evaluate(&format!("document.getElementById('{field}').value = {value}"));
        }
        self.page.evaluate("document.querySelector('[data-new] button').click()");
        let title = js(name);
        self.page.wait_for(&format!(
            "document.readyState === 'complete' && document.querySelector('h1')?.textContent === {title}"
        ));
    }

    /// Replaces the text in the editor as typing does, and waits until it is checked.
    fn write(&mut self, text: &str) {
        let text = js(text);
        self.page.evaluate(&format!(
            "(() => {{ document.querySelector('#checked').replaceChildren(); const area = document.getElementById('text'); \
             area.value = {text}; area.dispatchEvent(new Event('input', {{ bubbles: true }})); }})()"
        ));
        self.page.wait_for("!!document.querySelector('#checked .verdict')");
    }

    fn checked(&mut self) -> String {
        self.text("document.getElementById('checked').innerText")
    }

    /// Saves the file. Returns the message shown.
    fn save(&mut self) -> String {
        self.page.evaluate("document.getElementById('file-told').textContent = ''; document.querySelector('form[data-file] button').click()");
        self.page.wait_for("document.getElementById('file-told').textContent !== ''");
        self.text("document.getElementById('file-told').innerText")
    }

    /// Fills in the page's form. Fields that are not named stay as they are.
    fn fill(&mut self, filled: Filled) {
        for (name, value) in filled {
            let value = js(value);
            let found = self.page.evaluate(&format!(
                "(() => {{ const fields = [...document.querySelectorAll('form.ask [name={name}]')];
                   for (const field of fields) {{
                     if (field.type !== 'checkbox') field.value = {value};
                     else if (field.value === {value}) field.checked = true;
                   }}
                   return fields.some((field) => field.value === {value}); }})()"
            ));
            assert_eq!(found, json!(true), "{name} cannot be {value}");
        }
    }

    /// Presses Ask and waits for the answer.
    fn press_ask(&mut self) -> Answer {
        self.page.evaluate("document.getElementById('answer').replaceChildren(); document.querySelector('form.ask .row button').click()");
        self.answered()
    }

    /// Waits for an answer. Returns all of it.
    fn answered(&mut self) -> Answer {
        self.page.wait_for("!!document.querySelector('#answer > .answer, #answer > .alert')");
        let told = self.text("document.querySelector('#answer .alert')?.textContent ?? ''");
        let text = self.text(
            "[...document.querySelectorAll('#answer section.said > *')].map((it) => it.tagName === 'UL' || it.tagName === 'DL' ? \
             [...it.children].map((line) => line.textContent).join('\\n') : it.textContent).join('\\n')",
        );
        let command = self.text("document.querySelector('#answer [data-copy]')?.textContent ?? ''");
        let files = self
            .page
            .evaluate("[...document.querySelectorAll('#answer .made a')].map((it) => it.textContent)");
        let files = files.as_array().unwrap().iter().map(|name| name.as_str().unwrap().to_owned()).collect();
        Answer { text, told, command, files }
    }

    /// Asks a question on its own page.
    fn ask(&mut self, command: &str, filled: Filled) -> Answer {
        self.go(&format!("ask/{command}"));
        self.fill(filled);
        self.press_ask()
    }

    /// Keeps a file of the answer in the folder under its own name.
    fn keep(&mut self, name: &str) {
        let wanted = js(name);
        self.page.evaluate(&format!(
            "[...document.querySelectorAll('#answer .made li')].find((it) => it.querySelector('a').textContent === {wanted}) \
             .querySelector('form button').click()"
        ));
        self.page.wait_for(&format!(
            "[...document.querySelectorAll('#answer .kept')].some((it) => it.innerText.includes({wanted}))"
        ));
    }

    /// Contents of a file of the answer, as the browser gets them.
    fn made(&mut self, name: &str) -> String {
        let wanted = js(name);
        self.text(&format!(
            "(async () => (await fetch([...document.querySelectorAll('#answer .made a')].find((it) => it.textContent === {wanted}).href)).text())()"
        ))
    }

    /// Asserts that the console has no complaints and that no page broke its policy.
    fn is_quiet(&self) {
        assert_eq!(self.page.complaints(), [] as [String; 0]);
    }
}

impl Drop for Desk {
    fn drop(&mut self) {
        // Kills the program. Errors are ignored, because it may have ended already. The folder is removed with the
        // test.
        let _ = self.program.kill();
        let _ = self.program.wait();
    }
}

/// The words of a text, without the rules below headings, the marks of list items, and the spaces between columns.
fn words(text: &str) -> Vec<&str> {
    text.split_whitespace().filter(|word| !word.chars().all(|it| matches!(it, '-' | '='))).collect()
}
