//! Writes a checked bench as a spec file.

use crate::files::out::json::document;
use crate::pair::wires::stock_wires;
use crate::pair::*;
use crate::units::{Unit, unit};
use nalgebra::Vector3;
use serde_json::{Map, Value, json};

/// The spec file of a bench, usable by every command. Reading it gives the same pair, except for its digest and for
/// rounding: lengths are written to a nanometre and everything else to twelve digits.
///
/// A bench whose model is [`Model::Nominal`] is written without `as_built`, because a file has no other way to say that
/// only the design counts. Read back it has the same coils.
pub fn spec_text(bench: &Bench) -> String {
    let mut file = Map::new();
    let mut put = |key: &str, value: Value| {
        file.insert(key.into(), value);
    };
    put("title", json!(bench.title));
    put("axis", json!(bench.axis));
    put("winding", winding(&bench.winding));
    put("spacing", length(bench.spacing_m));
    put("connection", json!(bench.connection));
    if let Some(ohm) = bench.lead_resistance_ohm {
        put("leads", json!({ "resistance": quantity(ohm, unit::OHM) }));
    }
    if let Some(value) = &bench.former {
        put("former", former(value));
    }
    if let (Some(coils), Model::AsBuilt) = (&bench.as_built, bench.model) {
        put("as_built", json!({ "a": coil(&coils[0]), "b": coil(&coils[1]) }));
    }
    if let Some(value) = &bench.build_tolerance {
        put("build_tolerance", build_tolerance(value));
    }
    if let Some(value) = &bench.tube {
        put("tube", tube(value));
    }
    if let Some(supply) = &bench.supply {
        put(
            "supply",
            entries([
                ("voltage_limit", supply.voltage_limit_volt.map(|limit| quantity(limit, unit::VOLT))),
                ("current_limit", supply.current_limit_ampere.map(|limit| quantity(limit, unit::AMPERE))),
                ("regulation", Some(json!(supply.regulation))),
            ]),
        );
    }
    if let Some(value) = &bench.ammeter {
        let mut entry = meter(value, unit::AMPERE);
        if let (Some(position), Some(keys)) = (bench.ammeter_position, entry.as_object_mut()) {
            keys.insert("position".into(), json!(position));
        }
        put("ammeter", entry);
    }
    if let Some(value) = &bench.voltmeter {
        put("voltmeter", meter(value, unit::VOLT));
    }
    if let Some(value) = &bench.field_meter {
        put(
            "field_meter",
            entries([
                ("accuracy_of_reading", value.accuracy_of_reading.map(|part| quantity(part, unit::PERCENT))),
                ("zero", value.zero_tesla.map(|zero| quantity(zero, unit::MICROTESLA))),
            ]),
        );
    }
    if let Some(value) = &bench.reading {
        put("reading", reading(value));
    }
    if let Some(value) =
        bench.room.as_ref().map(room).filter(|room| room.as_object().is_some_and(|room| !room.is_empty()))
    {
        put("room", value);
    }
    if let Some(value) = &bench.price {
        put("price", offer(value));
    }
    if let Some(value) = &bench.stated {
        put("stated", stated(value));
    }
    paperwork(&bench.paperwork, &mut put);
    // A JSON value of texts and numbers can always be printed.
    document(&Value::Object(file)).unwrap_or_default()
}

fn offer(offer: &Offer) -> Value {
    let days = |days: f64| json!(format!("{days} days"));
    entries([
        ("amount", offer.amount.map(number)),
        ("currency", offer.currency.as_ref().map(|currency| json!(currency))),
        ("carriage", offer.carriage.map(number)),
        ("tax_rate", offer.tax_fraction.map(|rate| quantity(rate, unit::PERCENT))),
        ("delivery", offer.delivery_days.map(days)),
        ("warranty", offer.warranty_days.map(days)),
        ("valid_until", offer.valid_until.map(|day| json!(day))),
    ])
}

