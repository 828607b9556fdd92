//! The drawing of the assembled pair: spacing, spacers, and how square and concentric the formers must stand.

use super::{BlockWords, PAGE, PageView, check_bar, page_scale, printing, scale_name};
use crate::paper::Anchor;
use crate::paper::drawing::{
    BLOCK, Drawing, LETTERS, Line, Point, SMALL, Sheet, shortened, text_width, wrapped,
};
use crate::questions::build::BuildPapers;
use crate::questions::build::words::phrases::{limit_millimetres, millimetres, rim};
use crate::questions::build::words::{cautions, winding};
use crate::questions::words::notes::Told;
use crate::units::unit;

/// Distance from the frame to the pair, and room above and below the pair, mm.
const LEFT: f64 = 40.0;
const ABOVE: f64 = 40.0;
const BELOW: f64 = 28.0;
/// Distances from the pair to the dimension lines of coil a's rim and of coil b's rim with its tolerance frame, mm.
const RIM_LINE: f64 = 24.0;
const AXIS_LINE: f64 = 50.0;
/// Distance from the pair to the column of words, mm.
const BETWEEN: f64 = 70.0;
/// Distance from the pair to the title block, and height of the check bar, mm.
const BESIDE: f64 = 72.0;
const CHECK_BAR: f64 = 14.0;
const COLUMN: f64 = 150.0;
const COLUMN_HEIGHT: f64 = 205.0;

/// Room round the pair on paper: left, above, right, below, mm.
fn room(record: &BuildPapers, scale: f64) -> [f64; 4] {
    let mm = |metre: f64| scale * unit::MILLIMETRE.from_si(metre);
    let (former, assembly) = (&record.former, &record.assembly);
    // The ends of the bolts, and the plates with the sockets where they stand out at the top or the foot.
    let ends = 0.5 * mm(assembly.bolt_length_m - assembly.overall_length_m) + 6.0;
    let rim = 0.5 * mm(former.flange_diameter_m);
    let beyond = |side: f64| {
        let corners = former.terminals.iter().flat_map(|plate| plate.corners_m());
        corners.map(|[_, y]| side * mm(y) - rim).fold(0.0, f64::max) + 4.0
    };
    [LEFT.max(ends), ABOVE.max(beyond(1.0)), BETWEEN.max(ends), BELOW.max(beyond(-1.0))]
}

/// The drawing as an SVG document.
pub(crate) fn svg(record: &BuildPapers) -> String {
    let scale = record.asked.drawing_scale;
    let mm = |metre: f64| scale * unit::MILLIMETRE.from_si(metre);
    let (former, assembly) = (&record.former, &record.assembly);
    let (length, flange) = (mm(assembly.overall_length_m), mm(former.flange_diameter_m));
    let [before, above, between, below] = room(record, scale);
    let high = above + flange + below;
    let least = [before + length + between + COLUMN, high.max(COLUMN_HEIGHT) + BLOCK[1]];
    let sheet = Sheet::holding(least, |[w, h]| {
        // Beside the title block the pair may extend down to the check bar.
        let beside = before + length + BESIDE.max(between) <= w - BLOCK[0]
            && h >= (high + CHECK_BAR).max(COLUMN_HEIGHT + BLOCK[1]);
        w >= least[0] && (h >= least[1] || beside)
    });
    let words = BlockWords::of(record);
    let mut drawing = sheet.drawing(&words.block(record, "Pair, assembled", 2));
    let [left, top, right, bottom] = sheet.frame();
    let axis = top + above + 0.5 * flange;
    let pair = Pair { record, scale, left: left + before, axis };
    pair.draw(&mut drawing);
    pair.dimension(&mut drawing);
    pair.tolerate(&mut drawing);
    let column = (left + before + length + between).max(right - 2.0 * COLUMN);
    let column = column.min(right - COLUMN);
    let foot = parts(&mut drawing, record, [column, top + 8.0]);
    let foot = tolerances(&mut drawing, record, [column, foot + 8.0]);
    beside(&mut drawing, record, &sheet, [column, foot + 6.0]);
    let (bar, stands_for) = check_bar(scale);
    drawing.check_bar([left + 8.0, bottom - 10.0], bar, &stands_for);
    drawing.svg()
}

