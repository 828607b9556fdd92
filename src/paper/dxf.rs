//! Drawings for cutting machines, as ASCII DXF of AutoCAD 2000 (AC1015), in millimetres.
//!
//! Only widely supported entities are written: light polylines with arcs as bulges, and single-line text. The same
//! drawing gives the same bytes: there is no date and no user name.

use crate::units::inert;
use std::fmt::Write;

/// A layer, with its colour as an AutoCAD colour index.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Layer {
    /// Name of the layer.
    pub name: &'static str,
    /// 1 red, 2 yellow, 3 green, 5 blue, 7 black or white.
    pub colour: u8,
}

/// A corner of a polyline: x, y, and the bulge of the arc to the next corner.
pub(crate) type Corner = [f64; 3];

/// A drawing in the making. Lengths are in millimetres, and y runs up.
#[derive(Clone, Debug)]
pub(crate) struct Dxf {
    layers: Vec<Layer>,
    entities: String,
    next_handle: u32,
    extent: [f64; 4],
}

/// Handle of the model space's block record, which owns everything drawn.
const MODEL_SPACE: &str = "1F";
const PAPER_SPACE: &str = "1B";
/// The first handle available for entities.
const FIRST_HANDLE: u32 = 0x100;

impl Dxf {
    /// An empty drawing with these layers.
    pub(crate) fn new(layers: &[Layer]) -> Self {
        Self {
            layers: layers.to_vec(),
            entities: String::new(),
            next_handle: FIRST_HANDLE,
            extent: [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY],
        }
    }

    fn grow(&mut self, [x, y]: [f64; 2]) {
        let [left, low, right, high] = self.extent;
        self.extent = [left.min(x), low.min(y), right.max(x), high.max(y)];
    }

    fn entity(&mut self, kind: &str, layer: &str, class: &str) {
        let handle = self.next_handle;
        self.next_handle += 1;
        let out = &mut self.entities;
        pair(out, 0, kind);
        pair(out, 5, &format!("{handle:X}"));
        pair(out, 330, MODEL_SPACE);
        pair(out, 100, "AcDbEntity");
        pair(out, 8, layer);
        pair(out, 100, class);
    }

    /// Adds a polyline, closed or open.
    pub(crate) fn polyline(&mut self, layer: &str, corners: &[Corner], closed: bool) {
        self.entity("LWPOLYLINE", layer, "AcDbPolyline");
        let out = &mut self.entities;
        pair(out, 90, &corners.len().to_string());
        pair(out, 70, if closed { "1" } else { "0" });
        pair(out, 43, "0.0");
        for [x, y, bulge] in corners {
            pair(out, 10, &number(*x));
            pair(out, 20, &number(*y));
            if *bulge != 0.0 {
                // Rounding the bulge changes the enclosed area. With nine decimals the relative change is about 1e-9.
                pair(out, 42, &format!("{bulge:.9}"));
            }
        }
        for (place, [x, y, bulge]) in corners.iter().enumerate() {
            // An arc of at most half a circle is nowhere farther from its chord than its sagitta, half the chord times
            // the bulge. No bulge here is larger.
            let [next_x, next_y, _] = corners[(place + 1) % corners.len()];
            let reach = 0.5 * (next_x - x).hypot(next_y - y) * bulge.abs();
            for [x, y] in [[*x, *y], [next_x, next_y]] {
                self.grow([x - reach, y - reach]);
                self.grow([x + reach, y + reach]);
            }
        }
    }

    /// Adds a line of text, centred on a place.
    pub(crate) fn text(&mut self, layer: &str, [x, y]: [f64; 2], height: f64, content: &str) {
        self.entity("TEXT", layer, "AcDbText");
        let out = &mut self.entities;
        pair(out, 10, &number(x));
        pair(out, 20, &number(y));
        pair(out, 30, "0.0");
        pair(out, 40, &number(height));
        pair(out, 1, &plain(content));
        pair(out, 72, "1");
        pair(out, 11, &number(x));
        pair(out, 21, &number(y));
        pair(out, 31, "0.0");
        pair(out, 100, "AcDbText");
        pair(out, 73, "2");
        self.grow([x, y]);
    }

