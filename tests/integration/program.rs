//! Running the program as a user does.

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// The path of an example file.
pub fn example(name: &str) -> String {
    format!("{}/coil-specs/{name}", env!("CARGO_MANIFEST_DIR"))
}

/// The path of a file that only tests read.
pub fn data(name: &str) -> String {
    format!("{}/tests/data/{name}", env!("CARGO_MANIFEST_DIR"))
}

/// Runs the program and waits for it.
pub fn run(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_coilwright")).args(arguments).output().unwrap()
}

/// The JSON that the program prints; it must succeed and print nothing else.
pub fn json(arguments: &[&str]) -> Value {
    let output = run(arguments);
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    assert!(output.stderr.is_empty(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

/// The text that the program prints; it must succeed.
pub fn text(arguments: &[&str]) -> String {
    let output = run(arguments);
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// The exit status and standard error; the program must fail and print nothing on standard output.
pub fn failure(arguments: &[&str]) -> (i32, String) {
    let output = run(arguments);
    assert!(!output.status.success(), "{arguments:?} succeeded");
    assert!(output.stdout.is_empty(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stdout));
    (output.status.code().unwrap(), String::from_utf8(output.stderr).unwrap())
}

/// The number at a JSON pointer.
pub fn number(record: &Value, pointer: &str) -> f64 {
    record
        .pointer(pointer)
        .and_then(Value::as_f64)
        .unwrap_or_else(|| panic!("no number at {pointer}: {record}"))
}

/// The outputs and exit status of one run.
#[derive(Debug)]
pub struct Run {
    pub stdout: String,
    pub stderr: String,
    pub status: Option<i32>,
}

/// Runs the program in a folder of the test's own.
pub fn run_in(folder: &Path, arguments: &[&str]) -> Run {
    let mut command = Command::new(env!("CARGO_BIN_EXE_coilwright"));
    let Output { status, stdout, stderr } = command.args(arguments).current_dir(folder).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    Run { stdout: text(stdout), stderr: text(stderr), status: status.code() }
}

/// The example specs, in a fixed order.
pub fn example_specs() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("coil-specs");
    let mut specs: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "json"))
        .collect();
    specs.sort();
    specs
}
