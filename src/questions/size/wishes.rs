//! The wishes as the physics needs them, and the bench made of a winding and everything else wished.

use super::space;
use crate::error::Refused;
use crate::files::spec::Wanted;
use crate::pair::{Bench, BuildTolerance, Connection, Filling, Packing, Room, Winding, Wire, missing_in};
use crate::physics::beam::Electron;
use crate::physics::field::Section;
use crate::physics::heat::HeldFor;
use crate::questions::words::notes::{SourceNote, left_out};
use crate::{Document, Error, Result};

/// The wishes as the physics needs them.
pub(super) struct Wishes<'a> {
    pub(super) wanted: &'a Wanted,
    pub(super) room_celsius: f64,
    pub(super) surface_limit_celsius: Option<f64>,
    pub(super) carried_s: Option<f64>,
}

/// The largest field needed, and the smallest if the tube gives it: p/(e r), relativistic.
pub(crate) fn fields_needed(wanted: &Wanted) -> Result<(f64, Option<f64>)> {
    let tube = wanted.tube.as_ref().and_then(|tube| tube.gun_voltage_volt.zip(tube.beam_radius_m));
    let from_tube = tube
        .map(|([low, high], [smallest, largest])| {
            Ok::<_, Error>((
                Electron::after(high)?.rigidity_tesla_m() / smallest,
                Electron::after(low)?.rigidity_tesla_m() / largest,
            ))
        })
        .transpose()?;
    match (wanted.largest_field_tesla, from_tube) {
        (Some(largest), from_tube) => Ok((largest, from_tube.map(|(_, smallest)| smallest))),
        (None, Some((largest, smallest))) => Ok((largest, Some(smallest))),
        (None, None) => Err(missing_in(
            Document::Wishes,
            "largest_field",
            "the tube gives no gun voltages and beam radii that it would follow from",
        )),
    }
}

/// Wishes left out, each with the part that it needs.
pub(super) fn notes(wanted: &Wanted) -> Vec<SourceNote> {
    [
        left_out("room for the bulb is", &wanted.bulb()),
        left_out("the deviation over the beam is", &wanted.tube_with_beam()),
        left_out("a largest current is", &wanted.current_limit_ampere()),
        left_out("a largest voltage is", &wanted.voltage_limit_volt()),
    ]
    .into_iter()
    .flatten()
    .collect()
}

impl<'a> Wishes<'a> {
    pub(super) fn of(wanted: &'a Wanted) -> Self {
        let room_celsius = wanted.room.as_ref().and_then(|room| room.temperature_celsius).unwrap_or(20.0);
        Self {
            wanted,
            room_celsius,
            surface_limit_celsius: wanted.surface_temperature_limit_celsius,
            carried_s: wanted.time_at_largest_current_s,
        }
    }

    /// Largest rise of a surface above the room.
    ///
    /// # Errors
    /// [`Refused::SurfaceLimitBelowRoom`] if the limit is not more than 1 K above the room's temperature.
    pub(super) fn surface_limit_kelvin(&self) -> Result<Option<f64>> {
        let Some(limit_celsius) = self.surface_limit_celsius else { return Ok(None) };
        let room_celsius = self.room_celsius;
        if limit_celsius <= room_celsius + 1.0 {
            return Err(Refused::SurfaceLimitBelowRoom { limit_celsius, room_celsius }.into());
        }
        Ok(Some(limit_celsius - room_celsius))
    }

    /// A bench with this winding and everything else wished.
    pub(super) fn bench(
        &self,
        section: &Section,
        spacing_m: f64,
        connection: Connection,
        winding: Winding,
    ) -> Bench {
        let wanted = self.wanted;
        let title: String = format!("Sized for: {}", wanted.title).chars().take(200).collect();
        let winding = Winding {
            mean_radius_m: section.mean_radius_m,
            width_m: section.width_m,
            depth_m: section.depth_m,
            ..winding
        };
        Bench {
            connection,
            lead_resistance_ohm: wanted.lead_resistance_ohm,
            former: wanted.former.clone(),
            build_tolerance: Some(BuildTolerance::ORDINARY),
            tube: wanted.tube.clone(),
            supply: wanted.supply,
            room: Some(wanted.room.clone().unwrap_or(Room { temperature_celsius: None, field: None })),
            ..Bench::unchecked(title, winding, spacing_m)
        }
    }

    /// A bench for evaluating the heating model at a section: filled with wire of 1 mm.
    pub(super) fn typical_bench(&self, section: &Section) -> Bench {
        let wire = Wire {
            name: None,
            conductor: crate::constants::Conductor::Copper,
            bare_diameter_m: 1e-3,
            overall_diameter_m: 1.08e-3,
            thermal_class_celsius: None,
        };
        let cell = wire.overall_diameter_m.powi(2) * space::PITCH * space::BULGE;
        let turns = (section.width_m * section.depth_m / cell).max(1.0);
        self.bench(section, section.mean_radius_m, Connection::Series, spec_winding(turns, None, wire))
    }
}

pub(super) fn spec_winding(turns: f64, layers: Option<[u32; 2]>, wire: Wire) -> Winding {
    Winding {
        mean_radius_m: 0.0,
        width_m: 0.0,
        depth_m: 0.0,
        turns,
        layers: layers.map(|[layers, _]| layers),
        turns_per_layer: layers.map(|[_, turns_per_layer]| turns_per_layer),
        packing: Packing::Square,
        filling: Filling::Air,
        surface_emissivity: None,
        wire,
    }
}

/// For how long the largest field must be held, as wished.
pub(crate) fn wished_holding(wanted: Option<&Wanted>) -> HeldFor {
    let Some(wanted) = wanted else { return HeldFor::SwitchOn };
    match (wanted.time_at_largest_current_s, wanted.surface_temperature_limit_celsius) {
        (Some(seconds), _) => HeldFor::Seconds(seconds),
        (None, Some(_)) => HeldFor::Ever,
        (None, None) => HeldFor::SwitchOn,
    }
}
