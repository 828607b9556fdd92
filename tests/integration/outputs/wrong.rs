//! Wrong inputs and wrong calls: standard error and exit status.

use super::cases::{Case, Form};

/// A small valid spec that the cases spoil.
pub const PAIR: &str = r#"{
  "title": "Attic pair",
  "winding": {
    "mean_radius": "150 mm", "width": "17 mm", "depth": "9.4 mm", "turns": 130,
    "wire": { "bare_diameter": "0.95 mm", "overall_diameter": "1.04 mm" }
  },
  "spacing": "150 mm",
  "tube": {
    "bulb_radius": "80 mm", "gun_exit": ["45 mm", "0 mm", "0 mm"], "gun_direction": [0, 1, 0],
    "beam_radius": ["25 mm", "50 mm"]
  }
}
"#;

/// A spec with only the required parts.
pub const BARE: &str = r#"{
  "title": "Bare",
  "winding": {
    "mean_radius": "160 mm", "width": "15 mm", "depth": "10 mm", "turns": 130,
    "wire": { "conductor": "copper", "bare_diameter": "0.9 mm", "overall_diameter": "0.98 mm" }
  },
  "spacing": "160 mm"
}
"#;

/// Cases of the valid spec with one text replaced by another.
const SPOILT: &[(&str, &str, &str)] = &[
    ("comment", "\"title\": \"Attic pair\",", "\"title\": \"Attic pair\", // the old one"),
    ("comma-too-many", "\"9.4 mm\", \"turns\": 130,", "\"9.4 mm\", \"turns\": 130,,"),
    ("not-closed", "[\"25 mm\", \"50 mm\"]\n  }\n}", "[\"25 mm\", \"50 mm\"]"),
    ("unknown-key", "\"width\"", "\"witdh\""),
    ("key-twice", "\"turns\": 130", "\"turns\": 130, \"turns\": 131"),
    ("no-unit", "\"17 mm\"", "17"),
    ("wrong-unit", "\"17 mm\"", "\"17 V\""),
    ("unknown-unit", "\"17 mm\"", "\"17 furlong\""),
    ("not-a-quantity", "\"17 mm\"", "\"wide\""),
    ("negative", "\"150 mm\", \"width\"", "\"-150 mm\", \"width\""),
    ("zero", "\"17 mm\"", "\"0 mm\""),
    ("too-large", "\"17 mm\"", "\"17 km\""),
    ("broken-number", "\"turns\": 130", "\"turns\": 1.3.0"),
    ("missing-part", "\"spacing\": \"150 mm\",", ""),
    ("wire-too-thick", "\"1.04 mm\"", "\"2.04 mm\""),
    ("bare-over-overall", "\"0.95 mm\"", "\"1.95 mm\""),
    ("depth-over-radius", "\"9.4 mm\"", "\"320 mm\""),
    ("coils-in-each-other", "\"spacing\": \"150 mm\"", "\"spacing\": \"10 mm\""),
    ("gun-outside", "[\"45 mm\"", "[\"95 mm\""),
    ("beam-the-wrong-way", "[\"25 mm\", \"50 mm\"]", "[\"50 mm\", \"25 mm\"]"),
    ("array-too-short", "[0, 1, 0]", "[0, 1]"),
    ("no-direction", "[0, 1, 0]", "[0, 0, 0]"),
    (
        "unknown-wire",
        "\"bare_diameter\": \"0.95 mm\", \"overall_diameter\": \"1.04 mm\"",
        "\"size\": \"AWG 190\"",
    ),
    ("nothing", PAIR, ""),
    ("a-list", PAIR, "[]"),
];

const BENCH: &str = "coil-specs/window-bench.json";

