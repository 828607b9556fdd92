//! Checks whether a bench can exist: every value alone, and all of them together.
//!
//! A check whose inputs are already refused is skipped, so that one slip gives one message.

use super::checks::Checks;
use super::{fit, limits, tube_fit};
use crate::constants;
use crate::error::diagnosis::Problem;
use crate::numeric::calendar::Day;
use crate::pair::materials::{Electric, FormerMaterial, former_material};
use crate::pair::*;
use crate::units::{Dimension, brief};
use jsonc_parser::ast::Value;
use nalgebra::Vector3;

/// Every physical problem of a bench: errors and warnings. A wire that is not in stock brings its message and hint.
pub(super) fn problems(bench: &Bench, unknown_wire: Option<(String, String)>, tree: &Value) -> Vec<Problem> {
    let mut checks = Checks::new(tree);
    if let Some((message, hint)) = unknown_wire {
        checks.refuse("winding.wire.size", message, hint);
    }
    checks.title(&bench.title);
    values_of_winding(&mut checks, bench);
    values_of_as_built(&mut checks, bench);
    values_of_tolerance(&mut checks, bench);
    if let Some(tube) = &bench.tube {
        values_of_tube(&mut checks, tube);
    }
    values_of_meters(&mut checks, bench);
    if let Some(room) = &bench.room {
        values_of_room(&mut checks, room);
    }
    values_of_paperwork(&mut checks, &bench.paperwork);
    fit::turns_in_section(&mut checks, bench);
    fit::coils_apart(&mut checks, bench);
    fit::coils_alike(&mut checks, bench);
    fit::as_built_resistance(&mut checks, bench);
    fit::limits_left_out(&mut checks, bench);
    if let Some(tube) = &bench.tube {
        tube_fit::bulb_clear_of_coils(&mut checks, bench, tube);
        tube_fit::circles_inside_bulb(&mut checks, tube);
    }
    checks.problems
}

/// Most instruments on a certificate.
const MOST_INSTRUMENTS: usize = 20;

/// Checks the entries for a certificate.
fn values_of_paperwork(checks: &mut Checks, paperwork: &Paperwork) {
    checks.short_text("serial", paperwork.serial.as_deref());
    for (key, party) in [("laboratory", &paperwork.laboratory), ("customer", &paperwork.customer)] {
        if let Some(party) = party {
            checks.short_text(&format!("{key}.name"), Some(&party.name));
            checks.short_text(&format!("{key}.address"), party.address.as_deref());
        }
    }
    let conditions = &paperwork.conditions;
    checks.short_text("conditions.place", conditions.place.as_deref());
    checks.short_text("conditions.orientation", conditions.orientation.as_deref());
    checks.short_text("conditions.iron_nearby", conditions.iron_nearby.as_deref());
    checks.within_if(
        "conditions.winding_temperature",
        conditions.winding_temperature_celsius,
        limits::COPPER_TEMPERATURE,
    );
    if paperwork.instruments.len() > MOST_INSTRUMENTS {
        checks.refuse(
            "instruments",
            format!("`instruments` lists {}", paperwork.instruments.len()),
            format!("list those that matter, at most {MOST_INSTRUMENTS}"),
        );
    }
    for (at, instrument) in paperwork.instruments.iter().enumerate() {
        let path = |key: &str| format!("instruments[{at}].{key}");
        checks.short_text(&path("name"), Some(&instrument.name));
        checks.short_text(&path("serial"), instrument.serial.as_deref());
        checks.short_text(&path("certificate"), instrument.certificate.as_deref());
        checks.short_text(&path("traceable_to"), instrument.traceable_to.as_deref());
    }
}

