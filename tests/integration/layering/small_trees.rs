//! The reader and the order, on small trees in memory.

use std::collections::BTreeSet;

use super::arrows::{Imports, imports};
use super::tree::{Sources, Tree};
use super::{faults, outside};

fn sources(files: &[(&str, &str)]) -> Sources {
    files.iter().map(|(file, source)| (file.to_string(), source.to_string())).collect()
}

fn read(files: &[(&str, &str)]) -> Imports {
    imports(&Tree::read(&sources(files)), &outside("[dependencies]\nnalgebra = \"1\"\n"))
}

/// Each import as `file:line -> file: name`, and each path that leads nowhere.
fn seen(files: &[(&str, &str)]) -> Vec<String> {
    let Imports { arrows, unresolved, .. } = read(files);
    let arrows = arrows.into_iter().map(|arrow| {
        let (from, line, to, name) = (arrow.from, arrow.line, arrow.to, arrow.name);
        format!("{from}:{line} -> {to}: {name}")
    });
    arrows.chain(unresolved).collect()
}

fn told(files: &[(&str, &str)]) -> Vec<String> {
    faults(&sources(files), &read(files))
}

/// A tree in which `pair/coil.rs` holds `source`, above `physics/field.rs`, which it must not import.
fn pair_with(source: &str) -> Vec<String> {
    told(&[
        ("lib.rs", "pub mod pair; pub mod physics;"),
        ("pair/mod.rs", "mod coil;"),
        ("pair/coil.rs", source),
        ("physics/mod.rs", "mod field;\npub use field::*;"),
        ("physics/field.rs", "pub struct Field;\npub fn field() {}"),
    ])
}

#[test]
fn an_import_against_the_order_is_told_however_it_is_written() {
    for (source, line, path) in [
        ("use crate::physics::Field;", 1, "crate::physics::Field"),
        ("use crate::{\n    physics::{Field as F},\n};", 2, "crate::physics::Field"),
        ("type F =\n    Vec<crate::physics::Field>;", 2, "crate::physics::Field"),
        ("use super::super::physics::Field;", 1, "super::super::physics::Field"),
        ("fn f() {\n    super::super::physics::Field;\n}", 2, "super::super::physics::Field"),
        ("use crate::physics;\nfn f(_: physics::Field) {}", 2, "physics::Field"),
        ("use crate::physics::*;\nfn f(_: Field) {}", 2, "Field"),
        ("fn f() {\n    let _ = vec![crate::physics::Field];\n}", 2, "crate::physics::Field"),
        ("macro_rules! f { () => { $crate::physics::{Field} } }", 1, "crate::physics::Field"),
        ("#[serde(with = \"crate::physics::Field\")]\nstruct S;", 1, "crate::physics::Field"),
        (
            "mod inner {\n    use super::super::super::physics::Field;\n}",
            2,
            "super::super::super::physics::Field",
        ),
    ] {
        let wanted =
            format!("src/pair/coil.rs:{line}: {path} (src/physics/field.rs, Field): pair -> physics");
        assert_eq!(pair_with(source), [wanted], "{source}");
    }
}

#[test]
fn what_is_for_tests_alone_imports_nothing() {
    for source in [
        "#[cfg(test)]\nmod tests { use crate::physics::Field; }",
        "#[cfg(test)]\nuse crate::physics::Field;",
        "struct S;\nimpl S {\n    #[cfg(test)]\n    fn f() { crate::physics::field(); }\n}",
        "#[cfg(all(test, unix))]\nfn f() { crate::physics::field(); }",
        "/// As [`crate::physics::Field`] has it.\npub(in crate::pair) struct S;",
    ] {
        assert_eq!(pair_with(source), [""; 0], "{source}");
    }
    let with_file = [("lib.rs", "#[cfg(test)]\nmod tests;"), ("tests.rs", "use nowhere::Thing;")];
    assert_eq!(seen(&with_file), [""; 0]);
}

#[test]
fn a_name_leads_through_re_exports_to_the_file_that_defines_it() {
    let files = [
        ("lib.rs", "mod field; mod heat; mod facade;\npub use field::Assembly;"),
        (
            "field/mod.rs",
            "mod assembly; mod grid;\npub use assembly::Assembly;\npub(crate) use grid::Grid as Points;",
        ),
        ("field/assembly.rs", "use super::Points;\npub struct Assembly;"),
        ("field/grid.rs", "pub struct Grid;"),
        ("heat.rs", "use crate::Assembly;\nuse crate::field::Points;\npub use crate::field::Assembly as A;"),
        ("facade/mod.rs", "pub use crate::field::Assembly;"),
    ];
    let wanted = [
        "facade/mod.rs:1 -> field/assembly.rs: Assembly",
        "field/assembly.rs:1 -> field/grid.rs: Grid",
        "heat.rs:1 -> field/assembly.rs: Assembly",
        "heat.rs:2 -> field/grid.rs: Grid",
    ];
    assert_eq!(seen(&files), wanted);
}

