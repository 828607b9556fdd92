//! The room's own field: measured, or computed for a place and a date from the World Magnetic Model.
//!
//! The model gives the earth's main field north, east and down. The bench axes follow from the position of the axis:
//!
//! - horizontal axis: z points along the bearing β (clockwise from true north), y is up, and x = y × z, so with
//!   β = 0 the axes x, y, z point west, up, north;
//! - vertical axis: z is up and has no bearing, so β is the bearing of +y. x = y × z; with β = 0 the axes x, y, z point
//!   east, north, up.
//!
//! No model includes a building's steel, a loudspeaker or a neighbouring experiment: a measured vector is better than a
//! computed one.

mod added;
#[cfg(feature = "site")]
mod earth;
mod earth_field;
#[cfg(not(feature = "site"))]
mod no_earth;

pub use added::{RoomAdded, whole_field_tesla};
#[cfg(feature = "site")]
pub use earth::earth_field;
pub use earth_field::EarthField;
#[cfg(not(feature = "site"))]
pub use no_earth::earth_field;

use crate::pair::{AxisPosition, Bench, Distribution, RoomField, missing};
use crate::{Error, Result};
use nalgebra::Vector3;

/// The room's field in bench axes, or `None` if the spec states nothing about it or not enough.
///
/// A date or place outside the model is an error: the model is never extrapolated.
pub fn field_tesla(bench: &Bench) -> Result<Option<Vector3<f64>>> {
    match bench.room.as_ref().and_then(|room| room.field.as_ref()) {
        None => Ok(None),
        Some(RoomField::Measured(field)) => Ok(Some(*field)),
        Some(RoomField::Site(site)) => {
            let Some(site) = site.whole() else { return Ok(None) };
            Ok(Some(in_bench_axes(&earth_field(&site)?, bench.axis, site.axis_bearing_rad)))
        }
    }
}

/// The room's field in bench axes, or an error that says why it is needed: for `--with-room` and similar options.
pub fn required_field_tesla(bench: &Bench) -> Result<Vector3<f64>> {
    // A site that is not complete gives the error that names the missing part.
    bench.site()?;
    field_tesla(bench)?.ok_or_else(|| missing("room.field", "the room's field was asked for"))
}

/// Why the room's field is not known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unknown {
    /// The spec names a site and lacks this part of it, a dotted path.
    Lacks(&'static str),
    /// The spec says nothing about the room's field.
    Unsaid,
}

/// Why the room's field of a bench is not known.
pub fn unknown(bench: &Bench) -> Unknown {
    match bench.site() {
        Err(Error::MissingPart { part, .. }) => Unknown::Lacks(part),
        _ => Unknown::Unsaid,
    }
}

/// The earth's field in bench axes; the module's text defines the bearing.
pub(crate) fn in_bench_axes(earth: &EarthField, axis: AxisPosition, bearing_rad: f64) -> Vector3<f64> {
    let (sin, cos) = bearing_rad.sin_cos();
    let along_bearing = earth.north_tesla * cos + earth.east_tesla * sin;
    // A quarter turn counter-clockwise from the bearing, seen from above.
    let left_of_bearing = earth.north_tesla * sin - earth.east_tesla * cos;
    let up = -earth.down_tesla;
    match axis {
        AxisPosition::Horizontal => Vector3::new(left_of_bearing, up, along_bearing),
        AxisPosition::Vertical => Vector3::new(-left_of_bearing, along_bearing, up),
    }
}

