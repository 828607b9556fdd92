//! The program's exact outputs, kept in `tests/outputs`: the texts and files of every command, for right and wrong
//! input.
//!
//! `COILWRIGHT_KEEP_OUTPUTS=1 cargo test --test integration outputs` keeps the current outputs.

mod cases;
pub mod compare;
pub mod workbook;
mod wrong;

pub use wrong::{BARE, cancelling};

use crate::program::Run;
use crate::readme::{copy_folder, words};
use cases::{Case, Form};
use compare::difference;
use rayon::prelude::*;
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

/// The outputs of a case: each kept file's name and text.
type Outputs = BTreeMap<String, String>;

/// Set to 1, the current outputs become the kept ones.
const KEEP: &str = "COILWRIGHT_KEEP_OUTPUTS";
/// Most differences shown; a changed word in a caution would otherwise fill pages.
const SHOWN: usize = 12;

/// Bytes of a picture's line that are kept as they are.
const LONGEST: usize = 600;

fn kept_folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/outputs")
}

#[test]
fn every_output_is_as_kept() {
    let cases = cases::all();
    let names: BTreeSet<&str> = cases.iter().map(|case| case.name.as_str()).collect();
    assert_eq!(names.len(), cases.len(), "two cases have one name");
    let outputs: BTreeMap<String, String> = cases
        .par_iter()
        .flat_map_iter(|case| {
            outputs_of(case).into_iter().map(|(file, text)| (format!("{}/{file}", case.name), text))
        })
        .collect();
    let kept = kept_outputs();
    let differences = differences(&outputs, &kept);
    if std::env::var(KEEP).is_ok_and(|value| value == "1") {
        return keep(&outputs, &differences);
    }
    let shown: String =
        differences.values().take(SHOWN).map(|difference| format!("\n{difference}\n")).collect();
    assert!(
        differences.is_empty(),
        "{} of {} outputs are not as kept in tests/outputs; the first {}:\n{shown}\n\
         If they are meant to be so, run `{KEEP}=1 cargo test --test integration outputs` and read the diff before \
         committing it.",
        differences.len(),
        outputs.len().max(kept.len()),
        differences.len().min(SHOWN),
    );
}

/// Each file that differs from the kept one, with a description of the difference.
fn differences(outputs: &Outputs, kept: &Outputs) -> BTreeMap<String, String> {
    let names: BTreeSet<&String> = outputs.keys().chain(kept.keys()).collect();
    names
        .into_iter()
        .filter_map(|name| {
            let said = match (outputs.get(name), kept.get(name)) {
                (Some(got), Some(wanted)) => {
                    let found = difference(name, got, wanted)?;
                    format!(
                        "{name}, line {}\n  got:    {}\n  wanted: {}",
                        found.line, found.got, found.wanted
                    )
                }
                (Some(_), None) => format!("{name}: not kept so far"),
                (None, _) => format!("{name}: kept, but no case gives it"),
            };
            Some((name.clone(), said))
        })
        .collect()
}

/// Writes and removes only files that differ, so that last digits of another machine change nothing.
fn keep(outputs: &Outputs, differences: &BTreeMap<String, String>) {
    for name in differences.keys() {
        let path = kept_folder().join(name);
        match outputs.get(name) {
            Some(text) => {
                fs::create_dir_all(path.parent().unwrap()).unwrap();
                fs::write(path, text).unwrap();
            }
            None => fs::remove_file(path).unwrap(),
        }
    }
}

fn kept_outputs() -> Outputs {
    let folder = kept_folder();
    files_below(&folder)
        .into_iter()
        .map(|(name, bytes)| {
            let text = String::from_utf8(bytes).unwrap_or_else(|_| panic!("{name} is no text"));
            (name, text)
        })
        .collect()
}

/// Every file in a folder and the folders in it, by its path from there.
fn files_below(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut files = BTreeMap::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(next) = folders.pop() {
        // A folder that does not exist yet counts as empty.
        for entry in fs::read_dir(next).into_iter().flatten() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let name = path.strip_prefix(folder).unwrap().to_str().unwrap().replace('\\', "/");
                files.insert(name, fs::read(path).unwrap());
            }
        }
    }
    files
}