#[test]
fn a_module_and_a_function_of_one_name_are_told_apart() {
    let files = [
        ("lib.rs", "mod heat; mod user;"),
        ("heat/mod.rs", "pub mod study;\npub use study::study;"),
        ("heat/study/mod.rs", "pub mod table;\npub use table::study;"),
        ("heat/study/table.rs", "pub fn study() {}\npub struct Row;"),
        ("user.rs", "use crate::heat::study;\nfn f(_: study::table::Row) { study() }"),
    ];
    let wanted = ["user.rs:2 -> heat/study/table.rs: Row", "user.rs:1 -> heat/study/table.rs: study"];
    assert_eq!(seen(&files), wanted);
}

#[test]
fn a_glob_leads_to_each_file_whose_names_are_used() {
    let files = [
        ("lib.rs", "mod a; mod user;"),
        ("a/mod.rs", "mod one; mod two; mod three;\npub use one::*;\npub use two::*;\npub use three::Kind;"),
        ("a/one.rs", "pub struct One;"),
        ("a/two.rs", "use super::*;\npub struct Two(One);"),
        ("a/three.rs", "pub enum Kind { First, Second }"),
        ("user.rs", "use crate::a::*;\nuse crate::a::Kind::*;\nfn f() -> Two {\n    First\n}"),
    ];
    let wanted =
        ["a/two.rs:2 -> a/one.rs: One", "user.rs:2 -> a/three.rs: Kind", "user.rs:3 -> a/two.rs: Two"];
    assert_eq!(seen(&files), wanted);
}

#[test]
fn what_a_glob_brings_without_being_named_leads_to_the_module() {
    let files =
        [("lib.rs", "mod a; mod user;"), ("a.rs", "pub trait Told {}"), ("user.rs", "use crate::a::*;")];
    assert_eq!(seen(&files), ["user.rs:1 -> a.rs: a"]);
}

#[test]
fn the_program_names_the_library_by_its_name() {
    let files = [
        ("lib.rs", "pub mod units;"),
        ("units.rs", "pub struct Length;"),
        ("main.rs", "mod program;"),
        ("program/mod.rs", "mod size;"),
        ("program/size.rs", "use coilwright::units::Length;\nfn f() { coilwright::units::Length; }"),
    ];
    assert_eq!(seen(&files), ["program/size.rs:1 -> units.rs: Length"]);
}

#[test]
fn a_variable_is_no_import_of_the_function_of_its_name() {
    let files = [
        ("lib.rs", "mod a;"),
        ("a/mod.rs", "mod b;\npub use b::study;\nfn f(study: f64) -> f64 { let x = study; x }"),
        ("a/b.rs", "pub fn study() {}"),
    ];
    assert_eq!(seen(&files), [""; 0]);
}

#[test]
fn items_that_a_macro_writes_are_found() {
    let files = [
        ("lib.rs", "mod a; mod b;"),
        (
            "a.rs",
            "macro_rules! lengths { ($($name:ident)*) => {\n$(pub struct $name;)*\npub fn all() {}\n} }\n\
             lengths! { Width Depth }",
        ),
        ("b.rs", "use crate::a::{Depth, all};"),
    ];
    assert_eq!(seen(&files), ["b.rs:1 -> a.rs: Depth", "b.rs:1 -> a.rs: all"]);
}

#[test]
fn a_path_that_leads_nowhere_is_told() {
    let files = [
        ("lib.rs", "mod a; mod lost;"),
        (
            "a.rs",
            "use crate::b::C;\nuse std::fmt;\nfn f(_: nalgebra::Vector3<f64>) -> fmt::Result { gone::g() }",
        ),
        ("stray.rs", ""),
    ];
    let wanted = [
        "src/lib.rs:1: no file for `mod lost`",
        "src/stray.rs: no `mod` declares it",
        "src/a.rs:1: crate::b::C leads nowhere",
        "src/a.rs:3: gone::g leads nowhere",
    ];
    assert_eq!(seen(&files), wanted);
    let ring =
        [("lib.rs", "mod a; mod b;"), ("a.rs", "pub use crate::b::X;"), ("b.rs", "pub use crate::a::X;")];
    assert_eq!(
        seen(&ring),
        ["src/a.rs:1: crate::b::X leads nowhere", "src/b.rs:1: crate::a::X leads nowhere"]
    );
}

