//! Turns the file's own types into the checked bench's: fills in defaults and looks up stock names.

use super::file::*;
use super::office_file::{ConditionsFile, InstrumentFile, OfferFile, PartyFile, StatedFile};
use super::quantity::Length;
use crate::constants::REFERENCE_TEMPERATURE_CELSIUS;
use crate::pair::wires::stock_wire;
use crate::pair::*;
use nalgebra::{UnitVector3, Vector3};

/// The bench that a file describes. If its wire is not in stock, message and hint are returned too, and the wire of the
/// bench has no meaning.
pub(super) fn bench(file: BenchFile, digest: String) -> (Bench, Option<(String, String)>) {
    let (winding, unknown_wire) = winding(file.winding);
    let as_built = file.as_built.map(|coils| [coil(coils.a, &winding), coil(coils.b, &winding)]);
    let bench = Bench {
        title: crate::units::inert::line(&file.title).into_owned(),
        digest,
        model: Model::AsBuilt,
        axis: file.axis.unwrap_or_default(),
        winding,
        spacing_m: file.spacing.0,
        connection: file.connection.unwrap_or_default(),
        lead_resistance_ohm: file.leads.and_then(leads),
        former: file.former.map(former),
        as_built,
        build_tolerance: file.build_tolerance.map(build_tolerance),
        tube: file.tube.map(tube),
        supply: file.supply.map(supply),
        ammeter_position: file.ammeter.as_ref().and_then(|meter| meter.position),
        ammeter: file.ammeter.map(|meter| Meter {
            resolution: meter.resolution.map(|step| step.0),
            accuracy_of_reading: meter.accuracy_of_reading.map(|part| part.0),
            accuracy_digits: meter.accuracy_digits.unwrap_or(0.0),
        }),
        voltmeter: file.voltmeter.map(|meter| Meter {
            resolution: meter.resolution.map(|step| step.0),
            accuracy_of_reading: meter.accuracy_of_reading.map(|part| part.0),
            accuracy_digits: meter.accuracy_digits.unwrap_or(0.0),
        }),
        field_meter: file.field_meter.map(|meter| FieldMeter {
            accuracy_of_reading: meter.accuracy_of_reading.map(|part| part.0),
            zero_tesla: meter.zero.map(|zero| zero.0),
        }),
        reading: file.reading.map(|reading| RadiusReading {
            edge: reading.edge.unwrap_or_default(),
            radius_uncertainty_m: reading.radius_uncertainty.map(|length| length.0),
            camera_distance_m: reading.camera_distance.map(|length| length.0),
            scale_offset_m: reading.scale_offset.map_or(0.0, |length| length.0),
        }),
        room: file.room.map(room),
        price: file.price.map(offer),
        stated: file.stated.map(stated),
        paperwork: Paperwork {
            serial: file.serial.map(inert),
            laboratory: file.laboratory.map(party),
            customer: file.customer.map(party),
            conditions: file.conditions.map(conditions).unwrap_or_default(),
            instruments: file.instruments.unwrap_or_default().into_iter().map(instrument).collect(),
        },
    };
    (bench, unknown_wire)
}

fn winding(file: WindingFile) -> (Winding, Option<(String, String)>) {
    let (wire, unknown_wire) = match wire(file.wire) {
        Ok(wire) => (wire, None),
        Err(problem) => (placeholder_wire(), Some(problem)),
    };
    let winding = Winding {
        mean_radius_m: file.mean_radius.0,
        width_m: file.width.0,
        depth_m: file.depth.0,
        turns: file.turns,
        layers: file.layers.map(|count| count.0),
        turns_per_layer: file.turns_per_layer.map(|count| count.0),
        packing: file.packing.unwrap_or_default(),
        filling: file.filling.unwrap_or_default(),
        surface_emissivity: file.surface_emissivity,
        wire,
    };
    (winding, unknown_wire)
}

/// Replaces a wire that was not found; no check uses it.
fn placeholder_wire() -> Wire {
    Wire {
        name: None,
        conductor: crate::constants::Conductor::Copper,
        bare_diameter_m: 1e-3,
        overall_diameter_m: 1.1e-3,
        thermal_class_celsius: None,
    }
}

