//! Tests of how soon an answer follows a change of its form and a picture follows a drag, and of the memory after a
//! long drag.

use super::Desk;
use serde_json::json;
use std::time::Duration;

/// Changes a field repeatedly. Gives the milliseconds until the answer is in the page, and until its pictures are
/// drawn.
const CHANGES: &str = r#"async (name, values) => {
  const field = document.querySelector(`form.ask [name=${name}]`);
  const place = document.getElementById("answer");
  const times = [];
  for (const value of values) {
    for (const old of place.children) old.dataset.old = "";
    const fresh = () => place.querySelector(":scope > .answer:not([data-old])");
    field.value = value;
    const begun = performance.now();
    field.dispatchEvent(new Event("change", { bubbles: true }));
    await new Promise((done) => {
      const seen = new MutationObserver(() => { if (fresh()) { seen.disconnect(); done(); } });
      seen.observe(place, { childList: true, subtree: true });
    });
    const answered = performance.now() - begun;
    await Promise.all([...fresh().querySelectorAll("img")].map((it) => it.decode()));
    times.push([answered, performance.now() - begun, fresh().querySelectorAll("[role=alert]").length]);
  }
  return times;
}"#;

#[test]
fn the_answer_follows_a_change_and_its_time_is_told() {
    let is_quick = !cfg!(debug_assertions);
    println!("the program is built {}", if is_quick { "for release" } else { "for development: slower" });
    let currents =
        |count: usize| (0..count).map(|i| format!("{:.2} A", 0.8 + 0.02 * i as f64)).collect::<Vec<_>>();
    let specs: Vec<String> =
        (0..60).map(|i| ["quote-thick.json", "window-bench.json"][i % 2].into()).collect();
    // In a development build a map takes a second or two.
    let cases = [
        ("sheet", "ask/sheet?spec=window-bench.json", "spec", specs),
        (
            "map",
            "ask/map?spec=window-bench.json&with_room=on",
            "current",
            currents(if is_quick { 60 } else { 12 }),
        ),
        (
            "beam",
            "ask/orbit?spec=window-bench.json&gun_voltage=200%20V&current=1%20A",
            "current",
            currents(60),
        ),
    ];
    let mut desk = Desk::with(&["window-bench.json", "quote-thick.json"]);
    for (name, path, field, values) in cases {
        desk.go(path);
        desk.answered();
        let times = desk.page.evaluate(&format!("({CHANGES})({}, {})", json!(field), json!(values)));
        let times = times.as_array().unwrap();
        assert_eq!(times.len(), values.len());
        assert!(times.iter().all(|one| one[2] == json!(0)), "{times:?}");
        let at = |which: usize, part: f64| {
            let mut sorted: Vec<f64> = times.iter().map(|one| one[which].as_f64().unwrap()).collect();
            sorted.sort_by(f64::total_cmp);
            sorted[(part * (sorted.len() - 1) as f64).round() as usize]
        };
        println!(
            "{name}, {} changes: answer after {:.0} ms in the middle, {:.0} ms at the 95th percentile; with its pictures {:.0} and {:.0} ms",
            times.len(),
            at(0, 0.5),
            at(0, 0.95),
            at(1, 0.5),
            at(1, 0.95)
        );
        // A busy machine may be slow, but nothing may hang.
        assert!(at(1, 0.95) < 15_000.0, "{name}");
    }
    desk.is_quiet();
}

/// Drags a slider for `count` pictures, each input following as soon as the previous picture is there. Gives the
/// milliseconds from each input until its picture is drawn, and until the frame that shows it. A browser draws on a canvas
/// when it has to: a point of the picture that is read makes it.
const DRAGS: &str = r##"async (slider, count) => {
  const range = document.querySelector(`[data-drags="${slider}"]`);
  const canvas = document.querySelector("#picture canvas");
  const probe = new OffscreenCanvas(1, 1).getContext("2d", { willReadFrequently: true });
  const times = [];
  for (let step = 0; step < count; step++) {
    const drawn = new Promise((done) => {
      const seen = new MutationObserver(() => { seen.disconnect(); done(); });
      seen.observe(canvas, { attributes: true, attributeFilter: ["data-pictures"] });
    });
    // Back and forth, and no value twice in a row.
    range.value = Math.round(40 * Math.sin(step / 3));
    const begun = performance.now();
    range.dispatchEvent(new Event("input", { bubbles: true }));
    await drawn;
    probe.drawImage(canvas, 0, 0);
    probe.getImageData(0, 0, 1, 1);
    const ready = performance.now() - begun;
    await new Promise((done) => requestAnimationFrame(done));
    times.push([ready, performance.now() - begun]);
  }
  return times;
}"##;

