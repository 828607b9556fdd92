//! The sheet of a technical drawing: size, frame, title block and projection symbol.
//!
//! Sizes and borders are those of ISO 5457 (20 mm at the left for filing, 10 mm elsewhere). The title block is 180 mm
//! wide and has the fields of ISO 7200. The symbol is that of ISO 5456-2, a frustum whose diameters are as 1 to 2
//! (proportions from memory).

use super::{Drawing, Line, Point, SMALL, shortened, text_width, wrapped};
use crate::paper::mark::Anchor;

/// A sheet size. All are landscape except the first A4.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct SheetSize {
    /// Name of the size, for example `A3`, or `special`.
    pub name: &'static str,
    /// Width and height, mm.
    pub size: Point,
}

/// Arrangement of the views, shown by the symbol.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Views {
    /// First angle.
    First,
    /// Third angle.
    Third,
}

/// Contents of the title block.
#[derive(Clone, Debug)]
pub(crate) struct TitleBlock<'a> {
    pub title: &'a str,
    pub part: &'a str,
    pub material: &'a str,
    pub scale: &'a str,
    pub date: &'a str,
    pub general_tolerance: &'a str,
    pub number: u32,
    pub of: u32,
    pub origin: &'a str,
    pub views: Views,
}

/// A sheet to draw on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Sheet {
    /// Size of the sheet.
    pub size: SheetSize,
}

/// Sheet sizes of ISO 5457, mm.
const SIZES: [(&str, Point); 6] = [
    ("A4", [210.0, 297.0]),
    ("A4", [297.0, 210.0]),
    ("A3", [420.0, 297.0]),
    ("A2", [594.0, 420.0]),
    ("A1", [841.0, 594.0]),
    ("A0", [1189.0, 841.0]),
];
const LEFT: f64 = 20.0;
const BORDER: f64 = 10.0;
/// Width and height of the title block, mm.
pub(crate) const BLOCK: Point = [180.0, 40.0];

impl Sheet {
    /// The smallest sheet for which `fits` accepts the room within the frame. If A0 is too small: a special size that
    /// holds `least`, in steps of 10 mm.
    pub(crate) fn holding(least: Point, fits: impl Fn(Point) -> bool) -> Self {
        let within = |[width, height]: Point| [width - LEFT - BORDER, height - 2.0 * BORDER];
        let size = SIZES.iter().find(|(_, size)| fits(within(*size))).map_or_else(
            || SheetSize {
                name: "special",
                size: [
                    10.0 * ((least[0] + LEFT + BORDER) / 10.0).ceil(),
                    10.0 * ((least[1] + 2.0 * BORDER) / 10.0).ceil(),
                ],
            },
            |(name, size)| SheetSize { name, size: *size },
        );
        Self { size }
    }

    /// Left, top, right and bottom of the frame, mm.
    pub(crate) fn frame(&self) -> [f64; 4] {
        let [width, height] = self.size.size;
        [LEFT, BORDER, width - BORDER, height - BORDER]
    }

    /// Width and height within the frame, as [`holding`](Self::holding) asks about them, mm.
    pub(crate) fn room(&self) -> Point {
        let [left, top, right, bottom] = self.frame();
        [right - left, bottom - top]
    }

    /// Upper left corner of the title block, mm.
    pub(crate) fn block(&self) -> Point {
        let [_, _, right, bottom] = self.frame();
        [right - BLOCK[0], bottom - BLOCK[1]]
    }

    /// An empty drawing on this sheet, with frame and title block.
    pub(crate) fn drawing(&self, title_block: &TitleBlock<'_>) -> Drawing {
        let mut drawing =
            Drawing::new(self.size.size, format!("{}: {}", title_block.part, title_block.title));
        let [left, top, right, bottom] = self.frame();
        drawing.rectangle([left, top], [right - left, bottom - top], Line::Visible);
        self.set_block(&mut drawing, title_block);
        drawing
    }

