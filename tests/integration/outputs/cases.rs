//! The calls whose outputs are kept: every command on every example, in every form, and with every option that changes
//! its output.

use super::wrong;

/// A call whose outputs are kept.
pub struct Case {
    /// The folder under `tests/outputs`.
    pub name: String,
    /// Calls that run before it and are not kept.
    pub first: Vec<String>,
    /// The call, without the program's name and the options of its form.
    pub call: String,
    pub forms: &'static [Form],
    /// Files in addition to `coil-specs` and `lab-files`.
    pub files: Vec<(&'static str, String)>,
}

/// A form of the same answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    Text,
    Json,
    Out,
}

use Form::{Json, Out, Text};

const BOTH: &[Form] = &[Text, Json];
const ALL: &[Form] = &[Text, Json, Out];
/// The files, together with the text; in most cases the JSON document is one of them.
const FILES: &[Form] = &[Out];

const SPECS: [&str; 4] = ["window-bench", "quote-parallel", "quote-thick", "quote-used"];

/// Calls on every example spec, which replaces SPEC.
const ON_EVERY_SPEC: &[(&str, &[Form], &str)] = &[
    ("sheet", BOTH, "sheet SPEC"),
    ("sheet-with-room", BOTH, "sheet SPEC --with-room"),
    ("field", BOTH, "field SPEC --points lab-files/points.csv"),
    ("field-each-turn", &[Text], "field SPEC --points lab-files/points.csv --each-turn --with-error"),
    ("uniformity", BOTH, "uniformity SPEC"),
    ("uniformity-with-room", BOTH, "uniformity SPEC --within 0.5% --with-room --current 1.4A"),
    ("calibrate", ALL, "calibrate SPEC"),
    ("calibrate-readings", BOTH, "calibrate SPEC --readings lab-files/readings.csv"),
    ("calibrate-plan", BOTH, "calibrate SPEC --plan"),
    ("heat", &[Json, Out], "heat SPEC"),
    ("heat-warm-up", &[Text], "heat SPEC --warm-up lab-files/warm-up.csv"),
    ("orbit", BOTH, "orbit SPEC --gun-voltage \"200 V\" --current \"1.4 A\""),
    ("orbit-chart", &[Text], "orbit SPEC --chart"),
    ("orbit-bias", BOTH, "orbit SPEC --bias"),
    ("weigh", BOTH, "weigh SPEC --runs lab-files/runs.csv"),
    ("tolerance", BOTH, "tolerance SPEC --builds 200"),
    ("build", FILES, "build SPEC --date 2026-03-01"),
    ("check", BOTH, "check SPEC"),
    ("check-measured", BOTH, "check SPEC --measured lab-files/cupboard-pair.json"),
];