fn stated(stated: &StatedByMaker) -> Value {
    entries([
        ("copper_mass", stated.conductor_mass_kg.map(|mass| quantity(mass, unit::KILOGRAM))),
        ("resistance", stated.resistance_ohm.map(|ohm| quantity(ohm, unit::OHM))),
        (
            "field_constant",
            stated
                .field_constant_tesla_per_ampere
                .map(|constant| quantity(constant, unit::MILLITESLA_PER_AMPERE)),
        ),
        ("inner_diameter", stated.inner_diameter_m.map(length)),
        ("outer_diameter", stated.outer_diameter_m.map(length)),
        ("largest_field", stated.largest_field_tesla.map(|field| quantity(field, unit::MILLITESLA))),
        (
            "largest_field_current",
            stated.largest_field_current_ampere.map(|current| quantity(current, unit::AMPERE)),
        ),
        (
            "largest_field_voltage",
            stated.largest_field_voltage_volt.map(|voltage| quantity(voltage, unit::VOLT)),
        ),
        ("hottest_surface", stated.hottest_surface_celsius.map(|celsius| quantity(celsius, unit::CELSIUS))),
        ("hottest_surface_after", stated.hottest_surface_after_s.map(|time| quantity(time, unit::MINUTE))),
        (
            "insulation_test_voltage",
            stated.insulation_test_voltage_volt.map(|voltage| quantity(voltage, unit::VOLT)),
        ),
        (
            "insulation_resistance",
            stated.insulation_resistance_ohm.map(|resistance| quantity(resistance, unit::MEGAOHM)),
        ),
        ("standards", stated.standards.as_ref().map(|standards| json!(standards))),
        ("terminals", stated.terminals.as_ref().map(|terminals| json!(terminals))),
        ("held_by", stated.held_by.as_ref().map(|held| json!(held))),
    ])
}

/// A number to twelve significant digits with its unit, as in a file.
fn quantity(si: f64, unit: Unit) -> Value {
    let number: f64 = format!("{:.11e}", unit.from_si(si)).parse().unwrap_or(f64::NAN);
    json!(format!("{number} {}", unit.names[0]))
}

fn length(si: f64) -> Value {
    let nanometres = (si * 1e9).round() / 1e9;
    quantity(nanometres, unit::MILLIMETRE)
}

fn vector(components: &Vector3<f64>) -> Value {
    json!(components.iter().map(|component| length(*component)).collect::<Vec<_>>())
}

