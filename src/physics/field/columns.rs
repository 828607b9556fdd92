//! Points and the field there, one list per component, as the kernels need them.

use crate::numeric::lanes::{SIDE_BY_SIDE, WIDEST};
use nalgebra::Vector3;

/// Some points and the sums at them, each list padded to whole pairs of registers, all in one block of memory.
#[derive(Debug)]
pub(super) struct Columns {
    count: usize,
    padded: usize,
    lists: Vec<f64>,
}

/// The lists of [`Columns`].
pub(super) struct Lists<'a> {
    pub point_m: [&'a mut [f64]; 3],
    pub field_tesla: [&'a mut [f64]; 3],
    /// Sum of the estimated errors.
    pub error_tesla: &'a mut [f64],
    /// Scratch space of one number per point.
    pub scratch: &'a mut [f64],
}

impl Columns {
    /// Points without any field yet.
    pub(super) fn new(points_m: &[Vector3<f64>]) -> Self {
        let count = points_m.len();
        let padded = count.next_multiple_of(SIDE_BY_SIDE * WIDEST);
        let mut columns = Self { count, padded, lists: vec![0.0; 8 * padded] };
        let [x, y, z] = columns.lists().point_m;
        for (i, point) in points_m.iter().enumerate() {
            (x[i], y[i], z[i]) = (point.x, point.y, point.z);
        }
        columns
    }

    pub(super) fn lists(&mut self) -> Lists<'_> {
        let mut lists = self.lists.chunks_exact_mut(self.padded.max(1));
        let mut next = || lists.next().unwrap_or_default();
        Lists {
            point_m: [next(), next(), next()],
            field_tesla: [next(), next(), next()],
            error_tesla: next(),
            scratch: next(),
        }
    }

    pub(super) fn add(&mut self, index: usize, field_tesla: &Vector3<f64>, error_tesla: f64) {
        let Lists { field_tesla: [x, y, z], error_tesla: error, .. } = self.lists();
        x[index] += field_tesla.x;
        y[index] += field_tesla.y;
        z[index] += field_tesla.z;
        error[index] += error_tesla;
    }

    pub(crate) fn set_field(&mut self, index: usize, field_tesla: &Vector3<f64>) {
        let [x, y, z] = self.lists().field_tesla;
        (x[index], y[index], z[index]) = (field_tesla.x, field_tesla.y, field_tesla.z);
    }

    /// Writes the field of every point.
    pub(super) fn write(&mut self, field_tesla: &mut [Vector3<f64>]) {
        let [x, y, z] = self.lists().field_tesla;
        for (((field, x), y), z) in field_tesla.iter_mut().zip(x).zip(y).zip(z) {
            *field = Vector3::new(*x, *y, *z);
        }
    }

    /// How many points there are.
    pub(super) fn count(&self) -> usize {
        self.count
    }

    /// The estimated error at one point.
    pub(super) fn error_tesla(&mut self, index: usize) -> f64 {
        self.lists().error_tesla[index]
    }
}