    /// The drawing as a DXF document.
    pub(crate) fn document(&self) -> String {
        let mut out = String::with_capacity(self.entities.len() + 6000);
        self.header(&mut out);
        section(&mut out, "CLASSES", |_| {});
        section(&mut out, "TABLES", |out| self.tables(out));
        section(&mut out, "BLOCKS", |out| {
            block(out, "*Model_Space", MODEL_SPACE, ["20", "21"]);
            block(out, "*Paper_Space", PAPER_SPACE, ["1C", "1D"]);
        });
        section(&mut out, "ENTITIES", |out| out.push_str(&self.entities));
        section(&mut out, "OBJECTS", objects);
        pair(&mut out, 0, "EOF");
        out
    }

    fn header(&self, out: &mut String) {
        let shown = |value: f64| if value.is_finite() { value } else { 0.0 };
        let [left, low, right, high] = self.extent.map(shown);
        section(out, "HEADER", |out| {
            let mut variable = |name: &str, values: &[(u16, String)]| {
                pair(out, 9, name);
                for (code, value) in values {
                    pair(out, *code, value);
                }
            };
            variable("$ACADVER", &[(1, "AC1015".into())]);
            variable("$DWGCODEPAGE", &[(3, "ANSI_1252".into())]);
            variable("$INSBASE", &[(10, "0.0".into()), (20, "0.0".into()), (30, "0.0".into())]);
            variable("$EXTMIN", &[(10, number(left)), (20, number(low)), (30, "0.0".into())]);
            variable("$EXTMAX", &[(10, number(right)), (20, number(high)), (30, "0.0".into())]);
            variable("$MEASUREMENT", &[(70, "1".into())]);
            variable("$INSUNITS", &[(70, "4".into())]);
            variable("$LUNITS", &[(70, "2".into())]);
            variable("$HANDSEED", &[(5, format!("{:X}", self.next_handle))]);
        });
    }

    fn tables(&self, out: &mut String) {
        table(out, "VPORT", "8", 0, |_| {});
        table(out, "LTYPE", "5", 3, |out| {
            for (name, handle) in [("ByBlock", "14"), ("ByLayer", "15"), ("Continuous", "16")] {
                record(out, "LTYPE", handle, "5", "AcDbLinetypeTableRecord", name);
                for (code, value) in [(3, ""), (72, "65"), (73, "0"), (40, "0.0")] {
                    pair(out, code, value);
                }
            }
        });
        table(out, "LAYER", "2", self.layers.len() + 1, |out| {
            let zero = Layer { name: "0", colour: 7 };
            for (index, layer) in std::iter::once(&zero).chain(&self.layers).enumerate() {
                record(out, "LAYER", &format!("{:X}", 0x30 + index), "2", "AcDbLayerTableRecord", layer.name);
                pair(out, 62, &layer.colour.to_string());
                pair(out, 6, "Continuous");
                // Handle of the plot style in the dictionary below.
                pair(out, 390, "F");
            }
        });
        table(out, "STYLE", "3", 1, |out| {
            record(out, "STYLE", "11", "3", "AcDbTextStyleTableRecord", "Standard");
            for (code, value) in
                [(40, "0.0"), (41, "1.0"), (50, "0.0"), (71, "0"), (42, "2.5"), (3, "txt"), (4, "")]
            {
                pair(out, code, value);
            }
        });
        table(out, "VIEW", "6", 0, |_| {});
        table(out, "UCS", "7", 0, |_| {});
        table(out, "APPID", "9", 1, |out| {
            record(out, "APPID", "12", "9", "AcDbRegAppTableRecord", "ACAD");
        });
        table(out, "DIMSTYLE", "A", 1, |out| {
            // Dimension styles have their handle under another group code.
            pair(out, 0, "DIMSTYLE");
            pair(out, 105, "27");
            pair(out, 330, "A");
            pair(out, 100, "AcDbSymbolTableRecord");
            pair(out, 100, "AcDbDimStyleTableRecord");
            pair(out, 2, "Standard");
            pair(out, 70, "0");
        });
        table(out, "BLOCK_RECORD", "1", 2, |out| {
            for (name, handle) in [("*Model_Space", MODEL_SPACE), ("*Paper_Space", PAPER_SPACE)] {
                pair(out, 0, "BLOCK_RECORD");
                pair(out, 5, handle);
                pair(out, 330, "1");
                pair(out, 100, "AcDbSymbolTableRecord");
                pair(out, 100, "AcDbBlockTableRecord");
                pair(out, 2, name);
                pair(out, 340, "0");
            }
        });
    }
}

