//! The true-size reading scale to print, as SVG in millimetres.
//!
//! One unit of the drawing is one millimetre on paper. Circles, rule and check bar have their true size when printed at
//! 100 %.

use crate::paper::element::{Element, Elements};
use crate::paper::font;
use crate::paper::palette::{INK, PAPER};
use crate::paper::wrap::wrapped;
use crate::paper::{Anchor, Weight};
use crate::questions::orbit::ReadingScale;
use crate::questions::orbit::words::chart::ScaleWords;
use crate::units::unit;
use std::fmt::Write;

/// Blank margin on every side, mm.
const MARGIN: f64 = 10.0;
/// Length of the longest marks of the rule, mm.
const MARK: f64 = 6.0;
/// Letter size of the circles' lines, mm.
const CIRCLES_SIZE: f64 = 3.6;
/// Letter size of the instructions for reading, mm.
const RULES_SIZE: f64 = 3.4;

/// Heights of the rows for the circles' numbers, measured downward from the rule, mm; negative ones lie above it.
const NUMBER_ROWS: [f64; 8] = [-4.0, 14.0, -9.0, 19.0, -14.0, 24.0, -19.0, 29.0];
/// Numbers closer together than this must stand in different rows, mm.
const NUMBER_WIDTH: f64 = 5.5;

/// Writes the scale as an SVG document whose size is stated in mm.
pub fn svg(scale: &ReadingScale) -> String {
    svg_in_words(scale, &ScaleWords::english(scale))
}

/// Writes the scale with the words of any language.
pub(crate) fn svg_in_words(scale: &ReadingScale, words: &ScaleWords) -> String {
    let millimetres = |metre: f64| unit::MILLIMETRE.from_si(metre);
    let largest =
        scale.circles.iter().map(|circle| millimetres(circle.radius_on_scale_m)).fold(0.0, f64::max);
    let rule = (2.0 * largest / 10.0).ceil() * 10.0 + 10.0;
    let width = (rule + 2.0 * MARGIN + 26.0).max(190.0);
    let circles_top = MARGIN + 16.0;
    // The gun exit is at the right if the circles lie to its left.
    let exit_x = if scale.side < 0.0 { width - MARGIN - 18.0 } else { MARGIN + 18.0 };
    let exit_y = circles_top + largest;
    let mut body = Elements::default();
    let heading = text([MARGIN, MARGIN + 5.0], 5.0, Anchor::Start).with("font-weight", "bold");
    body.add_line(&heading.with("fill", INK).saying(&words.heading));
    for (index, circle) in scale.circles.iter().enumerate() {
        let radius = millimetres(circle.radius_on_scale_m);
        let dash = ["none", "4 1.5", "1.5 1.5", "6 1.5 1 1.5"][index % 4];
        let centre = [format!("{:.3}", exit_x + scale.side * radius), format!("{exit_y:.3}")];
        let circle = Element::circle(centre, format_args!("{radius:.3}"))
            .with("fill", "none")
            .with("stroke", INK)
            .with("stroke-width", 0.3)
            .with("stroke-dasharray", dash);
        body.add_line(&circle.alone());
    }
    draw_rule(&mut body, scale.side, [exit_x, exit_y], rule, &words.gun_exit);
    let mut taken: Vec<[f64; 2]> = Vec::new();
    for (index, circle) in scale.circles.iter().enumerate() {
        let across = 2.0 * millimetres(circle.radius_on_scale_m);
        let x = exit_x + scale.side * (across + 2.6);
        // Each number takes the first free row, alternately above and below the rule, so that numbers of neighbouring
        // circles do not overlap.
        let free = |row: &f64| !taken.iter().any(|[at, other]| other == row && (at - x).abs() < NUMBER_WIDTH);
        let row = NUMBER_ROWS.into_iter().find(free).unwrap_or(NUMBER_ROWS[index % NUMBER_ROWS.len()]);
        taken.push([x, row]);
        body.add_line(&rimmed([x, exit_y + row], 3.6, "bold", index + 1));
    }
    let mut y = exit_y + largest + 10.0;
    let broken = |content: &str, size: f64| {
        wrapped(content, |line| font::width(line, size, Weight::Regular) <= width - 2.0 * MARGIN)
    };
    for line in words.circles.iter().flat_map(|line| broken(line, CIRCLES_SIZE)) {
        body.add_line(&line_of_text([MARGIN, y], CIRCLES_SIZE, Anchor::Start, &line));
        y += 5.0;
    }
    y += 6.0;
    draw_check_bar(&mut body, [MARGIN, y], &words.check_bar);
    y += 13.0;
    for line in words.rules.iter().flat_map(|rule| broken(rule, RULES_SIZE)) {
        body.add_line(&line_of_text([MARGIN, y], RULES_SIZE, Anchor::Start, &line));
        y += 4.6;
    }
    let provenance = scale.provenance.to_string();
    body.add_line(&line_of_text([MARGIN, y + 2.0], 2.8, Anchor::Start, &provenance));
    let [width, height] = [width, y + 2.0 + MARGIN].map(|length| format!("{length:.1}"));
    let sheet = Element::new("rect").with("width", &width).with("height", &height).with("fill", PAPER);
    let mut inner = Elements::default();
    inner.add_line(&Element::new("title").with("id", "title").saying(&words.name));
    inner.add_line(&sheet.alone());
    inner.add_line(&Element::new("g").with("font-family", font::FAMILIES).around_lines(&body));
    Element::picture_in_mm([width, height]).around_lines(&inner).into_text() + "\n"
}

