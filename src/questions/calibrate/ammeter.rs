//! The ammeter: one model of its errors for budget, tables and B0.
//!
//! It shows I_shown = (1 + g) I + δ. Gain g and zero δ are independent, each anywhere within its limit: the accuracy of
//! reading for g, the digits for δ (half a digit at least, JCGM 100:2008, F.2.2.1). A meter before the reversal sees
//! |I|, so its δ adds to the size of the current in either direction.

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
    /// The ammeter of a bench. `None` if the spec has none.
    pub(super) fn of(bench: &Bench) -> Option<Self> {
        bench.ammeter.map(|meter| Self::of_meter(&meter, bench.ammeter_position))
    }

    /// The ammeter `meter` at this place in the circuit.
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

    /// Standard uncertainty of the zero, if the meter may stand before the reversal; `None` if it has no zero to speak of.
    pub(super) fn zero_before_reversal_ampere(&self) -> Option<f64> {
        let may_stand_before = self.position != Some(AmmeterPosition::AfterReversal);
        Some(self.zero_standard_uncertainty_ampere).filter(|u| may_stand_before && *u > 0.0)
    }

    /// dk/dδ of a fitted slope. If the place of the meter is not stated, the worse of the two.
    pub(crate) fn zero_sensitivity_of_slope(&self, influences: &ZeroInfluences) -> f64 {
        self.worse(influences, |influence| influence.slope_tesla_per_ampere)
    }

    /// Contribution of the zero to the covariance of slope and B0, in T²/A. If the place of the meter is not stated it
    /// is taken as zero, because a zero before the reversal moves the slope and one after it B0. `of_room`: B0 is the
    /// room's field, not the intercept of the first line.
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

    /// dB0/dδ of a fit: of the room's field as found by turning the probe round, or of the intercept of the first line. If
    /// the place of the meter is not stated, the worse of the two.
    pub(super) fn zero_sensitivity_of_intercept(&self, influences: &ZeroInfluences, of_room: bool) -> f64 {
        match of_room {
            true => self.worse(influences, |influence| influence.room_tesla.unwrap_or(0.0)),
            false => self.worse(influences, |influence| influence.intercept_tesla),
        }
    }

    /// What a zero does to a line, for each place where the meter may stand. `influences`: of the fit on which the line rests,
    /// and whether B0 is the room's field; `weight_of_fit` is the share of its slope in that of the line.
    pub(super) fn zeros(
        &self,
        influences: Option<(&ZeroInfluences, bool)>,
        weight_of_fit: f64,
    ) -> Vec<ZeroOfLine> {
        let places = [AmmeterPosition::BeforeReversal, AmmeterPosition::AfterReversal];
        let possible = places.into_iter().filter(|place| self.position.is_none_or(|own| own == *place));
        let of_place = |place| {
            let influence = influences.map_or_else(ZeroInfluence::default, |(both, _)| match place {
                AmmeterPosition::BeforeReversal => both.before_reversal,
                AmmeterPosition::AfterReversal => both.after_reversal,
            });
            let of_room = influences.is_some_and(|(_, of_room)| of_room);
            ZeroOfLine {
                place,
                slope_tesla_per_ampere: weight_of_fit * influence.slope_tesla_per_ampere,
                intercept_tesla: match of_room {
                    true => influence.room_tesla.unwrap_or(0.0),
                    false => influence.intercept_tesla,
                },
            }
        };
        possible.map(of_place).collect()
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

/// Change of a fitted line for a zero of the ammeter that is off by 1 A.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ZeroInfluence {
    /// Of the slope, in T/A for each ampere.
    pub slope_tesla_per_ampere: f64,
    /// Of the intercept of the first line, in tesla for each ampere.
    pub intercept_tesla: f64,
    /// Of the room's field along the probe. `None` if it is not known apart from the meter's zero.
    pub room_tesla: Option<f64>,
}

/// That change for each of the two places where the meter may stand.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ZeroInfluences {
    /// Before the reversal: it sees |I|.
    pub before_reversal: ZeroInfluence,
    /// After the reversal: it sees the current with its sign.
    pub after_reversal: ZeroInfluence,
}

/// Change of a line for a zero of the readings' ammeter that is off by 1 A, if the meter stands in this place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct ZeroOfLine {
    /// The place.
    pub place: AmmeterPosition,
    /// Of k, in T/A for each ampere.
    pub slope_tesla_per_ampere: f64,
    /// Of B0, in tesla for each ampere.
    pub intercept_tesla: f64,
}