fn values_of_winding(checks: &mut Checks, bench: &Bench) {
    let winding = &bench.winding;
    checks.within("winding.mean_radius", winding.mean_radius_m, limits::MEAN_RADIUS);
    checks.within("winding.width", winding.width_m, limits::SECTION_SIDE);
    checks.within("winding.depth", winding.depth_m, limits::SECTION_SIDE);
    checks.within("winding.turns", winding.turns, limits::TURNS);
    checks.within_if("winding.surface_emissivity", winding.surface_emissivity, limits::EMISSIVITY);
    checks.within("spacing", bench.spacing_m, limits::SPACING);
    values_of_wire(checks, "winding.wire", &winding.wire);
    if checks.sound(&["winding.mean_radius", "winding.depth"])
        && winding.depth_m >= 2.0 * winding.mean_radius_m
    {
        checks.refuse(
            "winding.depth",
            format!("`winding.depth` is {}", brief(winding.depth_m, Dimension::Length)),
            format!(
                "the section must leave a bore: allowed is less than twice the mean radius, {}",
                brief(2.0 * winding.mean_radius_m, Dimension::Length)
            ),
        );
    }
    checks.within_if("leads.resistance", bench.lead_resistance_ohm, limits::LEAD_RESISTANCE);
    if let Some(former) = &bench.former {
        values_of_former(checks, former);
        bore_of_former(checks, bench, former);
    }
}

/// The floor under the winding must leave a bore.
fn bore_of_former(checks: &mut Checks, bench: &Bench, former: &Former) {
    let inputs = ["former.wall", "winding.mean_radius", "winding.depth"];
    let Some(wall_m) = former.wall_m.filter(|_| checks.sound(&inputs)) else { return };
    let coils = bench.coils().into_iter().chain([bench.nominal_coil()]);
    let inner_m = coils.map(|coil| coil.mean_radius_m - 0.5 * coil.depth_m).fold(f64::INFINITY, f64::min);
    if wall_m >= inner_m {
        checks.refuse(
            "former.wall",
            format!("`former.wall` is {}", brief(wall_m, Dimension::Length)),
            format!(
                "the former must leave a bore: allowed is less than the winding's inner radius, {}",
                brief(inner_m, Dimension::Length)
            ),
        );
    }
}

/// Checks the former.
pub(super) fn values_of_former(checks: &mut Checks, former: &Former) {
    checks.within_if("former.wall", former.wall_m, limits::WALL);
    let Some(name) = &former.material else { return };
    match former_material(name) {
        (_, false) => checks.warn(
            "former.material",
            format!(
                "`former.material` \"{name}\" is not known: it counts as an insulator that is not magnetic"
            ),
            "use a name such as plywood, PVC, aluminium, copper or steel",
        ),
        (FormerMaterial { electric: Electric::Magnetic, .. }, _) => checks.warn(
            "former.material",
            format!("`former.material` \"{name}\" is magnetic: the computed field does not hold"),
            "take a material that is not magnetic",
        ),
        _ => {}
    }
}

/// Checks the diameters and the thermal class of a wire.
pub(super) fn values_of_wire(checks: &mut Checks, path: &str, wire: &Wire) {
    checks.within(&format!("{path}.bare_diameter"), wire.bare_diameter_m, limits::WIRE_DIAMETER);
    checks.within(&format!("{path}.overall_diameter"), wire.overall_diameter_m, limits::WIRE_DIAMETER);
    checks.within_if(&format!("{path}.thermal_class"), wire.thermal_class_celsius, limits::THERMAL_CLASS);
    if checks.sound(&[path]) && wire.bare_diameter_m >= wire.overall_diameter_m {
        checks.refuse(
            &format!("{path}.overall_diameter"),
            format!(
                "the wire is {} over its enamel and {} without",
                brief(wire.overall_diameter_m, Dimension::Length),
                brief(wire.bare_diameter_m, Dimension::Length)
            ),
            "the overall diameter must be larger than the bare one",
        );
    }
}