    fn set_block(&self, drawing: &mut Drawing, block: &TitleBlock<'_>) {
        let [x, y] = self.block();
        drawing.rectangle([x, y], BLOCK, Line::Visible);
        let format = match self.size.name {
            "special" => format!("special, {} × {} mm", self.size.size[0], self.size.size[1]),
            name => name.to_owned(),
        };
        let sheets = format!("{} of {}", block.number, block.of);
        // Name, value, left edge, top edge, width, height.
        let fields: [(&str, &str, f64, f64, f64, f64); 9] = [
            ("title", block.title, 0.0, 0.0, 110.0, 11.0),
            ("part", block.part, 0.0, 11.0, 110.0, 11.0),
            ("material", block.material, 0.0, 22.0, 60.0, 11.0),
            ("general tolerance", block.general_tolerance, 60.0, 22.0, 50.0, 11.0),
            ("scale", block.scale, 110.0, 0.0, 35.0, 11.0),
            ("date", block.date, 110.0, 11.0, 35.0, 11.0),
            ("sheet size", &format, 110.0, 22.0, 35.0, 11.0),
            ("sheet", &sheets, 145.0, 22.0, 35.0, 11.0),
            ("made from", block.origin, 0.0, 33.0, 180.0, 7.0),
        ];
        for (name, value, left, top, width, height) in fields {
            drawing.rectangle([x + left, y + top], [width, height], Line::Narrow);
            if height < 10.0 {
                let value = shortened(value, SMALL, width - 20.0);
                drawing.text([x + left + 1.5, y + top + 4.6], 1.8, Anchor::Start, name);
                drawing.text([x + left + 18.0, y + top + 4.7], SMALL, Anchor::Start, &value);
            } else {
                drawing.text([x + left + 1.5, y + top + 3.4], 1.8, Anchor::Start, name);
                for (at, line) in in_block(value, width - 3.0) {
                    drawing.bold([x + left + 1.5, y + top + at.0], at.1, Anchor::Start, &line);
                }
            }
        }
        drawing.rectangle([x + 145.0, y], [35.0, 22.0], Line::Narrow);
        drawing.projection_symbol([x + 162.5, y + 11.0], block.views);
    }
}

/// The lines of a value in a field of the title block: how far below the field's top and how large each stands. A value
/// that is too long for one line is set smaller in two, and cut only if that does not hold it.
fn in_block(value: &str, width: f64) -> Vec<((f64, f64), String)> {
    /// Bold letters are so much wider than those that are measured.
    const BOLD: f64 = 1.1;
    const SMALLER: f64 = 1.9;
    if text_width(value, SMALL) * BOLD <= width {
        return vec![((8.6, SMALL), value.to_owned())];
    }
    let mut lines = wrapped(value, SMALLER, width / BOLD);
    if lines.len() > 2 {
        let rest = lines.split_off(1).join(" ");
        lines.push(shortened(&rest, SMALLER, width / BOLD));
    }
    [(6.6, SMALLER), (9.8, SMALLER)].into_iter().zip(lines).collect()
}

impl Drawing {
    /// Draws the projection symbol about a point, with its name below it.
    pub(crate) fn projection_symbol(&mut self, at: Point, views: Views) {
        symbol(self, at, views);
        self.text(
            [at[0], at[1] + 9.6],
            1.8,
            Anchor::Middle,
            match views {
                Views::First => "first angle, mm",
                Views::Third => "third angle, mm",
            },
        );
    }
}

