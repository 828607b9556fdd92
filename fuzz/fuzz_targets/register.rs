#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| coilwright_fuzz::asked::register(data));
