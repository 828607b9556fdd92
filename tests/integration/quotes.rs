//! Quotes as they come: unfinished, contradicting themselves, too hot, in another currency.

use crate::program::{data, example, failure, json, run, text};
use coilwright::files::spec::quote_from_text;
use coilwright::questions::compare::{QuoteFile, Request, compare};
use serde_json::{Value, json};
use std::fs;
use std::path::Path;

fn lab_file(name: &str) -> String {
    format!("{}/lab-files/{name}", env!("CARGO_MANIFEST_DIR"))
}

/// A page without the blanks that do not break.
fn page_of(path: &Path) -> String {
    fs::read_to_string(path).unwrap().replace('\u{a0}', " ")
}

/// The four letters, in this order, against what the lessons need.
fn letters() -> [String; 4] {
    [
        lab_file("quote-unfinished.json"),
        data("quotes/contradicting.json"),
        data("quotes/hot.json"),
        data("quotes/dollars.json"),
    ]
}

fn compared(files: &[String], more: &[&str]) -> Value {
    let needs = lab_file("lessons.json");
    let files: Vec<&str> = files.iter().map(String::as_str).collect();
    json(&[&["compare"][..], &files, &["--needs", &needs, "--json"], more].concat())
}

fn verdict_of<'a>(record: &'a Value, need: &str, option: usize) -> &'a str {
    let need = record["needs"].as_array().unwrap().iter().find(|it| it["name"] == need).unwrap();
    need["results"][option]["verdict"].as_str().unwrap()
}

#[test]
fn four_letters_give_a_verdict_each_and_two_letters_of_questions() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().to_str().unwrap();
    let record = compared(&letters(), &["--out", out]);
    let verdicts: Vec<&str> =
        record["options"].as_array().unwrap().iter().map(|it| it["verdict"].as_str().unwrap()).collect();
    assert_eq!(verdicts, ["undecided", "doubtful", "fails", "fails"]);
    assert_eq!(verdict_of(&record, "surface temperature", 2), "missed");
    assert_eq!(verdict_of(&record, "largest field", 3), "missed");
    // (400 + 60) USD at 0.92, no tax on top.
    assert!((record["options"][3]["cost"].as_f64().unwrap() - 423.2).abs() < 1e-9);
    // (310) × 1.19.
    assert!((record["options"][0]["cost"].as_f64().unwrap() - 368.9).abs() < 1e-9);
    let mut written: Vec<String> = fs::read_dir(folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .filter(|name| name.starts_with("letter-"))
        .collect();
    written.sort();
    assert_eq!(written, ["letter-contradicting.html", "letter-quote-unfinished.html"]);
    let unfinished = page_of(&folder.path().join(&written[1]));
    for wanted in ["Which wire is used", "How wide is the wound section", "13.4 mm to", "warranty"] {
        assert!(unfinished.contains(wanted), "{wanted}: {unfinished}");
    }
    // No supplier learns of the others, nor of the budget.
    for other in ["contradicting", "hot", "dollars", "EUR", "600"] {
        assert!(!unfinished.contains(other), "{other}");
    }
    let contradicting = page_of(&folder.path().join(&written[0]));
    assert!(contradicting.contains("stated as 1.35 mT/A, and 1.01 mT/A follows"), "{contradicting}");
}

