//! The picture, data sheet and beam of a spec while it is being edited.

use coilwright::pair::Bench;
use coilwright::paper::Figure;
use coilwright::physics::beam::{BeamBench, Setting};
use coilwright::physics::field::PreparedPair;
use coilwright::questions::calibrate::picture::{Against, fit_residuals};
use coilwright::questions::calibrate::words::short::facts;
use coilwright::questions::calibrate::{self, Outcome, readings_from_text};
use coilwright::questions::map::picture::{layout, picture};
use coilwright::questions::map::{Detail, Plane, Request, field_map};
use coilwright::questions::orbit::picture::in_beam_plane;
use coilwright::questions::orbit::{self, Orbit, orbit, words};
use coilwright::questions::sheet;
use coilwright::units::{Dimension, fixed, parse, unit};
use serde_json::{Value, json};

/// Description of the map's picture, for readers who cannot see it.
pub const MAP_SHOWS: &str = "the pair in section, with the uniformity of its field";
/// Gun voltage and current to start with if the spec does not suggest any.
const USUAL_VOLT: f64 = 200.0;
const USUAL_AMPERE: f64 = 1.0;

/// A picture, and which part of the bench it shows where.
pub struct Drawn {
    pub figure: Figure,
    /// JSON with the size of the sheet, the plot on it, the directions that run right and up, and their ranges in
    /// metres.
    pub layout: Value,
}

/// The pair in section with the uniformity of its field. `None` if there is no map, for example because the coils
/// cancel.
pub fn map_of(bench: &Bench, detail: Detail) -> Option<Drawn> {
    let pair = PreparedPair::of(bench);
    let map = field_map(&pair, &Request { detail, ..Request::default() }).ok()?;
    let at = layout(&map, Plane::Axial);
    let layout = json!({
        "sheet": at.sheet,
        "plot": [at.plot.left, at.plot.top, at.plot.width, at.plot.height],
        "directions": at.directions,
        "right": at.right_m,
        "up": at.up_m,
    });
    Some(Drawn { figure: picture(&map, Plane::Axial, &pair), layout })
}

/// The data sheet as text, or the reason why there is none.
pub fn sheet_of(bench: &Bench) -> String {
    sheet::sheet(bench, &sheet::Request::default())
        .map_or_else(|error| error.to_string(), |record| sheet::words::text(&record))
}

/// The setting of the beam, as typed in a form.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Set {
    pub gun_voltage: String,
    pub current: String,
    pub gun_tilt: String,
}

/// A field of the setting that cannot be read, and why.
#[derive(Debug, PartialEq, Eq)]
pub struct Misset {
    pub field: &'static str,
    pub reason: String,
}

impl Set {
    /// A setting to start with: the middle of the gun voltages, and about the current for the middle of the beam radii.
    pub fn usual(bench: &Bench) -> Self {
        let tube = bench.tube.as_ref();
        let middle = |range: Option<[f64; 2]>| range.map(|[least, most]| 0.5 * (least + most));
        let gun_voltage_volt = middle(tube.and_then(|tube| tube.gun_voltage_volt)).unwrap_or(USUAL_VOLT);
        let setting = Setting { gun_voltage_volt, current_ampere: USUAL_AMPERE, gun_tilt_rad: 0.0 };
        let radius_m = middle(tube.and_then(|tube| tube.beam_radius_m));
        let at_usual_m = followed(bench, &setting).and_then(|orbit| orbit.uniform_field_radius_m);
        // The radius is inversely proportional to the current.
        let ratio = at_usual_m.zip(radius_m).map_or(1.0, |(at_usual_m, wanted_m)| at_usual_m / wanted_m);
        Self {
            gun_voltage: fixed(gun_voltage_volt, unit::VOLT, 0),
            current: fixed(ratio * USUAL_AMPERE, unit::AMPERE, 2),
            gun_tilt: "0 deg".into(),
        }
    }

