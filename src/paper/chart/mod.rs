//! Charts: curves, bands and measured points over two axes with units.
//!
//! Values are given in SI units (temperatures in °C); the axes convert them.
//!
//! ```
//! use coilwright::paper::{Axis, Chart, Measured};
//! use coilwright::units::unit;
//!
//! let mut chart = Chart::new(
//!     "Calibration line",
//!     Axis::new("coil current", unit::AMPERE).from_zero(),
//!     Axis::new("coil field", unit::MILLITESLA).from_zero(),
//! );
//! chart.band("expanded uncertainty", [[0.0, 0.0, 0.0], [3.0, 2.55e-3, 2.60e-3]]);
//! chart.curve("fitted line", [[0.0, 0.0], [3.0, 2.57e-3]]);
//! chart.points("readings", [Measured { y_bar: 2e-5, ..Measured::at(1.0, 0.86e-3) }]);
//! let figure = chart.figure("coilwright 0.1.0 · North bench pair");
//! assert!(figure.svg().contains("coil field in mT"));
//! ```

mod axis;
mod frame;
mod item;

pub use axis::Axis;
pub use item::Measured;

use crate::paper::clip::clipped;
use crate::paper::colour::Colour;
use crate::paper::figure::Figure;
use crate::paper::mark::{Rect, Stroke, Text};
use crate::paper::palette;
use crate::paper::palette::{GRID, INK, PAPER};
use crate::paper::ticks::Ticks;
use frame::{Frame, TICK_SIZE};
use item::{Item, PlacedLabel};

const LABEL_SIZE: f64 = 13.0;
/// Margin around the charts on a sheet, in points.
const MARGIN: f64 = 28.0;
/// Width and height of a chart that is alone on its sheet, in points.
const ONE_CELL: [f64; 2] = [744.0, 480.0];
const TITLE_SIZE: f64 = 16.0;

/// Curves, bands and measured points over two axes.
#[derive(Clone, Debug)]
pub struct Chart {
    title: String,
    x: Axis,
    y: Axis,
    items: Vec<Item>,
    series: usize,
    direct: bool,
}

impl Chart {
    /// An empty chart.
    pub fn new(title: impl Into<String>, x: Axis, y: Axis) -> Self {
        Self { title: title.into(), x, y, items: Vec::new(), series: 0, direct: false }
    }

    /// Writes each curve's name at its right end instead of in the legend.
    pub(crate) fn label_curves_directly(&mut self) {
        self.direct = true;
    }

    /// Adds a curve through points [x, y]. With an empty label it is not in the legend.
    pub fn curve(&mut self, label: impl Into<String>, points: impl IntoIterator<Item = [f64; 2]>) {
        let stroke = palette::series_stroke(self.series);
        self.series += 1;
        self.curve_drawn(label, points, stroke);
    }

    /// Adds a curve with this stroke.
    pub(crate) fn curve_drawn(
        &mut self,
        label: impl Into<String>,
        points: impl IntoIterator<Item = [f64; 2]>,
        stroke: Stroke,
    ) {
        self.items.push(Item::Curve { label: label.into(), points: points.into_iter().collect(), stroke });
    }

    /// Adds a band between two curves, with points [x, lower, upper], in a light shade of the next series' colour.
    pub fn band(&mut self, label: impl Into<String>, points: impl IntoIterator<Item = [f64; 3]>) {
        let colour = palette::series_colour(self.series).towards(PAPER, 0.72);
        self.items.push(Item::Band { label: label.into(), points: points.into_iter().collect(), colour });
    }

    /// Adds measured points with their bars.
    pub fn points(&mut self, label: impl Into<String>, points: impl IntoIterator<Item = Measured>) {
        let series = self.series;
        self.series += 1;
        self.items.push(Item::Points { label: label.into(), points: points.into_iter().collect(), series });
    }

    /// Adds a horizontal line, labelled on the line.
    pub fn level(&mut self, label: impl Into<String>, y: f64) {
        self.items.push(Item::Level { label: label.into(), y, of: None });
    }

