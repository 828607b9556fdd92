//! Windings placed in space, and the field of all of them together.

use super::central::add_series;
use super::coaxial_group::CoaxialGroup;
use super::columns::Columns;
use super::filament::Filament;
use super::placed::PlacedWinding;
use super::section::Section;
use super::turns::Turns;
use super::winding::WindingField;
use crate::error::Refused;
use crate::numeric::lanes::InstructionSet;
use crate::pair::{Bench, Layout, TurnPlace};
use crate::{Error, Result};
use nalgebra::Vector3;
use rayon::prelude::*;
use std::ops::RangeInclusive;
use std::sync::OnceLock;

/// Points computed together by one thread. The number is fixed, so that results do not depend on the number of threads.
const CHUNK: usize = 2048;
/// Beyond this distance the field is given as zero: it is below 1e-100 T/A, and powers of the distance would overflow
/// an f64.
const FARTHEST_M: f64 = 1e40;

/// The accuracy asked of a field.
///
/// It is relative to S, the sum over the windings of |B| of each at the point, plus μ0 J min(width, depth)
/// inside a winding.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Accuracy(f64);

impl Accuracy {
    /// What can be asked for.
    pub const RANGE: RangeInclusive<f64> = 1e-13..=1e-2;

    /// An accuracy, clamped to [`RANGE`](Self::RANGE). NaN gives the default.
    pub fn relative(accuracy: f64) -> Self {
        let accuracy = if accuracy.is_nan() { Self::default().0 } else { accuracy };
        Self(accuracy.clamp(*Self::RANGE.start(), *Self::RANGE.end()))
    }

    /// The smallest error that rounding allows, for differences of fields.
    pub(super) fn of_rounding() -> Self {
        Self(1e-15)
    }

    /// The number.
    pub fn value(self) -> f64 {
        self.0
    }
}

impl Default for Accuracy {
    fn default() -> Self {
        Self(1e-12)
    }
}

/// A field and its estimated error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FieldEstimate {
    /// The field, T/A.
    pub tesla_per_ampere: Vector3<f64>,
    /// Estimated error of the field, T/A: bound of the truncation plus rounding.
    pub error_tesla_per_ampere: f64,
}

/// Any number of placed windings carrying one current.
///
/// The field is exact for uniform current density in each section: to 1e-12 of S (see [`Accuracy`]) by default.
///
/// Special cases:
/// - a NaN coordinate gives a NaN field; an infinite coordinate, or one beyond 1e40 m, gives zero.
///   [`try_field_per_ampere_at`](Self::try_field_per_ampere_at) returns an error for coordinates that are not finite;
/// - zero turns or zero current give exactly zero;
/// - windings that coincide simply add;
/// - a section without width and depth is a filament. At a point exactly on it the field is infinite along the
///   filament's axis, the limit from inside the loop. It is NaN if two opposite filaments coincide there;
/// - a section with a width but no depth, or the reverse, is not supported: the field near it is NaN.
///
/// Limits of accuracy: the closed forms near a winding lose digits as its section gets thin against the radius. 1e-12
/// of S outside and 1e-10 inside holds for sections of at least a hundredth of the radius whose sides differ by at most
/// a factor of a hundred and are at most six radii long. A thread of 1e-6 of the radius keeps 1e-8 on its own surface;
/// a solenoid of 80 radii keeps 1e-9 beside it. The estimated error shows this loss, except at points that lie within
/// rounding of a surface. Scalar and vector instructions agree to 1e-14 of S where series or loops serve, to 1e-13 near
/// an ordinary winding.
///
/// ```
/// use coilwright::physics::field::{Assembly, PlacedWinding, Section};
/// use nalgebra::Vector3;
/// // One turn of 1 m radius: B = mu0 I / 2R at its centre, 0.628 µT.
/// let section = Section { mean_radius_m: 1.0, width_m: 0.0, depth_m: 0.0 };
/// let turn = PlacedWinding::on_axis(section, 1.0, 0.0);
/// let field = Assembly::new(vec![turn]).field_per_ampere(&Vector3::zeros());
/// assert!((field.z - 0.5 * coilwright::constants::MU_0).abs() < 1e-21);
/// ```
#[derive(Clone, Debug)]
pub struct Assembly {
    windings: Vec<PlacedWinding>,
    fields: Vec<WindingField>,
    /// The turns of each winding, if they are computed one by one.
    turns: Option<Vec<Turns>>,
    accuracy: Accuracy,
    instruction_set: InstructionSet,
    /// Made when first needed.
    groups: OnceLock<Vec<CoaxialGroup>>,
}

