//! One heated coil: from the temperature of its copper to the heat it gives the room.

use super::faces::{self, Face};
use super::pack::WirePack;
use super::section::{CooledSection, Profile};
use crate::Result;
use crate::spec::{Bench, Coil};
use std::f64::consts::TAU;

/// Surface temperatures are iterated until they stand still to this fraction of the rise.
const SURFACE_TOLERANCE: f64 = 1e-10;
const SURFACE_ITERATIONS: usize = 100;

/// One coil as a thermal model.
#[derive(Clone, Debug, PartialEq)]
pub struct HeatedCoil {
    /// Its sides, in the order of [`Side::ALL`].
    pub faces: [Face; 4],
    /// The wire pack.
    pub pack: WirePack,
    /// Extent along the axis.
    pub width_m: f64,
    /// Extent along the radius.
    pub depth_m: f64,
    /// Mean circumference.
    pub circumference_m: f64,
    /// Heat capacity of the winding, factor included.
    pub winding_joule_per_kelvin: f64,
    /// Heat capacity of each side's wall, factor included; 0 where there is none.
    pub wall_joule_per_kelvin: [f64; 4],
    /// What the surface coefficients are multiplied by: 1, or what a warm-up test has found.
    pub surface_factor: f64,
    /// Air and walls of the room.
    pub room_celsius: f64,
}

/// Temperatures of a coil whose walls have settled with its winding.
#[derive(Clone, Copy, Debug)]
pub struct CoilTemperatures {
    /// Mean over the winding: what its resistance shows.
    pub mean_celsius: f64,
    /// Outside of each side.
    pub surface_celsius: [f64; 4],
    /// Middle of each side's wall; the pack's side where there is none.
    pub wall_celsius: [f64; 4],
    /// Heat given to the room.
    pub loss_watt: f64,
    room_celsius: f64,
    profile: Profile,
}

/// Heat flows of a coil at one moment, whatever its walls have settled to.
#[derive(Clone, Copy, Debug)]
pub struct CoilFlows {
    /// Heat leaving the winding.
    pub from_winding_watt: f64,
    /// What each side's wall gains.
    pub wall_gain_watt: [f64; 4],
    /// Heat given to the room.
    pub to_room_watt: f64,
    /// Outside of each side.
    pub surface_celsius: [f64; 4],
    room_celsius: f64,
    profile: Profile,
}

impl HeatedCoil {
    /// The model of one coil of a bench; `upper` says that a coil lying flat is the upper one.
    pub fn of(bench: &Bench, coil: &Coil, upper: bool, room_celsius: f64) -> Result<Self> {
        let pack =
            WirePack::of(&bench.winding.wire, coil.turns, coil.width_m * coil.depth_m, bench.winding.filling);
        let faces = faces::faces(bench, coil, upper)?;
        let circumference_m = TAU * coil.mean_radius_m;
        Ok(Self {
            faces,
            pack,
            width_m: coil.width_m,
            depth_m: coil.depth_m,
            circumference_m,
            winding_joule_per_kelvin: pack.heat_capacity_joule_per_m_kelvin * circumference_m,
            wall_joule_per_kelvin: faces
                .map(|face| face.wall.map_or(0.0, |wall| wall.heat_capacity_joule_per_kelvin)),
            surface_factor: 1.0,
            room_celsius,
        })
    }

    /// The same coil with surface coefficients and heat capacities multiplied by what a test has found.
    pub fn with_factors(&self, surface_factor: f64, heat_capacity_factor: f64) -> Self {
        Self {
            surface_factor: self.surface_factor * surface_factor,
            winding_joule_per_kelvin: self.winding_joule_per_kelvin * heat_capacity_factor,
            wall_joule_per_kelvin: self.wall_joule_per_kelvin.map(|capacity| capacity * heat_capacity_factor),
            ..self.clone()
        }
    }

    /// Heat capacity of winding and former together.
    pub fn heat_capacity_joule_per_kelvin(&self) -> f64 {
        self.winding_joule_per_kelvin + self.wall_joule_per_kelvin.iter().sum::<f64>()
    }

    /// The coil with a given mean temperature of its winding, its walls settled.
    pub fn settled(&self, mean_celsius: f64) -> CoilTemperatures {
        let rise = mean_celsius - self.room_celsius;
        let wall = self.faces.map(|face| face.wall.map_or(0.0, |wall| wall.resistance_kelvin_per_watt));
        let cooling = |surface: &[f64; 4]| {
            let conductance = std::array::from_fn(|index| {
                1.0 / (wall[index] + 1.0 / self.outside_watt_per_kelvin(&self.faces[index], surface[index]))
            });
            (conductance, [0.0; 4])
        };
        let (surface, profile, side_watt) = self.iterate([0.8 * rise; 4], rise, cooling, wall.map(Some));
        CoilTemperatures {
            mean_celsius,
            surface_celsius: surface.map(|kelvin| self.room_celsius + kelvin),
            wall_celsius: std::array::from_fn(|index| {
                self.room_celsius + profile.side_kelvin[index] - 0.5 * wall[index] * side_watt[index]
            }),
            loss_watt: side_watt.iter().sum(),
            room_celsius: self.room_celsius,
            profile,
        }
    }