/// Calls on one spec, and of commands without a spec.
const ALONE: &[(&str, &[Form], &str)] = &[
    (
        "accept",
        ALL,
        "accept coil-specs/window-bench.json --measured lab-files/delivery.json --date 2026-03-01",
    ),
    (
        "accept-supplier",
        ALL,
        "accept coil-specs/window-bench.json --measured lab-files/delivery.json --supplier-limits lab-files/supplier-limits.json --decision simple",
    ),
    ("tender", &[Out], "tender lab-files/lessons.json --date 2026-03-01"),
    ("accept-fails", BOTH, "accept coil-specs/quote-used.json --measured lab-files/delivery.json"),
    ("check-delivery", BOTH, "check coil-specs/window-bench.json --measured lab-files/delivery.json"),
    ("schema-supplier-limits", &[Text], "schema supplier-limits"),
    ("sheet-nominal", BOTH, "sheet coil-specs/quote-used.json --nominal"),
    ("field-nominal", &[Text], "field coil-specs/quote-used.json --points lab-files/points.csv --nominal"),
    (
        "field-with-room",
        BOTH,
        "field coil-specs/quote-used.json --points lab-files/points.csv --with-room --with-error --current -1.4A",
    ),
    (
        "field-accuracy",
        &[Text],
        "field coil-specs/quote-thick.json --points lab-files/points.csv --accuracy 1e-6",
    ),
    (
        "field-comma",
        &[Text],
        "field coil-specs/window-bench.json --points lab-files/points.csv --number-format comma",
    ),
    ("uniformity-nominal", &[Text], "uniformity coil-specs/quote-used.json --nominal --within 2%"),
    ("uniformity-each-turn", &[Text], "uniformity coil-specs/quote-used.json --each-turn --accuracy 1e-9"),
    ("map", FILES, "map coil-specs/window-bench.json --step \"20 mm\""),
    ("map-within", FILES, "map coil-specs/window-bench.json --step \"20 mm\" --within 1%"),
    (
        "map-within-volume",
        FILES,
        "map coil-specs/quote-used.json --volume --step \"30 mm\" --within \"0.5 %\" --number-format comma",
    ),
    (
        "map-with-room",
        FILES,
        "map coil-specs/quote-used.json --step \"25 mm\" --with-room --current \"-1.2 A\"",
    ),
    ("map-nominal", FILES, "map coil-specs/quote-used.json --volume --step \"40 mm\" --nominal --json"),
    (
        "map-comma",
        FILES,
        "map coil-specs/quote-thick.json --grid 7 --number-format comma --date 2026-03-01 --json",
    ),
    ("map-volume", FILES, "map coil-specs/quote-parallel.json --volume --grid 5 --accuracy 1e-6"),
    ("calibrate-nominal", BOTH, "calibrate coil-specs/quote-used.json --nominal --step \"0.4 A\""),
    (
        "calibrate-combine",
        ALL,
        "calibrate coil-specs/window-bench.json --readings lab-files/readings.csv --combine --monte-carlo 2000",
    ),
    (
        "calibrate-comma",
        FILES,
        "calibrate coil-specs/window-bench.json --readings lab-files/readings.csv --number-format comma --date 2026-03-01",
    ),
    (
        "calibrate-monte-carlo",
        BOTH,
        "calibrate coil-specs/quote-used.json --monte-carlo 1000 --step \"0.7 A\"",
    ),
    (
        "calibrate-plan-out",
        ALL,
        "calibrate coil-specs/window-bench.json --plan --want \"0.6 %\" --scatter \"0.002 mT\" --date 2026-03-01",
    ),
    ("calibrate-plan-comma", FILES, "calibrate coil-specs/window-bench.json --plan --number-format comma"),
    (
        "heat-all",
        FILES,
        "heat coil-specs/window-bench.json --current \"2.2 A\" --duty \"10 min/20 min\" --warm-up lab-files/warm-up.csv --surface-limit \"50 degC\"",
    ),
    (
        "heat-comma",
        FILES,
        "heat coil-specs/window-bench.json --current \"1 A\" --number-format comma --date 2026-03-01",
    ),
    ("heat-nominal", &[Text], "heat coil-specs/quote-used.json --nominal --duty \"2 min/8 min\""),
    (
        "orbit-tilt",
        ALL,
        "orbit coil-specs/window-bench.json --gun-voltage \"180 V\" --current \"-1.4 A\" --gun-tilt \"5 deg\" --revolutions 3",
    ),
    ("orbit-strikes", BOTH, "orbit coil-specs/quote-used.json --gun-voltage \"280 V\" --current \"0.4 A\""),
    (
        "orbit-nominal",
        &[Text],
        "orbit coil-specs/quote-used.json --gun-voltage \"200 V\" --current \"1.4 A\" --nominal",
    ),
    (
        "orbit-comma",
        FILES,
        "orbit coil-specs/quote-used.json --gun-voltage \"150 V\" --current \"1.2 A\" --number-format comma --date 2026-03-01",
    ),
    (
        "orbit-chart-out",
        ALL,
        "orbit coil-specs/window-bench.json --chart --gun-voltage \"150 V\" --gun-voltage \"250 V\"",
    ),
    (
        "orbit-bias-out",
        ALL,
        "orbit coil-specs/window-bench.json --bias --gun-voltage \"200 V\" --current \"1.4 A\" --current \"-1.4 A\" --gun-tilt \"1 deg\"",
    ),
    (
        "orbit-bias-comma",
        FILES,
        "orbit coil-specs/quote-used.json --bias --gun-voltage \"200 V\" --number-format comma --date 2026-03-01",
    ),
    ("orbit-scale", FILES, "orbit coil-specs/window-bench.json --scale"),
    (
        "orbit-scale-settings",
        FILES,
        "orbit coil-specs/quote-used.json --scale --gun-voltage \"200 V\" --current \"1.2 A\" --current \"1.6 A\" --date 2026-03-01 --json",
    ),
    // Of the page's files the tests of `lesson` read what matters; its script has no second copy here.
    ("lesson", &[Json], "lesson coil-specs/quote-used.json --date 2026-03-01"),
    (
        "weigh-out",
        ALL,
        "weigh coil-specs/window-bench.json --runs lab-files/runs.csv --scale-uncertainty \"0.5 %\" --date 2026-03-01",
    ),
    (
        "weigh-comma",
        FILES,
        "weigh coil-specs/window-bench.json --runs lab-files/runs.csv --number-format comma",
    ),
    ("weigh-nominal", BOTH, "weigh coil-specs/quote-used.json --runs lab-files/runs.csv --nominal"),
    ("size", FILES, "size lab-files/lessons.json --write best.json"),
    ("size-small", ALL, "size small-wishes.json --date 2026-03-01"),
    ("size-comma", FILES, "size small-wishes.json --number-format comma --write best.json"),
    ("size-conflict", BOTH, "size impossible-wishes.json"),
    ("identify", BOTH, "identify lab-files/cupboard-pair.json"),
    ("identify-write", &[Text], "identify lab-files/cupboard-pair.json --write pair.json"),
    (
        "tolerance-within",
        ALL,
        "tolerance coil-specs/window-bench.json --within 0.2% --builds 300 --date 2026-03-01",
    ),
    (
        "tolerance-needs",
        BOTH,
        "tolerance coil-specs/quote-used.json --needs lab-files/lessons.json --builds 300",
    ),
    ("tolerance-nominal", &[Text], "tolerance coil-specs/quote-used.json --nominal --builds 100"),
    (
        "compare",
        ALL,
        "compare coil-specs/window-bench.json coil-specs/quote-parallel.json coil-specs/quote-thick.json coil-specs/quote-used.json --needs lab-files/lessons.json",
    ),
    ("compare-two", BOTH, "compare coil-specs/quote-used.json coil-specs/window-bench.json"),
    (
        "compare-comma",
        FILES,
        "compare coil-specs/quote-used.json coil-specs/window-bench.json --needs lab-files/lessons.json --number-format comma --date 2026-03-01",
    ),
    (
        "build-comma",
        FILES,
        "build coil-specs/window-bench.json --number-format comma --scale 1:2 --projection third --within 0.2% --interlayer \"0.01 mm\"",
    ),
    ("bare-build", &[Json], "build bare.json"),
    ("wires", BOTH, "wires"),
    ("wires-near", BOTH, "wires --near \"0.9 mm\""),
    ("schema", &[Text], "schema"),
    ("schema-bench", &[Text], "schema bench"),
    ("register", ALL, "register lab-files/window-bench.register"),
    ("register-expired", &[Text], "register lab-files/window-bench.register --date 2027-01-01"),
    (
        "weigh-register",
        BOTH,
        "weigh coil-specs/window-bench.json --runs lab-files/runs.csv --register lab-files/window-bench.register --date 2026-03-01",
    ),
    (
        "orbit-register",
        &[Text],
        "orbit coil-specs/window-bench.json --bias --gun-voltage \"200 V\" --register lab-files/window-bench.register --date 2026-03-01",
    ),
    (
        "sheet-register",
        BOTH,
        "sheet coil-specs/window-bench.json --register lab-files/window-bench.register --date 2026-03-01",
    ),
    ("schema-wanted", &[Text], "schema wanted"),
    ("schema-measured", &[Text], "schema measured"),
    // A spec with only the required parts.
    ("bare-sheet", BOTH, "sheet bare.json"),
    ("bare-check", BOTH, "check bare.json"),
    ("bare-heat", &[Text], "heat bare.json --current \"1 A\""),
    ("bare-uniformity", BOTH, "uniformity bare.json"),
    ("bare-compare", BOTH, "compare bare.json coil-specs/quote-used.json"),
    ("check-warnings", BOTH, "check cancelling.json"),
    ("heat-above-supply", &[Text], "heat coil-specs/window-bench.json --current \"5 A\""),
    ("bare-heat-without-current", &[Text], "heat bare.json"),
    ("calibrate-plan-out-of-reach", BOTH, "calibrate coil-specs/window-bench.json --plan --want \"0.001 %\""),
    ("calibrate-refused", BOTH, "calibrate coil-specs/window-bench.json --readings disagree.csv"),
    (
        "calibrate-same-ammeter",
        BOTH,
        "calibrate coil-specs/window-bench.json --readings lab-files/readings.csv --same-ammeter",
    ),
    (
        "calibrate-disagree",
        &[Text],
        "calibrate coil-specs/window-bench.json --readings disagree.csv --combine",
    ),
];

