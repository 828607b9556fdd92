//! Windings on one axis: the series for points near the axis, and its reach.

use super::axis_row::AxisRows;
use super::axis_series::{
    AxisSources, MOST_TERMS, ZonalSeries, coefficients, largest_ratio, least_in_sphere, truncation,
};
use super::filament::Filament;
use super::placed::PlacedWinding;
use super::section::{OrderChoice, ProductOrder};
use super::turns::Turns;
use crate::constants::MU_0;
use crate::numeric::lanes::{InstructionSet, WIDEST};
use nalgebra::Vector3;
use std::f64::consts::SQRT_2;

/// The series lengths in use: the highest n of each.
const HIGHEST: [usize; 11] = [4, 10, 16, 24, 32, 40, 48, 58, 70, 84, MOST_TERMS - 1];

/// How many series lengths there are.
const LENGTHS: usize = HIGHEST.len();

/// One winding of the group, seen from the group's centre.
#[derive(Clone, Debug)]
struct Member {
    choice: OrderChoice,
    winding: PlacedWinding,
    /// The turns, if they are computed one by one.
    turns: Option<Turns>,
    height_m: f64,
    /// Turns times current, positive about the group's axis.
    ampere_turns: f64,
}

/// Windings whose axes lie on one line.
#[derive(Clone, Debug)]
pub(super) struct CoaxialGroup {
    /// Which windings of the assembly belong to it.
    pub indices: Vec<usize>,
    pub axis: Vector3<f64>,
    /// The point of the axis the series is about.
    pub centre_m: Vector3<f64>,
    members: Vec<Member>,
    tolerance: f64,
    set: InstructionSet,
    series: Option<CentralSeries>,
}

/// The series about the group's centre.
#[derive(Clone, Debug)]
pub(super) struct CentralSeries {
    pub zonal: ZonalSeries,
    /// Distance from the centre to the nearest conductor, the unit of length.
    pub scale_m: f64,
    /// Shortest first.
    lengths: [SeriesLength; HIGHEST.len()],
    /// |b_n| scale^n √((n + 2)/(n + 1)), T: the largest value a term can have at r = scale.
    largest: Vec<f64>,
    /// √2 (μ0/2) Σ|N I|/c, T.
    front_tesla: f64,
}

/// The reach of a number of terms.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct SeriesLength {
    /// The highest n.
    pub highest: usize,
    /// Square of the largest q = r/scale at which it serves.
    reach: f64,
    /// Bound of the truncation there, plus rounding.
    pub error_tesla: f64,
}

impl CentralSeries {
    /// The shortest series that serves points up to (r/scale)² = `r2` from the centre; the longest if none does.
    #[inline]
    pub(crate) fn length_at(&self, r2: f64) -> &SeriesLength {
        // Counting needs no branch.
        let beyond = self.lengths.iter().filter(|length| r2 > length.reach).count();
        &self.lengths[beyond.min(LENGTHS - 1)]
    }

    /// The (r/scale)² below which some length serves.
    pub(crate) fn farthest_reach(&self) -> f64 {
        self.lengths[LENGTHS - 1].reach
    }

    /// Bound of the sum of the terms beyond n = `highest` at r = q scale, T. Computed terms count with their own
    /// coefficients, the rest with the proven bound.
    fn truncation(&self, highest: usize, q: f64) -> f64 {
        let known = self.largest.iter().skip(highest + 1).rev().fold(0.0, |sum, term| sum * q + term);
        known * q.powi(highest as i32 + 1) + self.front_tesla * truncation(MOST_TERMS - 1, q)
    }
}

impl CoaxialGroup {
    /// Sorts windings into groups. Each group's centre is the point of its axis nearest to the middle of its windings.
    pub(super) fn of_all(
        windings: &[PlacedWinding],
        turns: Option<&[Turns]>,
        tolerance: f64,
        set: InstructionSet,
    ) -> Vec<Self> {
        let middle = windings.iter().map(|winding| winding.centre_m).sum::<Vector3<f64>>()
            / windings.len().max(1) as f64;
        let mut groups: Vec<Vec<usize>> = Vec::new();
        for (index, winding) in windings.iter().enumerate() {
            let on_axis_of = |group: &&mut Vec<usize>| {
                let first = &windings[group[0]];
                let between = winding.centre_m - first.centre_m;
                let sideways = between - first.axis * between.dot(&first.axis);
                first.axis.cross(&winding.axis).norm() == 0.0 && sideways.norm() == 0.0
            };
            match groups.iter_mut().find(on_axis_of) {
                Some(group) => group.push(index),
                None => groups.push(vec![index]),
            }
        }
        groups
            .into_iter()
            .map(|indices| Self::new(indices, (windings, turns), middle, tolerance, set))
            .collect()
    }

