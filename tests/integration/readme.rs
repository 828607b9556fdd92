//! The README's commands print what the README shows.

use std::path::{Path, PathBuf};
use std::process::Command;

/// Commands that the toolchain runs, not the program; everything else in a console block is run and compared.
const LEFT_TO_CARGO: [&str; 2] = ["cargo test", "cargo install --path ."];

/// One command of a console block and the output shown under it.
struct Shown {
    line: usize,
    command: String,
    output: Vec<String>,
}

/// Every command of every ```console block.
fn shown_commands(readme: &str) -> Vec<Shown> {
    let mut shown: Vec<Shown> = Vec::new();
    let mut inside = false;
    for (index, line) in readme.lines().enumerate() {
        if line.starts_with("```") {
            inside = line == "```console";
        } else if let (true, Some(command)) = (inside, line.strip_prefix("$ ")) {
            shown.push(Shown { line: index + 1, command: command.into(), output: Vec::new() });
        } else if let (true, Some(last)) = (inside, shown.last_mut()) {
            last.output.push(line.into());
        }
    }
    shown
}

/// Splits a command line at blanks outside double quotes.
pub fn words(command: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for letter in command.chars() {
        match letter {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            _ => words.last_mut().unwrap().push(letter),
        }
    }
    words.retain(|word| !word.is_empty());
    words
}

/// Whether the lines printed are those shown; a line `...` stands for any number of lines.
fn agrees(shown: &[String], printed: &[&str]) -> bool {
    match shown.split_first() {
        None => printed.is_empty(),
        Some((first, rest)) if first == "..." => {
            (0..=printed.len()).any(|skipped| agrees(rest, &printed[skipped..]))
        }
        Some((first, rest)) => printed
            .split_first()
            .is_some_and(|(line, after)| line.trim_end() == first.trim_end() && agrees(rest, after)),
    }
}

/// Copies the files of a folder, not the folders in it.
pub fn copy_folder(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() {
            std::fs::copy(&path, to.join(path.file_name().unwrap())).unwrap();
        }
    }
}

#[test]
fn every_readme_command_prints_what_the_readme_shows() {
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    let readme = std::fs::read_to_string(root.join("README.md")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    for name in ["coil-specs", "lab-files"] {
        copy_folder(&root.join(name), &folder.path().join(name));
    }
    let mut ran = 0;
    for shown in shown_commands(&readme) {
        if LEFT_TO_CARGO.contains(&shown.command.as_str()) {
            continue;
        }
        let program = shown
            .command
            .strip_prefix("cargo run --release -- ")
            .or_else(|| shown.command.strip_prefix("coilwright "))
            .unwrap_or_else(|| {
                panic!("README line {}: not a command of ours: {}", shown.line, shown.command)
            });
        let output = Command::new(env!("CARGO_BIN_EXE_coilwright"))
            .args(words(program))
            .current_dir(folder.path())
            .output()
            .unwrap();
        let printed = String::from_utf8(output.stdout).unwrap() + &String::from_utf8(output.stderr).unwrap();
        assert!(
            agrees(&shown.output, &printed.lines().collect::<Vec<_>>()),
            "README line {}: {}\nshows:\n{}\nprints:\n{printed}",
            shown.line,
            shown.command,
            shown.output.join("\n")
        );
        ran += 1;
    }
    assert!(ran >= 5, "only {ran} commands found in README.md");
}

#[test]
fn elisions_match_any_lines_and_nothing_else_does() {
    let shown = |lines: &[&str]| lines.iter().map(|line| line.to_string()).collect::<Vec<_>>();
    assert!(agrees(&shown(&["a", "...", "d"]), &["a", "b", "c", "d"]));
    assert!(agrees(&shown(&["..."]), &[]));
    assert!(!agrees(&shown(&["a", "...", "d"]), &["a", "b", "c"]));
    assert!(!agrees(&shown(&["a"]), &["a", "b"]));
}
