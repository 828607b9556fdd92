//! Running the program as a user does.

use serde_json::Value;
use std::process::{Command, Output};

/// The path of an example file.
pub fn example(name: &str) -> String {
    format!("{}/coil-specs/{name}", env!("CARGO_MANIFEST_DIR"))
}

/// Runs the program and waits for it.
pub fn run(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_coilwright")).args(arguments).output().unwrap()
}

/// What it prints as JSON; it must succeed and print nothing else.
pub fn json(arguments: &[&str]) -> Value {
    let output = run(arguments);
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    assert!(output.stderr.is_empty(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

/// What it prints for people; it must succeed.
pub fn text(arguments: &[&str]) -> String {
    let output = run(arguments);
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// The exit status and what it says on standard error; it must fail and print nothing on standard output.
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