/// The value below which this fraction of the values lies.
fn quantile(values: &[f64], part: f64) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted[(part * (sorted.len() - 1) as f64).round() as usize]
}

fn dragged(desk: &mut Desk, slider: &str, count: usize) -> [Vec<f64>; 2] {
    let times = desk.page.evaluate(&format!("({DRAGS})({}, {count})", json!(slider)));
    [0, 1].map(|at| times.as_array().unwrap().iter().map(|one| one[at].as_f64().unwrap()).collect())
}

#[test]
fn a_picture_follows_a_drag_and_its_time_is_told() {
    let mut desk = Desk::with(&["window-bench.json"]);
    for (see, sliders) in [
        ("map", &["f/spacing", "f/winding/mean_radius", "f/tube/bulb_radius"][..]),
        ("beam", &["f/spacing", "fcurrent", "fgun_voltage", "fgun_tilt", "f/tube/gun_exit/0"]),
    ] {
        desk.go(&format!("file/window-bench.json?see={see}"));
        desk.page.wait_for("!document.getElementById('picture').hidden");
        for slider in sliders {
            // The first few drags warm up the desk and the browser.
            dragged(&mut desk, slider, 5);
            let [ready, shown] = dragged(&mut desk, slider, 60);
            println!(
                "{see}, {slider}: picture ready after {:.0} ms in the middle, {:.0} ms at the 95th percentile; on the screen {:.0} and {:.0} ms",
                quantile(&ready, 0.5),
                quantile(&ready, 0.95),
                quantile(&shown, 0.5),
                quantile(&shown, 0.95)
            );
            // A busy machine may be slow, but nothing may hang.
            assert!(quantile(&shown, 0.95) < 10_000.0, "{see} {slider}");
        }
    }
    desk.is_quiet();
}

/// Resident memory of the desk's process, KiB.
fn memory(desk: &Desk) -> u64 {
    let status = std::fs::read_to_string(format!("/proc/{}/status", desk.program.id())).unwrap();
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:")).unwrap();
    line.trim().trim_end_matches(" kB").parse().unwrap()
}

/// Memory held by the page's scripts after garbage collection, KiB.
fn heap(desk: &mut Desk) -> f64 {
    desk.page.collect_garbage() / 1024.0
}

#[test]
fn a_long_drag_leaves_the_memory_as_it_was() {
    // Duration for each of the two pictures, in seconds. The variable lengthens it.
    let seconds: u64 =
        std::env::var("COILWRIGHT_DRAG_SECONDS").ok().and_then(|it| it.parse().ok()).unwrap_or(10);
    let mut desk = Desk::with(&["window-bench.json"]);
    for (see, slider) in [("map", "f/spacing"), ("beam", "fcurrent")] {
        desk.go(&format!("file/window-bench.json?see={see}"));
        desk.page.wait_for("!document.getElementById('picture').hidden");
        // The allocators and the undo list fill up first.
        dragged(&mut desk, slider, 330);
        let before: [f64; 2] = [memory(&desk) as f64, heap(&mut desk)];
        let begun = std::time::Instant::now();
        let mut pictures = 0;
        while begun.elapsed() < Duration::from_secs(seconds) {
            dragged(&mut desk, slider, 50);
            pictures += 50;
        }
        let took = begun.elapsed().as_secs_f64();
        let after: [f64; 2] = [memory(&desk) as f64, heap(&mut desk)];
        for (what, before, after) in [("desk", before[0], after[0]), ("page", before[1], after[1])] {
            println!(
                "{see}, {pictures} pictures in {took:.0} s, {what}: {before:.0} KiB before, {after:.0} KiB after, {:.0} KiB an hour at this pace",
                (after - before) / took * 3600.0
            );
            assert!(after < before + 8192.0, "{see} {what}: {before} KiB before, {after} KiB after");
        }
    }
    desk.is_quiet();
}
