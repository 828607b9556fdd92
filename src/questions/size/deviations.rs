//! The worst deviation over the beam of thousands of sections of one mean radius.
//!
//! The exact series is evaluated at nodes over the ranges of width, depth and spacing, and each sample's deviation is
//! interpolated between them by polynomials. If this differs from the exact series by more than a millionth anywhere
//! between the nodes, the series itself is used. Nothing here depends on a limit.

use super::between::{chebyshev, weights};
use super::space::{SpacingRow, Spacings};
use crate::physics::field::{PairSeries, SampledRegion, Samples, Section, blended, worst_of};
use std::cell::OnceCell;

/// Nodes along width and along depth.
const NODES: usize = 5;
/// Offsets from the smooth spacing; they reach a little beyond its largest rounding.
const SPACING_NODES_M: [f64; 3] = [-0.06e-3, 0.0, 0.06e-3];
/// Largest difference from the exact series, relative to the centre field.
const CLOSE: f64 = 1e-6;
/// No deviation anywhere.
const NOTHING: Samples = [0.0; std::mem::size_of::<Samples>() / std::mem::size_of::<f64>()];
/// Relative accuracy of the series.
const SERIES_TOLERANCE: f64 = 1e-8;

/// Worst deviations over a region, for sections of one mean radius.
pub(super) struct Deviations<'a> {
    region: &'a SampledRegion,
    mean_radius_m: f64,
    table: Option<Table>,
}

/// The deviations at the nodes: for each plane and each node of the width, the nodes of the depth.
struct Table {
    ranges: [[f64; 2]; 2],
    width_m: [f64; NODES],
    depth_m: [f64; NODES],
    planes: Vec<[[Samples; NODES]; NODES]>,
    /// Whether the planes are offsets from the smooth spacing, and not spacings of their own.
    about_smooth: bool,
}

/// The deviations of one width.
pub(super) struct DeviationRow<'a> {
    deviations: &'a Deviations<'a>,
    width_m: f64,
    /// For each plane, the samples at the nodes of the depth.
    rows: OnceCell<Vec<f64>>,
}

impl<'a> Deviations<'a> {
    /// For one mean radius, over ranges of width and depth, with the spacings of these sections.
    pub(super) fn of(
        region: &'a SampledRegion,
        mean_radius_m: f64,
        ranges: [[f64; 2]; 2],
        spacings: &Spacings,
    ) -> Self {
        let mut deviations = Self { region, mean_radius_m, table: None };
        deviations.table =
            Table::of(&deviations, ranges, spacings).filter(|table| table.is_close(&deviations, spacings));
        deviations
    }

    /// The worst deviation of one section by the exact series; infinite if the region reaches into the copper.
    pub(super) fn worst(&self, width_m: f64, depth_m: f64, spacing_m: f64) -> f64 {
        self.samples(width_m, depth_m, spacing_m).map_or(f64::INFINITY, |samples| worst_of(&samples))
    }

    /// The deviations at the samples by the exact series; `None` if the region comes too near to the copper.
    fn samples(&self, width_m: f64, depth_m: f64, spacing_m: f64) -> Option<Samples> {
        let section = Section { mean_radius_m: self.mean_radius_m, width_m, depth_m };
        let series = PairSeries::of(&section, spacing_m, self.region.reach_m(), SERIES_TOLERANCE)?;
        Some(self.region.deviations(&series))
    }

    /// For sections of one width.
    pub(super) fn row(&'a self, width_m: f64) -> DeviationRow<'a> {
        DeviationRow { deviations: self, width_m, rows: OnceCell::new() }
    }
}

impl DeviationRow<'_> {
    /// The worst deviation of the section with this depth at one of its spacings; infinite if the region reaches into
    /// the copper.
    pub(super) fn worst(&self, depth_m: f64, spacing: &SpacingRow, number: usize, spacing_m: f64) -> f64 {
        match &self.deviations.table {
            Some(table) if table.holds(self.width_m, depth_m) => {
                let rows = self.rows.get_or_init(|| table.of_width(self.width_m));
                worst_of(&table.samples(rows, depth_m, spacing, number, spacing_m))
            }
            _ => self.deviations.worst(self.width_m, depth_m, spacing_m),
        }
    }
}