/// Calls that need another call before them.
const AFTER_ANOTHER: &[(&str, &[Form], &str, &str)] = &[
    (
        "calibrate-previous",
        ALL,
        "calibrate coil-specs/window-bench.json --out before",
        "calibrate coil-specs/window-bench.json --readings lab-files/readings.csv --previous before/calibration.json",
    ),
    (
        "calibrate-previous-readings",
        BOTH,
        "calibrate coil-specs/window-bench.json --readings lab-files/readings.csv --out before",
        "calibrate coil-specs/window-bench.json --readings lab-files/readings.csv --previous before/calibration.json",
    ),
    (
        "weigh-calibration",
        BOTH,
        "calibrate coil-specs/window-bench.json --readings lab-files/readings.csv --out before",
        "weigh coil-specs/window-bench.json --runs lab-files/runs.csv --calibration before/calibration.json",
    ),
    (
        "orbit-calibration",
        BOTH,
        "calibrate coil-specs/window-bench.json --readings lab-files/readings.csv --out before",
        "orbit coil-specs/window-bench.json --bias --gun-voltage \"200 V\" --calibration before/calibration.json",
    ),
    (
        "calibrate-force",
        FILES,
        "calibrate coil-specs/quote-used.json --out out",
        "calibrate coil-specs/quote-used.json --step \"0.7 A\" --force",
    ),
    (
        "identify-force",
        &[Text],
        "identify lab-files/cupboard-pair.json --write pair.json",
        "identify lab-files/cupboard-pair.json --write pair.json --force",
    ),
];