/// Standard uncertainty of a measured room field if the spec does not state the field meter's zero: that of a pocket
/// probe (common practice, no source).
const MEASURED_TESLA: f64 = 3e-6;
/// Standard uncertainty of the modelled earth field inside a building, because of steel in walls, radiators and benches
/// (common practice, no source).
const COMPUTED_TESLA: f64 = 5e-6;
/// Standard uncertainty of the spec's axial field: from the field meter's zero and gain if it was measured with that
/// meter.
pub(crate) fn stated_standard_uncertainty_tesla(bench: &Bench, axial_tesla: f64) -> f64 {
    if let Some(RoomField::Site(_)) = bench.room.as_ref().and_then(|room| room.field.as_ref()) {
        return COMPUTED_TESLA;
    }
    let rectangular = |limit: f64| Distribution::Rectangular.standard_uncertainty(limit);
    match bench.field_meter {
        Some(meter) => {
            let gain = rectangular(meter.accuracy_of_reading.unwrap_or(0.0)) * axial_tesla;
            meter.zero_tesla.map_or(MEASURED_TESLA, rectangular).hypot(gain)
        }
        None => MEASURED_TESLA,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::calendar::Day;
    use crate::pair::Site;
    use approx::assert_abs_diff_eq;
    use world_magnetic_model::time::Date;

    fn site(year: f64, height_km: f64, latitude_deg: f64, longitude_deg: f64) -> Site {
        let start = Date::from_ordinal_date(year.floor() as i32, 1).unwrap();
        let days = f64::from(world_magnetic_model::time::util::days_in_year(start.year()));
        let ordinal = 1 + (year.fract() * days).round() as u16;
        let date = Date::from_ordinal_date(start.year(), ordinal).unwrap();
        Site {
            latitude_rad: latitude_deg.to_radians(),
            longitude_rad: longitude_deg.to_radians(),
            height_m: height_km * 1e3,
            date: Day::new(date.year(), u8::from(date.month()), date.day()).unwrap(),
            axis_bearing_rad: 0.0,
        }
    }

    #[test]
    fn the_earth_field_agrees_with_the_published_test_values() {
        // Source: tests/data/wmm2025_test_values.csv (NOAA/NCEI and BGS). 0.3 nT: single precision 0.24 nT,
        // half a unit of the rounded rows 0.05 nT, and half a day of drift in the mid-year rows.
        let mut rows = 0;
        for line in include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/wmm2025_test_values.csv"))
            .lines()
            .skip(3)
        {
            let cell: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
            let got = earth_field(&site(cell[0], cell[1], cell[2], cell[3])).unwrap();
            let components = [got.north_tesla, got.east_tesla, got.down_tesla];
            for (got_tesla, wanted_nanotesla) in components.iter().zip(&cell[4..7]) {
                let error = (got_tesla * 1e9 - wanted_nanotesla).abs();
                assert!(error < 0.3, "{line}: got {} nT, off by {error} nT", got_tesla * 1e9);
            }
            rows += 1;
        }
        assert!(rows >= 13, "only {rows} rows");
    }

    #[test]
    fn dates_past_the_model_are_refused_with_the_range() {
        for year in [2019.9, 2030.0] {
            let error = earth_field(&site(year, 0.1, 51.0, 7.0)).unwrap_err();
            assert!(error.to_string().contains("2020-01-01 to 2029-12-31"), "{error}");
            assert!(error.hint().unwrap().contains("not extrapolated"));
        }
        assert!(earth_field(&Site { latitude_rad: f64::NAN, ..site(2026.0, 0.1, 51.0, 7.0) }).is_err());
        assert!(earth_field(&Site { longitude_rad: f64::INFINITY, ..site(2026.0, 0.1, 51.0, 7.0) }).is_err());
    }

    #[test]
    fn a_longitude_east_of_180_degrees_is_the_same_place_to_the_west() {
        let east = earth_field(&site(2026.0, 0.1, 40.0, 254.0)).unwrap();
        let west = earth_field(&site(2026.0, 0.1, 40.0, -106.0)).unwrap();
        assert_abs_diff_eq!(east.north_tesla, west.north_tesla, epsilon = 1e-11);
    }

    #[test]
    fn bench_axes_are_right_handed_and_turn_with_the_bearing() {
        let earth = EarthField {
            model: "test",
            valid_from: "",
            valid_until: "",
            north_tesla: 1.0,
            east_tesla: 2.0,
            down_tesla: 3.0,
            standard_uncertainty_tesla: [0.0; 3],
        };
        // Axis to the north: x west, y up. Axis to the east: x north, y up.
        let north = in_bench_axes(&earth, AxisPosition::Horizontal, 0.0);
        assert_abs_diff_eq!(north, Vector3::new(-2.0, -3.0, 1.0), epsilon = 1e-15);
        let east = in_bench_axes(&earth, AxisPosition::Horizontal, 90f64.to_radians());
        assert_abs_diff_eq!(east, Vector3::new(1.0, -3.0, 2.0), epsilon = 1e-15);
        // Vertical axis, y to the north: x east, z up.
        let vertical = in_bench_axes(&earth, AxisPosition::Vertical, 0.0);
        assert_abs_diff_eq!(vertical, Vector3::new(2.0, 1.0, -3.0), epsilon = 1e-15);
    }
}
