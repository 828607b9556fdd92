//! `map`: how uniform the field is, and where. Gives the deviation on the two planes through the centre, on profiles
//! along x, y and z, and on a grid of the user's choice.
//!
//! The axial plane is y = 0, the mid-plane is z = 0. Pictures and profiles are drawn from [`FieldMap`]. A grid may have
//! millions of points and is computed block by block with [`grid_fields`].

mod blocks;
#[cfg(feature = "paper")]
pub mod files;
mod grid;
#[cfg(feature = "paper")]
pub mod picture;
mod within;
#[cfg(feature = "paper")]
pub mod words;
#[cfg(feature = "paper")]
mod written;

use crate::numeric::calendar::Day;
#[cfg(feature = "paper")]
use blocks::level_fields;
pub use blocks::{GridPoint, grid_fields};
pub use grid::{Block, Fineness, GridAxis, MOST_POINTS, MapGrid};
pub use within::Within;

use crate::Result;
use crate::pair::{AxisPosition, Bench, Model, Provenance};
use crate::physics::field;
use crate::physics::field::{Deviation, PreparedPair};
use crate::physics::room::RoomAdded;
use crate::questions::words::notes::{SourceNote, as_sentences, left_out};
use nalgebra::Vector3;
use serde::Serialize;
use std::f64::consts::TAU;

/// Points along a profile.
const PROFILE_POINTS: usize = 401;
/// Points on the circle in which a plane cuts the bulb.
const CIRCLE_POINTS: usize = 720;
/// Margin around the coils in a picture, in mean radii.
const MARGIN: f64 = 0.1;
/// Reach of the profiles and of the mid-plane picture if the spec gives no bulb radius, in mean radii.
const REACH_WITHOUT_BULB: f64 = 0.6;
/// Half the side of the mid-plane picture, in bulb radii.
const ROUND_THE_BULB: f64 = 1.12;

/// One of the two planes through the centre.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Plane {
    /// y = 0.
    Axial,
    /// z = 0.
    Mid,
}

/// The deviation on a plane.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct PlaneMap {
    /// The plane.
    pub plane: Plane,
    /// Indices (0, 1, 2 for x, y, z) of the directions that run right and up.
    #[serde(skip)]
    pub directions: [usize; 2],
    /// Coordinates along the direction that runs right.
    pub right: GridAxis,
    /// Coordinates along the direction that runs up.
    pub up: GridAxis,
    /// Deviations, row after row from the lowest row up.
    #[serde(skip)]
    pub deviations: Vec<f64>,
}

/// The deviation along a straight line through the centre.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct Profile {
    /// Unit vector along the line.
    pub direction: [f64; 3],
    /// Distances from the pair's centre along the line; negative on the far side.
    pub distance_m: Vec<f64>,
    /// Deviation at each distance.
    pub deviation: Vec<f64>,
}

/// The largest |deviation| on the part of a plane that lies in the bulb.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct WorstOnPlane {
    /// The deviation there, with its sign.
    pub deviation: f64,
    /// The position.
    pub at_m: [f64; 3],
}

/// The deviation on planes and along lines through the centre.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct FieldMap {
    /// Program version and spec.
    pub provenance: Provenance,
    /// Geometry used: as built or nominal.
    pub model: Model,
    /// Ammeter current at which the room's field was added. `None` for the coils alone.
    pub with_room_at_ampere: Option<f64>,
    /// Field at the centre per ampere through the ammeter, the room's field included if it was added.
    pub centre_field_tesla_per_ampere: [f64; 3],
    /// The axial plane.
    pub axial: PlaneMap,
    /// The mid-plane.
    pub mid: PlaneMap,
    /// Largest |deviation| on the axial plane inside the bulb. `None` if the spec gives no bulb radius or the plane
    /// misses the bulb.
    pub worst_on_axial_plane: Option<WorstOnPlane>,
    /// Largest |deviation| on the mid-plane inside the bulb. `None` if the spec gives no bulb radius or the plane
    /// misses the bulb.
    pub worst_on_mid_plane: Option<WorstOnPlane>,
    /// Profile along the axis.
    pub axis_profile: Profile,
    /// Profile along x in the mid-plane.
    pub x_profile: Profile,
    /// Profile along y in the mid-plane.
    pub y_profile: Profile,
    /// What lies within the limit on |deviation|. `None` if no limit was given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub within: Option<Within>,
    /// Parts left out because the spec lacks the data for them.
    #[serde(serialize_with = "as_sentences")]
    pub notes: Vec<SourceNote>,
}

