//! Tests that no text and no mark of a drawing leaves its frame, and that no text stands on another, for pairs of all sizes.

use super::{PageView, assembly, former, terminals};
use crate::numeric::random::SampleGenerator;
use crate::pair::{Bench, BuildTolerance, Cheeks, Former, Winding, Wire};
use crate::paper::drawing::text_box;
use crate::paper::font::CAPITAL_HEIGHT;
use crate::paper::{Anchor, Weight};
use crate::questions::build::{BuildPapers, Projection, Request, build_papers};

/// Number of pairs, each with seven drawings; 300 were looked at once.
const CASES: u64 = 60;

/// The value of an attribute in a tag.
fn attribute<'a>(tag: &'a str, name: &str) -> Option<&'a str> {
    tag.split_once(&format!(" {name}=\"")).and_then(|(_, rest)| rest.split_once('"')).map(|(value, _)| value)
}

fn number(tag: &str, name: &str) -> f64 {
    attribute(tag, name).unwrap_or_else(|| panic!("{name}: {tag}")).trim_end_matches("mm").parse().unwrap()
}

/// Every text of a drawing with its box, read back from the SVG.
fn texts(svg: &str) -> Vec<(String, [f64; 4])> {
    let of = |text: &str| {
        let (tag, rest) = text.split_once('>').unwrap();
        let tag = &format!(" {tag}");
        let content = rest.split_once("</text>").unwrap().0;
        let content = content.replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&");
        let anchor = match attribute(tag, "text-anchor") {
            None => Anchor::Start,
            Some("middle") => Anchor::Middle,
            Some(_) => Anchor::End,
        };
        let weight = if tag.contains("font-weight") { Weight::Bold } else { Weight::Regular };
        let turn = if tag.contains("rotate(") { -90.0 } else { 0.0 };
        let at = [number(tag, "x"), number(tag, "y")];
        let size = number(tag, "font-size") * CAPITAL_HEIGHT;
        (content.clone(), text_box(at, size, anchor, weight, turn, &content))
    };
    svg.split("<text ").skip(1).map(of).filter(|(content, _)| !content.is_empty()).collect()
}

/// The box of every path and circle of a drawing.
fn marks(svg: &str) -> Vec<(String, [f64; 4])> {
    let round = |x: f64, y: f64, r: f64| [x - r, y - r, x + r, y + r];
    let circles = svg.split("<circle ").skip(1).map(|tag| {
        let tag = &format!(" {tag}");
        ("circle".to_owned(), round(number(tag, "cx"), number(tag, "cy"), number(tag, "r")))
    });
    let paths = svg.split("<path ").skip(1).filter_map(|tag| {
        let tag = &format!(" {}", tag.split_once('>').unwrap().0);
        let data = attribute(tag, "d").unwrap();
        let words: Vec<&str> = data.split_whitespace().collect();
        let at = |i: usize| words[i].parse::<f64>().unwrap();
        // A circle begins at its left with two half arcs; all else is corners, arcs of slots among them.
        if words.get(3) == Some(&"a") {
            let radius = at(4);
            return Some((data.to_owned(), round(at(1) + radius, at(2), radius)));
        }
        let corners = words.iter().enumerate().filter_map(|(i, word)| match *word {
            "M" | "L" => Some([at(i + 1), at(i + 2)]),
            "A" => Some([at(i + 6), at(i + 7)]),
            _ => None,
        });
        corners
            .map(|[x, y]| [x, y, x, y])
            .reduce(|all, one| {
                [all[0].min(one[0]), all[1].min(one[1]), all[2].max(one[2]), all[3].max(one[3])]
            })
            .map(|all| (data.to_owned(), all))
    });
    circles.chain(paths).collect()
}

