//! The true-size reading scales for a lesson's settings: one page for each direction of the current.

use super::on_paper::{LessonOnPaper, Words, calibrated_slope};
use crate::Result;
use crate::pair::BeamEdge;
use crate::paper::markup::{rendered, with_own_ids};
use crate::questions::lesson::words::{Quantities, WordTable};
use crate::questions::orbit::picture;
use crate::questions::orbit::words::chart::ScaleWords;
use crate::questions::orbit::{ReadingScale, ScaleCircle};
use askama::Template;

/// What the page shows. The template escapes every text; the pictures are inserted as they are.
#[derive(Template)]
#[template(path = "lesson/files/scale.html")]
struct Scales<'a> {
    w: Words<'a>,
    title: &'a str,
    scales: Vec<String>,
}

/// The page as HTML.
pub(super) fn html(on_paper: &LessonOnPaper) -> Result<String> {
    let words = &on_paper.words;
    let picture = |(i, scale): (usize, &ReadingScale)| {
        let mut said = scale_words(scale, words);
        said.rules.extend(calibrated_slope(&on_paper.lesson, words).map(|[slope, uncertainty]| {
            words.say("scale_rule_line", &[("slope", &*slope), ("uncertainty", &*uncertainty)])
        }));
        with_own_ids(&picture::scale::svg_in_words(scale, &said), &i.to_string())
    };
    let page = Scales {
        w: Words(words),
        title: &on_paper.lesson.provenance.spec_title,
        scales: on_paper.scales.iter().enumerate().map(picture).collect(),
    };
    rendered(&page, "scale")
}

/// The words of a scale in the language of the table.
fn scale_words(scale: &ReadingScale, words: &WordTable) -> ScaleWords {
    let quantity = Quantities(words);
    let said = |key: &str| words.of_key(key).to_owned();
    let line = |(index, circle): (usize, &ScaleCircle)| {
        words.say(
            "scale_circle",
            &[
                ("number", &(index + 1).to_string()),
                ("volt", &quantity.volt(circle.gun_voltage_volt)),
                ("ampere", &quantity.ampere(circle.current_ampere)),
                ("diameter", &quantity.millimetre(2.0 * circle.radius_on_scale_m)),
                ("radius", &quantity.millimetre(circle.read_radius_m)),
            ],
        )
    };
    let edge = match scale.edge {
        Some(BeamEdge::Outer) => "scale_rule_edge_outer",
        Some(BeamEdge::Middle) => "scale_rule_edge_middle",
        Some(BeamEdge::Inner) => "scale_rule_edge_inner",
        None => "scale_rule_edge_any",
    };
    let place = match scale.magnification {
        1.0 => said("scale_rule_in_plane"),
        magnification => {
            let distance =
                scale.camera_distance_m.map(|metre| format!("{} mm", words.number(metre * 1e3, 0)));
            words.say(
                "scale_rule_behind",
                &[
                    ("offset", &quantity.millimetre(scale.scale_offset_m)),
                    ("distance", &distance.unwrap_or_default()),
                    ("magnification", &words.number(magnification, 4)),
                ],
            )
        }
    };
    ScaleWords {
        heading: words.say("scale_heading", &[("bench", &scale.provenance.spec_title)]),
        name: said("scale_name"),
        circles: scale.circles.iter().enumerate().map(line).collect(),
        gun_exit: said("scale_gun_exit"),
        check_bar: said("scale_check_bar"),
        rules: vec![said("scale_rule_print"), said("scale_rule_zero"), said(edge), place],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::Bench;
    use crate::physics::beam::{BeamBench, tube_bench};
    use crate::questions::orbit::{SettingsRequest, reading_scale};
    use nalgebra::Vector3;

    fn scale_of(bench: &Bench) -> ReadingScale {
        let beams = BeamBench::prepare(bench, None).unwrap();
        let request = SettingsRequest {
            gun_voltages_volt: vec![200.0],
            currents_ampere: vec![1.4],
            ..SettingsRequest::default()
        };
        reading_scale(&beams, &request).unwrap()
    }

    #[test]
    fn the_tables_english_is_that_of_the_scale_of_orbit_for_every_edge_and_place() {
        let bench = tube_bench(Vector3::new(0.045, 0.0, 0.0));
        let mut scale = scale_of(&bench);
        for edge in [None, Some(BeamEdge::Outer), Some(BeamEdge::Middle), Some(BeamEdge::Inner)] {
            for (magnification, distance) in [(1.0, None), (1.0167, Some(0.9))] {
                (scale.edge, scale.magnification) = (edge, magnification);
                (scale.camera_distance_m, scale.scale_offset_m) = (distance, 0.015);
                let [mut of_table, mut of_orbit] =
                    [scale_words(&scale, &WordTable::english()), ScaleWords::english(&scale)];
                // The table writes a true minus sign, `orbit` a hyphen.
                for words in [&mut of_table, &mut of_orbit] {
                    words.circles.iter_mut().for_each(|line| *line = line.replace('−', "-"));
                }
                assert_eq!(of_table, of_orbit);
            }
        }
    }
}