/// The box that a map covers: the coils, the bulb and a margin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MapRanges {
    /// Least and largest x, y and z.
    pub ranges_m: [[f64; 2]; 3],
}

impl MapRanges {
    /// The box of a pair.
    pub fn of(pair: &PreparedPair) -> Self {
        let mut ranges_m = [[0f64; 2]; 3];
        let mut cover = |i: usize, centre: f64, reach: f64| {
            ranges_m[i] = [ranges_m[i][0].min(centre - reach), ranges_m[i][1].max(centre + reach)];
        };
        let mut margin = 0f64;
        for winding in pair.assembly().windings() {
            margin = margin.max(MARGIN * winding.section.mean_radius_m);
            (0..3).for_each(|i| cover(i, winding.centre_m[i], winding.half_extent_m(&Vector3::ith(i, 1.0))));
        }
        if let Ok(bulb) = pair.bench().bulb() {
            (0..3).for_each(|i| cover(i, bulb.centre_m[i], bulb.radius_m));
        }
        Self { ranges_m: ranges_m.map(|[least, most]| [least - margin, most + margin]) }
    }
}

/// Centre and radius of the region that profiles and the mid-plane picture show: the bulb, or a part of the mean radius
/// if the spec gives no bulb.
fn region(bench: &Bench) -> (Vector3<f64>, f64) {
    match bench.bulb() {
        Ok(bulb) => (bulb.centre_m, bulb.radius_m),
        Err(_) => (Vector3::zeros(), REACH_WITHOUT_BULB * bench.winding.mean_radius_m),
    }
}

/// Which field is mapped.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum MappedField {
    /// The coils' field per ampere through the ammeter.
    #[default]
    PerAmpere,
    /// The coils' field at a current, plus the room's field.
    WithRoom(RoomAdded),
}

impl MappedField {
    /// The room's field divided by the current; zero for the coils alone.
    pub fn background_per_ampere(&self) -> Vector3<f64> {
        match self {
            Self::PerAmpere => Vector3::zeros(),
            Self::WithRoom(room) => room.per_ampere(),
        }
    }

    fn current_ampere(&self) -> Option<f64> {
        match self {
            Self::PerAmpere => None,
            Self::WithRoom(room) => Some(room.current_ampere()),
        }
    }
}

/// How many points the planes of a map have.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Detail {
    /// As for a picture to keep.
    #[default]
    Full,
    /// As for a picture that follows what the user types.
    Coarse,
    /// As for a picture that follows a value while it is dragged.
    Sketch,
}

impl Detail {
    /// Points along the longer side of a plane. A sketch has the ends of the picture that follows it.
    const fn fineness(self) -> Fineness {
        match self {
            Self::Full => Fineness::Points(601),
            Self::Coarse => Fineness::EvenSteps(241),
            Self::Sketch => Fineness::Points(121),
        }
    }
}

/// What a map is asked for.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Request {
    /// Which field to map.
    pub field: MappedField,
    /// Limit on |deviation| for which the map says what lies within it. From 1e-9 to 0.5.
    pub within_fraction: Option<f64>,
    /// How many points the planes have.
    pub detail: Detail,
    /// The date to print, if any.
    pub date: Option<Day>,
}

/// Maps the deviation of a pair.
///
/// # Errors
/// If the field vanishes at the centre, so that no deviation is defined, or if the limit is outside 1e-9 to 0.5.
pub fn field_map(pair: &PreparedPair, request: &Request) -> Result<FieldMap> {
    let (bench, assembly) = (pair.bench(), pair.assembly());
    let deviation = Deviation::new(assembly, request.field.background_per_ampere())?;
    let bulb = bench.bulb();
    let within = (request.within_fraction)
        .map(|limit| Within::of(&deviation, bulb.as_ref().ok(), limit))
        .transpose()?;
    let extent = MapRanges::of(pair);
    let (centre, radius) = region(bench);
    let upright = bench.axis == AxisPosition::Vertical;
    let axial_directions = if upright { [0, 2] } else { [2, 0] };
    let round = ROUND_THE_BULB * radius;
    let fineness = request.detail.fineness();
    let of = |which, directions: [usize; 2], ranges_m: [[f64; 2]; 2]| -> Result<_> {
        let map = plane(&deviation, which, directions, ranges_m, fineness)?;
        let worst = bulb.as_ref().ok().and_then(|_| worst_in_ball(&deviation, &map, centre, radius));
        Ok((map, worst))
    };
    let (axial, mid) = rayon::join(
        || of(Plane::Axial, axial_directions, axial_directions.map(|i| extent.ranges_m[i])),
        || of(Plane::Mid, [0, 1], [0, 1].map(|i| [centre[i] - round, centre[i] + round])),
    );
    let ((axial, worst_on_axial_plane), (mid, worst_on_mid_plane)) = (axial?, mid?);
    let along = |i: usize| {
        let direction = Vector3::ith(i, 1.0);
        profile(&deviation, direction, [centre[i] - radius, centre[i] + radius])
    };
    Ok(FieldMap {
        provenance: Provenance::of(bench, request.date),
        model: bench.model,
        with_room_at_ampere: request.field.current_ampere(),
        centre_field_tesla_per_ampere: deviation.centre_field_per_ampere().into(),
        worst_on_axial_plane,
        worst_on_mid_plane,
        axial,
        mid,
        axis_profile: along(2),
        x_profile: along(0),
        y_profile: along(1),
        within,
        notes: left_out_of_map(bench),
    })
}

