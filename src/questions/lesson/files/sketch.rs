//! Sketches for the worksheet: the bench to scale with its parts named, the wiring, and blank axes for the plot.

use crate::pair::{AmmeterPosition, Connection};
use crate::paper::element::{Element, Elements};
use crate::paper::palette::{INK, PAPER};
use crate::paper::{Anchor, Colour};
use crate::questions::lesson::Lesson;
use crate::questions::lesson::words::WordTable;
use std::fmt::Write;

/// Colour of the fine lines of squared paper.
const FINE: Colour = Colour::hex(0x9a_a3_ae);

/// An SVG picture in the making, in units of its own.
struct Sketch {
    document: Element,
    body: Elements,
}

impl Sketch {
    fn new(left: f64, top: f64, width: f64, height: f64, title: &str) -> Self {
        let document = Element::document()
            .with("viewBox", format_args!("{left:.1} {top:.1} {width:.1} {height:.1}"))
            .with("role", "img")
            .with("aria-label", title);
        Self { document, body: Elements::default() }
    }

    fn add(&mut self, element: Element) {
        self.body.add(&element.alone());
    }

    fn path(&mut self, data: &str, width: f64) {
        self.add(Element::path(data).with("stroke-width", width));
    }

    fn circle(&mut self, centre: [f64; 2], radius: f64, width: f64) {
        let centre = centre.map(|length| format!("{length:.2}"));
        self.add(Element::circle(centre, format_args!("{radius:.2}")).with("stroke-width", width));
    }

    /// A circle that hides what lies under it.
    fn disc(&mut self, centre: [f64; 2], radius: f64) {
        self.add(Element::circle(centre, radius).with("fill", PAPER).with("stroke-width", 1));
    }

    fn text(&mut self, place: [f64; 2], size: f64, anchor: Anchor, text: &str) {
        let element = Element::text(place.map(|length| format!("{length:.2}")), size)
            .with("text-anchor", anchor.name())
            .with("fill", INK)
            .with("stroke", "none");
        self.body.add(&element.saying(text));
    }

    fn finish(self) -> String {
        let drawn =
            Element::new("g").with("fill", "none").with("stroke", INK).with("font-family", "sans-serif");
        self.document.around(&drawn.around(&self.body)).into_text()
    }
}