    /// Adds a horizontal line in the colour of the series whose limit it is; `series` counts from 0.
    pub(crate) fn level_of(&mut self, series: usize, label: impl Into<String>, y: f64) {
        self.items.push(Item::Level { label: label.into(), y, of: Some(series) });
    }

    /// Adds a vertical line, labelled on the line.
    pub(crate) fn upright(&mut self, label: impl Into<String>, x: f64) {
        self.items.push(Item::Upright { label: label.into(), x });
    }

    /// Draws the chart on a sheet of its own. The footer states where the numbers come from.
    pub fn figure(&self, footer: &str) -> Figure {
        panels("", &[self], 1, footer)
    }

    /// The size of the sheet on which [`figure`](Self::figure) draws, and a function that gives the place there of a
    /// pair of SI values.
    pub(crate) fn on_its_sheet(&self) -> ([f64; 2], impl Fn([f64; 2]) -> [f64; 2] + use<>) {
        let mut sheet = panels("", &[self], 1, "");
        let [width, height] = ONE_CELL;
        let frame = self.frame(&mut sheet, Rect::new(MARGIN, MARGIN, width, height));
        ([sheet.sheet().width, sheet.sheet().height], move |values| frame.place(values))
    }

    /// Draws the chart without its title on a sheet of this size, to be placed in a page that has its own title.
    pub(crate) fn inset_figure(&self, [width, height]: [f64; 2]) -> Figure {
        const EDGE: f64 = 6.0;
        let mut figure = Figure::new(width, height, &self.title, self.description());
        let untitled = Self { title: String::new(), ..self.clone() };
        untitled.draw(&mut figure, Rect::new(0.0, 0.0, width, height).inset(EDGE));
        figure
    }

    /// A description of the chart for readers who cannot see it.
    fn description(&self) -> String {
        let named: Vec<&str> = self.items.iter().map(Item::label).filter(|label| !label.is_empty()).collect();
        let (title, x, y) = (&self.title, self.x.label(), self.y.label());
        format!("{title}: {y} against {x}; {}.", named.join(", "))
    }

    /// Draws the chart into a rectangle of a sheet.
    pub fn draw(&self, figure: &mut Figure, rect: Rect) {
        let frame = self.frame(figure, rect);
        self.draw_axes(figure, &frame);
        for item in &self.items {
            item.draw(figure, &frame);
        }
        self.draw_line_labels(figure, &frame);
        figure.outline(frame.plot.corners(), Stroke::solid(INK, 0.9));
        if self.direct {
            self.draw_end_labels(figure, &frame);
        }
    }

    /// Draws title and legend. Returns the remaining area with its scales.
    fn frame(&self, figure: &mut Figure, rect: Rect) -> Frame {
        let mut top = rect.top;
        if !self.title.is_empty() {
            figure.text(Text::new(&self.title, [rect.left, top + TITLE_SIZE], TITLE_SIZE).bold());
            top += TITLE_SIZE + 10.0;
        }
        top = self.draw_legend(figure, rect, top);
        let (x, y) = (self.x.unit, self.y.unit);
        let x_range = self.x.shown(self.items.iter().flat_map(|item| item.abscissae()).map(|v| x.from_si(v)));
        let y_range = self.y.shown(self.items.iter().flat_map(|item| item.ordinates()).map(|v| y.from_si(v)));
        let y_ticks = Ticks::within(y_range, ((rect.height - 80.0) / 55.0).max(2.0) as usize);
        let widest = y_ticks.values.iter().map(|v| Text::new(y_ticks.label(*v), [0.0; 2], TICK_SIZE).width());
        let left = rect.left + widest.fold(20.0, f64::max) + 10.0;
        let names = self.end_labels().map(|(label, ..)| Text::new(label, [0.0; 2], TICK_SIZE).width());
        let right = rect.right() - names.fold(4.0, |widest, width| f64::max(widest, width + 12.0));
        let top = top + LABEL_SIZE + 13.0;
        let plot = Rect::new(left, top, (right - left).max(1.0), (rect.bottom() - 44.0 - top).max(1.0));
        let x_ticks = Ticks::within(x_range, (plot.width / 75.0).max(2.0) as usize);
        Frame { plot, x_unit: x, y_unit: y, x_range, y_range, x_ticks, y_ticks }
    }