#[test]
fn what_the_gaps_leave_open_lies_between_bounds_that_hold_the_whole_quote() {
    let folder = tempfile::tempdir().unwrap();
    let text = fs::read_to_string(example("quote-parallel.json")).unwrap();
    let whole: Value = serde_json::from_str(&text).unwrap();
    let figures = ["field_constant_tesla_per_ampere", "conductor_mass_kg", "surface_temperature_celsius"];
    let truth = compared(&[example("quote-parallel.json"), example("quote-used.json")], &[]);
    type Edit = fn(&mut Value);
    let edits: [(&str, Edit); 4] = [
        ("build", |quote| drop(quote["winding"]["wire"].as_object_mut().unwrap().remove("build"))),
        ("width", |quote| quote["winding"]["width"] = Value::Null),
        ("section", |quote| {
            quote["winding"]["width"] = json!("");
            quote["winding"]["depth"] = json!("");
            quote["winding"]["layers"] = json!(12);
            quote["winding"].as_object_mut().unwrap().remove("turns_per_layer");
        }),
        ("turns", |quote| {
            quote["winding"].as_object_mut().unwrap().remove("turns");
            quote["winding"].as_object_mut().unwrap().remove("turns_per_layer");
            // ρ 2π r N/A of one coil, half of it in parallel, by hand: 1/58 × 2π × 158 mm × 300/0.3959 mm².
            quote["stated"] = json!({ "resistance": "6.49 ohm" });
        }),
    ];
    for (name, edit) in edits {
        let mut quote = whole.clone();
        edit(&mut quote);
        let path = folder.path().join("quote.json");
        fs::write(&path, quote.to_string()).unwrap();
        let record = compared(&[path.to_str().unwrap().into(), example("quote-used.json")], &[]);
        let option = &record["options"][0];
        for figure in figures {
            let wanted = truth["options"][0][figure].as_f64().unwrap();
            let [low, high] = match option["bounds"][figure].as_array() {
                Some(ends) => [ends[0].as_f64().unwrap(), ends[1].as_f64().unwrap()],
                None => [option[figure].as_f64().unwrap(); 2],
            };
            assert!(
                low <= wanted * 1.0001 && wanted <= high * 1.0001,
                "{name}, {figure}: {low} to {high}, true {wanted}"
            );
        }
        assert_ne!(option["questions"].as_array().unwrap().len(), 0, "{name}");
    }
}

#[test]
fn what_nothing_bounds_is_left_out_of_the_figures_that_it_touches_and_of_no_other() {
    let folder = tempfile::tempdir().unwrap();
    let mut quote: Value =
        serde_json::from_str(&fs::read_to_string(example("quote-parallel.json")).unwrap()).unwrap();
    quote.as_object_mut().unwrap().remove("spacing");
    let path = folder.path().join("open.json");
    fs::write(&path, quote.to_string()).unwrap();
    let record = compared(&[path.to_str().unwrap().into(), example("quote-parallel.json")], &[]);
    let [open, whole] = [&record["options"][0], &record["options"][1]];
    for touched in ["field_constant_tesla_per_ampere", "largest_field_tesla", "worst_beam_deviation"] {
        assert!(open[touched].is_null() && open["bounds"][touched].is_null(), "{touched}");
    }
    for known in ["conductor_mass_kg", "outer_diameter_m"] {
        assert_eq!(open[known], whole[known], "{known}");
    }
    assert_eq!(verdict_of(&record, "largest field", 0), "not_known");
    assert_eq!(open["verdict"], "undecided");
    assert_eq!(open["gaps"][0]["gap"], "spacing");
}

#[test]
fn a_quote_of_nothing_and_one_that_cannot_be_made_are_asked_about() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| {
        fs::write(folder.path().join(name), text).unwrap();
        folder.path().join(name).to_str().unwrap().to_owned()
    };
    let empty =
        write("empty.json", r#"{ "title": null, "winding": { "turns": null, "wire": { "size": "" } } }"#);
    let full = write(
        "full.json",
        &fs::read_to_string(data("quotes/hot.json")).unwrap().replace("\"turns\": 100", "\"turns\": 5000"),
    );
    let record = compared(&[empty, full], &[]);
    assert_eq!(record["options"][0]["gaps"].as_array().unwrap().len(), 7);
    assert_eq!(record["options"][0]["title"], "empty");
    assert_eq!(record["options"][0]["verdict"], "undecided");
    assert_eq!(record["options"][1]["verdict"], "doubtful");
    let asked = record["options"][1]["questions"].as_array().unwrap();
    assert!(asked.iter().any(|it| it["question"] == "impossible"), "{asked:?}");
    assert!(record["options"][1]["field_constant_tesla_per_ampere"].is_null());
}

#[test]
fn a_word_that_no_quote_has_is_shown_in_its_place() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("slip.json");
    fs::write(&path, "{ \"title\": \"Slip\",\n  \"winding\": { \"turns\": null, \"widht\": \"3 mm\" } }")
        .unwrap();
    let (status, message) = failure(&["compare", path.to_str().unwrap(), &example("quote-used.json")]);
    assert_eq!(status, 1);
    assert!(message.contains("slip.json:2:") && message.contains("did you mean `width`"), "{message}");
}