    /// The heat flows with a given mean temperature of the winding and given temperatures of the walls' middles.
    ///
    /// Inside the winding the profile is the settled one: it settles in minutes, the coil as a whole in an hour.
    pub fn flows(&self, mean_celsius: f64, wall_celsius: [f64; 4]) -> CoilFlows {
        let rise = mean_celsius - self.room_celsius;
        // Half a wall's conductance: from the pack to its middle, and from its middle to its outside.
        let half = self.faces.map(|face| face.wall.map(|wall| 2.0 / wall.resistance_kelvin_per_watt));
        let sinks: [f64; 4] =
            std::array::from_fn(|index| half[index].map_or(0.0, |_| wall_celsius[index] - self.room_celsius));
        let cooling = |surface: &[f64; 4]| {
            let conductance = std::array::from_fn(|index| {
                half[index]
                    .unwrap_or_else(|| self.outside_watt_per_kelvin(&self.faces[index], surface[index]))
            });
            (conductance, sinks)
        };
        let bare = half.map(|half| if half.is_none() { Some(0.0) } else { None });
        let (mut surface, profile, side_watt) = self.iterate([0.8 * rise; 4], rise, cooling, bare);
        let mut to_room = side_watt;
        let mut wall_gain_watt = [0.0; 4];
        for index in 0..4 {
            if let Some(half) = half[index] {
                (surface[index], to_room[index]) =
                    self.outside_of_wall(&self.faces[index], half, sinks[index]);
                wall_gain_watt[index] = side_watt[index] - to_room[index];
            }
        }
        CoilFlows {
            from_winding_watt: side_watt.iter().sum(),
            wall_gain_watt,
            to_room_watt: to_room.iter().sum(),
            surface_celsius: surface.map(|kelvin| self.room_celsius + kelvin),
            room_celsius: self.room_celsius,
            profile,
        }
    }

    /// Repeats profile and surface temperatures until they agree, on the sides with a resistance (K/W) between pack
    /// and surface; gives surface temperatures, profile and the heat through each side.
    fn iterate(
        &self,
        mut surface_kelvin: [f64; 4],
        mean_kelvin: f64,
        cooling: impl Fn(&[f64; 4]) -> ([f64; 4], [f64; 4]),
        to_surface: [Option<f64>; 4],
    ) -> ([f64; 4], Profile, [f64; 4]) {
        let mut round = 0;
        loop {
            let (conductance, sinks) = cooling(&surface_kelvin);
            let section = CooledSection {
                width_m: self.width_m,
                depth_m: self.depth_m,
                conductivity_watt_per_m_kelvin: self.pack.conductivity_watt_per_m_kelvin,
                side_watt_per_m2_kelvin: std::array::from_fn(|index| {
                    conductance[index] / self.faces[index].pack_area_m2
                }),
            };
            let profile = section.profile(mean_kelvin, sinks);
            let side_watt: [f64; 4] =
                std::array::from_fn(|index| conductance[index] * (profile.side_kelvin[index] - sinks[index]));
            let mut moved: f64 = 0.0;
            for index in 0..4 {
                if let Some(resistance) = to_surface[index] {
                    let next = profile.side_kelvin[index] - resistance * side_watt[index];
                    moved = moved.max((next - surface_kelvin[index]).abs());
                    surface_kelvin[index] = next;
                }
            }
            round += 1;
            if moved <= SURFACE_TOLERANCE * mean_kelvin.abs() || round == SURFACE_ITERATIONS {
                return (surface_kelvin, profile, side_watt);
            }
        }
    }

    fn outside_watt_per_kelvin(&self, face: &Face, surface_kelvin: f64) -> f64 {
        self.surface_factor
            * face.surface.conductance_watt_per_kelvin(self.room_celsius + surface_kelvin, self.room_celsius)
    }

    /// Outside temperature and heat flow of a wall whose middle is `middle_kelvin` above the room.
    fn outside_of_wall(&self, face: &Face, half_watt_per_kelvin: f64, middle_kelvin: f64) -> (f64, f64) {
        let mut surface_kelvin = middle_kelvin;
        let mut watt = 0.0;
        for _ in 0..SURFACE_ITERATIONS {
            let outside = self.outside_watt_per_kelvin(face, surface_kelvin);
            let conductance = 1.0 / (1.0 / half_watt_per_kelvin + 1.0 / outside);
            watt = conductance * middle_kelvin;
            let next = watt / outside;
            let moved = (next - surface_kelvin).abs();
            surface_kelvin = next;
            if moved <= SURFACE_TOLERANCE * middle_kelvin.abs() {
                break;
            }
        }
        (surface_kelvin, watt)
    }
}

impl CoilTemperatures {
    /// The hottest place in the winding.
    pub fn hot_spot_celsius(&self) -> f64 {
        self.room_celsius + self.profile.hottest_kelvin()
    }
}

impl CoilFlows {
    /// The hottest place in the winding.
    pub fn hot_spot_celsius(&self) -> f64 {
        self.room_celsius + self.profile.hottest_kelvin()
    }
}
