//! The electron's path through a static magnetic field.

use super::electron::Electron;
use super::gun::{Gun, in_beam_plane};
use crate::error::Refused;
use crate::numeric::ode::{
    Crossing, Event, IntegrationEnd, Options, Solution, State, Statistics, USUAL_PARTS, integrate,
};
use crate::{Error, Result};
use nalgebra::Vector3;

/// The length of path to follow if the beam strikes nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PathLength {
    /// Half a circle, to the crossing opposite the gun.
    HalfCircle,
    /// A number of circles, at least one.
    Circles(u32),
}

/// Extent and accuracy of a path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PathOptions {
    /// Local error allowed in one step, relative to the beam's radius and direction.
    pub tolerance: f64,
    /// The length to follow if nothing stops the beam.
    pub extent: PathLength,
    /// Centre and inner radius of the glass, which ends the path; `None` for no glass.
    pub bulb: Option<(Vector3<f64>, f64)>,
    /// Whether the gun's body ends the path; counts only with a bulb.
    pub gun_stops_beam: bool,
}

impl PathOptions {
    /// The default tolerance.
    pub(crate) const TOLERANCE: f64 = 1e-12;

    /// No bulb and no gun body, with the default tolerance.
    pub fn in_the_open(extent: PathLength) -> Self {
        Self { tolerance: Self::TOLERANCE, extent, bulb: None, gun_stops_beam: false }
    }
}

/// Why a path ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Halt {
    /// It has gone the length asked for.
    GoneRound,
    /// It struck the glass.
    Bulb,
    /// It struck the gun's body.
    Gun,
    /// It neither came round nor struck anything in the length allowed.
    LengthLimit,
}

/// The electron at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PathPoint {
    /// Time since it left the gun.
    pub time_s: f64,
    /// Its position.
    pub position_m: Vector3<f64>,
    /// Its velocity.
    pub velocity_m_per_s: Vector3<f64>,
}

/// A path from the gun exit to its end.
#[derive(Clone, Debug)]
pub struct Path {
    /// Why it ends.
    pub halt: Halt,
    /// Its end.
    pub end: PathPoint,
    /// The point opposite the gun: where the beam first crosses, moving backward, the plane through the gun exit normal
    /// to the gun's direction in the beam plane.
    pub opposite_crossing: Option<PathPoint>,
    /// The ends of its turns: where it crosses that plane moving forward, crossings behind the gun's body included.
    pub turns: Vec<PathPoint>,
    /// Largest relative change of the kinetic energy at any step; it is the error of the integration, since the exact
    /// value is 0.
    pub energy_drift: f64,
    /// Cost and accuracy of the integration.
    pub statistics: Statistics,
    solution: Solution<6>,
    frame: Frame,
    end_arc: f64,
}

/// The unit of length and the start of an integration.
#[derive(Clone, Copy, Debug)]
struct Frame {
    exit_m: Vector3<f64>,
    unit_m: f64,
    speed_m_per_s: f64,
}

impl Frame {
    fn position_m(&self, state: &State<6>) -> Vector3<f64> {
        self.exit_m + state.fixed_rows::<3>(0) * self.unit_m
    }

    fn point(&self, arc: f64, state: &State<6>) -> PathPoint {
        PathPoint {
            time_s: arc * self.unit_m / self.speed_m_per_s,
            position_m: self.position_m(state),
            velocity_m_per_s: state.fixed_rows::<3>(3) * self.speed_m_per_s,
        }
    }
}

impl Path {
    /// The time of flight.
    pub(crate) fn duration_s(&self) -> f64 {
        self.end.time_s
    }

    /// The electron at a time; a time outside the path gives the nearest end.
    pub fn at(&self, time_s: f64) -> PathPoint {
        let arc = (time_s * self.frame.speed_m_per_s / self.frame.unit_m).clamp(0.0, self.end_arc);
        self.frame.point(arc, &self.solution.at(arc))
    }

    /// The path as points at equal intervals of time, both ends included; the direction turns by at most `turn_rad`
    /// between two points.
    pub fn points(&self, turn_rad: f64) -> Vec<PathPoint> {
        let turned: f64 =
            self.solution.steps.iter().map(|step| turning_of(step.time, step.length, self)).sum();
        let intervals = (turned / turn_rad).ceil().clamp(16.0, 100_000.0) as u32;
        (0..=intervals).map(|i| self.at(self.duration_s() * f64::from(i) / f64::from(intervals))).collect()
    }