/// The bench seen along the axis, to scale: coils, bulb, gun, scale, and the beam of the first setting.
pub(super) fn bench(lesson: &Lesson, words: &WordTable) -> String {
    let millimetre = |metre: f64| metre * 1e3;
    let outer = |winding: &crate::questions::lesson::Winding| {
        millimetre(winding.mean_radius_m + 0.5 * winding.depth_m)
    };
    let reach = lesson.windings.iter().map(outer).fold(0.0, f64::max);
    // Letters are in proportion to the sketch; names need room on both sides.
    let size = 0.085 * reach;
    let (half_width, half_height) = (reach + 5.2 * size, reach + 0.5 * size);
    let mut sketch = Sketch::new(
        -half_width,
        -half_height,
        2.0 * half_width,
        2.0 * half_height,
        words.of_key("sheet_bench_heading"),
    );
    let line = 0.006 * reach;
    if let Some(front) = lesson.windings.last() {
        let [x, y] = [millimetre(front.centre_m[0]), -millimetre(front.centre_m[1])];
        sketch.circle([x, y], millimetre(front.mean_radius_m + 0.5 * front.depth_m), line);
        sketch.circle([x, y], millimetre(front.mean_radius_m - 0.5 * front.depth_m), line);
    }
    let tube = &lesson.tube;
    let bulb = [millimetre(tube.bulb_centre_m[0]), -millimetre(tube.bulb_centre_m[1])];
    let bulb_radius = millimetre(tube.bulb_radius_m);
    sketch.circle(bulb, bulb_radius, 1.5 * line);
    let exit = [millimetre(tube.gun_exit_m[0]), -millimetre(tube.gun_exit_m[1])];
    let [dx, dy] = [tube.gun_direction[0], -tube.gun_direction[1]];
    let flat = dx.hypot(dy).max(1e-9);
    let [dx, dy] = [dx / flat, dy / flat];
    let first = &lesson.settings[0];
    let side = (lesson.field_constant_tesla_per_ampere * first.current_ampere).signum();
    // Direction from the gun to the circle's centre, z × d, with y down on paper.
    let [tx, ty] = [dy * side, -dx * side];
    let radius = millimetre(first.expected.read_radius_m);
    let centre = [exit[0] + tx * radius, exit[1] + ty * radius];
    sketch.circle(centre, radius, 3.0 * line);
    let body = millimetre(lesson.gun_body.length_m);
    let wide = millimetre(lesson.gun_body.radius_m);
    let gun = format!(
        "M{:.2} {:.2}L{:.2} {:.2}L{:.2} {:.2}L{:.2} {:.2}Z",
        exit[0] + 0.5 * wide * dy,
        exit[1] - 0.5 * wide * dx,
        exit[0] - 0.5 * wide * dy,
        exit[1] + 0.5 * wide * dx,
        exit[0] - body * dx - wide * dy,
        exit[1] - body * dy + wide * dx,
        exit[0] - body * dx + wide * dy,
        exit[1] - body * dy - wide * dx,
    );
    sketch.add(Element::path(gun).with("fill", PAPER).with("stroke-width", line));
    let mut scale =
        format!("M{:.2} {:.2}l{:.2} {:.2}", exit[0], exit[1], tx * 2.3 * radius, ty * 2.3 * radius);
    for step in 0..=(2.3 * radius / 5.0) as u32 {
        let at = 5.0 * f64::from(step);
        let mark = if step % 2 == 0 { 0.045 * reach } else { 0.025 * reach };
        write!(
            scale,
            "M{:.2} {:.2}l{:.2} {:.2}",
            exit[0] + tx * at,
            exit[1] + ty * at,
            -dx * mark,
            -dy * mark
        )
        .expect("a string takes any text");
    }
    sketch.path(&scale, line);
    // Names at the sides, each with a line to its part.
    let right = reach + 0.4 * size;
    let name = |sketch: &mut Sketch, key: &str, level: f64, to: [f64; 2], left: bool| {
        let x = if left { -right } else { right };
        sketch.path(&format!("M{x:.2} {level:.2}L{:.2} {:.2}", to[0], to[1]), line);
        let (anchor, at) = if left { (Anchor::End, x - 0.2 * size) } else { (Anchor::Start, x + 0.2 * size) };
        sketch.text([at, level + 0.35 * size], size, anchor, words.of_key(key));
    };
    let slant = std::f64::consts::FRAC_1_SQRT_2;
    let coil = lesson.windings.last().map_or(reach, |front| millimetre(front.mean_radius_m));
    name(&mut sketch, "sheet_coil", -0.88 * reach, [coil * slant, -coil * slant], false);
    name(
        &mut sketch,
        "bulb",
        0.45 * reach,
        [bulb[0] + 0.94 * bulb_radius, bulb[1] + 0.34 * bulb_radius],
        false,
    );
    name(&mut sketch, "gun", 0.8 * reach, [exit[0] - body * dx, exit[1] - body * dy], false);
    let top = [centre[0] - 0.7 * radius, centre[1] - 0.71 * radius];
    name(&mut sketch, "sheet_beam", -0.6 * reach, top, true);
    let far = [exit[0] + tx * 2.2 * radius, exit[1] + ty * 2.2 * radius];
    name(&mut sketch, "sheet_scale", 0.3 * reach, far, far[0] < exit[0]);
    sketch.finish()
}

/// The wiring: the coils' circuit with ammeter and reversing switch, and the gun's circuit apart.
pub(super) fn wiring(lesson: &Lesson, connection: Connection, words: &WordTable) -> String {
    let mut sketch = Sketch::new(0.0, 0.0, 240.0, 128.0, words.of_key("sheet_wiring_heading"));
    let after = lesson.ammeter_position == Some(AmmeterPosition::AfterReversal);
    let meter_x = if after { 157.0 } else { 72.0 };
    let boxed = |sketch: &mut Sketch, [x, y, w, h]: [f64; 4], key: &str| {
        sketch.path(&format!("M{x} {y}h{w}v{h}h{}z", -w), 1.0);
        // A long name grows away from the edge of the sketch.
        let (at, anchor) = if x < 20.0 { (x, Anchor::Start) } else { (x + 0.5 * w, Anchor::Middle) };
        sketch.text([at, y - 3.0], 8.5, anchor, words.of_key(key));
    };
    boxed(&mut sketch, [6.0, 18.0, 40.0, 26.0], "sheet_coil_supply");
    sketch.text([26.0, 34.5], 9.0, Anchor::Middle, "+   −");
    boxed(&mut sketch, [94.0, 18.0, 42.0, 26.0], "sheet_reversing");
    sketch.path("M100 24L130 38M100 38L130 24", 0.8);
    sketch.path("M46 24H94M46 38H94M136 24H180M136 38H174", 0.8);
    sketch.disc([meter_x, 24.0], 8.0);
    sketch.text([meter_x, 27.4], 9.5, Anchor::Middle, "A");
    sketch.path("M180 18h38v12h-38zM180 46h38v12h-38z", 1.0);
    for y in [27.0, 55.0] {
        sketch.text([199.0, y], 8.0, Anchor::Middle, words.of_key("sheet_coil"));
    }
    sketch.path(
        match connection {
            Connection::Series => "M174 38V52H180M218 24H228V52H218",
            Connection::Parallel => "M174 24V52H180M218 24H228V52H218M228 52V66H168V38H174",
        },
        0.8,
    );
    boxed(&mut sketch, [6.0, 84.0, 40.0, 26.0], "sheet_gun_supply");
    sketch.text([26.0, 100.5], 9.0, Anchor::Middle, "+   −");
    sketch.path("M46 90H176M46 104H170M100 90V104", 0.8);
    sketch.disc([100.0, 97.0], 6.6);
    sketch.text([100.0, 100.2], 9.0, Anchor::Middle, "V");
    sketch.circle([198.0, 97.0], 24.0, 1.2);
    sketch.path("M170 104H186V100H190V94H186V90", 0.8);
    sketch.path("M190 93h8v8h-8z", 1.0);
    sketch.text([198.0, 114.0], 8.0, Anchor::Middle, words.of_key("gun"));
    sketch.finish()
}

