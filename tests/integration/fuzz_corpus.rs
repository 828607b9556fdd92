//! Runs the kept corpus of the fuzz targets through their functions, without a nightly toolchain.

#[path = "asked.rs"]
mod asked;

#[test]
fn every_kept_input_of_every_fuzz_target_is_answered() {
    for (name, ask) in asked::TARGETS {
        let folder = format!("{}/tests/fuzz_corpus/{name}", env!("CARGO_MANIFEST_DIR"));
        let mut paths: Vec<_> =
            std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()).collect();
        paths.sort();
        assert!(!paths.is_empty(), "{folder} is empty");
        for path in paths {
            let data = std::fs::read(&path).unwrap();
            let answered = std::panic::catch_unwind(|| ask(&data));
            assert!(answered.is_ok(), "{}", path.display());
        }
    }
}