    /// Half the distance from the gun exit to the opposite crossing, seen along the axis: the radius that a person
    /// reads.
    ///
    /// `None` if the beam does not reach the opposite crossing.
    pub fn read_radius_m(&self) -> Option<f64> {
        self.opposite_crossing.map(|crossing| {
            let across = crossing.position_m - self.frame.exit_m;
            0.5 * across.x.hypot(across.y)
        })
    }
}

/// Angle through which the direction turns over `length` from `arc` on, the path taken as straight segments.
fn turning_of(arc: f64, length: f64, path: &Path) -> f64 {
    let direction = |arc: f64| path.solution.at(arc).fixed_rows::<3>(3).into_owned();
    direction(arc).angle(&direction((arc + length).min(path.end_arc)))
}

/// Follows an electron from the gun through the static field `field_tesla`(position).
///
/// With s the length of the path and u the unit vector along it, dx/ds = u and du/ds = −(e/p) u × B: the force −e v × B
/// turns the momentum p u but does not change its size p, nor γ. The equations are integrated in units of the radius at
/// the exit. The radius read is accurate to about 10 tolerances relative, the kinetic energy to 1e-10 at the default
/// tolerance; both are tested against the 14-digit orbits in `tests/data/beam_trajectory.csv` and against a second
/// integrator.
///
/// Lengths are in m, the field is in T, and both are in bench axes.
///
/// ```
/// use coilwright::physics::beam::{Electron, PathLength, Gun, PathOptions, trace};
/// use nalgebra::Vector3;
/// let gun = Gun::new(Vector3::new(0.05, 0.0, 0.0), Vector3::y())?;
/// let electron = Electron::after(200.0)?;
/// let path = trace(|_| Vector3::z() * 1e-3, &electron, &gun, &PathOptions::in_the_open(PathLength::HalfCircle))?;
/// let radius_m = path.read_radius_m().unwrap();
/// assert!((radius_m / electron.radius_in_uniform_field_m(1e-3) - 1.0).abs() < 1e-11); // 47.7 mm
/// assert!(path.opposite_crossing.unwrap().position_m.x < 0.0); // it bends toward −x
/// # Ok::<(), coilwright::Error>(())
/// ```
///
/// # Errors
/// - [`Refused::GunNotUsable`]: the gun's direction is not of length one, or its exit is not finite.
/// - [`Refused::BeamCannotBeFollowed`]: no radius follows from the field at the exit (without a bulb also no field).
/// - [`Error::NotConverged`]: the field is not finite on the path, or the path takes too many steps.
pub fn trace(
    field_tesla: impl Fn(&Vector3<f64>) -> Vector3<f64>,
    electron: &Electron,
    gun: &Gun,
    options: &PathOptions,
) -> Result<Path> {
    gun.checked()?;
    let rigidity = electron.rigidity_tesla_m();
    let bulb = options.bulb.unwrap_or((gun.exit_m, f64::INFINITY));
    let at_exit_m = rigidity / field_tesla(&gun.exit_m).norm();
    let unit_m = at_exit_m.min(2.0 * bulb.1);
    if !(unit_m.is_finite() && unit_m > 0.0) {
        return Err(Refused::BeamCannotBeFollowed { radius_m: at_exit_m }.into());
    }
    let frame = Frame { exit_m: gun.exit_m, unit_m, speed_m_per_s: electron.speed_m_per_s };
    let derivative = |_: f64, state: &State<6>| {
        let direction = state.fixed_rows::<3>(3).into_owned();
        let turning = direction.cross(&field_tesla(&frame.position_m(state))) * (-unit_m / rigidity);
        let mut slope = State::<6>::zeros();
        slope.fixed_rows_mut::<3>(0).copy_from(&direction);
        slope.fixed_rows_mut::<3>(3).copy_from(&turning);
        slope
    };
    let across = in_beam_plane(&gun.direction).unwrap_or_else(Vector3::zeros);
    let ahead = |_: f64, state: &State<6>| state.fixed_rows::<3>(0).dot(&across);
    let outside_bulb = |_: f64, state: &State<6>| {
        (frame.position_m(state) - bulb.0).norm_squared() / (bulb.1 * bulb.1) - 1.0
    };
    let beside_gun = |_: f64, state: &State<6>| gun.distance_to_body_m(&frame.position_m(state)) / unit_m;
    let (opposites, revolutions) = match options.extent {
        PathLength::HalfCircle => (Some(1), 1),
        PathLength::Circles(revolutions) => (None, revolutions.max(1)),
    };
    let event =
        |function, crossing, stop_at| Event { function, crossing, stop_at, parts_of_step: USUAL_PARTS };
    let mut events = vec![
        event(&ahead as &dyn Fn(f64, &State<6>) -> f64, Crossing::Falling, opposites),
        event(&ahead, Crossing::Rising, Some(revolutions)),
    ];
    if options.bulb.is_some() {
        events.push(event(&outside_bulb, Crossing::Rising, Some(1)));
    }
    if options.gun_stops_beam && options.bulb.is_some() {
        events.push(event(&beside_gun, Crossing::Falling, None));
    }
    let mut start = State::<6>::zeros();
    start.fixed_rows_mut::<3>(3).copy_from(&*gun.direction);
    // Long enough for the turns asked for even if the field falls to a sixth of that at the exit.
    let longest_arc = 40.0 * (f64::from(revolutions) + 1.0);
    // Steps of a quarter radian keep the dense output as accurate as the steps at the default tolerance.
    let ode_options = Options { longest_step: 0.25, ..Options::with_tolerance(options.tolerance) };
    let solution = integrate(derivative, 0.0, start, longest_arc, &ode_options, &events);
    path_of(solution, frame, electron)
}