    fn new(
        indices: Vec<usize>,
        (windings, turns): (&[PlacedWinding], Option<&[Turns]>),
        middle: Vector3<f64>,
        tolerance: f64,
        set: InstructionSet,
    ) -> Self {
        let first = &windings[indices[0]];
        let axis = first.axis;
        let centre_m = first.centre_m + axis * axis.dot(&(middle - first.centre_m));
        let member = |&index: &usize| {
            let winding = windings[index];
            Member {
                choice: OrderChoice::new(winding.section, tolerance),
                winding,
                turns: turns.map(|turns| turns[index].clone()),
                height_m: axis.dot(&(winding.centre_m - centre_m)),
                ampere_turns: winding.turns * winding.current_share * axis.dot(&winding.axis).signum(),
            }
        };
        let members = indices.iter().map(member).collect();
        let mut group = Self { indices, axis, centre_m, members, tolerance, set, series: None };
        group.series = group.central_series();
        group
    }

    /// 1 for a member whose axis points along the group's, −1 for the opposite direction.
    fn turned(&self, member: &Member) -> f64 {
        member.winding.axis.dot(&self.axis).signum()
    }

    /// Distance from a point of the axis to the nearest conductor.
    fn clearance(&self, height: f64) -> f64 {
        let to = |member: &Member| {
            let section = &member.winding.section;
            if let Some(turns) = &member.turns {
                return turns.clearance(self.turned(member) * (height - member.height_m));
            }
            let inner = section.mean_radius_m - 0.5 * section.depth_m;
            inner.hypot(((member.height_m - height).abs() - 0.5 * section.width_m).max(0.0))
        };
        self.members.iter().map(to).fold(f64::INFINITY, f64::min)
    }

    /// Σ|B| of the members at a point of the axis, T, each taken as a filament in the middle of its section.
    fn sum_of_fields(&self, height: f64) -> f64 {
        let of = |member: &Member| {
            let a2 = member.winding.section.mean_radius_m.powi(2);
            let c2 = a2 + (member.height_m - height).powi(2);
            0.5 * MU_0 * member.ampere_turns.abs() * a2 / (c2 * c2.sqrt())
        };
        self.members.iter().map(of).sum()
    }

    /// √2 (μ0/2) Σ|N I|/c, T.
    fn truncation_front(&self, clearance: f64) -> f64 {
        let ampere_turns: f64 = self.members.iter().map(|member| member.ampere_turns.abs()).sum();
        0.5 * SQRT_2 * MU_0 * ampere_turns / clearance
    }

    /// Sources that replace the sections for points near the axis: within q times the distance to the nearest conductor
    /// of the axis points at the given heights. `None` if no product rule serves.
    fn sources(&self, heights: &[f64], q: f64) -> Option<AxisSources> {
        let mut all = AxisSources::default();
        for member in &self.members {
            if member.ampere_turns == 0.0 {
                continue;
            }
            let raised =
                |filament: Filament| Filament { height_m: filament.height_m + member.height_m, ..filament };
            if let Some(turns) = &member.turns {
                let sign = self.turned(member);
                let turned = |f: &Filament| Filament {
                    current_ampere: sign * f.current_ampere,
                    height_m: sign * f.height_m,
                    ..*f
                };
                all.loops.extend(turns.filaments().iter().map(turned).map(raised));
                continue;
            }
            let section = &member.winding.section;
            let inner = section.mean_radius_m - 0.5 * section.depth_m;
            let mut order: Option<ProductOrder> = None;
            for &height in heights {
                let reach = q * self.clearance(height);
                // The point of the sphere nearest to the section.
                let along = member.height_m - height;
                let beyond = (along.abs() - 0.5 * section.width_m).max(0.0) * along.signum();
                let shrink = reach / inner.hypot(beyond);
                let at = member.choice.at(inner * shrink, along - beyond * shrink)?;
                order = Some(order.map_or(at, |order| order.union(at)));
            }
            let order = order?;
            // The fields of the two ends cancel to a part, width a²/c³, of their size, which costs digits; loops lose
            // none.
            let farthest = heights.iter().map(|h| (member.height_m - h).abs()).fold(0.0, f64::max);
            let size = section.mean_radius_m.hypot(farthest);
            let lost = 2.0 * f64::EPSILON * size.powi(3) / (section.mean_radius_m.powi(2) * section.width_m);
            if lost < 0.02 * self.tolerance && order.axial_nodes() > 2 {
                all.ends.extend(member.choice.ends(order, member.ampere_turns).into_iter().map(raised));
            } else {
                all.loops.extend(member.choice.filaments(order, member.ampere_turns).into_iter().map(raised));
            }
        }
        Some(all)
    }