/// The pair for a page, at the largest scale at which it fits.
pub(crate) fn view(record: &BuildPapers) -> PageView {
    let size = |scale: f64| {
        let mm = |metre: f64| scale * unit::MILLIMETRE.from_si(metre);
        let [before, above, between, below] = room(record, scale);
        let after = if between > BETWEEN { between } else { AXIS_LINE + 18.0 };
        [
            before + mm(record.assembly.overall_length_m) + after,
            above + mm(record.former.flange_diameter_m) + below,
        ]
    };
    let scale = page_scale(|scale| size(scale)[0] <= PAGE[0] && size(scale)[1] <= PAGE[1]);
    let [_, height] = size(scale);
    let mut drawing = Drawing::new([PAGE[0], height + CHECK_BAR], "Pair, assembled");
    let [before, above, ..] = room(record, scale);
    let axis = above + 0.5 * scale * unit::MILLIMETRE.from_si(record.former.flange_diameter_m);
    let pair = Pair { record, scale, left: before, axis };
    pair.draw(&mut drawing);
    pair.dimension(&mut drawing);
    pair.tolerate(&mut drawing);
    let (bar, stands_for) = check_bar(scale);
    drawing.check_bar([8.0, height + CHECK_BAR - 8.0], bar, &stands_for);
    PageView { scale: scale_name(scale), svg: drawing.svg() }
}

const NAMES: [&str; 2] = ["coil a", "coil b"];

/// Width of a name in bold letters, which are a tenth wider.
fn bold_width(name: &str) -> f64 {
    1.1 * text_width(name, LETTERS)
}

/// The pair on paper, with coil a at the left and +z to the right.
struct Pair<'a> {
    record: &'a BuildPapers,
    scale: f64,
    left: f64,
    axis: f64,
}