/// The events of [`trace`], in the order in which it hands them to the integrator.
const OPPOSITE: usize = 0;
const TURN: usize = 1;
const BULB: usize = 2;
const GUN: usize = 3;

/// The path from an integration.
fn path_of(solution: Solution<6>, frame: Frame, electron: &Electron) -> Result<Path> {
    let struck_gun = solution.hits.iter().find(|hit| hit.event == GUN).copied();
    let (halt, end_arc, end_state) = match (struck_gun, solution.stopped) {
        (Some(hit), _) => (Halt::Gun, hit.time, hit.state),
        (None, IntegrationEnd::EndTime) => (Halt::LengthLimit, solution.end_time, solution.end_state),
        (None, IntegrationEnd::Event(BULB)) => (Halt::Bulb, solution.end_time, solution.end_state),
        (None, IntegrationEnd::Event(_)) => (Halt::GoneRound, solution.end_time, solution.end_state),
        (None, IntegrationEnd::StepLimit | IntegrationEnd::StepTooShort | IntegrationEnd::NotFinite) => {
            return Err(Error::NotConverged {
                what: "the beam's path, in metres from the gun exit,",
                best: solution.end_time * frame.unit_m,
                error_estimate: f64::INFINITY,
            });
        }
    };
    let hits_of = |event: usize| solution.hits.iter().filter(move |hit| hit.event == event);
    let opposite_crossing = hits_of(OPPOSITE)
        .next()
        .filter(|hit| hit.time <= end_arc)
        .map(|hit| frame.point(hit.time, &hit.state));
    let turns = hits_of(TURN).map(|hit| frame.point(hit.time, &hit.state)).collect();
    let energy_drift = solution
        .steps
        .iter()
        .map(|step| energy_change(electron, &step.at(step.time + step.length)))
        .fold(0.0, f64::max);
    Ok(Path {
        halt,
        end: frame.point(end_arc, &end_state),
        opposite_crossing,
        turns,
        energy_drift,
        statistics: solution.statistics,
        solution,
        frame,
        end_arc,
    })
}