#[test]
fn prices_in_two_currencies_without_a_rate_are_never_on_one_scale() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let printed = text(&[
        "compare",
        &data("quotes/dollars.json"),
        &example("quote-parallel.json"),
        "--out",
        out.to_str().unwrap(),
    ]);
    assert!(
        printed.contains("different currencies (EUR, USD)") && printed.contains("not comparable"),
        "{printed}"
    );
    let picture = fs::read_to_string(out.join("compare.svg")).unwrap();
    assert!(picture.contains("400 USD, no rate") && picture.contains("385 EUR, no rate"));
}

#[test]
fn twelve_options_with_long_names_have_all_their_files() {
    let folder = tempfile::tempdir().unwrap();
    let copies: Vec<String> = (0..12)
        .map(|number| {
            let name = format!("a supplier with a long name and a number, {number:02}.json");
            fs::copy(data("quotes/hot.json"), folder.path().join(&name)).unwrap();
            folder.path().join(name).to_str().unwrap().to_owned()
        })
        .collect();
    let out = folder.path().join("out");
    let mut arguments = vec!["compare"];
    arguments.extend(copies.iter().map(String::as_str));
    let needs = lab_file("lessons.json");
    arguments.extend(["--needs", &needs, "--out", out.to_str().unwrap()]);
    let finished = run(&arguments);
    assert!(finished.status.success());
    assert!(String::from_utf8_lossy(&finished.stdout).contains("number, 11 FAILS"));
    assert!(Path::new(&out).join("compare.xlsx").exists());
}

/// A whole quote with its stated figures; the pair has 0.815 mT/A, 6.24 ohm and 1.63 kg.
fn whole_quote(edit: impl Fn(&mut Value)) -> Value {
    let mut file = json!({
        "title": "Whole", "spacing": "150 mm", "connection": "series",
        "winding": {
            "mean_radius": "150 mm", "width": "16.9 mm", "depth": "9.5 mm", "turns": 136,
            "wire": { "size": "0.95 mm", "build": "grade 2" }
        }
    });
    edit(&mut file);
    file
}

/// What is said of a quote, beside itself, against these needs.
fn judged(quote: &Value, needs: &str) -> Value {
    let file = || QuoteFile {
        path: "quote.json".into(),
        quote: quote_from_text("quote.json", &quote.to_string()).unwrap(),
    };
    let needs = coilwright::files::spec::wanted_from_text("needs.json", needs).unwrap();
    let request = Request { needs: Some(&needs), ..Request::default() };
    serde_json::to_value(compare(&[file(), file()], &request).unwrap()).unwrap()
}