    /// Draws the labels of levels and uprights. Each stands at the first place where no line, symbol or other label
    /// touches it or, if there is none, at the place that the fewest touch.
    fn draw_line_labels(&self, figure: &mut Figure, frame: &Frame) {
        let lines: Vec<_> = self.items.iter().flat_map(|item| item.lines(frame)).collect();
        let mut covered: Vec<Rect> = self.items.iter().flat_map(|item| item.symbols(frame)).collect();
        for item in &self.items {
            let touching = |place: &PlacedLabel| {
                let crossing = lines.iter().filter(|line| !clipped(line, place.taken).is_empty()).count();
                crossing + covered.iter().filter(|rect| rect.overlaps(&place.taken)).count()
            };
            let best = item
                .label_places(frame)
                .into_iter()
                .map(|place| (touching(&place), place))
                .reduce(|best, next| if next.0 < best.0 { next } else { best });
            if let Some((_, PlacedLabel { text, taken })) = best {
                figure.text(text);
                covered.push(taken);
            }
        }
    }

    fn draw_axes(&self, figure: &mut Figure, frame: &Frame) {
        let plot = frame.plot;
        for &value in &frame.x_ticks.values {
            let x = frame.across(value);
            figure.line([[x, plot.top], [x, plot.bottom()]], Stroke::solid(GRID, 0.8));
            figure.line([[x, plot.bottom()], [x, plot.bottom() + 5.0]], Stroke::solid(INK, 0.9));
            let at = [x, plot.bottom() + 8.0 + TICK_SIZE];
            figure.text(Text::new(frame.x_ticks.label(value), at, TICK_SIZE).centred());
        }
        for &value in &frame.y_ticks.values {
            let y = frame.down(value);
            figure.line([[plot.left, y], [plot.right(), y]], Stroke::solid(GRID, 0.8));
            figure.line([[plot.left - 5.0, y], [plot.left, y]], Stroke::solid(INK, 0.9));
            let at = [plot.left - 9.0, y + 0.36 * TICK_SIZE];
            figure.text(Text::new(frame.y_ticks.label(value), at, TICK_SIZE).ending());
        }
        let beneath = [plot.left + 0.5 * plot.width, plot.bottom() + 40.0];
        figure.text(Text::new(self.x.label(), beneath, LABEL_SIZE).centred());
        let left = plot.left - frame.widest_y_label();
        figure.text(Text::new(self.y.label(), [left, plot.top - 13.0], LABEL_SIZE));
    }

    /// The labels beside the curves' right ends, each with the curve's last point and colour.
    fn end_labels(&self) -> impl Iterator<Item = (&str, [f64; 2], Colour)> {
        self.items.iter().filter_map(|item| match item {
            Item::Curve { label, points, stroke } if self.direct && !label.is_empty() => {
                points.last().map(|last| (label.as_str(), *last, stroke.colour))
            }
            _ => None,
        })
    }

    fn draw_end_labels(&self, figure: &mut Figure, frame: &Frame) {
        let mut labels: Vec<_> = self
            .end_labels()
            .map(|(label, point, colour)| {
                (frame.place(point)[1].clamp(frame.plot.top, frame.plot.bottom()), label, colour)
            })
            .collect();
        labels.sort_by(|a, b| a.0.total_cmp(&b.0));
        // Each label stands at its curve's end, or lower if the label above needs the room.
        let mut free = f64::NEG_INFINITY;
        for (y, label, colour) in labels {
            let y = y.max(free);
            free = y + TICK_SIZE + 2.0;
            let at = [frame.plot.right() + 8.0, y + 0.36 * TICK_SIZE];
            figure.text(Text::new(label, at, TICK_SIZE).coloured(colour));
        }
    }