impl Table {
    fn of(deviations: &Deviations, ranges: [[f64; 2]; 2], spacings: &Spacings) -> Option<Self> {
        let [width_m, depth_m] = ranges.map(chebyshev);
        let about_smooth = spacings.follow_the_section();
        let count = if about_smooth { SPACING_NODES_M.len() } else { spacings.count() };
        // The offsets from the smooth spacing. For spacings of their own only the count matters.
        let from_smooth_m = SPACING_NODES_M.into_iter().chain(std::iter::repeat(0.0)).take(count);
        let mut planes = Vec::with_capacity(count);
        for (number, off_m) in from_smooth_m.enumerate() {
            let mut plane = [[NOTHING; NODES]; NODES];
            for (row, width) in plane.iter_mut().zip(width_m) {
                let spacing = spacings.row(width);
                for (value, depth) in row.iter_mut().zip(depth_m) {
                    let spacing_m = match about_smooth {
                        true => spacing.smooth_m(depth) + off_m,
                        false => spacing.spacing_m(depth, number),
                    };
                    *value = deviations.samples(width, depth, spacing_m)?;
                }
            }
            planes.push(plane);
        }
        Some(Self { ranges, width_m, depth_m, planes, about_smooth })
    }

    /// For one width: plane by plane, the samples at the nodes of the depth.
    fn of_width(&self, width_m: f64) -> Vec<f64> {
        let along_width = weights(&self.width_m, width_m);
        let mut rows = Vec::with_capacity(self.planes.len() * NODES * NOTHING.len());
        for plane in &self.planes {
            for depth in 0..NODES {
                let mut sum = NOTHING;
                for (weight, row) in along_width.iter().zip(plane) {
                    for (sum, value) in sum.iter_mut().zip(&row[depth]) {
                        *sum += weight * value;
                    }
                }
                rows.extend_from_slice(&sum);
            }
        }
        rows
    }

    /// The deviations at the samples, from the rows of one width.
    fn samples(
        &self,
        rows: &[f64],
        depth_m: f64,
        spacing: &SpacingRow,
        number: usize,
        spacing_m: f64,
    ) -> Samples {
        let along_depth = weights(&self.depth_m, depth_m);
        if !self.about_smooth {
            let plane = NODES * NOTHING.len();
            return blended(&along_depth, &rows[number * plane..(number + 1) * plane]);
        }
        let off_smooth = spacing_m - spacing.smooth_m(depth_m);
        let mut all = [0.0; SPACING_NODES_M.len() * NODES];
        for (plane, share) in all.chunks_exact_mut(NODES).zip(weights(&SPACING_NODES_M, off_smooth)) {
            for (weight, along) in plane.iter_mut().zip(along_depth) {
                *weight = share * along;
            }
        }
        blended(&all, rows)
    }

    /// Whether a section lies in the table's ranges.
    fn holds(&self, width_m: f64, depth_m: f64) -> bool {
        let within = |[low, high]: [f64; 2], value: f64| (low - 1e-9..=high + 1e-9).contains(&value);
        within(self.ranges[0], width_m) && within(self.ranges[1], depth_m)
    }

    /// Whether the table agrees with the exact series between its nodes and at the ends of its ranges.
    fn is_close(&self, deviations: &Deviations, spacings: &Spacings) -> bool {
        let sides = [(&self.width_m, self.ranges[0]), (&self.depth_m, self.ranges[1])];
        let [widths, depths] = sides.map(|(nodes, ends)| {
            let between = nodes.windows(2).map(|pair| 0.5 * (pair[0] + pair[1]));
            between.chain(ends).collect::<Vec<f64>>()
        });
        widths.into_iter().all(|width_m| {
            let (spacing, rows) = (spacings.row(width_m), self.of_width(width_m));
            depths.iter().all(|depth_m| {
                (0..spacings.count()).all(|number| {
                    let spacing_m = spacing.spacing_m(*depth_m, number);
                    let found = self.samples(&rows, *depth_m, &spacing, number, spacing_m);
                    let exact = deviations.samples(width_m, *depth_m, spacing_m);
                    exact.is_some_and(|exact| {
                        exact.iter().zip(found).all(|(exact, found)| (exact - found).abs() <= CLOSE)
                    })
                })
            })
        })
    }
}
