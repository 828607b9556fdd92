//! The drawings: one former, the assembled pair, and a small picture of winding and connection.

pub(crate) mod assembly;
mod channel;
pub(crate) mod connection;
pub(crate) mod former;
#[cfg(test)]
mod frame_checks;
pub(crate) mod terminals;

use super::{BuildPapers, Projection};
use crate::paper::drawing::{Sheet, TitleBlock, Views};
use crate::units::unit;

/// Number of drawing sheets: former, assembly and the terminal plate, if there is one.
fn sheets(record: &BuildPapers) -> u32 {
    if record.former.terminals.is_some() { 3 } else { 2 }
}

/// Largest size of a view on a page of A4 or Letter, beside its margins and with words above and below it, mm.
const PAGE: [f64; 2] = [180.0, 160.0];

/// A view drawn for a page.
pub(crate) struct PageView {
    /// Name of its scale.
    pub scale: String,
    /// The picture.
    pub svg: String,
}

/// The largest scale of ISO 5455 that fits.
fn page_scale(fits: impl Fn(f64) -> bool) -> f64 {
    const SCALES: [f64; 10] = [10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01];
    SCALES.into_iter().find(|scale| fits(*scale)).unwrap_or(0.005)
}

/// The name of a scale: `1:1`, `1:2` or `5:1`.
fn scale_name(scale: f64) -> String {
    let whole = |x: f64| format!("{}", (x * 1e6).round() / 1e6);
    if scale >= 1.0 { format!("{}:1", whole(scale)) } else { format!("1:{}", whole(1.0 / scale)) }
}

fn views(projection: Projection) -> Views {
    match projection {
        Projection::First => Views::First,
        Projection::Third => Views::Third,
    }
}

/// The words in a title block.
struct BlockWords {
    title: String,
    material: String,
    scale: String,
    date: String,
    general_tolerance: String,
    origin: String,
}

impl BlockWords {
    fn of(record: &BuildPapers) -> Self {
        let provenance = &record.provenance;
        let letter = record.asked.general_tolerance.letter();
        Self {
            title: provenance.spec_title.clone(),
            material: record.former.material.clone().unwrap_or_else(|| "not in the spec".into()),
            scale: scale_name(record.asked.drawing_scale),
            date: provenance.date.map_or(String::new(), |date| date.to_string()),
            general_tolerance: format!("ISO 2768-1, class {letter}"),
            origin: format!("{}; spec {}", provenance.program, provenance.spec_digest),
        }
    }

    fn block<'a>(&'a self, record: &BuildPapers, part: &'a str, number: u32) -> TitleBlock<'a> {
        TitleBlock {
            title: &self.title,
            part,
            material: &self.material,
            scale: &self.scale,
            date: &self.date,
            general_tolerance: &self.general_tolerance,
            number,
            of: sheets(record),
            origin: &self.origin,
            views: views(record.asked.projection),
        }
    }
}

/// The instruction for printing a sheet whose views have this scale.
fn printing(sheet: &Sheet, record: &BuildPapers, scale: f64) -> String {
    /// On paper a flange smaller than this has no room for its letters, mm.
    const SMALL_FLANGE: f64 = 60.0;
    let flange = record.asked.drawing_scale * unit::MILLIMETRE.from_si(record.former.flange_diameter_m);
    let small = if flange < SMALL_FLANGE { " Crowded at this size: have it drawn larger, 5:1." } else { "" };
    let [width, height] = sheet.size.size;
    let size = format!("{width} × {height} mm");
    let name = match sheet.size.name {
        "special" => {
            format!("Larger than A0 ({size}), so print on a roll, or have it drawn smaller: print at 100 %")
        }
        name => format!("Sheet {name} ({size}): print at 100 %"),
    };
    let scale = match scale == 1.0 {
        true => "then every length is true",
        false => "then lengths are true at the stated scale",
    };
    format!(
        "{name}, {scale}; hold a ruler to the check bar. Printed smaller, read the figures and measure nothing.{small}"
    )
}

/// Length of the check bar on paper in mm, and words for the length of the part that it stands for.
fn check_bar(scale: f64) -> (f64, String) {
    let stands_for =
        if scale == 1.0 { String::new() } else { format!(", {} mm of the part", (100.0 / scale).round()) };
    (100.0, stands_for)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_are_named_as_iso_5455_has_them() {
        assert_eq!([1.0, 0.5, 0.1, 5.0].map(scale_name), ["1:1", "1:2", "1:10", "5:1"]);
    }
}