fn left_out_of_map(bench: &Bench) -> Vec<SourceNote> {
    let bulb = left_out("the bulb is", &bench.bulb());
    let beam = left_out("the beam's circles are", &bench.tube_with_beam());
    bulb.into_iter().chain(beam).collect()
}

impl PlaneMap {
    /// The position of the point at a column and a row.
    pub(crate) fn point_m(&self, column: u64, row: u64) -> Vector3<f64> {
        let mut point = Vector3::zeros();
        point[self.directions[0]] = self.right.at_m(column);
        point[self.directions[1]] = self.up.at_m(row);
        point
    }
}

fn plane(
    deviation: &Deviation<'_>,
    plane: Plane,
    directions: [usize; 2],
    ranges_m: [[f64; 2]; 2],
    fineness: Fineness,
) -> Result<PlaneMap> {
    let [right, up] = fineness.axes(ranges_m)?;
    let mut map = PlaneMap { plane, directions, right, up, deviations: Vec::new() };
    let step = |i: usize| Vector3::ith(directions[i], [right, up][i].step_m);
    let grid = field::PlaneGrid {
        origin_m: map.point_m(0, 0),
        column_step_m: step(0),
        row_step_m: step(1),
        columns: right.count as usize,
        rows: up.count as usize,
    };
    map.deviations = deviation.over(&grid);
    Ok(map)
}

/// The largest |deviation| on the part of a plane inside a ball. `None` if the plane misses the ball. The candidates
/// are the picture's points inside the ball and `CIRCLE_POINTS` points on the circle in which the plane cuts it,
/// because the largest deviation is often at the wall.
fn worst_in_ball(
    deviation: &Deviation<'_>,
    map: &PlaneMap,
    centre: Vector3<f64>,
    radius_m: f64,
) -> Option<WorstOnPlane> {
    let in_plane = |point: Vector3<f64>| {
        let mut flat = Vector3::zeros();
        map.directions.iter().for_each(|i| flat[*i] = point[*i]);
        flat
    };
    let off = (centre - in_plane(centre)).norm();
    if off >= radius_m {
        return None;
    }
    let cut_m = (radius_m * radius_m - off * off).sqrt();
    let circle: Vec<_> = (0..CIRCLE_POINTS)
        .map(|i| {
            let (sin, cos) = (TAU * i as f64 / CIRCLE_POINTS as f64).sin_cos();
            let mut point = in_plane(centre);
            point[map.directions[0]] += cut_m * cos;
            point[map.directions[1]] += cut_m * sin;
            point
        })
        .collect();
    let on_circle = circle.iter().copied().zip(deviation.at_each(&circle));
    let on_grid = map.deviations.iter().enumerate().map(|(i, deviation)| {
        (map.point_m(i as u64 % map.right.count, i as u64 / map.right.count), *deviation)
    });
    on_circle
        .chain(on_grid.filter(|(point, _)| (point - centre).norm_squared() <= radius_m * radius_m))
        .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
        .map(|(point, deviation)| WorstOnPlane { deviation, at_m: point.into() })
}

fn profile(deviation: &Deviation<'_>, direction: Vector3<f64>, [least, most]: [f64; 2]) -> Profile {
    let distance_m: Vec<f64> = (0..PROFILE_POINTS)
        .map(|i| least + (most - least) * i as f64 / (PROFILE_POINTS - 1) as f64)
        .collect();
    let points: Vec<_> = distance_m.iter().map(|distance| direction * *distance).collect();
    Profile { direction: direction.into(), deviation: deviation.at_each(&points), distance_m }
}