fn values_of_as_built(checks: &mut Checks, bench: &Bench) {
    for (name, coil) in ["a", "b"].into_iter().zip(bench.as_built.iter().flatten()) {
        let path = |key: &str| format!("as_built.{name}.{key}");
        // Omitted values repeat the design, which is already checked.
        let designed = bench.nominal_coil();
        let found = |value: f64, as_designed: f64| (value != as_designed).then_some(value);
        checks.within_if(
            &path("mean_radius"),
            found(coil.mean_radius_m, designed.mean_radius_m),
            limits::MEAN_RADIUS,
        );
        checks.within_if(&path("width"), found(coil.width_m, designed.width_m), limits::SECTION_SIDE);
        checks.within_if(&path("depth"), found(coil.depth_m, designed.depth_m), limits::SECTION_SIDE);
        checks.within_if(&path("turns"), found(coil.turns, designed.turns), limits::TURNS);
        checks.each_within(&path("offset"), coil.offset_m.as_slice(), limits::OFFSET);
        checks.each_within(&path("tilt"), &coil.tilt_rad, limits::TILT);
        if let Some(resistance) = coil.resistance {
            checks.within(&path("resistance.value"), resistance.ohm, limits::COIL_RESISTANCE);
            checks.within(&path("resistance.at"), resistance.at_celsius, limits::COPPER_TEMPERATURE);
        }
        if checks.sound(&[&path("mean_radius"), &path("depth"), "winding"])
            && coil.depth_m >= 2.0 * coil.mean_radius_m
        {
            checks.refuse(
                &path("depth"),
                format!("the section of coil {name} is {} deep", brief(coil.depth_m, Dimension::Length)),
                format!(
                    "allowed is less than twice its mean radius, {}",
                    brief(2.0 * coil.mean_radius_m, Dimension::Length)
                ),
            );
        }
    }
}

fn values_of_tolerance(checks: &mut Checks, bench: &Bench) {
    let Some(tolerance) = &bench.build_tolerance else { return };
    for (key, value) in [
        ("mean_radius", tolerance.mean_radius_m),
        ("spacing", tolerance.spacing_m),
        ("width", tolerance.width_m),
        ("depth", tolerance.depth_m),
        ("offset", tolerance.offset_m),
    ] {
        checks.within(&format!("build_tolerance.{key}"), value, limits::LENGTH_TOLERANCE);
    }
    checks.within("build_tolerance.turns", tolerance.turns, limits::TURNS_TOLERANCE);
    checks.within("build_tolerance.tilt", tolerance.tilt_rad, limits::TILT_TOLERANCE);
    for (key, limit, of) in [
        ("mean_radius", tolerance.mean_radius_m, bench.winding.mean_radius_m),
        ("spacing", tolerance.spacing_m, bench.spacing_m),
        ("width", tolerance.width_m, bench.winding.width_m),
        ("depth", tolerance.depth_m, bench.winding.depth_m),
    ] {
        let path = format!("build_tolerance.{key}");
        if checks.sound(&[&path, "winding", "spacing"]) && limit >= 0.5 * of {
            checks.refuse(
                &path,
                format!("`{path}` is {}", brief(limit, Dimension::Length)),
                format!("allowed: less than half of {}", brief(of, Dimension::Length)),
            );
        }
    }
}

/// Checks the values of a tube and its gun.
pub(super) fn values_of_tube(checks: &mut Checks, tube: &StatedTube) {
    checks.within_if("tube.bulb_radius", tube.bulb_radius_m, limits::BULB_RADIUS);
    checks.each_within("tube.bulb_centre", tube.bulb_centre_m.as_slice(), limits::PLACE);
    if let Some(exit) = tube.gun_exit_m {
        checks.each_within("tube.gun_exit", exit.as_slice(), limits::PLACE);
    }
    checks.range("tube.gun_voltage", tube.gun_voltage_volt, limits::GUN_VOLTAGE);
    if let Some([value, uncertainty]) = tube.gun_voltage_offset_volt {
        checks.within("tube.gun_voltage_offset[0]", value, limits::VOLTAGE_OFFSET);
        checks.within("tube.gun_voltage_offset[1]", uncertainty, limits::VOLTAGE_UNCERTAINTY);
    }
    checks.range("tube.beam_radius", tube.beam_radius_m, limits::BEAM_RADIUS);
    if let Some(direction) = tube.gun_direction {
        gun_direction(checks, &direction);
    }
    let (Some(bulb), Some(exit)) = (tube.bulb(), tube.gun_exit_m) else { return };
    let outside = (exit - bulb.centre_m).norm();
    if checks.sound(&["tube.bulb_radius", "tube.bulb_centre", "tube.gun_exit"]) && outside >= bulb.radius_m {
        checks.refuse(
            "tube.gun_exit",
            format!("the gun exit is {} from the bulb's centre", brief(outside, Dimension::Length)),
            format!("allowed: inside the bulb of radius {}", brief(bulb.radius_m, Dimension::Length)),
        );
    }
}