impl Pair<'_> {
    fn mm(&self, metre: f64) -> f64 {
        self.scale * unit::MILLIMETRE.from_si(metre)
    }

    /// The left edge of each former.
    fn formers(&self) -> [f64; 2] {
        [self.left, self.left + self.mm(self.record.assembly.spacing_m)]
    }

    fn width(&self) -> f64 {
        self.mm(self.record.former.overall_width_m)
    }

    fn rim(&self) -> f64 {
        0.5 * self.mm(self.record.former.flange_diameter_m)
    }

    fn draw(&self, drawing: &mut Drawing) {
        let former = &self.record.former;
        let (wall, width, rim) = (self.mm(former.wall_m), self.width(), self.rim());
        let wound = 0.5 * self.mm(former.winding_diameter_m);
        for (index, x) in self.formers().into_iter().enumerate() {
            for flange in [x, x + width - wall] {
                drawing.rectangle([flange, self.axis - rim], [wall, 2.0 * rim], Line::Visible);
            }
            drawing.rectangle(
                [x + wall, self.axis - wound],
                [width - 2.0 * wall, 2.0 * wound],
                Line::Visible,
            );
            let middle = x + 0.5 * width;
            drawing.line(&[[middle, self.axis - rim - 20.0], [middle, self.axis + rim + 6.0]], Line::Centre);
            let (at, anchor) = self.place_of_name(index);
            drawing.bold([at, self.axis + rim + 11.0], LETTERS, anchor, NAMES[index]);
            drawing.text([x + width + 1.2, self.axis + rim + 5.0], SMALL, Anchor::Start, "M");
        }
        self.terminals(drawing);
        self.bolts(drawing);
        let end = self.formers()[1] + width;
        drawing.line(&[[self.left - 16.0, self.axis], [end + 22.0, self.axis]], Line::Centre);
        drawing.arrowhead([end + 22.0, self.axis], [1.0, 0.0]);
        drawing.text([end + 18.0, self.axis + 5.0], LETTERS, Anchor::Middle, "+z");
    }

    /// Where the name of a coil stands: under its former, clear of the extension lines at the outer faces of the pair. A name
    /// wider than the former stands inward of them, or outside where the coils are close together.
    fn place_of_name(&self, index: usize) -> (f64, Anchor) {
        /// Distance of the name from an extension line, mm.
        const CLEAR: f64 = 1.5;
        let (x, width) = (self.formers()[index], self.width());
        let is_wider = bold_width(NAMES[index]) > width - 2.0 * CLEAR;
        let names = 0.5 * NAMES.map(bold_width).iter().sum::<f64>();
        let spacing = self.mm(self.record.assembly.spacing_m);
        let is_close = match is_wider {
            true => spacing + width - 2.0 * CLEAR < 2.0 * names + CLEAR,
            false => spacing < names + CLEAR,
        };
        match (is_close, is_wider, index) {
            (true, _, 0) => (x - CLEAR, Anchor::End),
            (true, _, _) => (x + width + CLEAR, Anchor::Start),
            (false, false, _) => (x + 0.5 * width, Anchor::Middle),
            (false, true, 0) => (x + CLEAR, Anchor::Start),
            (false, true, _) => (x + width - CLEAR, Anchor::End),
        }
    }

    /// Draws the terminal plates on the outer flanges, seen from the side.
    fn terminals(&self, drawing: &mut Drawing) {
        let Some(plate) = &self.record.former.terminals else { return };
        let up = plate.corners_m().map(|[_, y]| self.mm(y));
        let (low, high) =
            up.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), y| (low.min(*y), high.max(*y)));
        let thickness = self.mm(plate.thickness_m);
        let [a, b] = self.formers();
        for left in [a - thickness, b + self.width()] {
            drawing.rectangle([left, self.axis - high], [thickness, high - low], Line::Visible);
        }
    }

    /// Draws the spacers between the formers, and the bolts and nuts beyond them.
    fn bolts(&self, drawing: &mut Drawing) {
        let (former, assembly) = (&self.record.former, &self.record.assembly);
        let [a, b] = self.formers();
        let from = a + self.width();
        let thread = self.mm(former.bolts.thread_m);
        let spacer = self.mm(assembly.spacer_diameter_m);
        let up =
            0.5 * self.mm(former.bolts.holes.circle_diameter_m) * former.bolts.holes.first_angle_rad.sin();
        let end = b + self.width();
        let beyond = 0.5 * (self.mm(assembly.bolt_length_m) - (end - a));
        for side in [-1.0, 1.0] {
            let y = self.axis + side * up;
            if b - from > 0.05 {
                drawing.rectangle([from, y - 0.5 * spacer], [b - from, spacer], Line::Visible);
            }
            for (x, sign) in [(a, -1.0), (end, 1.0)] {
                let nut = [x + f64::min(0.0, sign * thread), y - 0.9 * thread];
                drawing.rectangle(nut, [thread, 1.8 * thread], Line::Visible);
                let tip = [x + sign * thread, x + sign * beyond.max(thread)];
                drawing.rectangle(
                    [tip[0].min(tip[1]), y - 0.5 * thread],
                    [(tip[1] - tip[0]).abs(), thread],
                    Line::Visible,
                );
            }
            drawing.line(&[[a - beyond - 3.0, y], [end + beyond + 3.0, y]], Line::Centre);
        }
    }

    fn dimension(&self, drawing: &mut Drawing) {
        let (former, assembly) = (&self.record.former, &self.record.assembly);
        let ([a, b], width, rim) = (self.formers(), self.width(), self.rim());
        let (top, bottom) = (self.axis - rim, self.axis + rim);
        let spacing =
            format!("{} ±{}", millimetres(assembly.spacing_m), limit_millimetres(assembly.spacing_limit_m));
        drawing.dimension_across([a + 0.5 * width, top], [b + 0.5 * width, top], top - 18.0, &spacing);
        if b - a - width > 0.05 {
            drawing.dimension_across(
                [a + width, top],
                [b, top],
                top - 8.0,
                &format!("{}×({})", assembly.spacers, millimetres(assembly.spacer_length_m)),
            );
        }
        drawing.dimension_across(
            [a, bottom],
            [b + width, bottom],
            bottom + 20.0,
            &millimetres(assembly.overall_length_m),
        );
        drawing.dimension_down(
            [a, top],
            [a, bottom],
            a - RIM_LINE,
            &format!("Ø{}", millimetres(former.flange_diameter_m)),
        );
    }

    /// Draws the geometrical tolerances. Datum A is the outer face of coil a's outer flange, datum B the axis of coil
    /// a's rim. Coil b must be parallel to A, and its axis coaxial with B. A mark in line with the dimension of a
    /// diameter refers to the axis (ISO 1101; ISO 5459, from memory).
    fn tolerate(&self, drawing: &mut Drawing) {
        let assembly = &self.record.assembly;
        let ([a, b], width, rim) = (self.formers(), self.width(), self.rim());
        // The datum mark is a filled triangle on the face, with a letter in a frame.
        let y = self.axis - 0.45 * rim;
        drawing.filled(&[[a, y - 1.8], [a - 3.1, y], [a, y + 1.8]]);
        drawing.line(&[[a - 3.1, y], [a - 7.0, y]], Line::Narrow);
        drawing.rectangle([a - 14.0, y - 3.5], [7.0, 7.0], Line::Narrow);
        drawing.text([a - 10.5, y + 1.75], LETTERS, Anchor::Middle, "A");
        // Datum B stands in line with the dimension of coil a's rim.
        let (line, foot) = (a - RIM_LINE, self.axis + rim);
        drawing.filled(&[[line - 1.8, foot], [line + 1.8, foot], [line, foot + 3.1]]);
        drawing.line(&[[line, foot + 3.1], [line, foot + 6.0]], Line::Narrow);
        drawing.rectangle([line - 3.5, foot + 6.0], [7.0, 7.0], Line::Narrow);
        drawing.text([line, foot + 11.25], LETTERS, Anchor::Middle, "B");
        let right = b + width;
        let at = self.axis - 0.45 * rim;
        let squareness = limit_millimetres(assembly.squareness.limit_m);
        let concentricity = format!("Ø{}", limit_millimetres(2.0 * assembly.concentricity.limit_m));
        let start = right + 12.0;
        drawing.line(&[[right, at], [start, at]], Line::Narrow);
        drawing.arrowhead([right, at], [-1.0, 0.0]);
        frame(drawing, [start, at], Symbol::Parallel, &squareness, "A");
        // The frame stands below the rim of coil b, its leader in line with the dimension of that rim.
        let line = right + AXIS_LINE;
        let diameter = format!("Ø{}", millimetres(self.record.former.flange_diameter_m));
        drawing.dimension_down([right, self.axis - rim], [right, foot], line, &diameter);
        let below = foot + 11.0;
        drawing.line(&[[line, below - 3.5], [line, foot]], Line::Narrow);
        drawing.arrowhead([line, foot], [0.0, -1.0]);
        let half = 0.5 * frame_width(&concentricity);
        frame(drawing, [line - half, below], Symbol::Coaxial, &concentricity, "B");
    }
}