/// Calls with BENCH and a table or another file, written as `file.csv` or `file.json`.
const WITH_FILE: &[(&str, &str, &str, &str)] = &[
    ("points-no-column", "field BENCH --points file.csv", "file.csv", "x_m,y_m\n0,0\n"),
    ("points-bad-row", "field BENCH --points file.csv", "file.csv", "x_m,y_m,z_m\n0,0,0\n0,nonsense,0\n"),
    ("points-short-row", "field BENCH --points file.csv", "file.csv", "x_m,y_m,z_m\n0,0\n"),
    ("points-no-unit", "field BENCH --points file.csv", "file.csv", "x,y,z\n0,0,0\n"),
    ("points-wrong-unit", "field BENCH --points file.csv", "file.csv", "x_V,y_m,z_m\n0,0,0\n"),
    ("points-not-finite", "field BENCH --points file.csv", "file.csv", "x_m,y_m,z_m\n0,0,inf\n"),
    ("points-empty", "field BENCH --points file.csv", "file.csv", ""),
    (
        "readings-unknown-column",
        "calibrate BENCH --readings file.csv",
        "file.csv",
        "current_A,filed_mT\n1,0.8\n",
    ),
    (
        "readings-twice",
        "calibrate BENCH --readings file.csv",
        "file.csv",
        "current_A,current_mA,field_mT\n1,1,0.8\n",
    ),
    ("readings-too-few", "calibrate BENCH --readings file.csv", "file.csv", "current_A,field_mT\n1,0.84\n"),
    (
        "readings-one-current",
        "calibrate BENCH --readings file.csv",
        "file.csv",
        "current_A,field_mT\n1,0.84\n1,0.84\n1,0.85\n",
    ),
    (
        "readings-bad-flip",
        "calibrate BENCH --readings file.csv",
        "file.csv",
        "current_A,field_mT,probe_flipped\n1,0.84,perhaps\n",
    ),
    (
        "runs-negative-radius",
        "weigh BENCH --runs file.csv",
        "file.csv",
        "gun_voltage_V,current_A,radius_mm\n200,1.4,-40\n200,-1.4,40\n",
    ),
    (
        "runs-zero-current",
        "weigh BENCH --runs file.csv",
        "file.csv",
        "gun_voltage_V,current_A,radius_mm\n200,0,40\n200,1.4,40\n",
    ),
    (
        "runs-radius-and-diameter",
        "weigh BENCH --runs file.csv",
        "file.csv",
        "gun_voltage_V,current_A,radius_mm,diameter_mm\n200,1,40,80\n",
    ),
    (
        "warm-up-short",
        "heat BENCH --warm-up file.csv",
        "file.csv",
        "time_min,voltage_V,current_A\n0,14.8,1.8\n",
    ),
    (
        "warm-up-backwards",
        "heat BENCH --warm-up file.csv",
        "file.csv",
        "time_min,voltage_V,current_A\n0,14.8,1.8\n5,15,1.8\n2,15.1,1.8\n9,15.2,1.8\n",
    ),
    (
        "previous-is-no-calibration",
        "calibrate BENCH --previous file.json",
        "file.json",
        "{ \"title\": \"no line\" }\n",
    ),
    (
        "needs-is-a-spec",
        "compare BENCH coil-specs/quote-used.json --needs coil-specs/quote-thick.json",
        "file.json",
        "",
    ),
    (
        "wishes-unknown-key",
        "size file.json",
        "file.json",
        "{ \"title\": \"w\", \"largest_filed\": \"1 mT\", \"search\": {} }\n",
    ),
    (
        "wishes-wrong-way",
        "size file.json",
        "file.json",
        "{ \"title\": \"w\", \"largest_field\": \"1 mT\",\n  \"search\": { \"mean_radius\": [\"160 mm\", \"150 mm\"], \"width\": [\"12 mm\", \"14 mm\"],\n    \"depth\": [\"8 mm\", \"10 mm\"], \"spacing\": \"radius\", \"wires\": \"stock\" } }\n",
    ),
    (
        "measured-too-little",
        "identify file.json",
        "file.json",
        "{ \"title\": \"m\", \"resistance\": { \"value\": \"8 ohm\", \"uncertainty\": \"0.1 ohm\", \"at\": \"20 degC\" } }\n",
    ),
    (
        "measured-impossible",
        "identify file.json",
        "file.json",
        "{ \"title\": \"m\", \"connection\": \"series\",\n  \"resistance\": { \"value\": \"8 kohm\", \"uncertainty\": \"0.1 ohm\", \"at\": \"20 degC\" },\n  \"inner_diameter\": { \"value\": \"310 mm\", \"uncertainty\": \"1 mm\" },\n  \"outer_diameter\": { \"value\": \"300 mm\", \"uncertainty\": \"1 mm\" },\n  \"width\": { \"value\": \"18 mm\", \"uncertainty\": \"1 mm\" },\n  \"spacing\": { \"value\": \"160 mm\", \"uncertainty\": \"1 mm\" } }\n",
    ),
    ("bare-orbit", "orbit bare.json --gun-voltage 200V --current 1.4A", "bare.json", BARE),
    ("bare-chart", "orbit bare.json --chart", "bare.json", BARE),
    ("bare-scale", "orbit bare.json --scale --out out", "bare.json", BARE),
    ("bare-map-volume", "map bare.json --volume --out out", "bare.json", BARE),
    ("bare-weigh", "weigh bare.json --runs lab-files/runs.csv", "bare.json", BARE),
    ("bare-calibrate", "calibrate bare.json", "bare.json", BARE),
    ("bare-plan", "calibrate bare.json --plan", "bare.json", BARE),
    ("bare-tolerance", "tolerance bare.json", "bare.json", BARE),
    ("bare-with-room", "sheet bare.json --with-room", "bare.json", BARE),
    ("cancelling-sheet", "sheet pair.json", "pair.json", "CANCELLING"),
    ("cancelling-compare", "compare pair.json BENCH", "pair.json", "CANCELLING"),
    ("force-is-needed", "calibrate BENCH --out .", "calibration.csv", "mine\n"),
    (
        "force-is-needed-to-write",
        "identify lab-files/cupboard-pair.json --write pair.json",
        "pair.json",
        "mine\n",
    ),
    ("out-is-a-file", "heat BENCH --out file.csv", "file.csv", "mine\n"),
    ("folder-in-place-of-a-file", "heat BENCH --out . --force", "heat.json/inside.txt", "mine\n"),
];