/// Only the existing entries.
fn entries(all: impl IntoIterator<Item = (&'static str, Option<Value>)>) -> Value {
    Value::Object(all.into_iter().filter_map(|(key, value)| Some((key.to_owned(), value?))).collect())
}

fn winding(winding: &Winding) -> Value {
    entries([
        ("mean_radius", Some(length(winding.mean_radius_m))),
        ("width", Some(length(winding.width_m))),
        ("depth", Some(length(winding.depth_m))),
        ("turns", Some(number(winding.turns))),
        ("layers", winding.layers.map(|layers| json!(layers))),
        ("turns_per_layer", winding.turns_per_layer.map(|turns| json!(turns))),
        ("packing", Some(json!(winding.packing))),
        ("filling", Some(json!(winding.filling))),
        ("surface_emissivity", winding.surface_emissivity.map(|emissivity| json!(emissivity))),
        ("wire", Some(wire(&winding.wire))),
    ])
}

/// A whole number is written without a point.
fn number(value: f64) -> Value {
    if value.fract() == 0.0 && value.abs() < 1e9 { json!(value as i64) } else { json!(value) }
}

pub(super) fn wire(wire: &Wire) -> Value {
    let stock =
        wire.name.as_ref().and_then(|name| stock_wires().into_iter().find(|stock| stock.name() == *name));
    let (size, build) = stock.map(|stock| (json!(stock.size), json!(stock.build))).unzip();
    let own = |diameter: f64| size.is_none().then(|| length(diameter));
    entries([
        ("conductor", Some(json!(wire.conductor))),
        ("bare_diameter", own(wire.bare_diameter_m)),
        ("overall_diameter", own(wire.overall_diameter_m)),
        ("size", size.clone()),
        ("build", build),
        ("thermal_class", wire.thermal_class_celsius.map(number)),
    ])
}

fn former(former: &Former) -> Value {
    entries([
        ("material", former.material.as_ref().map(|material| json!(material))),
        ("wall", former.wall_m.map(length)),
        ("cheeks", Some(json!(former.cheeks))),
        ("expansion_per_kelvin", former.expansion_per_kelvin.map(|expansion| json!(expansion))),
    ])
}

fn coil(coil: &Coil) -> Value {
    entries([
        ("turns", Some(number(coil.turns))),
        ("mean_radius", Some(length(coil.mean_radius_m))),
        ("width", Some(length(coil.width_m))),
        ("depth", Some(length(coil.depth_m))),
        ("offset", Some(vector(&coil.offset_m))),
        ("tilt", Some(json!(coil.tilt_rad.map(|angle| quantity(angle, unit::DEGREE))))),
        ("sense", Some(number(coil.sense))),
        (
            "resistance",
            coil.resistance.map(|found| {
                json!({
                    "value": quantity(found.ohm, unit::OHM),
                    "at": quantity(found.at_celsius, unit::CELSIUS),
                })
            }),
        ),
    ])
}

fn build_tolerance(tolerance: &BuildTolerance) -> Value {
    let none = tolerance.not_stated;
    let stated = |not_stated: bool, value: Value| (!not_stated).then_some(value);
    entries([
        ("mean_radius", stated(none.mean_radius, length(tolerance.mean_radius_m))),
        ("spacing", stated(none.spacing, length(tolerance.spacing_m))),
        ("turns", Some(number(tolerance.turns))),
        ("width", stated(none.width, length(tolerance.width_m))),
        ("depth", stated(none.depth, length(tolerance.depth_m))),
        ("offset", stated(none.offset, length(tolerance.offset_m))),
        ("tilt", stated(none.tilt, quantity(tolerance.tilt_rad, unit::DEGREE))),
        ("distribution", Some(json!(tolerance.distribution))),
    ])
}

fn tube(tube: &StatedTube) -> Value {
    let volts = |range: [f64; 2]| json!(range.map(|volt| quantity(volt, unit::VOLT)));
    entries([
        ("bulb_radius", tube.bulb_radius_m.map(length)),
        ("bulb_centre", Some(vector(&tube.bulb_centre_m))),
        ("gun_exit", tube.gun_exit_m.as_ref().map(vector)),
        (
            "gun_direction",
            tube.gun_direction
                .map(|direction| json!(direction.iter().map(|part| number(*part)).collect::<Vec<_>>())),
        ),
        ("gun_voltage", tube.gun_voltage_volt.map(volts)),
        ("gun_voltage_offset", tube.gun_voltage_offset_volt.map(volts)),
        ("beam_radius", tube.beam_radius_m.map(|range| json!(range.map(length)))),
    ])
}

fn meter(meter: &Meter, unit: Unit) -> Value {
    entries([
        ("resolution", meter.resolution.map(|step| quantity(step, unit))),
        (
            "accuracy_of_reading",
            meter.accuracy_of_reading.map(|part| quantity(part, crate::units::unit::PERCENT)),
        ),
        ("accuracy_digits", Some(number(meter.accuracy_digits))),
    ])
}

fn reading(reading: &RadiusReading) -> Value {
    entries([
        ("edge", Some(json!(reading.edge))),
        ("radius_uncertainty", reading.radius_uncertainty_m.map(length)),
        ("camera_distance", reading.camera_distance_m.map(length)),
        ("scale_offset", Some(length(reading.scale_offset_m))),
    ])
}

fn room(room: &Room) -> Value {
    let field = match &room.field {
        Some(RoomField::Measured(field)) => {
            Some(json!(field.iter().map(|part| quantity(*part, unit::MICROTESLA)).collect::<Vec<_>>()))
        }
        _ => None,
    };
    let site = match &room.field {
        Some(RoomField::Site(place)) => Some(site(place)),
        _ => None,
    };
    entries([
        ("temperature", room.temperature_celsius.map(|celsius| quantity(celsius, unit::CELSIUS))),
        ("field", field),
        ("site", site),
    ])
}

/// The entries for a certificate.
fn paperwork(paperwork: &Paperwork, put: &mut impl FnMut(&str, Value)) {
    let text = |text: &Option<String>| text.as_ref().map(|text| json!(text));
    let party =
        |party: &Party| entries([("name", Some(json!(party.name))), ("address", text(&party.address))]);
    if let Some(serial) = &paperwork.serial {
        put("serial", json!(serial));
    }
    if let Some(laboratory) = &paperwork.laboratory {
        put("laboratory", party(laboratory));
    }
    if let Some(customer) = &paperwork.customer {
        put("customer", party(customer));
    }
    let stated = &paperwork.conditions;
    if *stated != Conditions::default() {
        let winding = stated.winding_temperature_celsius.map(|celsius| quantity(celsius, unit::CELSIUS));
        put(
            "conditions",
            entries([
                ("place", text(&stated.place)),
                ("orientation", text(&stated.orientation)),
                ("iron_nearby", text(&stated.iron_nearby)),
                ("winding_temperature", winding),
                ("coils", stated.coils.map(|coils| json!(coils))),
            ]),
        );
    }
    let instrument = |instrument: &Instrument| {
        entries([
            ("name", Some(json!(instrument.name))),
            ("serial", text(&instrument.serial)),
            ("certificate", text(&instrument.certificate)),
            ("calibrated", instrument.calibrated.map(|day| json!(day))),
            ("traceable_to", text(&instrument.traceable_to)),
            ("reads", instrument.reads.map(|reads| json!(reads))),
        ])
    };
    if !paperwork.instruments.is_empty() {
        put("instruments", json!(paperwork.instruments.iter().map(instrument).collect::<Vec<_>>()));
    }
}

fn site(site: &StatedSite) -> Value {
    let angle = |rad: Option<f64>| rad.map(|rad| quantity(rad, unit::DEGREE));
    entries([
        ("latitude", angle(site.latitude_rad)),
        ("longitude", angle(site.longitude_rad)),
        ("height", Some(quantity(site.height_m, unit::METRE))),
        ("date", site.date.map(|date| json!(date))),
        ("axis_bearing", angle(site.axis_bearing_rad)),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::spec::{bench_from_text, read_bench};

    #[test]
    fn every_example_written_back_reads_as_the_same_bench() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/coil-specs");
        let mut files = 0;
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let Ok(bench) = read_bench(&path) else { continue };
            let again = bench_from_text("again.json", &spec_text(&bench)).unwrap();
            let same = |bench: &Bench| format!("{:?}", Bench { digest: String::new(), ..bench.clone() });
            assert_eq!(spec_text(&again), spec_text(&bench), "{}", path.display());
            assert_eq!(same(&again), same(&bench), "{}", path.display());
            files += 1;
        }
        assert!(files >= 4);
    }

    #[test]
    fn a_pair_as_designed_written_back_reads_as_the_designed_coils() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/coil-specs/quote-used.json");
        let built = read_bench(path).unwrap();
        let designed = built.clone().as_designed();
        assert_ne!(built.coils(), designed.coils());
        let again = bench_from_text("again.json", &spec_text(&designed)).unwrap();
        assert_eq!(again.coils(), designed.coils());
        let again = bench_from_text("again.json", &spec_text(&built)).unwrap();
        assert_eq!(again.coils(), built.coils());
    }
}