/// The wire, with its stock name looked up.
pub(super) fn wire(file: WireFile) -> Result<Wire, (String, String)> {
    Ok(match file {
        WireFile::Measured(wire) => Wire {
            name: None,
            conductor: wire.conductor.unwrap_or(crate::constants::Conductor::Copper),
            bare_diameter_m: wire.bare_diameter.0,
            overall_diameter_m: wire.overall_diameter.0,
            thermal_class_celsius: wire.thermal_class,
        },
        WireFile::Stock(wire) => stock_wire(&wire.size, wire.build)?
            .wire(wire.conductor.unwrap_or(crate::constants::Conductor::Copper), wire.thermal_class),
    })
}

/// Resistance of the leads.
pub(super) fn leads(file: LeadsFile) -> Option<f64> {
    file.resistance.map(|resistance| resistance.0)
}

/// The bobbin.
pub(super) fn former(file: FormerFile) -> Former {
    Former {
        material: file.material.map(|name| crate::units::inert::line(&name).into_owned()),
        wall_m: file.wall.map(|wall| wall.0),
        cheeks: file.cheeks.unwrap_or_default(),
        expansion_per_kelvin: file.expansion_per_kelvin,
    }
}

/// One coil; values not found on it are as designed.
fn coil(file: Option<CoilFile>, winding: &Winding) -> Coil {
    let designed = winding.designed_coil();
    let Some(file) = file else { return designed };
    let or = |found: Option<Length>, designed: f64| found.map_or(designed, |length| length.0);
    Coil {
        turns: file.turns.unwrap_or(designed.turns),
        mean_radius_m: or(file.mean_radius, designed.mean_radius_m),
        width_m: or(file.width, designed.width_m),
        depth_m: or(file.depth, designed.depth_m),
        offset_m: file.offset.map_or(designed.offset_m, vector),
        tilt_rad: file.tilt.map_or(designed.tilt_rad, |tilt| tilt.map(|angle| angle.0)),
        sense: file.sense.map_or(designed.sense, |sense| sense.0),
        resistance: file.resistance.and_then(|found| {
            let at_celsius = found.at.map_or(REFERENCE_TEMPERATURE_CELSIUS, |at| at.0);
            Some(MeasuredResistance { ohm: found.value?.0, at_celsius })
        }),
    }
}

fn build_tolerance(file: BuildToleranceFile) -> BuildTolerance {
    let exact = |limit: &Option<Length>| limit.as_ref().map_or(0.0, |length| length.0);
    BuildTolerance {
        mean_radius_m: exact(&file.mean_radius),
        spacing_m: exact(&file.spacing),
        turns: file.turns.unwrap_or(0.0),
        width_m: exact(&file.width),
        depth_m: exact(&file.depth),
        offset_m: exact(&file.offset),
        tilt_rad: file.tilt.as_ref().map_or(0.0, |angle| angle.0),
        distribution: file.distribution.unwrap_or_default(),
        not_stated: NotStated {
            mean_radius: file.mean_radius.is_none(),
            spacing: file.spacing.is_none(),
            width: file.width.is_none(),
            depth: file.depth.is_none(),
            offset: file.offset.is_none(),
            tilt: file.tilt.is_none(),
        },
    }
}

pub(super) fn tube(file: TubeFile) -> StatedTube {
    StatedTube {
        bulb_radius_m: file.bulb_radius.map(|radius| radius.0),
        bulb_centre_m: file.bulb_centre.map_or_else(Vector3::zeros, vector),
        gun_exit_m: file.gun_exit.map(vector),
        // A direction of length zero stays as it is; the physical checks refuse it.
        gun_direction: file
            .gun_direction
            .map(Vector3::from)
            .map(|direction| UnitVector3::new_unchecked(direction.try_normalize(0.0).unwrap_or(direction))),
        gun_voltage_volt: file.gun_voltage.map(|range| range.map(|voltage| voltage.0)),
        gun_voltage_offset_volt: file.gun_voltage_offset.map(|range| range.map(|voltage| voltage.0)),
        beam_radius_m: file.beam_radius.map(|range| range.map(|length| length.0)),
    }
}