/// A gun must have a direction, and not one along the axis.
fn gun_direction(checks: &mut Checks, direction: &Vector3<f64>) {
    // A direction that could be normalised has length one within rounding.
    if (direction.norm() - 1.0).abs().partial_cmp(&1e-9) != Some(std::cmp::Ordering::Less) {
        checks.refuse(
            "tube.gun_direction",
            "`tube.gun_direction` has no direction",
            "write a vector that is not zero, such as [0, 1, 0]",
        );
    } else if Vector3::z().cross(direction).norm() < 1e-6 {
        checks.refuse(
            "tube.gun_direction",
            "the gun points along the axis, where the beam makes no circle",
            "z is the common axis; a gun that shoots upwards is [0, 1, 0]",
        );
    }
}

fn values_of_meters(checks: &mut Checks, bench: &Bench) {
    if let Some(supply) = &bench.supply {
        values_of_supply(checks, supply);
    }
    for (name, meter, resolution) in [
        ("ammeter", &bench.ammeter, limits::AMMETER_RESOLUTION),
        ("voltmeter", &bench.voltmeter, limits::VOLTMETER_RESOLUTION),
    ] {
        if let Some(meter) = meter {
            checks.within_if(&format!("{name}.resolution"), meter.resolution, resolution);
            let (part, digits) = (meter.accuracy_of_reading, meter.accuracy_digits);
            checks.within_if(&format!("{name}.accuracy_of_reading"), part, limits::ACCURACY_OF_READING);
            checks.within(&format!("{name}.accuracy_digits"), digits, limits::ACCURACY_DIGITS);
            if digits > 0.0 && meter.resolution.is_none() && checks.sound(&[name]) {
                checks.warn(
                    &format!("{name}.accuracy_digits"),
                    format!("`{name}` has no `resolution`, so its digits are not counted"),
                    "write one step of the last digit as `resolution`",
                );
            }
        }
    }
    if let Some(meter) = &bench.field_meter {
        let part = meter.accuracy_of_reading;
        checks.within_if("field_meter.accuracy_of_reading", part, limits::ACCURACY_OF_READING);
        checks.within_if("field_meter.zero", meter.zero_tesla, limits::FIELD_ZERO);
    }
    if let Some(reading) = &bench.reading {
        checks.within_if(
            "reading.radius_uncertainty",
            reading.radius_uncertainty_m,
            limits::RADIUS_UNCERTAINTY,
        );
        checks.within_if("reading.camera_distance", reading.camera_distance_m, limits::CAMERA_DISTANCE);
        checks.within("reading.scale_offset", reading.scale_offset_m, limits::OFFSET);
        let distance = reading.camera_distance_m.filter(|distance| reading.scale_offset_m <= -distance);
        if let (Some(distance), true) = (distance, checks.sound(&["reading"])) {
            checks.refuse(
                "reading.scale_offset",
                format!("`reading.scale_offset` is {}", brief(reading.scale_offset_m, Dimension::Length)),
                format!(
                    "the scale must lie in front of the camera, which is {} away",
                    brief(distance, Dimension::Length)
                ),
            );
        }
    }
    if let Some(offer) = &bench.price {
        values_of_offer(checks, offer);
    }
    if let Some(stated) = &bench.stated {
        values_of_stated(checks, stated);
    }
}

/// Problems in the terms of an offer.
pub(super) fn problems_of_offer(offer: &Offer, tree: &Value) -> Vec<Problem> {
    let mut checks = Checks::new(tree);
    values_of_offer(&mut checks, offer);
    checks.problems
}