impl Assembly {
    /// The given windings together.
    pub fn new(windings: Vec<PlacedWinding>) -> Self {
        Self {
            windings,
            fields: Vec::new(),
            turns: None,
            accuracy: Accuracy::default(),
            instruction_set: InstructionSet::Fastest,
            groups: OnceLock::new(),
        }
        .prepared()
    }

    /// The coil pair of a bench, coil a at −spacing/2 and coil b at +spacing/2 plus their offsets.
    ///
    /// If the bench states its layers and the last one is not full, the section stands for the actual turns
    /// ([`Layout::wound`]). It then agrees with the turns computed one by one within 2e-5 at the centre and 2e-4 over
    /// the beam; the section as stated would be off by up to a thousandth.
    pub fn of(bench: &Bench) -> Self {
        Self::new(PlacedWinding::pair(bench, &bench.coils(), bench.spacing_m).to_vec())
    }

    /// The coil pair of a bench with every turn at the place of its wire. Layers, turns per layer and packing come from
    /// the spec; if it does not state them, the densest whole-layer winding is scaled into the wound section. Inside a
    /// conductor the field is that of a round wire of uniform current density.
    ///
    /// Accuracy: 1e-14 of S outside the wires, plus (r/a)² of a wire's own field at its surface (r the wire's radius, a
    /// the turn's); 3e-5 of the wire's own field inside it. The estimated error does not include the last two. In the
    /// bore, a few wire pitches from the winding, the field differs from [`of`](Self::of) by less than 1e-4; within a
    /// pitch of the wires by as much as μ0 I/(2π r).
    pub fn of_each_turn(bench: &Bench) -> Self {
        let smooth = Self::of(bench);
        let wire = &bench.winding.wire;
        let turns = bench.coils().into_iter().zip(&smooth.windings).map(|(coil, placed)| {
            let places = Layout::of_coil(&bench.winding, &coil).places(wire.overall_diameter_m);
            // The winding is placed at the middle of its turns, but the turns are given about the coil's own centre.
            let middle_m = Layout::wound(&bench.winding, &coil).axial_m;
            let filament = |place: &TurnPlace| Filament {
                radius_m: coil.mean_radius_m + place.radial_m,
                height_m: place.axial_m - middle_m,
                current_ampere: place.turns * placed.current_share,
            };
            Turns::new(places.iter().map(filament).collect(), 0.5 * wire.bare_diameter_m)
        });
        let turns = Some(turns.collect());
        Self { turns, ..smooth }.prepared()
    }

    /// The same windings with another accuracy; a lower one costs less.
    pub fn with_accuracy(self, accuracy: Accuracy) -> Self {
        Self { accuracy, ..self }.prepared()
    }

    /// The accuracy asked for.
    pub fn accuracy(&self) -> Accuracy {
        self.accuracy
    }

    /// The same windings, computed with another instruction set. [`InstructionSet::Scalar`] gives the same bits on
    /// every machine; its numbers agree with the fastest to 1e-14 of S, near a winding to 1e-13.
    pub fn with_instruction_set(self, instruction_set: InstructionSet) -> Self {
        Self { instruction_set, ..self }.prepared()
    }

    fn prepared(mut self) -> Self {
        let field = |winding: &PlacedWinding| {
            let ampere_turns = winding.turns * winding.current_share;
            WindingField::new(winding.section, ampere_turns, self.accuracy.value(), self.instruction_set)
        };
        self.fields = self.windings.iter().map(field).collect();
        self.groups = OnceLock::new();
        self
    }

    /// Whether every winding lies squarely on the z axis, so that the field is the same all the way round.
    pub(crate) fn is_axisymmetric(&self) -> bool {
        let along_z = |vector: &Vector3<f64>| vector.x == 0.0 && vector.y == 0.0;
        self.windings.iter().all(|winding| along_z(&winding.axis) && along_z(&winding.centre_m))
    }