pub(super) fn supply(file: SupplyFile) -> Supply {
    Supply {
        voltage_limit_volt: file.voltage_limit.map(|limit| limit.0),
        current_limit_ampere: file.current_limit.map(|limit| limit.0),
        regulation: file.regulation.unwrap_or_default(),
    }
}

pub(super) fn room(file: RoomFile) -> Room {
    let measured =
        file.field.map(|field| RoomField::Measured(Vector3::from(field.map(|component| component.0))));
    let site = file.site.map(|site| {
        RoomField::Site(StatedSite {
            latitude_rad: site.latitude.map(|angle| angle.0),
            longitude_rad: site.longitude.map(|angle| angle.0),
            height_m: site.height.map_or(0.0, |height| height.0),
            date: site.date.map(|date| date.0),
            axis_bearing_rad: site.axis_bearing.map(|angle| angle.0),
        })
    });
    Room { temperature_celsius: file.temperature.map(|temperature| temperature.0), field: measured.or(site) }
}

pub(super) fn price(file: PriceFile) -> Price {
    Price { amount: file.amount, currency: file.currency.map(|currency| currency.0) }
}

pub(super) fn offer(file: OfferFile) -> Offer {
    Offer {
        amount: file.amount,
        currency: file.currency.map(|currency| currency.0),
        carriage: file.carriage,
        tax_fraction: file.tax_rate.map(|rate| rate.0),
        delivery_days: file.delivery.map(|period| period.0),
        warranty_days: file.warranty.map(|period| period.0),
        valid_until: file.valid_until.map(|date| date.0),
    }
}

pub(super) fn stated(file: StatedFile) -> StatedByMaker {
    StatedByMaker {
        conductor_mass_kg: file.copper_mass.map(|mass| mass.0),
        resistance_ohm: file.resistance.map(|resistance| resistance.0),
        field_constant_tesla_per_ampere: file.field_constant.map(|constant| constant.0),
        inner_diameter_m: file.inner_diameter.map(|diameter| diameter.0),
        outer_diameter_m: file.outer_diameter.map(|diameter| diameter.0),
        largest_field_tesla: file.largest_field.map(|field| field.0),
        largest_field_current_ampere: file.largest_field_current.map(|current| current.0),
        largest_field_voltage_volt: file.largest_field_voltage.map(|voltage| voltage.0),
        hottest_surface_celsius: file.hottest_surface.map(|temperature| temperature.0),
        hottest_surface_after_s: file.hottest_surface_after.map(|time| time.0),
        insulation_test_voltage_volt: file.insulation_test_voltage.map(|voltage| voltage.0),
        insulation_resistance_ohm: file.insulation_resistance.map(|resistance| resistance.0),
        standards: file.standards.map(inert),
        terminals: file.terminals.map(inert),
        held_by: file.held_by.map(inert),
    }
}

fn inert(text: String) -> String {
    crate::units::inert::line(&text).into_owned()
}

fn party(file: PartyFile) -> Party {
    Party::new(inert(file.name), file.address.map(inert))
}

fn conditions(file: ConditionsFile) -> Conditions {
    Conditions {
        place: file.place.map(inert),
        orientation: file.orientation.map(inert),
        iron_nearby: file.iron_nearby.map(inert),
        winding_temperature_celsius: file.winding_temperature.map(|temperature| temperature.0),
        coils: file.coils,
    }
}

fn instrument(file: InstrumentFile) -> Instrument {
    let mut instrument = Instrument::new(inert(file.name));
    instrument.serial = file.serial.map(inert);
    instrument.certificate = file.certificate.map(inert);
    instrument.calibrated = file.calibrated.map(|date| date.0);
    instrument.traceable_to = file.traceable_to.map(inert);
    instrument.reads = file.reads;
    instrument
}

fn vector(components: [Length; 3]) -> Vector3<f64> {
    Vector3::from(components.map(|length| length.0))
}