/// Runs a case in each of its forms.
fn outputs_of(case: &Case) -> Outputs {
    let mut outputs = Outputs::new();
    let mut calls = String::new();
    for form in case.forms {
        let (call, run, files) = run_in_folder(case, *form);
        // A negative verdict is an answer too: it is on standard output, with status 1.
        let refused = run.status == Some(1) && !run.stdout.is_empty();
        let as_meant = if case.name.starts_with("wrong/") {
            run.status != Some(0)
        } else {
            run.status == Some(0) || refused
        };
        assert!(as_meant, "{}: {run:?}", case.name);
        writeln!(calls, "$ coilwright {call}\nexit status {}", run.status.unwrap()).unwrap();
        let named = match form {
            Form::Text => "",
            Form::Json => "json-",
            Form::Out => "out-",
        };
        let is_json = words(&call).iter().any(|word| word == "--json") || call.starts_with("schema");
        let ending = match call.split(' ').next() {
            _ if is_json => "json",
            Some("field") => "csv",
            _ => "txt",
        };
        for (name, text) in
            [(format!("{named}stdout.{ending}"), run.stdout), (format!("{named}stderr.txt"), run.stderr)]
        {
            if !text.is_empty() {
                add(&mut outputs, name, &text);
            }
        }
        for (name, bytes) in files {
            let (name, text) = as_text(name, bytes);
            add(&mut outputs, name, &text);
        }
    }
    outputs.insert("calls.txt".into(), calls);
    outputs
}

/// Keeps a text under its name, unless the case already has the same text.
fn add(outputs: &mut Outputs, name: String, text: &str) {
    let text = without_version(text);
    let same = outputs.iter().find(|(_, other)| **other == text).map(|(other, _)| other.clone());
    outputs.insert(name, same.map_or(text, |other| format!("the same as {other}\n")));
}

fn without_version(text: &str) -> String {
    text.replace(concat!("coilwright ", env!("CARGO_PKG_VERSION")), "coilwright VERSION")
}

/// The kept form of a file that the program wrote.
fn as_text(name: String, bytes: Vec<u8>) -> (String, String) {
    if name.ends_with(".png") {
        assert!(bytes.starts_with(b"\x89PNG\r\n\x1a\n"), "{name} is no PNG");
        return (format!("{name}.txt"), "a PNG picture\n".into());
    }
    if name.ends_with(".xlsx") {
        return (format!("{name}.txt"), workbook::cells_as_text(&bytes));
    }
    let text = String::from_utf8(bytes).unwrap_or_else(|_| panic!("{name} is no text"));
    match name.ends_with(".svg") || name.ends_with(".html") {
        true => (name, text.lines().map(shortened).collect()),
        false => (name, text),
    }
}

/// A line of a picture; for a long curve, its beginning, its length and its digest.
fn shortened(line: &str) -> String {
    if line.len() <= LONGEST {
        return format!("{line}\n");
    }
    let beginning: String = line.chars().take(LONGEST / 16).collect();
    let digest: String = Sha256::digest(line).iter().take(8).map(|byte| format!("{byte:02x}")).collect();
    format!("{beginning} ... {} bytes, SHA-256 {digest}...\n", line.len())
}

/// Runs one call in a folder of its own with copies of the examples; returns the files that it wrote.
fn run_in_folder(case: &Case, form: Form) -> (String, Run, BTreeMap<String, Vec<u8>>) {
    let folder = tempfile::tempdir().unwrap();
    for name in ["coil-specs", "lab-files"] {
        copy_folder(&Path::new(env!("CARGO_MANIFEST_DIR")).join(name), &folder.path().join(name));
    }
    for (name, text) in &case.files {
        let path = folder.path().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
    for call in &case.first {
        let run = run_portable(folder.path(), call);
        assert_eq!(run.status, Some(0), "{}: {run:?}", case.name);
    }
    let before = files_below(folder.path());
    let call = match form {
        Form::Text => case.call.clone(),
        Form::Json => format!("{} --json", case.call),
        Form::Out => format!("{} --out out", case.call),
    };
    let run = run_portable(folder.path(), &call);
    let mut after = files_below(folder.path());
    after.retain(|name, bytes| before.get(name) != Some(bytes));
    (call, run, after)
}

/// Runs the program with arithmetic that is the same on every machine.
fn run_portable(folder: &Path, call: &str) -> Run {
    let words = words(call);
    let arguments: Vec<&str> = ["--portable"].into_iter().chain(words.iter().map(String::as_str)).collect();
    crate::program::run_in(folder, &arguments)
}