#[test]
fn files_and_folders_that_import_each_other_are_a_circle() {
    let files = [
        ("lib.rs", "mod physics;"),
        ("physics/mod.rs", "mod beam; mod field; mod heat;"),
        ("physics/field/mod.rs", "mod a; mod b;"),
        ("physics/field/a.rs", "use super::b::B;\npub struct A;"),
        ("physics/field/b.rs", "use super::a::A;\npub struct B;"),
        ("physics/heat/mod.rs", "pub mod x; pub mod y;"),
        ("physics/heat/x.rs", "pub struct X;"),
        ("physics/heat/y.rs", "use crate::physics::beam::Beam;\nstruct Y;"),
        ("physics/beam.rs", "use super::heat::x::X;\npub struct Beam;"),
    ];
    let wanted = [
        "circle in src/physics: beam, heat\n    beam -> heat\n        src/physics/beam.rs:1: super::heat::x::X \
         (src/physics/heat/x.rs, X)\n    heat -> beam\n        src/physics/heat/y.rs:1: crate::physics::beam::Beam \
         (src/physics/beam.rs, Beam)",
        "circle in src/physics/field: a, b\n    a -> b\n        src/physics/field/a.rs:1: super::b::B \
         (src/physics/field/b.rs, B)\n    b -> a\n        src/physics/field/b.rs:1: super::a::A \
         (src/physics/field/a.rs, A)",
    ];
    assert_eq!(told(&files), wanted);
}

#[test]
fn code_that_opens_a_folder_and_its_files_must_not_import_each_other() {
    let opening = "mod child;\npub struct Parent(child::Child);";
    let child = "pub struct Child;\nfn f(_: &super::Parent) {}";
    let wanted = "circle in src/pair: child, mod";
    for (parent, file) in [("pair/mod.rs", "pair/child.rs"), ("pair.rs", "pair/child.rs")] {
        let told = told(&[("lib.rs", "mod pair;"), (parent, opening), (file, child)]);
        assert_eq!(told.len(), 1);
        assert!(told[0].starts_with(wanted), "{}", told[0]);
    }
    assert_eq!(
        told(&[("lib.rs", "mod pair;"), ("pair/mod.rs", opening), ("pair/child.rs", "pub struct Child;")]),
        [""; 0]
    );
}

#[test]
fn only_words_pictures_and_files_of_a_question_import_paper() {
    let files = [
        ("lib.rs", "mod paper; mod questions; mod odd;"),
        ("odd.rs", ""),
        ("paper.rs", "pub struct Page;"),
        ("questions/mod.rs", "mod field; mod heat;"),
        ("questions/field/mod.rs", "pub mod record; mod words; mod picture;"),
        ("questions/field/words.rs", "use crate::paper::Page;"),
        ("questions/field/picture/mod.rs", "mod map;"),
        ("questions/field/picture/map.rs", "use crate::paper::Page;"),
        ("questions/field/record.rs", "use crate::paper::Page;"),
        ("questions/heat.rs", "use super::field::record::Record;"),
    ];
    let files: Vec<_> = files
        .into_iter()
        .map(|(file, source)| {
            (file, source.to_string() + if file.contains("record") { "\npub struct Record;" } else { "" })
        })
        .collect();
    let files: Vec<(&str, &str)> = files.iter().map(|(file, source)| (*file, source.as_str())).collect();
    let wanted = [
        "src/odd: has no place in the order",
        "src/questions/field/record.rs:1: crate::paper::Page (src/paper.rs, Page): questions/field/record -> paper, \
         which only a question's words, picture, files import",
        "src/questions/heat.rs:1: super::field::record::Record (src/questions/field/record.rs, Record): \
         questions/heat -> questions/field",
    ];
    assert_eq!(told(&files), wanted);
}

#[test]
fn a_manifest_lists_what_lies_outside() {
    let names = outside(
        "[package]\nname = \"x\"\n[dependencies]\nrand-distr = \"1\"\n# note\nserde.workspace = true\n",
    );
    let wanted: BTreeSet<String> = ["rand_distr", "serde"].map(String::from).into();
    assert_eq!(&names - &outside(""), wanted);
}

#[test]
fn methods_stand_where_their_type_does() {
    let with = |place: &str, source: &str| {
        told(&[
            ("lib.rs", "pub mod pair; pub mod physics;"),
            ("pair/mod.rs", "mod coil; mod winding;\npub use coil::Coil;"),
            ("pair/coil.rs", "pub struct Coil;\nimpl Coil {}"),
            ("pair/winding.rs", if place == "pair" { source } else { "" }),
            ("physics/mod.rs", if place == "physics" { source } else { "" }),
        ])
    };
    let source = "use crate::pair::Coil;\nimpl Coil { pub fn heat(&self) {} }";
    assert_eq!(with("pair", source), Vec::<String>::new());
    let faults = with("physics", source);
    assert!(faults.len() == 1 && faults[0].contains("adds methods to a type of another place"), "{faults:?}");
    assert_eq!(with("physics", "use crate::pair::Coil;\nimpl Default for Coil {}"), Vec::<String>::new());
}
