//! Writes a figure as steps for a canvas: for a picture that is replaced many times a second, where a browser takes longer
//! to read a document than to draw it.

use super::figure::Figure;
use super::mark::{Mark, Place, Text, Weight};
use super::palette::PAPER;
use super::{RIM, font};
use serde::Serialize;

/// Units of a path per point. A tenth of a point is finer than a screen shows.
const FINENESS: f64 = 10.0;

/// What is drawn on a canvas, in this order: the marks, then the texts.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CanvasSteps {
    /// Width and height, in points.
    size: [f64; 2],
    /// Units of a path per point.
    fineness: f64,
    /// Font families, as in CSS.
    families: &'static str,
    marks: Vec<CanvasMark>,
    texts: Vec<CanvasText>,
}

/// An area, or a line if it has a width.
#[derive(Clone, Debug, PartialEq, Serialize)]
struct CanvasMark {
    /// In the notation of SVG's paths, with steps relative to the place before.
    path: String,
    colour: String,
    opacity: f64,
    /// Width of a line, in points.
    #[serde(skip_serializing_if = "Option::is_none")]
    width: Option<f64>,
    /// Lengths drawn and left out in turn, in points. Empty for an unbroken line.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    dash: Vec<f64>,
}

/// A line of text, in points and degrees.
#[derive(Clone, Debug, PartialEq, Serialize)]
struct CanvasText {
    says: String,
    at: Place,
    size: f64,
    weight: u16,
    anchor: &'static str,
    turn: f64,
    colour: String,
    /// Colour and width of the rim round the letters.
    #[serde(skip_serializing_if = "Option::is_none")]
    rim: Option<(String, f64)>,
}

/// The path of one line or ring.
fn add(path: &mut String, points: &[Place], is_ring: bool) {
    let mut last = [0i64; 2];
    for (number, point) in points.iter().enumerate() {
        let place = point.map(|length| (length * FINENESS).round() as i64);
        let step = if number == 0 { 'M' } else { 'l' };
        if number > 0 && place == last {
            continue;
        }
        *path += &format!("{step}{} {}", place[0] - last[0], place[1] - last[1]);
        last = place;
    }
    if is_ring {
        path.push('z');
    }
}

impl From<&Mark> for CanvasMark {
    fn from(mark: &Mark) -> Self {
        let mut path = String::new();
        match mark {
            Mark::Line { points, stroke } => {
                add(&mut path, points, false);
                Self {
                    path,
                    colour: stroke.colour.to_string(),
                    opacity: stroke.colour.alpha,
                    width: Some(stroke.width),
                    dash: stroke.dash_lengths(),
                }
            }
            Mark::Area { rings, colour } => {
                rings.iter().for_each(|ring| add(&mut path, ring, true));
                let (opacity, colour) = (colour.alpha, colour.to_string());
                Self { path, colour, opacity, width: None, dash: Vec::new() }
            }
        }
    }
}

impl From<&Text> for CanvasText {
    fn from(text: &Text) -> Self {
        Self {
            says: text.content.clone(),
            at: text.at,
            size: text.size,
            weight: if text.weight == Weight::Bold { 600 } else { 400 },
            anchor: text.anchor.in_css(),
            turn: text.turn_deg,
            colour: text.colour.to_string(),
            rim: text.rim.then(|| (PAPER.to_string(), RIM * text.size)),
        }
    }
}

impl Figure {
    /// The picture as steps for a canvas.
    pub fn canvas_steps(&self) -> CanvasSteps {
        CanvasSteps {
            size: [self.width, self.height],
            fineness: FINENESS,
            families: font::FAMILIES,
            marks: self.marks.iter().map(CanvasMark::from).collect(),
            texts: self.texts.iter().map(CanvasText::from).collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::paper::Stroke;
    use crate::paper::palette::INK;
    use serde_json::json;

    #[test]
    fn the_steps_hold_every_mark_and_text_in_points() {
        let mut figure = Figure::new(200.0, 100.0, "title", "description");
        figure.line([[10.0, 20.0], [10.01, 20.0], [12.5, 18.0]], Stroke::dashed(INK, 2.0));
        let ring = |a: f64, b: f64| vec![[a, a], [b, a], [b, b]];
        let mut hole = ring(2.0, 4.0);
        hole.reverse();
        figure.area_of_rings(vec![ring(0.0, 9.0), hole], INK.with_alpha(0.5));
        figure.text(Text::new("<b>", [5.0, 6.0], 10.0).bold().ending().rimmed().turned(90.0));
        let steps = serde_json::to_value(figure.canvas_steps()).unwrap();
        assert_eq!(steps["size"], json!([200.0, 100.0]));
        assert_eq!(steps["fineness"], json!(10.0));
        // The sheet itself, the dashed line without the step that rounds to nothing, and the area with its hole.
        let paths: Vec<&str> =
            steps["marks"].as_array().unwrap().iter().map(|mark| mark["path"].as_str().unwrap()).collect();
        assert_eq!(
            paths,
            ["M0 0l2000 0l0 1000l-2000 0z", "M100 200l25 -20", "M0 0l90 0l0 90zM40 40l0 -20l-20 0z"]
        );
        assert_eq!(steps["marks"][1]["dash"], json!([8.0, 6.4]));
        assert_eq!((&steps["marks"][1]["width"], &steps["marks"][2]["opacity"]), (&json!(2.0), &json!(0.5)));
        assert_eq!(steps["marks"][2].get("width"), None);
        let text = &steps["texts"][0];
        assert_eq!(
            (&text["says"], &text["anchor"], &text["turn"]),
            (&json!("<b>"), &json!("end"), &json!(90.0))
        );
        assert_eq!((&text["weight"], &text["rim"]), (&json!(600), &json!([PAPER.to_string(), 3.0])));
    }
}
