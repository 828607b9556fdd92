//! Imports run one way: between folders as [`ORDER`] allows, and nowhere in a circle.
//!
//! Every path of every source is followed through re-exports and globs to the file that defines the item it names. A
//! `mod`, and a `pub use` of a module below the file, do not count as imports. Methods are not followed: code that
//! calls one has named its type, or received the value from code that has, and a type's methods stand in the place
//! that defines the type. `COILWRIGHT_SHOW_IMPORTS=1 cargo test layering -- --nocapture` prints every import.

mod arrows;
mod circles;
mod phrases;
mod small_trees;
mod source;
mod tokens;
mod tree;
mod walk;

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use arrows::{Arrow, Imports};
use tree::{Sources, Tree};

/// The order: a place directly below `src`, and the places it may import. `lib.rs` and `main.rs` may import all.
const ORDER: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("constants", &[]),
    ("error", &["units"]),
    ("numeric", &["error"]),
    ("judgement", &["error", "numeric"]),
    ("pair", &["error", "constants", "numeric", "units"]),
    ("physics", &["error", "constants", "numeric", "units", "pair"]),
    ("files", &["error", "constants", "numeric", "units", "pair"]),
    ("paper", &["error", "units"]),
    (
        "questions",
        &["error", "constants", "numeric", "units", "judgement", "pair", "physics", "files", "paper"],
    ),
    ("desk", &["error", "numeric", "units", "pair", "physics", "files", "paper", "questions"]),
    (
        "program",
        &[
            "error",
            "constants",
            "numeric",
            "units",
            "judgement",
            "pair",
            "physics",
            "files",
            "questions",
            "desk",
        ],
    ),
];

/// A question, and the other questions it may import.
const QUESTIONS: &[(&str, &[&str])] = &[
    ("build", &["tolerance", "files", "words"]),
    ("accept", &["check", "identify", "files", "words"]),
    ("calibrate", &["files", "words"]),
    ("check", &["words"]),
    ("compare", &["sheet", "size", "files", "words"]),
    ("field", &["words"]),
    ("heat", &["files", "words"]),
    ("identify", &["words"]),
    ("lesson", &["orbit", "weigh", "files", "words"]),
    ("map", &["uniformity", "files", "picture", "words"]),
    ("orbit", &["calibrate", "files", "picture", "words"]),
    ("register", &["calibrate", "files", "words"]),
    ("sheet", &["uniformity", "words"]),
    ("size", &["files", "words"]),
    ("tender", &["size", "files", "words"]),
    ("tolerance", &["uniformity", "files", "words"]),
    ("uniformity", &["words"]),
    ("weigh", &["orbit", "calibrate", "files", "words"]),
];

/// The files or folders of a question that may import `paper`.
const ON_PAPER: &[&str] = &["words", "picture", "files"];

/// The folders of `file` and the file itself, without `.rs`; the file that opens a folder is `mod` in it.
fn places(file: &str, sources: &Sources) -> Vec<String> {
    let stem = file.trim_end_matches(".rs");
    let opens = format!("{stem}/");
    let mut places: Vec<String> = stem.split('/').map(String::from).collect();
    if sources.keys().any(|other| other.starts_with(&opens)) {
        places.push("mod".into());
    }
    places
}

/// Whether the table lets `from` import `to`.
fn allows(table: &[(&str, &[&str])], from: &str, to: &str) -> bool {
    table.iter().any(|(place, may_import)| *place == from && may_import.contains(&to))
}

/// Why an import runs against the order. `None` if it does not.
fn against(from: &[String], to: &[String]) -> Option<String> {
    let against = |level: usize| Some(format!("{} -> {}", from[..level].join("/"), to[..level].join("/")));
    if from[0] != to[0] {
        let on_paper = || from[1..].iter().any(|place| ON_PAPER.contains(&place.as_str()));
        let kept_off_paper = from[0] == "questions" && to[0] == "paper" && !on_paper();
        return if kept_off_paper {
            Some(format!(
                "{} -> paper, which only a question's {} import",
                from.join("/"),
                ON_PAPER.join(", ")
            ))
        } else if allows(ORDER, &from[0], &to[0]) {
            None
        } else {
            against(1)
        };
    }
    if from[0] == "questions" && from[1] != to[1] && !allows(QUESTIONS, &from[1], &to[1]) {
        return against(2);
    }
    None
}

fn is_root(file: &str) -> bool {
    ["lib.rs", "main.rs"].contains(&file)
}

/// Whether both files are of one place: of one question, else of one folder directly below `src`.
fn of_one_place(arrow: &Arrow, sources: &Sources) -> bool {
    let (from, to) = (places(&arrow.from, sources), places(&arrow.to, sources));
    let depth = if from[0] == "questions" { 2 } else { 1 };
    from[..depth] == to[..depth]
}

