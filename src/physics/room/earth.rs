//! The earth's main field from the World Magnetic Model.

use super::earth_field::EarthField;
use crate::constants::{MAGNETIC_MODEL_VALID_FROM, MAGNETIC_MODEL_VALID_UNTIL};
use crate::error::Refused;
use crate::numeric::calendar::Day;
use crate::pair::Site;
use crate::{Error, Result};
use world_magnetic_model::GeomagneticField;
use world_magnetic_model::time::{Date, Month};
use world_magnetic_model::uom::si::angle::degree;
use world_magnetic_model::uom::si::f32::{Angle, Length, MagneticFluxDensity};
use world_magnetic_model::uom::si::length::meter;
use world_magnetic_model::uom::si::magnetic_flux_density::nanotesla;

/// The earth's main field at a site and date, from the World Magnetic Model valid then.
///
/// The model's crate computes in single precision: the result is within 0.3 nT of the model's published test values, a
/// five-hundredth of the model's own uncertainty.
pub fn earth_field(site: &Site) -> Result<EarthField> {
    let date = calendar_date(site.date).ok_or_else(|| day_outside_the_model(site.date))?;
    let longitude_rad =
        (site.longitude_rad + std::f64::consts::PI).rem_euclid(std::f64::consts::TAU) - std::f64::consts::PI;
    let computed = GeomagneticField::new(
        Length::new::<meter>(site.height_m as f32),
        Angle::new::<degree>(site.latitude_rad.to_degrees() as f32),
        Angle::new::<degree>(longitude_rad.to_degrees() as f32),
        date,
    )
    .map_err(|error| outside_the_model(site, error))?;
    let tesla = |component: MagneticFluxDensity| f64::from(component.get::<nanotesla>()) * 1e-9;
    let (model, valid_from, valid_until) = if site.date.year() < 2025 {
        ("World Magnetic Model 2020", MAGNETIC_MODEL_VALID_FROM, "2024-12-31")
    } else {
        ("World Magnetic Model 2025", "2025-01-01", MAGNETIC_MODEL_VALID_UNTIL)
    };
    Ok(EarthField {
        model,
        valid_from,
        valid_until,
        north_tesla: tesla(computed.x()),
        east_tesla: tesla(computed.y()),
        down_tesla: tesla(computed.z()),
        standard_uncertainty_tesla: [
            tesla(computed.x_uncertainty()),
            tesla(computed.y_uncertainty()),
            tesla(computed.z_uncertainty()),
        ],
    })
}

fn day_outside_the_model(day: Day) -> Error {
    Refused::DayOutsideMagneticModel {
        year: day.year(),
        month: day.month(),
        day: day.day(),
        valid: [MAGNETIC_MODEL_VALID_FROM, MAGNETIC_MODEL_VALID_UNTIL],
    }
    .into()
}

fn outside_the_model(site: &Site, error: world_magnetic_model::Error) -> Error {
    use world_magnetic_model::Error as Model;
    match error {
        Model::DateOutsideOfValidityRange { .. } => day_outside_the_model(site.date),
        Model::HeightOutsideOfValidityRange { min_height_km, max_height_km } => {
            Refused::HeightOutsideMagneticModel {
                height_m: site.height_m,
                allowed_m: [min_height_km * 1e3, max_height_km * 1e3].map(f64::from),
            }
            .into()
        }
        Model::InvalidLatitude => Refused::Latitude { degrees: site.latitude_rad.to_degrees() }.into(),
        Model::InvalidLongitude => Refused::Longitude { degrees: site.longitude_rad.to_degrees() }.into(),
    }
}

/// The day in the model's own calendar, which begins later than ours.
fn calendar_date(day: Day) -> Option<Date> {
    Date::from_calendar_date(day.year(), Month::try_from(day.month()).ok()?, day.day()).ok()
}