const SMALL_WISHES: &str = r#"{
    "title": "Two wires",
    "tube": {
        "bulb_radius": "76 mm", "gun_exit": ["45 mm", "0 mm", "0 mm"], "gun_direction": [0, 1, 0],
        "gun_voltage": ["100 V", "250 V"], "beam_radius": ["32 mm", "48 mm"]
    },
    "clearance": "4 mm",
    "supply": { "voltage_limit": "24 V", "current_limit": "3 A" },
    "beam_deviation": "0.6 %",
    "time_at_largest_current": "20 min",
    "surface_temperature_limit": "55 degC",
    "room": { "temperature": "21 degC" },
    "search": {
        "mean_radius": ["150 mm", "160 mm"], "width": ["14 mm", "24 mm"], "depth": ["8 mm", "20 mm"], "spacing": "beam",
        "wires": [{ "size": "AWG 19", "build": "heavy" }, { "size": "0.8 mm", "build": "grade 2" }]
    },
    "prefer": "copper mass",
    "wire_price_per_kg": { "amount": 20, "currency": "EUR" }
}
"#;

/// Readings of a pair with a fifth more turns than the spec's.
const DISAGREEING: &str =
    "current_A,field_mT,field_uncertainty_mT\n0.5,0.5,0.001\n1,1,0.001\n1.5,1.5,0.001\n2,2.0,0.001\n";

/// The files that some of these calls name.
fn own_files(call: &str) -> Vec<(&'static str, String)> {
    [
        ("small-wishes.json", SMALL_WISHES.to_owned()),
        ("impossible-wishes.json", SMALL_WISHES.replace("24 V", "1 V")),
        ("bare.json", wrong::BARE.to_owned()),
        ("cancelling.json", wrong::cancelling()),
        ("disagree.csv", DISAGREEING.to_owned()),
    ]
    .into_iter()
    .filter(|(name, _)| call.split(' ').any(|word| word == *name))
    .collect()
}

/// Every case, right and wrong.
pub fn all() -> Vec<Case> {
    let case = |name: String, forms, first: &[&str], call: String| {
        let files = own_files(&call);
        let first = first.iter().map(|call| (*call).to_owned()).collect();
        Case { name, first, call, forms, files }
    };
    let mut cases = Vec::new();
    for spec in SPECS {
        for (name, forms, call) in ON_EVERY_SPEC {
            let call = call.replace("SPEC", &format!("coil-specs/{spec}.json"));
            cases.push(case(format!("{spec}/{name}"), forms, &[], call));
        }
    }
    for (name, forms, call) in ALONE {
        cases.push(case((*name).to_owned(), forms, &[], (*call).to_owned()));
    }
    for (name, forms, first, call) in AFTER_ANOTHER {
        cases.push(case((*name).to_owned(), forms, &[first], (*call).to_owned()));
    }
    cases.extend(wrong::cases());
    cases
}
