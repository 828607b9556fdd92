//! The ammeter: one model of its errors for budget, tables and B0.
//!
//! It shows I_shown = (1 + g) I + δ, gain g and zero δ independent, each anywhere within its limit: the accuracy of reading
//! for g, the digits for δ (half a digit at least, JCGM 100:2008, F.2.2.1). Where the meter stands before the reversal it
//! sees |I|, so that δ turns its sign with the current.

use crate::pair::{AmmeterPosition, Bench, Distribution, Meter};

/// The errors of an ammeter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Ammeter {
    /// u(g).
    pub gain_standard_uncertainty: f64,
    /// u(δ).
    pub zero_standard_uncertainty_ampere: f64,
    /// Where it stands, if the spec says so.
    position: Option<AmmeterPosition>,
}

impl Ammeter {
    /// The bench's; `None` where the spec has none.
    pub(super) fn of(bench: &Bench) -> Option<Self> {
        bench.ammeter.map(|meter| Self::of_meter(&meter, bench.ammeter_position))
    }

    /// A meter that stands there.
    pub(crate) fn of_meter(meter: &Meter, position: Option<AmmeterPosition>) -> Self {
        let rectangular = |limit| Distribution::Rectangular.standard_uncertainty(limit);
        Self {
            gain_standard_uncertainty: rectangular(meter.gain_limit()),
            zero_standard_uncertainty_ampere: rectangular(meter.limit_of_error(0.0)),
            position,
        }
    }

    /// Where it stands, if the spec says so.
    pub(super) fn position(&self) -> Option<AmmeterPosition> {
        self.position
    }

    /// dk/dδ of a fitted slope; the worse of the two where the spec does not say where the meter stands.
    pub(crate) fn zero_sensitivity_of_slope(&self, influences: &ZeroInfluences) -> f64 {
        self.worse(influences, |influence| influence.slope_tesla_per_ampere)
    }

    /// What the zero leaves open of the intercept of the first line, in tesla.
    pub(super) fn intercept_standard_uncertainty_tesla(&self, influences: &ZeroInfluences) -> f64 {
        let worse = self.worse(influences, |influence| influence.intercept_tesla);
        self.zero_standard_uncertainty_ampere * worse.abs()
    }

    /// What the zero leaves open of the room's field that readings with the probe turned round give, in tesla.
    pub(super) fn room_standard_uncertainty_tesla(&self, influences: &ZeroInfluences) -> f64 {
        let worse = self.worse(influences, |influence| influence.room_tesla.unwrap_or(0.0));
        self.zero_standard_uncertainty_ampere * worse.abs()
    }

    /// What the zero adds to the covariance of slope and B0, in T²/A: nought where the spec does not say where the meter
    /// stands, since a zero before the reversal moves the slope and one behind it B0. `of_room` tells which B0 is meant.
    pub(super) fn zero_covariance(&self, influences: &ZeroInfluences, of_room: bool) -> f64 {
        let influence = match self.position {
            Some(AmmeterPosition::BeforeReversal) => influences.before_reversal,
            Some(AmmeterPosition::AfterReversal) => influences.after_reversal,
            None => return 0.0,
        };
        let of_intercept =
            if of_room { influence.room_tesla.unwrap_or(0.0) } else { influence.intercept_tesla };
        influence.slope_tesla_per_ampere * of_intercept * self.zero_standard_uncertainty_ampere.powi(2)
    }

    fn worse(&self, influences: &ZeroInfluences, part: impl Fn(ZeroInfluence) -> f64) -> f64 {
        let [before, after] = [part(influences.before_reversal), part(influences.after_reversal)];
        match self.position {
            Some(AmmeterPosition::BeforeReversal) => before,
            Some(AmmeterPosition::AfterReversal) => after,
            None if before.abs() >= after.abs() => before,
            None => after,
        }
    }
}

/// What a zero of the ammeter that is off by 1 A does to a fitted line.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ZeroInfluence {
    /// To the slope, in T/A for each ampere.
    pub slope_tesla_per_ampere: f64,
    /// To the intercept of the first line, in tesla for each ampere.
    pub intercept_tesla: f64,
    /// To the room's field along the probe, where it is known apart from the meter's zero.
    pub room_tesla: Option<f64>,
}

/// The same for the two places where the meter may stand.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ZeroInfluences {
    /// It sees |I|.
    pub before_reversal: ZeroInfluence,
    /// It sees the current reversed.
    pub after_reversal: ZeroInfluence,
}