    pub(super) fn groups(&self) -> &[CoaxialGroup] {
        self.groups.get_or_init(|| {
            CoaxialGroup::of_all(
                &self.windings,
                self.turns.as_deref(),
                self.accuracy.value(),
                self.instruction_set,
            )
        })
    }

    pub(super) fn instruction_set(&self) -> InstructionSet {
        self.instruction_set
    }

    /// The windings.
    pub fn windings(&self) -> &[PlacedWinding] {
        &self.windings
    }

    /// The field at a point per ampere through the ammeter, T/A.
    pub fn field_per_ampere(&self, point_m: &Vector3<f64>) -> Vector3<f64> {
        let mut field = Vector3::zeros();
        self.chunk(std::slice::from_ref(point_m), false).write(std::slice::from_mut(&mut field));
        field
    }

    /// The field at a single point, T/A, computed without the series. The series cost more than they save unless many
    /// points follow.
    pub(crate) fn field_once_per_ampere(&self, point_m: &Vector3<f64>) -> Vector3<f64> {
        let point = std::slice::from_ref(point_m);
        let mut sum = Columns::new(point);
        (0..self.windings.len()).for_each(|index| self.add_winding(index, &[0], point, &mut sum, false));
        let mut field = Vector3::zeros();
        sum.write(std::slice::from_mut(&mut field));
        field
    }

    /// Sum of the magnitudes of the windings' own fields at the centre per ampere, T/A: what the coils would make if
    /// none opposed another. A field that is small beside it is the result of cancellation.
    pub(crate) fn separate_fields_at_centre(&self) -> f64 {
        let of = |winding: &PlacedWinding| {
            Self::new(vec![*winding]).field_once_per_ampere(&Vector3::zeros()).norm()
        };
        self.windings.iter().map(of).sum()
    }

    /// The field at many points per ampere through the ammeter, T/A; the order is that of the points, and the numbers
    /// do not depend on how many threads share the work. Neighbouring points in the list use the same number of terms,
    /// so a point's value may depend on its neighbours, by less than the accuracy.
    pub fn field_per_ampere_at(&self, points_m: &[Vector3<f64>]) -> Vec<Vector3<f64>> {
        let mut field = vec![Vector3::zeros(); points_m.len()];
        let fill = |(points, field): (&[Vector3<f64>], &mut [Vector3<f64>])| {
            self.chunk(points, false).write(field);
        };
        if points_m.len() <= CHUNK {
            fill((points_m, &mut field));
        } else {
            points_m.par_chunks(CHUNK).zip(field.par_chunks_mut(CHUNK)).for_each(fill);
        }
        field
    }

    /// The field and its estimated error at many points.
    ///
    /// # Errors
    /// A coordinate that is not finite, or a point on a filament.
    pub fn try_field_per_ampere_at(&self, points_m: &[Vector3<f64>]) -> Result<Vec<FieldEstimate>> {
        if let Some(point) = points_m.iter().find(|point| !point.iter().all(|c| c.is_finite())) {
            return Err(Refused::PointNotFinite { point_m: (*point).into() }.into());
        }
        let estimates = |points: &[Vector3<f64>]| {
            let mut columns = self.chunk(points, true);
            let mut field = vec![Vector3::zeros(); points.len()];
            columns.write(&mut field);
            field.into_iter().enumerate().map(move |(i, tesla_per_ampere)| FieldEstimate {
                tesla_per_ampere,
                error_tesla_per_ampere: columns.error_tesla(i),
            })
        };
        let estimates: Vec<FieldEstimate> = points_m.par_chunks(CHUNK).flat_map_iter(estimates).collect();
        match estimates
            .iter()
            .zip(points_m)
            .find(|(estimate, _)| !estimate.tesla_per_ampere.iter().all(|b| b.is_finite()))
        {
            Some((_, point)) => {
                let has_one_side = |s: &Section| (s.width_m == 0.0) != (s.depth_m == 0.0);
                if self.turns.is_none() && self.windings.iter().any(|winding| has_one_side(&winding.section))
                {
                    return Err(Error::value("a section must have both a width and a depth, or neither"));
                }
                Err(Refused::PointOnFilament { point_m: (*point).into() }.into())
            }
            None => Ok(estimates),
        }
    }