fn asked_of(quote: &Value) -> Vec<String> {
    let record = judged(quote, r#"{ "title": "Needs", "largest_field": "1 mT" }"#);
    let questions = record["options"][0]["questions"].as_array().unwrap().clone();
    questions.iter().map(|it| it["question"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn what_a_trial_makes_of_a_stated_figure_is_no_contradiction() {
    let quote = whole_quote(|file| {
        // Of a much smaller pair; neither radius nor spacing is known.
        file["stated"] = json!({ "field_constant": "1.6 mT/A" });
        file.as_object_mut().unwrap().remove("spacing");
        file["winding"].as_object_mut().unwrap().remove("mean_radius");
    });
    assert!(!asked_of(&quote).contains(&"contradiction".to_owned()));
    let whole = whole_quote(|file| file["stated"] = json!({ "field_constant": "1.6 mT/A" }));
    assert!(asked_of(&whole).contains(&"contradiction".to_owned()));
}

#[test]
fn half_a_unit_of_the_last_digit_and_the_leads_are_no_contradiction() {
    let contradicts =
        |edit: fn(&mut Value)| asked_of(&whole_quote(edit)).contains(&"contradiction".to_owned());
    assert!(!contradicts(|file| file["stated"] = json!({ "field_constant": "1 mT/A" })));
    assert!(contradicts(|file| file["stated"] = json!({ "field_constant": "1.0 mT/A" })));
    assert!(contradicts(|file| file["stated"] = json!({ "resistance": "8.2 ohm" })));
    // 6.24 ohm and 2 ohm of leads.
    let with_leads: fn(&mut Value) = |file| {
        file["stated"] = json!({ "resistance": "8.2 ohm" });
        file["leads"] = json!({ "resistance": "2 ohm" });
    };
    assert!(!contradicts(with_leads));
    assert!(!contradicts(|file| {
        file["stated"] = json!({ "resistance": "6.2 ohm" });
        file["leads"] = json!({ "resistance": "2 ohm" });
    }));
}

#[test]
fn what_a_maker_promises_of_the_working_pair_is_held_against_the_winding() {
    let contradicted = |stated: Value| -> Vec<String> {
        let quote = whole_quote(|file| file["stated"] = stated.clone());
        let record = judged(&quote, r#"{ "title": "Needs", "largest_field": "1 mT" }"#);
        let questions = record["options"][0]["questions"].as_array().unwrap().clone();
        let of = |it: &Value| it["property"].as_str().map(str::to_owned);
        questions.iter().filter_map(of).collect()
    };
    // 2 A make 1.63 mT, and take 12.5 V cold and 19.1 V at 155 °C.
    let at_two_ampere = |field: &str, voltage: &str, surface: &str| {
        contradicted(json!({
            "largest_field": field, "largest_field_current": "2.00 A", "largest_field_voltage": voltage,
            "hottest_surface": surface,
        }))
    };
    let quote = whole_quote(|_| ());
    let bench = coilwright::files::spec::bench_from_text("quote.json", &quote.to_string()).unwrap();
    let request =
        coilwright::questions::heat::HeatRequest { current_ampere: Some(2.0), ..Default::default() };
    let heat = coilwright::questions::heat::study(&bench, &request).unwrap();
    let steady = heat.at_current.unwrap().steady_surface_temperature_celsius.unwrap();
    let between = format!("{:.0} degC", steady - heat.room_temperature_celsius + 20.0);
    assert!(at_two_ampere("1.63 mT", "14 V", &between).is_empty());
    assert_eq!(at_two_ampere("2.4 mT", "14 V", &between), ["largest_field"]);
    assert_eq!(at_two_ampere("1.63 mT", "8 V", &between), ["voltage"]);
    assert_eq!(at_two_ampere("1.63 mT", "30 V", &between), ["voltage"]);
    assert_eq!(at_two_ampere("1.63 mT", "14 V", "22 degC"), ["surface_rise"]);
    assert_eq!(at_two_ampere("1.63 mT", "14 V", "200 degC"), ["surface_rise"]);
    // Half a unit of the digits stated: 319 K means 318.5 to 319.5 K, and "2 A" may be 1.5 to 2.5 A.
    let rise: f64 = between.trim_end_matches(" degC").parse().unwrap();
    assert!(at_two_ampere("1.63 mT", "14 V", &format!("{:.0} K", rise + 273.15)).is_empty());
    assert_eq!(at_two_ampere("1.63 mT", "14 V", "295 K"), ["surface_rise"]);
    let at = |current: &str, field: &str| {
        contradicted(json!({ "largest_field": field, "largest_field_current": current }))
    };
    assert!(at("2 A", "2.03 mT").is_empty());
    assert_eq!(at("2.00 A", "2.03 mT"), ["largest_field"]);
    // A pair that runs away is hotter than any surface a maker may promise.
    let runaway = contradicted(json!({ "largest_field_current": "30.0 A", "hottest_surface": "60 degC" }));
    assert_eq!(runaway, ["surface_rise"]);
    // A field without its current contradicts nothing by itself; what is stated of the surface at it may.
    assert!(contradicted(json!({ "largest_field": "9 mT" })).is_empty());
    assert_eq!(
        contradicted(json!({ "largest_field": "9 mT", "hottest_surface": "22 degC" })),
        ["surface_rise"]
    );
}

#[test]
fn only_what_rests_on_a_contradicted_figure_is_doubtful_and_a_failing_option_is_still_asked() {
    let quote = whole_quote(|file| {
        file["stated"] = json!({ "resistance": "10 ohm" });
        file["winding"]["wire"]["conductor"] = json!("copper");
    });
    let needs = |bulb: &str| {
        format!(
            r#"{{ "title": "Needs", "largest_field": "1 mT", "clearance": "5 mm",
                  "tube": {{ "bulb_radius": "{bulb}", "gun_exit": ["40 mm", "0 mm", "0 mm"], "gun_direction": [0, 1, 0],
                            "gun_voltage": ["120 V", "250 V"], "beam_radius": ["25 mm", "40 mm"] }},
                  "supply": {{ "voltage_limit": "30 V", "current_limit": "3 A" }} }}"#
        )
    };
    let small = judged(&quote, &needs("60 mm"));
    assert_eq!(verdict_of(&small, "voltage for that field", 0), "doubtful");
    assert_eq!(verdict_of(&small, "current for that field", 0), "met");
    assert_eq!(verdict_of(&small, "room for the bulb", 0), "met");
    assert_eq!(small["options"][0]["verdict"], "doubtful");
    let large = judged(&quote, &needs("170 mm"));
    assert_eq!(verdict_of(&large, "room for the bulb", 0), "missed");
    assert_eq!(large["options"][0]["verdict"], "fails");
    assert_eq!(large["options"][0]["questions"][0]["question"], "contradiction");
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| {
        fs::write(folder.path().join(name), text).unwrap();
        folder.path().join(name).to_str().unwrap().to_owned()
    };
    let (quote, needs) = (write("torn.json", &quote.to_string()), write("needs.json", &needs("170 mm")));
    let out = folder.path().join("out");
    text(&["compare", &quote, &data("quotes/hot.json"), "--needs", &needs, "--out", out.to_str().unwrap()]);
    let letter = page_of(&out.join("letter-torn.html"));
    assert!(letter.contains("resistance of the pair at 20 °C is stated as 10.0 Ω"), "{letter}");
}

#[test]
fn a_deviation_that_vanishes_between_the_ends_of_a_spacing_is_not_missed_at_both() {
    let quote = whole_quote(|file| {
        file["stated"] = json!({ "field_constant": "0.82 mT/A" });
        file["spacing"] = Value::Null;
    });
    let needs = |deviation: &str| {
        format!(
            r#"{{ "title": "Needs", "beam_deviation": "{deviation}",
                  "tube": {{ "bulb_radius": "60 mm", "gun_exit": ["40 mm", "0 mm", "0 mm"], "gun_direction": [0, 1, 0],
                            "gun_voltage": ["120 V", "250 V"], "beam_radius": ["25 mm", "40 mm"] }} }}"#
        )
    };
    let record = judged(&quote, &needs("0.001 %"));
    let bounds = &record["options"][0]["bounds"]["worst_beam_deviation"];
    assert!(bounds[0].as_f64().unwrap() < 0.0 && bounds[1].as_f64().unwrap() > 0.0, "{bounds}");
    let result = &record["needs"]
        .as_array()
        .unwrap()
        .iter()
        .find(|it| it["name"] == "beam deviation")
        .unwrap()["results"][0];
    assert_eq!(result["verdict"], "too_close_to_tell");
    assert_eq!(result["found_within_si"][0], 0.0);
    assert_eq!(result["decided_by"], json!(["spacing"]));
}

#[test]
fn what_would_decide_an_open_need_is_the_answer_about_its_gaps() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("open.json");
    fs::write(&path, whole_quote(|file| file["spacing"] = Value::Null).to_string()).unwrap();
    let needs = lab_file("lessons.json");
    let printed = text(&["compare", path.to_str().unwrap(), &data("quotes/hot.json"), "--needs", &needs]);
    let flowing = printed.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flowing.contains("decided by the answer about the spacing"), "{printed}");
}