/// Writes a pair of group code and value.
fn pair(out: &mut String, code: u16, value: &str) {
    // Writing to a string cannot fail.
    let _: std::fmt::Result = write!(out, "{code:>3}\n{value}\n");
}

fn section(out: &mut String, name: &str, fill: impl FnOnce(&mut String)) {
    pair(out, 0, "SECTION");
    pair(out, 2, name);
    fill(out);
    pair(out, 0, "ENDSEC");
}

fn table(out: &mut String, name: &str, handle: &str, records: usize, fill: impl FnOnce(&mut String)) {
    pair(out, 0, "TABLE");
    pair(out, 2, name);
    pair(out, 5, handle);
    pair(out, 330, "0");
    pair(out, 100, "AcDbSymbolTable");
    pair(out, 70, &records.to_string());
    if name == "DIMSTYLE" {
        pair(out, 100, "AcDbDimStyleTable");
    }
    fill(out);
    pair(out, 0, "ENDTAB");
}

fn record(out: &mut String, kind: &str, handle: &str, owner: &str, class: &str, name: &str) {
    pair(out, 0, kind);
    pair(out, 5, handle);
    pair(out, 330, owner);
    pair(out, 100, "AcDbSymbolTableRecord");
    pair(out, 100, class);
    pair(out, 2, name);
    pair(out, 70, "0");
}

fn block(out: &mut String, name: &str, owner: &str, [begin, end]: [&str; 2]) {
    pair(out, 0, "BLOCK");
    pair(out, 5, begin);
    pair(out, 330, owner);
    pair(out, 100, "AcDbEntity");
    pair(out, 8, "0");
    pair(out, 100, "AcDbBlockBegin");
    pair(out, 2, name);
    pair(out, 70, "0");
    for code in [10, 20, 30] {
        pair(out, code, "0.0");
    }
    pair(out, 3, name);
    pair(out, 1, "");
    pair(out, 0, "ENDBLK");
    pair(out, 5, end);
    pair(out, 330, owner);
    pair(out, 100, "AcDbEntity");
    pair(out, 8, "0");
    pair(out, 100, "AcDbBlockEnd");
}

/// Writes the dictionaries that every drawing must have.
fn objects(out: &mut String) {
    pair(out, 0, "DICTIONARY");
    pair(out, 5, "C");
    pair(out, 330, "0");
    pair(out, 100, "AcDbDictionary");
    pair(out, 281, "1");
    for (name, handle) in [("ACAD_GROUP", "D"), ("ACAD_PLOTSTYLENAME", "E")] {
        pair(out, 3, name);
        pair(out, 350, handle);
    }
    pair(out, 0, "DICTIONARY");
    pair(out, 5, "D");
    pair(out, 330, "C");
    pair(out, 100, "AcDbDictionary");
    pair(out, 281, "1");
    pair(out, 0, "ACDBDICTIONARYWDFLT");
    pair(out, 5, "E");
    pair(out, 330, "C");
    pair(out, 100, "AcDbDictionary");
    pair(out, 281, "1");
    pair(out, 3, "Normal");
    pair(out, 350, "F");
    pair(out, 100, "AcDbDictionaryWithDefault");
    pair(out, 340, "F");
    pair(out, 0, "ACDBPLACEHOLDER");
    pair(out, 5, "F");
    pair(out, 330, "E");
}