    fn read(&self) -> Result<Setting, Misset> {
        let quantity = |field: &'static str, text: &str, dimension| {
            parse(text, dimension)
                .map_err(|wrong| Misset { field, reason: format!("{} ({})", wrong.message, wrong.hint) })
        };
        Ok(Setting {
            gun_voltage_volt: quantity("gun_voltage", &self.gun_voltage, Dimension::Voltage)?,
            current_ampere: quantity("current", &self.current, Dimension::Current)?,
            gun_tilt_rad: quantity("gun_tilt", &self.gun_tilt, Dimension::Angle)?,
        })
    }
}

fn followed(bench: &Bench, setting: &Setting) -> Option<Orbit> {
    let beams = BeamBench::prepare(bench, None).ok()?;
    orbit(&beams, &orbit::Request::at(*setting)).ok()
}

/// The beam at a setting: its picture, and the text page about it. If the bench makes no beam, there is no picture and the
/// text gives the reason.
pub fn beam_of(bench: &Bench, set: &Set) -> Result<(Option<Figure>, String), Misset> {
    let setting = set.read()?;
    let followed = BeamBench::prepare(bench, None).and_then(|beams| {
        let orbit = orbit(&beams, &orbit::Request::at(setting))?;
        Ok((Some(in_beam_plane(&orbit, &beams)), words::text(&orbit)))
    });
    Ok(followed.unwrap_or_else(|error| {
        let hint = error.hint().map(|hint| format!("; {hint}"));
        (None, format!("{error}{}", hint.unwrap_or_default()))
    }))
}

/// A name with its value.
type Fact = (&'static str, String);

/// The line fitted to the readings in a text: the picture of the residuals as SVG, and the fit in a few facts. The
/// error says why there is no fit.
pub fn fit_of(bench: &Bench, name: &str, text: &str) -> Result<(String, Vec<Fact>), String> {
    let readings = readings_from_text(name, text);
    let outcome = readings.and_then(|readings| {
        let request = calibrate::Request { readings: Some(readings), ..calibrate::Request::default() };
        calibrate::outcome(bench, &request)
    });
    let outcome = outcome.map_err(|error| {
        let hint = error.hint().map(|hint| format!("; {hint}"));
        format!("No line is fitted: {error}{}", hint.unwrap_or_default())
    })?;
    let (fit, provenance) = match &outcome {
        Outcome::Calibrated(record) => (record.fit.as_ref(), &record.provenance),
        Outcome::Refused(refusal) => (Some(&refusal.fit), &refusal.provenance),
    };
    let drawn = fit.map(|fit| fit_residuals(fit, provenance, Against::Current).svg());
    Ok((drawn.unwrap_or_default(), facts(&outcome)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use coilwright::files::spec::bench_from_text;

    const BENCH: &str = include_str!("../../coil-specs/window-bench.json");

    fn bench(text: &str) -> Bench {
        bench_from_text("pair.json", text).unwrap()
    }

    #[test]
    fn the_usual_setting_brings_the_beam_round_at_the_middle_of_its_radii() {
        let bench = bench(BENCH);
        let set = Set::usual(&bench);
        assert_eq!((set.gun_voltage.as_str(), set.gun_tilt.as_str()), ("200 V", "0 deg"));
        let orbit = followed(&bench, &set.read().unwrap()).unwrap();
        // The beam radii are 26 mm to 50 mm.
        assert!((orbit.read_radius_m.unwrap() - 0.038).abs() < 0.001, "{:?}", orbit.read_radius_m);
    }

    #[test]
    fn a_beam_is_drawn_or_why_not_is_told() {
        let set = Set { gun_voltage: "200 V".into(), current: "1.4 A".into(), gun_tilt: "0 deg".into() };
        let (picture, text) = beam_of(&bench(BENCH), &set).unwrap();
        assert!(picture.is_some() && text.contains("radius"), "{text}");
        let wrong = beam_of(&bench(BENCH), &Set { current: "1.4".into(), ..set.clone() }).unwrap_err();
        assert!(wrong.field == "current" && wrong.reason.contains("unit"), "{wrong:?}");
        let (picture, text) = beam_of(&bench(BENCH), &Set { gun_voltage: "0 V".into(), ..set }).unwrap();
        assert!(picture.is_none() && !text.is_empty());
    }
}