    fn central_series(&self) -> Option<CentralSeries> {
        let (scale_m, sum_tesla) = (self.clearance(0.0), self.sum_of_fields(0.0));
        // The comparison is written so that NaN gives no series.
        if !(scale_m > 0.0 && scale_m.is_finite() && sum_tesla > 0.0 && sum_tesla.is_finite()) {
            return None;
        }
        let front_tesla = self.truncation_front(scale_m);
        let limit = 0.5 * self.tolerance * sum_tesla;
        let farthest = |q: f64| front_tesla * truncation(MOST_TERMS - 1, q) / least_in_sphere(q);
        let farthest = largest_ratio(farthest, 0.5 * limit);
        let sources = self.sources(&[0.0], farthest)?;
        let columns = coefficients(&sources, &[0.0; WIDEST], &[scale_m; WIDEST], MOST_TERMS, self.set);
        let b: Vec<f64> = columns.iter().step_by(WIDEST).copied().collect();
        let zonal = ZonalSeries::new(&b, 1e-15 * sum_tesla);
        let largest = |(n, b): (usize, &f64)| b.abs() * ((n + 2) as f64 / (n + 1) as f64).sqrt();
        let mut series = CentralSeries {
            zonal,
            scale_m,
            lengths: [SeriesLength::default(); LENGTHS],
            largest: b.iter().enumerate().map(largest).collect(),
            front_tesla,
        };
        series.lengths = HIGHEST.map(|highest| {
            let left_out = |q: f64| series.truncation(highest, q) / least_in_sphere(q);
            let q = largest_ratio(left_out, limit).min(farthest);
            // The loops that replace the sections may add an error of the same size.
            let error_tesla = series.truncation(highest, q) + limit + 4e-15 * sum_tesla;
            SeriesLength { highest, reach: q * q, error_tesla }
        });
        Some(series)
    }

    /// Coefficients of (z/scale)^n of the field on the axis about the group's centre, T, and the scale, m.
    #[cfg(test)]
    pub(crate) fn axis_coefficients(&self, terms: usize) -> Option<(Vec<f64>, f64)> {
        let scale_m = self.clearance(0.0);
        let sources = self.sources(&[0.0], 0.5)?;
        let columns = coefficients(&sources, &[0.0; WIDEST], &[scale_m; WIDEST], terms, self.set);
        Some((columns.iter().step_by(WIDEST).copied().collect(), scale_m))
    }

    /// The central series, if there is one.
    pub(super) fn series(&self) -> Option<&CentralSeries> {
        self.series.as_ref()
    }

