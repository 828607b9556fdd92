#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| coilwright_fuzz::asked::question(data));