/// Axes for the plot of V against (B r)², as long as the settings need, in which the class marks its points.
pub(super) fn axes(lesson: &Lesson, words: &WordTable) -> String {
    const SIZE: [f64; 2] = [180.0, 215.0];
    const LEFT: f64 = 24.0;
    const FOOT: f64 = 24.0;
    let volt = lesson.settings.iter().map(|one| one.gun_voltage_volt).fold(0.0, f64::max);
    let charge_to_mass = lesson.constants.accepted_charge_to_mass_coulomb_per_kg;
    let [x_most, x_step] = round_axis(1.12 * 2e9 * volt / charge_to_mass, 8.0);
    let [y_most, y_step] = round_axis(1.1 * volt, 7.0);
    let mut sketch = Sketch::new(
        0.0,
        0.0,
        SIZE[0] + LEFT + 8.0,
        SIZE[1] + FOOT + 12.0,
        words.of_key("sheet_plot_heading"),
    );
    let px = |x: f64| LEFT + SIZE[0] * x / x_most;
    let py = |y: f64| 12.0 + SIZE[1] * (1.0 - y / y_most);
    let mut fine = String::new();
    let fifth = |most: f64, step: f64| {
        (0..=(5.0 * most / step).round() as u32).map(move |i| f64::from(i) * step / 5.0)
    };
    for x in fifth(x_most, x_step) {
        write!(fine, "M{:.2} {:.2}v{:.2}", px(x), py(0.0), -SIZE[1]).expect("a string takes any text");
    }
    for y in fifth(y_most, y_step) {
        write!(fine, "M{:.2} {:.2}h{:.2}", px(0.0), py(y), SIZE[0]).expect("a string takes any text");
    }
    sketch.add(Element::path(fine).with("stroke", FINE).with("stroke-width", 0.18));
    let decimals = if x_step < 0.99 { 1 } else { 0 };
    for i in 0..=(x_most / x_step).round() as u32 {
        let x = f64::from(i) * x_step;
        sketch.path(&format!("M{:.2} {:.2}v{:.2}", px(x), py(0.0), -SIZE[1]), 0.35);
        sketch.text([px(x), py(0.0) + 8.0], 6.5, Anchor::Middle, &words.number(x, decimals));
    }
    for i in 0..=(y_most / y_step).round() as u32 {
        let y = f64::from(i) * y_step;
        sketch.path(&format!("M{:.2} {:.2}h{:.2}", px(0.0), py(y), SIZE[0]), 0.35);
        sketch.text([px(0.0) - 3.0, py(y) + 2.2], 6.5, Anchor::End, &words.number(y, 0));
    }
    sketch.path(&format!("M{:.2} {:.2}V{:.2}H{:.2}", px(0.0), py(y_most), py(0.0), px(x_most)), 0.9);
    sketch.text([px(x_most), py(0.0) + 18.0], 7.0, Anchor::End, words.of_key("sheet_column_s"));
    sketch.text([2.0, 8.0], 7.0, Anchor::Start, words.of_key("sheet_column_v"));
    sketch.finish()
}

/// End and step of an axis that reaches at least `least`. The step is 1, 2 or 5 times a power of ten and at least
/// `least / steps`.
fn round_axis(least: f64, steps: f64) -> [f64; 2] {
    let rough = least / steps;
    let power = 10f64.powi(rough.log10().floor() as i32);
    let step = [1.0, 2.0, 5.0, 10.0].map(|digit| digit * power).into_iter().find(|step| *step >= rough);
    let step = step.unwrap_or(power);
    [(least / step).ceil() * step, step]
}