/// Checks the price of a pair and its terms.
fn values_of_offer(checks: &mut Checks, offer: &Offer) {
    checks.within_if("price.amount", offer.amount, limits::PRICE);
    checks.within_if("price.carriage", offer.carriage, limits::PRICE);
    checks.within_if("price.tax_rate", offer.tax_fraction, limits::TAX_RATE);
    checks.within_if("price.delivery", offer.delivery_days, limits::PERIOD);
    checks.within_if("price.warranty", offer.warranty_days, limits::PERIOD);
}

/// Checks the maker's figures of a pair.
pub(super) fn values_of_stated(checks: &mut Checks, stated: &StatedByMaker) {
    checks.within_if("stated.copper_mass", stated.conductor_mass_kg, limits::MASS);
    checks.within_if("stated.resistance", stated.resistance_ohm, limits::COIL_RESISTANCE);
    checks.within_if("stated.field_constant", stated.field_constant_tesla_per_ampere, limits::FIELD_CONSTANT);
    checks.within_if("stated.inner_diameter", stated.inner_diameter_m, limits::DIAMETER);
    checks.within_if("stated.outer_diameter", stated.outer_diameter_m, limits::DIAMETER);
    checks.within_if("stated.largest_field", stated.largest_field_tesla, limits::STATED_FIELD);
    let current = stated.largest_field_current_ampere;
    checks.within_if("stated.largest_field_current", current, limits::SUPPLY_CURRENT);
    checks.within_if(
        "stated.largest_field_voltage",
        stated.largest_field_voltage_volt,
        limits::SUPPLY_VOLTAGE,
    );
    checks.within_if("stated.hottest_surface", stated.hottest_surface_celsius, limits::COPPER_TEMPERATURE);
    checks.within_if("stated.hottest_surface_after", stated.hottest_surface_after_s, limits::HELD_TIME);
    let test_voltage = stated.insulation_test_voltage_volt;
    checks.within_if("stated.insulation_test_voltage", test_voltage, limits::SUPPLY_VOLTAGE);
    let insulation = stated.insulation_resistance_ohm;
    checks.within_if("stated.insulation_resistance", insulation, limits::INSULATION_RESISTANCE);
}

pub(super) fn values_of_supply(checks: &mut Checks, supply: &Supply) {
    checks.within_if("supply.voltage_limit", supply.voltage_limit_volt, limits::SUPPLY_VOLTAGE);
    checks.within_if("supply.current_limit", supply.current_limit_ampere, limits::SUPPLY_CURRENT);
}

pub(super) fn values_of_room(checks: &mut Checks, room: &Room) {
    checks.within_if("room.temperature", room.temperature_celsius, limits::ROOM_TEMPERATURE);
    match &room.field {
        None => {}
        Some(RoomField::Measured(field)) => {
            checks.each_within("room.field", field.as_slice(), limits::ROOM_FIELD);
            // The earth's own field is nowhere above 67 µT (World Magnetic Model 2025, from memory).
            if checks.sound(&["room.field"]) && field.norm() > 200e-6 {
                checks.warn(
                    "room.field",
                    format!("the room's field is {}", brief(field.norm(), Dimension::FluxDensity)),
                    "the earth alone makes 20 to 70 µT: look for magnets and steel, and check the unit",
                );
            }
        }
        Some(RoomField::Site(site)) => {
            checks.within_if("room.site.latitude", site.latitude_rad, limits::LATITUDE);
            checks.within_if("room.site.longitude", site.longitude_rad, limits::LONGITUDE);
            checks.within("room.site.height", site.height_m, limits::HEIGHT);
            checks.within_if("room.site.axis_bearing", site.axis_bearing_rad, limits::BEARING);
            if let Some(year) = site.date.map(Day::year)
                && !constants::MAGNETIC_MODEL_YEARS.contains(&year)
            {
                checks.refuse(
                    "room.site.date",
                    format!("the year {year} lies outside the magnetic model's validity"),
                    format!(
                        "allowed: {} to {}; or measure the field with the coils off and give it as `room.field`",
                        constants::MAGNETIC_MODEL_VALID_FROM,
                        constants::MAGNETIC_MODEL_VALID_UNTIL
                    ),
                );
            }
        }
    }
}