#[test]
fn terms_that_no_offer_has_are_refused_in_their_place_and_leave_the_pair_alone() {
    let folder = tempfile::tempdir().unwrap();
    for (price, wanted) in [
        (r#"{ "amount": 300, "currency": "EUR", "tax_rate": "-19 %" }"#, "`price.tax_rate` is -19 %"),
        (r#"{ "amount": 300, "currency": "EUR", "warranty": "1000 years" }"#, "`price.warranty` is"),
        (r#"{ "amount": 1e999, "currency": "EUR" }"#, "number"),
        (r#"{ "amount": 1e300, "currency": "EUR" }"#, "`price.amount` is"),
        (r#"{ "amount": 300, "currency": "EUR", "carriage": 1e12 }"#, "`price.carriage` is"),
    ] {
        let whole = whole_quote(|file| file["price"] = json!({ "amount": "PRICE" }));
        let text = whole.to_string().replace(r#"{"amount":"PRICE"}"#, price);
        let path = folder.path().join("odd.json");
        fs::write(&path, text).unwrap();
        let (status, message) = failure(&["compare", path.to_str().unwrap(), &example("quote-used.json")]);
        assert_eq!(status, 1, "{price}");
        assert!(message.contains(wanted) && message.contains("odd.json"), "{price}: {message}");
        assert!(!message.contains("inf EUR"), "{message}");
    }
}

#[test]
fn check_points_to_compare_where_a_quote_is_not_finished() {
    let (status, message) = failure(&["check", &lab_file("quote-unfinished.json")]);
    assert_eq!(status, 1);
    assert!(message.contains("hint: an unfinished quote is taken by `compare`"), "{message}");
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("slip.json");
    fs::write(&path, whole_quote(|file| file["winding"]["turns"] = json!(-3)).to_string()).unwrap();
    let (_, message) = failure(&["check", path.to_str().unwrap()]);
    assert!(!message.contains("compare"), "{message}");
}

/// The properties of the contradictions found in a quote.
fn contradicted_in(quote: &Value) -> Vec<String> {
    let record = judged(quote, r#"{ "title": "Needs", "largest_field": "1 mT" }"#);
    let questions = record["options"][0]["questions"].as_array().unwrap().clone();
    questions.iter().filter_map(|it| it["property"].as_str().map(str::to_owned)).collect()
}

#[test]
fn a_connection_that_is_left_out_is_asked_for_and_bounded_by_what_is_stated() {
    // By hand: 136 turns of 0.95 mm give each coil 3.118 ohm and the pair in series 0.815 mT/A.
    let of = |stated: Value| {
        judged(
            &whole_quote(|file| {
                file.as_object_mut().unwrap().remove("connection");
                file["stated"] = stated.clone();
            }),
            r#"{ "title": "Needs", "largest_field": "1 mT" }"#,
        )["options"][0]
            .clone()
    };
    for (stated, ends) in [
        (json!({ "resistance": "6.2 ohm" }), vec!["series"]),
        (json!({ "resistance": "1.56 ohm" }), vec!["parallel"]),
        (json!({ "field_constant": "0.81 mT/A" }), vec!["series"]),
        (json!({ "field_constant": "0.41 mT/A", "resistance": "1.56 ohm" }), vec!["parallel"]),
        (json!({ "inner_diameter": "290 mm" }), vec!["series", "parallel"]),
    ] {
        let option = of(stated.clone());
        assert_eq!(option["gaps"][0]["gap"], "connection", "{stated}");
        assert_eq!(option["gaps"][0]["ends"], json!(ends), "{stated}");
        let questions = option["questions"].as_array().unwrap();
        assert!(questions.iter().all(|it| it["question"] != "contradiction"), "{stated}: {questions:?}");
        assert!(questions.iter().any(|it| it["gap"] == "connection"), "{stated}: {questions:?}");
        // What the answer decides is not asked for as well.
        assert!(questions.iter().all(|it| it["question"] != "guarantee"), "{stated}: {questions:?}");
    }
}

#[test]
fn stated_figures_are_held_against_each_other_as_well() {
    let with = |edit: &dyn Fn(&mut Value)| contradicted_in(&whole_quote(edit));
    // 6.236 ohm, 1.629 kg, 9.5 mm deep by hand.
    assert!(
        with(&|file| file["stated"] = json!({ "resistance": "6.24 ohm", "copper_mass": "1.63 kg" }))
            .is_empty()
    );
    // Each within its own tolerance, and both off the same way: no wire has so much of both.
    let both = with(&|file| file["stated"] = json!({ "resistance": "6.54 ohm", "copper_mass": "1.78 kg" }));
    assert_eq!(both, ["wire_length"]);
    let diameters = with(&|file| {
        file["stated"] = json!({ "inner_diameter": "293.0 mm", "outer_diameter": "307.0 mm" });
    });
    assert_eq!(diameters, ["depth"]);
    let loose = with(&|file| file["winding"]["depth"] = json!("19 mm"));
    assert!(loose.contains(&"turns_of_section".to_owned()), "{loose:?}");
    let measured = with(&|file| {
        file["as_built"] = json!({
            "a": { "resistance": { "value": "3.12 ohm", "at": "20 degC" } },
            "b": { "resistance": { "value": "3.12 ohm", "at": "20 degC" } },
        });
        file["stated"] = json!({ "resistance": "5.8 ohm" });
    });
    assert!(measured.contains(&"measured_resistance".to_owned()), "{measured:?}");
    let turns = with(&|file| file["as_built"] = json!({ "a": { "turns": 120 } }));
    assert!(turns.contains(&"built_turns".to_owned()), "{turns:?}");
    let volts = with(&|file| {
        file["stated"] = json!({
            "largest_field": "1.63 mT", "largest_field_current": "2.00 A", "largest_field_voltage": "11.4 V",
        });
    });
    assert_eq!(volts, ["voltage"], "below what cold copper takes");
}

#[test]
fn a_maker_who_promises_less_than_is_needed_does_not_pass_unasked() {
    let quote = whole_quote(|file| {
        file["supply"] = json!({ "current_limit": "3 A", "voltage_limit": "30 V" });
        file["build_tolerance"] = json!({ "turns": 0.5, "mean_radius": "0.3 mm", "spacing": "0.5 mm" });
        file["stated"] = json!({ "largest_field": "0.80 mT", "largest_field_current": "0.98 A" });
    });
    let record = judged(&quote, r#"{ "title": "Needs", "largest_field": "1 mT" }"#);
    let option = &record["options"][0];
    assert_eq!(option["verdict"], "undecided", "{option}");
    let asked = option["questions"].as_array().unwrap();
    assert!(asked.iter().any(|it| it["question"] == "promises_less"), "{asked:?}");
    let again = |it: &Value| it["question"] == "guarantee" && it["need"] == "largest_field";
    assert!(!asked.iter().any(again), "asked once: {asked:?}");
}

#[test]
fn a_filled_form_is_read_as_spreadsheets_keep_it_and_what_cannot_be_read_is_asked_about() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("quote.xlsx");
    let mut workbook = rust_xlsxwriter::Workbook::new();
    let sheet = workbook.add_worksheet();
    let percent = rust_xlsxwriter::Format::new().set_num_format("0%");
    let day = rust_xlsxwriter::Format::new().set_num_format("yyyy-mm-dd");
    let date = rust_xlsxwriter::ExcelDateTime::parse_from_str("2027-03-31").unwrap();
    for (column, heading) in ["name", "value", "unit"].into_iter().enumerate() {
        sheet.write_string(0, column as u16, heading).unwrap();
    }
    let texts = [
        ("title", "Gorse Works", ""),
        ("spacing", "150", "mm"),
        ("connection", "series", ""),
        ("winding.mean_radius", "150", "mm"),
        ("winding.width", "16,9", "mm"),
        ("winding.depth", "9.5", "mm"),
        ("winding.turns", "136", ""),
        ("winding.wire.size", "0.95 mm", ""),
        ("winding.wire.build", "grade 2", ""),
        ("price.amount", "1,310", ""),
        ("price.currency", "EUR", ""),
        ("price.delivery", "soon", ""),
    ];
    for (row, (name, value, unit)) in (1..).zip(texts) {
        for (column, text) in [name, value, unit].into_iter().enumerate() {
            sheet.write_string(row, column as u16, text).unwrap();
        }
    }
    let row = texts.len() as u32 + 1;
    sheet.write_string(row, 0, "price.tax_rate").unwrap();
    sheet.write_number_with_format(row, 1, 0.19, &percent).unwrap();
    sheet.write_string(row + 1, 0, "price.valid_until").unwrap();
    sheet.write_datetime_with_format(row + 1, 1, &date, &day).unwrap();
    workbook.save(&path).unwrap();
    let quote = coilwright::files::spec::read_quote(&path).unwrap();
    assert!((quote.offer.tax_fraction.unwrap() - 0.19).abs() < 1e-12);
    assert_eq!(quote.offer.valid_until, coilwright::numeric::calendar::Day::new(2027, 3, 31));
    // A comma before three digits may mean thousands: it is asked about, and not taken for 1.31.
    let unreadable: Vec<&str> = quote.unreadable.iter().map(|it| it.key.as_str()).collect();
    assert_eq!(unreadable, ["price.delivery"]);
    let doubted: Vec<&str> = quote.doubts.iter().map(|it| it.key.as_str()).collect();
    assert_eq!(doubted, ["price.amount"]);
    let record = compared(&[path.to_str().unwrap().to_owned()], &[]);
    let asked = record["options"][0]["questions"].as_array().unwrap();
    let about: Vec<&str> = asked.iter().filter_map(|it| it["key"].as_str()).collect();
    assert_eq!(about, ["price.amount", "price.delivery"], "{asked:?}");
    assert!(asked.iter().all(|it| it["question"] != "price"), "asked once: {asked:?}");
}
