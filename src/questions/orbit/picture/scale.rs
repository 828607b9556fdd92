//! The true-size reading scale to print, as SVG in millimetres.
//!
//! One unit of the drawing is one millimetre on paper. Circles, rule and check bar have their true size when printed at
//! 100 %.

use crate::paper::Weight;
use crate::paper::font;
use crate::paper::markup::escaped;
use crate::paper::wrap::wrapped;
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
    let mut body = String::new();
    let mut say = |line: String| body += &(line + "\n");
    say(text(MARGIN, MARGIN + 5.0, 5.0, "start", true, &words.heading));
    for (index, circle) in scale.circles.iter().enumerate() {
        let radius = millimetres(circle.radius_on_scale_m);
        let dash = ["none", "4 1.5", "1.5 1.5", "6 1.5 1 1.5"][index % 4];
        say(format!(
            "<circle cx=\"{:.3}\" cy=\"{exit_y:.3}\" r=\"{radius:.3}\" fill=\"none\" stroke=\"#1f242b\" \
             stroke-width=\"0.3\" stroke-dasharray=\"{dash}\"/>",
            exit_x + scale.side * radius
        ));
    }
    draw_rule(&mut say, scale.side, [exit_x, exit_y], rule, &words.gun_exit);
    let mut taken: Vec<[f64; 2]> = Vec::new();
    for (index, circle) in scale.circles.iter().enumerate() {
        let across = 2.0 * millimetres(circle.radius_on_scale_m);
        let x = exit_x + scale.side * (across + 2.6);
        // Each number takes the first free row, alternately above and below the rule, so that numbers of neighbouring
        // circles do not overlap.
        let free = |row: &f64| !taken.iter().any(|[at, other]| other == row && (at - x).abs() < NUMBER_WIDTH);
        let row = NUMBER_ROWS.into_iter().find(free).unwrap_or(NUMBER_ROWS[index % NUMBER_ROWS.len()]);
        taken.push([x, row]);
        say(rimmed([x, exit_y + row], 3.6, "bold", &(index + 1).to_string()));
    }
    let mut y = exit_y + largest + 10.0;
    let broken = |content: &str, size: f64| {
        wrapped(content, |line| font::width(line, size, Weight::Regular) <= width - 2.0 * MARGIN)
    };
    for line in words.circles.iter().flat_map(|line| broken(line, CIRCLES_SIZE)) {
        say(text(MARGIN, y, CIRCLES_SIZE, "start", false, &line));
        y += 5.0;
    }
    y += 6.0;
    draw_check_bar(&mut say, [MARGIN, y], &words.check_bar);
    y += 13.0;
    for line in words.rules.iter().flat_map(|rule| broken(rule, RULES_SIZE)) {
        say(text(MARGIN, y, RULES_SIZE, "start", false, &line));
        y += 4.6;
    }
    say(text(MARGIN, y + 2.0, 2.8, "start", false, &scale.provenance.to_string()));
    let height = y + 2.0 + MARGIN;
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width:.1}mm\" height=\"{height:.1}mm\" \
         viewBox=\"0 0 {width:.1} {height:.1}\" role=\"img\" aria-labelledby=\"title\">\n\
         <title id=\"title\">{}</title>\n\
         <rect width=\"{width:.1}\" height=\"{height:.1}\" fill=\"#ffffff\"/>\n\
         <g font-family=\"{}\">\n{body}</g>\n</svg>\n",
        escaped(&words.name),
        font::FAMILIES
    )
}

/// Draws the rule from the gun exit across the circles, with a mark at each millimetre and a number at each centimetre.
fn draw_rule(say: &mut impl FnMut(String), side: f64, [x, y]: [f64; 2], length: f64, gun_exit: &str) {
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
            say(rimmed([at, y + MARK + 3.2], 2.8, "normal", &step.to_string()));
        }
    }
    say(format!("<path d=\"{path}\" fill=\"none\" stroke=\"#1f242b\" stroke-width=\"0.2\"/>"));
    let anchor = if side < 0.0 { "end" } else { "start" };
    say(text(x - side * 17.0, y - 2.0, 3.0, anchor, false, gun_exit));
}

/// Draws a bar of 100 mm to check the print with a ruler.
fn draw_check_bar(say: &mut impl FnMut(String), [x, y]: [f64; 2], words: &str) {
    say(format!(
        "<path id=\"check-bar\" d=\"M {x:.3} {y:.3} h 100 M {x:.3} {:.3} v 6 M {:.3} {:.3} v 6\" fill=\"none\" \
         stroke=\"#1f242b\" stroke-width=\"0.4\"/>",
        y - 3.0,
        x + 100.0,
        y - 3.0
    ));
    say(text(x + 50.0, y + 5.0, 3.4, "middle", false, words));
}

/// A number of a circle or of the rule. Its white rim interrupts the lines behind it, so that none strikes it through.
fn rimmed([x, y]: [f64; 2], size: f64, weight: &str, number: &str) -> String {
    format!(
        "<text x=\"{x:.3}\" y=\"{y:.3}\" font-size=\"{size}\" text-anchor=\"middle\" font-weight=\"{weight}\" \
         fill=\"#1f242b\" stroke=\"#ffffff\" stroke-width=\"1.2\" stroke-linejoin=\"round\" \
         paint-order=\"stroke\">{number}</text>"
    )
}

fn text(x: f64, y: f64, size: f64, anchor: &str, bold: bool, content: &str) -> String {
    let weight = if bold { " font-weight=\"bold\"" } else { "" };
    let content = escaped(content);
    format!(
        "<text x=\"{x:.3}\" y=\"{y:.3}\" font-size=\"{size}\" text-anchor=\"{anchor}\"{weight} \
         fill=\"#1f242b\">{content}</text>"
    )
}