/// The geometrical characteristics that are drawn.
#[derive(Clone, Copy, PartialEq)]
enum Symbol {
    Parallel,
    Coaxial,
}

/// Width of a tolerance frame, mm.
fn frame_width(value: &str) -> f64 {
    text_width(value, LETTERS) + 17.0
}

/// Draws a tolerance frame whose left edge has its middle at this point.
fn frame(drawing: &mut Drawing, [x, y]: Point, symbol: Symbol, value: &str, datum: &str) {
    let value_width = text_width(value, LETTERS) + 3.0;
    let (top, height) = (y - 3.5, 7.0);
    drawing.rectangle([x, top], [7.0, height], Line::Narrow);
    drawing.rectangle([x + 7.0, top], [value_width, height], Line::Narrow);
    drawing.rectangle([x + 7.0 + value_width, top], [7.0, height], Line::Narrow);
    match symbol {
        Symbol::Parallel => {
            for shift in [-1.0, 1.0] {
                drawing.line(&[[x + 2.5 + shift, y + 2.0], [x + 4.5 + shift, y - 2.0]], Line::Narrow);
            }
        }
        Symbol::Coaxial => {
            drawing.circle([x + 3.5, y], 2.3, Line::Narrow);
            drawing.circle([x + 3.5, y], 1.1, Line::Narrow);
        }
    }
    drawing.text([x + 7.0 + 0.5 * value_width, y + 1.75], LETTERS, Anchor::Middle, value);
    drawing.text([x + 10.5 + value_width, y + 1.75], LETTERS, Anchor::Middle, datum);
}

/// Draws a table with columns of these widths. Returns the y of its lower edge.
fn table(drawing: &mut Drawing, [left, top]: Point, widths: &[f64], rows: &[Vec<String>]) -> f64 {
    let mut y = top;
    for row in rows {
        let cells: Vec<Vec<String>> =
            row.iter().zip(widths).map(|(cell, width)| wrapped(cell, SMALL, width - 2.5)).collect();
        let lines = cells.iter().map(Vec::len).max().unwrap_or(1) as f64;
        let height = 2.0 + 4.0 * lines;
        let mut x = left;
        for (cell, width) in cells.iter().zip(widths) {
            drawing.rectangle([x, y], [*width, height], Line::Narrow);
            for (index, line) in cell.iter().enumerate() {
                drawing.text([x + 1.2, y + 4.2 + 4.0 * index as f64], SMALL, Anchor::Start, line);
            }
            x += width;
        }
        y += height;
    }
    y
}