/// Draws the rule from the gun exit across the circles, with a mark at each millimetre and a number at each centimetre.
fn draw_rule(body: &mut Elements, side: f64, [x, y]: [f64; 2], length: f64, gun_exit: &str) {
    let mut path = format!("M {x:.3} {y:.3} H {:.3}", x + side * length);
    for step in 0..=length as u32 {
        let mark = match step {
            _ if step % 10 == 0 => MARK,
            _ if step % 5 == 0 => 0.7 * MARK,
            _ => 0.45 * MARK,
        };
        let at = x + side * f64::from(step);
        write!(path, " M {at:.3} {y:.3} v {mark:.2}").expect("a string takes any text");
        if step % 10 == 0 {
            body.add_line(&rimmed([at, y + MARK + 3.2], 2.8, "normal", step));
        }
    }
    let rule = Element::path(path).with("fill", "none").with("stroke", INK).with("stroke-width", 0.2);
    body.add_line(&rule.alone());
    let anchor = if side < 0.0 { Anchor::End } else { Anchor::Start };
    body.add_line(&line_of_text([x - side * 17.0, y - 2.0], 3.0, anchor, gun_exit));
}

/// Draws a bar of 100 mm to check the print with a ruler.
fn draw_check_bar(body: &mut Elements, [x, y]: [f64; 2], words: &str) {
    let (top, end) = (y - 3.0, x + 100.0);
    let data = format!("M {x:.3} {y:.3} h 100 M {x:.3} {top:.3} v 6 M {end:.3} {top:.3} v 6");
    let bar = Element::new("path").with("id", "check-bar").with("d", data).with("fill", "none");
    body.add_line(&bar.with("stroke", INK).with("stroke-width", 0.4).alone());
    body.add_line(&line_of_text([x + 50.0, y + 5.0], 3.4, Anchor::Middle, words));
}

/// A number of a circle or of the rule. Its white rim interrupts the lines behind it, so that none strikes it through.
fn rimmed(at: [f64; 2], size: f64, weight: &str, number: impl ToString) -> Elements {
    text(at, size, Anchor::Middle)
        .with("font-weight", weight)
        .with("fill", INK)
        .with("stroke", PAPER)
        .with("stroke-width", 1.2)
        .with("stroke-linejoin", "round")
        .with("paint-order", "stroke")
        .saying(&number.to_string())
}

fn line_of_text(at: [f64; 2], size: f64, anchor: Anchor, content: &str) -> Elements {
    text(at, size, anchor).with("fill", INK).saying(content)
}

fn text(at: [f64; 2], size: f64, anchor: Anchor) -> Element {
    Element::text(at.map(|length| format!("{length:.3}")), size).with("text-anchor", anchor.name())
}