    /// Draws the legend in rows from `top` down. Returns the y of its lower edge.
    fn draw_legend(&self, figure: &mut Figure, rect: Rect, top: f64) -> f64 {
        const SWATCH: f64 = 26.0;
        let (mut left, mut middle, mut any) = (rect.left, top + 7.0, false);
        for item in &self.items {
            let named = match item {
                Item::Curve { .. } => !self.direct,
                Item::Level { .. } | Item::Upright { .. } => false,
                Item::Band { .. } | Item::Points { .. } => true,
            };
            if !named || item.label().is_empty() {
                continue;
            }
            let width = SWATCH + 7.0 + Text::new(item.label(), [0.0; 2], TICK_SIZE).width();
            if any && left + width > rect.right() {
                (left, middle) = (rect.left, middle + 18.0);
            }
            item.draw_swatch(figure, Rect::new(left, middle - 6.0, SWATCH, 12.0));
            figure.text(Text::new(item.label(), [left + SWATCH + 7.0, middle + 0.36 * TICK_SIZE], TICK_SIZE));
            left += width + 20.0;
            any = true;
        }
        if any { middle + 14.0 } else { top }
    }
}

/// Draws several charts on one sheet, row by row. The footer states where the numbers come from.
pub fn panels(title: &str, charts: &[&Chart], columns: usize, footer: &str) -> Figure {
    const GAP: f64 = 30.0;
    let columns = columns.clamp(1, charts.len().max(1));
    let rows = charts.len().div_ceil(columns).max(1);
    let (cell_width, cell_height) = match (columns, rows) {
        (1, 1) => ONE_CELL.into(),
        (1, _) => (744.0, 330.0),
        _ => (470.0, 380.0),
    };
    let head = if title.is_empty() { 0.0 } else { 38.0 };
    let width = 2.0 * MARGIN + columns as f64 * (cell_width + GAP) - GAP;
    let height = 2.0 * MARGIN + head + rows as f64 * (cell_height + GAP) - GAP + 16.0;
    let description: Vec<String> = charts.iter().map(|chart| chart.description()).collect();
    let name = if title.is_empty() { charts.first().map_or("", |chart| &chart.title) } else { title };
    let mut figure = Figure::new(width, height, name, description.join(" "));
    figure.text(Text::new(title, [MARGIN, MARGIN + 16.0], 20.0).bold());
    for (i, chart) in charts.iter().enumerate() {
        let left = MARGIN + (i % columns) as f64 * (cell_width + GAP);
        let top = MARGIN + head + (i / columns) as f64 * (cell_height + GAP);
        chart.draw(&mut figure, Rect::new(left, top, cell_width, cell_height));
    }
    figure.footer(footer);
    figure
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::unit;

    fn chart() -> Chart {
        let mut chart = Chart::new(
            "Field & current <1 A>",
            Axis::new("coil current", unit::AMPERE).from_zero(),
            Axis::new("coil field", unit::MILLITESLA).from_zero(),
        );
        chart.band("uncertainty", [[0.0, 0.0, 0.0], [3.0, 2.4e-3, 2.7e-3]]);
        chart.curve("line", [[0.0, 0.0], [3.0, 2.57e-3]]);
        chart.points("readings", [Measured { y_bar: 1e-4, ..Measured::at(1.0, 0.86e-3) }]);
        chart.level("limit", 2e-3);
        chart
    }

    #[test]
    fn an_svg_names_axes_units_and_series_and_escapes_what_xml_reserves() {
        let svg = chart().figure("made here").svg();
        for wanted in
            ["coil current in A", "coil field in mT", "readings", "limit", "made here", "&lt;1 A&gt;", "2.5"]
        {
            assert!(svg.contains(wanted), "{wanted} is missing");
        }
        assert!(!svg.contains("<1 A>"));
    }

    #[test]
    fn a_png_carries_dark_letters_where_the_title_stands() {
        let png = chart().figure("made here").png().unwrap();
        let mut reader = png::Decoder::new(&png[..]).read_info().unwrap();
        let mut pixels = vec![0; reader.output_buffer_size()];
        let info = reader.next_frame(&mut pixels).unwrap();
        let dark = |left: usize, top: usize, width: usize, height: usize| {
            (top..top + height)
                .flat_map(|y| (left..left + width).map(move |x| 3 * (y * info.width as usize + x)))
                .filter(|i| pixels[*i] < 100)
                .count()
        };
        // The area of the title's letters, at two pixels per point, and the blank margin to their left.
        assert!(dark(56, 56, 300, 40) > 500);
        assert_eq!(dark(0, 0, 50, info.height as usize), 0);
    }

    #[test]
    fn empty_and_constant_and_infinite_data_still_make_a_chart() {
        for points in [vec![], vec![[1.0, 2.0]], vec![[0.0, 0.0], [1.0, f64::NAN], [2.0, f64::INFINITY]]] {
            let mut chart = Chart::new("t", Axis::new("x", unit::ONE), Axis::new("y", unit::ONE));
            chart.curve("c", points);
            let svg = chart.figure("").svg();
            assert!(!svg.contains("NaN") && !svg.contains("inf"));
            chart.figure("").png().unwrap();
        }
    }

    #[test]
    fn the_label_of_a_level_keeps_clear_of_the_frame() {
        let label_at = |y: f64| {
            let mut chart = Chart::new("t", Axis::new("x", unit::ONE), Axis::new("y", unit::ONE));
            chart.curve("", [[0.0, 0.0], [1.0, 100.0]]);
            chart.level("limit", y);
            let mut figure = Figure::new(600.0, 200.0, "", "");
            chart.draw(&mut figure, Rect::new(20.0, 20.0, 560.0, 160.0));
            let svg = figure.svg();
            let text = svg.lines().find(|line| line.contains(">limit<")).unwrap();
            let place = text.split(" y=\"").nth(1).unwrap();
            place[..place.find('"').unwrap()].parse::<f64>().unwrap()
        };
        // Labels lie above their lines, at equal distances. The topmost would cross the frame and so lies below its
        // line.
        let [low, high, top] = [40.0, 60.0, 100.0].map(label_at);
        let over_its_line = high - (low - high) * 2.0;
        assert!(top - over_its_line > 0.2 * (low - high), "{low} {high} {top}");
        assert!((label_at(50.0) - 0.5 * (low + high)).abs() < 1e-3 * (low - high));
    }

    #[test]
    fn no_label_touches_a_curve_a_point_or_another_label() {
        let axes = || Chart::new("t", Axis::new("x", unit::ONE), Axis::new("y", unit::ONE));
        for case in 0..60 {
            let mut chart = axes();
            let turn = f64::from(case) * 0.7;
            let wave = |i: u32| 50.0 + 45.0 * (0.05 * f64::from(i) + turn).sin();
            chart.curve("", (0..=100).map(|i| [f64::from(i), wave(i)]));
            chart.curve("", [[0.0, 5.0 * f64::from(case % 20)], [100.0, 100.0 - 5.0 * f64::from(case % 20)]]);
            chart
                .points("", (0..5).map(|i| Measured { y_bar: 4.0, ..Measured::at(f64::from(20 * i), 60.0) }));
            chart.level("limit of one", 40.0 + f64::from(case % 7));
            chart.level("limit of another", 88.0);
            chart.upright("to rely on 1.73 A", 30.0 + f64::from(case));
            let mut figure = Figure::new(800.0, 400.0, "", "");
            chart.draw(&mut figure, Rect::new(20.0, 20.0, 760.0, 360.0));
            assert_eq!(figure.struck_texts(), Vec::<String>::new(), "{case}");
        }
        // If there is no free place, the label is drawn all the same, and `struck_texts` names it.
        let mut chart = axes();
        chart.curve("", (0..=4000).map(|i| [f64::from(i), f64::from(i % 2) * 100.0]));
        chart.level("struck", 50.0);
        let mut figure = Figure::new(400.0, 200.0, "", "");
        chart.draw(&mut figure, Rect::new(20.0, 20.0, 360.0, 160.0));
        assert_eq!(figure.struck_texts(), ["struck"]);
    }

    #[test]
    fn the_same_chart_gives_the_same_bytes() {
        assert_eq!(chart().figure("f").png().unwrap(), chart().figure("f").png().unwrap());
        assert_eq!(chart().figure("f").svg(), chart().figure("f").svg());
    }
}