/// Calls that need no file of their own.
const CALLS: &[(&str, &str)] = &[
    ("no-such-file", "sheet nowhere.json"),
    ("a-folder", "sheet coil-specs"),
    ("no-such-points", "field BENCH --points nowhere.csv"),
    ("no-such-needs", "compare BENCH BENCH --needs nowhere.json"),
    ("a-table-for-a-spec", "sheet lab-files/points.csv"),
    ("wishes-for-a-spec", "sheet lab-files/lessons.json"),
    ("a-spec-for-wishes", "size BENCH"),
    ("a-spec-for-measured", "identify BENCH"),
    ("a-spec-for-runs", "weigh BENCH --runs BENCH"),
    ("no-such-register", "register nowhere.register"),
    ("a-spec-for-a-register", "register BENCH"),
    ("register-without-date", "calibrate BENCH --register pair.register"),
    ("withdraw-without-reason", "register lab-files/window-bench.register --withdraw 3"),
    ("expected-digest-not-there", "register lab-files/window-bench.register --expect 0123456789abcdef"),
    (
        "weigh-expired",
        "weigh BENCH --runs lab-files/runs.csv --register lab-files/window-bench.register --date 2027-01-01",
    ),
    ("out-below-a-file", "heat BENCH --out coil-specs/window-bench.json/out"),
    (
        "write-below-a-file",
        "identify lab-files/cupboard-pair.json --write coil-specs/window-bench.json/pair.json",
    ),
    ("map-without-out", "map BENCH"),
    ("scale-without-out", "orbit BENCH --scale"),
    ("force-without-out", "heat BENCH --force"),
    ("no-command", "shet BENCH"),
    ("no-option", "sheet BENCH --jsno"),
    ("no-spec", "sheet"),
    ("one-argument-too-many", "sheet BENCH again"),
    ("option-twice", "sheet BENCH --json --json"),
    ("kind-unknown", "schema banch"),
    ("number-format-unknown", "heat BENCH --number-format dot"),
    ("date-wrong", "heat BENCH --date 2026-02-30"),
    ("date-not-iso", "heat BENCH --date 1.3.2026"),
    ("current-no-unit", "heat BENCH --current 1.4"),
    ("current-zero", "uniformity BENCH --with-room --current \"0 A\""),
    ("current-without-room", "uniformity BENCH --current \"1 A\""),
    ("within-zero", "uniformity BENCH --within 0%"),
    ("within-negative", "uniformity BENCH --within -1%"),
    ("accuracy-out-of-range", "field BENCH --points lab-files/points.csv --accuracy 1e-20"),
    ("grid-too-fine", "map BENCH --step \"1 um\" --out out"),
    ("grid-of-none", "map BENCH --grid 0 --out out"),
    ("step-and-grid", "map BENCH --grid 5 --step \"5 mm\" --out out"),
    ("step-negative", "calibrate BENCH --step \"-0.1 A\""),
    ("combine-without-readings", "calibrate BENCH --combine"),
    ("monte-carlo-too-few", "calibrate BENCH --monte-carlo 1"),
    ("duty-wrong", "heat BENCH --duty \"10 min\""),
    ("duty-zero", "heat BENCH --duty \"0 min/20 min\""),
    ("orbit-no-settings", "orbit BENCH"),
    ("orbit-two-voltages", "orbit BENCH --gun-voltage 200V --gun-voltage 220V --current 1A"),
    ("orbit-two-questions", "orbit BENCH --chart --bias"),
    ("orbit-chart-with-current", "orbit BENCH --chart --current 1A"),
    ("orbit-no-revolution", "orbit BENCH --gun-voltage 200V --current 1A --revolutions 0"),
    ("orbit-voltage-negative", "orbit BENCH --gun-voltage \"-200 V\" --current 1A"),
    ("compare-many", "compare BENCH BENCH BENCH BENCH BENCH BENCH BENCH BENCH BENCH BENCH BENCH BENCH BENCH"),
    ("tolerance-one-build", "tolerance BENCH --builds 1"),
    ("wires-negative", "wires --near \"-1 mm\""),
];

/// A valid spec whose coils cancel at the centre.
pub fn cancelling() -> String {
    PAIR.replace("\"tube\":", "\"as_built\": { \"b\": { \"sense\": -1 } }, \"tube\":")
}

/// Every wrong case.
pub fn cases() -> Vec<Case> {
    let case = |name: &str, call: &str, files| Case {
        name: format!("wrong/{name}"),
        first: Vec::new(),
        call: call.replace("BENCH", BENCH),
        forms: &[Form::Text],
        files,
    };
    let mut cases = Vec::new();
    for (name, from, to) in SPOILT {
        assert!(PAIR.contains(from), "{name}");
        let spoilt = Case {
            forms: &[Form::Text, Form::Json],
            ..case(
                &format!("spec-{name}"),
                "check pair.json",
                vec![("pair.json", PAIR.replacen(from, to, 1))],
            )
        };
        cases.push(spoilt);
    }
    for (name, call, file, text) in WITH_FILE {
        let text = if *text == "CANCELLING" { cancelling() } else { (*text).to_owned() };
        cases.push(case(name, call, vec![(*file, text)]));
    }
    cases.extend(CALLS.iter().map(|(name, call)| case(name, call, Vec::new())));
    cases
}
