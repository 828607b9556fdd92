//! The optional parts of a file that a question may need: one wording for a missing part and for how to write it.

use super::bench::{Bench, RoomField, Site, StatedSite};
use super::instruments::{Meter, Supply};
use super::tube::{Bulb, StatedTube, Tube};
use crate::{Document, Error, Result};

/// An example of every part that a question may need, by its dotted path.
const WRITTEN: &[(&str, &str)] = &[
    (
        "build_tolerance",
        r#""build_tolerance": { "mean_radius": "0.5 mm", "spacing": "0.5 mm", "turns": 0, "width": "0.5 mm", "depth": "0.5 mm", "offset": "0.5 mm", "tilt": "0.3 deg" }"#,
    ),
    (
        "tube",
        r#""tube": { "bulb_radius": "78 mm", "gun_exit": ["48 mm", "0 mm", "0 mm"], "gun_direction": [0, 1, 0], "beam_radius": ["25 mm", "52 mm"] }"#,
    ),
    ("tube.bulb_radius", r#""bulb_radius": "78 mm""#),
    ("tube.gun_exit", r#""gun_exit": ["48 mm", "0 mm", "0 mm"], "gun_direction": [0, 1, 0]"#),
    ("tube.gun_direction", r#""gun_direction": [0, 1, 0]"#),
    ("tube.gun_voltage", r#""gun_voltage": ["80 V", "300 V"]"#),
    ("tube.beam_radius", r#""beam_radius": ["25 mm", "52 mm"]"#),
    ("supply", r#""supply": { "voltage_limit": "30 V", "current_limit": "3 A" }"#),
    ("supply.voltage_limit", r#""voltage_limit": "30 V""#),
    ("supply.current_limit", r#""current_limit": "3 A""#),
    ("field_meter", r#""field_meter": { "accuracy_of_reading": "1 %", "zero": "5 uT" }"#),
    ("field_meter.zero", r#""zero": "5 uT""#),
    ("reading.camera_distance", r#""camera_distance": "800 mm""#),
    ("room.field", r#""field": ["14 uT", "-41 uT", "17 uT"]"#),
    ("room.site.latitude", r#""latitude": "51.2 deg""#),
    ("room.site.longitude", r#""longitude": "7.1 deg""#),
    ("room.site.date", r#""date": "2026-03-01""#),
    ("room.site.axis_bearing", r#""axis_bearing": "75 deg""#),
    ("largest_field", r#""largest_field": "1.2 mT""#),
    (
        "search",
        r#""search": { "mean_radius": ["140 mm", "220 mm"], "width": ["10 mm", "40 mm"], "depth": ["6 mm", "40 mm"], "spacing": "beam", "connection": ["series", "parallel"], "wires": "stock" }"#,
    ),
    ("inner_diameter", r#""inner_diameter": { "value": "312 mm", "uncertainty": "1 mm" }"#),
];

/// The error of a file that lacks a part which a question needs.
pub(crate) fn missing_in(file: Document, part: &'static str, why: &'static str) -> Error {
    let written = WRITTEN.iter().find(|(path, _)| *path == part);
    debug_assert!(written.is_some(), "nothing says how `{part}` is written");
    Error::MissingPart { file, part, why, example: written.map_or("", |(_, example)| example) }
}

/// The error of a spec that lacks a part which a question needs.
pub(crate) fn missing(part: &'static str, why: &'static str) -> Error {
    missing_in(Document::Spec, part, why)
}

impl Bench {
    /// The largest current the supply can be set to, or an error that names the missing part.
    pub fn current_limit_ampere(&self) -> Result<f64> {
        current_limit_ampere(Document::Spec, self.supply)
    }

    /// The largest voltage the supply can be set to, or an error that names the missing part.
    pub(crate) fn voltage_limit_volt(&self) -> Result<f64> {
        voltage_limit_volt(Document::Spec, self.supply)
    }

    /// The tube with its gun.
    ///
    /// # Errors
    /// [`Error::MissingPart`](crate::Error::MissingPart) names `tube`, `tube.gun_exit` or `tube.gun_direction`.
    pub fn tube_with_gun(&self) -> Result<Tube> {
        tube_with_gun(Document::Spec, self.tube.as_ref())
    }

    /// The tube with its gun and beam radii.
    ///
    /// # Errors
    /// [`Error::MissingPart`](crate::Error::MissingPart) names a part of the gun, as for
    /// [`tube_with_gun`](Self::tube_with_gun), or `tube.beam_radius`.
    pub fn tube_with_beam(&self) -> Result<Tube> {
        tube_with_beam(Document::Spec, self.tube.as_ref())
    }

    /// Lowest and highest gun voltage, or an error that names the missing part.
    pub fn gun_voltage_volt(&self) -> Result<[f64; 2]> {
        const WHY: &str = "the beam's energy comes from it";
        let tube = self.tube.as_ref().ok_or_else(|| missing("tube", WHY))?;
        tube.gun_voltage_volt.ok_or_else(|| missing("tube.gun_voltage", WHY))
    }

    /// The bulb, or an error that names the missing part.
    pub fn bulb(&self) -> Result<Bulb> {
        bulb(Document::Spec, self.tube.as_ref())
    }

    /// The place and date that the room's field is computed for, or an error that names the missing part.
    pub fn site(&self) -> Result<Option<Site>> {
        match self.room.as_ref().and_then(|room| room.field.as_ref()) {
            Some(RoomField::Site(site)) => whole_site(site).map(Some),
            _ => Ok(None),
        }
    }

    /// The dotted paths of what the spec leaves out of its meters' limits of error, such as `ammeter.resolution` and
    /// `voltmeter`; empty if nothing is missing.
    pub(crate) fn unstated_of_meters(&self) -> Vec<String> {
        [unstated_of_meter("ammeter", self.ammeter), unstated_of_meter("voltmeter", self.voltmeter)].concat()
    }
}

/// The parts of a meter's limit of error that the spec does not state.
pub(crate) fn unstated_of_meter(name: &str, meter: Option<Meter>) -> Vec<String> {
    let Some(meter) = meter else { return vec![name.to_owned()] };
    let keys = [("resolution", meter.resolution), ("accuracy_of_reading", meter.accuracy_of_reading)];
    keys.into_iter().filter(|(_, value)| value.is_none()).map(|(key, _)| format!("{name}.{key}")).collect()
}

pub(crate) fn current_limit_ampere(file: Document, supply: Option<Supply>) -> Result<f64> {
    const WHY: &str = "the largest current comes from it";
    let supply = supply.ok_or_else(|| missing_in(file, "supply", WHY))?;
    supply.current_limit_ampere.ok_or_else(|| missing_in(file, "supply.current_limit", WHY))
}

pub(crate) fn voltage_limit_volt(file: Document, supply: Option<Supply>) -> Result<f64> {
    const WHY: &str = "the largest voltage comes from it";
    let supply = supply.ok_or_else(|| missing_in(file, "supply", WHY))?;
    supply.voltage_limit_volt.ok_or_else(|| missing_in(file, "supply.voltage_limit", WHY))
}

fn tube_with_gun(file: Document, stated: Option<&StatedTube>) -> Result<Tube> {
    let Some(stated) = stated else { return Err(missing_in(file, "tube", "the beam region comes from it")) };
    stated.with_gun().ok_or_else(|| match stated.gun_exit_m {
        None => missing_in(file, "tube.gun_exit", "the beam starts there"),
        Some(_) => missing_in(file, "tube.gun_direction", "the beam leaves the gun along it"),
    })
}

pub(crate) fn tube_with_beam(file: Document, stated: Option<&StatedTube>) -> Result<Tube> {
    let tube = tube_with_gun(file, stated)?;
    match tube.beam_radius_m {
        Some(_) => Ok(tube),
        None => {
            let why = "the beam region is made of circles of these radii";
            Err(missing_in(file, "tube.beam_radius", why))
        }
    }
}

pub(crate) fn bulb(file: Document, stated: Option<&StatedTube>) -> Result<Bulb> {
    const WHY: &str = "the size of the bulb comes from it";
    let Some(stated) = stated else { return Err(missing_in(file, "tube", WHY)) };
    stated.bulb().ok_or_else(|| missing_in(file, "tube.bulb_radius", WHY))
}

fn whole_site(site: &StatedSite) -> Result<Site> {
    site.whole().ok_or_else(|| {
        let (part, why) = if site.latitude_rad.is_none() {
            ("room.site.latitude", "the earth's field depends on the place")
        } else if site.longitude_rad.is_none() {
            ("room.site.longitude", "the earth's field depends on the place")
        } else if site.date.is_none() {
            ("room.site.date", "the earth's field changes with the years")
        } else {
            ("room.site.axis_bearing", "without it the earth's field cannot be turned into bench axes")
        };
        missing(part, why)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::spec::{bench_from_text, measured_from_text, wanted_from_text};
    use crate::numeric::calendar::Day;
    use serde_json::{Value, json};

    /// The file with `written` inserted at a dotted path.
    fn with_written(mut file: Value, path: &str, written: &str) -> String {
        let entries: Value = serde_json::from_str(&format!("{{ {written} }}")).unwrap();
        let mut place = file.as_object_mut().unwrap();
        let parents = path.rsplit_once('.').map_or("", |(parents, _)| parents);
        for parent in parents.split('.').filter(|parent| !parent.is_empty()) {
            place = place.entry(parent).or_insert_with(|| json!({})).as_object_mut().unwrap();
        }
        place.extend(entries.as_object().unwrap().clone());
        file.to_string()
    }

    #[test]
    fn every_hint_pasted_in_its_place_makes_a_right_file() {
        let spec = json!({
            "title": "Bare pair", "spacing": "172 mm",
            "winding": {
                "mean_radius": "172 mm", "width": "19 mm", "depth": "9 mm", "turns": 144,
                "wire": { "size": "0.9 mm", "build": "grade 2" }
            }
        });
        for (path, written) in WRITTEN {
            let outcome = match *path {
                "largest_field" | "search" => {
                    let text = with_written(json!({ "title": "Wishes" }), path, written);
                    wanted_from_text("wishes.json", &text).map(drop)
                }
                "inner_diameter" => {
                    let text = with_written(json!({ "title": "Measured" }), path, written);
                    measured_from_text("measured.json", &text).map(drop)
                }
                _ => bench_from_text("pair.json", &with_written(spec.clone(), path, written)).map(drop),
            };
            outcome.unwrap_or_else(|error| panic!("{path}: {error}"));
        }
    }

    #[test]
    fn the_first_key_of_a_tube_or_site_that_is_missing_is_named() {
        let part = |error: Result<()>| match error {
            Err(Error::MissingPart { part, .. }) => part,
            other => panic!("{other:?}"),
        };
        let mut bench = Bench::thin_pair();
        assert_eq!(part(bench.tube_with_beam().map(drop)), "tube");
        let mut tube = StatedTube::default();
        for (missing, state) in [
            ("tube.gun_exit", (|tube| tube.gun_exit_m = Some(nalgebra::Vector3::x())) as fn(&mut StatedTube)),
            ("tube.gun_direction", |tube| tube.gun_direction = Some(nalgebra::Vector3::y_axis())),
            ("tube.beam_radius", |tube| tube.beam_radius_m = Some([0.02, 0.05])),
        ] {
            bench.tube = Some(tube.clone());
            assert_eq!(part(bench.tube_with_beam().map(drop)), missing);
            state(&mut tube);
        }
        bench.tube = Some(tube);
        assert!(bench.tube_with_beam().is_ok());
        assert_eq!(part(bench.bulb().map(drop)), "tube.bulb_radius");

        let site = StatedSite {
            latitude_rad: Some(0.9),
            longitude_rad: Some(0.1),
            height_m: 0.0,
            date: None,
            axis_bearing_rad: None,
        };
        assert_eq!(part(whole_site(&site).map(drop)), "room.site.date");
        let site = StatedSite { date: Day::new(2026, 3, 1), ..site };
        assert_eq!(part(whole_site(&site).map(drop)), "room.site.axis_bearing");
        assert!(whole_site(&StatedSite { axis_bearing_rad: Some(0.0), ..site }).is_ok());
    }
}