/// The faults of the imports: paths that lead nowhere, places missing from the order, imports against it, methods of
/// another place's type, circles.
fn faults(sources: &Sources, imports: &Imports) -> Vec<String> {
    let mut faults = imports.unresolved.clone();
    let tops: BTreeSet<String> =
        sources.keys().filter(|file| !is_root(file)).map(|file| places(file, sources)[0].clone()).collect();
    let unknown = tops.iter().filter(|top| !ORDER.iter().any(|(place, _)| place == top));
    faults.extend(unknown.map(|top| format!("src/{top}: has no place in the order")));
    let arrows: Vec<Arrow> = imports.arrows.iter().filter(|arrow| !is_root(&arrow.from)).cloned().collect();
    for arrow in &arrows {
        if let Some(why) = against(&places(&arrow.from, sources), &places(&arrow.to, sources)) {
            faults.push(format!("{arrow}: {why}"));
        }
    }
    let strangers = imports.extensions.iter().filter(|arrow| !of_one_place(arrow, sources));
    faults.extend(strangers.map(|arrow| format!("{arrow}: adds methods to a type of another place")));
    faults.extend(circles::circles(&arrows, |file| places(file, sources)));
    faults
}

/// The sources under `folder`, by their path below `top`.
fn read_folder(folder: &Path, top: &Path, sources: &mut Sources) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            read_folder(&path, top, sources);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            let names: Vec<_> =
                path.strip_prefix(top).unwrap().iter().map(|name| name.to_str().unwrap()).collect();
            sources.insert(names.join("/"), std::fs::read_to_string(&path).unwrap());
        }
    }
}

/// Names that start a path to another crate: Rust's own, and the dependencies that a manifest lists.
fn outside(manifest: &str) -> BTreeSet<String> {
    let own = "std core alloc bool char str u8 u16 u32 u64 u128 usize i8 i16 i32 i64 i128 isize f32 f64 cfg rustfmt clippy";
    let mut names: BTreeSet<String> = own.split(' ').map(String::from).collect();
    let mut listing = false;
    for line in manifest.lines() {
        if line.starts_with('[') {
            listing = line.ends_with("dependencies]");
        } else if let (true, Some((name, _))) =
            (listing && !line.starts_with('#'), line.split_once([' ', '.']))
        {
            names.insert(name.replace('-', "_"));
        }
    }
    names
}

/// Prints every import, one line for each pair of files.
fn show(imports: &Imports) {
    let mut names: BTreeMap<(&str, &str), Vec<&str>> = BTreeMap::new();
    for arrow in &imports.arrows {
        names.entry((&arrow.from, &arrow.to)).or_default().push(&arrow.name);
    }
    for ((from, to), names) in names {
        println!("{from} -> {to}: {}", names.join(", "));
    }
}

/// The sources of the crate.
fn sources_of_this_crate() -> Sources {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut sources = Sources::new();
    read_folder(&source, &source, &mut sources);
    sources
}

/// The sources of the crate, and their imports.
fn of_this_crate() -> (Sources, Imports) {
    let sources = sources_of_this_crate();
    let manifest = Path::new(env!("CARGO_MANIFEST_DIR")).join("Cargo.toml");
    let outside = outside(&std::fs::read_to_string(manifest).unwrap());
    let imports = arrows::imports(&Tree::read(&sources), &outside);
    (sources, imports)
}

#[test]
fn the_order_allows_no_import_that_is_not_there() {
    let (sources, imports) = of_this_crate();
    let top = |file: &String| places(file, &sources)[0].clone();
    let there: BTreeSet<(String, String)> =
        imports.arrows.iter().map(|arrow| (top(&arrow.from), top(&arrow.to))).collect();
    let unused: Vec<String> = ORDER
        .iter()
        .flat_map(|(from, may_import)| may_import.iter().map(move |to| (*from, *to)))
        .filter(|(from, to)| !there.contains(&((*from).into(), (*to).into())))
        .map(|(from, to)| format!("{from} -> {to}"))
        .collect();
    assert!(unused.is_empty(), "allowed and not there: {}", unused.join(", "));
}

#[test]
fn imports_run_one_way() {
    let (sources, imports) = of_this_crate();
    if std::env::var_os("COILWRIGHT_SHOW_IMPORTS").is_some() {
        show(&imports);
    }
    let (arrows, files) = (imports.arrows.len(), sources.len());
    assert!(arrows >= files, "{arrows} imports seen in {files} files: the reader must have missed most");
    let faults = faults(&sources, &imports);
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
}