/// The list of parts, its headings first.
pub(crate) fn part_rows(record: &BuildPapers) -> Vec<Vec<String>> {
    let (former, assembly) = (&record.former, &record.assembly);
    let material = former.material.clone().unwrap_or_else(|| "not in the spec".into());
    let thread = millimetres(former.bolts.thread_m);
    let row = |name: &str, count: u32, words: String| vec![name.to_owned(), count.to_string(), words];
    let mut rows = vec![
        vec!["part".into(), "off".into(), "material, size in mm".into()],
        row("coil on its former, sheet 1", 2, shortened(&material, SMALL, 70.0)),
    ];
    if let Some(plate) = &former.terminals {
        rows.push(row(
            "terminal plate, sheet 3",
            2,
            format!(
                "insulating sheet of {}, on the outer flanges at {:.0}°",
                millimetres(plate.thickness_m),
                unit::DEGREE.from_si(plate.angle_rad).rem_euclid(360.0)
            ),
        ));
        rows.push(row(
            "screw, nut and washers",
            4,
            format!("brass or plastic, M{}", millimetres(plate.thread_m)),
        ));
    }
    if assembly.spacer_length_m > 0.0 {
        rows.push(row(
            "spacer tube",
            assembly.spacers,
            format!(
                "not magnetic, Ø{} × Ø{} × {}",
                millimetres(assembly.spacer_diameter_m),
                millimetres(former.bolts.holes.diameter_m),
                millimetres(assembly.spacer_length_m)
            ),
        ));
    }
    rows.push(row(
        "bolt or threaded rod",
        assembly.spacers,
        format!("brass or plastic, M{thread} × {}", millimetres(assembly.bolt_length_m)),
    ));
    rows.push(row("nut and washer", 2 * assembly.spacers, format!("brass or plastic, M{thread}")));
    rows
}

/// Draws the list of parts. Returns the y of its lower edge.
fn parts(drawing: &mut Drawing, record: &BuildPapers, [left, top]: Point) -> f64 {
    drawing.bold([left, top], LETTERS, Anchor::Start, "Parts");
    let rows = part_rows(record);
    table(drawing, [left, top + 3.0], &[46.0, 10.0, 90.0], &rows)
}

/// What must be held and how it is measured, headings first.
pub(crate) fn tolerance_rows(record: &BuildPapers) -> Vec<Vec<String>> {
    let assembly = &record.assembly;
    let angle = format!("{:.2}°", unit::DEGREE.from_si(assembly.squareness.from_limit));
    let tightened = |tight: bool| if tight { "; tighter than the spec, for the wish" } else { "" };
    vec![
        vec!["what".into(), "limit".into(), "how".into()],
        vec![
            "spacing".into(),
            format!("±{} mm", limit_millimetres(assembly.spacing_limit_m)),
            "like faces of both formers, mean of four places round the rim; cut the spacers to spacing less the measured \
             width of a former"
                .into(),
        ],
        vec![
            "square".into(),
            rim(assembly.squareness.limit_m, assembly.squareness.over_diameter_m),
            format!(
                "largest less smallest, sought all round the rim: what a tilt of {angle} of one coil makes. Up to {} mm, which \
                 two coils may make against each other, measure each coil by itself{}",
                limit_millimetres(assembly.squareness.both_coils_m),
                tightened(assembly.squareness.tightened)
            ),
        ],
        vec![
            "concentric".into(),
            format!("{} mm step", limit_millimetres(assembly.concentricity.limit_m)),
            format!(
                "straightedge along the axis over both rims, all round: what one coil may be aside along an axis. Up to {} mm, \
                 which two may be against each other, measure each by itself{}",
                limit_millimetres(assembly.concentricity.both_coils_m),
                tightened(assembly.concentricity.tightened)
            ),
        ],
    ]
}

/// Draws the table of tolerances and how they are measured. Returns the y of its lower edge.
fn tolerances(drawing: &mut Drawing, record: &BuildPapers, [left, top]: Point) -> f64 {
    let assembly = &record.assembly;
    drawing.bold([left, top], LETTERS, Anchor::Start, "What must be held, and how it is measured");
    let rows = tolerance_rows(record);
    let mut y = table(drawing, [left, top + 3.0], &[22.0, 44.0, 80.0], &rows) + 5.0;
    for hold in assembly.hold.iter().take(4) {
        y = drawing.paragraph([left, y], COLUMN - 4.0, SMALL, &format!("– {}", hold.sentence()));
    }
    y
}

fn beside(drawing: &mut Drawing, record: &BuildPapers, sheet: &Sheet, [left, top]: Point) {
    let [_, block] = sheet.block();
    let mut words = winding::connection(record);
    words.push(printing(sheet, record, record.asked.drawing_scale));
    words.push("M: marked faces. ( ): cut to fit.".into());
    words.extend(cautions(record).into_iter().rev());
    let mut y = top;
    for sentence in words {
        let lines = wrapped(&sentence, SMALL, COLUMN - 4.0).len() as f64;
        if y + 1.65 * SMALL * lines > block - 2.0 {
            continue;
        }
        y = drawing.paragraph([left, y], COLUMN - 4.0, SMALL, &sentence) + 1.0;
    }
}
