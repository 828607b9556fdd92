//! Deviation: the local field over the centre field, minus 1.

use super::{Assembly, FieldColumns, PlaneGrid};
use crate::Result;
use crate::error::{CentreFieldFor, Refused};
use nalgebra::Vector3;
use rayon::prelude::*;

/// Measures deviations from the centre field: (B·u)/|B_centre| − 1, u the direction of the centre field.
///
/// Each Cartesian component of a field free of currents is harmonic, so over a ball without copper the largest
/// deviation lies on its surface. A wrong direction does not show in B·u to first order;
/// [`direction_error_rad`](Self::direction_error_rad) gives it.
#[derive(Clone, Debug)]
pub struct Deviation<'a> {
    assembly: &'a Assembly,
    background: Vector3<f64>,
    direction: Vector3<f64>,
    /// Direction of the coils' own field at the centre; in a faultless pair this is the axis.
    axis: Vector3<f64>,
    centre: f64,
}

impl<'a> Deviation<'a> {
    /// Deviations of the coils' field plus a uniform `background` (T per ampere of coil current; zero for the coils
    /// alone).
    ///
    /// # Errors
    /// The coils' fields cancel at the centre, so there is no centre field to compare with.
    pub fn new(assembly: &'a Assembly, background: Vector3<f64>) -> Result<Self> {
        let coils = assembly.field_per_ampere(&Vector3::zeros());
        let scale = assembly.separate_fields_at_centre();
        let total = coils + background;
        let centre = total.norm();
        if !centre.is_finite() || centre <= 1e-9 * scale {
            return Err(Refused::CoilsCancel { wanted: CentreFieldFor::Deviation }.into());
        }
        let direction = total / centre;
        // If the coils cancel, only the background gives a direction.
        let axis = match (background == Vector3::zeros(), coils.norm()) {
            (false, own) if own > 1e-9 * scale => coils / own,
            _ => direction,
        };
        Ok(Self { assembly, background, direction, axis, centre })
    }

    /// The coils.
    pub fn assembly(&self) -> &'a Assembly {
        self.assembly
    }

    /// The field at the centre, T/A.
    pub(crate) fn centre_field_per_ampere(&self) -> Vector3<f64> {
        self.direction * self.centre
    }

    /// Whether the deviation is the same all the way round the z axis.
    pub(crate) fn is_axisymmetric(&self) -> bool {
        self.background.x == 0.0 && self.background.y == 0.0 && self.assembly.is_axisymmetric()
    }

    /// The coils' field at many points, T/A, without the background.
    pub fn fields(&self, points_m: &[Vector3<f64>]) -> Vec<Vector3<f64>> {
        self.assembly.field_per_ampere_at(points_m)
    }

    /// The coils' field at the points of a grid, T/A, without the background.
    pub(crate) fn fields_on(&self, grid: &PlaneGrid) -> Vec<Vector3<f64>> {
        self.assembly.field_per_ampere_on(grid)
    }

    /// The deviations at the points of a grid.
    pub(crate) fn over(&self, grid: &PlaneGrid) -> Vec<f64> {
        const TOGETHER: usize = 1 << 12;
        let mut fields = FieldColumns::default();
        self.assembly.fill_field_per_ampere_on(grid, &mut fields);
        let one = |index: usize| self.of(&fields.at(index));
        (0..fields.len()).into_par_iter().with_min_len(TOGETHER).map(one).collect()
    }

    /// The deviation at one point.
    pub fn at(&self, point_m: &Vector3<f64>) -> f64 {
        self.of(&self.assembly.field_per_ampere(point_m))
    }

    /// The deviations at many points (m, bench axes), in their order; fractions of the centre field, as from
    /// [`at`](Self::at). On many points this is faster.
    pub fn at_each(&self, points_m: &[Vector3<f64>]) -> Vec<f64> {
        self.assembly.field_per_ampere_at(points_m).iter().map(|field| self.of(field)).collect()
    }

    /// The deviation at a point where the coils' field is `per_ampere`.
    pub fn of(&self, per_ampere: &Vector3<f64>) -> f64 {
        (per_ampere + self.background).dot(&self.direction) / self.centre - 1.0
    }

    /// The angle between the local field, background included, and the coils' own field at the centre; `per_ampere` is
    /// the coils' field at the point. A background that turns the whole field away from the axis therefore counts.
    pub fn direction_error_rad(&self, per_ampere: &Vector3<f64>) -> f64 {
        let field = per_ampere + self.background;
        field.cross(&self.axis).norm().atan2(field.dot(&self.axis))
    }
}