/// What leaves the frame, and which texts meet.
fn faults(svg: &str, is_sheet: bool) -> Vec<String> {
    let head = &format!(" {}", svg.split_once("<svg").unwrap().1.split_once('>').unwrap().0);
    let (width, height) = (number(head, "width"), number(head, "height"));
    // The frame of a sheet is 20 mm from its left edge and 10 mm from the others.
    let frame = if is_sheet { [20.0, 10.0, width - 10.0, height - 10.0] } else { [0.0, 0.0, width, height] };
    let texts = texts(svg);
    let leaves = |[left, top, right, bottom]: [f64; 4]| {
        let slack = 0.01;
        left < frame[0] - slack
            || top < frame[1] - slack
            || right > frame[2] + slack
            || bottom > frame[3] + slack
    };
    let mut found: Vec<String> = texts
        .iter()
        .cloned()
        .chain(marks(svg))
        .filter(|(_, around)| leaves(*around))
        .map(|(what, around)| format!("{what} leaves {frame:.0?}: {around:.1?}"))
        .collect();
    let meet = |one: [f64; 4], other: [f64; 4]| {
        let slack = 0.05;
        one[0] < other[2] - slack
            && other[0] < one[2] - slack
            && one[1] < other[3] - slack
            && other[1] < one[3] - slack
    };
    for (i, (one, around)) in texts.iter().enumerate() {
        for (other, beside) in &texts[i + 1..] {
            if meet(*around, *beside) {
                found.push(format!("{one:?} {around:.1?} on {other:?} {beside:.1?}"));
            }
        }
    }
    found
}

/// A pair of any size and shape of section, drawn so that its flange is at least 60 mm across on paper.
fn any_pair(case: u64) -> BuildPapers {
    let mut random = SampleGenerator::new(17, case);
    let radius_m = 10f64.powf(-1.9 + 1.9 * random.unit());
    let width_m = radius_m * 10f64.powf(-1.4 + 1.5 * random.unit());
    let depth_m = radius_m * 10f64.powf(-1.6 + 1.0 * random.unit());
    let overall_m = (width_m.min(depth_m) / (1.0 + 20.0 * random.unit())).min(5e-3);
    let wire = Wire::copper(0.9 * overall_m, overall_m);
    let per_layer = (width_m / overall_m).floor();
    let layers = (depth_m / overall_m).floor();
    let turns = (per_layer * layers * (0.8 + 0.2 * random.unit())).max(1.0).floor()
        + [0.0, 0.25, 0.5, 0.75][random.whole(4)];
    let turns = turns.min(per_layer * layers);
    let spacing_m = (radius_m * (0.8 + 0.8 * random.unit())).max(1.3 * width_m + 0.1 * radius_m);
    let title =
        ["Pair", "A pair for the large lecture hall of the college, section as ordered"][random.whole(2)];
    let mut bench = Bench::unchecked(title, Winding::new(radius_m, width_m, depth_m, turns, wire), spacing_m);
    let material = [None, Some("plywood"), Some("aluminium")][random.whole(3)];
    bench.former = Some(Former {
        material: material.map(str::to_owned),
        wall_m: None,
        cheeks: Cheeks::Both,
        expansion_per_kelvin: None,
    });
    bench.build_tolerance = Some(BuildTolerance::ORDINARY);
    let scales = [10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05];
    let across_mm = 2.2e3 * (radius_m + 0.5 * depth_m);
    let legible: Vec<f64> = scales.into_iter().filter(|scale| scale * across_mm >= 60.0).collect();
    let request = Request {
        projection: [Projection::First, Projection::Third][random.whole(2)],
        drawing_scale: legible[random.whole(legible.len())].min(1500.0 / across_mm),
        ..Request::default()
    };
    build_papers(&bench, &request).unwrap_or_else(|error| panic!("case {case}: {error} {bench:?}"))
}

#[test]
fn nothing_leaves_the_frame_and_no_text_stands_on_another_whatever_the_pair() {
    let mut failed = Vec::new();
    for case in 0..CASES {
        let record = any_pair(case);
        let views =
            [Some(former::views(&record)), Some(former::detail_view(&record)), Some(assembly::view(&record))];
        let pages = views.into_iter().chain([terminals::view(&record)]).flatten();
        let sheets = [Some(former::svg(&record)), Some(assembly::svg(&record)), terminals::svg(&record)];
        let all = sheets.into_iter().flatten().map(|svg| (svg, true));
        let all = all.chain(pages.map(|PageView { svg, .. }| (svg, false)));
        for (number, (svg, is_sheet)) in all.enumerate() {
            let faults = faults(&svg, is_sheet);
            if !faults.is_empty() {
                failed.push(format!("case {case}, drawing {number}: {}", faults.join("\n    ")));
            }
        }
    }
    assert!(failed.is_empty(), "{} drawings\n{}", failed.len(), failed.join("\n"));
}
