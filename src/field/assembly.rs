//! Windings placed in space, and the field of all of them together.

use super::loop_field::loop_field_per_ampere;
use crate::electrical;
use crate::spec::{Bench, Model};
use nalgebra::{Rotation3, Vector3};

/// The rectangular section of one winding.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Section {
    /// Radius of the middle of the section.
    pub mean_radius_m: f64,
    /// Extent along the axis.
    pub width_m: f64,
    /// Extent along the radius.
    pub depth_m: f64,
}

/// One winding where it stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlacedWinding {
    /// Its section.
    pub section: Section,
    /// Its turns.
    pub turns: f64,
    /// Its centre.
    pub centre_m: Vector3<f64>,
    /// Unit vector along its axis; positive current makes field along it.
    pub axis: Vector3<f64>,
    /// Its current per ampere through the ammeter; negative for a coil connected backwards.
    pub current_share: f64,
}

/// Any number of placed windings carrying one current.
#[derive(Clone, Debug)]
pub struct Assembly {
    windings: Vec<PlacedWinding>,
}

impl Assembly {
    /// The given windings together.
    pub fn new(windings: Vec<PlacedWinding>) -> Self {
        Self { windings }
    }

    /// The coil pair of a bench, coil a at −spacing/2 and coil b at +spacing/2 plus their offsets.
    pub fn of(bench: &Bench, model: Model) -> Self {
        let shares = electrical::current_shares(bench, model);
        let half = 0.5 * bench.spacing_m;
        let windings = bench
            .coils(model)
            .iter()
            .zip([-half, half])
            .zip(shares)
            .map(|((coil, z), share)| PlacedWinding {
                section: Section {
                    mean_radius_m: coil.mean_radius_m,
                    width_m: coil.width_m,
                    depth_m: coil.depth_m,
                },
                turns: coil.turns,
                centre_m: Vector3::new(0.0, 0.0, z) + coil.offset_m,
                axis: Rotation3::new(Vector3::new(coil.tilt_rad[0], coil.tilt_rad[1], 0.0)) * Vector3::z(),
                current_share: share * coil.sense,
            })
            .collect();
        Self { windings }
    }

    /// The windings.
    pub fn windings(&self) -> &[PlacedWinding] {
        &self.windings
    }

    /// The field at a point per ampere through the ammeter, T/A.
    pub fn field_per_ampere(&self, point_m: &Vector3<f64>) -> Vector3<f64> {
        self.windings.iter().map(|winding| winding.field_per_ampere(point_m)).sum()
    }

    /// The field at many points per ampere through the ammeter, T/A.
    pub fn field_per_ampere_at(&self, points_m: &[Vector3<f64>]) -> Vec<Vector3<f64>> {
        points_m.iter().map(|point| self.field_per_ampere(point)).collect()
    }
}

impl PlacedWinding {
    fn field_per_ampere(&self, point_m: &Vector3<f64>) -> Vector3<f64> {
        let from_centre = point_m - self.centre_m;
        let zeta = from_centre.dot(&self.axis);
        let radial = from_centre - self.axis * zeta;
        let rho = radial.norm();
        let (mut b_rho, mut b_zeta) = (0.0, 0.0);
        // 4-point Gauss–Legendre nodes and weights on [-1, 1].
        const NODES: [(f64, f64); 4] = [
            (-0.861_136_311_594_052_6, 0.347_854_845_137_453_86),
            (-0.339_981_043_584_856_26, 0.652_145_154_862_546_1),
            (0.339_981_043_584_856_26, 0.652_145_154_862_546_1),
            (0.861_136_311_594_052_6, 0.347_854_845_137_453_86),
        ];
        for (u, weight_u) in NODES {
            for (v, weight_v) in NODES {
                let (r, z) = loop_field_per_ampere(
                    self.section.mean_radius_m + 0.5 * self.section.depth_m * u,
                    rho,
                    zeta - 0.5 * self.section.width_m * v,
                );
                b_rho += 0.25 * weight_u * weight_v * r;
                b_zeta += 0.25 * weight_u * weight_v * z;
            }
        }
        let direction = if rho > 0.0 { radial / rho } else { Vector3::zeros() };
        (direction * b_rho + self.axis * b_zeta) * (self.turns * self.current_share)
    }
}