/// Draws the projection symbol: a frustum with its small end to the left, and its view from the left. That view stands
/// on the right in first angle, on the left in third angle.
fn symbol(drawing: &mut Drawing, [x, y]: Point, views: Views) {
    const DIAMETER: f64 = 10.0;
    let (large, small) = (0.5 * DIAMETER, 0.25 * DIAMETER);
    // First angle: the frustum stands left of the circles. Third angle: right of them.
    let (circles, cone) = match views {
        Views::First => (x + 7.0, [x - 12.0, x - 2.0]),
        Views::Third => (x - 7.0, [x + 12.0, x + 2.0]),
    };
    let y = y - 1.5;
    let [from, to] = match views {
        // The view from the left shows the small end as a visible circle, so the small end is at the left.
        Views::First => [cone[0], cone[1]],
        // Here too the small end is at the left, facing the circles.
        Views::Third => [cone[1], cone[0]],
    };
    drawing.outline(&[[from, y - small], [to, y - large], [to, y + large], [from, y + small]], Line::Visible);
    drawing.circle([circles, y], large, Line::Visible);
    drawing.circle([circles, y], small, Line::Visible);
    drawing.centre_mark([circles, y], large + 1.2);
    drawing.line(&[[cone[0].min(cone[1]) - 1.5, y], [cone[0].max(cone[1]) + 1.5, y]], Line::Centre);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn block(views: Views) -> TitleBlock<'static> {
        TitleBlock {
            title: "Pair",
            part: "Former",
            material: "plywood",
            scale: "1:1",
            date: "2026-03-01",
            general_tolerance: "ISO 2768-m",
            number: 1,
            of: 2,
            origin: "here",
            views,
        }
    }

    #[test]
    fn a_long_title_stands_in_two_lines_and_is_not_cut() {
        let title = "Großes Paar für den Hörsaal: quadratischer Querschnitt, vertikale Achse, zwei Spulen";
        let lines = in_block(title, 107.0);
        assert_eq!(lines.len(), 2);
        assert_eq!(lines.iter().map(|(_, line)| line.as_str()).collect::<Vec<_>>().join(" "), title);
        assert_eq!(in_block("Pair", 107.0), [((8.6, SMALL), "Pair".to_owned())]);
    }

    #[test]
    fn the_smallest_sheet_is_taken_and_beyond_a0_a_special_one() {
        let sheet = |width: f64, height: f64| {
            Sheet::holding([width, height], |[w, h]| w >= width && h >= height).size.name
        };
        assert_eq!(sheet(100.0, 250.0), "A4");
        assert_eq!(sheet(250.0, 250.0), "A3");
        assert_eq!(sheet(500.0, 400.0), "A2");
        assert_eq!(sheet(1100.0, 800.0), "A0");
        assert_eq!(sheet(1200.0, 800.0), "special");
    }

    #[test]
    fn the_title_block_says_everything_and_lies_in_the_corner() {
        let sheet = Sheet::holding([100.0, 100.0], |[w, h]| w >= 200.0 && h >= 100.0);
        let svg = sheet.drawing(&block(Views::First)).svg();
        for part in
            ["Pair", "Former", "plywood", "1:1", "2026-03-01", "ISO 2768-m", "1 of 2", "first angle", "A4"]
        {
            assert!(svg.contains(part), "{part}");
        }
        let [x, y] = sheet.block();
        let [_, _, right, bottom] = sheet.frame();
        assert_eq!([x + BLOCK[0], y + BLOCK[1]], [right, bottom]);
    }

    #[test]
    fn first_angle_has_the_frustum_at_the_left_and_its_small_end_outward() {
        let svg = |views| {
            let mut drawing = Drawing::new([100.0, 100.0], "");
            symbol(&mut drawing, [50.0, 51.5], views);
            drawing.svg()
        };
        // The small end, with half height 2.5, is at x = 38; the circles are centred at x = 57.
        assert!(svg(Views::First).contains("M 38 47.5 L 48 45 L 48 55 L 38 52.5 Z"));
        assert!(svg(Views::First).contains("M 52 50 a 5 5"));
        // Third angle: the circles come first, then the frustum with its small end towards them.
        assert!(svg(Views::Third).contains("M 52 47.5 L 62 45 L 62 55 L 52 52.5 Z"));
        assert!(svg(Views::Third).contains("M 38 50 a 5 5"));
    }
}
