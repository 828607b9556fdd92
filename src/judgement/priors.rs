//! The prior probabilities of all faults.
//!
//! Every figure is `common practice, no source`: a teacher's or technician's experience of a course or a delivery,
//! right to a factor of two or three. A verdict that depends on such a factor does not count as settled: the data must
//! outweigh it. Each figure is the share of courses (`weigh`), calibrations or deliveries in which the fault occurs.

/// One run of a class misread or miswritten: common practice, no source.
pub const MISREAD_RUN: f64 = 0.20;
/// Two runs of a class misread or miswritten, as if each came by itself; for every further one a third of that and less:
/// common practice, no source.
pub(crate) fn several_misread(runs: usize) -> f64 {
    (1..=runs).map(|run| MISREAD_RUN / run as f64).product()
}
/// All radii with a common offset, from another edge of the glow or the rule's zero: common practice, no source.
pub const RADIUS_OFFSET: f64 = 0.03;
/// The beam's voltage off the meter's by a common amount that the spec does not state: common practice, no source.
pub const VOLTAGE_OFFSET: f64 = 0.03;
/// The ammeter's zero off by more than its digits: common practice, no source.
pub const AMMETER_OFFSET: f64 = 0.02;
/// The room's field different from the stated one: common practice, no source.
pub const ROOM_FIELD: f64 = 0.03;
/// The room's field not zero if none is stated: common practice, no source.
pub(crate) const ROOM_FIELD_UNSTATED: f64 = 0.30;
/// An error that all runs share, a factor of radius, field constant or meter, beyond what is stated; this is the
/// commonest fault: common practice, no source.
pub const SHARED_ERROR: f64 = 0.30;
/// Uncertainties stated too small: common practice, no source.
pub(crate) const UNCERTAINTIES_TOO_SMALL: f64 = 0.02;

/// One reading of a calibration misread or miswritten: common practice, no source.
pub const MISREAD_READING: f64 = 0.20;
/// A heading's unit mixed up, for all readings or one: common practice, no source.
pub const UNIT_MIX_UP: f64 = 0.03;
/// The rarer way round, millitesla written as gauss: common practice, no source.
pub(crate) const MILLITESLA_FOR_GAUSS: f64 = 0.3 * UNIT_MIX_UP;
/// One coil connected backwards: common practice, no source.
pub const COIL_REVERSED: f64 = 0.03;
/// Another wrong connection, leads exchanged or one coil alone: common practice, no source.
pub const WRONG_CONNECTION: f64 = 0.02;
/// The flags of turned readings forgotten: common practice, no source.
pub const FLIP_FORGOTTEN: f64 = 0.02;
/// The probe tilted against the axis: common practice, no source.
pub const PROBE_TILTED: f64 = 0.04;
/// The largest tilt of a probe that nobody sees, 30°: common practice, no source.
pub(crate) const UNSEEN_TILT_RAD: f64 = 0.52;
/// The probe off the centre: common practice, no source.
pub const PROBE_OFF_CENTRE: f64 = 0.04;
/// Turns missing or too many: common practice, no source.
pub const TURNS_MISCOUNTED: f64 = 0.04;
/// The spacing different from the stated one: common practice, no source.
pub const SPACING_OFF: f64 = 0.04;
/// The mean radius different from the stated one: common practice, no source.
pub const MEAN_RADIUS_OFF: f64 = 0.02;
/// A steady drift in the order of readings: common practice, no source.
pub const DRIFT: f64 = 0.04;
/// Field against current bent, as of a probe that saturates or of iron nearby: common practice, no source.
pub const NOT_STRAIGHT: f64 = 0.03;
/// The gain of a meter off beyond its accuracy: common practice, no source.
pub const METER_GAIN: f64 = 0.03;

/// Coils in parallel where the spec says series, or the other way round: common practice, no source.
pub const CONNECTION_SWAPPED: f64 = 0.03;
/// One coil bypassed or open: common practice, no source.
pub const ONE_COIL_ALONE: f64 = 0.02;
/// The copper at a temperature different from the noted one: common practice, no source.
pub const COPPER_TEMPERATURE: f64 = 0.06;
/// A bad contact, or leads that the spec does not include: common practice, no source.
pub const CONTACT_RESISTANCE: f64 = 0.05;
/// Turns of one coil short-circuited: common practice, no source.
pub const SHORTED_TURNS: f64 = 0.01;
/// Wire of another diameter than ordered: common practice, no source.
pub const WIRE_DIAMETER: f64 = 0.03;
/// Aluminium where copper was ordered: common practice, no source.
pub const ALUMINIUM_FOR_COPPER: f64 = 0.01;
/// A radius written where a diameter is asked for, or the other way round: common practice, no source.
pub const RADIUS_FOR_DIAMETER: f64 = 0.02;
/// One quantity of a delivery misread, miswritten, or off by itself: common practice, no source.
pub const ONE_QUANTITY_OFF: f64 = 0.10;
/// Another pair altogether delivered, or another pair's readings: common practice, no source.
pub const ANOTHER_PAIR: f64 = 0.02;
/// The field with its sign reversed: common practice, no source.
pub const FIELD_REVERSED: f64 = 0.03;