    /// The rows at the given heights over the group's centre, for points up to `rho_m` from the axis or to the series'
    /// reach, whichever is less. `None` if there is no series.
    pub(super) fn rows(&self, heights_m: &[f64], rho_m: f64) -> Option<AxisRows> {
        let mut heights = heights_m.to_vec();
        while !heights.len().is_multiple_of(WIDEST) {
            heights.push(*heights_m.last()?);
        }
        let scales: Vec<f64> = heights.iter().map(|&height| self.clearance(height)).collect();
        let wanted = scales.iter().fold(0.1_f64, |most, scale| most.max(rho_m / scale));
        let share = 0.5 * self.tolerance * least_in_sphere(wanted.min(1.0));
        let limits: Vec<f64> = heights.iter().map(|&height| share * self.sum_of_fields(height)).collect();
        let fronts: Vec<f64> = scales.iter().map(|&scale| self.truncation_front(scale)).collect();
        // NaN and windings without current fail here.
        if !limits.iter().zip(&scales).all(|(limit, scale)| *limit > 0.0 && limit.is_finite() && *scale > 0.0)
        {
            return None;
        }
        let least = limits
            .iter()
            .zip(&fronts)
            .map(|(limit, front)| 0.5 * limit / front)
            .fold(f64::INFINITY, f64::min);
        let serves = |&highest: &usize| wanted < 1.0 && truncation(highest, wanted) <= least;
        let (highest, ratio) = match HIGHEST.into_iter().find(serves) {
            Some(highest) => (highest, wanted),
            None => (MOST_TERMS - 1, largest_ratio(|q| truncation(MOST_TERMS - 1, q), least).min(wanted)),
        };
        let sources = self.sources(&heights, ratio)?;
        let columns = coefficients(&sources, &heights, &scales, (highest + 1).next_multiple_of(2), self.set);
        let limits: Vec<f64> = limits.iter().map(|limit| 0.25 * limit).collect();
        let rows = heights_m.len();
        Some(AxisRows::new(&columns, heights.len(), &scales[..rows], &limits[..rows], ratio))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::field::{Accuracy, Assembly, Section};

    fn winding(z: f64, section: (f64, f64, f64), turns: f64) -> PlacedWinding {
        PlacedWinding::on_axis(
            Section { mean_radius_m: section.0, width_m: section.1, depth_m: section.2 },
            turns,
            z,
        )
    }

    fn arrangements() -> Vec<(&'static str, Vec<PlacedWinding>)> {
        let pair = vec![
            winding(-0.084, (0.168, 0.021, 0.0085), 160.0),
            winding(0.084, (0.168, 0.021, 0.0085), 160.0),
        ];
        let mut built = pair.clone();
        built[0].centre_m += Vector3::new(0.0004, -0.0006, 0.0002);
        built[0].axis = Vector3::new(0.004, -0.002, 1.0).normalize();
        built[1].axis = Vector3::new(-0.02, 0.01, 1.0).normalize();
        built[1].turns = 159.5;
        let mut unequal = pair.clone();
        unequal[1] = winding(0.09, (0.16, 0.03, 0.01), 150.0);
        let mut backwards = pair.clone();
        backwards[1].current_share = -1.0;
        let mut turned = pair.clone();
        turned[1].axis = -turned[1].axis;
        let thick = vec![winding(-0.5, (1.0, 0.15, 0.15), 1.0), winding(0.5, (1.0, 0.15, 0.15), 1.0)];
        let three = vec![
            winding(-0.65, (0.756, 0.05, 0.05), 49.0),
            winding(0.0, (1.0, 0.05, 0.05), 64.0),
            winding(0.65, (0.756, 0.05, 0.05), 49.0),
        ];
        let tilted = (0..2)
            .map(|i| {
                let axis = Vector3::new(0.5, 0.3, 1.0 - 0.2 * f64::from(i)).normalize();
                PlacedWinding {
                    axis,
                    centre_m: axis * (0.5 - f64::from(i)),
                    ..winding(0.0, (1.0, 0.1, 0.1), 1.0)
                }
            })
            .collect();
        vec![
            ("pair", pair),
            ("as built", built),
            ("unequal", unequal),
            ("backwards", backwards),
            ("turned round", turned),
            ("thick", thick),
            ("three coils", three),
            ("tilted", tilted),
        ]
    }

    /// Points throughout a ball, denser toward its rim.
    fn ball(radius: f64, count: u32) -> impl Iterator<Item = Vector3<f64>> {
        (0..count).map(move |i| {
            let t = f64::from(i);
            let (r, u, phi) =
                ((t * 0.618_034).fract().sqrt(), (t * 0.754_878).fract() * 2.0 - 1.0, t * 2.399_963);
            let s = (1.0 - u * u).sqrt();
            Vector3::new(s * phi.cos(), s * phi.sin(), u) * (radius * r)
        })
    }

    fn served_by(group: &CoaxialGroup, point: &Vector3<f64>) -> bool {
        let series = group.series().unwrap();
        (point - group.centre_m).norm_squared() < series.farthest_reach() * series.scale_m.powi(2)
    }

    #[test]
    fn the_series_and_the_sum_over_windings_agree_to_the_tolerance_in_every_arrangement() {
        for (name, windings) in arrangements() {
            let reference = Assembly::new(windings.clone()).with_accuracy(Accuracy::relative(1e-13));
            for tolerance in [1e-12, 1e-9, 1e-6] {
                let assembly = Assembly::new(windings.clone()).with_accuracy(Accuracy::relative(tolerance));
                let groups = assembly.groups();
                let reach = groups.iter().map(|g| g.clearance(0.0)).fold(f64::INFINITY, f64::min);
                let points: Vec<_> = ball(0.75 * reach, 600).collect();
                let served = points.iter().filter(|p| groups.iter().all(|g| served_by(g, p))).count();
                assert!(served > 300, "{name} {tolerance:e}: only {served} points have a series");
                let got = assembly.try_field_per_ampere_at(&points).unwrap();
                for ((point, got), (wanted, scale)) in
                    points.iter().zip(got).zip(reference.without_series(&points))
                {
                    let error = (got.tesla_per_ampere - wanted).norm();
                    assert!(
                        error <= tolerance * scale,
                        "{name} {tolerance:e} {point}: {:e} of S",
                        error / scale
                    );
                    assert!(
                        error <= got.error_tesla_per_ampere + 2e-13 * scale,
                        "{name} {tolerance:e} {point}: {error:e}"
                    );
                }
            }
        }
    }

    #[test]
    fn the_series_of_a_symmetric_pair_has_only_even_terms_and_each_length_is_good_to_its_rim() {
        let (_, pair) = arrangements().swap_remove(0);
        let group = &CoaxialGroup::of_all(&pair, None, 1e-12, InstructionSet::Fastest)[0];
        let series = group.series.as_ref().unwrap();
        let reference = Assembly::new(pair);
        for length in series.lengths {
            for q in [length.reach.sqrt() * 0.999_999, length.reach.sqrt() * 1.000_001] {
                for angle in [0.0, 0.4, 0.9, 1.3, std::f64::consts::FRAC_PI_2] {
                    let r = q * series.scale_m;
                    let point = Vector3::new(r * f64::sin(angle), 0.0, r * f64::cos(angle));
                    let got = reference.field_per_ampere(&point);
                    let (wanted, scale) = reference.without_series(&[point])[0];
                    assert!((got - wanted).norm() < 1e-12 * scale, "q = {q}, angle {angle}");
                }
            }
        }
    }

    #[test]
    fn wide_sections_by_their_ends_and_narrow_ones_by_loops_agree_with_the_sum_over_windings() {
        let mut by_ends = Vec::new();
        for width in [0.6, 0.2, 0.06, 0.02, 0.006, 0.002, 1e-4, 0.0] {
            let pair = vec![winding(-0.5, (1.0, width, 0.1), 1.0), winding(0.5, (1.0, width, 0.1), 1.0)];
            let assembly = Assembly::new(pair.clone());
            let group = &assembly.groups()[0];
            let sources = group.sources(&[0.0], 0.5).unwrap();
            assert!(sources.ends.is_empty() != sources.loops.is_empty());
            by_ends.push(!sources.ends.is_empty());
            let points: Vec<_> = ball(0.5, 200).collect();
            let fields = assembly.field_per_ampere_at(&points);
            for ((point, got), (wanted, scale)) in
                points.iter().zip(fields).zip(assembly.without_series(&points))
            {
                let error = (got - wanted).norm() / scale;
                assert!(error < 1e-12, "width {width}, {point}: {error:e} of S");
            }
        }
        assert_eq!(by_ends, [true, true, true, false, false, false, false, false]);
    }

    #[test]
    fn the_ideal_pair_has_its_exact_coefficients() {
        // Source: exact (sympy); z⁴ as in Ruark and Peters, JOSA 13, 205 (1926) (from memory).
        let thread = (1.0, 1e-9, 1e-9);
        let pair = [winding(-0.5, thread, 1.0), winding(0.5, thread, 1.0)];
        let group = &CoaxialGroup::of_all(&pair, None, 1e-12, InstructionSet::Fastest)[0];
        let (b, scale) = group.axis_coefficients(12).unwrap();
        assert!((b[0] / (MU_0 * 0.8f64.powf(1.5)) - 1.0).abs() < 1e-14);
        for (n, wanted) in [
            (2, 0.0),
            (4, -144.0 / 125.0),
            (6, 19712.0 / 15625.0),
            (8, -29952.0 / 78125.0),
            (10, -5_812_224.0 / 9_765_625.0),
        ] {
            let got = b[n] / b[0] / scale.powi(n as i32);
            assert!((got - wanted).abs() < 1e-13, "z^{n}: {got} for {wanted}");
        }
    }
}