    /// The field and the sum of |B|, every winding on its own and without series: the second method of the tests.
    #[cfg(test)]
    pub(super) fn without_series(&self, points_m: &[Vector3<f64>]) -> Vec<(Vector3<f64>, f64)> {
        let which: Vec<u32> = (0..points_m.len() as u32).collect();
        let mut sum = vec![(Vector3::zeros(), 0.0); points_m.len()];
        for index in 0..self.windings.len() {
            let mut own = Columns::new(points_m);
            self.add_winding(index, &which, points_m, &mut own, false);
            let mut field = vec![Vector3::zeros(); points_m.len()];
            own.write(&mut field);
            for (sum, own) in sum.iter_mut().zip(field) {
                sum.0 += own;
                sum.1 += own.norm();
            }
        }
        sum
    }

    fn chunk(&self, points_m: &[Vector3<f64>], with_error: bool) -> Columns {
        let mut sum = Columns::new(points_m);
        for group in self.groups() {
            let rest = add_series(group, &mut sum, self.instruction_set);
            if rest.is_empty() {
                continue;
            }
            for &index in &group.indices {
                self.add_winding(index, &rest, points_m, &mut sum, with_error);
            }
            // Points out of reach have zero field; no series served them.
            for &i in &rest {
                let point = &points_m[i as usize];
                if !is_within_reach(point) {
                    let value = if point.iter().any(|c| c.is_nan()) { f64::NAN } else { 0.0 };
                    sum.set_field(i as usize, &Vector3::repeat(value));
                }
            }
        }
        sum
    }

    /// Adds one winding's field at the points of the given indices.
    fn add_winding(
        &self,
        index: usize,
        which: &[u32],
        points_m: &[Vector3<f64>],
        sum: &mut Columns,
        with_error: bool,
    ) {
        let winding = &self.windings[index];
        let frame = |&i: &u32| AxisFrame::of(&points_m[i as usize], &winding.centre_m, &winding.axis);
        let frames: Vec<AxisFrame> = which.iter().map(frame).collect();
        let places: Vec<(f64, f64)> = frames.iter().map(|frame| (frame.rho_m, frame.zeta_m)).collect();
        let fields = match &self.turns {
            Some(turns) => turns[index].at(&places, self.instruction_set),
            None => self.fields[index].at(&places, with_error),
        };
        for ((&i, frame), field) in which.iter().zip(&frames).zip(fields) {
            let vector = frame.vector(field.b_rho_tesla, field.b_zeta_tesla, &winding.axis);
            sum.add(i as usize, &vector, field.error_tesla);
        }
    }
}

fn is_within_reach(point: &Vector3<f64>) -> bool {
    point.iter().all(|c| c.abs() <= FARTHEST_M)
}

/// The position of a point relative to an axis.
struct AxisFrame {
    rho_m: f64,
    zeta_m: f64,
    /// Unit vector away from the axis; zero on it.
    outward: Vector3<f64>,
}

impl AxisFrame {
    /// Points out of reach are moved to the centre; their field is set afterwards.
    #[inline]
    fn of(point_m: &Vector3<f64>, centre_m: &Vector3<f64>, axis: &Vector3<f64>) -> Self {
        if !is_within_reach(point_m) {
            return Self { rho_m: 0.0, zeta_m: 0.0, outward: Vector3::zeros() };
        }
        let from_centre = point_m - centre_m;
        let zeta_m = from_centre.dot(axis);
        let radial = from_centre - axis * zeta_m;
        let rho_m = radial.norm();
        let outward = if rho_m > 0.0 { radial / rho_m } else { Vector3::zeros() };
        Self { rho_m, zeta_m, outward }
    }

    #[inline]
    fn vector(&self, b_rho: f64, b_zeta: f64, axis: &Vector3<f64>) -> Vector3<f64> {
        self.outward * b_rho + axis * b_zeta
    }
}
