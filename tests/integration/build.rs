//! `build`, as a workshop uses it: files, drawings, cutting file, sheets.

use crate::program::{data, example, failure, json, number, run, text};
use std::collections::BTreeMap;
use std::f64::consts::{FRAC_PI_4, TAU};
use std::fs;
use std::path::Path;

/// The papers of an example spec, by file name.
fn papers(spec: &str, more: &[&str]) -> BTreeMap<String, String> {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("papers");
    let spec = if Path::new(spec).exists() { spec.to_owned() } else { example(spec) };
    let mut call = vec!["build", &spec, "--out", out.to_str().unwrap(), "--date", "2026-03-01"];
    call.extend(more);
    assert!(run(&call).status.success());
    let read = |entry: fs::DirEntry| {
        (entry.file_name().into_string().unwrap(), fs::read_to_string(entry.path()).unwrap())
    };
    fs::read_dir(&out).unwrap().map(|entry| read(entry.unwrap())).collect()
}

/// A spec with only the required parts, the winding changed as told.
fn bare(folder: &Path, winding: &str, spacing: &str, more: &str) -> String {
    let path = folder.join("pair.json");
    let spec = format!(
        "{{ \"title\": \"Bare pair\", \"winding\": {{ {winding} }}, \"spacing\": \"{spacing}\"{more} }}"
    );
    fs::write(&path, spec).unwrap();
    path.to_str().unwrap().to_owned()
}

const WINDING: &str = r#""mean_radius": "160 mm", "width": "15 mm", "depth": "10 mm", "turns": 150,
    "wire": { "size": "0.9 mm", "build": "grade 2" }"#;

/// What an entity of a DXF file holds: its group codes with their values, in order.
type Entity = Vec<(u16, String)>;

/// The header's variables and the entities of an ASCII DXF file; written from the published list of group codes, with
/// nothing of the program's writer.
fn read_dxf(text: &str) -> (BTreeMap<String, String>, Vec<Entity>) {
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines.len() % 2, 0, "codes and values alternate");
    let pairs: Vec<(u16, String)> =
        lines.chunks(2).map(|pair| (pair[0].trim().parse().unwrap(), pair[1].to_owned())).collect();
    let (mut header, mut entities) = (BTreeMap::new(), Vec::<Entity>::new());
    let (mut section, mut variable) = (String::new(), String::new());
    for (index, (code, value)) in pairs.iter().enumerate() {
        match (code, value.as_str()) {
            (2, name) if index > 0 && pairs[index - 1] == (0, "SECTION".into()) => section = name.into(),
            (0, "ENDSEC") => section.clear(),
            (9, name) => variable = name.into(),
            (_, value) if section == "HEADER" => {
                header.entry(variable.clone()).or_insert_with(|| value.to_owned());
            }
            (0, kind) if section == "ENTITIES" => entities.push(vec![(0, kind.into())]),
            (code, value) if section == "ENTITIES" => {
                if let Some(entity) = entities.last_mut() {
                    entity.push((*code, value.into()));
                }
            }
            _ => {}
        }
    }
    (header, entities)
}

fn value(entity: &Entity, code: u16) -> &str {
    entity.iter().find(|(other, _)| *other == code).map_or("", |(_, value)| value)
}