/// |ΔT|/T of a state whose direction is no longer a unit vector: dT/T = (1 + 1/γ) dp/p.
fn energy_change(electron: &Electron, state: &State<6>) -> f64 {
    (1.0 + 1.0 / electron.lorentz_factor) * (state.fixed_rows::<3>(3).norm() - 1.0).abs()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::beam::gun::GUN_BODY_RADIUS_M;
    use crate::physics::field::{Assembly, PlacedWinding, Section};
    use approx::assert_relative_eq;

    /// The ideal pair of tests/data/beam_trajectory.csv: filaments (a millionth of a metre thick here) of
    /// radius and spacing 0.20 m with 150 ampere-turns each.
    fn ideal_pair() -> Assembly {
        let section = Section { mean_radius_m: 0.2, width_m: 1e-6, depth_m: 1e-6 };
        let winding = |z: f64| PlacedWinding::on_axis(section, 150.0, z);
        Assembly::new(vec![winding(-0.1), winding(0.1)])
    }

    fn gun(x: f64, direction: Vector3<f64>) -> Gun {
        Gun::new(Vector3::new(x, 0.0, 0.0), direction).unwrap()
    }

    fn turns(revolutions: u32) -> PathOptions {
        PathOptions::in_the_open(PathLength::Circles(revolutions))
    }

    #[test]
    fn orbits_in_an_ideal_pair_agree_with_the_reference_orbits_to_a_billionth() {
        // Source: tests/data/beam_trajectory.csv, two integrators that agree to 2e-14 m.
        let pair = ideal_pair();
        let electron = Electron::after(200.0).unwrap();
        let mut rows = 0;
        for line in include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/beam_trajectory.csv"))
            .lines()
            .skip(2)
        {
            let cells: Vec<&str> = line.split(',').collect();
            let number = |i: usize| cells[i].parse::<f64>().unwrap();
            if cells[7].is_empty() {
                continue;
            }
            let gun = gun(number(1), Vector3::new(number(4), number(5), number(6)));
            let path = trace(|x| pair.field_per_ampere(x), &electron, &gun, &turns(9)).unwrap();
            let point = path.at(number(7));
            let place = (point.position_m - Vector3::new(number(8), number(9), number(10))).norm();
            let motion = (point.velocity_m_per_s - Vector3::new(number(11), number(12), number(13))).norm();
            assert!(place < 1e-9 * 0.05, "{line}: {place:e} m off");
            assert!(motion < 1e-9 * electron.speed_m_per_s, "{line}: {motion:e} m/s off");
            rows += 1;
        }
        assert_eq!(rows, 12);
    }

    #[test]
    fn a_second_integrator_finds_the_same_path_to_a_billionth() {
        // The classical Runge–Kutta method of order 4 in time and SI units, 6000 steps a turn, on γ m dv/dt = −e v × B:
        // another method, order, variable and scale. Its own error is (2π/6000)⁴/120 or about 1e-14 per step.
        let mut tilted = ideal_pair().windings().to_vec();
        tilted[0].axis = Vector3::new(0.01, -0.02, 1.0).normalize();
        tilted[1].centre_m += Vector3::new(1e-3, -2e-3, 5e-4);
        let pair = Assembly::new(tilted);
        let room = Vector3::new(12e-6, -44e-6, 18e-6);
        let field = |x: &Vector3<f64>| pair.field_per_ampere(x) + room;
        let electron = Electron::after(250.0).unwrap();
        let start = gun(0.055, Vector3::new(0.0, 0.98, 0.02 * 98f64.sqrt()).normalize());
        let path = trace(field, &electron, &start, &turns(2)).unwrap();
        let charge_over_mass = crate::constants::ELEMENTARY_CHARGE_COULOMB
            / (electron.lorentz_factor * crate::constants::ELECTRON_MASS_KG);
        let force = |x: &Vector3<f64>, v: &Vector3<f64>| -v.cross(&field(x)) * charge_over_mass;
        let steps = 12_000;
        let dt = path.duration_s() / f64::from(steps);
        let (mut x, mut v) = (start.exit_m, start.direction.into_inner() * electron.speed_m_per_s);
        for step in 1..=steps {
            let (x1, v1) = (v, force(&x, &v));
            let (x2, v2) = (v + v1 * (0.5 * dt), force(&(x + x1 * (0.5 * dt)), &(v + v1 * (0.5 * dt))));
            let (x3, v3) = (v + v2 * (0.5 * dt), force(&(x + x2 * (0.5 * dt)), &(v + v2 * (0.5 * dt))));
            let (x4, v4) = (v + v3 * dt, force(&(x + x3 * dt), &(v + v3 * dt)));
            x += (x1 + (x2 + x3) * 2.0 + x4) * (dt / 6.0);
            v += (v1 + (v2 + v3) * 2.0 + v4) * (dt / 6.0);
            if step % 1000 == 0 {
                let found = path.at(dt * f64::from(step));
                let apart = (found.position_m - x).norm();
                assert!(apart < 1e-9 * 0.05, "after {step} steps: {apart:e} m");
                assert!((found.velocity_m_per_s - v).norm() < 1e-9 * electron.speed_m_per_s);
            }
        }
    }

    #[test]
    fn energy_is_conserved_to_a_ten_billionth_on_every_point_written() {
        let pair = ideal_pair();
        let electron = Electron::after(300.0).unwrap();
        for tilt in [0.0, 0.3] {
            let direction = Vector3::new(0.0, f64::cos(tilt), f64::sin(tilt));
            let path =
                trace(|x| pair.field_per_ampere(x), &electron, &gun(0.05, direction), &turns(3)).unwrap();
            assert!(path.energy_drift < 1e-11, "{:e}", path.energy_drift);
            let worst = path
                .points(0.03)
                .iter()
                .map(|point| (point.velocity_m_per_s.norm() / electron.speed_m_per_s - 1.0).abs())
                .fold(0.0, f64::max);
            assert!(2.0 * worst < 1e-10, "{worst:e}");
        }
    }

    #[test]
    fn a_helix_in_a_uniform_field_has_the_pitch_of_the_table() {
        // Source: tests/data/beam.csv, column pitch80_m: 2π p cos 80°/(e B), the velocity at 80° to the field.
        for line in include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/beam.csv")).lines().skip(2)
        {
            let cells: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
            let electron = Electron::after(cells[0]).unwrap();
            let (sin, cos) = 80f64.to_radians().sin_cos();
            let gun = gun(0.03, Vector3::new(0.0, sin, cos));
            let path = trace(|_| Vector3::z() * cells[1], &electron, &gun, &turns(2)).unwrap();
            let pitch = path.turns[1].position_m.z - path.turns[0].position_m.z;
            assert_relative_eq!(pitch, cells[8], max_relative = 1e-11);
            assert_relative_eq!(path.read_radius_m().unwrap(), cells[3] * sin, max_relative = 1e-11);
            assert_relative_eq!(path.turns[0].time_s, cells[7], max_relative = 1e-11);
            assert_eq!(path.halt, Halt::GoneRound);
        }
    }

    #[test]
    fn the_mean_drift_across_a_field_gradient_is_the_published_one() {
        // v_drift = (v r_L/2) |grad B|/B to first order (NRL Plasma Formulary, "Drift velocities"); the exact drift in
        // a linear gradient over the first-order one, for r_L |grad B|/B = 0.01, 0.05, 0.1, 0.2: computed by
        // quadrature.
        for (steepness, exact_over_first_order) in
            [(0.01, 1.0001125), (0.05, 1.0028278), (0.1, 1.0115004), (0.2, 1.0493704)]
        {
            let electron = Electron::after(200.0).unwrap();
            let field = 1e-3;
            let radius = electron.radius_in_uniform_field_m(field);
            let gradient = steepness / radius;
            // B = B0 (1 + g x), x measured from the guiding line, where the electron moves along the gradient.
            let gun = Gun::new(Vector3::zeros(), Vector3::x()).unwrap();
            let path =
                trace(|at| Vector3::z() * (field * (1.0 + gradient * at.x)), &electron, &gun, &turns(1))
                    .unwrap();
            // One turn: from x = 0 with motion along +x to the next such moment.
            let turn = path.turns[0];
            let drift = (turn.position_m.y / turn.time_s).abs();
            let first_order = 0.5 * electron.speed_m_per_s * steepness;
            assert_relative_eq!(drift / first_order, exact_over_first_order, max_relative = 1e-6);
        }
    }

    #[test]
    fn the_magnetic_moment_is_conserved_in_a_slowly_converging_field() {
        // mu ~ p_perp²/B is an adiabatic invariant (Jackson, Classical Electrodynamics, 3rd ed., section 12.5).
        // B_z = B0 (1 + (z/L)²) with the B_rho that makes the divergence zero, L a hundred radii.
        let electron = Electron::after(200.0).unwrap();
        let field = 1e-3;
        let radius = electron.radius_in_uniform_field_m(field);
        let length = 100.0 * radius;
        let bottle = |at: &Vector3<f64>| {
            let transverse = -field * at.z / (length * length);
            Vector3::new(at.x * transverse, at.y * transverse, field * (1.0 + (at.z / length).powi(2)))
        };
        let direction = Vector3::new(0.0, 45f64.to_radians().sin(), 45f64.to_radians().cos());
        let path = trace(bottle, &electron, &gun(radius * direction.y, direction), &turns(80)).unwrap();
        let moment = |point: &PathPoint| {
            let field = bottle(&point.position_m);
            let along = point.velocity_m_per_s.dot(&field) / field.norm();
            (point.velocity_m_per_s.norm_squared() - along * along) / field.norm()
        };
        let start = moment(&path.at(0.0));
        let mut strongest: f64 = 0.0;
        for point in path.points(0.1) {
            // The moment wobbles within a turn by r_L dB/dz/B, here under 2 %; its drift is less.
            assert_relative_eq!(moment(&point), start, max_relative = 0.02);
            strongest = strongest.max(bottle(&point.position_m).norm() / field);
        }
        for turn in &path.turns {
            assert_relative_eq!(moment(turn), start, max_relative = 0.02);
        }
        // Mirror point: sin² of the pitch angle = B0/B_mirror, here 1/2.
        assert_relative_eq!(strongest, 2.0, max_relative = 0.03);
    }

    #[test]
    fn the_way_back_with_everything_reversed_ends_at_the_gun() {
        let pair = ideal_pair();
        let electron = Electron::after(150.0).unwrap();
        let start = gun(0.06, Vector3::new(0.0, 0.96, 0.28));
        let there = trace(|x| pair.field_per_ampere(x), &electron, &start, &turns(2)).unwrap();
        let back_gun = Gun {
            exit_m: there.end.position_m,
            direction: nalgebra::UnitVector3::new_normalize(-there.end.velocity_m_per_s),
        };
        let back = trace(|x| -pair.field_per_ampere(x), &electron, &back_gun, &turns(4)).unwrap();
        let home = back.at(there.duration_s());
        assert!((home.position_m - start.exit_m).norm() < 1e-11, "{}", home.position_m - start.exit_m);
    }

    #[test]
    fn the_error_falls_with_the_tolerance_asked_for() {
        let pair = ideal_pair();
        let electron = Electron::after(200.0).unwrap();
        let read = |tolerance| {
            let options = PathOptions { tolerance, ..PathOptions::in_the_open(PathLength::HalfCircle) };
            let path =
                trace(|x| pair.field_per_ampere(x), &electron, &gun(0.07, Vector3::y()), &options).unwrap();
            path.read_radius_m().unwrap()
        };
        let best = read(1e-14);
        for tolerance in [1e-6, 1e-8, 1e-10, 1e-12] {
            let error = (read(tolerance) / best - 1.0).abs();
            assert!(error < 10.0 * tolerance, "tolerance {tolerance:e}: {error:e}");
        }
    }

    #[test]
    fn glass_and_gun_end_the_path_where_it_meets_them() {
        let electron = Electron::after(200.0).unwrap();
        let bulb = (Vector3::zeros(), 0.078);
        let inside = PathOptions { bulb: Some(bulb), gun_stops_beam: true, ..turns(3) };
        let start = gun(0.048, Vector3::y());
        // A circle: the beam comes round and strikes the gun's body from behind, 5 mm beside its axis.
        let round = trace(|_| Vector3::z() * 1.1e-3, &electron, &start, &inside).unwrap();
        assert_eq!(round.halt, Halt::Gun);
        assert_relative_eq!(round.end.position_m.x, 0.048 - GUN_BODY_RADIUS_M, max_relative = 1e-9);
        assert!(round.end.position_m.y < 0.0 && round.opposite_crossing.is_some());
        // No field: a straight line along the gun's direction to the glass.
        let straight = trace(|_| Vector3::zeros(), &electron, &start, &inside).unwrap();
        assert_eq!(straight.halt, Halt::Bulb);
        let reach = (0.078f64.powi(2) - 0.048f64.powi(2)).sqrt();
        assert!((straight.end.position_m - Vector3::new(0.048, reach, 0.0)).norm() < 1e-12);
        assert!(straight.read_radius_m().is_none());
        // Too weak a field: the beam bends but strikes the glass first; the glass is met to rounding.
        let weak = trace(|_| Vector3::z() * 3e-4, &electron, &start, &inside).unwrap();
        assert_eq!(weak.halt, Halt::Bulb);
        assert_relative_eq!(weak.end.position_m.norm(), 0.078, max_relative = 1e-12);
        // A tilted gun makes a helix that passes the gun's body.
        let tilted = gun(0.048, Vector3::new(0.0, 20f64.to_radians().cos(), 20f64.to_radians().sin()));
        let helix = trace(|_| Vector3::z() * 2e-3, &electron, &tilted, &inside).unwrap();
        assert_ne!(helix.halt, Halt::Gun);
        assert!(
            helix.turns.len() as f64 >= 1.0 && helix.duration_s() > electron.period_in_uniform_field_s(2e-3)
        );
        // Along the field, with nothing to stop it, the beam never comes round.
        let lost = trace(|_| Vector3::z() * 1e-3, &electron, &gun(0.0, Vector3::z()), &turns(1)).unwrap();
        assert_eq!(lost.halt, Halt::LengthLimit);
        let nonsense = trace(|_| Vector3::z() * f64::NAN, &electron, &start, &inside);
        assert!(nonsense.is_err());
    }
}