/// A number with at most six decimals and always a point.
fn number(value: f64) -> String {
    let text = format!("{value:.6}");
    let text = text.trim_end_matches('0');
    let text = if text.ends_with('.') { format!("{text}0") } else { text.to_owned() };
    if text == "-0.0" { "0.0".into() } else { text }
}

/// Text on one line in ASCII. Other characters are written by their number, as DXF requires, and control codes are
/// removed.
fn plain(content: &str) -> String {
    let mut out = String::new();
    for character in inert::line(content).chars() {
        match character {
            // %% and ^ begin control codes, and a backslash begins one in MTEXT.
            '%' | '^' | '\\' => out.push(' '),
            ' '..='~' => out.push(character),
            // Writing to a string cannot fail.
            other if u32::from(other) <= 0xffff => {
                let _: std::fmt::Result = write!(out, "\\U+{:04X}", u32::from(other));
            }
            _ => out.push('?'),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    const CUT: Layer = Layer { name: "cut", colour: 1 };

    fn document() -> String {
        let mut dxf = Dxf::new(&[CUT]);
        dxf.polyline("cut", &[[0.0, 0.0, 0.0], [10.0, 0.0, 1.0], [10.0, 4.0, 0.0], [0.0, 4.0, 1.0]], true);
        dxf.text("cut", [5.0, 2.0], 3.0, "Ø 5 %%d\nx");
        dxf.document()
    }

    #[test]
    fn codes_and_values_alternate_and_every_section_ends() {
        let text = document();
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines.len() % 2, 0);
        for code in lines.iter().step_by(2) {
            assert!(code.trim().parse::<u16>().is_ok(), "{code:?}");
        }
        let count = |value: &str| lines.iter().skip(1).step_by(2).filter(|line| **line == value).count();
        assert_eq!((count("SECTION"), count("ENDSEC")), (6, 6));
        assert_eq!((count("TABLE"), count("ENDTAB")), (9, 9));
        assert_eq!(lines[lines.len() - 1], "EOF");
    }

    #[test]
    fn every_handle_is_given_once_and_below_the_seed() {
        let text = document();
        let lines: Vec<&str> = text.lines().collect();
        let pairs: Vec<(&str, &str)> = lines.chunks_exact(2).map(|pair| (pair[0].trim(), pair[1])).collect();
        let seed = pairs.iter().position(|(code, value)| *code == "9" && *value == "$HANDSEED").unwrap() + 1;
        let mut handles: Vec<u32> = pairs
            .iter()
            .enumerate()
            .filter(|(index, (code, _))| *index != seed && ["5", "105"].contains(code))
            .map(|(_, (_, value))| u32::from_str_radix(value, 16).unwrap())
            .collect();
        let count = handles.len();
        handles.sort_unstable();
        handles.dedup();
        assert_eq!(handles.len(), count);
        assert!(handles[count - 1] < u32::from_str_radix(pairs[seed].1, 16).unwrap());
    }

    #[test]
    fn text_is_one_line_of_ascii() {
        assert_eq!(plain("Ø 5 %%d"), "\\U+00D8 5   d");
        assert!(!plain("a\nb\u{202e}").contains('\n') && plain("a\u{1f600}").is_ascii());
    }

    #[test]
    fn numbers_have_a_point_and_no_idle_noughts() {
        assert_eq!(number(10.0), "10.0");
        assert_eq!(number(-0.000_000_1), "0.0");
        assert_eq!(number(0.414_213_56), "0.414214");
    }
}