/// Area of a closed light polyline: every arc is followed in a thousand straight steps.
fn area_mm2(entity: &Entity) -> f64 {
    let mut corners: Vec<[f64; 3]> = Vec::new();
    for (code, value) in entity {
        match code {
            10 => corners.push([value.parse().unwrap(), 0.0, 0.0]),
            20 => corners.last_mut().unwrap()[1] = value.parse().unwrap(),
            42 => corners.last_mut().unwrap()[2] = value.parse().unwrap(),
            _ => {}
        }
    }
    let mut points: Vec<[f64; 2]> = Vec::new();
    for (index, [x, y, bulge]) in corners.iter().copied().enumerate() {
        let [to_x, to_y, _] = corners[(index + 1) % corners.len()];
        points.push([x, y]);
        if bulge == 0.0 {
            continue;
        }
        // The centre lies beside the chord's middle, to the left for a bulge below 1.
        let angle = 4.0 * bulge.atan();
        let off = 0.5 / (0.5 * angle).tan();
        let centre = [0.5 * (x + to_x) - off * (to_y - y), 0.5 * (y + to_y) + off * (to_x - x)];
        let (start, radius) = ((y - centre[1]).atan2(x - centre[0]), (x - centre[0]).hypot(y - centre[1]));
        for step in 1..1000 {
            let at = start + angle * f64::from(step) / 1000.0;
            points.push([centre[0] + radius * at.cos(), centre[1] + radius * at.sin()]);
        }
    }
    let next = points.iter().cycle().skip(1);
    points.iter().zip(next).map(|(a, b)| 0.5 * (a[0] * b[1] - b[0] * a[1])).sum::<f64>().abs()
}

#[test]
fn a_test_current_that_shows_nothing_is_refused() {
    let spec = example("window-bench.json");
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("papers");
    let (status, told) = failure(&["build", &spec, "--out", out.to_str().unwrap(), "--test-current", "1 µA"]);
    assert_eq!(status, 1);
    // By hand: 50 µT over 0.844 mT/A is 59.2 mA, and what is advised must do.
    assert!(told.contains("too little to be measured") && told.contains("take 0.060 A or more"), "{told}");
    text(&["build", &spec, "--out", out.to_str().unwrap(), "--test-current", "0.060 A"]);
}

#[test]
fn every_paper_is_written_and_says_where_it_comes_from() {
    let papers = papers("window-bench.json", &[]);
    let names: Vec<&str> = papers.keys().map(String::as_str).collect();
    assert_eq!(
        names,
        [
            "assembly.svg",
            "build.json",
            "drawings.html",
            "former.dxf",
            "former.svg",
            "order-list.csv",
            "order-list.html",
            "terminals.svg",
            "test-sheet.html",
            "winding-sheet.html"
        ]
    );
    for (name, text) in &papers {
        assert!(text.contains("3d0dcac499f7") && text.contains("2026-03-01"), "{name}");
    }
    // The drawings for a page are no wider than A4 and Letter leave, and their ids are their own.
    let drawings = &papers["drawings.html"];
    assert_eq!(drawings.matches("width=\"180mm\"").count(), 4);
    for id in ["title-former", "title-detail", "title-pair", "check-bar-former", "check-bar-pair"] {
        assert_eq!(drawings.matches(&format!("id=\"{id}\"")).count(), 1, "{id}");
    }
    for figure in ["Ø310 ±0.4", "Ø368", "former 1:5, detail X 2:1, pair 1:5", "160 ±0.6", "328/338"] {
        assert!(drawings.contains(figure), "{figure}");
    }
    for sheet in ["drawings.html", "winding-sheet.html", "order-list.html", "test-sheet.html"] {
        let text = &papers[sheet];
        // The printer counts the pages.
        assert!(text.contains(r#"content: "page " counter(page) " of " counter(pages)"#), "{sheet}");
        assert!(text.contains("Local safety rules and a competent person"), "{sheet}");
        let to_fill_in = sheet == "drawings.html" || text.contains("class=\"blank\"");
        assert!(text.contains("class=\"sign\"") && to_fill_in, "{sheet}");
        for outside in ["<link", "src=", "@import", "url(", "<script"] {
            assert!(!text.contains(outside), "{sheet}: {outside}");
        }
    }
    for drawing in ["former.svg", "assembly.svg"] {
        assert!(papers[drawing].contains("Local safety rules"), "{drawing}");
    }
}

#[test]
fn drawings_are_in_true_scale_on_a_standard_sheet() {
    for (more, scale, bar) in [
        (&[][..], 1.0, "check bar: 100 mm on paper<"),
        (&["--scale", "1:2"], 0.5, "check bar: 100 mm on paper, 200 mm of the part"),
    ] {
        let papers = papers("window-bench.json", more);
        let former = &papers["former.svg"];
        // Flange of 368 mm, bore of 300 mm: half circles of their radii.
        for diameter in [368.0, 300.0] {
            let radius = format!("{}", 0.5 * scale * diameter);
            assert!(former.contains(&format!("a {radius} {radius} 0 1 0 ")), "{diameter} at {scale}");
        }
        for drawing in ["former.svg", "assembly.svg"] {
            let text = &papers[drawing];
            assert!(text.contains(bar) && text.contains("id=\"check-bar\""), "{drawing}");
            let sheet = if scale == 1.0 { ("841", "594", "A1") } else { ("420", "297", "A3") };
            let (width, height, name) = sheet;
            assert!(
                text.contains(&format!(
                    "width=\"{width}mm\" height=\"{height}mm\" viewBox=\"0 0 {width} {height}\""
                )),
                "{drawing}"
            );
            assert!(text.contains(&format!(">{name}<")) && text.contains("ISO 2768-1, class m"), "{drawing}");
        }
        assert!(former.contains(">1 of 3<") && papers["assembly.svg"].contains(">2 of 3<"));
    }
}

#[test]
fn drawings_are_drawn_in_the_projection_asked_for() {
    let [first, third] =
        ["first", "third"].map(|angle| papers("window-bench.json", &["--projection", angle]));
    assert!(first["former.svg"].contains("first angle") && third["former.svg"].contains("third angle"));
    assert_ne!(first["former.svg"], third["former.svg"]);
    assert_eq!(first["winding-sheet.html"], third["winding-sheet.html"]);
}

#[test]
fn the_assembly_tells_tilt_in_millimetres_at_the_rim() {
    let assembly = &papers("window-bench.json", &[])["assembly.svg"];
    // 0.25° over 368 mm is 1.606 mm, for both coils about both axes 2√2 of it, 4.54 mm; never more is printed. An offset of 0.5 mm
    // makes a step of 0.5 mm, of each coil along both axes 1.41 mm.
    for figure in ["160 ±0.6", "1.6 mm over Ø 368 mm", "(134.5)", "0.5 mm step", "Ø1<"] {
        assert!(assembly.contains(figure), "{figure}");
    }
    let written = plain(assembly);
    for figure in ["Up to 4.5 mm", "Up to 1.4 mm"] {
        assert!(written.contains(figure), "{figure}");
    }
    // The test sheet has the same limits.
    let sheet = plain(&papers("window-bench.json", &[])["test-sheet.html"]);
    for figure in
        ["such distance, all round 0 - 1.6", "along the axis, all round 0 - 0.5", "up to 4.5 mm and 1.4 mm"]
    {
        assert!(sheet.contains(figure), "{figure}");
    }
    let tightened = &papers("window-bench.json", &["--within", "0.2 %"])["assembly.svg"];
    assert!(tightened.contains("hold spacing to") && !tightened.contains("160 ±0.6"));
}

#[test]
fn the_cutting_file_is_read_back_with_the_right_areas() {
    let papers = papers("window-bench.json", &[]);
    let record: serde_json::Value = serde_json::from_str(&papers["build.json"]).unwrap();
    let (header, entities) = read_dxf(&papers["former.dxf"]);
    assert_eq!(header["$INSUNITS"], "4");
    assert_eq!(header["$ACADVER"], "AC1015");
    let layers: Vec<&str> = entities.iter().map(|entity| value(entity, 8)).collect();
    for layer in ["cut", "engrave", "dimensions"] {
        assert!(layers.contains(&layer), "{layer}");
    }
    let cut: Vec<&Entity> = entities.iter().filter(|entity| value(entity, 8) == "cut").collect();
    for entity in &cut {
        assert_eq!((value(entity, 0), value(entity, 70)), ("LWPOLYLINE", "1"));
    }
    let mut found: Vec<f64> = cut.iter().map(|entity| area_mm2(entity)).collect();
    // Two flanges with bore, four bolts, three pins, two screws, the start and the slot; four rings with bore and three pins.
    let mm = |pointer: &str| 1e3 * number(&record, pointer);
    let disc = |diameter: f64| FRAC_PI_4 * diameter * diameter;
    let slot = mm("/former/finish_slot/width_m");
    let long = mm("/former/finish_slot/radius_m/1") - mm("/former/finish_slot/radius_m/0");
    let pin = mm("/former/dowels/diameter_m");
    let flange = [
        vec![disc(368.0), disc(300.0), disc(mm("/former/start_hole/diameter_m")), disc(slot) + slot * long],
        vec![disc(5.5); 4],
        vec![disc(pin); 3],
        vec![disc(mm("/former/terminals/screw_hole_m")); 2],
    ]
    .concat();
    // The terminal plate: a tongue and a wider part, two screws and two sockets.
    let edges = [0, 1, 2].map(|n| mm(&format!("/former/terminals/edges_m/{n}")));
    let widths = [0, 1].map(|n| mm(&format!("/former/terminals/widths_m/{n}")));
    let plate = [
        vec![widths[0] * (edges[1] - edges[0]) + widths[1] * (edges[2] - edges[1])],
        vec![disc(mm("/former/terminals/screw_hole_m")); 2],
        vec![disc(mm("/former/terminals/socket_hole_m")); 2],
    ]
    .concat();
    let ring = [vec![disc(310.0), disc(300.0)], vec![disc(pin); 3]].concat();
    let mut wanted = [flange.repeat(2), ring.repeat(4), plate].concat();
    found.sort_by(f64::total_cmp);
    wanted.sort_by(f64::total_cmp);
    assert_eq!(found.len(), wanted.len());
    for (found, wanted) in found.iter().zip(&wanted) {
        // Four thousand chords for a circle: 4e-7 short.
        assert!((found / wanted - 1.0).abs() < 1e-6, "{found} for {wanted}");
    }
    // What ezdxf, a reader of its own, found in the same drawing (tests/data/read_former_dxf.py).
    let kept = fs::read_to_string(data("former_dxf_areas.csv")).unwrap();
    assert!(kept.starts_with("# ezdxf") && kept.contains("INSUNITS 4, errors 0, fixes 0"));
    let mut theirs: Vec<f64> =
        kept.lines().skip(2).map(|line| line.rsplit(',').next().unwrap().parse().unwrap()).collect();
    theirs.sort_by(f64::total_cmp);
    assert_eq!(theirs.len(), wanted.len());
    for (theirs, wanted) in theirs.iter().zip(&wanted) {
        assert!((theirs / wanted - 1.0).abs() < 1e-5, "{theirs} for {wanted}");
    }
}

/// Left, bottom, right and top of the corners of a closed outline.
fn bounds(entity: &Entity) -> [f64; 4] {
    let along = |wanted: u16| {
        let all = entity.iter().filter(move |(code, _)| *code == wanted);
        let all: Vec<f64> = all.map(|(_, value)| value.parse().unwrap()).collect();
        let least = all.iter().copied().fold(f64::INFINITY, f64::min);
        [least, all.iter().copied().fold(f64::NEG_INFINITY, f64::max)]
    };
    let ([left, right], [bottom, top]) = (along(10), along(20));
    [left, bottom, right, top]
}

#[test]
fn parts_to_cut_lie_apart_in_rows_of_the_shape_of_a_bed() {
    let folder = tempfile::tempdir().unwrap();
    let wide = bare(
        folder.path(),
        r#""mean_radius": "40 mm", "width": "60 mm", "depth": "6 mm", "turns": 600,
           "wire": { "bare_diameter": "0.5 mm", "overall_diameter": "0.55 mm", "conductor": "copper" }"#,
        "130 mm",
        "",
    );
    for (spec, parts) in [("window-bench.json", 7), ("quote-parallel.json", 5), (&wide, 20)] {
        let (_, entities) = read_dxf(&papers(spec, &[])["former.dxf"]);
        let cut: Vec<[f64; 4]> =
            entities.iter().filter(|entity| value(entity, 8) == "cut").map(bounds).collect();
        let within = |one: &[f64; 4], other: &[f64; 4]| {
            one[0] > other[0] && one[1] > other[1] && one[2] < other[2] && one[3] < other[3]
        };
        let outer: Vec<&[f64; 4]> =
            cut.iter().filter(|one| !cut.iter().any(|other| within(one, other))).collect();
        assert!(outer.len() >= parts, "{spec}: {}", outer.len());
        for (i, one) in outer.iter().enumerate() {
            for other in &outer[i + 1..] {
                let across = (other[0] - one[2]).max(one[0] - other[2]);
                let up = (other[1] - one[3]).max(one[1] - other[3]);
                assert!(across.max(up) >= 8.0 - 1e-3, "{spec}: {one:?} {other:?}");
            }
        }
        let whole = outer.iter().fold([f64::INFINITY, f64::INFINITY, 0.0, 0.0], |all: [f64; 4], one| {
            [all[0].min(one[0]), all[1].min(one[1]), all[2].max(one[2]), all[3].max(one[3])]
        });
        let proportion = (whole[2] - whole[0]) / (whole[3] - whole[1]);
        assert!((0.6..=2.6).contains(&proportion), "{spec}: {proportion}");
    }
}

#[test]
fn the_winding_sheet_adds_up_to_the_sheets_own_length_and_resistance() {
    let record =
        json(&["build", &example("window-bench.json"), "--winding-temperature", "20 degC", "--json"]);
    let sheet = json(&["sheet", &example("window-bench.json"), "--json"]);
    // Ten full layers: turns times the mean turn, 150 × 2π × 160 mm.
    let length = number(&record, "/winding/wire_length_m");
    assert!((length / (150.0 * TAU * 0.16) - 1.0).abs() < 1e-12);
    assert!((2.0 * length / number(&sheet, "/wire_length_m") - 1.0).abs() < 1e-12);
    // 1/58.5 for 1/58.
    let nominal = 2.0 * number(&record, "/winding/resistance_ohm/expected");
    assert!((number(&sheet, "/resistance_at_20_celsius_ohm") / nominal - 58.5 / 58.0).abs() < 1e-12);
    let layers = record["winding"]["layers"].as_array().unwrap();
    assert_eq!(layers.len(), 10);
    assert!((number(&layers[9], "/outer_diameter_m/nominal") - 0.330).abs() < 1e-12);
    // The tests agree with what `sheet` says.
    for (ours, theirs) in [
        ("/test/inductance/series_henry/expected", "/inductance_henry"),
        ("/test/inductance/mutual_henry/expected", "/mutual_inductance_henry"),
    ] {
        assert!((number(&record, ours) / number(&sheet, theirs) - 1.0).abs() < 1e-9, "{ours}");
    }
    let field =
        number(&record, "/test/field/field_tesla/expected") / number(&record, "/test/field/current_ampere");
    assert!((field / number(&sheet, "/field_constant_tesla_per_ampere") - 1.0).abs() < 1e-12);
}

#[test]
fn the_order_holds_both_coils_with_waste_and_free_ends() {
    let record =
        json(&["build", &example("window-bench.json"), "--json", "--waste", "10 %", "--lead-out", "1 m"]);
    let wire = &record["order"]["wire"];
    let needed = (number(wire, "/wound_per_coil_m") + 2.0) * 1.1;
    assert!((number(wire, "/needed_per_coil_m") / needed - 1.0).abs() < 1e-12);
    let bought = number(wire, "/reels/count") * number(wire, "/reels/each_kg");
    assert!(bought >= 2.0 * number(wire, "/enamelled_needed_per_coil_kg"));
    // 0.9 mm copper: 0.63617 mm² × 8.89 = 5.6556 g/m.
    assert!((number(wire, "/bare_kg_per_m") - 5.6556e-3).abs() < 1e-7);
    let record = json(&["build", &example("window-bench.json"), "--json", "--reel", "0.5 kg"]);
    assert!(record["order"]["wire"]["reels"].is_null());
    assert!(record["notes"].to_string().contains("No reel named holds the wire of one coil"));
}

#[test]
fn a_pair_of_any_size_without_a_former_has_a_suggested_one() {
    let folder = tempfile::tempdir().unwrap();
    let wire = |bare: &str, overall: &str| {
        format!("\"wire\": {{ \"bare_diameter\": \"{bare}\", \"overall_diameter\": \"{overall}\" }}")
    };
    let sizes = [
        (
            format!(
                r#""mean_radius": "5 mm", "width": "1 mm", "depth": "1 mm", "turns": 16, {}"#,
                wire("0.2 mm", "0.24 mm")
            ),
            "5 mm",
        ),
        (WINDING.into(), "160 mm"),
        (
            format!(
                r#""mean_radius": "3 m", "width": "40 mm", "depth": "40 mm", "turns": 200, {}"#,
                wire("2.5 mm", "2.6 mm")
            ),
            "3 m",
        ),
        (
            format!(
                r#""mean_radius": "160 mm", "width": "1 mm", "depth": "1 mm", "turns": 1, {}"#,
                wire("0.9 mm", "0.98 mm")
            ),
            "160 mm",
        ),
        (
            format!(
                r#""mean_radius": "160 mm", "width": "16 mm", "depth": "10 mm", "turns": 149.5, "packing": "nested", {}"#,
                wire("0.9 mm", "0.98 mm")
            ),
            "160 mm",
        ),
    ];
    for (winding, spacing) in sizes {
        let spec = bare(folder.path(), &winding, spacing, "");
        let papers = papers(&spec, &[]);
        assert!(papers["former.svg"].contains("suggested"), "{winding}");
        assert!(papers["former.svg"].contains("not in the spec"), "{winding}");
        let (_, entities) = read_dxf(&papers["former.dxf"]);
        assert!(entities.iter().any(|entity| value(entity, 8) == "cut"));
        for (name, text) in &papers {
            assert!(
                !text.contains("NaN") && !text.contains("undefined") && !text.contains("infinite"),
                "{name}"
            );
        }
    }
}

#[test]
fn what_cannot_be_built_is_refused_with_the_key_to_change() {
    let folder = tempfile::tempdir().unwrap();
    let refused = |more: &str, arguments: &[&str]| {
        let spec = bare(folder.path(), WINDING, "160 mm", more);
        let mut call = vec!["build", &spec];
        call.extend(arguments);
        failure(&call)
    };
    let (status, message) = refused(", \"former\": { \"wall\": \"80 mm\" }", &[]);
    assert!(status == 1 && message.contains("former.wall"), "{message}");
    let (status, message) = refused("", &["--interlayer", "0.5 mm"]);
    assert!(status == 1 && message.contains("--interlayer"), "{message}");
    let (status, message) = refused("", &["--reel", "0 kg"]);
    assert!(status == 1 && message.contains("--reel"), "{message}");
    let (status, message) = refused("", &["--scale", "1:3"]);
    assert!(status == 2 && message.contains("--scale"), "{message}");
}

#[test]
fn coils_that_exist_are_not_looked_at_and_that_is_said() {
    let [nominal, built] =
        ["quote-used.json", "window-bench.json"].map(|spec| text(&["build", &example(spec)]));
    assert!(nominal.contains("`as_built` describes existing coils"));
    assert!(!built.contains("`as_built`"));
}

#[test]
fn what_a_wish_needs_to_be_held_binds_every_paper() {
    let build = |more: &[&str]| -> serde_json::Value {
        serde_json::from_str(&papers("window-bench.json", more)["build.json"]).unwrap()
    };
    let (free, wished) = (build(&[]), build(&["--within", "0.1 %"]));
    let hold = |name: &str| {
        let all = wished["assembly"]["hold"].as_array().unwrap();
        all.iter().find(|hold| hold["name"] == name).unwrap_or_else(|| panic!("{name}")).clone()
    };
    let radius = number(&hold("mean radius"), "/needed_limit");
    assert!(radius < 0.9 * number(&hold("mean radius"), "/stated_limit"));
    // The floor of the channel is held as the mean radius is, and so is the finished coil.
    let range = |record: &serde_json::Value, path: &str| {
        number(record, &format!("{path}/most")) - number(record, &format!("{path}/least"))
    };
    let floor = "/winding/floor_diameter_m";
    assert!((range(&wished, floor) / range(&free, floor) - radius / 0.4e-3).abs() < 1e-6, "{radius}");
    let finished = "/winding/finished_diameter_m";
    assert!(range(&wished, finished) < range(&free, finished));
    let field = |record: &serde_json::Value| {
        let at = |key: &str| number(record, &format!("/test/field/field_tesla/{key}"));
        (at("high") - at("low")) / at("expected")
    };
    assert!(field(&wished) < 0.8 * field(&free), "{} {}", field(&wished), field(&free));
    // A winder counts whole turns.
    assert!(number(&hold("turns"), "/needed_limit") < 0.5);
}

/// The text of a page or drawing, without its markup and line breaks.
fn plain(markup: &str) -> String {
    let text =
        markup.split('<').filter_map(|part| Some(part.split_once('>')?.1)).collect::<Vec<_>>().join(" ");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_former_of_any_metal_is_open_and_one_that_is_not_known_is_asked_about() {
    let folder = tempfile::tempdir().unwrap();
    let sheets = |material: &str| {
        let more = format!(", \"former\": {{ \"material\": \"{material}\", \"wall\": \"4 mm\" }}");
        papers(&bare(folder.path(), WINDING, "160 mm", &more), &[])
    };
    for metal in
        ["copper", "Al 6061", "6061-T6", "AlMg3", "EN AW-5083", "Alu", "Messing", "zinc", "steel", "mu-metal"]
    {
        let papers = sheets(metal);
        let former = plain(&papers["former.svg"]);
        assert!(former.contains("a closed ring of it is a shorted turn"), "{metal}");
        assert!(papers["order-list.html"].contains("insulating strip"), "{metal}");
        let is_magnetic = ["steel", "mu-metal"].contains(&metal);
        assert_eq!(former.contains("is magnetic: a former of it"), is_magnetic, "{metal}");
    }
    let papers = sheets("unobtainium");
    assert!(plain(&papers["former.svg"]).contains("Ask before cutting"), "{}", papers["former.svg"]);
    let papers = sheets("plywood");
    assert!(!plain(&papers["former.svg"]).contains("Ask before cutting"));
    assert!(!papers["order-list.html"].contains("insulating strip"));
}

#[test]
fn the_order_has_a_clamp_for_both_directions_and_the_filler_that_the_winding_sheet_advises() {
    let papers = papers("window-bench.json", &[]);
    let order = &papers["order-list.csv"];
    assert!(order.contains("voltage clamp for both directions") && !order.contains("\ndiode"), "{order}");
    let folder = tempfile::tempdir().unwrap();
    let loose = WINDING.replace("10 mm", "11.5 mm");
    let spec = bare(folder.path(), &loose, "160 mm", "");
    let sheets = self::papers(&spec, &[]);
    let advised = plain(&sheets["winding-sheet.html"]).contains("Insulation of");
    assert!(advised && sheets["order-list.csv"].contains("insulating foil"), "{}", sheets["order-list.csv"]);
    // With insulation asked for, it is ordered once.
    let asked = self::papers(&spec, &["--interlayer", "0.05 mm"]);
    assert_eq!(asked["order-list.csv"].matches("insulating foil").count(), 1);
}
